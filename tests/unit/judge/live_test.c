/* live_test.c - at which sample the hand is told what, for each kind: at it, and a hair beside it.
 * (Whole pulls: the tests of the kinds.) */
#include "cmocka_all.h"

#include "judge/judge_int.h"
#include "pen.h"

#include <math.h>

static const double hair = 1e-9;
static const double step = 1e-6; /* what verdict.c compares by */

static const bw_standing fresh = {0};
static const bw_standing stands_20 = {.torque_Nm = 20};
static const bw_terms unknown = {0};

static bw_stage stage_of(bw_stage_kind kind) {
    bw_stage stage = torque_stage(-INFINITY, 0, INFINITY);
    stage.kind = kind;
    return stage;
}

static bw_live feed(bw_judge *judge, double time_s, double torque_Nm, double angle_deg) {
    bw_sample sample = {time_s, torque_Nm, angle_deg, true};
    return bw_judge_sample(judge, &sample);
}

/* The word at that torque, pulled straight up to it. */
static bw_live_word word_at(const bw_stage *stage, const bw_standing *standing, double torque_Nm) {
    bw_judge judge;
    bw_judge_begin(&judge, stage, standing, &unknown);
    (void)feed(&judge, 0, 0, 0);
    return feed(&judge, 0.25, torque_Nm, 0).word;
}

/* The word at that turn, at the very torque from which the wrench is not at rest: nothing winds up
 * there. */
static bw_live_word word_turned(const bw_stage *stage, const bw_standing *standing,
                                const bw_terms *terms, double turn_deg) {
    bw_judge judge;
    double sign = stage->kind == BW_STAGE_BACK_OFF ? -1 : 1;
    double mark_Nm = bw_judge_threshold_Nm(stage, standing);
    bw_judge_begin(&judge, stage, standing, terms);
    (void)feed(&judge, 0, 0, 0);
    (void)feed(&judge, 0.125, sign * mark_Nm, 0);
    return feed(&judge, 0.25, sign * mark_Nm, sign * turn_deg).word;
}

/* ---- a torque ---- */

/* The last tenth of the way is near. */
static void test_torque(void **state) {
    (void)state;
    bw_stage stage = torque_stage(50, 55, 60);
    assert_int_equal(word_at(&stage, &fresh, 45 - hair), BW_LIVE_FREE);
    assert_int_equal(word_at(&stage, &fresh, 45), BW_LIVE_NEAR);
    assert_int_equal(word_at(&stage, &fresh, 50 - step), BW_LIVE_NEAR);
    assert_int_equal(word_at(&stage, &fresh, 50), BW_LIVE_STOP);
    assert_int_equal(word_at(&stage, &fresh, 60), BW_LIVE_STOP);
    assert_int_equal(word_at(&stage, &fresh, 60 + step), BW_LIVE_OVER);
}

/* Beyond a limit is beyond it for good. */
static void test_over_stays(void **state) {
    (void)state;
    bw_stage stage = torque_stage(50, 55, 60);
    bw_judge judge;
    bw_judge_begin(&judge, &stage, &fresh, &unknown);
    (void)feed(&judge, 0, 0, 0);
    (void)feed(&judge, 0.25, 61, 0);
    assert_int_equal(feed(&judge, 0.5, 55, 0).word, BW_LIVE_OVER);
}

/* ---- a turn ---- */

static void test_turn(void **state) {
    (void)state;
    bw_stage stages[] = {angle_stage(40, 60), angle_stage(40, 60)};
    stages[1].kind = BW_STAGE_BACK_OFF;
    for (size_t i = 0; i < 2; i++) {
        const bw_stage *stage = &stages[i];
        assert_int_equal(word_turned(stage, &stands_20, &unknown, 36 - hair), BW_LIVE_FREE);
        assert_int_equal(word_turned(stage, &stands_20, &unknown, 36), BW_LIVE_NEAR);
        assert_int_equal(word_turned(stage, &stands_20, &unknown, 40 - step), BW_LIVE_NEAR);
        assert_int_equal(word_turned(stage, &stands_20, &unknown, 40), BW_LIVE_STOP);
        assert_int_equal(word_turned(stage, &stands_20, &unknown, 60), BW_LIVE_STOP);
        assert_int_equal(word_turned(stage, &stands_20, &unknown, 60 + step), BW_LIVE_OVER);
    }
    stages[1].until_loose = true; /* however far */
    assert_int_equal(word_turned(&stages[1], &stands_20, &unknown, 40), BW_LIVE_FREE);
}

/* What the wrench winds up is taken off, as far as it is known: 0.5 degree per N.m above 1 N.m. */
static void test_turn_without_windup(void **state) {
    (void)state;
    bw_stage stage = angle_stage(40, 60);
    bw_terms terms = {.windup_deg_per_Nm = 0.5};
    bw_judge judge;
    bw_judge_begin(&judge, &stage, &stands_20, &terms);
    (void)feed(&judge, 0, 0, 0);
    (void)feed(&judge, 0.125, 1, 0);
    bw_live live = feed(&judge, 0.25, 9, 20);
    assert_true(live.has_turn && live.turn_deg == 16.0);
    live = feed(&judge, 0.375, 0.5, 16); /* let go below where it began: what it turned stays */
    close_to(live.turn_deg, 20 - 4 * 8 / 8.5, 1e-9);
}

static void test_no_angle(void **state) {
    (void)state;
    bw_stage stage = angle_stage(40, 60);
    bw_judge judge;
    bw_sample blind = {.time_s = 0, .torque_Nm = 5};
    bw_judge_begin(&judge, &stage, &stands_20, &unknown);
    bw_live live = bw_judge_sample(&judge, &blind);
    assert_false(live.has_turn);
    assert_true(live.turn_deg == 0.0);
    assert_int_equal(live.word, BW_LIVE_FREE);
}

/* ---- a mean ---- */

/* Near from nine tenths of the turn that the mean is taken over. */
static void test_running(void **state) {
    (void)state;
    bw_stage stage = stage_of(BW_STAGE_ROTATING);
    stage.low_Nm = 10;
    stage.least_turn_deg = 90;
    assert_int_equal(word_turned(&stage, &fresh, &unknown, 81 - hair), BW_LIVE_FREE);
    assert_int_equal(word_turned(&stage, &fresh, &unknown, 81), BW_LIVE_NEAR);
    assert_int_equal(word_turned(&stage, &fresh, &unknown, 90 - step), BW_LIVE_NEAR);
}

/* Turned far enough, and no mean yet: what turned so far was one stroke's wind-up. */
static void test_running_without_a_mean(void **state) {
    (void)state;
    bw_stage stage = stage_of(BW_STAGE_ROTATING);
    stage.low_Nm = 10;
    stage.least_turn_deg = 4;
    assert_int_equal(word_turned(&stage, &fresh, &unknown, 4.5), BW_LIVE_NEAR);
}

/* ---- stretch ---- */

/* In the first pull to where it is measured; behind that only the gauge knows.  Be it the smallest
 * screw. */
static void test_stretch(void **state) {
    (void)state;
    bw_stage stage = stage_of(BW_STAGE_STRETCH);
    stage.target_Nm = 0.8;
    bw_standing again = {.pulls = 1, .peak_Nm = 0.8, .turn_known = true};
    assert_int_equal(word_at(&stage, &fresh, 0.7), BW_LIVE_FREE);
    assert_int_equal(word_at(&stage, &fresh, 0.75), BW_LIVE_NEAR);
    assert_int_equal(word_at(&stage, &fresh, 0.8), BW_LIVE_STOP);
    assert_int_equal(word_at(&stage, &again, 0.8), BW_LIVE_FREE);
    stage.target_Nm = 0;
    assert_int_equal(word_at(&stage, &fresh, 0.8), BW_LIVE_FREE);
}

/* ---- check ---- */

/* It moves, as soon as the wind-up is known; where there is no limit, nothing else says stop. */
static void test_check(void **state) {
    (void)state;
    bw_stage stage = stage_of(BW_STAGE_CHECK);
    bw_terms known = {.windup_deg_per_Nm = 0.05};
    stage.high_deg = 10;
    assert_int_equal(word_turned(&stage, &stands_20, &known, 1), BW_LIVE_FREE);
    assert_int_equal(word_turned(&stage, &stands_20, &known, 1 + hair), BW_LIVE_STOP);
    assert_int_equal(word_turned(&stage, &stands_20, &known, 10 + step), BW_LIVE_OVER);
    assert_int_equal(word_turned(&stage, &stands_20, &unknown, 11), BW_LIVE_FREE);
    assert_int_equal(word_at(&stage, &stands_20, 25), BW_LIVE_FREE);
    stage.low_Nm = 20;
    assert_int_equal(word_at(&stage, &stands_20, 18 - hair), BW_LIVE_FREE);
    assert_int_equal(word_at(&stage, &stands_20, 18), BW_LIVE_NEAR);
    assert_int_equal(word_at(&stage, &stands_20, 20), BW_LIVE_STOP);
}

/* ---- yield ---- */

/* From nine tenths of the lowest torque at which it may yield, but not before snug. */
static void test_yield(void **state) {
    (void)state;
    bw_stage stage = stage_of(BW_STAGE_YIELD);
    stage.slope_share = 0.5;
    stage.snug_Nm = 20;
    stage.low_Nm = 70;
    stage.high_Nm = 110;
    assert_int_equal(word_at(&stage, &fresh, 63 - hair), BW_LIVE_FREE);
    assert_int_equal(word_at(&stage, &fresh, 63), BW_LIVE_NEAR);
    assert_int_equal(word_at(&stage, &fresh, 110), BW_LIVE_NEAR);
    assert_int_equal(word_at(&stage, &fresh, 110 + step), BW_LIVE_OVER);
    stage.low_Nm = 20;
    assert_int_equal(word_at(&stage, &fresh, 20 - hair), BW_LIVE_FREE);
    assert_int_equal(word_at(&stage, &fresh, 20), BW_LIVE_NEAR);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_torque),
        cmocka_unit_test(test_over_stays),
        cmocka_unit_test(test_turn),
        cmocka_unit_test(test_turn_without_windup),
        cmocka_unit_test(test_no_angle),
        cmocka_unit_test(test_running),
        cmocka_unit_test(test_running_without_a_mean),
        cmocka_unit_test(test_stretch),
        cmocka_unit_test(test_check),
        cmocka_unit_test(test_yield),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
