/* distribution.c - see distribution.h.
 *
 * Quantiles are found by Newton's method on the distribution function, kept inside a bracket: a
 * step that leaves it becomes a bisection, so the search always ends. */
#include "trade/distribution.h"

#include "trade/check.h"

#include <math.h>
#include <stdbool.h>

static const double pi = 3.14159265358979323846;
static const double tiny = 1e-300;
static const double close_enough = 1e-15;

enum { FRACTION_STEPS = 20000, NEWTON_STEPS = 200 };

#define RANGE_FREEDOM(v)                                                                           \
    { "freedom", v, 1, 1000000, "" }
#define RANGE_P(v)                                                                                 \
    { "probability", v, 1e-12, 1 - 1e-12, "" }

double bw_normal_cdf(double z) {
    return 0.5 * erfc(-z / sqrt(2));
}

static double normal_density(double z) {
    return exp(-0.5 * z * z) / sqrt(2 * pi);
}

bw_status bw_normal_quantile(double p, double *z, bw_err *err) {
    bw_status s = BW_CHECK(err, {"probability", p, tiny, 1 - close_enough, ""});
    if (s != BW_OK) {
        return s;
    }
    /* From the lower half; erfc is exact in its tail there.  Halley's step on log p converges from
     * the tail's asymptote. */
    bool upper = p > 0.5;
    double q = upper ? 1 - p : p;
    double x = -sqrt(-2 * log(2 * q) * 0.9);
    for (int i = 0; i < NEWTON_STEPS; i++) {
        double f = log(bw_normal_cdf(x) / q);
        double ratio = normal_density(x) / bw_normal_cdf(x);
        double step = f / ratio;
        double curvature = -(x + ratio) / 2; /* of log cdf, for Halley */
        step /= 1 - step * curvature;
        x -= step;
        if (fabs(step) <= 4 * close_enough * (1 + fabs(x))) {
            break;
        }
    }
    *z = upper ? -x : x;
    return BW_OK;
}

/* The continued fraction of the incomplete beta function, by Lentz's method. */
static double beta_fraction(double a, double b, double x) {
    double c = 1;
    double d = 1 / (1 - (a + b) * x / (a + 1));
    double f = d;
    for (int i = 1; i < FRACTION_STEPS; i++) {
        double m = i;
        double even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
        d = 1 / (1 + even * d);
        c = 1 + even / c;
        f *= c * d;
        double odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
        d = 1 / (1 + odd * d);
        c = 1 + odd / c;
        double change = c * d;
        f *= change;
        if (fabs(change - 1) < close_enough) {
            break;
        }
    }
    return f;
}

static double log_gamma_half_step(double a) {
    return lgamma(a + 0.5) - lgamma(a);
}

/* Above this the fraction is slow and noisy, and the normal distribution at Hill's transformed
 * point (1970) is exact to the last digits. */
static const double nearly_normal = 1000;

static double student_upper_normal(double t, double freedom) {
    double a = freedom - 0.5;
    double b = 48 * a * a;
    double y = a * log1p(t * t / freedom);
    double second = (((-0.4 * y - 3.3) * y - 24) * y - 85.5) / (0.8 * y * y + 100 + b);
    return bw_normal_cdf(-sqrt(y) * (1 + (second + y + 3) / b));
}

/* P(T > t) for t >= 0: half of I_x(nu/2, 1/2) with x = nu/(nu + t2), y = 1 - x. */
static double student_upper(double t, double freedom) {
    double a = freedom / 2;
    double square = t * t;
    double x = freedom / (freedom + square);
    double y = square / (freedom + square);
    if (freedom > nearly_normal) {
        return student_upper_normal(t, freedom);
    }
    double log_front = log_gamma_half_step(a) - 0.5 * log(pi) - a * log1p(square / freedom);
    double front = exp(log_front) * sqrt(y);
    if (x < (a + 1) / (a + 2.5)) {
        return 0.5 * front * beta_fraction(a, 0.5, x) / a;
    }
    return 0.5 - front * beta_fraction(0.5, a, y);
}

static double student_density(double t, double freedom) {
    double log_front = log_gamma_half_step(freedom / 2) - 0.5 * log(freedom * pi);
    return exp(log_front - (freedom + 1) / 2 * log1p(t * t / freedom));
}

bw_status bw_student_cdf(double t, double freedom, double *p, bw_err *err) {
    bw_status s = BW_CHECK(err, RANGE_FREEDOM(freedom), {"t", t, -1e12, 1e12, ""});
    if (s == BW_OK) {
        double upper = student_upper(fabs(t), freedom);
        *p = t > 0 ? 1 - upper : upper;
    }
    return s;
}

/* P(a, x) for x < a + 1. */
static double gamma_series(double a, double x) {
    double term = 1 / a;
    double sum = term;
    for (int i = 1; i < FRACTION_STEPS && term > close_enough * sum; i++) {
        term *= x / (a + i);
        sum += term;
    }
    return sum * exp(a * log(x) - x - lgamma(a));
}

/* 1 - P(a, x) for x >= a + 1. */
static double gamma_fraction(double a, double x) {
    double b = x + 1 - a;
    double c = 1 / tiny;
    double d = 1 / b;
    double f = d;
    for (int i = 1; i < FRACTION_STEPS; i++) {
        double n = -i * (i - a);
        b += 2;
        d = 1 / (n * d + b);
        c = b + n / c;
        double change = c * d;
        f *= change;
        if (fabs(change - 1) < close_enough) {
            break;
        }
    }
    return f * exp(a * log(x) - x - lgamma(a));
}

static double chi_square(double x, double freedom) {
    double a = freedom / 2;
    double half = x / 2;
    if (half <= 0) {
        return 0;
    }
    return half < a + 1 ? gamma_series(a, half) : 1 - gamma_fraction(a, half);
}

static double chi_square_density(double x, double freedom) {
    double a = freedom / 2;
    return 0.5 * exp((a - 1) * log(x / 2) - x / 2 - lgamma(a));
}

bw_status bw_chi_square_cdf(double x, double freedom, double *p, bw_err *err) {
    bw_status s = BW_CHECK(err, RANGE_FREEDOM(freedom), {"x", x, 0, 1e12, ""});
    if (s == BW_OK) {
        *p = chi_square(x, freedom);
    }
    return s;
}

/* A rising function of x with a parameter, and its slope. */
typedef struct rising {
    double (*value)(double x, double freedom);
    double (*slope)(double x, double freedom);
    double freedom;
} rising;

/* x in [low, high] where value(x) is wanted, from a guess. */
static double solve(const rising *f, double wanted, double low, double high, double guess) {
    double x = guess;
    for (int i = 0; i < NEWTON_STEPS; i++) {
        double off = f->value(x, f->freedom) - wanted;
        low = off < 0 ? x : low;
        high = off < 0 ? high : x;
        double next = x - off / f->slope(x, f->freedom);
        if (!(next > low && next < high)) {
            next = (low + high) / 2;
        }
        bool still = fabs(next - x) <= 2 * close_enough * fabs(x);
        x = next;
        if (still) {
            break;
        }
    }
    return x;
}

static double student_lower(double minus_t, double freedom) {
    return -student_upper(minus_t, freedom);
}

bw_status bw_student_quantile(double p, double freedom, double *t, bw_err *err) {
    bw_status s = BW_CHECK(err, RANGE_P(p), RANGE_FREEDOM(freedom));
    double z = 0;
    if (s == BW_OK) {
        s = bw_normal_quantile(p < 0.5 ? p : 1 - p, &z, err);
    }
    if (s != BW_OK) {
        return s;
    }
    /* First terms of Fisher's expansion in 1/freedom as the guess. */
    double guess = -z * (1 + (z * z + 1) / (4 * freedom));
    const rising upper = {student_lower, student_density, freedom};
    double q = p < 0.5 ? p : 1 - p;
    double x = q < 0.5 ? solve(&upper, -q, 0, 1e13, guess) : 0;
    *t = p < 0.5 ? -x : x;
    return BW_OK;
}

bw_status bw_chi_square_quantile(double p, double freedom, double *x, bw_err *err) {
    bw_status s = BW_CHECK(err, RANGE_P(p), RANGE_FREEDOM(freedom));
    double z = 0;
    if (s == BW_OK) {
        s = bw_normal_quantile(p, &z, err);
    }
    if (s != BW_OK) {
        return s;
    }
    /* Wilson and Hilferty's cube as the guess. */
    double ninth = 2 / (9 * freedom);
    double root = 1 - ninth + z * sqrt(ninth);
    double guess = root > 0.1 ? freedom * root * root * root : freedom * 1e-3;
    const rising f = {chi_square, chi_square_density, freedom};
    *x = solve(&f, p, 0, 20 * freedom + 1000, guess);
    return BW_OK;
}
