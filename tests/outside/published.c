/* published.c - every published value in the tables, asked for as a builder would. */
#include "published.h"

#include "expression.h"
#include "trade/units.h"

#include "cmocka_all.h"

#include <math.h>
#include <string.h>

static expression e;

static double shown(const published *row, const bw_calc_value *v) {
    if (v->type == BW_CALC_FLAG) {
        return v->flag ? 1 : 0;
    }
    bw_unit unit = BW_UNIT_NUMBER;
    if (row->unit[0] != '\0' && !bw_unit_find(row->unit, strlen(row->unit), &unit)) {
        fail_msg("no unit '%s'", row->unit);
    }
    return bw_from_base(v->number, unit);
}

static void check_row(const published *row) {
    bw_calc_result result[BW_CALC_RESULTS_MAX];
    size_t n = 0;
    if (expression_eval(&e, row->expression, result, &n) != BW_OK) {
        fail_msg("%s: %s", row->expression, e.err.text);
    }
    const bw_calc_value *v = expression_result(result, n, row->result);
    if (v == NULL) {
        fail_msg("%s gives no %s", row->expression, row->result);
        return;
    }
    double got = shown(row, v);
    if (!(fabs(got - row->expected) <= row->tolerance)) {
        fail_msg("%s %s is %.12g %s, published %.12g +- %g (%s)", row->expression, row->result, got,
                 row->unit, row->expected, row->tolerance, row->source);
    }
    if (row->misprint != 0 && fabs(got - row->misprint) <= row->tolerance) {
        fail_msg("%s %s copies the misprint %.12g (%s)", row->expression, row->result,
                 row->misprint, row->source);
    }
}

/* A table has rows, and each says where it is from. */
static void check_table(const published *row, size_t n, size_t least) {
    assert_true(n >= least);
    for (size_t i = 0; i < n; i++) {
        assert_true(row[i].source[0] != '\0' && row[i].tolerance >= 0);
        check_row(&row[i]);
    }
}

static void test_threads(void **state) {
    (void)state;
    check_table(published_thread, published_thread_n, 100);
}

static void test_preload(void **state) {
    (void)state;
    check_table(published_preload, published_preload_n, 150);
}

static void test_tools(void **state) {
    (void)state;
    check_table(published_tool, published_tool_n, 15);
}

static void test_numbers(void **state) {
    (void)state;
    check_table(published_number, published_number_n, 90);
}

static void test_engine(void **state) {
    (void)state;
    check_table(published_engine, published_engine_n, 30);
}

static void test_words(void **state) {
    (void)state;
    for (size_t i = 0; i < published_words_n; i++) {
        const published_word *row = &published_words[i];
        bw_calc_result result[BW_CALC_RESULTS_MAX];
        size_t n = 0;
        if (expression_eval(&e, row->expression, result, &n) != BW_OK) {
            fail_msg("%s: %s", row->expression, e.err.text);
        }
        const bw_calc_value *v = expression_result(result, n, row->result);
        if (v == NULL || v->type != BW_CALC_TEXT || strcmp(v->text, row->word) != 0) {
            fail_msg("%s is not %s but %s (%s)", row->expression, row->word,
                     v != NULL && v->type == BW_CALC_TEXT ? v->text : "nothing", row->source);
        }
    }
}

static void test_units(void **state) {
    (void)state;
    for (size_t i = 0; i < published_units_n; i++) {
        const published_unit *row = &published_units[i];
        bw_quantity q = {0, BW_UNIT_COUNT, 0};
        bw_unit unit = BW_UNIT_COUNT;
        bw_err err = {BW_OK, ""};
        assert_true(bw_unit_find(row->unit, strlen(row->unit), &unit));
        if (bw_quantity_parse(row->text, strlen(row->text), BW_DIM_COUNT, BW_UNIT_COUNT, &q,
                              &err) != BW_OK ||
            bw_quantity_to(q, unit, &q, &err) != BW_OK) {
            fail_msg("%s: %s", row->text, err.text);
        }
        if (!(fabs(q.value - row->expected) <= row->tolerance)) {
            fail_msg("%s is %.17g %s, published %.17g +- %g (%s)", row->text, q.value, row->unit,
                     row->expected, row->tolerance, row->source);
        }
    }
}

/* At least two hundred of all these were read in a text, not remembered. */
static void test_how_much_was_seen(void **state) {
    (void)state;
    static const struct {
        const published *row;
        const size_t *n;
    } tables[] = {
        {published_thread, &published_thread_n}, {published_preload, &published_preload_n},
        {published_tool, &published_tool_n},     {published_number, &published_number_n},
        {published_engine, &published_engine_n},
    };
    size_t seen = 0;
    for (size_t t = 0; t < sizeof tables / sizeof tables[0]; t++) {
        for (size_t i = 0; i < *tables[t].n; i++) {
            seen += tables[t].row[i].how == SEEN ? 1 : 0;
        }
    }
    print_message("%zu published values seen\n", seen);
    assert_true(seen >= 200);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_threads), cmocka_unit_test(test_preload),
        cmocka_unit_test(test_tools),   cmocka_unit_test(test_numbers),
        cmocka_unit_test(test_engine),  cmocka_unit_test(test_words),
        cmocka_unit_test(test_units),   cmocka_unit_test(test_how_much_was_seen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
