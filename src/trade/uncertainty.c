/* uncertainty.c - see uncertainty.h. */
#include "trade/uncertainty.h"

#include "trade/check.h"
#include "trade/distribution.h"
#include "trade/statistics.h"

#include <math.h>

static const double largest = 1e100;
static const double freedom_most = 1e6;

bw_status bw_type_a_of(const double *value, size_t n, bw_type_a *out, bw_err *err) {
    bw_summary summary = {0};
    bw_status s = bw_check_list("values", value, n, 2, -largest, largest, "", err);
    if (s == BW_OK) {
        s = bw_summary_of(value, n, &summary, err);
    }
    if (s == BW_OK) {
        double count = (double)n;
        *out = (bw_type_a){summary.mean, summary.s, summary.s / sqrt(count), count - 1};
    }
    return s;
}

static const struct {
    const char *word;
    double divisor_squared;
} shapes[BW_SHAPE_COUNT] = {
    [BW_SHAPE_RECTANGULAR] = {"rectangular", 3},
    [BW_SHAPE_TRIANGULAR] = {"triangular", 6},
    [BW_SHAPE_U] = {"u", 2},
    [BW_SHAPE_RESOLUTION] = {"resolution", 12},
};

const char *bw_shape_word(bw_shape shape) {
    return (unsigned)shape < BW_SHAPE_COUNT ? shapes[shape].word : NULL;
}

bw_status bw_type_b_of(double width, bw_shape shape, double *u, bw_err *err) {
    bw_status s = BW_CHECK(err, {"width", width, 0, largest, ""},
                           {"shape", (double)shape, 0, BW_SHAPE_COUNT - 1, ""});
    if (s == BW_OK) {
        *u = width / sqrt(shapes[shape].divisor_squared);
    }
    return s;
}

bw_status bw_combine(const bw_component *component, size_t n, bw_combined *out, bw_err *err) {
    bw_status s = BW_CHECK(err, {"components", (double)n, 1, 1000, ""});
    double variance = 0;
    for (size_t i = 0; s == BW_OK && i < n; i++) {
        const bw_component *c = &component[i];
        s = BW_CHECK(err, {"u", c->u, 0, largest, ""},
                     {"sensitivity", c->sensitivity, -largest, largest, ""},
                     {"freedom", c->freedom, 0, 1e9, " (0: known exactly)"});
        variance += c->sensitivity * c->u * c->sensitivity * c->u;
    }
    if (s != BW_OK) {
        return s;
    }
    double doubt = 0; /* sum of (share of the variance)^2/freedom */
    for (size_t i = 0; i < n && variance > 0; i++) {
        const bw_component *c = &component[i];
        double share = c->sensitivity * c->u * c->sensitivity * c->u / variance;
        doubt += c->freedom > 0 ? share * share / c->freedom : 0;
    }
    *out = (bw_combined){sqrt(variance), doubt > 0 ? 1 / doubt : 0};
    return BW_OK;
}

bw_status bw_coverage_factor(double freedom, double probability, double *k, bw_err *err) {
    bw_status s = BW_CHECK(err, {"probability", probability, 0.5, 0.9999, ""},
                           {"freedom", freedom, freedom == 0 ? 0 : 1, largest, ""});
    double both = 1 - (1 - probability) / 2;
    if (s == BW_OK && (freedom == 0 || freedom > freedom_most)) {
        return bw_normal_quantile(both, k, err);
    }
    return s == BW_OK ? bw_student_quantile(both, floor(freedom), k, err) : s;
}

static bw_status check_limits(double y, double low, double high, bw_err *err) {
    bw_status s = BW_CHECK(err, {"value", y, -largest, largest, ""});
    if (s == BW_OK && !(low <= high)) {
        s = bw_fail(err, BW_E_DATA, "low is %.9g and high %.9g: low must not be above high", low,
                    high);
    }
    return s;
}

bw_status bw_conformance(double y, double u, double low, double high, double *p, bw_err *err) {
    bw_status s = check_limits(y, low, high, err);
    if (s == BW_OK) {
        s = BW_CHECK(err, {"u", u, 1e-100, largest, ""});
    }
    if (s == BW_OK) {
        *p = bw_normal_cdf((high - y) / u) - bw_normal_cdf((low - y) / u);
    }
    return s;
}

static const struct {
    const char *word;
    double guard; /* in u */
} rules[BW_RULE_COUNT] = {
    [BW_RULE_SIMPLE] = {"simple", 0},
    [BW_RULE_GUARDED] = {"guarded", 2},
    [BW_RULE_GUARDED_95] = {"guarded_95", 1.6448536269514722}, /* normal quantile of 0.95 */
};

const char *bw_rule_word(bw_rule rule) {
    return (unsigned)rule < BW_RULE_COUNT ? rules[rule].word : NULL;
}

double bw_rule_guard(bw_rule rule) {
    return (unsigned)rule < BW_RULE_COUNT ? rules[rule].guard : INFINITY;
}

static const char *const decisions[BW_DECIDED_COUNT] = {
    [BW_DECIDED_PASS] = "pass",
    [BW_DECIDED_PASS_WITHIN] = "pass_within",
    [BW_DECIDED_FAIL_WITHIN] = "fail_within",
    [BW_DECIDED_FAIL] = "fail",
};

const char *bw_decision_word(bw_decision decision) {
    return (unsigned)decision < BW_DECIDED_COUNT ? decisions[decision] : NULL;
}

bw_status bw_decide(bw_rule rule, double y, double u, double low, double high, bw_decided *out,
                    bw_err *err) {
    bw_status s = check_limits(y, low, high, err);
    if (s == BW_OK) {
        s = BW_CHECK(err, {"rule", (double)rule, 0, BW_RULE_COUNT - 1, ""},
                     {"u", u, 0, largest, ""});
    }
    if (s != BW_OK) {
        return s;
    }
    double guard = rules[rule].guard * u;
    bw_decided d = {BW_DECIDED_PASS, low + guard, high - guard};
    if (d.accept_low > d.accept_high) {
        return bw_fail(err, BW_E_DATA,
                       "u is %.9g: guards of %.9g leave nothing between %.9g and %.9g", u, guard,
                       low, high);
    }
    if (y < low - guard || y > high + guard) {
        d.decision = BW_DECIDED_FAIL;
    } else if (y < low || y > high) {
        d.decision = BW_DECIDED_FAIL_WITHIN;
    } else if (y < d.accept_low || y > d.accept_high) {
        d.decision = BW_DECIDED_PASS_WITHIN;
    }
    *out = d;
    return BW_OK;
}
