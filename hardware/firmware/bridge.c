/* bridge.c - from the converter's counts to a torque. */
#include "bridge.h"

#include "adapter_frame.h"

static bool beyond(int32_t value, int32_t limit) {
    return value > limit || value < -limit;
}

void ad_bridge_begin(ad_bridge *bridge, int32_t overload, int32_t calibrated_zero) {
    bridge->calibrated = overload > 0;
    bridge->overload = overload > 0 ? overload : AD_BRIDGE_OVERLOAD;
    bridge->calibrated_zero = calibrated_zero;
}

void ad_bridge_disturb(ad_bridge *bridge) {
    bridge->rest_n = 0;
    bridge->rest_sum = 0;
}

void ad_bridge_settle(ad_bridge *bridge, uint8_t conversions) {
    bridge->settling = conversions;
    bridge->same = 0;
    ad_bridge_disturb(bridge);
}

static void look_for_faults(ad_bridge *bridge, int32_t counts) {
    if (counts != bridge->last) {
        bridge->same = 0;
    } else if (bridge->same < AD_BRIDGE_SAME_MAX) {
        bridge->same++;
    }
    bridge->last = counts;
    if (!beyond(counts, AD_BRIDGE_END - 1)) {
        bridge->at_end = 0;
    } else if (bridge->at_end < AD_BRIDGE_OPEN) {
        bridge->at_end++;
    }
}

static void look_for_load(ad_bridge *bridge, int32_t counts) {
    int32_t net = counts - (bridge->zero_known ? bridge->zero : bridge->calibrated_zero);
    if (!beyond(net, bridge->overload)) {
        bridge->over = 0;
    } else if (++bridge->over >= AD_BRIDGE_OVER) {
        bridge->over = AD_BRIDGE_OVER;
        bridge->overloaded = true;
    }
    int32_t share = bridge->loaded ? AD_BRIDGE_FREE_SHARE : AD_BRIDGE_LOADED_SHARE;
    bridge->loaded = bridge->zero_known && beyond(net, bridge->overload / share);
    bridge->loosens = bridge->loaded ? net < 0 : bridge->loosens;
}

static void look_for_rest(ad_bridge *bridge, int32_t counts) {
    if (bridge->rest_n == 0) {
        bridge->rest_first = counts;
        bridge->rest_least = counts;
        bridge->rest_most = counts;
    }
    bridge->rest_least = counts < bridge->rest_least ? counts : bridge->rest_least;
    bridge->rest_most = counts > bridge->rest_most ? counts : bridge->rest_most;
    if (bridge->rest_n < UINT8_MAX) {
        bridge->rest_sum += counts - bridge->rest_first;
        bridge->rest_n++;
    }
}

void ad_bridge_take(ad_bridge *bridge, int32_t counts, bool shunted) {
    look_for_faults(bridge, counts);
    if (bridge->settling > 0) {
        bridge->settling--;
        return;
    }
    if (!shunted) {
        look_for_load(bridge, counts);
        look_for_rest(bridge, counts);
    }
}

bool ad_bridge_disturbed(const ad_bridge *bridge) {
    return bridge->loaded || bridge->settling > 0 || bridge->at_end > 0 ||
           bridge->same >= AD_BRIDGE_SAME_MAX ||
           (bridge->rest_n > 0 &&
            bridge->rest_most - bridge->rest_least > bridge->overload / AD_BRIDGE_STEADY_SHARE);
}

bool ad_bridge_set_zero(ad_bridge *bridge, int32_t *moved) {
    int32_t mean = bridge->rested_mean;
    bool far = beyond(mean - bridge->calibrated_zero, bridge->overload / AD_BRIDGE_ZERO_SHARE);
    if (bridge->calibrated && far) {
        return false;
    }
    *moved = mean - bridge->zero;
    bridge->zero = mean;
    bridge->tracked = 0;
    bridge->zero_known = true;
    return true;
}

void ad_bridge_use_rest(ad_bridge *bridge) {
    int32_t moved = 0;
    if (bridge->rest_n == 0) {
        return;
    }
    bridge->rested_mean = bridge->rest_first + bridge->rest_sum / bridge->rest_n;
    if (!bridge->zero_known) {
        (void)ad_bridge_set_zero(bridge, &moved);
        return;
    }
    int32_t off = bridge->rested_mean - bridge->zero;
    int32_t step = off / AD_BRIDGE_TRACK_STEP;
    if (step == 0 || beyond(off, bridge->overload / AD_BRIDGE_TRACK_SHARE) ||
        beyond(bridge->tracked + step, bridge->overload / AD_BRIDGE_LOADED_SHARE)) {
        return;
    }
    bridge->zero += step;
    bridge->tracked += step;
    bridge->zero_moved = true;
}

uint16_t ad_bridge_flags(const ad_bridge *bridge) {
    const struct {
        bool is;
        uint16_t flag;
    } row[] = {
        {bridge->loaded, ADAPTER_FLAG_LOADED},
        {bridge->overloaded, ADAPTER_FLAG_OVERLOAD},
        {!bridge->calibrated, ADAPTER_FLAG_NO_CALIBRATION},
        {bridge->at_end > 0, ADAPTER_FLAG_SATURATED},
        {bridge->same >= AD_BRIDGE_SAME_MAX && bridge->at_end == 0, ADAPTER_FLAG_STUCK},
        {bridge->at_end >= AD_BRIDGE_OPEN, ADAPTER_FLAG_OPEN},
        {!bridge->zero_known, ADAPTER_FLAG_ZERO_UNKNOWN},
        {bridge->zero_moved, ADAPTER_FLAG_ZERO_MOVED},
        {bridge->settling > 0, ADAPTER_FLAG_SETTLING},
    };
    uint16_t flags = 0;
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        flags = (uint16_t)(flags | (row[i].is ? row[i].flag : 0u));
    }
    return flags;
}
