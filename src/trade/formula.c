/* formula.c - see formula.h.
 *
 * Lengths are rounded to 1e-7 mm, a thousandth of what any gauge on a bench resolves, so that
 * 55.012 - 54.967 is 0.045 and a value on the limit is on the limit. */
#include "trade/formula.h"

#include "base/decimal.h"
#include "trade/measure.h"

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

/* Two sets that belong together reading by reading. */
static bw_status check_pairs(const bw_series *in, bw_err *err) {
    if (in[0].n != in[1].n) {
        return bw_fail(err, BW_E_DATA,
                       "the two sets must have a reading for each other's: they have %zu and %zu",
                       in[0].n, in[1].n);
    }
    return BW_OK;
}

static bw_status eval_worst_out_of_round(const bw_series *in, double *out, bw_err *err) {
    bw_status s = check_pairs(in, err);
    double worst = 0;
    for (size_t i = 0; s == BW_OK && i < in[0].n; i++) {
        worst = fmax(worst, fabs(in[0].value[i] - in[1].value[i]));
    }
    *out = worst;
    return s;
}

static bw_status eval_worst_taper(const bw_series *in, double *out, bw_err *err) {
    double one = 0;
    double other = 0;
    bw_status s = eval_spread_of_two(&in[0], &one, err);
    if (s == BW_OK) {
        s = eval_spread_of_two(&in[1], &other, err);
    }
    *out = fmax(one, other);
    return s;
}

/* Least and largest of second minus first, pair by pair. */
static bw_status gains(const bw_series *in, double *least, double *most, bw_err *err) {
    bw_status s = check_pairs(in, err);
    *least = in[1].value[0] - in[0].value[0];
    *most = *least;
    for (size_t i = 1; s == BW_OK && i < in[0].n; i++) {
        double gain = in[1].value[i] - in[0].value[i];
        *least = fmin(*least, gain);
        *most = fmax(*most, gain);
    }
    return s;
}

static bw_status eval_gain_least(const bw_series *in, double *out, bw_err *err) {
    double most = 0;
    return gains(in, out, &most, err);
}

static bw_status eval_gain_most(const bw_series *in, double *out, bw_err *err) {
    double least = 0;
    return gains(in, &least, out, err);
}

static bw_status eval_running_torque(const bw_series *in, double *out, bw_err *err) {
    bw_running_torque running = {0};
    bw_status s = bw_running_torque_of(in->value, in->n, &running, err);
    *out = running.mean_Nm;
    return s;
}

#define SPREAD  "largest minus smallest; service manuals, standards for form use the same"
#define BORES   "bore diameters, then shaft diameters"
#define LENGTHS "lengths before, then lengths after, fastener by fastener"

static const bw_formula formulas[] = {
    {"mean", 1, "readings", "arithmetic", eval_mean},
    {"largest", 1, "readings", "arithmetic", eval_largest},
    {"smallest", 1, "readings", "arithmetic", eval_smallest},
    {"range", 1, "readings", "arithmetic", eval_range},
    {"taper", 1, "diameters along the axis, all in one direction", SPREAD, eval_spread_of_two},
    {"out_of_round", 1, "diameters in one plane, in two directions or more", SPREAD,
     eval_spread_of_two},
    {"worst_taper", 2, "diameters along the axis in one direction, then in the other",
     "the worse direction counts; service manuals", eval_worst_taper},
    {"worst_out_of_round", 2, "diameters along the axis in one direction, then in the other",
     "the worst plane counts; service manuals", eval_worst_out_of_round},
    {"clearance_least", 2, BORES, "smallest bore minus largest shaft; common practice",
     eval_clearance_least},
    {"clearance_most", 2, BORES, "largest bore minus smallest shaft; common practice",
     eval_clearance_most},
    {"oil_clearance_least", 2, "bores with the shells tightened in, then journals",
     "smallest bore minus largest journal; bearing makers' guides", eval_clearance_least},
    {"oil_clearance_most", 2, "bores with the shells tightened in, then journals",
     "largest bore minus smallest journal; bearing makers' guides", eval_clearance_most},
    {"piston_clearance", 2, "bore diameters, then piston diameters at the maker's gauge point",
     "smallest bore minus largest piston; piston makers' sheets", eval_clearance_least},
    {"end_float", 1, "dial readings with the shaft pushed home, dial zeroed on the other side",
     "the largest reading counts; service manuals", eval_largest},
    {"pump_clearance", 1, "feeler readings round the pump: tip, body or side",
     "the largest reading counts; service manuals", eval_largest},
    {"deck_height", 1, "depth of the piston on both sides of the pin",
     "the mean takes the rocking out; common practice, no source", eval_mean},
    {"stretch_least", 2, LENGTHS, "after minus before; fastener makers' instructions",
     eval_gain_least},
    {"stretch_most", 2, LENGTHS, "after minus before; fastener makers' instructions",
     eval_gain_most},
    {"permanent_set", 2, LENGTHS, "the longest growth counts; fastener makers' instructions",
     eval_gain_most},
    {"valve_to_piston", 2, "lifts of the valve, then how far it can go, position by position",
     "the least difference counts; cam makers' instructions", eval_gain_least},
    {"weight_spread", 1, "weights of parts that should be alike",
     "heaviest minus lightest; common practice, no source", eval_range},
    {"running_torque", 1, "torques while it turns, eight or more, in the order of time",
     "mean without the peak at the start; common practice, no source", eval_running_torque},
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
