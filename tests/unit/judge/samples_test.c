/* samples_test.c - each limit of judge.c: a sample at it, and one a hair beside it.  Most stages
 * here are about 20 N.m: the wrench is at rest below 1 N.m. */
#include "cmocka_all.h"

#include "judge/judge_int.h"
#include "pen.h"

#include <math.h>

static const double hair = 1e-9;
static const bw_standing loose = {0};

static bw_judge j;

static void begin(const bw_stage *stage, const bw_standing *standing) {
    bw_judge_begin(&j, stage, standing, &(bw_terms){0});
}

static void feed(double time_s, double torque_Nm, double angle_deg) {
    bw_sample sample = {time_s, torque_Nm, angle_deg, true};
    (void)bw_judge_sample(&j, &sample);
}

static bool gives(bw_reason reason) {
    return (bw_judge_end(&j, true).reasons & (uint32_t)reason) != 0;
}

static double when(bw_reason reason) {
    double time_s = NAN;
    assert_true(bw_judge_when(&j, reason, &time_s));
    return time_s;
}

static void begin_torque(double target_Nm) {
    bw_stage stage = torque_stage(0.9 * target_Nm, target_Nm, 2 * target_Nm);
    begin(&stage, &loose);
}

/* ---- the torque that a stage is about ---- */

/* STRETCH is about what it is measured at first, or else about what it stands at. */
static void test_about(void **state) {
    (void)state;
    bw_standing stands = {.torque_Nm = 40};
    bw_stage stretch = torque_stage(-INFINITY, 0, INFINITY);
    stretch.kind = BW_STAGE_STRETCH;
    assert_true(bw_judge_threshold_Nm(&stretch, &stands) == 2);
    stretch.target_Nm = 1; /* however little */
    assert_true(bw_judge_threshold_Nm(&stretch, &stands) == 0.3);
    bw_stage open = torque_stage(-INFINITY, 0, INFINITY);
    open.kind = BW_STAGE_ROTATING;
    assert_true(bw_judge_reference_Nm(&open, &stands) == 0);
}

/* ---- strokes ---- */

/* Noise at the threshold does not end a stroke: above six tenths of it the hand still pulls, and
 * how far it turned is not known yet. */
static void test_stroke_over(void **state) {
    (void)state;
    begin_torque(20);
    feed(0, 0, 0);
    feed(0.25, 2, 0);
    feed(0.5, 0.6, 0);
    assert_true(gives(BW_REASON_GAP));
    feed(0.75, 0.6 - hair, 0);
    assert_false(gives(BW_REASON_GAP));
}

/* Half let go the hand may go on a little; what it turns below the threshold is no turn. */
static void test_below_the_threshold(void **state) {
    (void)state;
    begin_torque(20);
    feed(0, 1, 0);
    feed(0.125, 2, 4);
    feed(0.25, 1, 4);
    feed(0.375, 0.75, 4);
    feed(0.5, 0.75, 6);
    feed(0.625, 0, 6);
    assert_true(bw_judge_end(&j, true).pull_turn_deg == 4);
}

/* Half way between two samples, whose torques are 1 N.m apart here. */
static void test_crossing(void **state) {
    (void)state;
    begin_torque(20);
    feed(0, 0.5, 0);
    feed(0.125, 1.5, 2);
    assert_true(j.stroke.start_deg == 1);
    feed(0.25, 1.25, 5);
    feed(0.375, 0.25, 5);
    feed(0.5, 0, 5);
    assert_true(bw_judge_end(&j, true).pull_turn_deg == 4);
}

/* Wind-up as a release from from_Nm shows it, which gives back so much down to the stroke's mark.
 */
static double windup_seen(const bw_stage *stage, double from_Nm, double back_deg) {
    begin(stage, &loose);
    feed(0, 0, 0);
    feed(0.125, from_Nm, 8);
    feed(0.25, stage->snug_Nm > 0 ? stage->snug_Nm : 1, 8 - back_deg);
    feed(0.375, 0, 8 - back_deg);
    return bw_judge_windup_deg_per_Nm(&j);
}

/* A release must ease by more than the torque at which it ends.  To yield all depends on the slope:
 * there the threshold is enough, above the snug torque too. */
static void test_windup_is_told(void **state) {
    (void)state;
    bw_stage torque = torque_stage(18, 20, 22);
    assert_true(windup_seen(&torque, 2, 1) == 0);
    assert_true(windup_seen(&torque, 2 + hair, 1) > 0.99);
    bw_stage snug = snug_stage(20, 30, 60);
    assert_true(windup_seen(&snug, 30, 2.5) == 0);
    assert_true(windup_seen(&snug, 48, 7) == 0.25);
    bw_stage yield = snug;
    yield.kind = BW_STAGE_YIELD;
    yield.slope_share = 0.5;
    assert_true(windup_seen(&yield, 30, 2.5) == 0.25);
}

/* One that gives nothing back shows that nothing winds up, whatever the one before it showed. */
static void test_no_windup_is_told(void **state) {
    (void)state;
    begin_torque(20);
    feed(0, 0, 0);
    feed(0.125, 5, 8);
    feed(0.25, 1, 7);
    feed(0.375, 0, 7);
    assert_true(bw_judge_windup_deg_per_Nm(&j) == 0.25);
    feed(0.5, 5, 8);
    feed(0.625, 1, 9); /* turned on: tells nothing */
    feed(0.75, 0, 9);
    assert_true(bw_judge_windup_deg_per_Nm(&j) == 0.25);
    feed(0.875, 5, 9);
    feed(1, 1, 9);
    feed(1.125, 0, 9);
    assert_true(bw_judge_windup_deg_per_Nm(&j) == 0);
}

/* From four fifths of the stroke's peak down nothing turns: there the release begins. */
static void test_release_begins(void **state) {
    (void)state;
    for (int below = 0; below < 2; below++) {
        begin_torque(20);
        feed(0, 0, 0);
        feed(0.125, 10, 20);
        feed(0.25, 8 - hair * below, 9);
        feed(0.375, 1, 2);
        feed(0.5, 0, 2);
        assert_true(bw_judge_windup_deg_per_Nm(&j) == (below == 0 ? 1 : 2));
    }
}

/* To yield, the hand is told with the wind-up that is known: by the terms, until a release of this
 * pull showed it. */
static void test_windup_of_yield(void **state) {
    (void)state;
    bw_stage yield = snug_stage(20, 30, 60);
    yield.kind = BW_STAGE_YIELD;
    yield.slope_share = 0.5;
    bw_judge_begin(&j, &yield, &loose, &(bw_terms){.windup_deg_per_Nm = 0.125});
    feed(0, 0, 0);
    feed(0.25, 8, 3);
    feed(0.5, 16, 6);
    feed(0.75, 32, 9);
    assert_true(j.yield.began_deg == 3 - 0.125 * 8);
    feed(1, 32, 9);
    feed(1.25, 20, 6);
    feed(1.5, 0, 6);
    assert_true(bw_judge_windup_deg_per_Nm(&j) == 0.25);
    feed(1.75, 40, 20);
    feed(2, 48, 24);
    feed(2.25, 56, 28);
    assert_true(j.yield.began_deg == 20 - 0.25 * 40);
}

/* ---- peaks and means ---- */

/* A peak is where the torque first was so high. */
static void test_peak_when(void **state) {
    (void)state;
    begin_torque(20);
    feed(0, 0, 0);
    feed(0.125, 5, 0);
    feed(0.25, 5, 0);
    feed(0.375, 0, 0);
    feed(0.5, 0, 0);
    assert_true(when(BW_REASON_ANGLE_SHORT) == 0.125);
}

static double two_peaks_apart_s(const bw_stage *stage, double peak_Nm) {
    begin(stage, &loose);
    for (int i = 0; i <= 8; i++) {
        feed(0.125 * i, i % 4 == 2 ? peak_Nm : 0, 0);
    }
    return bw_judge_peaks_apart_s(&j);
}

/* Only what has a torque to reach has peaks that reached it, however little that is. */
static void test_peaks_apart(void **state) {
    (void)state;
    bw_stage little = torque_stage(0.9, 1, 20);
    assert_true(two_peaks_apart_s(&little, 1.5) == 0.5);
    bw_stage angle = angle_stage(30, 60);
    angle.low_Nm = 10;
    assert_true(isinf(two_peaks_apart_s(&angle, 15)));
}

/* Three degrees of an earlier pull, of which no torque is known, are no part of the mean. */
static void test_mean_without_torque(void **state) {
    (void)state;
    bw_standing stands = {.turn_deg = 3, .turn_known = true, .pulls = 1};
    bw_stage prevailing = torque_stage(5, 0, 20);
    prevailing.kind = BW_STAGE_PREVAILING;
    prevailing.least_turn_deg = 10;
    begin(&prevailing, &stands);
    feed(0, 0, 0);
    feed(0.125, 10, 0);
    feed(0.25, 10, 20);
    feed(0.375, 0, 20);
    feed(0.5, 0, 20);
    assert_true(bw_judge_end(&j, true).judged_Nm == 10);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_about),
        cmocka_unit_test(test_stroke_over),
        cmocka_unit_test(test_below_the_threshold),
        cmocka_unit_test(test_crossing),
        cmocka_unit_test(test_windup_is_told),
        cmocka_unit_test(test_no_windup_is_told),
        cmocka_unit_test(test_release_begins),
        cmocka_unit_test(test_windup_of_yield),
        cmocka_unit_test(test_peak_when),
        cmocka_unit_test(test_peaks_apart),
        cmocka_unit_test(test_mean_without_torque),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
