/* lamp.c - the lamp that shows where the torque is in the target. */
#include "adapter.h"
#include "board.h"

enum { HOLD_TICKS = 2 * AD_TICKS_Hz };

static int32_t magnitude(int32_t value) {
    return value < 0 ? -value : value;
}

static void show(const ad_lamp *lamp) {
    bool set = lamp->to != 0;
    board_lamp(set && lamp->highest >= magnitude(lamp->from) &&
                   lamp->highest <= magnitude(lamp->to),
               set && lamp->highest > magnitude(lamp->to));
}

void ad_lamp_take(ad_lamp *lamp, int32_t counts, bool loaded) {
    int32_t toward = lamp->to < 0 ? -counts : counts;
    if (loaded && toward > lamp->highest) {
        lamp->highest = toward;
        show(lamp);
    }
}

void ad_lamp_tick(ad_lamp *lamp, bool loaded, uint8_t ticks) {
    if (loaded) {
        lamp->free_ticks = 0;
        return;
    }
    if (lamp->free_ticks >= HOLD_TICKS) {
        return;
    }
    lamp->free_ticks = (uint16_t)(lamp->free_ticks + ticks);
    if (lamp->free_ticks >= HOLD_TICKS) {
        lamp->highest = 0;
        show(lamp);
    }
}
