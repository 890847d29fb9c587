/* expression.h - the little of the sequences' language that examples use, read without Lua:
 * `name{key = Nm(60), list = {mm(1), mm(2)}, word = "M10", flag = true}`.  For tests. */
#ifndef BW_TESTS_TRADE_EXPRESSION_H
#define BW_TESTS_TRADE_EXPRESSION_H

#include "trade/calc.h"

#include <stdbool.h>

enum { EXPRESSION_NUMBERS_MAX = 8192, EXPRESSION_TEXT_MAX = 1024 };

/* What was read; lists and texts of arg point into it. */
typedef struct expression {
    const bw_calc_function *function;
    bw_calc_value arg[BW_CALC_ARGS_MAX];
    size_t number_n;
    double number[EXPRESSION_NUMBERS_MAX];
    size_t text_n;
    char text[EXPRESSION_TEXT_MAX];
    bw_err err;
} expression;

/* False, and err says why, where text is no such expression or an argument has the wrong unit. */
bool expression_read(expression *e, const char *text);

/* Reads and evaluates. */
bw_status expression_eval(expression *e, const char *text, bw_calc_result *result, size_t *n);

/* The result of that name; NULL where there is none. */
const bw_calc_value *expression_result(const bw_calc_result *result, size_t n, const char *name);

#endif
