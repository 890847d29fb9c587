/* pull.h - where a pull begins and ends in a stream of samples.
 *
 * Room: judge (pure).  A pull goes from rest to rest: it begins with the first sample at or above
 * the threshold and ends when the torque has stayed below it for a while. */
#ifndef BW_JUDGE_PULL_H
#define BW_JUDGE_PULL_H

#include "trade/trace.h"

typedef enum bw_pull_event {
    BW_PULL_REST = 0, /* nothing going on */
    BW_PULL_BEGAN,    /* this sample is the first of a pull */
    BW_PULL_ON,       /* this sample belongs to it */
    BW_PULL_ENDED     /* this sample is the last of it */
} bw_pull_event;

typedef struct bw_pull_watch {
    double threshold_Nm;
    double rest_s; /* how long the torque must stay below the threshold */
    bool on;
    double below_since_s;
    bool below;
} bw_pull_watch;

/* Sets the threshold anew; a pull that is on stays on. */
void bw_pull_arm(bw_pull_watch *watch, double threshold_Nm);

/* A sample that is not finite neither begins nor ends a pull. */
bw_pull_event bw_pull_sample(bw_pull_watch *watch, const bw_sample *sample);

#endif
