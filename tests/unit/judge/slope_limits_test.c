/* slope_limits_test.c - each limit of slope.c: curves at it, and a hair beside it. */
#include "cmocka_all.h"

#include "judge/slope.h"

#include <math.h>

static const double hair = 1e-9;
static bw_curve c;

static void begin(void) {
    bw_curve_begin(&c, 1, 0);
    c.piece = (bw_piece){.sum_deg = 40, .sum_Nm = 90}; /* as one that was closed leaves it */
}

static void put(uint32_t stroke, double angle_deg, double torque_Nm) {
    c.node[c.n] = (bw_node){(double)c.n, angle_deg, torque_Nm, stroke};
    c.n++;
    c.stroke = stroke;
}

/* A stroke that sticks for its first two degrees, then goes on to to_deg at 1 N.m/degree from
 * 100 N.m on: none of that is run down. */
static void stroke_to(double to_deg) {
    uint32_t stroke = c.n > 0 ? c.node[c.n - 1].stroke + 1 : 1;
    put(stroke, 0, 100);
    for (double deg = 2; deg <= to_deg; deg++) {
        put(stroke, deg, 100 + deg);
    }
}

/* ---- the window ---- */

/* Seen by what it asks of a straight line of 1 N.m/degree: in a window it must raise the torque by
 * a twentieth of what the stage is about, or it is friction of a thread that runs down. */
static void window_is(double width_deg) {
    c.reference_Nm = 20 * width_deg * (1 - hair);
    assert_true(fabs(bw_slope_of(&c, 0) - 1) < 1e-6);
    c.reference_Nm = 20 * width_deg * (1 + hair);
    assert_true(bw_slope_of(&c, 0) == 0);
}

/* A twelfth of a long turn; four degrees for noise; a quarter of a short turn; and never less than
 * a piece. */
static void test_window(void **state) {
    (void)state;
    static const struct {
        double turn_deg, width_deg;
    } rows[] = {{60, 5}, {48, 4}, {24, 4}, {16, 4}, {8, 2}, {4, 1}, {2, 1}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        begin();
        stroke_to(2 + rows[i].turn_deg);
        window_is(rows[i].width_deg);
    }
}

/* Two fit into the longest stroke, whichever it is: ten degrees behind where it sticks. */
static void test_window_of_strokes(void **state) {
    (void)state;
    for (int longest = 0; longest < 10; longest++) {
        begin();
        for (int i = 0; i < 10; i++) {
            stroke_to(i == longest ? 12 : 8);
        }
        window_is(5);
    }
    begin(); /* the first one shows a single node */
    stroke_to(2);
    for (int i = 0; i < 8; i++) {
        stroke_to(12);
    }
    window_is(5);
}

/* With as many nodes as there is room for. */
static void test_no_room_behind(void **state) {
    (void)state;
    begin();
    put(1, 0, 100);
    for (double deg = 2; c.n < BW_CURVE_NODES; deg++) {
        put(1, deg, 100 + deg);
    }
    c.piece = (bw_piece){.n = 1, .sum_deg = 300, .sum_Nm = 400};
    c.stroke = 1;
    assert_true(fabs(bw_slope_of(&c, 0) - 1) < 1e-9);
}

/* ---- the median near the steepest ---- */

/* Up to four windows of two nodes each, which is what a turn of four degrees has. */
static double slope_of(size_t n, const double *slope) {
    double torque_Nm = 10;
    begin();
    put(1, 0, torque_Nm);
    put(1, 2, torque_Nm);
    for (size_t i = 0; i < n; i++) {
        torque_Nm += slope[i];
        put(1, 3 + (double)i, torque_Nm);
    }
    return bw_slope_of(&c, 0);
}

static void test_one_window(void **state) {
    (void)state;
    begin();
    put(1, 0, 10);
    put(1, 2, 10);
    put(1, 4, 14);
    assert_true(bw_slope_of(&c, 0) == 2);
    c.n--;
    assert_true(bw_slope_of(&c, 0) == 0); /* one node has none */
    begin();
    assert_true(bw_slope_of(&c, 0) == 0);
}

/* A straight line's slopes differ by noise, by less than a quarter; what is flatter is a soft start
 * or yield. */
static void test_near_the_steepest(void **state) {
    (void)state;
    assert_true(slope_of(2, (double[]){3, 4}) == 3.5);
    assert_true(slope_of(2, (double[]){3 - 0x1p-20, 4}) == 4);
    assert_true(slope_of(2, (double[]){1, 2}) == 2);
    assert_true(slope_of(3, (double[]){4, 1, 3}) == 3.5);
}

static void test_median(void **state) {
    (void)state;
    assert_true(slope_of(3, (double[]){5, 4, 4.5}) == 4.5);
    assert_true(slope_of(3, (double[]){4.5, 4, 5}) == 4.5);
    assert_true(slope_of(4, (double[]){5, 4, 4.5, 4.25}) == 4.375);
    assert_true(slope_of(4, (double[]){4, 5, 5, 4}) == 4.5);
}

/* At the twentieth itself it is stretch. */
static void test_stretch(void **state) {
    (void)state;
    (void)slope_of(2, (double[]){1, 1});
    c.reference_Nm = 20;
    assert_true(bw_slope_of(&c, 0) == 1);
    c.reference_Nm = 20 + hair;
    assert_true(bw_slope_of(&c, 0) == 0);
}

/* ---- a rise too short for that ---- */

/* From 20 N.m at 0 degrees to to_Nm, in one stroke; the run down ended far before it. */
static double at_least(double turn_deg, double to_Nm, double windup, double stood_Nm) {
    begin();
    c.free_deg = -50;
    put(1, 0, 20);
    put(1, turn_deg, to_Nm);
    return bw_slope_at_least(&c, windup, stood_Nm);
}

static void is_about(double value, double expected) {
    assert_true(fabs(value - expected) < 1e-6);
}

/* 46 N.m may be 40 and friction at rest, and a degree more than was seen may have been turned. */
static void test_at_least(void **state) {
    (void)state;
    is_about(at_least(5, 46, 0, 0), 20.0 / 6);
    is_about(at_least(0, 46, 0, 0), 20.0 / 1);
    is_about(at_least(0, 46, 0.5, 0), 20.0 / 1); /* turned back is not turned */
    is_about(at_least(20, 46, 0.5, 0), 20.0 / 8);
    is_about(at_least(5, 21, 0, 0), 0);
}

/* Over ten degrees at most: beyond, a window shows it. */
static void test_at_least_within(void **state) {
    (void)state;
    is_about(at_least(10, 46, 0, 0), 20.0 / 11);
    is_about(at_least(10 + hair, 46, 0, 0), 0);
}

/* Below what it stood at, or what an earlier stroke came to, it does not move yet; and from one
 * stroke to the next nothing rises. */
static void test_at_least_once_it_moves(void **state) {
    (void)state;
    is_about(at_least(5, 46, 0, 20), 20.0 / 6);
    is_about(at_least(5, 46, 0, 25), 15.0 / 6);
    (void)at_least(5, 23, 0, 0);
    put(2, 50, 12);
    put(2, 51, 46);
    is_about(bw_slope_at_least(&c, 0, 0), 17.0 / 2);
    (void)at_least(5, 23, 0, 0);
    put(2, 6, 46);
    is_about(bw_slope_at_least(&c, 0, 0), 0);
}

/* It may rise between two samples: from where the run down ended.  A quarter of the torque may be a
 * locking feature's. */
static void test_at_least_from_the_run_down(void **state) {
    (void)state;
    begin();
    c.least_deg = 2;
    c.free_deg = 30;
    put(1, 36, 46);
    is_about(bw_slope_at_least(&c, 0, 0), (40 - 11.5) / 5);
    is_about(bw_slope_at_least(&c, 0, 30), 10.0 / 5);
}

/* ---- beside the others ---- */

/* What one lot scatters at most is granted: the limit itself is inside. */
static void test_apart(void **state) {
    (void)state;
    bw_siblings siblings = {BW_SIBLINGS_LEAST, 2, 0};
    double apart = sqrt(1.6);
    assert_int_equal(bw_slope_reason(2 * apart, &siblings), 0);
    assert_int_equal(bw_slope_reason(2 * apart * (1 + hair), &siblings), BW_REASON_STEEP);
    assert_int_equal(bw_slope_reason(2 / apart, &siblings), 0);
    assert_int_equal(bw_slope_reason(2 / apart * (1 - hair), &siblings), BW_REASON_SHALLOW);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_window),
        cmocka_unit_test(test_window_of_strokes),
        cmocka_unit_test(test_no_room_behind),
        cmocka_unit_test(test_one_window),
        cmocka_unit_test(test_near_the_steepest),
        cmocka_unit_test(test_median),
        cmocka_unit_test(test_stretch),
        cmocka_unit_test(test_at_least),
        cmocka_unit_test(test_at_least_within),
        cmocka_unit_test(test_at_least_once_it_moves),
        cmocka_unit_test(test_at_least_from_the_run_down),
        cmocka_unit_test(test_apart),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
