/* missing_test.c - samples that are left out, and samples that are missing: each limit of judge.c,
 * a sample at it and one a hair beside it.  Most stages here are about 20 N.m: the wrench is at
 * rest below 1 N.m, and 400 N.m a second is a knock. */
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

/* On the way, without what only the end tells. */
static bool noted(bw_reason reason) {
    return (j.reasons & (uint32_t)reason) != 0;
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

/* ---- knocks ---- */

/* From a_Nm to b_Nm and on to c_Nm, in so many seconds each. */
static bool knocked(double a_Nm, double b_Nm, double c_Nm, double rise_s, double fall_s) {
    feed(0, a_Nm, 0);
    feed(rise_s, b_Nm, 0);
    feed(rise_s + fall_s, c_Nm, 0);
    return noted(BW_REASON_SPIKE);
}

/* In a stage of 20 N.m. */
static bool is_knock(double a_Nm, double b_Nm, double c_Nm, double rise_s, double fall_s) {
    begin_torque(20);
    return knocked(a_Nm, b_Nm, c_Nm, rise_s, fall_s);
}

/* The whole torque within a twentieth of a second: a 64th of one is 6.25 N.m. */
static void test_knock_rate(void **state) {
    (void)state;
    assert_false(is_knock(0, 6.25, 0, 0x1p-6, 0x1p-10));
    assert_true(is_knock(0, 6.25 + hair, 0, 0x1p-6, 0x1p-10));
    assert_false(is_knock(0, 8, 1.75, 0x1p-10, 0x1p-6));
    assert_true(is_knock(0, 8, 1.75 - hair, 0x1p-10, 0x1p-6));
}

/* At a thousand samples a second that is noise: two thresholds at least. */
static void test_knock_above_noise(void **state) {
    (void)state;
    assert_false(is_knock(0, 2, 0, 0x1p-10, 0x1p-10));
    assert_true(is_knock(0, 2 + hair, 0, 0x1p-10, 0x1p-10));
    assert_false(is_knock(-1, 2, 0, 0x1p-10, 0x1p-10));
    assert_true(is_knock(-1, 2, -hair, 0x1p-10, 0x1p-10));
}

/* Friction at rest lets go as fast as a wrench can tell: up to 15 % of what is left, a fifth is
 * more. */
static void test_knock_or_friction(void **state) {
    (void)state;
    assert_false(is_knock(20, 24, 20, 0x1p-10, 0x1p-10));
    assert_true(is_knock(20, 24 + hair, 20, 0x1p-10, 0x1p-10));
}

/* No time, no rate; and no rate is beyond a hand where no torque is known, however little. */
static void test_no_knock(void **state) {
    (void)state;
    assert_false(is_knock(0, 10, 0, 0, 0x1p-10));
    assert_false(is_knock(0, 10, 0, 0x1p-10, 0));
    bw_stage open = torque_stage(-INFINITY, 0, INFINITY);
    open.kind = BW_STAGE_ROTATING;
    begin(&open, &loose);
    assert_false(knocked(0, 100, 0, 0x1p-10, 0x1p-10));
    begin_torque(1);
    assert_true(knocked(0, 10, 0, 0x1p-10, 0x1p-10));
}

static void test_first_knock(void **state) {
    (void)state;
    begin_torque(20);
    feed(1, 0, 0);
    assert_false(bw_judge_when(&j, BW_REASON_SPIKE, &(double){0}));
    feed(1 + 0x1p-10, 10, 0);
    feed(1 + 0x1p-9, 0, 0);
    assert_true(when(BW_REASON_SPIKE) == 1 + 0x1p-10);
    feed(2, 0, 0);
    feed(2 + 0x1p-10, 10, 0);
    feed(2 + 0x1p-9, 0, 0);
    assert_true(when(BW_REASON_SPIKE) == 1 + 0x1p-10);
    assert_true(bw_judge_end(&j, true).peak_Nm == 0);
}

/* ---- gaps ---- */

/* The slowest wrench that is judged by its trace may lose two samples in a row, not three. */
static void test_gap(void **state) {
    (void)state;
    for (int more = 0; more < 2; more++) {
        begin_torque(20);
        feed(0, 0, 0);
        feed(0, 2, 0);
        feed(0.3 + hair * more, 2, 0);
        assert_int_equal(noted(BW_REASON_GAP), more == 1);
    }
}

static void leave_out(double time_s) {
    bw_sample sample = {time_s, 2, 0, false};
    (void)bw_judge_sample(&j, &sample);
}

/* An angle that is left out, from the second sample on, is bridged for as long as samples may be
 * missing. */
static void test_angle_left_out(void **state) {
    (void)state;
    for (int more = 0; more < 2; more++) {
        begin_torque(20);
        feed(0, 0, 0);
        leave_out(0.15);
        leave_out(0.3 + hair * more);
        assert_int_equal(noted(BW_REASON_GAP), more == 1);
        assert_true(j.has_angle);
    }
    begin_torque(20);
    leave_out(0);
    feed(0.1, 0, 0);
    assert_false(j.has_angle);
}

/* A torque that was there with the next sample came unseen, if it is one. */
static void test_gap_before_the_load(void **state) {
    (void)state;
    begin_torque(20);
    feed(0, 0, 0);
    feed(1, 1 - hair, 0);
    assert_false(noted(BW_REASON_GAP));
    feed(1.125, 0, 0);
    feed(2, 1, 0);
    assert_true(noted(BW_REASON_GAP));
}

static bool begins_late(const bw_stage *stage, const bw_standing *standing, double torque_Nm) {
    begin(stage, standing);
    feed(0, torque_Nm, 0);
    return noted(BW_REASON_GAP);
}

/* Under load at once, or above what it stands at after an earlier stage or pull. */
static void test_begins_late(void **state) {
    (void)state;
    bw_stage torque = torque_stage(18, 20, 22);
    assert_false(begins_late(&torque, &loose, 1 - hair));
    assert_true(begins_late(&torque, &loose, 1));
    bw_standing stands = {.torque_Nm = 12};
    assert_false(begins_late(&torque, &stands, 12 - hair));
    assert_true(begins_late(&torque, &stands, 12));
    bw_standing pulled = {.torque_Nm = 12, .pulls = 1, .peak_Nm = 16};
    assert_false(begins_late(&torque, &pulled, 16 - hair));
    assert_true(begins_late(&torque, &pulled, 16));
}

/* A sample that fell out is no release: what it stood at then is what it stands at now. */
static void test_hole(void **state) {
    (void)state;
    begin_torque(20);
    feed(0, 0, 0);
    feed(1, 10, 0);
    feed(1 + 0x1p-10, 7.9, 0); /* 2 below: a tenth of the target */
    feed(1 + 0x1p-9, 10, 0);
    assert_true(noted(BW_REASON_SPIKE));
    begin_torque(20);
    feed(0, 0, 0);
    feed(1, 10, 0);
    feed(1 + 0x1p-10, 8, 0);
    feed(1 + 0x1p-9, 10, 0);
    assert_false(noted(BW_REASON_SPIKE));
    begin_torque(20);
    feed(0, 0, 0);
    feed(1, 10, 0);
    feed(1 + 0x1p-10, 7.5, 0);
    feed(1 + 0x1p-9, 9.5, 0); /* back by no more than a tenth of the target */
    assert_false(noted(BW_REASON_SPIKE));
    begin_torque(20);
    feed(0, 0, 0);
    feed(1, 10, 0);
    feed(1 + 0x1p-10, 0, 0); /* let go, and not back at once */
    feed(1 + 0x1p-9, 1, 0);
    assert_false(noted(BW_REASON_SPIKE));
}

/* Where the turn counts, from where it counts. */
static void test_turn_begins_late(void **state) {
    (void)state;
    bw_stage snug = snug_stage(20, 30, 60);
    bw_standing on = {.snug_reached = true};
    assert_false(begins_late(&snug, &loose, 20 - hair));
    assert_true(begins_late(&snug, &loose, 20));
    assert_false(begins_late(&snug, &loose, 1));
    assert_true(begins_late(&snug, &on, 1));
    assert_false(begins_late(&snug, &on, 1 - hair));
    bw_standing stands = {.torque_Nm = 20};
    bw_stage angle = angle_stage(30, 60);
    assert_true(begins_late(&angle, &stands, 1));
    assert_false(begins_late(&angle, &stands, 1 - hair));
}

/* Nobody saw it rise through the snug torque. */
static void test_begins_at_snug(void **state) {
    (void)state;
    bw_stage snug = snug_stage(20, 30, 60);
    begin(&snug, &loose);
    feed(0, 20, 0);
    feed(0.125, 25, 5);
    feed(0.25, 0, 5);
    assert_false(bw_judge_end(&j, true).snug_reached);
}

/* A sample that no wrench could mean is left out, whichever of its figures it is. */
static void test_left_out(void **state) {
    (void)state;
    static const bw_sample bad[] = {
        {NAN, 1, 0, true}, {3, NAN, 0, true}, {3, 1, NAN, true}, {2 - 1e-9, 1, 0, true}};
    for (size_t i = 0; i < 4; i++) {
        begin_torque(20);
        feed(1, 0.5, 0);
        feed(2, 0, 0);
        assert_false(noted(BW_REASON_GAP));
        (void)bw_judge_sample(&j, &bad[i]);
        assert_true(when(BW_REASON_GAP) == 2);
        assert_int_equal(j.samples, 2);
        feed(3, 0, 0);
        (void)bw_judge_sample(&j, &bad[i]);
        assert_true(when(BW_REASON_GAP) == 2); /* the first of them */
    }
}

/* Time may begin anywhere and stand still, not go back. */
static void test_time(void **state) {
    (void)state;
    begin_torque(20);
    feed(-5, 0, 0);
    feed(-5, 0, 0);
    assert_int_equal(j.samples, 2);
    feed(-6, 0, 0);
    assert_int_equal(j.samples, 2);
    begin_torque(20);
    feed(5, 0, 0);
    feed(4, 0, 0); /* the second one, too */
    assert_int_equal(j.samples, 1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_knock_rate),        cmocka_unit_test(test_knock_above_noise),
        cmocka_unit_test(test_knock_or_friction), cmocka_unit_test(test_no_knock),
        cmocka_unit_test(test_first_knock),       cmocka_unit_test(test_gap),
        cmocka_unit_test(test_angle_left_out),    cmocka_unit_test(test_gap_before_the_load),
        cmocka_unit_test(test_begins_late),       cmocka_unit_test(test_hole),
        cmocka_unit_test(test_turn_begins_late),  cmocka_unit_test(test_begins_at_snug),
        cmocka_unit_test(test_left_out),          cmocka_unit_test(test_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
