/* peaks.h - how often a pull reached what it had to reach, and when.
 *
 * Room: judge (pure).  A wrench that clicks is easily pulled twice.  A peak is over once the torque
 * has fallen to half of what it had to reach: friction at rest and a hand that trembles fall less.
 */
#ifndef BW_JUDGE_PEAKS_H
#define BW_JUDGE_PEAKS_H

#include "trade/trace.h"

#include <stdbool.h>
#include <stdint.h>

typedef struct bw_peaks {
    double least_Nm; /* what a peak must reach; infinite or not above 0: there are none */
    bool on;         /* one is going on */
    bool reached;    /* and has reached it */
    double highest_Nm, highest_s;
    uint32_t n;      /* peaks that reached it */
    double before_s; /* when the one before the newest was highest, where n >= 2 */
    double newest_s; /* likewise the newest, where n >= 1 */
} bw_peaks;

void bw_peaks_begin(bw_peaks *peaks, double least_Nm);

void bw_peaks_take(bw_peaks *peaks, const bw_sample *sample);

/* Seconds between the two newest; INFINITY where there are not two. */
double bw_peaks_apart_s(const bw_peaks *peaks);

#endif
