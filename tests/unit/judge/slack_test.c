/* slack_test.c - each threshold of slack.c: a sample at it, and one a hair beside it.  Torque and
 * angle as the hand sees them, both rising while it backs off. */
#include "cmocka_all.h"

#include "judge/slack.h"

static const double hair = 1e-9;

static void feed(bw_slack *s, double time_s, double torque_Nm, double angle_deg) {
    bw_sample sample = {time_s, torque_Nm, angle_deg, true};
    bw_slack_take(s, &sample);
}

/* Took 100 N.m so far, so nothing is left of it below 2 N.m; it drags between 5 and 20 N.m. */
static bw_slack backed(void) {
    bw_slack s;
    bw_slack_begin(&s, 5, 100);
    return s;
}

/* ---- the torque is gone and the hand turns on ---- */

/* Stays at that torque while it is turned on, having come from more. */
static bool loose_at(double peak_Nm, double torque_Nm) {
    bw_slack s;
    bw_slack_begin(&s, 5, peak_Nm);
    feed(&s, 0, 4, 0);
    feed(&s, 0.25, torque_Nm, 0);
    feed(&s, 0.5, torque_Nm, 1.5);
    return s.loose;
}

/* A wrench that suits 100 N.m may show a zero error of 1 N.m; twice that is still nothing. */
static void test_gone_is_a_share_of_the_peak(void **state) {
    (void)state;
    assert_false(loose_at(100, 2));
    assert_true(loose_at(100, 2 - hair));
    bw_slack s; /* the peak is this pull's own, where that is higher */
    bw_slack_begin(&s, 5, 50);
    feed(&s, 0, 100, 0);
    feed(&s, 0.25, 2 - hair, 0);
    feed(&s, 0.5, 2 - hair, 1.5);
    assert_true(s.loose);
}

/* Below 0.3 N.m no wrench tells torque from none, however little it took. */
static void test_gone_is_no_less_than_a_wrench_tells(void **state) {
    (void)state;
    assert_false(loose_at(10, 0.3));
    assert_true(loose_at(10, 0.3 - hair));
}

/* One that was without torque all along did not come loose here. */
static void test_comes_from_a_torque(void **state) {
    (void)state;
    for (int from = 0; from < 2; from++) {
        bw_slack s = backed();
        feed(&s, 0, from == 0 ? 2 : 2 - hair, 0);
        feed(&s, 0.25, 0, 1.5);
        assert_int_equal(s.loose, from == 0);
    }
}

/* More than a step of the wrench: a degree and a half from where the torque went. */
static void test_turned_on(void **state) {
    (void)state;
    bw_slack s = backed();
    feed(&s, 0, 4, 0);
    feed(&s, 0.25, 0, 0);
    bw_slack less = s;
    feed(&s, 0.5, 0, 1.5);
    assert_true(s.loose);
    assert_true(s.loose_s == 0.5);
    feed(&s, 0.625, 0, 3); /* when it came loose, not how long it is */
    assert_true(s.loose_s == 0.5);
    feed(&less, 0.5, 0, 1.5 - hair);
    assert_false(less.loose);
}

/* Where the torque went lies between two samples: from 4 N.m to none in two degrees, half way. */
static void test_where_it_went(void **state) {
    (void)state;
    bw_slack s = backed();
    feed(&s, 0, 4, 0);
    feed(&s, 0.25, 0, 2);
    bw_slack less = s;
    feed(&s, 0.5, 0, 2.5);
    assert_true(s.loose);
    feed(&less, 0.5, 0, 2.5 - hair);
    assert_false(less.loose);
}

/* A hand that lets go gives back the wind-up; half a degree is a step of the wrench. */
static void test_given_back(void **state) {
    (void)state;
    bw_slack s = backed();
    feed(&s, 0, 4, 0);
    feed(&s, 0.25, 0, 0);
    bw_slack more = s;
    feed(&s, 0.375, 0, -0.5);
    feed(&s, 0.5, 0, 1.5);
    assert_true(s.loose);
    feed(&more, 0.375, 0, -0.5 - hair);
    feed(&more, 0.5, 0, 1.5);
    assert_false(more.loose);
}

/* Half a second later the wrench may have been put on anew. */
static void test_still_turning(void **state) {
    (void)state;
    bw_slack s = backed();
    feed(&s, 0, 4, 0);
    feed(&s, 0.25, 0, 0);
    bw_slack later = s;
    feed(&s, 0.75, 0, 1.5);
    assert_true(s.loose);
    feed(&later, 0.75 + hair, 0, 1.5);
    assert_false(later.loose);
}

/* Torque that comes back was not gone. */
static void test_comes_back(void **state) {
    (void)state;
    bw_slack s = backed();
    feed(&s, 0, 4, 0);
    feed(&s, 0.25, 0, 0);
    feed(&s, 0.375, 2, 1);
    feed(&s, 0.5, 0, 1.5);
    assert_false(s.loose);
}

/* ---- a locking feature drags on ---- */

/* Easy at from_Nm and 10 degrees, and at to_Nm when it was turned by so much more. */
static bool drags(double from_Nm, double to_Nm, double turn_deg) {
    bw_slack s = backed();
    feed(&s, 0, 100, 0);
    feed(&s, 1, from_Nm, 10);
    feed(&s, 2, to_Nm, 10 + turn_deg);
    return s.loose;
}

/* From the threshold to a fifth of what it took: more than that is preload yet. */
static void test_drags_little(void **state) {
    (void)state;
    assert_true(drags(5, 5, 30));
    assert_false(drags(5, 5 - hair, 30));
    assert_false(drags(5 - hair, 5, 30));
    assert_true(drags(20 - hair, 20 - hair, 30));
    assert_false(drags(20, 20 - hair, 30));
    assert_false(drags(20 - hair, 20, 30));
}

/* Over 30 degrees the last fifth of a metal joint is gone. */
static void test_drags_far(void **state) {
    (void)state;
    assert_true(drags(10, 10, 30));
    assert_false(drags(10, 10, 30 - hair));
}

/* A joint that comes loose loses its torque over them; a locking feature keeps half of it. */
static void test_keeps_dragging(void **state) {
    (void)state;
    assert_true(drags(16, 8, 30));
    assert_false(drags(16, 8 - hair, 30));
}

/* What fell too far is watched anew from there. */
static void test_drags_at_last(void **state) {
    (void)state;
    bw_slack s = backed();
    feed(&s, 0, 100, 0);
    feed(&s, 1, 18, 10);
    feed(&s, 2, 8, 40);
    assert_false(s.loose);
    bw_slack less = s;
    feed(&s, 3, 5, 70);
    assert_true(s.loose);
    assert_true(s.loose_s == 3.0);
    feed(&less, 3, 5, 70 - hair);
    assert_false(less.loose);
}

/* Torque that comes up again in between is the joint's. */
static void test_drags_without_a_break(void **state) {
    (void)state;
    bw_slack s = backed();
    feed(&s, 0, 100, 0);
    feed(&s, 1, 10, 10);
    feed(&s, 2, 25, 25);
    feed(&s, 3, 10, 40);
    assert_false(s.loose);
    feed(&s, 4, 10, 70);
    assert_true(s.loose);
}

static void test_angle_needed(void **state) {
    (void)state;
    bw_slack s = backed();
    feed(&s, 0, 4, 0);
    bw_sample blind = {0.25, 0, 0, false};
    bw_slack_take(&s, &blind);
    feed(&s, 0.5, 4, 1);
    assert_true(s.last.torque_Nm == 4.0);
    assert_false(s.gone);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_gone_is_a_share_of_the_peak),
        cmocka_unit_test(test_gone_is_no_less_than_a_wrench_tells),
        cmocka_unit_test(test_comes_from_a_torque),
        cmocka_unit_test(test_turned_on),
        cmocka_unit_test(test_where_it_went),
        cmocka_unit_test(test_given_back),
        cmocka_unit_test(test_still_turning),
        cmocka_unit_test(test_comes_back),
        cmocka_unit_test(test_drags_little),
        cmocka_unit_test(test_drags_far),
        cmocka_unit_test(test_keeps_dragging),
        cmocka_unit_test(test_drags_at_last),
        cmocka_unit_test(test_drags_without_a_break),
        cmocka_unit_test(test_angle_needed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
