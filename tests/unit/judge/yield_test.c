/* yield_test.c - each limit of yield.c: curves at it, and a hair beside it.  Windows of 4 or 8
 * points that lie on binary fractions have slopes without any rounding. */
#include "cmocka_all.h"

#include "judge/yield.h"

static const double hair = 1e-9;
static const double half = 0.5;

static bw_yield y;

static void feed(uint32_t stroke, double angle_deg, double torque_Nm) {
    bw_node node = {angle_deg, angle_deg, torque_Nm, stroke};
    bw_yield_take(&y, &node, 0);
}

/* From first_Nm at 0 degrees, past what may have been friction at rest: the first point at 2. */
static void begin(double stood_Nm, double steepest, double first_Nm) {
    bw_yield_begin(&y, half, 0, stood_Nm, steepest);
    feed(1, 0, first_Nm);
    feed(1, 2, first_Nm);
}

/* n points further, step_deg and slope apart. */
static void on(size_t n, double step_deg, double slope_Nm_per_deg) {
    for (size_t i = 0; i < n; i++) {
        const bw_yield_point *last = &y.point[y.n - 1];
        feed(y.stroke, last->turn_deg + step_deg, last->torque_Nm + step_deg * slope_Nm_per_deg);
    }
}

/* ---- which points are kept ---- */

/* A fastener that stood at 100 N.m does not turn below; it may have settled by a twentieth. */
static void test_stands(void **state) {
    (void)state;
    begin(100, 0, 95);
    assert_int_equal(y.n, 1);
    begin(100, 0, 95 - hair);
    assert_int_equal(y.n, 0);
}

/* The wind-up of breaking away is below two degrees. */
static void test_breakaway(void **state) {
    (void)state;
    bw_yield_begin(&y, half, 0, 0, 0);
    feed(1, 0, 10);
    feed(1, 2 - hair, 10);
    assert_int_equal(y.n, 0);
    feed(1, 2, 10);
    assert_int_equal(y.n, 1);
    assert_true(y.point[0].turn_deg == 2);
}

/* Less than a quarter of a degree is noise of the angle. */
static void test_step(void **state) {
    (void)state;
    begin(0, 0, 10);
    feed(1, 2.25 - hair, 10);
    assert_int_equal(y.n, 1);
    feed(1, 2.25, 10);
    assert_int_equal(y.n, 2);
}

/* The next stroke's turn goes on where this one's ended. */
static void test_strokes(void **state) {
    (void)state;
    begin(0, 0, 10);
    feed(2, 50, 10);
    feed(2, 52, 10);
    assert_int_equal(y.n, 2);
    assert_true(y.point[1].turn_deg == 4);
    feed(3, 70, 10);
    feed(3, 72, 10);
    assert_true(y.point[2].turn_deg == 6);
}

static void torques_are(size_t n, const double *torque_Nm) {
    assert_int_equal(y.n, n);
    for (size_t i = 0; i < n; i++) {
        assert_true(y.point[i].torque_Nm == torque_Nm[i]);
    }
}

/* A little higher than what comes behind is noise: it is as high as that. */
static void test_noise_is_levelled(void **state) {
    (void)state;
    begin(0, 0, 1010);
    feed(1, 3, 1000);
    torques_are(2, (double[]){1000, 1000});
    begin(0, 0, 990);
    feed(1, 3, 1005);
    feed(1, 4, 1010);
    feed(1, 5, 1000);
    torques_are(4, (double[]){990, 1000, 1000, 1000});
}

/* Friction at rest is 2 % above that of turning and more: what stands so far above the newest was
 * sticking, and the one before it holds some of that. */
static void test_stuck(void **state) {
    (void)state;
    const double stuck_Nm = (1 + 0.015) * 1000;
    for (int more = 0; more < 2; more++) {
        begin(0, 0, 700);
        feed(1, 3, 800);
        feed(1, 4, 900);
        feed(1, 5, stuck_Nm + 1e-6 * more);
        feed(1, 6, 1000);
        if (more == 0) {
            torques_are(5, (double[]){700, 800, 900, 1000, 1000});
        } else {
            torques_are(3, (double[]){700, 800, 1000});
        }
    }
}

static void test_all_stuck(void **state) {
    (void)state;
    begin(0, 0, 2000);
    feed(1, 3, 1000);
    torques_are(1, (double[]){1000});
    begin(0, 0, 900);
    feed(1, 3, 2000);
    feed(1, 4, 1000);
    torques_are(1, (double[]){1000});
}

/* ---- when it is found ---- */

/* Goes on at this slope until it is found, and tells with which point of them. */
static size_t found_with(double step_deg, double slope_Nm_per_deg) {
    for (size_t n = 1; n <= 40; n++) {
        on(1, step_deg, slope_Nm_per_deg);
        if (y.found) {
            return n;
        }
    }
    return 0;
}

/* At the stated share it yields.  Four points over three degrees tell it, at their middle. */
static void test_share(void **state) {
    (void)state;
    begin(0, 2, 10);
    assert_int_equal(found_with(1, 1), 3);
    assert_true(y.time_s == 3);
    assert_true(y.torque_Nm == 11);
    begin(0, 2, 10);
    assert_int_equal(found_with(1, 1 + hair), 0);
}

/* Four points at least: three of a coarse wrench may be one that stuck. */
static void test_four_points(void **state) {
    (void)state;
    begin(0, 2, 10);
    assert_int_equal(found_with(2, 1), 3);
    begin(0, 2, 10);
    assert_int_equal(found_with(0.75, 1), 4);
}

/* Over as much turn as raises the torque in hand by a twentieth: four degrees here. */
static void test_window(void **state) {
    (void)state;
    begin(80, 1, 76);
    assert_int_equal(found_with(1, 0.25), 4);
    assert_true(y.time_s == 4);
    begin(80 + 1e-6, 1, 76.5);
    assert_int_equal(found_with(1, 0.25), 5);
}

/* Points as dense as the angle's noise lets them: sixteen are enough, whatever their span. */
static void test_dense_points(void **state) {
    (void)state;
    begin(0, 0.125, 10); /* a twentieth of 10 N.m in four degrees */
    assert_int_equal(found_with(0.25, 0.03125), 15);
    assert_true(y.time_s == 2 + 0.25 * 7);
    begin(0, 0.125, 10);
    on(2, 0.25, 8); /* steep: the sixteen begin behind them */
    assert_int_equal(found_with(0.25, 0.03125), 15);
}

/* The steepest before it is taken over twice the window: six degrees here, no more. */
static void test_steepest(void **state) {
    (void)state;
    begin(0, 0, 10);
    on(6, 1, 2);
    assert_int_equal(found_with(1, 0.5), 3);
    assert_true(y.time_s == 9);
    begin(0, 0, 10);
    on(5, 1, 2);
    on(1, 1, 0.5); /* one short of them */
    assert_int_equal(found_with(1, 0.5), 3);
}

/* A slope that raises the torque in hand (150 N.m) by a fiftieth in three degrees at most may be
 * friction of a thread that runs: not with the first window that shows it. */
static void test_stretched(void **state) {
    (void)state;
    begin(150, 0, 142.5);
    on(7, 0.875, 1);
    on(4, 0.875, 0);
    assert_false(y.found);
    assert_true(y.steepest_Nm_per_deg == 1);
    begin(150, 0, 142.5);
    on(7, 0.875, 1.0078125);
    on(4, 0.875, 0);
    assert_true(y.found);
}

/* No onset below the snug torque. */
static void test_from(void **state) {
    (void)state;
    begin(0, 2, 10);
    y.from_Nm = 11;
    assert_int_equal(found_with(1, 1), 3);
    begin(0, 2, 10);
    y.from_Nm = 11 + hair;
    assert_int_equal(found_with(1, 1), 4);
}

/* A bump at the window's beginning makes it flat as a whole; its later half must be as flat. */
static void test_later_half(void **state) {
    (void)state;
    for (int more = 0; more < 2; more++) {
        begin(100, 1, 96); /* a window of five degrees */
        on(2, 1, 0);
        on(3, 1, 0.5 + 1e-6 * more);
        assert_int_equal(y.found, more == 0);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_stands),
        cmocka_unit_test(test_breakaway),
        cmocka_unit_test(test_step),
        cmocka_unit_test(test_strokes),
        cmocka_unit_test(test_noise_is_levelled),
        cmocka_unit_test(test_stuck),
        cmocka_unit_test(test_all_stuck),
        cmocka_unit_test(test_share),
        cmocka_unit_test(test_four_points),
        cmocka_unit_test(test_window),
        cmocka_unit_test(test_dense_points),
        cmocka_unit_test(test_steepest),
        cmocka_unit_test(test_stretched),
        cmocka_unit_test(test_from),
        cmocka_unit_test(test_later_half),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
