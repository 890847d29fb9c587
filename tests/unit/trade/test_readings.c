/* test_readings.c - form, strips, torque that runs, limits, parts, statistics: by hand-worked
 * figures. */
#include "trade/check.h"
#include "trade/choose.h"
#include "trade/measure.h"
#include "trade/pattern.h"
#include "trade/statistics.h"

#include "cmocka_all.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

static void test_form_of_a_bore(void **state) {
    (void)state;
    /* Three planes, two directions: the middle is worst round, the second direction worst straight.
     */
    static const double reading[] = {86.010, 86.012, 86.006, 86.021, 86.009, 86.005};
    bw_form form = {0};
    assert_int_equal(bw_form_of(reading, 3, 2, &form, NULL), BW_OK);
    assert_true(form.least_mm == 86.005 && form.most_mm == 86.021);
    assert_true(form.out_of_round_mm == 0.015 && form.worst_plane == 2);
    assert_true(form.taper_mm == 0.016 && form.worst_direction == 2);
    assert_true(form.mean_mm == 86.0105);
    assert_int_equal(bw_form_of(reading, 1, 2, &form, NULL), BW_E_DATA);
    static const double even[] = {86, 86, 86, 86};
    assert_int_equal(bw_form_of(even, 2, 2, &form, NULL), BW_OK);
    assert_true(form.out_of_round_mm == 0 && form.worst_plane == 1 && form.taper_mm == 0);
}

static void test_strip_between_marks(void **state) {
    (void)state;
    static const double width[] = {1, 2, 4};
    static const double clearance[] = {0.10, 0.05, 0.02};
    static const struct {
        double width, clearance;
    } rows[] = {{1, 0.10}, {1.5, 0.075}, {2, 0.05}, {3, 0.035}, {4, 0.02}};
    for (size_t i = 0; i < 5; i++) {
        double c = 0;
        assert_int_equal(bw_plastic_gauge(rows[i].width, width, clearance, 3, &c, NULL), BW_OK);
        assert_true(c == rows[i].clearance);
    }
}

static void test_start_peak_is_left_out(void **state) {
    (void)state;
    static const double with_peak[] = {1, 6, 5, 3, 2, 2.2, 1.8, 2, 2, 2.1, 1.9, 2};
    bw_running_torque r = {0};
    assert_int_equal(bw_running_torque_of(with_peak, 12, &r, NULL), BW_OK);
    assert_true(r.start_Nm == 6 && r.left_out_n == 4);
    assert_true(fabs(r.mean_Nm - 2) < 1e-12);
    /* No peak: nothing but the largest of the first half goes. */
    static const double even[] = {2, 2, 2, 2, 2, 2, 2, 2};
    assert_int_equal(bw_running_torque_of(even, 8, &r, NULL), BW_OK);
    assert_true(r.mean_Nm == 2 && r.left_out_n == 1);
    /* A start that never comes down takes the whole first half. */
    static const double slow[] = {9, 8, 7, 6, 1, 1, 1, 1};
    assert_int_equal(bw_running_torque_of(slow, 8, &r, NULL), BW_OK);
    assert_true(r.mean_Nm == 1 && r.left_out_n == 4);
}

static void test_stock(void **state) {
    (void)state;
    static const double stock[] = {2.55, 2.50, 2.60, 2.65};
    static const struct {
        double needed, chosen;
    } rows[] = {{2.50, 2.50}, {2.52, 2.50}, {2.525, 2.50}, {2.575, 2.55},
                {2.58, 2.60}, {9, 2.65},    {0, 2.50}};
    for (size_t i = 0; i < 7; i++) {
        double chosen = 0;
        assert_int_equal(bw_choose_stock(rows[i].needed, stock, 4, &chosen, NULL), BW_OK);
        assert_true(chosen == rows[i].chosen);
    }
}

/* What calc has looked at already is looked at here too. */
static void test_parts_refuse_nonsense(void **state) {
    (void)state;
    static const double code[] = {1, 2};
    double chosen = 7;
    assert_int_equal(bw_choose_stock(-1, code, 2, &chosen, NULL), BW_E_DATA);
    assert_true(chosen == 7);
    const bw_shell_table none = {.rows = 0, .columns = 2, .upper = code};
    bw_shells shells = {0};
    bw_err err = {BW_OK, ""};
    assert_int_equal(bw_choose_shells(&none, 1, 1, &shells, &err), BW_E_DATA);
    assert_string_equal(err.text, "rows is 0: 1 to 100 is needed");
}

static void test_standing_needs_a_number(void **state) {
    (void)state;
    const bw_limits limits = {.new_low = 0, .new_high = 1};
    bw_standing_kind kind = BW_STANDS_REJECT;
    bw_err err = {BW_OK, ""};
    assert_int_equal(bw_standing_of((double)NAN, &limits, &kind, &err), BW_E_DATA);
    assert_string_equal(err.text, "value is not a finite number");
    assert_int_equal(kind, BW_STANDS_REJECT);
    /* The one limit that is both ends: a size. */
    const bw_limits size = {.new_low = 1, .new_high = 1, .has_worn = true, .worn = 1};
    assert_int_equal(bw_standing_of(1, &size, &kind, NULL), BW_OK);
    assert_int_equal(kind, BW_STANDS_NEW);
}

static void test_summary(void **state) {
    (void)state;
    bw_summary s = {0};
    static const double one[] = {4};
    assert_int_equal(bw_summary_of(one, 1, &s, NULL), BW_OK);
    assert_true(s.mean == 4 && s.s == 0 && s.lag1 == 0);
    static const double equal[] = {0.1, 0.1, 0.1};
    assert_int_equal(bw_summary_of(equal, 3, &s, NULL), BW_OK);
    assert_true(s.mean == 0.1 && s.s == 0 && s.lag1 == 0);
    assert_int_equal(bw_summary_of(equal, 0, &s, NULL), BW_E_DATA);
    static const double bad[] = {1, (double)NAN};
    double scratch[5];
    double median = 0;
    double mad = 0;
    assert_int_equal(bw_median_of(bad, 2, scratch, &median, &mad, NULL), BW_E_DATA);
    static const double odd[] = {5, 1, 4, 2, 100};
    assert_int_equal(bw_median_of(odd, 5, scratch, &median, &mad, NULL), BW_OK);
    assert_true(median == 4 && mad == 2);
    assert_int_equal(bw_median_of(odd, 4, scratch, &median, &mad, NULL), BW_OK);
    assert_true(median == 3 && mad == 1.5);
}

static void test_orders_from_orders(void **state) {
    (void)state;
    static const bw_point head[] = {{0, 0}, {90, 0}, {180, 0}, {0, 80}, {90, 80}, {180, 80}};
    size_t order[6] = {1, 4, 0, 5, 2, 3};
    size_t out[6];
    assert_int_equal(bw_order_mirror(head, 6, order, out, NULL), BW_OK);
    static const size_t mirrored[] = {1, 4, 2, 3, 0, 5};
    assert_memory_equal(out, mirrored, sizeof out);
    /* Twice in the mirror is as before. */
    assert_int_equal(bw_order_mirror(head, 6, mirrored, out, NULL), BW_OK);
    assert_memory_equal(out, order, sizeof out);
    bw_order_reverse(order, 6, order);
    static const size_t reversed[] = {3, 2, 5, 0, 4, 1};
    assert_memory_equal(order, reversed, sizeof order);
    bw_order_reverse(reversed, 5, out);
    assert_true(out[0] == 4 && out[2] == 5 && out[4] == 3);
    bw_err err = {BW_OK, ""};
    assert_int_equal(bw_order_in_groups(BW_ORDER_ROWS, head, 6, 0, out, &err), BW_E_ARG);
    assert_int_equal(bw_order_in_groups(BW_ORDER_ROWS, head, 0, 1, out, &err), BW_E_ARG);
    assert_int_equal(bw_order_in_groups(BW_ORDER_ROWS, head, BW_ORDER_MAX + 1, 1, out, &err),
                     BW_E_ARG);
    /* Runs of four of six: the second run has two. */
    assert_int_equal(bw_order_in_groups(BW_ORDER_ROWS, head, 6, 4, out, NULL), BW_OK);
    static const size_t runs[] = {0, 1, 2, 3, 4, 5};
    assert_memory_equal(out, runs, sizeof runs);
}

/* Thirty-two bolts of a large flange in eight groups of four: the groups go crosswise. */
static void test_circle_in_groups(void **state) {
    (void)state;
    bw_point p[32];
    for (size_t i = 0; i < 32; i++) {
        double a = 2 * 3.14159265358979323846 * (double)i / 32;
        p[i] = (bw_point){400 * cos(a), 400 * sin(a)};
    }
    size_t out[32];
    assert_int_equal(bw_order_in_groups(BW_ORDER_CROSSWISE, p, 32, 4, out, NULL), BW_OK);
    static const size_t groups[] = {0, 4, 2, 6, 1, 5, 3, 7};
    for (size_t k = 0; k < 32; k++) {
        assert_int_equal(out[k], groups[k / 4] * 4 + k % 4);
    }
    assert_int_equal(bw_order_in_groups(BW_ORDER_CROSSWISE, p, 32, 31, out, NULL), BW_OK);
    p[1] = p[0];
    bw_err err = {BW_OK, ""};
    assert_int_equal(bw_order_in_groups(BW_ORDER_SPIRAL, p, 32, 1, out, &err), BW_E_DATA);
}

static void test_ranges_are_inclusive(void **state) {
    (void)state;
    bw_err err = {BW_OK, ""};
    assert_int_equal(BW_CHECK(&err, {"a", 0, 0, 1, ""}, {"b", 1, 0, 1, ""}), BW_OK);
    assert_int_equal(BW_CHECK(&err, {"a", 0, 0, 1, ""}, {"b", 1.5, 0, 1, " mm"}), BW_E_DATA);
    assert_string_equal(err.text, "b is 1.5 mm: 0 to 1 mm is needed");
    assert_int_equal(BW_CHECK(&err, {"a", (double)NAN, 0, 1, ""}), BW_E_DATA);
    assert_int_equal(BW_CHECK(&err, {"a", -0.5, 0, 1, ""}), BW_E_DATA);
    static const double list[] = {1, 2, 7};
    assert_int_equal(bw_check_list("x", list, 3, 3, 1, 7, "", &err), BW_OK);
    assert_int_equal(bw_check_list("x", list, 3, 1, 1, 6, " mm", &err), BW_E_DATA);
    assert_string_equal(err.text, "x number 3 is 7 mm: 1 to 6 mm is needed");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_form_of_a_bore),
        cmocka_unit_test(test_strip_between_marks),
        cmocka_unit_test(test_start_peak_is_left_out),
        cmocka_unit_test(test_stock),
        cmocka_unit_test(test_parts_refuse_nonsense),
        cmocka_unit_test(test_standing_needs_a_number),
        cmocka_unit_test(test_summary),
        cmocka_unit_test(test_orders_from_orders),
        cmocka_unit_test(test_circle_in_groups),
        cmocka_unit_test(test_ranges_are_inclusive),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
