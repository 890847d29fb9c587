/* thresholds_test.c - each threshold of trouble.c: a sample at it, and one a hair beside it. */
#include "cmocka_all.h"

#include "judge/trouble.h"

static const double hair = 1e-9;

static void feed(bw_trouble *t, double time_s, double torque_Nm, double angle_deg) {
    bw_sample sample = {time_s, torque_Nm, angle_deg, true};
    bw_trouble_take(t, &sample);
}

/* Pulled up to peak_Nm at 10 degrees, the handle at rest there from 1 s to 2 s. */
static bw_trouble pulled(double threshold_Nm, double reference_Nm, double peak_Nm) {
    bw_trouble t;
    bw_trouble_begin(&t, threshold_Nm, reference_Nm);
    feed(&t, 0, 0, 10);
    feed(&t, 1, peak_Nm, 10);
    feed(&t, 2, peak_Nm, 10);
    return t;
}

/* One more sample, and whether the torque had dropped there. */
static bool drops(bw_trouble t, double time_s, double torque_Nm, double angle_deg) {
    assert_false(t.dropped);
    feed(&t, time_s, torque_Nm, angle_deg);
    return t.dropped;
}

static void test_turned_on(void **state) {
    (void)state;
    bw_trouble t = pulled(1, 20, 20);
    assert_false(drops(t, 3, 15, 13));
    assert_true(drops(t, 3, 15, 13 + hair));
}

static void test_fallen(void **state) {
    (void)state;
    bw_trouble t = pulled(1, 20, 20);
    assert_false(drops(t, 3, 16, 30));
    assert_true(drops(t, 3, 16 - hair, 30));
}

/* Half of the torque that the stage is about, or four thresholds, whichever is more. */
static void test_from(void **state) {
    (void)state;
    assert_true(drops(pulled(1, 20, 10), 3, 5, 30));
    assert_false(drops(pulled(1, 20, 10 - hair), 3, 5, 30));
    assert_true(drops(pulled(4, 20, 16), 3, 5, 30));
    assert_false(drops(pulled(4, 20, 16 - hair), 3, 5, 30));
}

/* A peak that a single sample had is none. */
static void test_peak_of_two(void **state) {
    (void)state;
    bw_trouble t;
    bw_trouble_begin(&t, 1, 20);
    feed(&t, 0, 0, 10);
    feed(&t, 1, 20, 10);
    assert_false(drops(t, 2, 5, 30));
    feed(&t, 2, 20, 10);
    assert_true(drops(t, 3, 5, 30));
}

/* A hand goes on between two samples as fast as before: 10 degrees a second. */
static void test_hand(void **state) {
    (void)state;
    bw_trouble t = pulled(1, 20, 20);
    feed(&t, 3, 20, 20);
    assert_false(drops(t, 3.125, 15, 24.25));
    assert_true(drops(t, 3.125, 15, 24.25 + hair));
    feed(&t, 3.125, 15, 24.25);
    assert_true(drops(t, 4, 15, 24.25 + hair)); /* no further for waiting longer */
    t = pulled(1, 20, 20);
    feed(&t, 2, 20, 10.5); /* no time passed: no speed */
    assert_true(drops(t, 3, 15, 13.5 + hair));
}

/* What breaks flies on: the torque is gone at once and the handle goes on. */
static bool found_after(double gone_s, double gone_Nm, double gone_deg) {
    bw_trouble t = pulled(1, 20, 20);
    feed(&t, gone_s, gone_Nm, gone_deg);
    return drops(t, gone_s + 0.125, 5, 13.5);
}

static void test_flies_on(void **state) {
    (void)state;
    assert_true(found_after(2.5, 0.1, 9.5));
    assert_false(found_after(2.5 + hair, 0.1, 9.5));
    assert_false(found_after(2.5, 0.1, 9.5 - hair));
    assert_false(found_after(2.5 + hair, 0.1, 9));
}

static void test_stroke_over(void **state) {
    (void)state;
    assert_true(found_after(4, 0.6, 9));
    assert_false(found_after(4, 0.6 - hair, 9));
}

/* A stroke that is over takes its speed with it. */
static void test_new_stroke(void **state) {
    (void)state;
    bw_trouble t = pulled(1, 20, 20);
    feed(&t, 3, 20, 40); /* 30 degrees a second */
    feed(&t, 4, 0, 10);
    feed(&t, 5, 20, 10);
    feed(&t, 6, 20, 10);
    assert_true(drops(t, 7, 15, 13 + hair));
}

static void test_angle_needed(void **state) {
    (void)state;
    bw_trouble t = pulled(1, 20, 20);
    bw_sample blind = {3, 5, 90, false};
    bw_trouble_take(&t, &blind);
    assert_false(t.dropped);
    assert_true(t.last.time_s == 2.0);
}

/* ---- backward ---- */

/* Loaded backward with load_Nm (below zero) at 0 degrees, on to to_deg, and let go. */
static bool loosens(double reference_Nm, double load_Nm, double to_deg) {
    bw_trouble t;
    bw_trouble_begin(&t, 1, reference_Nm);
    feed(&t, 0, 0, 0);
    feed(&t, 1, load_Nm, 0);
    feed(&t, 2, load_Nm, to_deg);
    feed(&t, 3, 0, to_deg);
    return t.loosened;
}

static void test_turned_back(void **state) {
    (void)state;
    assert_true(loosens(20, -8, -2));
    assert_false(loosens(20, -8, -2 + hair));
    assert_false(loosens(20, -8, 2));
}

/* A fifth of the torque, 2 N.m at least. */
static void test_back_mark(void **state) {
    (void)state;
    assert_true(loosens(20, -4, -9));
    assert_false(loosens(20, -4 + hair, -9));
    assert_true(loosens(5, -2, -9));
    assert_false(loosens(5, -2 + hair, -9));
}

/* Half way from the mark to nothing it is still one turn back; what comes behind is another. */
static bool loosens_over(double between_Nm) {
    bw_trouble t;
    bw_trouble_begin(&t, 1, 20);
    feed(&t, 0, 0, 0);
    feed(&t, 1, -4, 0);
    feed(&t, 2, -4, -1);
    feed(&t, 3, between_Nm, -1);
    feed(&t, 4, -4, -1);
    feed(&t, 5, -4, -2);
    feed(&t, 6, 0, -2);
    return t.loosened;
}

static void test_back_ends(void **state) {
    (void)state;
    assert_true(loosens_over(-2.4));
    assert_false(loosens_over(-2.4 + hair));
}

/* The turn is taken where the torque passes the mark, half way between two samples here. */
static void test_back_between(void **state) {
    (void)state;
    for (int more = 0; more < 2; more++) {
        bw_trouble t;
        bw_trouble_begin(&t, 1, 20);
        feed(&t, 0, 0, 0);
        feed(&t, 1, -8, -2);              /* -4 N.m at -1 */
        feed(&t, 2, -8, -3);              /* still loaded */
        feed(&t, 3, 0, -3 + 2e-9 * more); /* -4 N.m at -3, or a hair before */
        assert_int_equal(t.loosened, more == 0);
        assert_true(!t.loosened || t.loosened_s == 2.0);
    }
}

/* What the handle does between the mark and nothing is no turn under load. */
static void test_back_below_mark(void **state) {
    (void)state;
    bw_trouble t;
    bw_trouble_begin(&t, 1, 20);
    feed(&t, 0, 0, 0);
    feed(&t, 1, -8, 0);
    feed(&t, 2, -8, 0);
    feed(&t, 3, -3, 0);
    feed(&t, 4, -2.5, 9);
    feed(&t, 5, 0, 9);
    assert_false(t.loosened);
}

/* From -4.5 to -3.5 N.m the mark lies half way. */
static void test_back_steps(void **state) {
    (void)state;
    bw_trouble t;
    bw_trouble_begin(&t, 1, 20);
    feed(&t, 0, 0, 0);
    feed(&t, 1, -4.5, 0);
    feed(&t, 2, -4.5, -1);
    feed(&t, 3, -3.5, -3); /* -4 N.m at -2 */
    feed(&t, 4, 0, -3);
    assert_true(t.loosened);
    bw_trouble_begin(&t, 1, 20);
    feed(&t, 0, 0, 0);
    feed(&t, 1, -4.5, 0);
    feed(&t, 2, -4.5, -1);
    feed(&t, 3, -3.5, -3 + 2.1e-9);
    feed(&t, 4, 0, -3);
    assert_false(t.loosened);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_turned_on),    cmocka_unit_test(test_fallen),
        cmocka_unit_test(test_from),         cmocka_unit_test(test_peak_of_two),
        cmocka_unit_test(test_hand),         cmocka_unit_test(test_flies_on),
        cmocka_unit_test(test_stroke_over),  cmocka_unit_test(test_new_stroke),
        cmocka_unit_test(test_angle_needed), cmocka_unit_test(test_turned_back),
        cmocka_unit_test(test_back_mark),    cmocka_unit_test(test_back_ends),
        cmocka_unit_test(test_back_between), cmocka_unit_test(test_back_below_mark),
        cmocka_unit_test(test_back_steps),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
