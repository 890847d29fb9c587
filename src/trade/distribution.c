/* distribution.c - see distribution.h.
 *
 * Quantiles are found by Halley's method on the distribution function, kept inside a bracket: a
 * step that leaves it becomes a bisection.  Every loop ends where its last step is below a
 * tolerance that grows a little each time, so that none goes on for ever however rounding plays. */
#include "trade/distribution.h"

#include "trade/check.h"

#include <math.h>
#include <stdbool.h>

static const double pi = 3.14159265358979323846;
static const double tiny = 1e-300;
static const double close_enough = 1e-15;
static const double halley_close = 1e-6; /* the error after such a step is its cube */
static const double growth = 1.001;      /* of a tolerance: ten thousand steps at most */

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
    /* From the lower half, where erfc keeps its digits.  The guess is right to 5e-4 (Abramowitz and
     * Stegun 26.2.23); Halley's step on log p does the rest. */
    bool upper = p > 0.5;
    double q = upper ? 1 - p : p;
    double r = sqrt(-2 * log(q));
    double x = (2.515517 + r * (0.802853 + r * 0.010328)) /
                   (1 + r * (1.432788 + r * (0.189269 + r * 0.001308))) -
               r;
    double step = 0;
    double tolerance = halley_close;
    do {
        double ratio = normal_density(x) / bw_normal_cdf(x);
        double newton = log(bw_normal_cdf(x) / q) / ratio;
        double curvature = -(x + ratio) / 2; /* of log cdf */
        step = newton / (1 - newton * curvature);
        x -= step;
        tolerance *= growth;
    } while (fabs(step) > tolerance * (1 + fabs(x)));
    *z = upper ? -x : x;
    return BW_OK;
}

/* The continued fraction of the incomplete beta function, by Lentz's method. */
static double beta_fraction(double a, double b, double x) {
    double c = 1;
    double d = 1 / (1 - (a + b) * x / (a + 1));
    double f = d;
    double change = 0;
    double tolerance = close_enough;
    for (double m = 1; fabs(change - 1) > tolerance; m++) {
        double even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
        d = 1 / (1 + even * d);
        c = 1 + even / c;
        f *= c * d;
        double odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
        d = 1 / (1 + odd * d);
        c = 1 + odd / c;
        change = c * d;
        f *= change;
        tolerance *= growth;
    }
    return f;
}

/* One distribution of a family, with the logarithm of its constant, worked out once. */
typedef struct member {
    double freedom;
    double log_constant;
} member;

/* Above this the fraction is slow and noisy, and the normal distribution at Hill's transformed
 * point (1970) is exact to the last digits. */
static const double nearly_normal = 1000;

static member student_of(double freedom) {
    double a = freedom / 2;
    return (member){freedom, lgamma(a + 0.5) - lgamma(a) - 0.5 * log(pi)};
}

static double student_upper_normal(double t, double freedom) {
    double a = freedom - 0.5;
    double b = 48 * a * a;
    double y = a * log1p(t * t / freedom);
    double second = (((-0.4 * y - 3.3) * y - 24) * y - 85.5) / (0.8 * y * y + 100 + b);
    return bw_normal_cdf(-sqrt(y) * (1 + (second + y + 3) / b));
}

/* P(T > t) for t >= 0, half of I_x(nu/2, 1/2) with x = nu/(nu + t2), y = 1 - x; and the density. */
static double student_upper(double t, const member *of, double *density) {
    double freedom = of->freedom;
    double a = freedom / 2;
    double square = t * t;
    double x = freedom / (freedom + square);
    double y = square / (freedom + square);
    double kernel = exp(of->log_constant - a * log1p(square / freedom));
    *density = kernel / sqrt(freedom + square);
    if (freedom > nearly_normal) {
        return student_upper_normal(t, freedom);
    }
    if (x < (a + 1) / (a + 2.5)) {
        return 0.5 * kernel * sqrt(y) * beta_fraction(a, 0.5, x) / a;
    }
    return 0.5 - kernel * sqrt(y) * beta_fraction(0.5, a, y);
}

bw_status bw_student_cdf(double t, double freedom, double *p, bw_err *err) {
    bw_status s = BW_CHECK(err, RANGE_FREEDOM(freedom), {"t", t, -1e12, 1e12, ""});
    if (s == BW_OK) {
        const member of = student_of(freedom);
        double density = 0;
        double upper = student_upper(fabs(t), &of, &density);
        *p = t > 0 ? 1 - upper : upper;
    }
    return s;
}

static member chi_square_of(double freedom) {
    return (member){freedom, lgamma(freedom / 2)};
}

/* P(a, x) x^-a e^x Gamma(a) for x < a + 1. */
static double gamma_series(double a, double x) {
    double term = 1 / a;
    double sum = term;
    for (double i = 1; term > close_enough * sum; i++) {
        term *= x / (a + i);
        sum += term;
    }
    return sum;
}

/* The same of 1 - P(a, x) for x >= a + 1. */
static double gamma_fraction(double a, double x) {
    double b = x + 1 - a;
    double c = 1 / tiny;
    double d = 1 / b;
    double f = d;
    double change = 0;
    double tolerance = close_enough;
    for (double i = 1; fabs(change - 1) > tolerance; i++) {
        double n = -i * (i - a);
        b += 2;
        d = 1 / (n * d + b);
        c = b + n / c;
        change = c * d;
        f *= change;
        tolerance *= growth;
    }
    return f;
}

/* The distribution function, and the density. */
static double chi_square(double x, const member *of, double *density) {
    double a = of->freedom / 2;
    double half = x / 2;
    *density = 0;
    if (half <= 0) {
        return 0;
    }
    double kernel = exp(a * log(half) - half - of->log_constant);
    *density = kernel / x;
    return half < a + 1 ? kernel * gamma_series(a, half) : 1 - kernel * gamma_fraction(a, half);
}

bw_status bw_chi_square_cdf(double x, double freedom, double *p, bw_err *err) {
    bw_status s = BW_CHECK(err, RANGE_FREEDOM(freedom), {"x", x, 0, 1e12, ""});
    if (s == BW_OK) {
        const member of = chi_square_of(freedom);
        double density = 0;
        *p = chi_square(x, &of, &density);
    }
    return s;
}

/* A rising function of x with its slope, and how the slope changes by its own size. */
typedef struct rising {
    double (*value)(double x, const member *of, double *slope);
    double (*bend)(double x, const member *of);
    member of;
} rising;

/* x in [low, high] where value(x) is wanted, from a guess: Halley's steps. */
static double solve(const rising *f, double wanted, double low, double high, double guess) {
    double x = guess;
    double step = 0;
    double tolerance = halley_close;
    do {
        double slope = 0;
        double off = f->value(x, &f->of, &slope) - wanted;
        low = off < 0 ? x : low;
        high = off < 0 ? high : x;
        double newton = off / slope;
        double next = x - newton / (1 - newton * f->bend(x, &f->of) / 2);
        double middle = (low + high) / 2;
        if (!(fabs(next - middle) <= 0.5000001 * (high - low))) {
            next = middle;
        }
        step = next - x;
        x = next;
        tolerance *= growth;
    } while (fabs(step) > tolerance * fabs(x));
    return x;
}

static double student_bend(double t, const member *of) {
    return -(of->freedom + 1) * t / (of->freedom + t * t);
}

static double chi_square_bend(double x, const member *of) {
    return (of->freedom / 2 - 1) / x - 0.5;
}

/* Rises with t, as solve wants it. */
static double minus_student_upper(double t, const member *of, double *slope) {
    return -student_upper(t, of, slope);
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
    /* Fisher's expansion in 1/freedom as the guess. */
    double w = z * z;
    double n = freedom;
    double guess = -z * (1 + (w + 1) / (4 * n) + ((5 * w + 16) * w + 3) / (96 * n * n) +
                         (((3 * w + 19) * w + 17) * w - 15) / (384 * n * n * n));
    const rising upper = {minus_student_upper, student_bend, student_of(freedom)};
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
    const rising f = {chi_square, chi_square_bend, chi_square_of(freedom)};
    *x = solve(&f, p, 0, 20 * freedom + 1000, guess);
    return BW_OK;
}
