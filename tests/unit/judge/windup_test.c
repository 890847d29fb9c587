/* windup_test.c - the turn of the joint whatever the wrench adds to it: wind-up, back-swings, the
 * drift of a gyro, noise. */
#include "cmocka_all.h"

#include "pen.h"

#include <math.h>

static pen p;

static void wrench(double rate_Hz, double windup_deg_per_Nm, double drift_deg_per_s,
                   double noise_Nm) {
    pen_take(&p, rate_Hz);
    p.windup_deg_per_Nm = windup_deg_per_Nm;
    p.drift_deg_per_s = drift_deg_per_s;
    p.noise_Nm = noise_Nm;
}

/* The judge is not told the wind-up, and gets the same turn. */
static void test_windup_drops_out(void **state) {
    (void)state;
    bw_stage torque = torque_stage(57, 60, 63);
    bw_stage snug = snug_stage(25, 40, 50);
    bw_stage angle = angle_stage(40, 50);
    bw_standing stands = {.torque_Nm = 30};
    for (int i = 0; i <= 20; i++) {
        wrench(100, 0.005 * i, 0, 0);
        pen_pull(&p, 33, 60, 45);
        bw_verdict v = judge_pen(&torque, NULL, &p);
        close_to(v.turn_deg, 45, 0.1);
        v = judge_pen(&angle, &stands, &p);
        close_to(v.turn_deg, 45, 0.1);
        assert_int_equal(v.outcome, BW_VERDICT_PASS);
        wrench(100, 0.005 * i, 0, 0);
        pen_to(&p, 0, 0, 0.2);
        pen_to(&p, 25, 100, 1);
        pen_to(&p, 60, 45, 1);
        pen_to(&p, 0, 0, 0.3);
        pen_to(&p, 0, 0, 0.4);
        v = judge_pen(&snug, NULL, &p);
        close_to(v.turn_deg, 45, 0.1);
        assert_int_equal(v.outcome, BW_VERDICT_PASS);
    }
}

/* Five strokes of a ratchet that go on from where the last one ended, with the slack of the
 * ratchet taken up each time. */
static void five_strokes(double each_deg) {
    double torque_Nm = 40;
    pen_to(&p, 0, 0, 0.4);
    for (int stroke = 0; stroke < 5; stroke++) {
        pen_to(&p, torque_Nm, 0, 0.3);
        torque_Nm += 6;
        pen_to(&p, torque_Nm, each_deg, 0.7);
        pen_to(&p, 0, 0, 0.1);
        pen_back(&p, each_deg + 1.5, 0.15);
        pen_back(&p, -1.5, 0.05);
    }
    pen_to(&p, 0, 0, 0.4);
}

static void test_five_ratchet_strokes(void **state) {
    (void)state;
    bw_stage angle = angle_stage(146, 154);
    bw_standing stands = {.torque_Nm = 40};
    static const double rates_Hz[] = {50, 100, 500, 1000};
    for (size_t r = 0; r < 4; r++) {
        for (int windup = 0; windup <= 10; windup++) {
            for (int drift = -1; drift <= 1; drift++) {
                wrench(rates_Hz[r], 0.01 * windup, 0.05 * drift, 0.05);
                five_strokes(30);
                bw_verdict v = judge_pen(&angle, &stands, &p);
                close_to(v.turn_deg, 150, 1.0);
                assert_int_equal(v.outcome, BW_VERDICT_PASS);
                assert_int_equal(v.reasons, 0);
            }
        }
    }
}

/* The same strokes as five pulls of their own. */
static void test_five_pulls(void **state) {
    (void)state;
    bw_stage angle = angle_stage(146, 154);
    bw_standing then = {.torque_Nm = 40};
    bw_verdict v = {0};
    for (int pull = 0; pull < 5; pull++) {
        wrench(100, 0.05, 0.05, 0.05);
        pen_pull(&p, 40 + 6 * pull, 46 + 6 * pull, 30);
        v = judge_pen(&angle, &then, &p);
        assert_int_equal(v.more, pull < 4);
        then = standing_after(&then, &v);
    }
    close_to(v.turn_deg, 150, 1.0);
    assert_int_equal(v.outcome, BW_VERDICT_PASS);
    assert_int_equal(v.pulls, 5);
}

/* What drifts while the wrench rests does not count, however long that is. */
static void test_drift_at_rest(void **state) {
    (void)state;
    bw_stage angle = angle_stage(86, 94);
    bw_standing stands = {.torque_Nm = 40};
    wrench(100, 0.05, 2, 0);
    pen_to(&p, 0, 0, 60);
    pen_to(&p, 44, 0, 0.3);
    pen_to(&p, 80, 90, 0.5);
    pen_to(&p, 0, 0, 0.2);
    pen_to(&p, 0, 0, 60);
    bw_verdict v = judge_pen(&angle, &stands, &p);
    close_to(v.turn_deg, 90, 2 * 1.0);
    assert_int_equal(v.outcome, BW_VERDICT_PASS);
}

/* Noise about the threshold neither ends a stroke nor adds to it. */
static void test_noise_at_the_threshold(void **state) {
    (void)state;
    bw_stage angle = angle_stage(86, 94);
    bw_standing stands = {.torque_Nm = 40};
    for (double noise_Nm = 0; noise_Nm <= 0.4; noise_Nm += 0.05) {
        wrench(1000, 0.05, 0, noise_Nm);
        pen_to(&p, 0, 0, 0.3);
        pen_to(&p, 2, 0, 0.3); /* lingers there */
        pen_to(&p, 2, 0, 0.3);
        pen_to(&p, 44, 0, 0.3);
        pen_to(&p, 80, 90, 1);
        pen_to(&p, 2, 0, 0.2);
        pen_to(&p, 2, 0, 0.3);
        pen_to(&p, 0, 0, 0.1);
        pen_to(&p, 0, 0, 0.4);
        bw_verdict v = judge_pen(&angle, &stands, &p);
        close_to(v.turn_deg, 90, 0.1);
        assert_int_equal(v.reasons, 0);
    }
}

/* ---- the wind-up, learned from a release for the next pull's live help ---- */

static double seen_windup(void) {
    bw_stage angle = angle_stage(86, 94);
    bw_standing stands = {.torque_Nm = 40};
    bw_judge judge;
    bw_judge_begin(&judge, &angle, &stands, &(bw_terms){0});
    close_to(bw_judge_windup_deg_per_Nm(&judge), 0, 0);
    for (size_t k = 0; k < p.n; k++) {
        (void)bw_judge_sample(&judge, &p.sample[k]);
    }
    return bw_judge_windup_deg_per_Nm(&judge);
}

static void test_windup_is_seen(void **state) {
    (void)state;
    for (int i = 0; i <= 10; i++) {
        wrench(100, 0.01 * i, 0, 0);
        pen_pull(&p, 44, 80, 90);
        close_to(seen_windup(), 0.01 * i, 0.001);
    }
    /* The last stroke counts, though the one before it was harder. */
    wrench(100, 0.05, 0, 0);
    pen_pull(&p, 44, 90, 40);
    pen_back(&p, 40, 0.1);
    pen_pull(&p, 20, 45, 5);
    close_to(seen_windup(), 0.05, 0.001);
}

static void test_windup_that_is_not_seen(void **state) {
    (void)state;
    wrench(100, 0.05, 0, 0);
    p.no_angle = true;
    pen_pull(&p, 44, 80, 90);
    close_to(seen_windup(), 0, 0);
    /* Hardly any load. */
    wrench(100, 0.05, 0, 0);
    pen_pull(&p, 2, 3.5, 10);
    close_to(seen_windup(), 0, 0);
    /* It turned on while the hand eased off. */
    wrench(100, 0.05, 0, 0);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 60, 0, 0.3);
    pen_to(&p, 0, 20, 0.3);
    pen_to(&p, 0, 0, 0.4);
    close_to(seen_windup(), 0, 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_windup_drops_out),
        cmocka_unit_test(test_five_ratchet_strokes),
        cmocka_unit_test(test_five_pulls),
        cmocka_unit_test(test_drift_at_rest),
        cmocka_unit_test(test_noise_at_the_threshold),
        cmocka_unit_test(test_windup_is_seen),
        cmocka_unit_test(test_windup_that_is_not_seen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
