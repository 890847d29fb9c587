/* bridge.h - from the converter's counts to a torque: zero, load, overload, faults.  Pure.
 *
 * Tests: tests/unit/hardware/test_bridge.c. */
#ifndef ADAPTER_FIRMWARE_BRIDGE_H
#define ADAPTER_FIRMWARE_BRIDGE_H

#include "pace.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Counts of a 24-bit converter, in two's complement. */
#define AD_BRIDGE_END      INT32_C(8388600) /* at or beyond: saturated */
#define AD_BRIDGE_OVERLOAD INT32_C(6291456) /* the limit as long as no calibration says one */
#define AD_BRIDGE_LEAST_OVERLOAD                                                                   \
    INT32_C(100000)                 /* of a calibration: its shares stay above noise               \
                                     */
#define AD_BRIDGE_LOADED_SHARE 128  /* of the overload limit: 1.4 N.m of 180: torque is on */
#define AD_BRIDGE_FREE_SHARE   256  /* below this it is off again */
#define AD_BRIDGE_STEADY_SHARE 1024 /* at rest all lies within this */
#define AD_BRIDGE_ZERO_SHARE   20   /* so far from the calibration's zero there may be one */
#define AD_BRIDGE_TRACK_SHARE  2048 /* zero tracking takes no more for drift */
#define AD_BRIDGE_TRACK_STEP   8    /* and goes an eighth of the way at each rest */

enum {
    AD_BRIDGE_SAME_MAX = 40,      /* equal counts in a row: its noise would change the last bits */
    AD_BRIDGE_OPEN = 640,         /* conversions at an end, 2 s: no pull holds that */
    AD_BRIDGE_OVER = 2,           /* conversions beyond the overload limit; one may be a spark */
    AD_BRIDGE_SETTLING = 96,      /* conversions after a start, 0.3 s */
    AD_BRIDGE_SETTLING_SHUNT = 32 /* and after the shunt, 0.1 s */
};

/* All zero but for what ad_bridge_begin sets. */
typedef struct ad_bridge {
    int32_t overload;        /* limit, above 0 */
    int32_t calibrated_zero; /* where zero may be near */
    bool calibrated;
    int32_t zero, tracked; /* tracked: how far since it was set */
    bool zero_known, zero_moved;
    int32_t last;
    uint8_t same;
    uint16_t at_end;
    uint8_t over;
    uint8_t settling; /* conversions left of it */
    bool loaded, overloaded;
    bool loosens; /* the way of the load, or of the last one */
    /* The rest that may be under way. */
    int32_t rest_first, rest_least, rest_most, rest_sum; /* the sum is of what is above the first */
    uint8_t rest_n;
    int32_t rested_mean; /* of the last rest that was complete */
} ad_bridge;

/* From now on with this overload limit and zero at calibration; overload 0: no calibration. */
void ad_bridge_begin(ad_bridge *bridge, int32_t overload, int32_t calibrated_zero);

/* The next so many conversions are not to be used. */
void ad_bridge_settle(ad_bridge *bridge, uint8_t conversions);

/* One conversion.  shunted: the shunt is on, so that it is no torque. */
void ad_bridge_take(ad_bridge *bridge, int32_t counts, bool shunted);

/* The present rest must begin anew; and whether the torque is anything but steady and off. */
void ad_bridge_disturb(ad_bridge *bridge);
bool ad_bridge_disturbed(const ad_bridge *bridge);

/* The rest that has just been complete: finds the zero, or lets it follow a slow small drift. */
void ad_bridge_use_rest(ad_bridge *bridge);

/* Makes the last rest's mean the zero; *moved: by how much.  False where it is too far from the
 * calibration's. */
bool ad_bridge_set_zero(ad_bridge *bridge, int32_t *moved);

/* Flags of protocol.md that are the bridge's. */
uint16_t ad_bridge_flags(const ad_bridge *bridge);

#endif
