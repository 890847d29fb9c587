/* killed_test.c - a build that is killed at any entry goes on at exactly what was open. */
#include "cmocka_all.h"

#include "bench.h"

#include <string.h>

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

static void kill_at_any_entry(const bench *whole_build) {
    bench whole = *whole_build;
    for (size_t i = 0; i < moment_n; i++) {
        const moment *m = &moments[i];
        bench b;
        reopen(&b, &whole, m->entry_n);
        bench_person(&b, "A. Lund");
        bench_event(&b, BW_EVENT_TOOL_ON);
        asks_the_same(&b, m);
        bench_finish(&b);
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
        cmocka_unit_test(test_killed_at_any_entry),
        cmocka_unit_test(test_kinds_killed_at_any_entry),
        cmocka_unit_test(test_no_part_accepts_more),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
