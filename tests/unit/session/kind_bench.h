/* kind_bench.h - what tests of the kinds of stage share. */
#ifndef BW_TESTS_SESSION_KIND_BENCH_H
#define BW_TESTS_SESSION_KIND_BENCH_H

#include "bench.h"

/* A number of the entry, NaN where it has none; whether it has no such member. */
double kind_number(const bw_entry *e, bw_member member);
bool kind_lacks(const bw_entry *e, bw_member member);

/* A whole pull that stays below the limit, or goes beyond one for this reason. */
void kind_low(bench *b, double judged_Nm, bool more);
void kind_high(bench *b, uint32_t reason, double judged_Nm);

#endif
