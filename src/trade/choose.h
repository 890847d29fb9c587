/* choose.h - a part out of what there is: shims, shells; and how a value stands to a manual's four
 * limits.
 *
 * Room: trade (pure).  mm.
 *
 * Every function returns BW_OK, or BW_E_DATA with one line that names the argument and its range;
 * out-parameters are untouched then. */
#ifndef BW_TRADE_CHOOSE_H
#define BW_TRADE_CHOOSE_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

/* What a manual gives for one value, all in one unit.  Limits are inclusive: a part exactly on one
 * is inside.  The side on which worn and reject lie is the side to which the part wears. */
typedef struct bw_limits {
    double new_low, new_high; /* -INFINITY, INFINITY: none on that side */
    bool has_worn, has_reject;
    double worn;   /* a used part may go back in up to here */
    double reject; /* past it the part is scrap */
} bw_limits;

typedef enum bw_standing_kind {
    BW_STANDS_NEW = 0,   /* inside the limits of a new part */
    BW_STANDS_WORN,      /* outside of them, inside the worn limit */
    BW_STANDS_OVER_WORN, /* past the worn limit, not past reject */
    BW_STANDS_REJECT,    /* past reject */
    BW_STANDS_OUTSIDE,   /* outside of the new limits where nothing else is given for that side */
    BW_STANDS_COUNT
} bw_standing_kind;

/* "new", "worn", "over_worn", "reject", "outside".  Static; NULL outside of the enum. */
const char *bw_standing_word(bw_standing_kind kind);

/* value and limits are rounded to 1e-7 first, as derived values are. */
BW_MUST_USE bw_status bw_standing_of(double value, const bw_limits *limits, bw_standing_kind *out,
                                     bw_err *err);

/* Thickness that brings the measured gap to its target: fitted + measured - target. */
BW_MUST_USE bw_status bw_shim_needed(double fitted_mm, double measured_mm, double target_mm,
                                     double *needed_mm, bw_err *err);

/* The size of the stock nearest to needed; of two as near the thinner one, which leaves the larger
 * gap.  stock_mm: n >= 1 sizes above 0 in any order. */
BW_MUST_USE bw_status bw_choose_stock(double needed_mm, const double *stock_mm, size_t n,
                                      double *chosen_mm, bw_err *err);

/* A maker's two-way table of shells: a row by the mark on one part, a column by the mark on the
 * other, a code (colour, grade; 1 to 9999) for each half. */
typedef struct bw_shell_table {
    size_t rows, columns;
    const double *upper;     /* [rows * columns], row after row */
    const double *lower;     /* the same; NULL: both halves alike */
    const double *exception; /* [4 * exception_n]: row, column, upper, lower; goes first */
    size_t exception_n;
    const double *forbidden; /* [4 * forbidden_n]: upper, lower, upper instead, lower instead */
    size_t forbidden_n;
} bw_shell_table;

typedef struct bw_shells {
    double upper, lower;
    bool by_exception;
    bool replaced; /* the table's pair was forbidden */
} bw_shells;

/* row and column from 1.  A table whose substitute is forbidden itself is refused.  A chart's
 * choice is not a clearance: measure afterwards. */
BW_MUST_USE bw_status bw_choose_shells(const bw_shell_table *table, double row, double column,
                                       bw_shells *out, bw_err *err);

#endif
