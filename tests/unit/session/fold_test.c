/* fold_test.c - state is a fold of the entries and nothing else: after any walk a session that
 * reads the record stands where the one that lived through it stands. */
#include "cmocka_all.h"

#include "bench.h"

#include <string.h>

/* ---- walks by chance ---- */

/* SplitMix64 (Steele, Lea and Flood, OOPSLA 2014). */
static uint64_t next_chance(uint64_t *seed) {
    uint64_t z = (*seed += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

static size_t one_of(uint64_t *seed, size_t n) {
    return (size_t)(next_chance(seed) % n);
}

static const char *const lines[] = {"yes",
                                    "redo clean dirt",
                                    "redo 4 again",
                                    "redo caps leak",
                                    "",
                                    "no",
                                    "later",
                                    "later for the oven",
                                    "note seen",
                                    "person B. Ek",
                                    "person A. Lund",
                                    "back",
                                    "wrong 1",
                                    "wrong 2 left",
                                    "wrong 3",
                                    "wrong",
                                    "help",
                                    "override",
                                    "again",
                                    "loosen",
                                    "replace",
                                    "repeat",
                                    "unmoved",
                                    "1",
                                    "2",
                                    "3",
                                    "B. Ek",
                                    "C. Berg",
                                    "cancel",
                                    "bulletin 12",
                                    "50.050",
                                    "50.000",
                                    "50.090",
                                    "50.015",
                                    "5.05",
                                    "pause",
                                    "close",
                                    "a\x01b",
                                    "note",
                                    "another 2",
                                    "decide",
                                    "another",
                                    "65.000",
                                    "65.150",
                                    "65.10",
                                    "65.300 mm",
                                    "65",
                                    "6.5"};

static bw_verdict any_verdict(uint64_t *seed) {
    static const struct {
        bw_outcome outcome;
        uint32_t reasons;
        bool more;
    } rows[] = {{BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, true},
                {BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true},
                {BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT | BW_REASON_SPIKE, false},
                {BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false},
                {BW_VERDICT_SUSPECT, BW_REASON_GAP, true},
                {BW_VERDICT_SUSPECT, BW_REASON_GAP, false},
                {BW_VERDICT_SUSPECT, BW_REASON_NO_TRACE, false},
                {BW_VERDICT_SUSPECT, BW_REASON_STEEP, false},
                {BW_VERDICT_HIGH, BW_REASON_ANGLE_OVER, false},
                {BW_VERDICT_PASS, 0, false},
                {BW_VERDICT_PASS, 0, false},
                {BW_VERDICT_PASS, 0, false}};
    size_t row = one_of(seed, sizeof rows / sizeof rows[0]);
    return (bw_verdict){.outcome = rows[row].outcome,
                        .reasons = rows[row].reasons,
                        .more = rows[row].more,
                        .peak_Nm = (double)one_of(seed, 700) / 10,
                        .pull_peak_Nm = (double)one_of(seed, 700) / 10,
                        .has_turn = one_of(seed, 2) == 0,
                        .turn_deg = (double)one_of(seed, 1000) / 7,
                        .snug_reached = one_of(seed, 4) == 0,
                        .has_judged = one_of(seed, 2) == 0,
                        .judged_Nm = (double)one_of(seed, 100) / 16,
                        .slope_Nm_per_deg = (double)one_of(seed, 50) / 8,
                        .loose = one_of(seed, 2) == 0,
                        .pulls = 1 + (uint32_t)one_of(seed, 3)};
}

static void one_good_event(bench *b, uint64_t *seed) {
    bw_verdict v = {0};
    bw_prompt prompt = bench_prompt(b);
    switch (prompt.state) {
    case BW_STATE_PULLING:
        v = any_verdict(seed);
        bench_end(b, &v, one_of(seed, 4) != 0);
        break;
    case BW_STATE_VALUE:
    case BW_STATE_VERDICT:
        bench_type(b, prompt.option[one_of(seed, prompt.option_n)].word);
        break;
    case BW_STATE_SECOND_PERSON:
        bench_type(b, "C. Berg");
        break;
    case BW_STATE_REASON:
        bench_type(b, "bulletin 12");
        break;
    case BW_STATE_PULL:
        if (one_of(seed, 2) == 0) {
            bench_begin(b);
            break;
        }
        bench_good_pull(b);
        break;
    case BW_STATE_CLOSED:
        break;
    default:
        bench_answer_well(b);
    }
}

static void one_event(bench *b, uint64_t *seed) {
    size_t drawn = one_of(seed, 100);
    bw_verdict v = any_verdict(seed);
    if (drawn < 55) {
        one_good_event(b, seed);
    } else if (drawn < 80) {
        bench_type(b, lines[one_of(seed, sizeof lines / sizeof lines[0])]);
    } else if (drawn < 85) {
        bench_end(b, &v, one_of(seed, 2) == 0);
    } else if (drawn < 90) {
        bench_person(b, one_of(seed, 2) == 0 ? "A. Lund" : "D. Vik");
    } else {
        static const bw_event_kind kinds[] = {BW_EVENT_PULL_BEGUN, BW_EVENT_TOOL_ON,
                                              BW_EVENT_TOOL_LOST,  BW_EVENT_TOOL_BACK,
                                              BW_EVENT_CLOCK_STEP, BW_EVENT_PAUSE};
        bench_event(b, kinds[one_of(seed, 6)]);
    }
}

/* What is in no record: the questions of an override, a decision that can be called off. */
static bool is_draft(const bench *b) {
    bw_prompt p = bench_prompt(b);
    bool called_off = p.option_n > 0 && strcmp(p.option[p.option_n - 1].word, "cancel") == 0;
    return p.state == BW_STATE_SECOND_PERSON || p.state == BW_STATE_REASON || called_off;
}

static void check_fold(bench *b, uint64_t walk, size_t event) {
    bw_state state = bench_state(b);
    if (is_draft(b)) {
        return;
    }
    const char *what = bench_difference(b->session, bench_fold(b, b->entry_n));
    if (what != NULL) {
        fail_msg("walk %d, event %zu, state %s after [%s]: another %s", (int)walk, event,
                 bw_state_name(state), bench_kinds(b), what);
    }
}

/* What must hold in every state, however it was reached. */
static void check_prompt(const bench *b) {
    bw_prompt p = bench_prompt(b);
    bool over = p.state == BW_STATE_NEW || p.state == BW_STATE_CLOSE || p.state == BW_STATE_CLOSED;
    bool pulls = p.state == BW_STATE_PULL || p.state == BW_STATE_PULLING ||
                 p.state == BW_STATE_NO_TOOL || p.state == BW_STATE_VERDICT ||
                 p.state == BW_STATE_LENGTH || p.state == BW_STATE_SLOT;
    assert_true((unsigned)p.state < BW_STATE_COUNT);
    assert_int_equal(p.step == NULL, over);
    assert_true(!pulls || (p.group != NULL && p.stage != NULL && p.progress != NULL));
    assert_true(p.state != BW_STATE_READING || p.set != NULL);
    assert_true(p.state != BW_STATE_VALUE || p.derived != NULL);
    bool decides = p.state == BW_STATE_VALUE || p.state == BW_STATE_VERDICT;
    assert_true(!decides || p.option_n > 0);
    assert_true(p.state != BW_STATE_PULL ||
                bw_session_stage(b->session)->kind == p.stage->stage.kind);
    bw_tally tally;
    bw_session_tally(b->session, &tally);
    size_t fasteners = 12;
    if (b->plan == bench_kinds_plan()) {
        fasteners = 3 * 2 + 2 * 2 + 2 + 6 * 4 + 6 + 1 + 1 + 1;
    }
    assert_int_equal(tally.fasteners, fasteners);
    assert_true(tally.accepted + tally.overridden <= tally.fasteners);
    assert_true(tally.measurements <= 4);
}

static void test_walks(void **state) {
    (void)state;
    bool seen_state[BW_STATE_COUNT] = {false};
    bool seen_kind[BW_KIND_COUNT] = {false};
    size_t closed = 0;
    for (uint64_t walk = 0; walk < 300; walk++) {
        uint64_t seed = walk * 1000003;
        bench b;
        bench_open_plan(&b, walk % 2 == 0 ? bench_plan() : bench_kinds_plan());
        for (size_t event = 0; event < 120; event++) {
            one_event(&b, &seed);
            seen_state[bench_state(&b)] = true;
            check_prompt(&b);
            if (event % 3 == 0 || event > 100) {
                check_fold(&b, walk, event);
            }
        }
        for (size_t i = 0; i < b.entry_n; i++) {
            seen_kind[b.entry[i].kind] = true;
        }
        closed += bench_state(&b) == BW_STATE_CLOSED ? 1 : 0;
        bench_close(&b);
    }
    seen_state[BW_STATE_NEW] = true; /* left by the first event of a person, as a rule */
    for (int s = 0; s < BW_STATE_COUNT; s++) {
        if (!seen_state[s]) {
            fail_msg("no walk came to %s", bw_state_name((bw_state)s));
        }
    }
    for (int k = 0; k < BW_KIND_COUNT; k++) {
        /* Written by other rooms, or by nobody yet. */
        bool of_others = k >= BW_KIND_PART_FITTED;
        if (!seen_kind[k] && !of_others) {
            fail_msg("no walk recorded a %s", bw_kind_name((bw_kind)k));
        }
    }
    assert_true(closed > 0);
}

/* Deciding changes nothing but the draft: asked twice, it says the same. */
static void test_deciding_changes_nothing(void **state) {
    (void)state;
    for (uint64_t walk = 0; walk < 60; walk++) {
        uint64_t seed = walk * 7919;
        bench b;
        bench_open_plan(&b, walk % 2 == 0 ? bench_plan() : bench_kinds_plan());
        for (size_t event = 0; event < 60; event++) {
            bw_session *before = bench_fold(&b, b.entry_n);
            const char *line = lines[one_of(&seed, sizeof lines / sizeof lines[0])];
            bw_event asked = {.kind = BW_EVENT_ANSWER, .text = line, .next_number = 1};
            if (!is_draft(&b) && strcmp(line, "override") != 0) {
                bw_session_decide(b.session, &asked, b.actions);
                bool opens_draft = is_draft(&b); /* "2", "3", "decide" */
                assert_true(opens_draft || bench_difference(before, b.session) == NULL);
                if (opens_draft) {
                    bench_type(&b, "cancel");
                }
            }
            one_good_event(&b, &seed);
        }
        bench_close(&b);
    }
}

/* From wherever chance has led there is a way to the end. */
static void test_no_dead_end(void **state) {
    (void)state;
    size_t finished = 0;
    for (uint64_t walk = 0; walk < 300; walk++) {
        uint64_t seed = walk * 104729 + 1;
        bench b;
        bench_open_plan(&b, walk % 2 == 0 ? bench_plan() : bench_kinds_plan());
        for (size_t event = 0; event < 10 + walk % 70; event++) {
            one_event(&b, &seed);
        }
        if (bench_state(&b) != BW_STATE_CLOSED) {
            bench_person(&b, "A. Lund"); /* however it ended: somebody opens it again */
            if (bench_state(&b) != BW_STATE_CLOSED) {
                bench_event(&b, BW_EVENT_TOOL_ON);
                bench_finish(&b);
                finished++;
            }
        }
        bench_close(&b);
    }
    assert_true(finished > 200);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_walks),
        cmocka_unit_test(test_deciding_changes_nothing),
        cmocka_unit_test(test_no_dead_end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
