/* pull_test.c - where a pull begins and ends. */
#include "cmocka_all.h"

#include "judge/judge.h"
#include "judge/pull.h"
#include "pen.h"

#include <math.h>

static bw_pull_event at(bw_pull_watch *watch, double time_s, double torque_Nm) {
    bw_sample sample = {.time_s = time_s, .torque_Nm = torque_Nm};
    return bw_pull_sample(watch, &sample);
}

static bw_pull_watch armed(double threshold_Nm) {
    bw_pull_watch watch = {.rest_s = 0.3};
    bw_pull_arm(&watch, threshold_Nm);
    return watch;
}

static void test_begins_at_the_threshold(void **state) {
    (void)state;
    bw_pull_watch watch = armed(3);
    assert_int_equal(at(&watch, 0.0, 0), BW_PULL_REST);
    assert_int_equal(at(&watch, 0.1, 2.999), BW_PULL_REST);
    assert_int_equal(at(&watch, 0.2, 3.0), BW_PULL_BEGAN);
    assert_int_equal(at(&watch, 0.3, 20), BW_PULL_ON);
    /* Loosening is a pull too. */
    watch = armed(3);
    assert_int_equal(at(&watch, 0.0, -2.9), BW_PULL_REST);
    assert_int_equal(at(&watch, 0.1, -3.0), BW_PULL_BEGAN);
}

static void test_ends_after_the_rest(void **state) {
    (void)state;
    bw_pull_watch watch = armed(3);
    assert_int_equal(at(&watch, 0.0, 60), BW_PULL_BEGAN);
    assert_int_equal(at(&watch, 1.0, 2.9), BW_PULL_ON);
    assert_int_equal(at(&watch, 1.25, 0), BW_PULL_ON);
    assert_int_equal(at(&watch, 1.3125, 0), BW_PULL_ENDED);
    assert_int_equal(at(&watch, 1.4, 0), BW_PULL_REST);
    assert_int_equal(at(&watch, 1.5, 3), BW_PULL_BEGAN);
    /* Exactly so long is long enough. */
    watch = armed(3);
    watch.rest_s = 0.25;
    assert_int_equal(at(&watch, 0.0, 60), BW_PULL_BEGAN);
    assert_int_equal(at(&watch, 1.0, 0), BW_PULL_ON);
    assert_int_equal(at(&watch, 1.25, 0), BW_PULL_ENDED);
}

/* The next stroke of a ratchet comes before the rest is over: one pull. */
static void test_strokes_are_one_pull(void **state) {
    (void)state;
    bw_pull_watch watch = armed(3);
    assert_int_equal(at(&watch, 0.0, 60), BW_PULL_BEGAN);
    double time_s = 0;
    for (int stroke = 0; stroke < 20; stroke++) {
        assert_int_equal(at(&watch, time_s += 0.1, 0), BW_PULL_ON);
        assert_int_equal(at(&watch, time_s += 0.25, 0), BW_PULL_ON);
        assert_int_equal(at(&watch, time_s += 0.1, 50), BW_PULL_ON);
    }
    assert_int_equal(at(&watch, time_s += 0.1, 0), BW_PULL_ON);
    assert_int_equal(at(&watch, time_s += 0.4, 0), BW_PULL_ENDED);
}

static void test_arming_keeps_a_pull_on(void **state) {
    (void)state;
    bw_pull_watch watch = armed(3);
    assert_int_equal(at(&watch, 0.0, 5), BW_PULL_BEGAN);
    bw_pull_arm(&watch, 10);
    assert_int_equal(at(&watch, 0.1, 5), BW_PULL_ON); /* below the new one */
    assert_int_equal(at(&watch, 0.5, 5), BW_PULL_ENDED);
    assert_int_equal(at(&watch, 0.6, 9.9), BW_PULL_REST);
    assert_int_equal(at(&watch, 0.7, 10), BW_PULL_BEGAN);
}

/* What is no number neither begins nor ends anything, and does not stop the rest from ending. */
static void test_not_finite(void **state) {
    (void)state;
    static const double bad[] = {NAN, INFINITY, -INFINITY};
    for (size_t i = 0; i < 3; i++) {
        bw_pull_watch watch = armed(3);
        assert_int_equal(at(&watch, 0.0, bad[i]), BW_PULL_REST);
        assert_int_equal(at(&watch, bad[i], 60), BW_PULL_REST);
        assert_int_equal(at(&watch, 0.1, 60), BW_PULL_BEGAN);
        assert_int_equal(at(&watch, bad[i], 0), BW_PULL_ON);
        assert_int_equal(at(&watch, 0.2, 0), BW_PULL_ON);
        assert_int_equal(at(&watch, bad[i], 0), BW_PULL_ON);
        assert_int_equal(at(&watch, 0.3, bad[i]), BW_PULL_ON);
        assert_int_equal(at(&watch, 0.6, 0), BW_PULL_ENDED);
    }
}

/* A clock that goes back begins the rest anew; it does not hold the pull for ever. */
static void test_time_goes_back(void **state) {
    (void)state;
    bw_pull_watch watch = armed(3);
    assert_int_equal(at(&watch, 100.0, 60), BW_PULL_BEGAN);
    assert_int_equal(at(&watch, 100.1, 0), BW_PULL_ON);
    assert_int_equal(at(&watch, 0.0, 0), BW_PULL_ON);
    assert_int_equal(at(&watch, 0.2, 0), BW_PULL_ON);
    assert_int_equal(at(&watch, 0.4, 0), BW_PULL_ENDED);
}

/* The threshold: a twentieth of the torque in hand, never below what a wrench can tell from
 * nothing. */
static void test_threshold(void **state) {
    (void)state;
    bw_standing nothing = {0};
    bw_standing stands = {.torque_Nm = 40};
    bw_stage stage = torque_stage(57, 60, 63);
    assert_true(fabs(bw_judge_threshold_Nm(&stage, &nothing) - 3) < 1e-12);
    assert_true(fabs(bw_judge_threshold_Nm(&stage, &stands) - 3) < 1e-12);
    stage.target_Nm = 4;
    assert_true(fabs(bw_judge_threshold_Nm(&stage, &nothing) - 0.3) < 1e-12);
    stage = snug_stage(25, 86, 94);
    assert_true(fabs(bw_judge_threshold_Nm(&stage, &nothing) - 1.25) < 1e-12);
    stage = angle_stage(86, 94);
    assert_true(fabs(bw_judge_threshold_Nm(&stage, &nothing) - 0.3) < 1e-12);
    assert_true(fabs(bw_judge_threshold_Nm(&stage, &stands) - 2) < 1e-12);
    stage.low_Nm = 70;
    assert_true(fabs(bw_judge_threshold_Nm(&stage, &stands) - 3.5) < 1e-12);
    stage.low_Nm = 30; /* it stands above its floor already */
    assert_true(fabs(bw_judge_threshold_Nm(&stage, &stands) - 2) < 1e-12);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_begins_at_the_threshold),
        cmocka_unit_test(test_ends_after_the_rest),
        cmocka_unit_test(test_strokes_are_one_pull),
        cmocka_unit_test(test_arming_keeps_a_pull_on),
        cmocka_unit_test(test_not_finite),
        cmocka_unit_test(test_time_goes_back),
        cmocka_unit_test(test_threshold),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
