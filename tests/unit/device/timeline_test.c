/* timeline_test.c - the time of each reading. */
#include "cmocka_all.h"

#include "device/timeline.h"

#include <math.h>

static const int64_t ms = 1000000;

static void assert_near(double got, double want) {
    if (!(fabs(got - want) < 1e-9)) {
        fail_msg("%.12f is not %.12f", got, want);
    }
}

static double next(bw_timeline *t) {
    bool restarted = false;
    double s = bw_timeline_next(t, NULL, &restarted);
    assert_false(restarted);
    return s;
}

static double next_at(bw_timeline *t, double device_s, bool want_restarted) {
    bool restarted = false;
    double s = bw_timeline_next(t, &device_s, &restarted);
    assert_int_equal(restarted, want_restarted);
    return s;
}

static void arrivals_count_from_the_opening(void **state) {
    (void)state;
    bw_timeline t = {.opened_ns = 1000000 * ms};
    bw_timeline_read(&t, 1000020 * ms, 1);
    assert_near(next(&t), 0.020);
    bw_timeline_read(&t, 1000040 * ms, 1);
    assert_near(next(&t), 0.040);
}

static void readings_of_one_read_are_spread(void **state) {
    (void)state;
    bw_timeline t = {0};
    bw_timeline_read(&t, 100 * ms, 1);
    assert_near(next(&t), 0.100);
    bw_timeline_read(&t, 140 * ms, 4);
    assert_near(next(&t), 0.110);
    assert_near(next(&t), 0.120);
    assert_near(next(&t), 0.130);
    assert_near(next(&t), 0.140);
    bw_timeline_read(&t, 160 * ms, 2);
    assert_near(next(&t), 0.150);
    assert_near(next(&t), 0.160);
}

static void what_follows_a_silence_did_not_happen_in_it(void **state) {
    (void)state;
    bw_timeline t = {0};
    bw_timeline_read(&t, 0, 1);
    assert_near(next(&t), 0);
    bw_timeline_read(&t, 60000 * ms, 2);
    assert_near(next(&t), 59.9);
    assert_near(next(&t), 60);
}

static void time_never_stands_still_or_goes_back(void **state) {
    (void)state;
    bw_timeline t = {.opened_ns = 500 * ms};
    double last = -1;
    static const int64_t reads[] = {600, 600, 590, 600, 0, 601};
    for (size_t i = 0; i < sizeof reads / sizeof reads[0]; i++) {
        bw_timeline_read(&t, reads[i] * ms, 3);
        for (int k = 0; k < 3; k++) {
            double s = next(&t);
            assert_true(s > last);
            last = s;
        }
    }
    assert_true(last < 0.102);
}

static void the_device_s_own_time_is_taken_as_it_is(void **state) {
    (void)state;
    bw_timeline t = {0};
    bw_timeline_read(&t, 100 * ms, 0);
    assert_true(next_at(&t, 12.345, false) == 12.345);
    assert_true(next_at(&t, 12.355, false) == 12.355);
    bw_timeline_read(&t, 110 * ms, 0); /* a rehearsal runs faster than the clock */
    assert_true(next_at(&t, 99.5, false) == 99.5);
    assert_near(next_at(&t, 99.5, false), 99.500001); /* a coarse clock */
    assert_true(next_at(&t, 99.6, false) == 99.6);
}

static void a_device_s_clock_may_begin_anew(void **state) {
    (void)state;
    bw_timeline t = {0};
    bw_timeline_read(&t, 100 * ms, 0);
    assert_near(next_at(&t, 50, false), 50);
    bw_timeline_read(&t, 400 * ms, 0);
    assert_near(next_at(&t, 1, true), 50.3);
    assert_near(next_at(&t, 1.5, false), 50.8);
    assert_near(next_at(&t, 5000, true), 50.800001); /* more than an hour at once */
    assert_near(next_at(&t, 5000.25, false), 51.05);
}

static void readings_with_and_without_a_time_go_together(void **state) {
    (void)state;
    bw_timeline t = {0};
    bw_timeline_read(&t, 5000 * ms, 1);
    assert_near(next(&t), 5);
    bw_timeline_read(&t, 5100 * ms, 0);
    assert_near(next_at(&t, 1, false), 5.1); /* its clock is behind: it goes on from here */
    bw_timeline_read(&t, 5250 * ms, 1);
    assert_near(next(&t), 5.25);
    bw_timeline_read(&t, 5300 * ms, 0);
    assert_near(next_at(&t, 1.19, false), 5.29);
    assert_near(next_at(&t, 1.14, true), 5.290001); /* back by its own count */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(arrivals_count_from_the_opening),
        cmocka_unit_test(readings_of_one_read_are_spread),
        cmocka_unit_test(what_follows_a_silence_did_not_happen_in_it),
        cmocka_unit_test(time_never_stands_still_or_goes_back),
        cmocka_unit_test(the_device_s_own_time_is_taken_as_it_is),
        cmocka_unit_test(a_device_s_clock_may_begin_anew),
        cmocka_unit_test(readings_with_and_without_a_time_go_together),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
