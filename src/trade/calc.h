/* calc.h - the trade's functions as a table, so that sequences and `calc` reach all of them by
 * the same names.
 *
 * Room: trade (pure).  The sequence worker builds a Lua function for each row:
 * `preload{ torque = Nm(60), friction_thread = 0.12, ... }`. */
#ifndef BW_TRADE_CALC_H
#define BW_TRADE_CALC_H

#include "base/status.h"
#include "trade/units.h"

#include <stdbool.h>
#include <stddef.h>

enum { BW_CALC_ARGS_MAX = 24, BW_CALC_RESULTS_MAX = 24, BW_CALC_LIST_MAX = 8192 };

typedef enum bw_calc_type {
    BW_CALC_QUANTITY = 0, /* a number with a unit of `dimension`; BW_DIM_NUMBER: a bare number */
    BW_CALC_LIST,         /* a list of such */
    BW_CALC_TEXT,         /* a word: a thread, a class, a preset */
    BW_CALC_FLAG
} bw_calc_type;

typedef struct bw_calc_arg {
    const char *name;
    bw_calc_type type;
    bw_dimension dimension;
    bool optional;
    const char *says;
} bw_calc_arg;

/* A value on its way in or out; quantities in base units. */
typedef struct bw_calc_value {
    bool given;
    bw_calc_type type;
    bw_unit unit;       /* results: the unit to show in */
    double number;      /* QUANTITY */
    const double *list; /* LIST, borrowed */
    size_t list_n;
    const char *text; /* TEXT, borrowed */
    bool flag;
} bw_calc_value;

typedef struct bw_calc_result {
    const char *name; /* "value" where there is one result only */
    bw_calc_value value;
} bw_calc_result;

typedef struct bw_calc_function {
    const char *name;
    const char *says;
    const char *source;
    const char *example;    /* a whole expression that a test runs */
    const bw_calc_arg *arg; /* name NULL behind the last */
    bw_status (*eval)(const bw_calc_value *arg, bw_calc_result *result, size_t *result_n,
                      bw_err *err);
} bw_calc_function;

/* Static rows; NULL behind the last. */
const bw_calc_function *bw_calc_at(size_t index);
const bw_calc_function *bw_calc_find(const char *name);

/* Checks the arguments against the row (missing, not finite), then evaluates.  arg is in the
 * row's order; result has BW_CALC_RESULTS_MAX places.  BW_E_DATA with one line that names the
 * argument and its range. */
BW_MUST_USE bw_status bw_calc_eval(const bw_calc_function *function, const bw_calc_value *arg,
                                   bw_calc_result *result, size_t *result_n, bw_err *err);

#endif
