/* adapter.c - readings in, samples out. */
#include "adapter.h"

#include "board.h"

#include <string.h>

enum { RUN_ON_COUNTS = 98 }; /* 3 degree/s */

static const uint8_t usual_window = AD_CONVERSIONS_Hz / ADAPTER_RATE_MAX_Hz;

/* Sent first after a start, to end what was half sent before it. */
static const uint8_t frame_end = 0;

void ad_window_begin(ad_window *window, uint8_t wanted) {
    memset(window, 0, sizeof *window);
    window->wanted = wanted;
}

void ad_adapter_use_calibration(ad_adapter *adapter) {
    adapter->calibration_state = ad_store_load(&adapter->calibration);
    ad_bridge_begin(&adapter->bridge, adapter->calibration.overload_counts,
                    adapter->calibration.zero_counts);
}

void ad_adapter_begin(ad_adapter *adapter, uint8_t reset) {
    memset(adapter, 0, sizeof *adapter);
    adapter->reset = reset;
    adapter->boots = ad_store_count_boot();
    ad_adapter_use_calibration(adapter);
    adapter->overload_marked = ad_store_overloaded();
    adapter->bridge.overloaded = adapter->overload_marked;
    adapter->supply_mV = board_supply_mV();
    ad_window_begin(&adapter->window, usual_window);
    ad_bridge_settle(&adapter->bridge, AD_BRIDGE_SETTLING);
    board_shunt(false);
    board_lamp(false, false);
    board_excite(true);
    board_send(&frame_end, 1);
    ad_tell_identity(adapter);
}

uint16_t ad_adapter_flags(const ad_adapter *adapter) {
    const struct {
        bool is;
        uint16_t flag;
    } row[] = {
        {adapter->rest, ADAPTER_FLAG_REST},
        {adapter->calibration_state == ADAPTER_CALIBRATION_FIRST ||
             adapter->calibration_state == ADAPTER_CALIBRATION_SECOND,
         ADAPTER_FLAG_ONE_COPY},
        {adapter->silent_ticks > AD_SILENT_TICKS, ADAPTER_FLAG_STUCK},
        {adapter->shunt.on, ADAPTER_FLAG_SHUNT},
        {adapter->gyro.saturated, ADAPTER_FLAG_GYRO_SATURATED},
        {ad_gyro_fault(&adapter->gyro), ADAPTER_FLAG_GYRO_FAULT},
        {adapter->gyro.rests == 0, ADAPTER_FLAG_BIAS_UNKNOWN},
        {adapter->supply_mV < AD_SUPPLY_MIN_mV, ADAPTER_FLAG_SUPPLY},
    };
    uint16_t flags = ad_bridge_flags(&adapter->bridge);
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        flags = (uint16_t)(flags | (row[i].is ? row[i].flag : 0u));
    }
    return flags;
}

void ad_adapter_wake(ad_adapter *adapter) {
    adapter->idle_s = 0;
    if (!adapter->asleep) {
        return;
    }
    adapter->asleep = false;
    adapter->silent_ticks = 0;
    board_excite(true);
    ad_bridge_settle(&adapter->bridge, AD_BRIDGE_SETTLING);
    ad_window_begin(&adapter->window, adapter->window.wanted);
}

static void fall_asleep(ad_adapter *adapter) {
    adapter->asleep = true;
    adapter->rest = false;
    adapter->lamp = (ad_lamp){0};
    board_lamp(false, false);
    board_excite(false);
}

static void second_passed(ad_adapter *adapter) {
    adapter->supply_mV = board_supply_mV();
    adapter->idle_s = adapter->rest ? (uint16_t)(adapter->idle_s + 1) : 0;
    ad_tell_status(adapter);
    if (++adapter->seconds >= 5) {
        adapter->seconds = 0;
        ad_tell_identity(adapter);
    }
    if (adapter->idle_s >= AD_IDLE_MAX_s && !adapter->asleep) {
        fall_asleep(adapter);
    }
}

/* Whatever one of the two sees, the other's rest is over with it. */
static void disturb(ad_adapter *adapter) {
    ad_gyro_disturb(&adapter->gyro);
    ad_bridge_disturb(&adapter->bridge);
    adapter->rest = false;
}

static void take_gyro(ad_adapter *adapter, bool present, int16_t rate, uint8_t ticks) {
    uint16_t before = adapter->gyro.rest_ticks;
    ad_gyro_take(&adapter->gyro, present, rate, ticks);
    if (adapter->gyro.rest_ticks <= before && before != AD_REST_TICKS) {
        disturb(adapter);
    }
    if (adapter->asleep && present && ad_gyro_turns(&adapter->gyro, rate, AD_WAKE_COUNTS)) {
        ad_adapter_wake(adapter);
    }
    if (!adapter->asleep && ad_gyro_rested(&adapter->gyro) && !adapter->shunt.on) {
        ad_gyro_use_rest(&adapter->gyro);
        ad_bridge_use_rest(&adapter->bridge);
        ad_bridge_disturb(&adapter->bridge);
        adapter->rest = true;
    }
}

static void count_missed(ad_adapter *adapter, uint16_t due) {
    adapter->missed = adapter->missed > UINT16_MAX - due ? UINT16_MAX
                                                         : (uint16_t)(adapter->missed + due);
}

/* A silent converter must not look like a silent adapter: samples go on, and say so. */
static void count_silence(ad_adapter *adapter, uint8_t ticks) {
    enum {
        TICKS_OF_TWO = 2 * AD_TICKS_Hz / AD_CONVERSIONS_Hz,
        TICKS_OF_SAMPLE = AD_TICKS_Hz / ADAPTER_RATE_MAX_Hz,
        TURN_BACK = 30000 /* a multiple of both, so that the count never ends */
    };
    if (adapter->asleep) {
        return;
    }
    uint16_t before = adapter->silent_ticks;
    uint16_t now = (uint16_t)(before + ticks);
    if (adapter->converts) {
        count_missed(adapter, (uint16_t)(2 * (now / TICKS_OF_TWO - before / TICKS_OF_TWO)));
    }
    adapter->silent_ticks = now < 2 * (uint16_t)TURN_BACK ? now : (uint16_t)(now - TURN_BACK);
    if (now <= AD_SILENT_TICKS) {
        return;
    }
    disturb(adapter);
    ad_shunt_fail(adapter);
    if (now / TICKS_OF_SAMPLE != before / TICKS_OF_SAMPLE) {
        ad_tell_sample(adapter, adapter->now_us, 0, adapter->angle, ad_adapter_flags(adapter));
    }
}

void ad_adapter_tick(ad_adapter *adapter, bool present, int16_t rate, uint8_t ticks,
                     uint32_t now_us) {
    adapter->now_us = now_us;
    take_gyro(adapter, present, rate, ticks);
    count_silence(adapter, ticks);
    ad_lamp_tick(&adapter->lamp, adapter->bridge.loaded, ticks);
    adapter->second_ticks = (uint16_t)(adapter->second_ticks + ticks);
    if (adapter->second_ticks >= AD_TICKS_Hz) {
        adapter->second_ticks = (uint16_t)(adapter->second_ticks - AD_TICKS_Hz);
        second_passed(adapter);
    }
}

/* A conversion is the mean over the time since the one before it: its middle counts. */
static int64_t total_in_the_middle(const ad_adapter *adapter, uint32_t time_us) {
    int32_t ago_us = (int32_t)(adapter->now_us - time_us) + AD_CONVERSION_us / 2;
    int32_t most_us = (int32_t)AD_GYRO_PAST * AD_TICK_us;
    ago_us = ago_us < 0 ? 0 : ago_us > most_us ? most_us : ago_us;
    return ad_gyro_total(&adapter->gyro, (uint16_t)(ago_us * AD_GYRO_PARTS / AD_TICK_us));
}

/* What comes loose runs on without torque: it counts as long as it goes on the same way, not more
 * slowly than RUN_ON_COUNTS.  A hand that swings back ends it. */
static void run_on(ad_adapter *adapter, int64_t turned) {
    static const int32_t least = (int32_t)RUN_ON_COUNTS * AD_REST_TICKS * AD_TICKS_Hz /
                                 AD_CONVERSIONS_Hz;
    int64_t on = adapter->bridge.loosens ? -turned : turned;
    adapter->runs_on = adapter->runs_on && on > least;
    if (adapter->runs_on) {
        adapter->angle += turned * adapter->calibration.gyro_udps;
    }
}

static void add_angle(ad_adapter *adapter, uint32_t time_us, bool was_loaded) {
    int64_t total = total_in_the_middle(adapter, time_us);
    int64_t turned = total - adapter->past_total;
    if (!adapter->bridge.loaded) {
        run_on(adapter, turned);
    } else if (was_loaded) {
        adapter->angle += turned * adapter->calibration.gyro_udps;
        adapter->runs_on = true;
    }
    adapter->past_total = total;
}

static void close_window(ad_adapter *adapter) {
    ad_window *window = &adapter->window;
    int32_t n = window->n;
    uint32_t time_us = window->first_us + window->later_us_sum / window->n - AD_CONVERSION_us / 2;
    int32_t counts = window->counts_sum / n - adapter->bridge.zero;
    ad_lamp_take(&adapter->lamp, counts, adapter->bridge.loaded);
    ad_tell_sample(adapter, time_us, counts, window->angle_sum / n, window->flags);
    adapter->bridge.zero_moved = false;
    ad_window_begin(window, window->wanted);
}

static void add_to_window(ad_adapter *adapter, int32_t counts, uint32_t time_us) {
    ad_window *window = &adapter->window;
    if (window->n == 0) {
        window->first_us = time_us;
    }
    window->later_us_sum += time_us - window->first_us;
    window->counts_sum += counts;
    window->angle_sum += adapter->angle;
    window->flags = (uint16_t)(window->flags | ad_adapter_flags(adapter));
    if (++window->n >= window->wanted) {
        close_window(adapter);
    }
}

static void mark_overload(ad_adapter *adapter) {
    if (adapter->bridge.overloaded && !adapter->overload_marked) {
        adapter->overload_marked = true;
        ad_store_mark_overload(true);
    }
}

void ad_adapter_conversion(ad_adapter *adapter, int32_t counts, uint32_t time_us) {
    if (adapter->asleep) {
        return;
    }
    bool gap = adapter->silent_ticks > AD_SILENT_TICKS;
    bool was_loaded = adapter->bridge.loaded && !gap;
    adapter->silent_ticks = 0;
    adapter->converts = true;
    if (gap) {
        ad_window_begin(&adapter->window, adapter->window.wanted);
    }
    ad_bridge_take(&adapter->bridge, counts, adapter->shunt.on);
    if (ad_bridge_disturbed(&adapter->bridge)) {
        disturb(adapter);
    }
    ad_shunt_take(adapter, counts);
    add_angle(adapter, time_us, was_loaded);
    add_to_window(adapter, counts, time_us);
    mark_overload(adapter);
}

void ad_adapter_receive(ad_adapter *adapter, uint8_t byte) {
    ad_read read = ad_reader_take(&adapter->reader, byte);
    if (read == AD_READ_FRAME) {
        ad_command_do(adapter);
    } else if (read == AD_READ_BAD && adapter->bad_frames < UINT16_MAX) {
        adapter->bad_frames++;
    }
}
