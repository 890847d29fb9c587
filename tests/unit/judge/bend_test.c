/* bend_test.c - where a curve bends down or falls: curves at each limit of curve.c, and a hair
 * beside it.  Windows of 4 nodes a degree apart have slopes without any rounding. */
#include "cmocka_all.h"

#include "judge/curve.h"

#include <math.h>

static const double hair = 1e-9;
static bw_curve c;

/* A new curve that begins by sticking: its first two nodes are no joint's. */
static void begin(double torque_Nm) {
    bw_curve_begin(&c, 1, 0);
    for (int i = 0; i < 2; i++) {
        c.node[c.n] = (bw_node){(double)c.n, (double)c.n, torque_Nm, 1};
        c.n++;
    }
}

/* On by n nodes of step_deg each, at this slope; their number is their time. */
static void on(size_t n, double step_deg, double slope_Nm_per_deg) {
    for (size_t i = 0; i < n; i++) {
        bw_node last = c.node[c.n - 1];
        c.node[c.n] = (bw_node){(double)c.n, last.angle_deg + step_deg,
                                last.torque_Nm + step_deg * slope_Nm_per_deg, last.stroke};
        c.n++;
    }
}

static void bends_at(const bw_bend_rule *rule, double time_s) {
    bw_bend bend = bw_curve_bend(&c, 0, rule);
    assert_true(bend.found);
    assert_true(bend.time_s == time_s);
}

static void does_not_bend(const bw_bend_rule *rule) {
    assert_false(bw_curve_bend(&c, 0, rule).found);
}

static const bw_bend_rule half = {
    .reference_Nm = 1, .window_deg = 3, .share = 0.5, .from_Nm = 0, .to_Nm = INFINITY};

/* 2 N.m/degree up to node 10, where it has 20 N.m. */
static void draw_steep(void) {
    begin(2);
    on(9, 1, 2);
}

/* ---- bends ---- */

/* At the share itself it is not flatter than the share; told with the middle of the window. */
static void test_share(void **state) {
    (void)state;
    draw_steep();
    on(10, 1, 1);
    does_not_bend(&half);
    draw_steep();
    on(10, 1, 1 - hair);
    bends_at(&half, 11);
    bw_bend_rule wider = half;
    wider.window_deg = 4;
    bends_at(&wider, 12);
}

/* Where a bend begins tells whether it is the bolt (above half the torque) or something in the way
 * (below). */
static void test_from_and_to(void **state) {
    (void)state;
    draw_steep();
    on(10, 1, 1 - hair);
    bw_bend_rule rule = half;
    rule.from_Nm = 20;
    bends_at(&rule, 11);
    rule.from_Nm = 20 + hair;
    bends_at(&rule, 12);
    rule.from_Nm = 0;
    rule.to_Nm = 20 + hair;
    bends_at(&rule, 11);
    rule.to_Nm = 20;
    does_not_bend(&rule);
}

/* A window is held against all that were over where it begins, the one that ends there too. */
static void test_over_where_it_begins(void **state) {
    (void)state;
    begin(2);
    on(6, 1, 1);
    on(3, 1, 4);
    on(6, 1, 1.6);
    bends_at(&half, 11);
}

/* What raises the torque by less than a twentieth in a window is friction, not stretch. */
static void test_stretched(void **state) {
    (void)state;
    begin(5);
    on(12, 1, 0);
    bw_bend_rule rule = {.reference_Nm = 80, .window_deg = 4, .share = 0.5, .to_Nm = INFINITY};
    rule.steepest = 1;
    bends_at(&rule, 4);
    rule.steepest = 1 - hair;
    does_not_bend(&rule);
    rule.reference_Nm = 20; /* a kind may ask for more */
    rule.least_slope = 1;
    does_not_bend(&rule);
    rule.steepest = 1;
    bends_at(&rule, 4);
}

/* The window seen by what it asks of the steepest: 5 % of 100 N.m over so many degrees. */
static void window_is(double width_deg, double to_Nm) {
    bw_bend_rule rule = {.reference_Nm = 100, .share = 0.5, .to_Nm = to_Nm};
    rule.steepest = 5 / width_deg * (1 + hair);
    assert_true(bw_curve_bend(&c, 0, &rule).found);
    rule.steepest = 5 / width_deg * (1 - hair);
    assert_false(bw_curve_bend(&c, 0, &rule).found);
}

/* A sixth of the turn, and on a hard joint four degrees: there noise makes slopes otherwise. */
static void test_window(void **state) {
    (void)state;
    begin(5);
    on(13, 1, 0);
    window_is(4, INFINITY);
    begin(5);
    on(25, 1, 0);
    window_is(4, INFINITY);
    on(6, 1, 0);
    window_is(5, INFINITY);
}

/* Of the turn from where it is seated: below a quarter of its torque it may run down, for turns.
 * Seen by the windows that begin there. */
static void test_window_of_what_is_seated(void **state) {
    (void)state;
    for (int below = 0; below < 2; below++) {
        begin(1.25 - hair * below);
        on(18, 1, 0);
        on(1, 1, 5 - c.node[0].torque_Nm);
        on(30, 1, 0);
        window_is(below == 0 ? 8 : 5, 2);
    }
}

/* Given, it is as wide as it says, however narrow; three nodes make one. */
static void test_narrow_window(void **state) {
    (void)state;
    begin(5);
    on(3, 3, 0);
    bw_bend_rule rule = {.reference_Nm = 20, .window_deg = 1, .share = 0.5, .to_Nm = INFINITY};
    rule.steepest = 1;
    bends_at(&rule, 3);
    rule.steepest = 1 - hair;
    does_not_bend(&rule);
    begin(5);
    on(2, 3, 0);
    rule.steepest = 9;
    does_not_bend(&rule);
}

/* A bend is on the way to a torque; where none is known, there is no way. */
static void test_reference(void **state) {
    (void)state;
    begin(5);
    on(6, 1, 0);
    bw_bend_rule rule = half;
    rule.steepest = 9;
    bends_at(&rule, 3);
    rule.reference_Nm = 0;
    does_not_bend(&rule);
    bw_curve_begin(&c, 1, 20);
    does_not_bend(&half);
}

/* Friction at rest stands above the curve; what the stretch gives is the lower one behind it.  The
 * steepest is then 2.8, not 2.2. */
static void test_bump_at_the_beginning(void **state) {
    (void)state;
    begin(12);
    on(1, 1, 0);
    c.node[c.n++] = (bw_node){3, 3, 10, 1};
    on(2, 1, 4);
    on(8, 1, 1.25);
    bends_at(&half, 6);
}

/* As many nodes as there is room for, the piece in hand with them. */
static void test_no_room_behind(void **state) {
    (void)state;
    begin(5);
    on(BW_CURVE_NODES - 2, 5, 1);
    c.piece = (bw_piece){.n = 1, .sum_deg = 2000, .sum_Nm = 2000};
    c.stroke = 1;
    bw_joint_curve joint;
    bw_curve_joint(&c, 0, &joint);
    assert_int_equal(joint.n, BW_CURVE_NODES - 1);
    c.node[1].angle_deg = 2;
    bw_curve_joint(&c, 0, &joint);
    assert_int_equal(joint.n, BW_CURVE_NODES);
    bw_bend_rule rule = half;
    rule.steepest = 1;
    does_not_bend(&rule);
}

/* ---- falls ---- */

/* Nodes a step apart with these torques, behind the two that stick. */
static void draw(double step_deg, size_t n, const double *torque_Nm) {
    begin(torque_Nm[0]);
    on(n, step_deg, 0);
    for (size_t i = 0; i < n; i++) {
        c.node[2 + i].torque_Nm = torque_Nm[i];
    }
}

static bool falls(double share, double from_Nm) {
    return bw_curve_fall(&c, 0, share, from_Nm).found;
}

static const double fallen[] = {16, 16, 16, 8, 8, 8, 8, 8, 8, 8};

/* A fastener that breaks away slips by a degree; over six the torque that it fell to stays. */
static void test_fall_over_turn(void **state) {
    (void)state;
    draw(1, 8, fallen);
    assert_false(falls(0.75, 16));
    draw(1, 9, fallen);
    assert_true(falls(0.75, 16));
}

/* Three pieces before are others than three behind, however wide they are. */
static void test_fall_of_wide_pieces(void **state) {
    (void)state;
    draw(3, 5, fallen);
    assert_false(falls(0.75, 16));
    draw(3, 6, fallen);
    assert_true(falls(0.75, 16));
}

static void test_fall_share_and_from(void **state) {
    (void)state;
    draw(1, 10, fallen);
    assert_true(falls(0.75, 16));
    assert_false(falls(0.75, 16 + hair));
    assert_false(falls(0.5, 16));
    assert_true(falls(0.5 + hair, 16));
}

/* Told with the first moment at which the torque was as high as it ever was. */
static void test_fall_is_told_from_its_top(void **state) {
    (void)state;
    static const double plateau[] = {15, 15, 15, 16, 16, 16, 16, 16, 16, 16, 16, 8, 8, 8};
    draw(1, 14, plateau);
    bw_bend fall = bw_curve_fall(&c, 0, 0.75, 8);
    assert_true(fall.found);
    assert_true(fall.torque_Nm == 16);
    assert_true(fall.time_s == 4); /* the first of three in a row of which two have it */
}

/* Of three pieces in a row the middle one by size counts, in whichever order they come. */
static void test_fall_of_the_median(void **state) {
    (void)state;
    static const double orders[][3] = {{4, 12, 15}, {4, 15, 12}, {12, 4, 15},
                                       {12, 15, 4}, {15, 4, 12}, {15, 12, 4}};
    for (size_t i = 0; i < 6; i++) {
        const double *o = orders[i];
        double trace[] = {16, 16, 16, 16, 16, 16, 16, 16, o[0], o[1], o[2], 16, 16, 16};
        draw(1, 14, trace);
        assert_false(falls(0.75, 16));
        assert_true(falls(0.75 + hair, 16));
        double end[] = {16, 16, 16, 16, 16, 16, 15, 14, o[0], o[1], o[2]};
        draw(1, 11, end);
        assert_false(falls(0.75, 16));
        double top[] = {o[0], o[1], o[2], 4, 4, 4, 4, 4, 4};
        draw(1, 9, top);
        assert_true(falls(0.75, 12));
        assert_false(falls(0.75, 12 + hair));
    }
}

/* A low piece at the end of a stroke and a low one at the beginning of the next are no fall. */
static void test_fall_within_a_stroke(void **state) {
    (void)state;
    static const double eased[] = {16, 16, 16, 16, 16, 16, 16, 16, 8, 16, 8, 16, 16, 16};
    draw(1, 14, eased);
    assert_true(falls(0.75, 16));
    c.n = 12; /* the joint's up to the second 16 behind it */
    c.node[12] = (bw_node){12, 50, 4, 2};
    c.node[13] = (bw_node){13, 53, 8, 2};
    c.node[14] = (bw_node){14, 54, 16, 2};
    c.node[15] = (bw_node){15, 55, 16, 2};
    c.n = 16;
    assert_false(falls(0.75, 16));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_share),
        cmocka_unit_test(test_from_and_to),
        cmocka_unit_test(test_over_where_it_begins),
        cmocka_unit_test(test_stretched),
        cmocka_unit_test(test_window),
        cmocka_unit_test(test_window_of_what_is_seated),
        cmocka_unit_test(test_narrow_window),
        cmocka_unit_test(test_reference),
        cmocka_unit_test(test_bump_at_the_beginning),
        cmocka_unit_test(test_no_room_behind),
        cmocka_unit_test(test_fall_over_turn),
        cmocka_unit_test(test_fall_of_wide_pieces),
        cmocka_unit_test(test_fall_share_and_from),
        cmocka_unit_test(test_fall_is_told_from_its_top),
        cmocka_unit_test(test_fall_of_the_median),
        cmocka_unit_test(test_fall_within_a_stroke),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
