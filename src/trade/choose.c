/* choose.c - see choose.h. */
#include "trade/choose.h"

#include "base/decimal.h"
#include "trade/check.h"

#include <math.h>

static const char *const standings[BW_STANDS_COUNT] = {
    [BW_STANDS_NEW] = "new",
    [BW_STANDS_WORN] = "worn",
    [BW_STANDS_OVER_WORN] = "over_worn",
    [BW_STANDS_REJECT] = "reject",
    [BW_STANDS_OUTSIDE] = "outside",
};

const char *bw_standing_word(bw_standing_kind kind) {
    return (unsigned)kind < BW_STANDS_COUNT ? standings[kind] : NULL;
}

/* Turned round so that wear goes up: one set of comparisons serves both sides. */
typedef struct upward {
    double new_low, new_high, worn, reject;
    double sign;
} upward;

/* A limit typed in inches becomes a number that misses its own decimals by a hair: 0.0215 in is
 * 0.5461 mm and nothing else. */
static double rounded(double value) {
    return isfinite(value) ? bw_round_decimals(value, 7) : value;
}

/* False where worn or reject lie on neither side of the new limits, or against each other. */
static bool turn_up(const bw_limits *l, upward *out) {
    double new_low = rounded(l->new_low);
    double new_high = rounded(l->new_high);
    double first = rounded(l->has_worn ? l->worn : l->reject);
    bool any = l->has_worn || l->has_reject;
    bool down = any && first <= new_low && first < new_high;
    double sign = down ? -1 : 1;
    *out = (upward){
        .new_low = down ? -new_high : new_low,
        .new_high = down ? -new_low : new_high,
        .sign = sign,
    };
    out->worn = l->has_worn ? sign * rounded(l->worn) : out->new_high;
    out->reject = l->has_reject ? sign * rounded(l->reject) : (double)INFINITY;
    return out->new_low <= out->new_high && out->worn >= out->new_high && out->reject >= out->worn;
}

bw_status bw_standing_of(double value, const bw_limits *limits, bw_standing_kind *out,
                         bw_err *err) {
    upward up = {0};
    if (!turn_up(limits, &up)) {
        return bw_fail(err, BW_E_DATA,
                       "the limits must go one way: new_low, new_high, worn, reject rising, or "
                       "new_high, new_low, worn, reject falling");
    }
    if (!isfinite(value)) {
        return bw_fail(err, BW_E_DATA, "value is not a finite number");
    }
    double v = up.sign * rounded(value);
    if (v < up.new_low) {
        *out = BW_STANDS_OUTSIDE;
    } else if (v <= up.new_high) {
        *out = BW_STANDS_NEW;
    } else if (v <= up.worn) {
        *out = BW_STANDS_WORN;
    } else if (v > up.reject) {
        *out = BW_STANDS_REJECT;
    } else {
        *out = limits->has_worn || limits->has_reject ? BW_STANDS_OVER_WORN : BW_STANDS_OUTSIDE;
    }
    return BW_OK;
}

bw_status bw_shim_needed(double fitted_mm, double measured_mm, double target_mm, double *needed_mm,
                         bw_err *err) {
    bw_status s = BW_CHECK(err, {"fitted", fitted_mm, 0, 100, " mm"},
                           {"measured", measured_mm, -100, 1000, " mm"},
                           {"target", target_mm, -100, 1000, " mm"});
    double needed = bw_round_decimals(fitted_mm + measured_mm - target_mm, 7);
    if (s == BW_OK && needed < 0) {
        return bw_fail(err, BW_E_DATA,
                       "the gap is %.9g mm too small even without a shim: look for another cause",
                       -needed);
    }
    if (s == BW_OK) {
        *needed_mm = needed;
    }
    return s;
}

bw_status bw_choose_stock(double needed_mm, const double *stock_mm, size_t n, double *chosen_mm,
                          bw_err *err) {
    bw_status s = BW_CHECK(err, {"needed", needed_mm, 0, 1000, " mm"});
    if (s == BW_OK) {
        s = bw_check_list("stock", stock_mm, n, 1, 0.001, 1000, " mm", err);
    }
    if (s != BW_OK) {
        return s;
    }
    double chosen = stock_mm[0];
    for (size_t i = 1; i < n; i++) {
        double off = bw_round_decimals(fabs(stock_mm[i] - needed_mm), 7);
        double best = bw_round_decimals(fabs(chosen - needed_mm), 7);
        if (off < best || (off == best && stock_mm[i] < chosen)) {
            chosen = stock_mm[i];
        }
    }
    *chosen_mm = chosen;
    return BW_OK;
}

enum { CODE_MOST = 9999, ROW_LENGTH = 4 };

static bool whole(double value, double most) {
    return value >= 1 && value <= most && value == floor(value);
}

static bw_status check_codes(const char *name, const double *code, size_t n, bw_err *err) {
    for (size_t i = 0; i < n; i++) {
        if (!whole(code[i], CODE_MOST)) {
            return bw_fail(err, BW_E_DATA,
                           "%s number %zu is %.9g: a whole number from 1 to %d is "
                           "needed",
                           name, i + 1, code[i], CODE_MOST);
        }
    }
    return BW_OK;
}

static bw_status check_table(const bw_shell_table *t, double row, double column, bw_err *err) {
    bw_status s = BW_CHECK(err, {"rows", (double)t->rows, 1, 100, ""},
                           {"columns", (double)t->columns, 1, 100, ""});
    size_t n = t->rows * t->columns;
    if (s == BW_OK && !(whole(row, (double)t->rows) && whole(column, (double)t->columns))) {
        s = bw_fail(err, BW_E_DATA,
                    "row %.9g, column %.9g is not in the table of %zu rows and %zu columns", row,
                    column, t->rows, t->columns);
    }
    if (s == BW_OK) {
        s = check_codes("upper", t->upper, n, err);
    }
    if (s == BW_OK && t->lower != NULL) {
        s = check_codes("lower", t->lower, n, err);
    }
    if (s == BW_OK) {
        s = check_codes("exceptions", t->exception, t->exception_n * ROW_LENGTH, err);
    }
    if (s == BW_OK) {
        s = check_codes("forbidden", t->forbidden, t->forbidden_n * ROW_LENGTH, err);
    }
    return s;
}

/* The line of four that begins with a and b; NULL where there is none. */
static const double *line_of(const double *lines, size_t n, double a, double b) {
    for (size_t i = 0; i < n; i++) {
        const double *line = lines + i * ROW_LENGTH;
        if (line[0] == a && line[1] == b) {
            return line;
        }
    }
    return NULL;
}

bw_status bw_choose_shells(const bw_shell_table *t, double row, double column, bw_shells *out,
                           bw_err *err) {
    bw_status s = check_table(t, row, column, err);
    if (s != BW_OK) {
        return s;
    }
    size_t at = ((size_t)row - 1) * t->columns + (size_t)column - 1;
    const double *lower = t->lower != NULL ? t->lower : t->upper;
    bw_shells shells = {t->upper[at], lower[at], false, false};
    const double *exception = line_of(t->exception, t->exception_n, row, column);
    if (exception != NULL) {
        shells = (bw_shells){exception[2], exception[3], true, false};
    }
    const double *forbidden = line_of(t->forbidden, t->forbidden_n, shells.upper, shells.lower);
    if (forbidden != NULL) {
        shells.upper = forbidden[2];
        shells.lower = forbidden[3];
        shells.replaced = true;
        if (line_of(t->forbidden, t->forbidden_n, shells.upper, shells.lower) != NULL) {
            return bw_fail(err, BW_E_DATA,
                           "the pair %.9g, %.9g that replaces a forbidden one is forbidden itself",
                           shells.upper, shells.lower);
        }
    }
    *out = shells;
    return BW_OK;
}
