/* shunt.c - the shunt check: on, settle, average, off. */
#include "adapter.h"
#include "board.h"

enum { SETTLE = AD_BRIDGE_SETTLING_SHUNT, AVERAGE = 64 };

static void end(ad_adapter *adapter, uint8_t code, int32_t value) {
    adapter->shunt.on = false;
    board_shunt(false);
    ad_bridge_settle(&adapter->bridge, SETTLE);
    ad_tell_result(adapter, ADAPTER_SHUNT, adapter->shunt.sequence, code, value);
}

void ad_shunt_begin(ad_adapter *adapter, uint16_t sequence) {
    adapter->shunt = (ad_shunt){.on = true, .sequence = sequence};
    board_shunt(true);
    ad_bridge_settle(&adapter->bridge, SETTLE);
}

void ad_shunt_fail(ad_adapter *adapter) {
    if (adapter->shunt.on) {
        end(adapter, ADAPTER_REFUSED_FAULT, 0);
    }
}

static void add(ad_shunt *shunt, int32_t above) {
    if (shunt->n == 0) {
        shunt->least = above;
        shunt->most = above;
    }
    shunt->least = above < shunt->least ? above : shunt->least;
    shunt->most = above > shunt->most ? above : shunt->most;
    shunt->sum += above;
    shunt->n++;
}

void ad_shunt_take(ad_adapter *adapter, int32_t counts) {
    ad_shunt *shunt = &adapter->shunt;
    const ad_bridge *bridge = &adapter->bridge;
    if (!shunt->on || bridge->settling > 0) {
        return;
    }
    if (bridge->at_end > 0) {
        ad_shunt_fail(adapter);
        return;
    }
    add(shunt, counts - bridge->rested_mean);
    if (shunt->most - shunt->least > bridge->overload / AD_BRIDGE_STEADY_SHARE) {
        end(adapter, ADAPTER_REFUSED_NOT_AT_REST, 0);
    } else if (shunt->n >= AVERAGE) {
        end(adapter, ADAPTER_DONE, shunt->sum / AVERAGE);
    }
}
