/* command.c - what the host asks for. */
#include "adapter.h"
#include "board.h"

#include <string.h>

/* The answer comes by itself. */
enum { LATER = 0xFF };

static uint8_t hello(ad_adapter *adapter, const uint8_t *frame, int32_t *value) {
    (void)value;
    if (frame[ADAPTER_HELLO_VERSION_LEAST] > ADAPTER_VERSION ||
        frame[ADAPTER_HELLO_VERSION_MOST] < ADAPTER_VERSION) {
        return ADAPTER_REFUSED_VERSION;
    }
    ad_tell_identity(adapter);
    return LATER;
}

static uint8_t zero(ad_adapter *adapter, const uint8_t *frame, int32_t *value) {
    (void)frame;
    return ad_bridge_set_zero(&adapter->bridge, value) ? ADAPTER_DONE : ADAPTER_REFUSED_VALUE;
}

static uint8_t rate(ad_adapter *adapter, const uint8_t *frame, int32_t *value) {
    uint8_t rate_Hz = frame[ADAPTER_RATE_HZ];
    if (rate_Hz != 10 && rate_Hz != 20 && rate_Hz != 40 && rate_Hz != ADAPTER_RATE_MAX_Hz) {
        return ADAPTER_REFUSED_VALUE;
    }
    ad_window_begin(&adapter->window, (uint8_t)(AD_CONVERSIONS_Hz / rate_Hz));
    *value = rate_Hz;
    return ADAPTER_DONE;
}

static uint8_t shunt(ad_adapter *adapter, const uint8_t *frame, int32_t *value) {
    (void)value;
    ad_shunt_begin(adapter, ad_get_u16(frame + ADAPTER_AT_SEQUENCE));
    return LATER;
}

static uint8_t lamp(ad_adapter *adapter, const uint8_t *frame, int32_t *value) {
    (void)value;
    int32_t from = ad_get_i32(frame + ADAPTER_LAMP_FROM_COUNTS);
    int32_t to = ad_get_i32(frame + ADAPTER_LAMP_TO_COUNTS);
    bool off = from == 0 && to == 0;
    bool right = (from > 0 && to >= from) ||
                 (from < 0 && from > INT32_MIN && to <= from && to > INT32_MIN);
    if (!off && !right) {
        return ADAPTER_REFUSED_VALUE;
    }
    adapter->lamp = (ad_lamp){.from = from, .to = to};
    board_lamp(false, false);
    return ADAPTER_DONE;
}

static ad_calibration wanted_calibration(const ad_adapter *adapter, const uint8_t *frame) {
    ad_calibration wanted = {
        .serial = ad_get_u32(frame + ADAPTER_CALIBRATE_SERIAL),
        .gain_tighten_pNm = ad_get_u32(frame + ADAPTER_CALIBRATE_GAIN_TIGHTEN),
        .gain_loosen_pNm = ad_get_u32(frame + ADAPTER_CALIBRATE_GAIN_LOOSEN),
        .gyro_udps = ad_get_u32(frame + ADAPTER_CALIBRATE_GYRO_UDPS),
        .shunt_counts = ad_get_i32(frame + ADAPTER_CALIBRATE_SHUNT_COUNTS),
        .overload_counts = ad_get_i32(frame + ADAPTER_CALIBRATE_OVERLOAD_COUNTS),
        .rated_cNm = ad_get_u16(frame + ADAPTER_CALIBRATE_RATED_CNM),
        .date = ad_get_u32(frame + ADAPTER_CALIBRATE_DATE),
        .zero_counts = adapter->bridge.rested_mean,
    };
    memcpy(wanted.certificate, frame + ADAPTER_CALIBRATE_CERTIFICATE, sizeof wanted.certificate);
    return wanted;
}

static uint8_t calibrate(ad_adapter *adapter, const uint8_t *frame, int32_t *value) {
    (void)value;
    if (!board_may_calibrate()) {
        return ADAPTER_REFUSED_LOCKED;
    }
    ad_calibration wanted = wanted_calibration(adapter, frame);
    if (wanted.gain_tighten_pNm == 0 || wanted.gain_loosen_pNm == 0 || wanted.gyro_udps == 0 ||
        wanted.overload_counts < AD_BRIDGE_LEAST_OVERLOAD) {
        return ADAPTER_REFUSED_VALUE;
    }
    bool saved = ad_store_save(&wanted);
    ad_adapter_use_calibration(adapter);
    if (!saved) {
        return ADAPTER_REFUSED_FAULT;
    }
    ad_store_mark_overload(false);
    adapter->overload_marked = false;
    adapter->bridge.overloaded = false;
    ad_tell_identity(adapter);
    return ADAPTER_DONE;
}

static const struct {
    uint8_t type;
    uint8_t bytes;
    bool at_rest; /* only */
    uint8_t (*make)(ad_adapter *adapter, const uint8_t *frame, int32_t *value);
} commands[] = {
    {ADAPTER_HELLO, ADAPTER_HELLO_BYTES, false, hello},
    {ADAPTER_ZERO, ADAPTER_ZERO_BYTES, true, zero},
    {ADAPTER_RATE, ADAPTER_RATE_BYTES, false, rate},
    {ADAPTER_SHUNT, ADAPTER_SHUNT_BYTES, true, shunt},
    {ADAPTER_LAMP, ADAPTER_LAMP_BYTES, false, lamp},
    {ADAPTER_CALIBRATE, ADAPTER_CALIBRATE_BYTES, true, calibrate},
};

enum { COMMANDS = sizeof commands / sizeof commands[0] };

static void count_bad(ad_adapter *adapter) {
    if (adapter->bad_frames < UINT16_MAX) {
        adapter->bad_frames++;
    }
}

/* The reader holds a frame whose CRC is right. */
void ad_command_do(ad_adapter *adapter) {
    const uint8_t *frame = adapter->reader.plain;
    uint8_t type = frame[ADAPTER_AT_TYPE];
    uint8_t i = 0;
    while (i < COMMANDS && commands[i].type != type) {
        i++;
    }
    bool known = i < COMMANDS;
    if (frame[ADAPTER_AT_VERSION] != ADAPTER_VERSION ||
        (known && adapter->reader.n != commands[i].bytes)) {
        count_bad(adapter);
        return;
    }
    ad_adapter_wake(adapter);
    int32_t value = 0;
    uint8_t code = !known ? ADAPTER_REFUSED_TYPE
                   : commands[i].at_rest && !adapter->rest
                       ? ADAPTER_REFUSED_NOT_AT_REST
                       : commands[i].make(adapter, frame, &value);
    if (code != LATER) {
        ad_tell_result(adapter, type, ad_get_u16(frame + ADAPTER_AT_SEQUENCE), code, value);
    }
}
