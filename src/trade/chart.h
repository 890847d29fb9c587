/* chart.h - control charts and capability.
 *
 * Room: trade (pure).  Any unit; results in the same one.
 *
 * Every function returns BW_OK, or BW_E_DATA with one line that names the argument and its range;
 * out-parameters are untouched then. */
#ifndef BW_TRADE_CHART_H
#define BW_TRADE_CHART_H

#include "base/status.h"

#include <stddef.h>

typedef struct bw_chart_constants {
    double d2, d3; /* mean and standard deviation of the range of n normal values, in sigma */
    double c4;     /* mean of s, in sigma */
    double A2, A3; /* limits of means from ranges, from s */
    double D3, D4; /* limits of ranges */
    double B3, B4; /* limits of s */
} bw_chart_constants;

/* n 2 to 25.  Source: A2 = 3/(d2 sqrt n), D3, D4 = 1 -+ 3 d3/d2 (not below 0), c4 = sqrt(2/(n - 1))
 * Gamma(n/2)/Gamma((n - 1)/2); d2 and d3 were integrated to 15 digits, and a test integrates them
 * again. */
BW_MUST_USE bw_status bw_chart_constants_of(double n, bw_chart_constants *out, bw_err *err);

typedef struct bw_chart {
    double centre, low, high;                      /* of the means, or of the values */
    double spread_centre, spread_low, spread_high; /* of the ranges */
    double sigma;                                  /* what one value strays by */
} bw_chart;

/* Means and ranges of k subgroups of n values each. */
BW_MUST_USE bw_status bw_chart_of_ranges(const double *mean, const double *range, size_t k,
                                         double n, bw_chart *out, bw_err *err);

/* Single values in the order of time, by their moving range of two. */
BW_MUST_USE bw_status bw_chart_of_values(const double *value, size_t n, bw_chart *out, bw_err *err);

typedef struct bw_capability {
    double cp, cpk;
    double k;               /* how far the mean is off the middle: 2 |middle - mean|/(high - low) */
    double cp_low, cp_high; /* two-sided confidence limits: chi squared, exact */
    double cpk_low, cpk_high; /* the same, normal approximation */
} bw_capability;

/* Source: NIST/SEMATECH e-Handbook 6.1.6 and statistics software manuals.  s above 0, n 2 to
 * 1000000 values, confidence 0.5 to 0.9999. */
BW_MUST_USE bw_status bw_capability_of(double mean, double s, double n, double low, double high,
                                       double confidence, bw_capability *out, bw_err *err);

#endif
