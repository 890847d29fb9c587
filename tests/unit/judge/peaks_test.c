/* peaks_test.c - each threshold of peaks.c: what is a peak, and when it was. */
#include "cmocka_all.h"

#include "judge/peaks.h"

#include <math.h>

static const double hair = 1e-9;

static void feed(bw_peaks *p, double time_s, double torque_Nm) {
    bw_sample sample = {.time_s = time_s, .torque_Nm = torque_Nm};
    bw_peaks_take(p, &sample);
}

/* Pulled to 60 N.m at 1 s, down to between_Nm, and again to 60 at 3 s; 40 had to be reached. */
static bw_peaks pulled_twice(double between_Nm) {
    bw_peaks p;
    bw_peaks_begin(&p, 40);
    feed(&p, 0, 0);
    feed(&p, 1, 60);
    feed(&p, 2, between_Nm);
    feed(&p, 3, 60);
    feed(&p, 4, 0);
    return p;
}

/* Friction at rest and a trembling hand take less than half of it. */
static void test_over_at_half(void **state) {
    (void)state;
    bw_peaks p = pulled_twice(20);
    assert_int_equal(p.n, 2);
    assert_true(bw_peaks_apart_s(&p) == 2.0);
    p = pulled_twice(20 + hair);
    assert_int_equal(p.n, 1);
    assert_true(isinf(bw_peaks_apart_s(&p)));
}

static void test_reached(void **state) {
    (void)state;
    for (int less = 0; less < 2; less++) {
        bw_peaks p;
        bw_peaks_begin(&p, 40);
        feed(&p, 1, 40 - hair * less);
        feed(&p, 2, 0);
        assert_int_equal(p.n, 1 - less);
    }
}

/* A peak is where it was highest first; the newest two count. */
static void test_when(void **state) {
    (void)state;
    bw_peaks p;
    bw_peaks_begin(&p, 40);
    static const double rows[][2] = {{0, 0},  {1, 50}, {2, 0},  {3, 45}, {4, 52},
                                     {5, 52}, {6, 0},  {7, 30}, {8, 41}, {9, 0}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        feed(&p, rows[i][0], rows[i][1]);
    }
    assert_int_equal(p.n, 3);
    assert_true(p.before_s == 4.0);
    assert_true(p.newest_s == 8.0);
    assert_true(bw_peaks_apart_s(&p) == 4.0);
}

/* However small the screwdriver: nothing to reach is no torque at all, or no limit. */
static void test_something_to_reach(void **state) {
    (void)state;
    static const struct {
        double least_Nm;
        uint32_t n;
    } rows[] = {{0.5, 1}, {0, 0}, {-1, 0}, {-INFINITY, 0}, {INFINITY, 0}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_peaks p;
        bw_peaks_begin(&p, rows[i].least_Nm);
        feed(&p, 0, 0);
        feed(&p, 1, 0.6);
        feed(&p, 2, 0);
        assert_int_equal(p.n, rows[i].n);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_over_at_half),
        cmocka_unit_test(test_reached),
        cmocka_unit_test(test_when),
        cmocka_unit_test(test_something_to_reach),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
