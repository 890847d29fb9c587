/* gyro.h - from the gyro's rate to an angle: bias, saturation, faults.  Pure.
 *
 * Tests: tests/unit/hardware/test_gyro.c. */
#ifndef ADAPTER_FIRMWARE_GYRO_H
#define ADAPTER_FIRMWARE_GYRO_H

#include "pace.h"

#include <stdbool.h>
#include <stdint.h>

/* Limits in counts of a gyro with about 0.03 degree/s a count (16 bits, +-1000 degree/s). */
enum {
    AD_GYRO_END = 32760,    /* at or beyond: saturated */
    AD_GYRO_SAME_MAX = 160, /* equal readings in a row: its noise would change the last bit */
    AD_GYRO_BIAS_MAX = 400, /* 12 degree/s: no sound gyro shows more at rest */
    AD_GYRO_GROUP = 8,      /* readings whose mean is looked at for stillness */
    AD_GYRO_STILL = 20,     /* groups at rest lie within so much: 0.6 degree/s */
    AD_GYRO_BIAS_STEP = 16, /* another bias by more than that: believed after */
    AD_GYRO_BIAS_AGREE = 3, /* so many rests that agree */
    AD_GYRO_BIAS_MEAN = 8,  /* rests that the bias is the mean of */
    AD_GYRO_PAST = 4,       /* ticks that the angle can be asked for backward */
    AD_GYRO_PARTS = 64      /* parts of a tick */
};

/* All zero: just started. */
typedef struct ad_gyro {
    /* The angle in counts x ticks x AD_REST_TICKS, so that nothing is rounded. */
    int64_t total;
    int32_t past[AD_GYRO_PAST]; /* what the last ticks added, newest first */
    int32_t bias_sum;           /* bias x AD_REST_TICKS */
    uint8_t rests;              /* in bias_sum, at most AD_GYRO_BIAS_MEAN; 0: bias unknown */
    uint8_t others;             /* rests in a row that say another bias */
    int16_t last;
    uint8_t same;
    bool absent; /* the board could not read it */
    bool saturated;
    /* The rest that may be under way. */
    int32_t rest_sum;
    int16_t group_sum, group_least, group_most;
    uint16_t rest_ticks;
} ad_gyro;

/* One reading, at a tick; ticks: how many have passed since the one before, 1 if none was missed.
 * present false: it could not be read, rate is not looked at. */
void ad_gyro_take(ad_gyro *gyro, bool present, int16_t rate, uint8_t ticks);

/* The present rest must begin anew: something is on, or moves. */
void ad_gyro_disturb(ad_gyro *gyro);

/* True where it has been still for AD_REST_TICKS; then a new rest begins. */
bool ad_gyro_rested(const ad_gyro *gyro);

/* The rest that has just been complete gives the bias; ends what was latched of saturation. */
void ad_gyro_use_rest(ad_gyro *gyro);

bool ad_gyro_fault(const ad_gyro *gyro);

/* The angle so many parts of a tick before the last reading, at most AD_GYRO_PAST ticks. */
int64_t ad_gyro_total(const ad_gyro *gyro, uint16_t parts_ago);

/* Bias in counts, rounded; and whether it turns faster than so many counts, bias taken off. */
int32_t ad_gyro_bias(const ad_gyro *gyro, uint32_t udps);
bool ad_gyro_turns(const ad_gyro *gyro, int16_t rate, int16_t limit);

#endif
