/* calibration.h - what the readings of a calibration amount to.
 *
 * Room: device (pure).  Torques in one unit, whichever; shares are of the reference torque.
 *
 * The method is that of ISO 6789-2:2017 as it is remembered, not as it was read: deviation with the
 * reference as the divisor, and seven contributions to the uncertainty, of which those that were
 * not measured count as nothing and are named.  What rests on it is no certificate. */
#ifndef BW_DEVICE_CALIBRATION_H
#define BW_DEVICE_CALIBRATION_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

enum { BW_POINTS_MAX = 12, BW_READINGS_MAX = 40 };

/* Readings at one torque. */
typedef struct bw_calibration_point {
    double target;
    size_t n;                          /* at least 2 */
    double tool[BW_READINGS_MAX];      /* what the tool said, or was set to */
    double reference[BW_READINGS_MAX]; /* what the reference said; greater than 0 */
} bw_calibration_point;

/* Spans of mean readings, in the unit; 0: not measured. */
typedef struct bw_calibration_spans {
    double reproducibility; /* taken off and put on again */
    double drive;           /* the square drive turned by quarters */
    double interface;       /* other adapters between */
    double hand;            /* the hand 10 mm further in and out */
} bw_calibration_spans;

typedef struct bw_calibration_result {
    double deviation;     /* mean of (tool - reference)/reference */
    double repeatability; /* standard deviation of those */
    double u;             /* standard uncertainty of the deviation, all contributions */
    double expanded;      /* U = k u, k = 2 */
    double interval;      /* |deviation| + U: within this lies a torque that the tool shows */
} bw_calibration_result;

/* resolution: smallest step of the tool; reference_share: expanded (k = 2) uncertainty of the
 * reference, of the torque.  BW_E_DATA names what is wrong. */
BW_MUST_USE bw_status bw_calibrate_point(const bw_calibration_point *point, double resolution,
                                         double reference_share, const bw_calibration_spans *spans,
                                         bw_calibration_result *out, bw_err *err);

/* Kinds of tools, from memory of ISO 6789-1: how many readings a point, and which deviation is
 * permitted up to 10 N.m and above. */
typedef struct bw_tool_kind {
    const char *word; /* indicating, setting, beam */
    const char *says;
    size_t readings;
    double permitted_small; /* share, up to and with 10 N.m */
    double permitted_large;
} bw_tool_kind;

const bw_tool_kind *bw_tool_kind_at(size_t index); /* NULL behind the last */
const bw_tool_kind *bw_tool_kind_find(const char *word);

#endif
