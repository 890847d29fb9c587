/* gsl.c - distributions and statistics beside those of the GNU Scientific Library. */
#include "trade/chart.h"
#include "trade/distribution.h"
#include "trade/statistics.h"
#include "trade/uncertainty.h"

#include "cmocka_all.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>

#include <math.h>
#include <stdbool.h>

static void near_to(const char *what, double ours, double theirs, double relative, double a,
                    double b) {
    if (!(fabs(ours - theirs) <= relative * fabs(theirs) + 1e-300)) {
        fail_msg("%s(%.6g, %.6g): %.17g, not %.17g", what, a, b, ours, theirs);
    }
}

static const double freedoms[] = {1, 1.5, 2, 3, 4.7, 5, 10, 16, 29.3, 100, 1000, 1e5, 1e6};
static const double probabilities[] = {1e-12, 1e-9,  1e-4, 0.005, 0.01,   0.025,
                                       0.05,  0.2,   0.4,  0.5,   0.6,    0.8,
                                       0.95,  0.975, 0.99, 0.995, 0.9999, 0.999999};

static bool ordinary(double p) {
    return p >= 1e-4 && p <= 0.9999;
}

#define EACH(i, list) for (size_t i = 0; i < sizeof(list) / sizeof(list)[0]; i++)

static void test_normal(void **state) {
    (void)state;
    for (double z = -37; z <= 8; z += 0.37) {
        near_to("normal", bw_normal_cdf(z), gsl_cdf_ugaussian_P(z), 1e-12, z, 0);
    }
    EACH(i, probabilities) {
        double p = probabilities[i];
        double z = 0;
        assert_int_equal(bw_normal_quantile(p, &z, NULL), BW_OK);
        if (p == 0.5) {
            assert_true(fabs(z) < 1e-15);
        } else {
            near_to("normal quantile", z, gsl_cdf_ugaussian_Pinv(p), 1e-10, p, 0);
            near_to("back", bw_normal_cdf(z), p, 1e-12, p, 0);
        }
    }
    double z = 0;
    assert_int_equal(bw_normal_quantile(1e-300, &z, NULL), BW_OK);
    near_to("far tail", bw_normal_cdf(z), 1e-300, 1e-11, 1e-300, 0);
}

static void test_student(void **state) {
    (void)state;
    EACH(f, freedoms) {
        double nu = freedoms[f];
        for (double t = -30; t <= 30; t += 0.73) {
            double p = 0;
            assert_int_equal(bw_student_cdf(t, nu, &p, NULL), BW_OK);
            double theirs = gsl_cdf_tdist_P(t, nu);
            /* Farther out the reference loses digits: P(T < -30) at nu = 100 has seven. */
            if (theirs > 1e-15) {
                near_to("student", p, theirs, nu > 1000 ? 1e-7 : 1e-10, t, nu);
            }
        }
        EACH(i, probabilities) {
            double p = probabilities[i];
            double t = 0;
            double back = 0;
            assert_int_equal(bw_student_quantile(p, nu, &t, NULL), BW_OK);
            assert_int_equal(bw_student_cdf(t, nu, &back, NULL), BW_OK);
            near_to("student back", back, p, 1e-11, p, nu);
            /* Outside of this the reference itself is off: it misses 1/(pi p) at nu = 1. */
            if (p != 0.5 && nu <= 1000 && ordinary(p)) {
                near_to("student quantile", t, gsl_cdf_tdist_Pinv(p, nu), 1e-8, p, nu);
            }
        }
    }
}

static void test_chi_square(void **state) {
    (void)state;
    EACH(f, freedoms) {
        double nu = freedoms[f];
        for (double share = 0.01; share < 3; share += 0.07) {
            double p = 0;
            assert_int_equal(bw_chi_square_cdf(share * nu, nu, &p, NULL), BW_OK);
            double theirs = gsl_cdf_chisq_P(share * nu, nu);
            if (theirs > 1e-200) {
                near_to("chi squared", p, theirs, nu > 1000 ? 1e-7 : 1e-10, share * nu, nu);
            }
        }
        EACH(i, probabilities) {
            double p = probabilities[i];
            double x = 0;
            assert_int_equal(bw_chi_square_quantile(p, nu, &x, NULL), BW_OK);
            double back = 0;
            assert_int_equal(bw_chi_square_cdf(x, nu, &back, NULL), BW_OK);
            near_to("chi squared back", back, p, nu > 1000 ? 1e-8 : 1e-11, p, nu);
            if (nu <= 1000 && ordinary(p)) {
                near_to("chi squared quantile", x, gsl_cdf_chisq_Pinv(p, nu), 1e-8, p, nu);
            }
        }
    }
}

static uint32_t next_random(uint32_t *x) {
    *x ^= *x << 13;
    *x ^= *x >> 17;
    *x ^= *x << 5;
    return *x;
}

static void test_statistics(void **state) {
    (void)state;
    enum { N = 777 };
    static double value[N];
    static double scratch[N];
    static double sorted[N];
    uint32_t x = 99991u;
    for (size_t n = 1; n <= N; n += 1 + n / 9) {
        for (size_t i = 0; i < n; i++) {
            value[i] = 86 + (double)(next_random(&x) % 100000) / 1e6;
        }
        bw_summary summary = {0};
        assert_int_equal(bw_summary_of(value, n, &summary, NULL), BW_OK);
        near_to("mean", summary.mean, gsl_stats_mean(value, 1, n), 1e-14, (double)n, 0);
        assert_true(summary.least == gsl_stats_min(value, 1, n));
        assert_true(summary.most == gsl_stats_max(value, 1, n));
        if (n > 1) {
            near_to("s", summary.s, gsl_stats_sd(value, 1, n), 1e-9, (double)n, 0);
        }
        double median = 0;
        double mad = 0;
        assert_int_equal(bw_median_of(value, n, scratch, &median, &mad, NULL), BW_OK);
        for (size_t i = 0; i < n; i++) {
            sorted[i] = value[i];
        }
        near_to("mad", mad, gsl_stats_mad0(value, 1, n, scratch), 1e-9, (double)n, 0);
        gsl_sort(sorted, 1, n);
        near_to("median", median, gsl_stats_median_from_sorted_data(sorted, 1, n), 1e-15, (double)n,
                0);
    }
}

/* d2 and d3 by their definitions: the mean of the range is the integral of 1 - F^n - (1 - F)^n, the
 * mean of its square that of 2 (1 - F(y)^n - (1 - F(x))^n + (F(y) - F(x))^n) over y > x. */
typedef struct range_of {
    double n;
    double x;
    gsl_integration_glfixed_table *table;
} range_of;

static double missing(double x, void *param) {
    const range_of *r = param;
    double f = gsl_cdf_ugaussian_P(x);
    return 1 - pow(f, r->n) - pow(1 - f, r->n);
}

static double inner(double y, void *param) {
    const range_of *r = param;
    double fx = gsl_cdf_ugaussian_P(r->x);
    double fy = gsl_cdf_ugaussian_P(y);
    return 2 * (1 - pow(fy, r->n) - pow(1 - fx, r->n) + pow(fy - fx, r->n));
}

static double outer(double x, void *param) {
    range_of *r = param;
    r->x = x;
    gsl_function f = {inner, r};
    return gsl_integration_glfixed(&f, x, 9, r->table);
}

static void test_chart_constants(void **state) {
    (void)state;
    gsl_integration_glfixed_table *table = gsl_integration_glfixed_table_alloc(128);
    for (int n = 2; n <= 25; n++) {
        range_of r = {n, 0, table};
        gsl_function mean = {missing, &r};
        gsl_function square = {outer, &r};
        double d2 = gsl_integration_glfixed(&mean, -9, 9, table);
        double d3 = sqrt(gsl_integration_glfixed(&square, -9, 9, table) - d2 * d2);
        bw_chart_constants c = {0};
        assert_int_equal(bw_chart_constants_of(n, &c, NULL), BW_OK);
        near_to("d2", c.d2, d2, 1e-12, n, 0);
        near_to("d3", c.d3, d3, 1e-9, n, 0);
    }
    gsl_integration_glfixed_table_free(table);
}

static void test_conformance(void **state) {
    (void)state;
    for (double y = -3; y < 3; y += 0.1) {
        double p = 0;
        assert_int_equal(bw_conformance(y, 0.7, -1, 1.5, &p, NULL), BW_OK);
        double theirs = gsl_cdf_gaussian_P(1.5 - y, 0.7) - gsl_cdf_gaussian_P(-1 - y, 0.7);
        assert_true(fabs(p - theirs) <= 1e-14);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_normal),          cmocka_unit_test(test_student),
        cmocka_unit_test(test_chi_square),      cmocka_unit_test(test_statistics),
        cmocka_unit_test(test_chart_constants), cmocka_unit_test(test_conformance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
