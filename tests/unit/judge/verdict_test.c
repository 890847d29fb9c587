/* verdict_test.c - each limit of verdict.c, and that what was not seen is 0 in the verdict. */
#include "cmocka_all.h"

#include "judge/judge_int.h"
#include "pen.h"

#include <math.h>

static const bw_standing loose = {0};

static void gap_is(const bw_verdict *v, bool gap) {
    assert_int_equal((v->reasons & (uint32_t)BW_REASON_GAP) != 0, gap);
}

/* Squares and sums of what is believed stay finite. */
static void test_believable(void **state) {
    (void)state;
    assert_true(bw_judge_believable(1e12));
    assert_true(bw_judge_believable(-1e12));
    assert_false(bw_judge_believable(nextafter(1e12, INFINITY)));
    assert_false(bw_judge_believable(nextafter(-1e12, -INFINITY)));
    assert_false(bw_judge_believable(NAN));
}

/* Below half a millionth two values are one: a conversion between units moves a limit by less. */
static void test_compared_to_a_millionth(void **state) {
    (void)state;
    assert_false(bw_judge_under(1 - 4e-7, 1));
    assert_true(bw_judge_under(1 - 6e-7, 1));
    assert_false(bw_judge_beyond(1 + 4e-7, 1));
    assert_true(bw_judge_beyond(1 + 6e-7, 1));
}

/* A trace without a sample showed nothing; a single one at rest showed that nobody pulled. */
static void test_how_many_samples(void **state) {
    (void)state;
    bw_stage torque = torque_stage(18, 20, 22);
    static const bw_sample rest = {1, 0.25, 0, true};
    bw_verdict v = judge_all(&torque, &loose, &rest, 0, true);
    gap_is(&v, true);
    assert_true(v.peak_Nm == 0);
    v = judge_all(&torque, &loose, &rest, 1, true);
    gap_is(&v, false);
    assert_true(v.peak_Nm == 0.25);
}

/* However little it must turn, that needs an angle. */
static void test_least_turn_needs_angle(void **state) {
    (void)state;
    bw_stage torque = torque_stage(18, 20, 22);
    torque.least_turn_deg = 1;
    bw_verdict v = bw_judge_result(&torque, &loose, &(bw_terms){0}, 20, true, 5);
    verdict_is(&v, BW_VERDICT_PASS, BW_REASON_NO_TRACE, false);
    static const bw_sample pull[] = {{0, 0, 0, false}, {0.25, 20, 0, false}, {0.5, 0, 0, false}};
    v = judge_all(&torque, &loose, pull, 3, true);
    assert_true((v.reasons & (uint32_t)BW_REASON_NO_TRACE) != 0);
    assert_true(v.pull_turn_deg == 0);
    torque.least_turn_deg = 0;
    v = judge_all(&torque, &loose, pull, 3, true);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
}

/* A joint that lives hang on takes no result, of whatever kind its stage is. */
static void test_stage_that_needs_a_trace(void **state) {
    (void)state;
    bw_stage torque = torque_stage(18, 20, 22);
    torque.needs_trace = true;
    bw_verdict v = bw_judge_result(&torque, &loose, &(bw_terms){0}, 20, true, 5);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TRACE, false);
    assert_false(v.has_judged);
}

/* Without an angle for longer than a gap there is no turn of the stage. */
static void test_turn_not_seen(void **state) {
    (void)state;
    bw_stage torque = torque_stage(18, 20, 22);
    static const bw_sample pull[] = {
        {0, 0, 0, true}, {0.25, 20, 9, true}, {0.5, 0, 9, true}, {0.8125, 0, 0, false}};
    bw_standing before = {.pulls = 1, .turn_known = true, .turn_deg = 30};
    bw_verdict v = judge_all(&torque, &before, pull, 4, true);
    assert_false(v.has_turn);
    assert_true(v.turn_deg == 0);
    assert_true((v.reasons & (uint32_t)BW_REASON_GAP) != 0);
    v = judge_all(&torque, &before, pull, 3, true);
    assert_true(v.has_turn);
    assert_true(v.pull_turn_deg > 8 && v.turn_deg == 30 + v.pull_turn_deg);
}

/* Of a bare result likewise; and a torque that is none is 0. */
static void test_result_not_seen(void **state) {
    (void)state;
    bw_stage snug = snug_stage(20, 30, 60);
    bw_terms terms = {0};
    bw_verdict v = bw_judge_result(&snug, &loose, &terms, NAN, false, 0);
    assert_true(v.pull_peak_Nm == 0);
    assert_true(v.peak_Nm == 0);
    assert_true(v.pull_turn_deg == 0);
    assert_true(v.turn_deg == 0);
    v = bw_judge_result(&snug, &loose, &terms, 15, true, 40); /* not snug yet: no turn counts */
    assert_false(v.snug_reached);
    assert_true(v.has_turn);
    assert_true(v.turn_deg == 0);
    assert_true(v.pull_turn_deg == 40);
    v = bw_judge_result(&snug, &loose, &terms, 20, true, 40);
    assert_true(v.snug_reached);
    assert_true(v.turn_deg == 40);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_believable),
        cmocka_unit_test(test_compared_to_a_millionth),
        cmocka_unit_test(test_how_many_samples),
        cmocka_unit_test(test_least_turn_needs_angle),
        cmocka_unit_test(test_stage_that_needs_a_trace),
        cmocka_unit_test(test_turn_not_seen),
        cmocka_unit_test(test_result_not_seen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
