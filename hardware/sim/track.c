/* track.c - the world of adapter-sim. */
#include "track.h"

#include <math.h>
#include <string.h>

/* Nobody looks back for longer. */
static const double past_s = 0.1;

double ad_track_end_s(const ad_track *track) {
    return track->n == 0 ? 0 : track->point[track->n - 1].time_s;
}

static void forget(ad_track *track, double now_s) {
    size_t passed = 0;
    while (passed + 2 < track->n && track->point[passed + 1].time_s < now_s - past_s) {
        passed++;
    }
    track->n -= passed;
    track->near = track->near > passed ? track->near - passed : 0;
    memmove(track->point, track->point + passed, track->n * sizeof track->point[0]);
}

static void add(ad_track *track, double time_s, double torque_Nm, double angle_deg) {
    track->point[track->n++] = (ad_track_point){time_s, torque_Nm, angle_deg};
}

bool ad_track_go(ad_track *track, double now_s, double for_s, double torque_Nm, double turn_deg) {
    if (track->n + 3 > AD_TRACK_POINTS) {
        forget(track, now_s);
    }
    if (track->n + 3 > AD_TRACK_POINTS) {
        return false;
    }
    if (track->n == 0) {
        add(track, 0, 0, 0);
    }
    ad_track_point last = track->point[track->n - 1];
    if (last.time_s < now_s) {
        last.time_s = now_s;
        add(track, now_s, last.torque_Nm, last.angle_deg);
    }
    add(track, last.time_s + for_s, torque_Nm, last.angle_deg + turn_deg);
    return true;
}

void ad_track_at(void *ctx, double time_s, double *torque_Nm, double *angle_deg) {
    ad_track *track = ctx;
    if (track->n == 0) {
        *torque_Nm = 0;
        *angle_deg = 0;
        return;
    }
    while (track->near > 0 && track->point[track->near].time_s > time_s) {
        track->near--;
    }
    while (track->near + 1 < track->n && track->point[track->near + 1].time_s <= time_s) {
        track->near++;
    }
    const ad_track_point *from = &track->point[track->near];
    const ad_track_point *to = track->near + 1 < track->n ? from + 1 : from;
    double length_s = to->time_s - from->time_s;
    double share = length_s > 0 ? fmax(0, (time_s - from->time_s) / length_s) : 0;
    *torque_Nm = from->torque_Nm + share * (to->torque_Nm - from->torque_Nm);
    *angle_deg = from->angle_deg + share * (to->angle_deg - from->angle_deg);
}
