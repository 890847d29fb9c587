/* uncertainty.h - how well a value is known, and what may be said of it beside a limit.
 *
 * Room: trade (pure).  Any unit; results in the same one.  A standard uncertainty is u, an expanded
 * one U and never without its coverage factor.
 *
 * Every function returns BW_OK, or BW_E_DATA with one line that names the argument and its range;
 * out-parameters are untouched then. */
#ifndef BW_TRADE_UNCERTAINTY_H
#define BW_TRADE_UNCERTAINTY_H

#include "base/status.h"

#include <stddef.h>

/* From repeated readings: mean, u = s/sqrt(n), freedom n - 1.  n >= 2.  Source: JCGM 100, 4.2. */
typedef struct bw_type_a {
    double mean, s, u, freedom;
} bw_type_a;

BW_MUST_USE bw_status bw_type_a_of(const double *value, size_t n, bw_type_a *out, bw_err *err);

/* What else is known of a quantity.  Source: JCGM 100, 4.3. */
typedef enum bw_shape {
    BW_SHAPE_RECTANGULAR = 0, /* half-width a: a/sqrt 3 */
    BW_SHAPE_TRIANGULAR,      /* half-width a: a/sqrt 6 */
    BW_SHAPE_U,               /* half-width a of a swing: a/sqrt 2 */
    BW_SHAPE_RESOLUTION,      /* smallest step r: r/sqrt 12 */
    BW_SHAPE_COUNT
} bw_shape;

/* "rectangular", "triangular", "u", "resolution".  Static; NULL outside of the enum. */
const char *bw_shape_word(bw_shape shape);

BW_MUST_USE bw_status bw_type_b_of(double width, bw_shape shape, double *u, bw_err *err);

typedef struct bw_component {
    double u;
    double sensitivity;
    double freedom; /* 0: known exactly */
} bw_component;

typedef struct bw_combined {
    double u;
    double freedom; /* Welch and Satterthwaite; 0: known exactly */
} bw_combined;

/* Root sum of squares of sensitivity * u of n >= 1 components that do not depend on each other.
 * Source: JCGM 100, 5.1.2 and G.4. */
BW_MUST_USE bw_status bw_combine(const bw_component *component, size_t n, bw_combined *out,
                                 bw_err *err);

/* k so that +- k u covers with `probability` (0.5 to 0.9999): Student's t for the freedom cut down
 * to a whole number; freedom 0 or above 1000000: the normal distribution. */
BW_MUST_USE bw_status bw_coverage_factor(double freedom, double probability, double *k,
                                         bw_err *err);

/* Probability that a value measured as y with u > 0 lies in [low, high]; -INFINITY and INFINITY
 * leave a side open.  Normal.  Source: JCGM 106. */
BW_MUST_USE bw_status bw_conformance(double y, double u, double low, double high, double *p,
                                     bw_err *err);

typedef enum bw_rule {
    BW_RULE_SIMPLE = 0, /* accepted where inside: half are wrong on the limit */
    BW_RULE_GUARDED, /* limits drawn in by U = 2 u (JCGM 106, ISO 14253-1 in its strict reading) */
    BW_RULE_GUARDED_95, /* by 1.645 u: 95 % on one side */
    BW_RULE_COUNT
} bw_rule;

/* "simple", "guarded", "guarded_95".  Static; NULL outside of the enum. */
const char *bw_rule_word(bw_rule rule);

/* By how much the limits are drawn in, in standard uncertainties.  INFINITY outside of the enum: a
 * rule that nobody knows accepts nothing. */
double bw_rule_guard(bw_rule rule);

typedef enum bw_decision {
    BW_DECIDED_PASS = 0,
    BW_DECIDED_PASS_WITHIN, /* inside the limits, by less than the guard */
    BW_DECIDED_FAIL_WITHIN, /* outside, by no more than the guard */
    BW_DECIDED_FAIL,
    BW_DECIDED_COUNT
} bw_decision;

/* "pass", "pass_within", "fail_within", "fail".  Static; NULL outside of the enum. */
const char *bw_decision_word(bw_decision decision);

typedef struct bw_decided {
    bw_decision decision;
    double accept_low, accept_high; /* limits drawn in by the guard */
} bw_decided;

/* Where y stands: both limits are inclusive; u >= 0.  Refused where the guards leave nothing. */
BW_MUST_USE bw_status bw_decide(bw_rule rule, double y, double u, double low, double high,
                                bw_decided *out, bw_err *err);

#endif
