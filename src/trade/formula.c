/* formula.c - see formula.h.
 *
 * Lengths are rounded to 1e-7 mm, a thousandth of what any gauge on a bench resolves, so that
 * 55.012 - 54.967 is 0.045 and a value on the limit is on the limit. */
#include "trade/formula.h"

#include "base/decimal.h"

#include <math.h>
#include <string.h>

enum { RESULT_DECIMALS = 7 };

static double largest_of(bw_series s) {
    double most = s.value[0];
    for (size_t i = 1; i < s.n; i++) {
        most = s.value[i] > most ? s.value[i] : most;
    }
    return most;
}

static double smallest_of(bw_series s) {
    double least = s.value[0];
    for (size_t i = 1; i < s.n; i++) {
        least = s.value[i] < least ? s.value[i] : least;
    }
    return least;
}

static bw_status eval_mean(const bw_series *in, double *out, bw_err *err) {
    (void)err;
    double mean = 0;
    for (size_t i = 0; i < in->n; i++) {
        mean += (in->value[i] - mean) / (double)(i + 1);
    }
    *out = mean;
    return BW_OK;
}

static bw_status eval_largest(const bw_series *in, double *out, bw_err *err) {
    (void)err;
    *out = largest_of(in[0]);
    return BW_OK;
}

static bw_status eval_smallest(const bw_series *in, double *out, bw_err *err) {
    (void)err;
    *out = smallest_of(in[0]);
    return BW_OK;
}

static bw_status eval_range(const bw_series *in, double *out, bw_err *err) {
    (void)err;
    *out = largest_of(in[0]) - smallest_of(in[0]);
    return BW_OK;
}

/* A spread says nothing where there is one reading only. */
static bw_status eval_spread_of_two(const bw_series *in, double *out, bw_err *err) {
    if (in->n < 2) {
        return bw_fail(err, BW_E_DATA, "at least two diameters are needed, not %zu", in->n);
    }
    if (smallest_of(in[0]) <= 0) {
        return bw_fail(err, BW_E_DATA, "a diameter must be above 0 mm");
    }
    return eval_range(in, out, err);
}

static bw_status eval_clearance_least(const bw_series *in, double *out, bw_err *err) {
    (void)err;
    *out = smallest_of(in[0]) - largest_of(in[1]);
    return BW_OK;
}

static bw_status eval_clearance_most(const bw_series *in, double *out, bw_err *err) {
    (void)err;
    *out = largest_of(in[0]) - smallest_of(in[1]);
    return BW_OK;
}

#define SPREAD "largest minus smallest; service manuals, standards for form use the same"

static const bw_formula formulas[] = {
    {"mean", 1, "readings", "arithmetic", eval_mean},
    {"largest", 1, "readings", "arithmetic", eval_largest},
    {"smallest", 1, "readings", "arithmetic", eval_smallest},
    {"range", 1, "readings", "arithmetic", eval_range},
    {"taper", 1, "diameters along the axis, all in one direction", SPREAD, eval_spread_of_two},
    {"out_of_round", 1, "diameters in one plane, in two directions or more", SPREAD,
     eval_spread_of_two},
    {"clearance_least", 2, "bore diameters, then shaft diameters",
     "smallest bore minus largest shaft; common practice", eval_clearance_least},
    {"clearance_most", 2, "bore diameters, then shaft diameters",
     "largest bore minus smallest shaft; common practice", eval_clearance_most},
    {"end_float", 1, "dial readings with the shaft pushed home, dial zeroed on the other side",
     "the largest reading counts; service manuals", eval_largest},
};

const bw_formula *bw_formula_at(size_t index) {
    return index < sizeof formulas / sizeof formulas[0] ? &formulas[index] : NULL;
}

const bw_formula *bw_formula_find(const char *name) {
    for (size_t i = 0; i < sizeof formulas / sizeof formulas[0]; i++) {
        if (strcmp(formulas[i].name, name) == 0) {
            return &formulas[i];
        }
    }
    return NULL;
}

static bw_status check_series(bw_series s, size_t index, bw_err *err) {
    if (s.n == 0) {
        return bw_fail(err, BW_E_DATA, "set %zu has no readings: one at least is needed",
                       index + 1);
    }
    for (size_t i = 0; i < s.n; i++) {
        if (!isfinite(s.value[i])) {
            return bw_fail(err, BW_E_DATA, "reading %zu of set %zu is not a finite number", i + 1,
                           index + 1);
        }
    }
    return BW_OK;
}

bw_status bw_formula_eval(const bw_formula *formula, const bw_series *in, size_t n, double *out,
                          bw_err *err) {
    if (n != formula->operands) {
        return bw_fail(err, BW_E_ARG, "%s takes %zu sets of readings (%s), not %zu", formula->name,
                       formula->operands, formula->takes, n);
    }
    for (size_t i = 0; i < n; i++) {
        bw_status s = check_series(in[i], i, err);
        if (s != BW_OK) {
            return s;
        }
    }
    double value = 0;
    bw_status s = formula->eval(in, &value, err);
    if (s != BW_OK) {
        return bw_fail_in(err, s, formula->name);
    }
    *out = bw_round_decimals(value, RESULT_DECIMALS);
    return BW_OK;
}
