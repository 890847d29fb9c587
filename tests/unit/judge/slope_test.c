/* slope_test.c - the slope of torque over turn, and one fastener beside the others. */
#include "cmocka_all.h"

#include "judge/slope.h"
#include "pen.h"
#include "trade/scatter.h"

#include <math.h>

static pen p;

/* ---- the slope ---- */

static bw_judge judged(const bw_stage *stage, const bw_standing *standing) {
    bw_judge judge;
    bw_judge_begin(&judge, stage, standing, &(bw_terms){0});
    for (size_t i = 0; i < p.n; i++) {
        (void)bw_judge_sample(&judge, &p.sample[i]);
    }
    return judge;
}

static double slope_seen(const bw_stage *stage, const bw_standing *standing) {
    bw_judge judge = judged(stage, standing);
    return bw_judge_end(&judge, true).slope_Nm_per_deg;
}

/* A soft start, a straight line of 2 N.m/degree, and yield where it is wanted. */
static void draw(double rate_Hz, double windup_deg_per_Nm, double yield_deg) {
    pen_take(&p, rate_Hz);
    p.windup_deg_per_Nm = windup_deg_per_Nm;
    p.drift_deg_per_s = 0.05;
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 0, 20, 0.5);
    pen_to(&p, 8, 12, 0.5);
    pen_to(&p, 20, 8, 0.4);
    pen_to(&p, 60, 20, 1.2);
    if (yield_deg > 0) {
        pen_to(&p, 64, yield_deg, 1.5);
    }
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 0, 0, 0.4);
}

static void test_slope_of_a_line(void **state) {
    (void)state;
    static const double rates_Hz[] = {20, 50, 100, 200, 1000};
    bw_standing loose = {0};
    bw_stage torque = torque_stage(57, 60, 63);
    bw_stage snug = snug_stage(20, 15, 25);
    for (size_t r = 0; r < 5; r++) {
        for (int windup = 0; windup <= 10; windup++) {
            draw(rates_Hz[r], 0.01 * windup, 0);
            close_to(slope_seen(&torque, &loose), 2, 0.06);
            close_to(slope_seen(&snug, &loose), 2, 0.06);
        }
    }
}

/* What lies beyond yield does not count, however long. */
static void test_slope_beyond_yield(void **state) {
    (void)state;
    bw_standing loose = {0};
    bw_stage snug = snug_stage(20, 15, 300);
    for (double deg = 5; deg <= 160; deg *= 2) {
        draw(100, 0.05, deg);
        close_to(slope_seen(&snug, &loose), 2, 0.1);
    }
}

/* Five strokes that stick at their beginning. */
static void test_slope_over_strokes(void **state) {
    (void)state;
    bw_standing stands = {.torque_Nm = 20};
    bw_stage angle = angle_stage(35, 45);
    for (double drift = -0.05; drift <= 0.05; drift += 0.05) {
        pen_take(&p, 100);
        p.windup_deg_per_Nm = 0.05;
        p.drift_deg_per_s = drift;
        p.noise_Nm = 0.1;
        pen_to(&p, 0, 0, 0.3);
        for (int stroke = 0; stroke < 4; stroke++) {
            double from_Nm = 20 + 20.0 * stroke;
            pen_to(&p, 1.12 * from_Nm, 0, 0.3);
            pen_to(&p, from_Nm + 1, 0.5, 0.03);
            pen_to(&p, from_Nm + 20, 9.5, 0.5);
            pen_to(&p, 0, 0, 0.1);
            pen_back(&p, 10, 0.1);
        }
        pen_to(&p, 0, 0, 0.4);
        close_to(slope_seen(&angle, &stands), 2, 0.12);
    }
}

static void test_no_slope(void **state) {
    (void)state;
    bw_standing loose = {0};
    bw_stage torque = torque_stage(57, 60, 63);
    bw_stage open = angle_stage(-INFINITY, INFINITY);
    pen_take(&p, 100); /* it hardly turned */
    pen_pull(&p, 55, 60, 3);
    close_to(slope_seen(&torque, &loose), 0, 0);
    pen_take(&p, 100); /* nothing that would be stretch */
    pen_pull(&p, 1, 1.4, 90);
    bw_standing stands = {.torque_Nm = 20};
    close_to(slope_seen(&open, &stands), 0, 0);
    pen_take(&p, 100); /* no angle */
    p.no_angle = true;
    pen_pull(&p, 10, 60, 30);
    close_to(slope_seen(&torque, &loose), 0, 0);
    pen_take(&p, 100); /* strokes too short for a slope each */
    pen_to(&p, 0, 0, 0.3);
    for (int stroke = 1; stroke <= 6; stroke++) {
        pen_to(&p, 9 * stroke, 0, 0.2);
        pen_to(&p, 9 * stroke + 6, 4, 0.2);
        pen_to(&p, 0, 0, 0.1);
        pen_back(&p, 4, 0.1);
    }
    pen_to(&p, 0, 0, 0.4);
    close_to(slope_seen(&torque, &loose), 0, 0);
    bw_judge judge; /* nothing at all */
    bw_judge_begin(&judge, &torque, &loose, &(bw_terms){0});
    close_to(bw_judge_end(&judge, true).slope_Nm_per_deg, 0, 0);
}

/* A kind that tightens nothing has none. */
static void test_no_slope_of_a_check(void **state) {
    (void)state;
    bw_standing stands = {.torque_Nm = 50};
    bw_stage check = torque_stage(50, 0, 75);
    check.kind = BW_STAGE_CHECK;
    pen_take(&p, 100);
    pen_pull(&p, 52, 70, 20);
    close_to(slope_seen(&check, &stands), 0, 0);
}

/* ---- later pulls ---- */

static void test_slope_of_earlier_pulls(void **state) {
    (void)state;
    bw_stage angle = angle_stage(86, 94);
    bw_stage torque = torque_stage(57, 60, 63);
    bw_standing later = {.torque_Nm = 20, .pulls = 1, .turn_known = true, .peak_Nm = 50};
    pen_take(&p, 100);
    pen_pull(&p, 20, 60, 40);
    close_to(slope_seen(&torque, &later), 1, 0.05);
    /* Behind a pull that showed no slope an angle may be all yield. */
    close_to(slope_seen(&angle, &later), 0, 0);
    later.slope_Nm_per_deg = 2;
    close_to(slope_seen(&angle, &later), 2, 0);
    close_to(slope_seen(&torque, &later), 2, 0);
    later.slope_Nm_per_deg = 0.5;
    close_to(slope_seen(&angle, &later), 1, 0.05);
}

/* ---- beside the others ---- */

/* What is granted to sound ones is what the table of scatter gives to a torque wrench. */
static double granted(void) {
    const bw_scatter *row = NULL;
    double alpha = 0;
    assert_int_equal(bw_scatter_find("torque_by_trials", &row, NULL), BW_OK);
    assert_int_equal(bw_alpha_from_half_width(row->half_most, &alpha, NULL), BW_OK);
    return sqrt(alpha);
}

static uint32_t beside(double slope, size_t n, double median, double mad) {
    bw_siblings siblings = {n, median, mad};
    return bw_slope_reason(slope, &siblings);
}

static void test_beside_the_others(void **state) {
    (void)state;
    static const double step = 1e-9;
    double floor = granted();
    for (double median = 0.01; median < 100; median *= 3) {
        for (double mad = 0; mad < 0.4; mad += 0.02) {
            double apart = fmax(floor, 1 + 3 * 1.4826 * mad);
            assert_int_equal(beside(median * apart * (1 + step), 4, median, mad * median),
                             BW_REASON_STEEP);
            assert_int_equal(beside(median * apart * (1 - step), 4, median, mad * median), 0);
            assert_int_equal(beside(median / apart * (1 + step), 4, median, mad * median), 0);
            assert_int_equal(beside(median / apart * (1 - step), 4, median, mad * median),
                             BW_REASON_SHALLOW);
        }
    }
    assert_int_equal(beside(9, 3, 2, 0), 0); /* too few */
    assert_int_equal(beside(9, 0, 0, 0), 0);
    assert_int_equal(beside(9, 8, 0, 0), 0); /* no median */
    assert_int_equal(beside(0, 8, 2, 0), 0); /* not seen */
}

static bw_verdict beside_two(const bw_stage *stage, const bw_standing *standing, bool complete) {
    bw_standing among = *standing;
    among.siblings = (bw_siblings){7, 1, 0.02};
    return judge_all(stage, &among, p.sample, p.n, complete);
}

/* Twice as steep as the others; with too few of them, nobody knows. */
static void test_verdict(void **state) {
    (void)state;
    bw_standing loose = {0};
    bw_stage torque = torque_stage(57, 60, 63);
    draw(100, 0.05, 0);
    bw_verdict v = beside_two(&torque, &loose, true);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_STEEP, false);
    bw_standing few = {.siblings = {3, 1, 0.02}};
    v = judge_pen(&torque, &few, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    bw_standing others = {.siblings = {4, 5, 0.02}};
    v = judge_pen(&torque, &others, &p);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_SHALLOW, false);
}

/* Where the pull is no sound full one, the others change nothing in its verdict. */
static void test_unsound_does_not_depend_on_others(void **state) {
    (void)state;
    static const double targets_Nm[] = {45, 80}; /* above, below */
    bw_standing loose = {0};
    draw(100, 0.05, 0);
    for (int complete = 0; complete <= 1; complete++) {
        for (size_t i = 0; i < 2; i++) {
            bw_stage stage = torque_stage(0.95 * targets_Nm[i], targets_Nm[i],
                                          1.05 * targets_Nm[i]);
            bw_verdict alone = judge_all(&stage, &loose, p.sample, p.n, complete == 1);
            bw_verdict beside = beside_two(&stage, &loose, complete == 1);
            assert_int_not_equal(alone.outcome, BW_VERDICT_PASS);
            assert_true(verdicts_same(&alone, &beside));
        }
    }
    bw_stage good = torque_stage(57, 60, 63);
    bw_verdict v = beside_two(&good, &loose, false);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, true);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_slope_of_a_line),
        cmocka_unit_test(test_slope_beyond_yield),
        cmocka_unit_test(test_slope_over_strokes),
        cmocka_unit_test(test_no_slope),
        cmocka_unit_test(test_no_slope_of_a_check),
        cmocka_unit_test(test_slope_of_earlier_pulls),
        cmocka_unit_test(test_beside_the_others),
        cmocka_unit_test(test_verdict),
        cmocka_unit_test(test_unsound_does_not_depend_on_others),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
