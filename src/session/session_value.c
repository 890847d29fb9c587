/* session_value.c - derived values from the readings of a step, and how they are judged. */
#include "session/session_int.h"

#include "base/decimal.h"

#include <math.h>

enum { OPERANDS_MAX = 4 };

/* All readings of a set as they will be once this one is recorded; of a point that is read more
 * than once, their mean. */
static bw_series series_with(const bw_session *s, size_t step, size_t set, size_t changed,
                             double value, double *store) {
    const bw_step_state *state = &s->step[step];
    size_t first = state->set_first[set];
    size_t n = s->plan->step[step].set[set].at_n;
    size_t repeats = bw_set_repeats(&s->plan->step[step].set[set]);
    for (size_t k = 0; k < n; k++) {
        double sum = 0;
        for (size_t r = first + k * repeats; r < first + (k + 1) * repeats; r++) {
            sum += r == changed ? value : state->reading[r].value;
        }
        store[k] = sum / (double)repeats;
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

bool bw_session_too_spread(const bw_session *s, size_t step, size_t set, size_t index, double value,
                           double *spread) {
    const bw_reading_set *rs = &s->plan->step[step].set[set];
    size_t repeats = bw_set_repeats(rs);
    size_t at = (index - s->step[step].set_first[set]) / repeats;
    const bw_reading_state *reading =
        &s->step[step].reading[s->step[step].set_first[set] + at * repeats];
    double least = value;
    double most = value;
    for (size_t i = 0; i < repeats; i++) {
        bool other = &reading[i] != &s->step[step].reading[index];
        if (other && !reading[i].given) {
            return false;
        }
        least = other ? fmin(least, reading[i].value) : least;
        most = other ? fmax(most, reading[i].value) : most;
    }
    *spread = bw_round_decimals(most - least, 7);
    return rs->has_spread && *spread > limit_of(rs->spread);
}

const char *bw_session_value_verdict(const bw_derived *derived, double value) {
    if (value < limit_of(derived->low)) {
        return "low";
    }
    return value > limit_of(derived->high) ? "high" : "pass";
}
