/* statistics.h - a sample in a few figures, by formulas that keep their digits.
 *
 * Room: trade (pure).  Any unit; results in the same one.
 * Gate: the NIST StRD univariate sets, nine digits on the ill-conditioned one. */
#ifndef BW_TRADE_STATISTICS_H
#define BW_TRADE_STATISTICS_H

#include "base/status.h"

#include <stddef.h>

typedef struct bw_summary {
    double mean;
    double s;    /* standard deviation, n - 1; 0 where n is 1 */
    double lag1; /* autocorrelation of neighbours; 0 where all values are equal */
    double least, most;
} bw_summary;

/* n >= 1 finite values.  BW_E_DATA otherwise.  Source: the mean of differences from the first
 * value, then a second pass about it with the rest of the first taken out. */
BW_MUST_USE bw_status bw_summary_of(const double *value, size_t n, bw_summary *out, bw_err *err);

/* Median, and the median of distances from it (MAD, not scaled: times 1.4826 it estimates s where
 * values are normal).  scratch: caller's storage [n], overwritten. */
BW_MUST_USE bw_status bw_median_of(const double *value, size_t n, double *scratch, double *median,
                                   double *mad, bw_err *err);

#endif
