/* shape_test.c - each limit of shape.c: what a curve must look like to mean trouble, and when in
 * the trace it shows.  Curves are fed a sample for each degree. */
#include "cmocka_all.h"

#include "judge/judge_int.h"
#include "pen.h"

#include <math.h>

static const double hair = 1e-9;
static const bw_standing loose = {0};

static bw_judge j;

/* Where the hand is. */
static struct { double time_s, torque_Nm, angle_deg; } at;

static void begin(const bw_stage *stage, const bw_standing *standing) {
    bw_judge_begin(&j, stage, standing, &(bw_terms){0});
    at.time_s = at.torque_Nm = at.angle_deg = 0;
}

static void feed(double torque_Nm, double turn_deg) {
    at.time_s += 0.25;
    at.torque_Nm = torque_Nm;
    at.angle_deg += turn_deg;
    bw_sample sample = {at.time_s, at.torque_Nm, at.angle_deg, true};
    (void)bw_judge_sample(&j, &sample);
}

/* So many degrees on, at this slope. */
static void on(int deg, double slope_Nm_per_deg) {
    for (int i = 0; i < deg; i++) {
        feed(at.torque_Nm + slope_Nm_per_deg, 1);
    }
}

static bool gives(bw_reason reason) {
    return (bw_judge_end(&j, true).reasons & (uint32_t)reason) != 0;
}

static bool shows(bw_reason reason) {
    double time_s = 0;
    return bw_judge_when(&j, reason, &time_s);
}

/* ---- falling ---- */

/* Turned on at this torque, then at 85 % of it. */
static bool falls(double target_Nm, double top_Nm) {
    bw_stage torque = torque_stage(0.9 * target_Nm, target_Nm, 50);
    begin(&torque, &loose);
    feed(0, 0);
    feed(top_Nm, 0);
    on(10, 0);
    feed(0.85 * top_Nm, 1);
    on(8, 0);
    feed(0, 0);
    feed(0, 0);
    return gives(BW_REASON_TORQUE_DROP);
}

/* Where a thread runs, torque comes and goes: half of what the stage is about is more than that.
 * Half of a small torque may be noise: four thresholds, 1.2 N.m, then. */
static void test_falls_from(void **state) {
    (void)state;
    assert_true(falls(20, 10));
    assert_false(falls(20, 10 - hair));
    assert_true(falls(1, 1.2));
    assert_false(falls(1, 1.2 - hair));
}

/* ---- early rise ---- */

static bw_stage stage_of(double target_Nm) {
    return torque_stage(0.9 * target_Nm, target_Nm, 1.1 * target_Nm);
}

/* Run down, then a rise that begins to drag, then slack.  The curve begins two degrees behind the
 * first sample under load. */
static void wedge(const bw_stage *stage, const bw_standing *standing, double run_down_deg,
                  int rise_deg, double share) {
    double reference_Nm = bw_judge_reference_Nm(stage, standing);
    begin(stage, standing);
    feed(0, 0);
    feed(0, run_down_deg);
    feed(0.09 * reference_Nm, 0);
    on(2 + rise_deg, share * reference_Nm / 360);
    on(45, 0);
    feed(0, 0);
    feed(0, 0);
}

static bool wedges(double run_down_deg, int rise_deg, double share) {
    bw_stage torque = stage_of(36);
    wedge(&torque, &loose, run_down_deg, rise_deg, share);
    assert_int_equal(shows(BW_REASON_EARLY_RISE), gives(BW_REASON_EARLY_RISE));
    assert_false(shows(BW_REASON_YIELDING));
    return gives(BW_REASON_EARLY_RISE);
}

/* A trace that did not see it run free can't tell that it should still have. */
static void test_run_down(void **state) {
    (void)state;
    assert_true(wedges(30, 40, 2));
    assert_false(wedges(30 - hair, 40, 2));
}

/* A chip wedges as if the whole torque were to come within a turn; a forming thread takes many. */
static void test_wedged_within(void **state) {
    (void)state;
    assert_true(wedges(30, 40, 1 + 1e-6));
    assert_false(wedges(30, 40, 1 - 1e-6));
}

/* It rises so over thirty degrees; what is over less is diluted. */
static void test_wedging(void **state) {
    (void)state;
    assert_true(wedges(30, 30, 1 + 1e-6));
    assert_false(wedges(30, 29, 1 + 1e-6));
}

/* However small its torque, a fastener that was tightened is not run down any more. */
static void test_fresh(void **state) {
    (void)state;
    bw_stage torque = stage_of(36);
    bw_standing stands = {.torque_Nm = 0.5};
    wedge(&torque, &stands, 40, 40, 2);
    assert_false(gives(BW_REASON_EARLY_RISE));
}

/* On the way to a small torque the rise is small: from nothing on. */
static void test_small_rise(void **state) {
    (void)state;
    bw_stage torque = stage_of(3.6);
    wedge(&torque, &loose, 40, 40, 1.2);
    assert_true(j.peak_Nm < 1);
    assert_true(gives(BW_REASON_EARLY_RISE));
}

/* An angle begins at a fastener that was run down before: an earlier rise is not its business. */
static void test_not_of_an_angle(void **state) {
    (void)state;
    bw_stage angle = angle_stage(60, 90);
    angle.low_Nm = 36;
    wedge(&angle, &loose, 40, 40, 2);
    assert_false(shows(BW_REASON_EARLY_RISE));
}

/* ---- yielding ---- */

/* From half of the torque that the stage is about on, not of what the hand came to. */
static void test_yields_from(void **state) {
    (void)state;
    bw_stage torque = stage_of(1);
    begin(&torque, &loose);
    feed(0, 0);
    feed(0.3, 0);
    on(16, 0.0625);
    on(20, 0);
    on(28, 0.0625);
    feed(0, 0);
    feed(0, 0);
    assert_true(at.torque_Nm == 0 && j.peak_Nm == 0.3 + 44 * 0.0625);
    assert_true(gives(BW_REASON_YIELDING));
    assert_true(shows(BW_REASON_YIELDING));
    assert_false(shows(BW_REASON_EARLY_RISE));
}

/* ---- tighter than anybody knows ---- */

/* Set going with so much by a sample that turns five degrees. */
static bool was_tight(double stands_Nm, double moved_Nm) {
    bw_stage torque = torque_stage(18, 20, 22);
    bw_standing stands = {.torque_Nm = stands_Nm};
    begin(&torque, &stands);
    feed(0, 0);
    feed(moved_Nm, 0);
    feed(moved_Nm, 0);
    feed(moved_Nm + 2, 5);
    feed(0, 0);
    feed(0, 0);
    return bw_judge_was_tight(&j);
}

/* Twice the friction at rest is no friction any more; of however little. */
static void test_was_tight(void **state) {
    (void)state;
    assert_false(was_tight(10, 13));
    assert_true(was_tight(10, 13 + hair));
    assert_true(was_tight(1, 10));
    assert_false(was_tight(0, 10));
}

/* ---- when ---- */

/* No moment shows a torque that was never there. */
static void test_when_nothing_came(void **state) {
    (void)state;
    static const bw_reason reasons[] = {BW_REASON_BELOW_LIMIT, BW_REASON_ABOVE_LIMIT,
                                        BW_REASON_OUT_OF_RANGE, BW_REASON_ANGLE_SHORT,
                                        BW_REASON_NO_TURN};
    bw_stage rotating = torque_stage(0.1, 0, 0.2);
    rotating.kind = BW_STAGE_ROTATING;
    begin(&rotating, &loose);
    for (size_t i = 0; i < sizeof reasons / sizeof *reasons; i++) {
        assert_false(shows(reasons[i]));
    }
    feed(0, 0);
    feed(0.5, 1);
    feed(0.5, 1);
    for (size_t i = 0; i < sizeof reasons / sizeof *reasons; i++) {
        assert_true(shows(reasons[i]));
    }
    assert_false(shows(BW_REASON_SPIKE));
    assert_false(shows(BW_REASON_GAP));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_falls_from),      cmocka_unit_test(test_run_down),
        cmocka_unit_test(test_wedged_within),   cmocka_unit_test(test_wedging),
        cmocka_unit_test(test_fresh),           cmocka_unit_test(test_small_rise),
        cmocka_unit_test(test_not_of_an_angle), cmocka_unit_test(test_yields_from),
        cmocka_unit_test(test_was_tight),       cmocka_unit_test(test_when_nothing_came),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
