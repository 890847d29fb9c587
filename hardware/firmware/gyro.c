/* gyro.c - from the gyro's rate to an angle. */
#include "gyro.h"

#include <string.h>

void ad_gyro_disturb(ad_gyro *gyro) {
    gyro->rest_sum = 0;
    gyro->rest_ticks = 0;
    gyro->group_sum = 0;
}

static void look_for_faults(ad_gyro *gyro, int16_t rate) {
    gyro->same = rate != gyro->last              ? 0
                 : gyro->same < AD_GYRO_SAME_MAX ? (uint8_t)(gyro->same + 1)
                                                 : gyro->same;
    gyro->last = rate;
    if (rate >= AD_GYRO_END || rate <= -AD_GYRO_END) {
        gyro->saturated = true;
    }
}

static void go_on(ad_gyro *gyro, int16_t rate, uint8_t ticks) {
    int32_t added = ((int32_t)rate * AD_REST_TICKS - gyro->bias_sum) * (int32_t)ticks;
    memmove(gyro->past + 1, gyro->past, sizeof gyro->past - sizeof gyro->past[0]);
    gyro->past[0] = added;
    gyro->total += added;
}

/* A group is complete: is it like those before it in this rest? */
static void close_group(ad_gyro *gyro) {
    int16_t sum = gyro->group_sum;
    gyro->group_sum = 0;
    if (gyro->rest_ticks == AD_GYRO_GROUP) {
        gyro->group_least = sum;
        gyro->group_most = sum;
    }
    gyro->group_least = sum < gyro->group_least ? sum : gyro->group_least;
    gyro->group_most = sum > gyro->group_most ? sum : gyro->group_most;
    if (gyro->group_most - gyro->group_least > AD_GYRO_STILL * AD_GYRO_GROUP) {
        ad_gyro_disturb(gyro);
    }
}

static void look_for_rest(ad_gyro *gyro, int16_t rate) {
    bool turning = rate > 2 * AD_GYRO_BIAS_MAX || rate < -2 * AD_GYRO_BIAS_MAX;
    if (turning || gyro->rest_ticks == AD_REST_TICKS) {
        ad_gyro_disturb(gyro);
    }
    if (turning) {
        return;
    }
    gyro->rest_sum += rate;
    gyro->group_sum = (int16_t)(gyro->group_sum + rate);
    gyro->rest_ticks++;
    if (gyro->rest_ticks % AD_GYRO_GROUP == 0) {
        close_group(gyro);
    }
}

void ad_gyro_take(ad_gyro *gyro, bool present, int16_t rate, uint8_t ticks) {
    gyro->absent = !present;
    if (!present) {
        ad_gyro_disturb(gyro);
        go_on(gyro, 0, 0);
        return;
    }
    look_for_faults(gyro, rate);
    go_on(gyro, rate, ticks);
    look_for_rest(gyro, rate);
}

bool ad_gyro_rested(const ad_gyro *gyro) {
    return gyro->rest_ticks == AD_REST_TICKS && !ad_gyro_fault(gyro) &&
           gyro->rest_sum <= (int32_t)AD_GYRO_BIAS_MAX * AD_REST_TICKS &&
           gyro->rest_sum >= -(int32_t)AD_GYRO_BIAS_MAX * AD_REST_TICKS;
}

void ad_gyro_use_rest(ad_gyro *gyro) {
    int32_t off = gyro->rest_sum - gyro->bias_sum;
    bool other = off > (int32_t)AD_GYRO_BIAS_STEP * AD_REST_TICKS ||
                 off < -(int32_t)AD_GYRO_BIAS_STEP * AD_REST_TICKS;
    gyro->saturated = false;
    gyro->others = other ? (uint8_t)(gyro->others + 1) : 0;
    if (gyro->others >= AD_GYRO_BIAS_AGREE) {
        gyro->rests = 0;
    }
    if (gyro->rests == 0) {
        gyro->bias_sum = gyro->rest_sum;
        gyro->rests = 1;
        gyro->others = 0;
    } else if (!other) {
        gyro->rests = gyro->rests < AD_GYRO_BIAS_MEAN ? (uint8_t)(gyro->rests + 1)
                                                      : AD_GYRO_BIAS_MEAN;
        gyro->bias_sum += off / gyro->rests;
    }
}

bool ad_gyro_fault(const ad_gyro *gyro) {
    return gyro->absent || gyro->same >= AD_GYRO_SAME_MAX;
}

int64_t ad_gyro_total(const ad_gyro *gyro, uint16_t parts_ago) {
    int64_t total = gyro->total;
    for (uint8_t i = 0; i < AD_GYRO_PAST && parts_ago > 0; i++) {
        uint16_t parts = parts_ago < AD_GYRO_PARTS ? parts_ago : AD_GYRO_PARTS;
        total -= (int64_t)(gyro->past[i] / AD_GYRO_PARTS) * parts;
        parts_ago = (uint16_t)(parts_ago - parts);
    }
    return total;
}

int32_t ad_gyro_bias(const ad_gyro *gyro, uint32_t udps) {
    return (int32_t)((int64_t)gyro->bias_sum * udps / AD_REST_TICKS);
}

bool ad_gyro_turns(const ad_gyro *gyro, int16_t rate, int16_t limit) {
    int32_t off = (int32_t)rate - gyro->bias_sum / AD_REST_TICKS;
    return off > limit || off < -limit;
}
