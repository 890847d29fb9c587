/* running_test.c - each threshold of running.c: which turn the mean is taken over. */
#include "cmocka_all.h"

#include "judge/running.h"

static const double hair = 1e-9;

static void feed(bw_running *r, double travel_deg, double torque_Nm) {
    bw_running_take(r, true, travel_deg, torque_Nm);
}

static void let_go(bw_running *r) {
    bw_running_take(r, false, 0, 0);
}

static double mean_of(const bw_running *r) {
    double mean_Nm = -1;
    assert_true(bw_running_mean(r, 0, 0, &mean_Nm));
    return mean_Nm;
}

static void test_nothing_turned(void **state) {
    (void)state;
    bw_running r = {0};
    double mean_Nm = -1;
    assert_false(bw_running_mean(&r, 8, 90, &mean_Nm));
    feed(&r, 0, 10);
    feed(&r, 5, 10);
    assert_false(bw_running_mean(&r, 8, 90, &mean_Nm));
    assert_true(mean_Nm == -1.0);
}

/* The first five degrees of a stroke are wind-up and breaking away. */
static void test_behind_breakaway(void **state) {
    (void)state;
    bw_running r = {0};
    feed(&r, 0, 40);
    feed(&r, 5, 10);
    feed(&r, 6, 10);
    assert_true(r.over_deg == 1.0);
    assert_true(mean_of(&r) == 10.0);
    let_go(&r);
    feed(&r, 0, 40);
    feed(&r, 5 + hair, 10);
    assert_true(r.over_deg > 1.0);
    assert_true(r.over_deg < 1 + 2 * hair);
}

/* Between two samples the torque is a straight line: 10 to 20 N.m over two degrees. */
static void test_over_turn(void **state) {
    (void)state;
    bw_running r = {0};
    feed(&r, 5, 10);
    feed(&r, 7, 20);
    assert_true(mean_of(&r) == 15.0);
    feed(&r, 9, 20);
    assert_true(mean_of(&r) == 17.5);
}

/* A handle that swings back and comes again turned nothing until it is further than ever. */
static void test_back_and_on(void **state) {
    (void)state;
    bw_running r = {0};
    feed(&r, 5, 10);
    feed(&r, 9, 10);
    feed(&r, 6, 2);
    feed(&r, 9, 30);
    assert_true(r.over_deg == 4.0);
    feed(&r, 10, 30);
    assert_true(r.over_deg == 5.0);
    assert_true(mean_of(&r) == 14.0);
}

/* Strokes add up, each from its own first sample. */
static void test_strokes(void **state) {
    (void)state;
    bw_running r = {0};
    feed(&r, 5, 10);
    feed(&r, 9, 10);
    let_go(&r);
    feed(&r, 7, 20);
    feed(&r, 11, 20);
    assert_true(r.over_deg == 8.0);
    assert_true(mean_of(&r) == 15.0);
}

/* With what was before: 8 N.m over 6 degrees and 20 over 2. */
static void test_before(void **state) {
    (void)state;
    bw_running r = {0};
    double mean_Nm = 0;
    feed(&r, 5, 20);
    feed(&r, 7, 20);
    assert_true(bw_running_mean(&r, 8, 6, &mean_Nm));
    assert_true(mean_Nm == 11.0);
}

/* ---- the seat ---- */

/* Ten degrees at 10 N.m. */
static bw_running ran(bool seats) {
    bw_running r = {.seats = seats};
    feed(&r, 5, 10);
    feed(&r, 15, 10);
    return r;
}

/* Half as much again as the mean so far is a locking feature that comes and goes; above it the
 * thread met its seat, and that is no prevailing torque. */
static void test_seat(void **state) {
    (void)state;
    bw_running r = ran(true);
    feed(&r, 16, 15);
    assert_true(r.kept_deg == 11.0);
    r = ran(true);
    feed(&r, 16, 15 + hair);
    assert_true(r.kept_deg == 10.0);
    assert_true(mean_of(&r) == 10.0);
    r = ran(false); /* a shaft has no seat */
    feed(&r, 16, 15 + hair);
    assert_true(r.kept_deg == 11.0);
}

/* A rise that ends was none. */
static void test_seat_that_ends(void **state) {
    (void)state;
    bw_running r = ran(true);
    feed(&r, 16, 20);
    feed(&r, 17, 10);
    assert_true(r.kept_deg == 12.0);
    assert_true(mean_of(&r) == 130.0 / 12);
}

/* At its seat the hand eases off without turning on: the rise stays left out. */
static void test_seat_let_go(void **state) {
    (void)state;
    bw_running r = ran(true);
    feed(&r, 16, 20);
    feed(&r, 16, 10);
    assert_true(r.kept_deg == 10.0);
    assert_true(mean_of(&r) == 10.0);
}

/* No seat is turned on for sixty degrees: the thread runs as hard as that. */
static void test_no_seat_so_far(void **state) {
    (void)state;
    bw_running r = ran(true);
    feed(&r, 75 - hair, 20);
    assert_true(r.kept_deg == 10.0);
    r = ran(true);
    feed(&r, 75, 20);
    assert_true(r.kept_deg == 70.0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_nothing_turned), cmocka_unit_test(test_behind_breakaway),
        cmocka_unit_test(test_over_turn),      cmocka_unit_test(test_back_and_on),
        cmocka_unit_test(test_strokes),        cmocka_unit_test(test_before),
        cmocka_unit_test(test_seat),           cmocka_unit_test(test_seat_that_ends),
        cmocka_unit_test(test_seat_let_go),    cmocka_unit_test(test_no_seat_so_far),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
