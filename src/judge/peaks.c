/* peaks.c - see peaks.h. */
#include "judge/peaks.h"

#include <math.h>

static const double over_share = 0.5;

void bw_peaks_begin(bw_peaks *peaks, double least_Nm) {
    *peaks = (bw_peaks){.least_Nm = least_Nm};
}

/* The newest peak stands with its first sample at the least torque, and moves on with it. */
static void reach(bw_peaks *peaks) {
    if (!peaks->reached) {
        peaks->reached = true;
        peaks->n++;
        peaks->before_s = peaks->newest_s;
    }
    peaks->newest_s = peaks->highest_s;
}

void bw_peaks_take(bw_peaks *peaks, const bw_sample *sample) {
    if (!isfinite(peaks->least_Nm) || peaks->least_Nm <= 0) {
        return;
    }
    if (sample->torque_Nm <= over_share * peaks->least_Nm) {
        peaks->on = false;
        peaks->reached = false;
        return;
    }
    if (!peaks->on || sample->torque_Nm > peaks->highest_Nm) {
        peaks->on = true;
        peaks->highest_Nm = sample->torque_Nm;
        peaks->highest_s = sample->time_s;
    }
    if (peaks->highest_Nm >= peaks->least_Nm) {
        reach(peaks);
    }
}

double bw_peaks_apart_s(const bw_peaks *peaks) {
    return peaks->n >= 2 ? peaks->newest_s - peaks->before_s : INFINITY;
}
