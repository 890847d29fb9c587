/* track.h - the world of adapter-sim: straight lines of torque and angle, one after the other. */
#ifndef ADAPTER_SIM_TRACK_H
#define ADAPTER_SIM_TRACK_H

#include "world.h"

#include <stdbool.h>
#include <stddef.h>

/* The points that are kept: some that have passed, since the parts look back a little. */
enum { AD_TRACK_POINTS = 1 << 16 };

typedef struct ad_track_point {
    double time_s, torque_Nm, angle_deg;
} ad_track_point;

/* All zero: at rest, no torque, since time 0. */
typedef struct ad_track {
    ad_track_point point[AD_TRACK_POINTS];
    size_t n;
    size_t near; /* where the last question was */
} ad_track;

/* On from the last point, or from now_s where that has passed.  False where there is no room until
 * more has passed. */
bool ad_track_go(ad_track *track, double now_s, double for_s, double torque_Nm, double turn_deg);

/* When the last point comes; not before 0. */
double ad_track_end_s(const ad_track *track);

/* The world: ctx is the track. */
void ad_track_at(void *ctx, double time_s, double *torque_Nm, double *angle_deg);

#endif
