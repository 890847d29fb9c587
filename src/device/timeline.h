/* timeline.h - the time of each reading.
 *
 * Room: device, private to it.  Pure.  A device's own time is used where the driver gives one;
 * else the time of arrival, in seconds since the port was opened.  Whatever a device says, time
 * never stands still or goes back. */
#ifndef BW_DEVICE_TIMELINE_H
#define BW_DEVICE_TIMELINE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* All zero: opened at monotonic time 0, nothing read yet. */
typedef struct bw_timeline {
    double last_s;    /* given to the last reading */
    double arrival_s; /* when the read before this one came */
    double now_s;     /* when this one came */
    double step_s;    /* between readings without a time in this read */
    double next_s;    /* arrival of the next reading without a time */
    double device_s;  /* the device's clock at its last reading with a time */
    double ahead_s;   /* what is added to the device's clock */
    int64_t opened_ns;
    bool any;        /* a reading has been given a time */
    bool any_device; /* ... with a time of the device's */
} bw_timeline;

/* A read at now_ns brought readings, `untimed` of them without a device's time.  These are spread
 * evenly over the time since the last such read, 0.1 s each at most: what comes after a silence
 * did not happen during it. */
void bw_timeline_read(bw_timeline *timeline, int64_t now_ns, size_t untimed);

/* The time of the next reading.  device_s: its own time, NULL where it has none; finite.
 * *restarted (never NULL) is set where the device's clock went back or jumped by more than an
 * hour; times then go on from the last one by arrival. */
double bw_timeline_next(bw_timeline *timeline, const double *device_s, bool *restarted);

#endif
