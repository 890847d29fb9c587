/* fold_test.c - state is a fold of the entries and nothing else: after any walk a session that
 * reads the record stands where the one that lived through it stands; and a build that is killed at
 * any entry goes on at exactly what was open. */
#include "cmocka_all.h"

#include "bench.h"

#include <math.h>
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

/* ---- killed at any entry ---- */

typedef struct moment {
    size_t entry_n; /* so many were on the disk */
    bw_prompt prompt;
    bw_progress progress[6];
    bool angle; /* a pull was on whose turn is lost with it */
} moment;

enum { MOMENTS_MAX = 400 };

static moment moments[MOMENTS_MAX];
static size_t moment_n;

static void keep_moment(const bench *b) {
    moment *m = &moments[moment_n++];
    assert_true(moment_n < MOMENTS_MAX);
    *m = (moment){.entry_n = b->entry_n, .prompt = bench_prompt(b)};
    size_t n = m->prompt.group != NULL ? m->prompt.group->place_n : 0;
    for (size_t i = 0; i < n; i++) {
        m->progress[i] = m->prompt.progress[i];
    }
    bool pulling = m->prompt.state == BW_STATE_PULLING;
    bool turn = bw_stage_traits_of(m->prompt.aim.kind)->limits_turn ||
                m->prompt.aim.kind == BW_STAGE_CHECK;
    m->angle = pulling && turn && !m->prompt.aim.until_loose;
}

static void live(bench *b, const char *line) {
    bench_type(b, line);
    keep_moment(b);
}

static void live_event(bench *b, bw_event_kind kind) {
    bench_event(b, kind);
    keep_moment(b);
}

static void live_pull(bench *b, double peak_Nm, double turn_deg) {
    bw_standing standing = bw_session_standing(b->session);
    bw_verdict v = bw_judge_result(bw_session_stage(b->session), &standing, &(bw_terms){0}, peak_Nm,
                                   true, turn_deg);
    v.reasons &= ~(uint32_t)BW_REASON_NO_TRACE;
    bench_begin(b);
    keep_moment(b);
    bench_end(b, &v, true);
    keep_moment(b);
}

static void live_good(bench *b) {
    const bw_stage *stage = bw_session_stage(b->session);
    bw_standing standing = bw_session_standing(b->session);
    bool torque = stage->kind == BW_STAGE_TORQUE;
    live_pull(b, torque ? stage->target_Nm : standing.torque_Nm + 30,
              torque ? 30 : 90 - standing.turn_deg);
}

static void live_override(bench *b, const char *reason) {
    live(b, "override");
    live(b, "B. Ek");
    live(b, reason);
}

static void live_measuring(bench *b) {
    static const char *const typed[] = {"50.050", "5.005",  "50.500", "back",
                                        "50.065", "50.000", "50.015"};
    for (size_t i = 0; i < sizeof typed / sizeof typed[0]; i++) {
        live(b, typed[i]);
    }
    live_override(b, "will be honed"); /* the bore's taper */
    live(b, "again");                  /* the journal's */
    live(b, "50.000");
    live(b, "50.001");
}

static void live_caps(bench *b) {
    live_event(b, BW_EVENT_TOOL_ON);
    live_pull(b, 22, 12);
    live_good(b);
    live_pull(b, 30, 0); /* tight already */
    live(b, "repeat");
    live_good(b);
    live(b, "wrong 2 right");
    live_event(b, BW_EVENT_TOOL_LOST);
    live_event(b, BW_EVENT_TOOL_BACK);
    live_good(b);
    live_good(b);
    live_pull(b, 66, 20);
    live(b, "loosen");
    live_good(b);
    live_good(b);
    live_pull(b, 64, 20);
    live_override(b, "bulletin 12");
    live(b, "person C. Berg");
    live_good(b);
    live(b, "pause");
    bench_person(b, "A. Lund");
    keep_moment(b);
    live_event(b, BW_EVENT_TOOL_ON);
    live_good(b);
}

static void live_rods(bench *b) {
    live_good(b);
    live_good(b);
    live_pull(b, 40, 50);
    live_good(b);
    bench_begin(b);
    keep_moment(b);
    bench_person(b, "A. Lund"); /* killed in the angle */
    keep_moment(b);
    live(b, "unmoved");
    live_event(b, BW_EVENT_TOOL_ON);
    live_good(b);
}

/* A build in which nearly everything happens. */
static void live_through(bench *b) {
    moment_n = 0;
    bench_open(b);
    bench_person(b, "A. Lund");
    keep_moment(b);
    live(b, "yes");
    live(b, "later no stamp found");
    live(b, "yes");
    live_event(b, BW_EVENT_CLOCK_STEP);
    live_measuring(b);
    live_caps(b);
    live_rods(b);
    live(b, "yes");
    live(b, "B 4711");
    assert_int_equal(bench_state(b), BW_STATE_CLOSE);
}

/* The same with every kind of stage: each prompt and each pull is a moment. */
static void live_kind(bench *b, bw_verdict v) {
    bw_standing standing = bw_session_standing(b->session);
    v.pulls = standing.pulls + 1;
    v.has_turn = true;
    v.pull_peak_Nm = v.peak_Nm;
    v.has_judged = v.judged_Nm > 0;
    bench_begin(b);
    keep_moment(b);
    bench_end(b, &v, true);
    keep_moment(b);
}

static void live_well(bench *b, size_t until_step) {
    while (bench_state(b) != BW_STATE_CLOSE && bench_prompt(b).step_number <= until_step) {
        bench_answer_well(b);
        keep_moment(b);
    }
}

static void live_through_kinds(bench *b) {
    moment_n = 0;
    bench_open_plan(b, bench_kinds_plan());
    bench_person(b, "A. Lund");
    keep_moment(b);
    live_event(b, BW_EVENT_TOOL_ON);
    live_well(b, NUTS + 1);
    live(b, "65.000"); /* STUDS: both free lengths, the second one typed wrongly */
    bench_answer_well(b);
    live(b, "66.000");
    live(b, "back");
    live(b, "65.000");
    bench_answer_well(b);
    live_kind(b, (bw_verdict){.peak_Nm = 40, .turn_deg = 20});
    live(b, "65.05"); /* not enough */
    live_kind(b, (bw_verdict){.peak_Nm = 45, .turn_deg = 30});
    live(b, "65.25"); /* too much, but it was a slip */
    live(b, "back");
    live(b, "pause");
    bench_person(b, "A. Lund");
    keep_moment(b);
    live_event(b, BW_EVENT_TOOL_ON);
    live(b, "65.15");
    live(b, "back"); /* also what was accepted by it */
    live(b, "65.14");
    live_kind(b, (bw_verdict){.peak_Nm = 46, .turn_deg = 30});
    live(b, "loosen");
    live_well(b, STUDS + 1);
    live_kind(b, (bw_verdict){.peak_Nm = 66, .turn_deg = 12}); /* CASTLE */
    live(b, "no");
    live_kind(b, (bw_verdict){.peak_Nm = 72, .turn_deg = 30});
    live(b, "yes");
    live(b, "back");
    live(b, "yes");
    live_well(b, CASTLE + 1);
    live_well(b, HEAD + 1);
    live_kind(b, (bw_verdict){.outcome = BW_VERDICT_LOW, /* CHECKED */
                              .reasons = BW_REASON_BELOW_LIMIT,
                              .peak_Nm = 40,
                              .judged_Nm = 40});
    live(b, "loosen"); /* tightened anew where it was tightened */
    live_well(b, KINDS);
    assert_int_equal(bench_state(b), BW_STATE_CLOSE);
}

/* A bench that finds the first n entries of another one's record, and nothing else. */
static void reopen(bench *b, const bench *of, size_t n) {
    bench_open_plan(b, of->plan);
    memcpy(b->entry, of->entry, n * sizeof *b->entry);
    b->entry_n = n;
    b->session = bench_fold(b, n);
}

/* What the builder was asked when the light went out, and what is asked once it is back. */
static void asks_the_same(const bench *b, const moment *m) {
    bw_prompt now = bench_prompt(b);
    const bw_prompt *then = &m->prompt;
    bw_state expected = then->state;
    switch (then->state) {
    case BW_STATE_NO_TOOL:
        expected = BW_STATE_PULL;
        break;
    case BW_STATE_PULLING:
        expected = m->angle ? BW_STATE_VERDICT : BW_STATE_PULL;
        break;
    case BW_STATE_SECOND_PERSON:
    case BW_STATE_REASON:
        expected = then->step->kind == BW_STEP_MEASURE ? BW_STATE_VALUE : BW_STATE_VERDICT;
        break;
    default:
        break;
    }
    assert_int_equal(now.state, expected);
    assert_ptr_equal(now.step, then->step);
    assert_int_equal(now.steps_done, then->steps_done);
    assert_ptr_equal(now.set, then->set);
    assert_int_equal(now.at, then->at);
    assert_int_equal(now.reading_number, then->reading_number);
    assert_ptr_equal(now.derived, then->derived);
    assert_ptr_equal(now.group, then->group);
    assert_int_equal(now.place, then->place);
    assert_int_equal(now.stage_index, then->stage_index);
    assert_int_equal(now.attempt, then->attempt);
    assert_true(now.standing.torque_Nm == then->standing.torque_Nm);
    bool lost = then->state == BW_STATE_PULLING;
    assert_int_equal(now.standing.pulls, then->standing.pulls + (lost ? 1 : 0));
    for (size_t i = 0; now.group != NULL && i < now.group->place_n; i++) {
        assert_int_equal(now.progress[i].stages_done, m->progress[i].stages_done);
        assert_int_equal(now.progress[i].attempt, m->progress[i].attempt);
        assert_int_equal(now.progress[i].overridden, m->progress[i].overridden);
    }
}

static bool confirms(const bw_entry *e, size_t *step) {
    bool of_step = bw_plan_find_step(bench_plan(), bw_entry_text(e, BW_M_STEP, ""), step);
    return of_step && (e->kind == BW_KIND_CONFIRMED || (e->kind == BW_KIND_NOTE && *step == BLOCK));
}

/* One that was taken back does not count. */
static void count_confirmed(const bench *b, const bw_entry *e, size_t *confirmed) {
    size_t step = 0;
    if (confirms(e, &step)) {
        confirmed[step]++;
    }
    uint64_t corrects = (uint64_t)bw_entry_whole(e, BW_M_CORRECTS, 0);
    for (size_t i = 0; e->kind == BW_KIND_CORRECTION && i < b->entry_n; i++) {
        if (b->entry[i].number == corrects && confirms(&b->entry[i], &step)) {
            confirmed[step]--;
        }
    }
}

/* To the end from here; then each thing stands in the record as confirmed once, no more. */
static void finish(bench *b) {
    for (int i = 0; i < 200 && bench_state(b) != BW_STATE_CLOSE; i++) {
        bw_prompt p = bench_prompt(b);
        bool decides = p.state == BW_STATE_VALUE || p.state == BW_STATE_VERDICT;
        if (decides) {
            bench_type(b, p.option[0].word);
        } else {
            bench_answer_well(b);
        }
    }
    assert_int_equal(bench_state(b), BW_STATE_CLOSE);
    bw_tally tally;
    bw_session_tally(b->session, &tally);
    assert_int_equal(tally.accepted + tally.overridden, tally.fasteners);
    if (b->plan == bench_kinds_plan()) {
        return;
    }
    assert_int_equal(tally.measurements, 4);
    size_t confirmed[STEPS] = {0};
    for (size_t i = 0; i < b->entry_n; i++) {
        count_confirmed(b, &b->entry[i], confirmed);
    }
    static const size_t asked[] = {HOT, BLOCK, CLEAN, TURN};
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(confirmed[asked[i]], 1);
    }
}

static void kill_at_any_entry(const bench *whole_build) {
    bench whole = *whole_build;
    for (size_t i = 0; i < moment_n; i++) {
        const moment *m = &moments[i];
        bench b;
        reopen(&b, &whole, m->entry_n);
        bench_person(&b, "A. Lund");
        bench_event(&b, BW_EVENT_TOOL_ON);
        asks_the_same(&b, m);
        finish(&b);
        assert_null(bench_difference(b.session, bench_fold(&b, b.entry_n)));
        bench_close(&b);
    }
}

static void test_killed_at_any_entry(void **state) {
    (void)state;
    bench whole;
    live_through(&whole);
    assert_true(moment_n > 70);
    kill_at_any_entry(&whole);
    bench_close(&whole);
}

static void test_kinds_killed_at_any_entry(void **state) {
    (void)state;
    bench whole;
    live_through_kinds(&whole);
    assert_true(moment_n > 70);
    kill_at_any_entry(&whole);
    bench_close(&whole);
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
                finish(&b);
                finished++;
            }
        }
        bench_close(&b);
    }
    assert_true(finished > 200);
}

/* Entries of one event come together or not at all; were they parted, nothing would be accepted
 * that the whole does not accept. */
static void test_no_part_accepts_more(void **state) {
    (void)state;
    bench whole;
    live_through(&whole);
    size_t before = 0;
    for (size_t n = 0, i = 0; n <= whole.entry_n; n++) {
        while (i < moment_n && moments[i].entry_n < n) {
            i++;
        }
        bw_tally part;
        bw_tally with_rest;
        size_t whole_n = i < moment_n ? moments[i].entry_n : whole.entry_n;
        bw_session_tally(bench_fold(&whole, n), &part);
        bw_session_tally(bench_fold(&whole, whole_n), &with_rest);
        size_t accepted = part.accepted + part.overridden;
        size_t then = with_rest.accepted + with_rest.overridden;
        assert_true(accepted <= before || accepted <= then);
        before = accepted;
    }
    bench_close(&whole);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_walks),
        cmocka_unit_test(test_deciding_changes_nothing),
        cmocka_unit_test(test_killed_at_any_entry),
        cmocka_unit_test(test_kinds_killed_at_any_entry),
        cmocka_unit_test(test_no_dead_end),
        cmocka_unit_test(test_no_part_accepts_more),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
