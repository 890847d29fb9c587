/* test_calc.c - the table of functions as a whole. */
#include "expression.h"

#include "cmocka_all.h"

#include <math.h>
#include <string.h>

static expression e;

static size_t arg_count(const bw_calc_function *f) {
    size_t n = 0;
    while (f->arg[n].name != NULL) {
        n++;
    }
    return n;
}

static void test_rows_are_whole(void **state) {
    (void)state;
    size_t n = 0;
    for (const bw_calc_function *f = bw_calc_at(0); f != NULL; f = bw_calc_at(++n)) {
        assert_ptr_equal(bw_calc_find(f->name), f); /* no name twice */
        assert_true(f->says[0] != '\0' && f->source[0] != '\0' && f->example[0] != '\0');
        assert_true(arg_count(f) <= BW_CALC_ARGS_MAX);
        for (size_t i = 0; i < arg_count(f); i++) {
            assert_true(f->arg[i].says[0] != '\0' && f->arg[i].dimension < BW_DIM_COUNT);
            for (size_t k = 0; k < i; k++) {
                assert_string_not_equal(f->arg[i].name, f->arg[k].name);
            }
        }
        /* A function must not hide a unit's constructor. */
        for (bw_unit u = BW_UNIT_NUMBER; u < BW_UNIT_COUNT; u++) {
            assert_string_not_equal(f->name, bw_unit_of(u)->word);
        }
    }
    assert_true(n >= 70);
    assert_null(bw_calc_at(n));
    assert_null(bw_calc_find("no such function"));
}

static void test_every_example_runs(void **state) {
    (void)state;
    for (size_t i = 0; bw_calc_at(i) != NULL; i++) {
        const bw_calc_function *f = bw_calc_at(i);
        assert_memory_equal(f->example, f->name, strlen(f->name));
        bw_calc_result result[BW_CALC_RESULTS_MAX];
        size_t n = 0;
        if (expression_eval(&e, f->example, result, &n) != BW_OK) {
            fail_msg("%s: %s", f->example, e.err.text);
        }
        assert_true(n >= 1 && n <= BW_CALC_RESULTS_MAX);
        for (size_t k = 0; k < n; k++) {
            assert_true(result[k].value.given && result[k].name[0] != '\0');
            assert_true(result[k].value.type != BW_CALC_QUANTITY ||
                        isfinite(result[k].value.number));
            assert_true(result[k].value.type != BW_CALC_TEXT || result[k].value.text[0] != '\0');
        }
    }
}

/* The examples again, each argument in turn replaced by what a slip or a stranger may give: an
 * answer with finite numbers, or one line that is no program fault; nothing else. */
static void test_extreme_arguments(void **state) {
    (void)state;
    static const double extremes[] = {0,   -1, 1e-300, -1e-300, 1e300, -1e300, 1e15,  -1e15,  1e9,
                                      0.5, 2,  3,      360,     1e-9,  4097,   -0.25, 1.4999, 1e6};
    for (size_t i = 0; bw_calc_at(i) != NULL; i++) {
        const bw_calc_function *f = bw_calc_at(i);
        assert_true(expression_read(&e, f->example));
        for (size_t k = 0; k < arg_count(f); k++) {
            for (size_t x = 0; x < sizeof extremes / sizeof extremes[0]; x++) {
                bw_calc_value arg[BW_CALC_ARGS_MAX];
                memcpy(arg, e.arg, sizeof arg);
                double list[2] = {extremes[x], extremes[(x + 5) % 18]};
                arg[k].given = true;
                arg[k].type = f->arg[k].type;
                arg[k].number = extremes[x];
                arg[k].list = list;
                arg[k].list_n = 1 + x % 2;
                arg[k].text = x % 2 == 0 ? "" : "M10x1.25";
                arg[k].flag = x % 2 == 0;
                bw_calc_result result[BW_CALC_RESULTS_MAX];
                size_t n = 0;
                bw_err err = {BW_OK, ""};
                bw_status s = bw_calc_eval(f, arg, result, &n, &err);
                bool good = s == BW_E_DATA ? err.text[0] != '\0' && n == 0 : s == BW_OK;
                for (size_t r = 0; r < n; r++) {
                    good = good && (result[r].value.type != BW_CALC_QUANTITY ||
                                    isfinite(result[r].value.number));
                }
                if (!good) {
                    fail_msg("%s with %s = %g: %d %s", f->name, f->arg[k].name, extremes[x], s,
                             err.text);
                }
            }
        }
    }
}

static void expect_refusal(const bw_calc_function *f, const bw_calc_value *arg, const char *part) {
    bw_calc_result result[BW_CALC_RESULTS_MAX];
    size_t n = 42;
    bw_err err = {BW_OK, ""};
    assert_int_equal(bw_calc_eval(f, arg, result, &n, &err), BW_E_DATA);
    assert_int_equal(n, 42);
    if (strstr(err.text, part) == NULL) {
        fail_msg("'%s', not '%s'", err.text, part);
    }
}

static void test_arguments_are_checked(void **state) {
    (void)state;
    const bw_calc_function *f = bw_calc_find("plastic_gauge");
    bw_calc_value arg[BW_CALC_ARGS_MAX];
    assert_true(expression_read(&e, f->example));
    memcpy(arg, e.arg, sizeof arg);
    arg[0].given = false;
    expect_refusal(f, arg, "`width` is missing: of the squeezed strip at its widest");
    memcpy(arg, e.arg, sizeof arg);
    arg[0].type = BW_CALC_TEXT;
    expect_refusal(f, arg, "`width` is of another kind than is needed");
    memcpy(arg, e.arg, sizeof arg);
    arg[0].number = (double)NAN;
    expect_refusal(f, arg, "`width` is not a finite number");
    const double endless[] = {1, (double)INFINITY};
    memcpy(arg, e.arg, sizeof arg);
    arg[1].list = endless;
    arg[1].list_n = 2;
    expect_refusal(f, arg, "`widths` is not a finite number");
    arg[1].list_n = 0;
    expect_refusal(f, arg, "`widths` has 0 values: 1 to 8192 are needed");
    static double many[BW_CALC_LIST_MAX + 1];
    arg[1].list = many;
    arg[1].list_n = BW_CALC_LIST_MAX + 1;
    expect_refusal(f, arg, "`widths` has 8193 values");
}

/* More values than a fixed table holds. */
static void test_long_lists(void **state) {
    (void)state;
    static double many[BW_CALC_LIST_MAX];
    for (size_t i = 0; i < BW_CALC_LIST_MAX; i++) {
        many[i] = (double)(i + 1);
    }
    bw_calc_value arg[BW_CALC_ARGS_MAX] = {{0}};
    const bw_calc_value list = {
        .given = true, .type = BW_CALC_LIST, .list = many, .list_n = BW_CALC_LIST_MAX};
    arg[0] = list;
    bw_calc_result result[BW_CALC_RESULTS_MAX];
    size_t n = 0;
    assert_int_equal(bw_calc_eval(bw_calc_find("statistics"), arg, result, &n, NULL), BW_OK);
    assert_true(expression_result(result, n, "median")->number == (BW_CALC_LIST_MAX + 1) / 2.0);
    expect_refusal(bw_calc_find("combine"), arg, "components is 8192: 1 to 256 is needed");
    arg[1] = list;
    arg[3] = (bw_calc_value){.given = true, .number = 205000};
    expect_refusal(bw_calc_find("bolt_stiffness"), arg, "lengths has 8192 values: at most 64");
    arg[0] = (bw_calc_value){.given = true, .type = BW_CALC_TEXT, .text = "rows"};
    arg[2] = list;
    arg[3] = (bw_calc_value){0};
    expect_refusal(bw_calc_find("fastener_order"), arg, "x has 8192 values: at most 512");
}

/* Orders of more than 24 places are told in pieces. */
static void test_orders_in_pieces(void **state) {
    (void)state;
    static double x[30];
    static double y[30];
    for (size_t i = 0; i < 30; i++) {
        x[i] = 10 * (double)i;
    }
    bw_calc_value arg[BW_CALC_ARGS_MAX] = {{0}};
    arg[0] = (bw_calc_value){.given = true, .type = BW_CALC_TEXT, .text = "rows"};
    arg[1] = (bw_calc_value){.given = true, .type = BW_CALC_LIST, .list = x, .list_n = 30};
    arg[2] = (bw_calc_value){.given = true, .type = BW_CALC_LIST, .list = y, .list_n = 30};
    const bw_calc_function *f = bw_calc_find("fastener_order");
    bw_calc_result result[BW_CALC_RESULTS_MAX];
    size_t n = 0;
    assert_int_equal(bw_calc_eval(f, arg, result, &n, NULL), BW_OK);
    assert_int_equal(n, 24);
    assert_true(expression_result(result, n, "24")->number == 24);
    arg[3] = (bw_calc_value){.given = true, .number = 25};
    assert_int_equal(bw_calc_eval(f, arg, result, &n, NULL), BW_OK);
    assert_int_equal(n, 6);
    assert_true(expression_result(result, n, "1")->number == 25);
    arg[3].number = 1;
    arg[6] = (bw_calc_value){.given = true, .type = BW_CALC_FLAG, .flag = true};
    assert_int_equal(bw_calc_eval(f, arg, result, &n, NULL), BW_OK);
    assert_true(expression_result(result, n, "1")->number == 30);
    arg[5] = arg[6];
    assert_int_equal(bw_calc_eval(f, arg, result, &n, NULL), BW_OK);
    assert_true(expression_result(result, n, "1")->number == 1);
    arg[6] = (bw_calc_value){0};
    arg[5] = arg[6];
    arg[4] = (bw_calc_value){.given = true, .number = 15};
    arg[0].text = "spiral";
    assert_int_equal(bw_calc_eval(f, arg, result, &n, NULL), BW_OK);
    assert_true(expression_result(result, n, "16")->number == 16);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rows_are_whole),    cmocka_unit_test(test_every_example_runs),
        cmocka_unit_test(test_extreme_arguments), cmocka_unit_test(test_arguments_are_checked),
        cmocka_unit_test(test_long_lists),        cmocka_unit_test(test_orders_in_pieces),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
