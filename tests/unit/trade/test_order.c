/* test_order.c - every place once, from the inside out, star on circles. */
#include "trade/order.h"

#include "cmocka_all.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

static void expect_order(bw_order_kind kind, const bw_point *point, size_t n, const char *wanted) {
    size_t out[BW_ORDER_MAX];
    bw_err err = {BW_OK, ""};
    if (bw_order_make(kind, point, n, out, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
    char text[200] = "";
    size_t len = 0;
    for (size_t i = 0; i < n; i++) {
        len += (size_t)snprintf(text + len, sizeof text - len, i == 0 ? "%zu" : " %zu", out[i] + 1);
    }
    assert_string_equal(text, wanted);
}

static void circle(bw_point *point, size_t n, double radius_mm) {
    for (size_t i = 0; i < n; i++) {
        double a = 2 * 3.14159265358979323846 * (double)i / (double)n;
        point[i] = (bw_point){radius_mm * cos(a), radius_mm * sin(a)};
    }
}

/* The star patterns for 4, 8, 12, 16 and 20 bolts as flange practice numbers them (bolt numbers
 * round the circle); from memory, not seen.  5: the wheel's star. */
static void test_crosswise_is_the_star(void **state) {
    (void)state;
    bw_point p[20];
    static const struct {
        size_t n;
        const char *wanted;
    } rows[] = {
        {1, "1"},
        {2, "1 2"},
        {3, "1 2 3"},
        {4, "1 3 2 4"},
        {5, "1 3 5 2 4"},
        {6, "1 4 2 5 3 6"},
        {7, "1 4 7 3 6 2 5"},
        {8, "1 5 3 7 2 6 4 8"},
        {12, "1 7 4 10 2 8 5 11 3 9 6 12"},
        {16, "1 9 5 13 3 11 7 15 2 10 6 14 4 12 8 16"},
        {20, "1 11 6 16 3 13 8 18 2 12 7 17 4 14 9 19 5 15 10 20"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        circle(p, rows[i].n, 80);
        expect_order(BW_ORDER_CROSSWISE, p, rows[i].n, rows[i].wanted);
    }
}

static void test_spiral_of_a_head(void **state) {
    (void)state;
    /* Two rows of five, listed row by row from the left. */
    bw_point p[10];
    for (size_t i = 0; i < 10; i++) {
        p[i] = (bw_point){90.0 * (double)(i % 5), i < 5 ? 80 : 0};
    }
    expect_order(BW_ORDER_SPIRAL, p, 10, "3 8 2 9 4 7 1 10 5 6");
    expect_order(BW_ORDER_ROWS, p, 10, "1 2 3 4 5 6 7 8 9 10");
    expect_order(BW_ORDER_LISTED, NULL, 10, "1 2 3 4 5 6 7 8 9 10");
}

static void test_rows_in_listed_order(void **state) {
    (void)state;
    /* Listed from the right, the lower row first, a little out of line. */
    static const bw_point p[] = {{90, 0}, {45, 0.6}, {0, 1.2}, {90, 80}, {0, 80}};
    expect_order(BW_ORDER_ROWS, p, 5, "3 2 1 5 4");
}

static void test_rings_from_the_middle(void **state) {
    (void)state;
    bw_point p[9] = {{0, 0}};
    circle(p + 1, 4, 30);
    circle(p + 5, 4, 60);
    expect_order(BW_ORDER_RINGS, p, 9, "1 2 4 3 5 6 8 7 9");
    expect_order(BW_ORDER_SPIRAL, p, 9, "1 2 4 3 5 6 8 7 9");
}

static uint32_t next_random(uint32_t *x) {
    *x ^= *x << 13;
    *x ^= *x >> 17;
    *x ^= *x << 5;
    return *x;
}

static void check_once(const size_t *out, size_t n) {
    bool seen[BW_ORDER_MAX] = {false};
    for (size_t k = 0; k < n; k++) {
        assert_true(out[k] < n);
        assert_false(seen[out[k]]);
        seen[out[k]] = true;
    }
}

/* On any field of places: every place once; spiral and rings never jump past an inner one. */
static void test_properties_on_random_fields(void **state) {
    (void)state;
    static bw_point p[BW_ORDER_MAX];
    static size_t out[BW_ORDER_MAX];
    uint32_t x = 2463534242u;
    for (int round = 0; round < 300; round++) {
        size_t n = round == 0 ? BW_ORDER_MAX : 1 + next_random(&x) % 40;
        double least_x = (double)INFINITY;
        double most_x = -(double)INFINITY;
        double least_y = (double)INFINITY;
        double most_y = -(double)INFINITY;
        for (size_t i = 0; i < n; i++) {
            /* Whole millimetres on a 40 wide field, apart by their number. */
            double px = (double)(next_random(&x) % 40) + (double)(i / 40) * 40;
            double py = (double)(i % 40) * 2 + (double)(next_random(&x) % 2);
            p[i] = (bw_point){px, py};
            least_x = fmin(least_x, px);
            most_x = fmax(most_x, px);
            least_y = fmin(least_y, py);
            most_y = fmax(most_y, py);
        }
        static const bw_order_kind kinds[] = {BW_ORDER_SPIRAL, BW_ORDER_RINGS, BW_ORDER_ROWS,
                                              BW_ORDER_LISTED};
        for (size_t k = 0; k < 4; k++) {
            assert_int_equal(bw_order_make(kinds[k], p, n, out, NULL), BW_OK);
            check_once(out, n);
            double before = 0;
            for (size_t i = 0; i < n && k < 2; i++) {
                double d = hypot(p[out[i]].x_mm - (least_x + most_x) / 2,
                                 p[out[i]].y_mm - (least_y + most_y) / 2);
                assert_true(d >= before - 2e-3);
                before = d;
            }
        }
    }
}

static void test_crosswise_on_random_circles(void **state) {
    (void)state;
    bw_point p[64];
    size_t out[64];
    uint32_t x = 77777u;
    for (size_t n = 1; n <= 64; n++) {
        circle(p, n, 50 + (double)(next_random(&x) % 100));
        for (size_t i = 0; i < n; i++) {
            p[i].x_mm += 500;
            p[i].y_mm -= 300;
        }
        assert_int_equal(bw_order_make(BW_ORDER_CROSSWISE, p, n, out, NULL), BW_OK);
        check_once(out, n);
        for (size_t i = 0; n % 2 == 0 && i < n; i += 2) {
            assert_int_equal((out[i] + n / 2) % n, out[i + 1]);
        }
    }
}

static void refuse(bw_order_kind kind, const bw_point *p, size_t n, bw_status code,
                   const char *part) {
    size_t out[4] = {42};
    bw_err err = {BW_OK, ""};
    bw_status s = bw_order_make(kind, p, n, out, &err);
    if (s != code || strstr(err.text, part) == NULL || out[0] != 42) {
        fail_msg("%d %s", s, err.text);
    }
}

static void test_refusals(void **state) {
    (void)state;
    static const bw_point twice[] = {{1, 2}, {3, 4}, {1, 2}};
    static const bw_point endless[] = {{1, 2}, {(double)INFINITY, 4}};
    static const bw_point endless_y[] = {{1, (double)NAN}};
    static const bw_point line[] = {{0, 0}, {10, 10}, {20, 20}};
    static const bw_point square_and_middle[] = {{0, 0}, {10, 0}, {10, 10}, {0, 10}, {5, 5}};
    refuse(BW_ORDER_SPIRAL, NULL, 3, BW_E_ARG, "spiral needs positions");
    refuse(BW_ORDER_LISTED, NULL, 0, BW_E_ARG, "1 to 512 places");
    refuse(BW_ORDER_LISTED, NULL, BW_ORDER_MAX + 1, BW_E_ARG, "not 513");
    refuse(BW_ORDER_KIND_COUNT, twice, 2, BW_E_ARG, "an order");
    refuse(BW_ORDER_SPIRAL, twice, 3, BW_E_DATA, "places 1 and 3 are at one spot");
    refuse(BW_ORDER_ROWS, endless, 2, BW_E_DATA, "place 2 is not finite");
    refuse(BW_ORDER_ROWS, endless_y, 1, BW_E_DATA, "place 1 is not finite");
    refuse(BW_ORDER_CROSSWISE, line, 3, BW_E_DATA, "crosswise needs places on one circle");
    refuse(BW_ORDER_CROSSWISE, square_and_middle, 5, BW_E_DATA, "on one circle");
}

static void test_words(void **state) {
    (void)state;
    assert_string_equal(bw_order_word(BW_ORDER_LISTED), "listed");
    assert_string_equal(bw_order_word(BW_ORDER_RINGS), "rings");
    assert_null(bw_order_word(BW_ORDER_KIND_COUNT));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_crosswise_is_the_star),
        cmocka_unit_test(test_spiral_of_a_head),
        cmocka_unit_test(test_rows_in_listed_order),
        cmocka_unit_test(test_rings_from_the_middle),
        cmocka_unit_test(test_properties_on_random_fields),
        cmocka_unit_test(test_crosswise_on_random_circles),
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
