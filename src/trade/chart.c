/* chart.c - see chart.h. */
#include "trade/chart.h"

#include "trade/check.h"
#include "trade/distribution.h"

#include <math.h>

enum { N_LEAST = 2, N_MOST = 25 };

/* d2 and d3 for n = 2 to 25. */
static const struct {
    double d2, d3;
} ranges[] = {
    {1.128379167095513, 0.8525024664274217}, {1.692568750643269, 0.8883680040452043},
    {2.058750746007928, 0.8798082028249833}, {2.325928947281039, 0.8640819410995041},
    {2.534412721222943, 0.8480396861174953}, {2.704356751213809, 0.8332053356222937},
    {2.847200612090556, 0.819831489791944},  {2.970026324418474, 0.8078342745533225},
    {3.077505461670346, 0.7970506735194112}, {3.172872703816, 0.7873146205503282},
    {3.258455279743826, 0.7784783412033844}, {3.335980354098255, 0.7704162020637548},
    {3.406763108199953, 0.7630230956247903}, {3.471826889882075, 0.7562114297279439},
    {3.531982786109576, 0.7499080894099159}, {3.587883961765382, 0.7440517839607314},
    {3.640063757937444, 0.7385908533781778}, {3.688963023207649, 0.7334814955188684},
    {3.734950119596641, 0.7286863457073052}, {3.778335829842621, 0.724173340717499},
    {3.819384643362833, 0.7199148084342234}, {3.858323423285007, 0.7158867354918144},
    {3.895348148451356, 0.7120681751479372}, {3.930629219507113, 0.708440765888655},
};

static double not_below_0(double value) {
    return value > 0 ? value : 0;
}

bw_status bw_chart_constants_of(double n, bw_chart_constants *out, bw_err *err) {
    bw_status s = BW_CHECK(err, {"n", n, N_LEAST, N_MOST, ""});
    if (s == BW_OK && n != floor(n)) {
        s = bw_fail(err, BW_E_DATA, "n is %.9g: a whole number from 2 to 25 is needed", n);
    }
    if (s != BW_OK) {
        return s;
    }
    double d2 = ranges[(size_t)n - N_LEAST].d2;
    double d3 = ranges[(size_t)n - N_LEAST].d3;
    double c4 = sqrt(2 / (n - 1)) * tgamma(n / 2) / tgamma((n - 1) / 2);
    double s_spread = 3 * sqrt(1 - c4 * c4) / c4;
    *out = (bw_chart_constants){
        .d2 = d2,
        .d3 = d3,
        .c4 = c4,
        .A2 = 3 / (d2 * sqrt(n)),
        .A3 = 3 / (c4 * sqrt(n)),
        .D3 = not_below_0(1 - 3 * d3 / d2),
        .D4 = 1 + 3 * d3 / d2,
        .B3 = not_below_0(1 - s_spread),
        .B4 = 1 + s_spread,
    };
    return BW_OK;
}

static double mean_of(const double *value, size_t n) {
    double mean = 0;
    for (size_t i = 0; i < n; i++) {
        mean += (value[i] - mean) / (double)(i + 1);
    }
    return mean;
}

static const double largest = 1e12;

bw_status bw_chart_of_ranges(const double *mean, const double *range, size_t k, double n,
                             bw_chart *out, bw_err *err) {
    bw_chart_constants c = {0};
    bw_status s = bw_chart_constants_of(n, &c, err);
    if (s == BW_OK) {
        s = bw_check_list("means", mean, k, 2, -largest, largest, "", err);
    }
    if (s == BW_OK) {
        s = bw_check_list("ranges", range, k, 2, 0, largest, "", err);
    }
    if (s == BW_OK) {
        double m = mean_of(mean, k);
        double r = mean_of(range, k);
        *out = (bw_chart){m, m - c.A2 * r, m + c.A2 * r, r, c.D3 * r, c.D4 * r, r / c.d2};
    }
    return s;
}

bw_status bw_chart_of_values(const double *value, size_t n, bw_chart *out, bw_err *err) {
    bw_chart_constants c = {0};
    bw_status s = bw_check_list("values", value, n, 2, -largest, largest, "", err);
    if (s == BW_OK) {
        s = bw_chart_constants_of(2, &c, err);
    }
    if (s != BW_OK) {
        return s;
    }
    double moving = 0;
    for (size_t i = 1; i < n; i++) {
        moving += fabs(value[i] - value[i - 1]) / (double)(n - 1);
    }
    double m = mean_of(value, n);
    double sigma = moving / c.d2;
    *out = (bw_chart){m, m - 3 * sigma, m + 3 * sigma, moving, c.D3 * moving, c.D4 * moving, sigma};
    return BW_OK;
}

bw_status bw_capability_of(double mean, double s, double n, double low, double high,
                           double confidence, bw_capability *out, bw_err *err) {
    bw_status status = BW_CHECK(
        err, {"mean", mean, -largest, largest, ""}, {"s", s, 1e-12, largest, ""},
        {"n", n, 2, 1000000, ""}, {"low", low, -largest, largest, ""},
        {"high", high, low + 1e-12, largest, ""}, {"confidence", confidence, 0.5, 0.9999, ""});
    double tail = (1 - confidence) / 2;
    double chi_low = 0;
    double chi_high = 0;
    double z = 0;
    if (status == BW_OK) {
        status = bw_chi_square_quantile(tail, n - 1, &chi_low, err);
    }
    if (status == BW_OK) {
        status = bw_chi_square_quantile(1 - tail, n - 1, &chi_high, err);
    }
    if (status == BW_OK) {
        status = bw_normal_quantile(1 - tail, &z, err);
    }
    if (status != BW_OK) {
        return status;
    }
    double cp = (high - low) / (6 * s);
    double cpk = fmin(high - mean, mean - low) / (3 * s);
    double stray = z * sqrt(1 / (9 * n) + cpk * cpk / (2 * (n - 1)));
    *out = (bw_capability){
        .cp = cp,
        .cpk = cpk,
        .k = fabs((high + low) / 2 - mean) / ((high - low) / 2),
        .cp_low = cp * sqrt(chi_low / (n - 1)),
        .cp_high = cp * sqrt(chi_high / (n - 1)),
        .cpk_low = cpk - stray,
        .cpk_high = cpk + stray,
    };
    return BW_OK;
}
