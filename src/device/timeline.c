/* timeline.c - see timeline.h. */
#include "device/timeline.h"

/* The slowest common stream sends ten lines a second (common practice, no source). */
static const double step_max_s = 0.1;
static const double jump_max_s = 3600;
static const double tick_s = 1e-6; /* the least by which time goes on */

void bw_timeline_read(bw_timeline *timeline, int64_t now_ns, size_t untimed) {
    double now_s = (double)(now_ns - timeline->opened_ns) / 1e9;
    double since_s = now_s - timeline->now_s;
    since_s = since_s > 0 ? since_s : 0;
    timeline->step_s = untimed > 0 ? since_s / (double)untimed : 0;
    if (timeline->step_s > step_max_s) {
        timeline->step_s = step_max_s;
    }
    timeline->now_s = now_s;
    timeline->next_s = untimed > 0 ? now_s - timeline->step_s * (double)(untimed - 1) : now_s;
}

/* By arrival.  Where the readings before had the device's times, the arrivals only say how much
 * later this one is. */
static double by_arrival(bw_timeline *timeline) {
    double arrival_s = timeline->next_s;
    timeline->next_s += timeline->step_s;
    double t = arrival_s;
    if (timeline->any_device) {
        t = timeline->last_s + (arrival_s - timeline->arrival_s);
    }
    timeline->arrival_s = arrival_s;
    return t;
}

/* Puts the device's clock on the line so that this reading follows the last one by as much as the
 * arrivals say. */
static void set_clock(bw_timeline *timeline, double device_s) {
    double gone_s = timeline->now_s - timeline->arrival_s;
    timeline->ahead_s = timeline->last_s + (gone_s > 0 ? gone_s : 0) - device_s;
}

static double by_device(bw_timeline *timeline, double device_s, bool *restarted) {
    double step_s = device_s - timeline->device_s;
    if (timeline->any_device && (step_s < 0 || step_s > jump_max_s)) {
        *restarted = true;
        set_clock(timeline, device_s);
    } else if (timeline->any && !timeline->any_device && device_s < timeline->last_s) {
        set_clock(timeline, device_s);
    }
    timeline->any_device = true;
    timeline->device_s = device_s;
    timeline->arrival_s = timeline->now_s;
    return device_s + timeline->ahead_s;
}

double bw_timeline_next(bw_timeline *timeline, const double *device_s, bool *restarted) {
    double t = device_s != NULL ? by_device(timeline, *device_s, restarted) : by_arrival(timeline);
    if (timeline->any && t < timeline->last_s + tick_s) {
        t = timeline->last_s + tick_s;
    }
    timeline->any = true;
    timeline->last_s = t;
    return t;
}
