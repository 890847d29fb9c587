/* distribution.h - the distributions that uncertainty and capability need.
 *
 * Room: trade (pure).  Probabilities 0 to 1.  Quantiles agree with a reference library to 1e-10.
 * Source: definitions; incomplete beta and gamma functions by series and continued fraction. */
#ifndef BW_TRADE_DISTRIBUTION_H
#define BW_TRADE_DISTRIBUTION_H

#include "base/status.h"

/* The standard normal distribution.  z finite or infinite. */
double bw_normal_cdf(double z);

/* p 1e-300 to 1 - 1e-15.  BW_E_DATA otherwise, as for all below. */
BW_MUST_USE bw_status bw_normal_quantile(double p, double *z, bw_err *err);

/* Student's t; freedom 1 to 1e6. */
BW_MUST_USE bw_status bw_student_cdf(double t, double freedom, double *p, bw_err *err);
BW_MUST_USE bw_status bw_student_quantile(double p, double freedom, double *t, bw_err *err);

/* Chi squared; freedom 1 to 1e6, x >= 0. */
BW_MUST_USE bw_status bw_chi_square_cdf(double x, double freedom, double *p, bw_err *err);
BW_MUST_USE bw_status bw_chi_square_quantile(double p, double freedom, double *x, bw_err *err);

#endif
