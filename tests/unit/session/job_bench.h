/* job_bench.h - a bench (bench.h) on the plan of a sequence's text. */
#ifndef BW_TESTS_SESSION_JOB_BENCH_H
#define BW_TESTS_SESSION_JOB_BENCH_H

#include "bench.h"
#include "../sequence/kit.h"

#define HEAD "sequence{title = 'T', engine = 'E', document = 'D'}\n"
/* A group of two that may be tightened three times. */
#define MAIN                                                                                       \
    "group{name = 'main', say = 'main bolts', lubricant = 'oil', cycles = 3, places = "            \
    "labels{'a', 'b'}}\n"

typedef struct job {
    kit_run run;
    bench b;
} job;

/* A session on the plan of a text, opened by A. Lund, with a wrench. */
void open_job(job *j, const char *text);

/* What all that was recorded folds to is what stands; fails the test where it is not. */
void close_job(job *j);

/* So many pulls, each a good one. */
void pull_all(job *j, size_t n);

#endif
