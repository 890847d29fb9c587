/* session_value.c - derived values from the readings of a step, and how they are judged. */
#include "session/session_int.h"

#include "base/decimal.h"

#include <math.h>

enum { OPERANDS_MAX = 4 };

/* All readings of a set as they will be once this one is recorded. */
static bw_series series_with(const bw_session *s, size_t step, size_t set, size_t changed,
                             double value, double *store) {
    const bw_step_state *state = &s->step[step];
    size_t first = state->set_first[set];
    size_t n = s->plan->step[step].set[set].at_n;
    for (size_t k = 0; k < n; k++) {
        store[k] = first + k == changed ? value : state->reading[first + k].value;
    }
    return (bw_series){.value = store, .n = n};
}

bw_status bw_session_value(const bw_session *s, size_t step, size_t derived, size_t changed,
                           double value, double *result, bw_err *err) {
    double store[OPERANDS_MAX][BW_PLAN_READINGS_MAX];
    bw_series in[OPERANDS_MAX];
    const bw_derived *d = &s->plan->step[step].derived[derived];
    if (d->of_n > OPERANDS_MAX) {
        return bw_fail(err, BW_E_LIMIT, "a formula over more than %d sets", OPERANDS_MAX);
    }
    for (size_t i = 0; i < d->of_n; i++) {
        in[i] = series_with(s, step, d->of[i], changed, value, store[i]);
    }
    return bw_formula_eval(d->formula, in, d->of_n, result, err);
}

/* To a tenth of a nanometre, as formula results are: a limit written in inches is no hair off. */
static double limit_of(double base_value) {
    return isfinite(base_value) ? bw_round_decimals(base_value, 7) : base_value;
}

const char *bw_session_value_verdict(const bw_derived *derived, double value) {
    if (value < limit_of(derived->low)) {
        return "low";
    }
    return value > limit_of(derived->high) ? "high" : "pass";
}
