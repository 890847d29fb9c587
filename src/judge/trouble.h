/* trouble.h - what a trace shows while it runs that no good fastener shows: torque that falls while
 * it is turned on, and turning the wrong way.
 *
 * Room: judge (pure).  Needs an angle; a sample without one is left out. */
#ifndef BW_JUDGE_TROUBLE_H
#define BW_JUDGE_TROUBLE_H

#include "trade/trace.h"

#include <stdbool.h>

typedef struct bw_trouble {
    double threshold_Nm;
    double reference_Nm; /* the torque that the stage is about */
    bool begun;
    bw_sample last;
    /* Falling. */
    double peak_Nm;           /* of this stroke: the highest that two samples in a row had */
    double held_s, held_deg;  /* the last sample that was near it */
    double fastest_deg_per_s; /* of the handle until then */
    bool fallen;              /* the torque is far below the peak, the stroke not over */
    double hand_deg;          /* how far a hand may have gone on while it let go */
    bool dropped;
    double dropped_s;
    /* Backward. */
    bool backward; /* loaded the wrong way */
    double back_from_deg, back_to_deg;
    bool loosened;
    double loosened_s;
} bw_trouble;

void bw_trouble_begin(bw_trouble *trouble, double threshold_Nm, double reference_Nm);

void bw_trouble_take(bw_trouble *trouble, const bw_sample *sample);

#endif
