/* running.h - the mean torque that keeps a thread or a shaft turning.
 *
 * Room: judge (pure).  The mean is over forward turn, not over time: a hand that stands still,
 * eases off or swings back adds nothing to it. */
#ifndef BW_JUDGE_RUNNING_H
#define BW_JUDGE_RUNNING_H

#include <stdbool.h>

/* All zero: nothing turned yet. */
typedef struct bw_running {
    bool seats; /* at the end it may meet its seat: a short rise that does not end is left out */
    bool loaded;
    double furthest_deg; /* of this stroke's travel */
    double last_Nm;
    double work;                /* N.m times degrees */
    double over_deg;            /* the turn that it was summed over */
    double kept_work, kept_deg; /* the same without such a rise */
} bw_running;

/* A sample: whether the stroke is under load, and how far the handle went since it came under it.
 */
void bw_running_take(bw_running *running, bool loaded, double travel_deg, double torque_Nm);

/* The mean, with before_Nm over before_deg >= 0 ahead of it.  False where nothing turned. */
bool bw_running_mean(const bw_running *running, double before_Nm, double before_deg,
                     double *mean_Nm);

#endif
