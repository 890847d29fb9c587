/* formula.h - values derived from readings, by the names that sequences and records use.
 *
 * Room: trade (pure).  One table in formula.c; each row says what goes in, what comes out, and
 * where the formula is from.  Readings and results are in base units (mm, degC ...). */
#ifndef BW_TRADE_FORMULA_H
#define BW_TRADE_FORMULA_H

#include "base/status.h"
#include "trade/units.h"

#include <stddef.h>

/* The readings of one set: n >= 1 finite values in the base unit. */
typedef struct bw_series {
    const double *value;
    size_t n;
} bw_series;

typedef struct bw_formula {
    const char *name;   /* "taper", "out_of_round", "oil_clearance_least" ... */
    size_t operands;    /* how many series it takes, in the order of `takes` */
    const char *takes;  /* "journal diameters along the axis": for check and docs */
    const char *source; /* where it is from */
    bw_status (*eval)(const bw_series *in, double *out, bw_err *err);
} bw_formula;

/* Static rows; NULL behind the last. */
const bw_formula *bw_formula_at(size_t index);

/* By name; NULL where there is none. */
const bw_formula *bw_formula_find(const char *name);

/* Checks n against the row, then evaluates.  BW_E_ARG for a wrong number of series; BW_E_DATA for
 * readings that have no meaning, with one line that says which. */
BW_MUST_USE bw_status bw_formula_eval(const bw_formula *formula, const bw_series *in, size_t n,
                                      double *out, bw_err *err);

#endif
