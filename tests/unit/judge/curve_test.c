/* curve_test.c - which samples make the pieces of a curve, and what is kept of them: a sample at
 * each limit, and one a hair beside it. */
#include "cmocka_all.h"

#include "judge/curve.h"

static const double hair = 1e-9;

/* Threshold 1 N.m. */
static void begin(bw_curve *c, double reference_Nm) {
    bw_curve_begin(c, 1, reference_Nm);
}

static void feed(bw_curve *c, double time_s, double torque_Nm, double angle_deg) {
    bw_sample sample = {time_s, torque_Nm, angle_deg, true};
    bw_curve_take(c, &sample);
}

/* A pull that began with first_Nm at 0 s and 0 degrees, and one sample a second later. */
static bw_curve after(double reference_Nm, double first_Nm, double torque_Nm, double angle_deg) {
    bw_curve c;
    begin(&c, reference_Nm);
    feed(&c, 0, first_Nm, 0);
    feed(&c, 1, torque_Nm, angle_deg);
    return c;
}

/* ---- pieces ---- */

/* Below a degree wrenches give steps, not angles. */
static void test_piece_is_a_degree_wide(void **state) {
    (void)state;
    assert_int_equal(after(8, 2, 2, 1 - hair).closed, 0);
    assert_int_equal(after(8, 2, 2, 1).closed, 1);
}

/* A fastener that sticks takes torque without travel: an eighth of what the stage is about makes a
 * piece of its own, so that no mean is over sticking and turning. */
static void test_piece_ends_where_it_sticks(void **state) {
    (void)state;
    assert_int_equal(after(8, 2, 3 - hair, 0).closed, 0);
    assert_int_equal(after(8, 2, 3, 0).closed, 1);
    assert_int_equal(after(0.5, 2, 2.0625, 0).closed, 1); /* of however little */
    assert_int_equal(after(0, 2, 100, 0).closed, 0);      /* an eighth of nothing known is none */
}

/* Noise at the threshold neither ends a stroke nor begins another. */
static void test_stroke_begins_and_ends(void **state) {
    (void)state;
    assert_true(after(8, 2, 0.6, 0).loaded);
    assert_false(after(8, 2, 0.6 - hair, 0).loaded);
    assert_int_equal(after(8, 1, 1, 0).stroke, 1);
    assert_int_equal(after(8, 1 - hair, 0, 0).stroke, 0);
}

/* A drift is ten times slower than half a degree a second; a hand that means to turn is not. */
static void test_standing_still(void **state) {
    (void)state;
    assert_int_equal(after(0, 10, 10, 0.5).piece.n, 1);
    assert_int_equal(after(0, 10, 10, 0.5 + hair).piece.n, 2);
}

/* Harder than ever in this stroke is the hand's doing, turn or not. */
static void test_pulls_harder(void **state) {
    (void)state;
    assert_int_equal(after(0, 10, 10, 0).piece.n, 1);
    assert_int_equal(after(0, 10, 10 + hair, 0).piece.n, 2);
}

/* What fell below four fifths is not friction at rest let go: the hand eases off. */
static void test_on_the_curve(void **state) {
    (void)state;
    assert_int_equal(after(0, 10, 8, 0.75).piece.n, 2);
    assert_int_equal(after(0, 10, 8 - hair, 0.75).piece.n, 1);
}

/* Only what comes before the first load is run down, from the lowest angle on. */
static void test_run_down(void **state) {
    (void)state;
    bw_curve c;
    begin(&c, 8);
    feed(&c, 0, 0, 10);
    feed(&c, 1, 0, 0);
    feed(&c, 2, 0, 50);
    assert_true(c.free_deg == 50);
    feed(&c, 3, 2, 60);
    feed(&c, 4, 0, 60);
    feed(&c, 5, 0, 90);
    assert_true(c.free_deg == 50);
}

/* ---- room ---- */

/* One stroke of so many pieces of one sample each, from 0 degrees on. */
static void stroke_of(bw_curve *c, size_t pieces) {
    for (size_t i = 0; i < pieces; i++) {
        feed(c, c->last_s + 1, 10 + (double)i, (double)i);
    }
    feed(c, c->last_s + 1, 0, (double)pieces);
}

static void node_is(const bw_node *node, uint32_t stroke, double angle_deg) {
    assert_int_equal(node->stroke, stroke);
    assert_true(node->angle_deg == angle_deg);
    assert_true(node->torque_Nm == 10 + angle_deg);
}

/* The curve, and what lies behind it: nobody's, whatever it looks like. */
static struct {
    bw_curve curve;
    bw_node behind;
} room;

/* Two pieces of one stroke become one; the last of a stroke may be left alone. */
static void test_pieces_double(void **state) {
    (void)state;
    bw_curve *c = &room.curve;
    begin(c, 0);
    room.behind = (bw_node){.stroke = 3};
    stroke_of(c, 3);
    stroke_of(c, 2);
    stroke_of(c, 251);
    assert_int_equal(c->n, 256);
    double third_s = c->node[2].time_s;
    stroke_of(c, 1);
    assert_true(c->width_deg == 2);
    assert_int_equal(c->closed, 257);
    assert_int_equal(c->n, 2 + 1 + 126 + 1);
    node_is(&c->node[0], 1, 0.5);
    node_is(&c->node[1], 1, 2);
    assert_true(c->node[1].time_s == third_s);
    node_is(&c->node[2], 2, 0.5);
    for (size_t i = 0; i < 125; i++) {
        node_is(&c->node[3 + i], 3, 0.5 + 2 * (double)i);
    }
    node_is(&c->node[128], 3, 250);
    node_is(&c->node[129], 4, 0);
}

/* The last two of all, too. */
static void test_last_pair(void **state) {
    (void)state;
    bw_curve *c = &room.curve;
    begin(c, 0);
    room.behind = (bw_node){0};
    stroke_of(c, 4);
    stroke_of(c, 252);
    stroke_of(c, 1);
    assert_int_equal(c->n, 2 + 126 + 1);
    node_is(&c->node[0], 1, 0.5);
    node_is(&c->node[1], 1, 2.5);
    node_is(&c->node[127], 2, 250.5);
    node_is(&c->node[128], 3, 0);
}

/* Strokes of one piece cannot be put together: what finds no room is dropped. */
static void test_full(void **state) {
    (void)state;
    bw_curve *c = &room.curve;
    begin(c, 0);
    for (int i = 0; i < 300; i++) {
        stroke_of(c, 1);
    }
    assert_int_equal(c->n, 256);
    assert_int_equal(c->closed, 256);
    node_is(&c->node[255], 256, 0);
}

/* ---- looking ---- */

/* The piece in hand is the last node. */
static void test_nodes(void **state) {
    (void)state;
    bw_curve c;
    begin(&c, 0);
    assert_int_equal(bw_curve_nodes(&c), 0);
    feed(&c, 0, 10, 0);
    assert_int_equal(bw_curve_nodes(&c), 1);
    feed(&c, 1, 11, 1);
    feed(&c, 2, 12, 1.75);
    assert_int_equal(c.n, 1);
    assert_int_equal(bw_curve_nodes(&c), 2);
    assert_true(bw_curve_node(&c, 0).torque_Nm == 10);
    assert_true(bw_curve_node(&c, 1).torque_Nm == 11.5);
    assert_true(bw_curve_node(&c, 1).angle_deg == 1.375);
    feed(&c, 3, 0, 2);
    assert_int_equal(bw_curve_nodes(&c), 2);
}

/* A node by hand; the pieces stay a degree wide. */
static void put(bw_curve *c, uint32_t stroke, double angle_deg, double torque_Nm) {
    c->node[c->n++] = (bw_node){(double)c->n, angle_deg, torque_Nm, stroke};
}

static void joint_is(const bw_curve *c, double windup, size_t n, const double *turn_deg) {
    bw_joint_curve joint;
    bw_curve_joint(c, windup, &joint);
    assert_int_equal(joint.n, n);
    for (size_t i = 0; i < n; i++) {
        assert_true(joint.turn_deg[i] == turn_deg[i]);
    }
}

/* It is on its curve a degree and a piece behind where it sticks. */
static void test_joint_begins(void **state) {
    (void)state;
    bw_curve c;
    begin(&c, 0);
    put(&c, 1, 10, 5);
    put(&c, 1, 12 - hair, 5);
    joint_is(&c, 0, 0, NULL);
    put(&c, 1, 12, 5);
    joint_is(&c, 0, 1, (double[]){2});
}

/* Less than half a piece further is wind-up. */
static void test_joint_goes_on(void **state) {
    (void)state;
    bw_curve c;
    begin(&c, 0);
    put(&c, 1, 0, 5);
    put(&c, 1, 2, 5);
    put(&c, 1, 2.5 - hair, 5);
    joint_is(&c, 0, 1, (double[]){2});
    put(&c, 1, 2.5, 5);
    joint_is(&c, 0, 2, (double[]){2, 2.5});
}

/* A stroke goes on where the one before it ended; before the first there is no turn. */
static void test_joint_strokes(void **state) {
    (void)state;
    bw_curve c;
    begin(&c, 0);
    put(&c, 1, 0, 10); /* a stroke by which nothing turned */
    put(&c, 2, 30, 10);
    put(&c, 2, 32, 10);
    put(&c, 3, 50, 10);
    put(&c, 3, 52, 10);
    put(&c, 3, 53, 10);
    put(&c, 4, 70, 10);
    put(&c, 4, 73, 20);
    joint_is(&c, 0, 4, (double[]){2, 4, 5, 8});
    joint_is(&c, 0.0625, 4, (double[]){2, 4, 5, 7.375});
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_piece_is_a_degree_wide),
        cmocka_unit_test(test_piece_ends_where_it_sticks),
        cmocka_unit_test(test_stroke_begins_and_ends),
        cmocka_unit_test(test_standing_still),
        cmocka_unit_test(test_pulls_harder),
        cmocka_unit_test(test_on_the_curve),
        cmocka_unit_test(test_run_down),
        cmocka_unit_test(test_pieces_double),
        cmocka_unit_test(test_last_pair),
        cmocka_unit_test(test_full),
        cmocka_unit_test(test_nodes),
        cmocka_unit_test(test_joint_begins),
        cmocka_unit_test(test_joint_goes_on),
        cmocka_unit_test(test_joint_strokes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
