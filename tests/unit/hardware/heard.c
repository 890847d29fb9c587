#include "heard.h"

static void sample(heard *to, const uint8_t *at) {
    if (to->samples < HEARD_SAMPLES) {
        to->sample[to->samples++] = (heard_sample){
            .sequence = ad_get_u16(at + ADAPTER_AT_SEQUENCE),
            .flags = ad_get_u16(at + ADAPTER_SAMPLE_FLAGS),
            .time_us = ad_get_u32(at + ADAPTER_SAMPLE_TIME_US),
            .counts = ad_get_i32(at + ADAPTER_SAMPLE_TORQUE_COUNTS),
            .angle_mdeg = ad_get_i32(at + ADAPTER_SAMPLE_ANGLE_MDEG)};
    }
}

static void identity(heard *to, const uint8_t *at) {
    to->identities++;
    to->boots = ad_get_u16(at + ADAPTER_IDENTITY_BOOTS);
    to->reset = at[ADAPTER_IDENTITY_RESET];
    to->rate_Hz = at[ADAPTER_IDENTITY_RATE_HZ];
    to->delay_us = ad_get_u16(at + ADAPTER_IDENTITY_DELAY_US);
}

static void calibration(heard *to, const uint8_t *at) {
    to->calibration_state = at[ADAPTER_CALIBRATION_STATE];
    to->serial = ad_get_u32(at + ADAPTER_CALIBRATION_SERIAL);
    to->gain_tighten = ad_get_u32(at + ADAPTER_CALIBRATION_GAIN_TIGHTEN);
    to->gain_loosen = ad_get_u32(at + ADAPTER_CALIBRATION_GAIN_LOOSEN);
    to->gyro_udps = ad_get_u32(at + ADAPTER_CALIBRATION_GYRO_UDPS);
}

static void result(heard *to, const uint8_t *at) {
    if (to->results < HEARD_RESULTS) {
        to->result[to->results++] = (heard_result){
            .type = at[ADAPTER_RESULT_TYPE],
            .code = at[ADAPTER_RESULT_CODE],
            .sequence = ad_get_u16(at + ADAPTER_RESULT_SEQUENCE),
            .value = ad_get_i32(at + ADAPTER_RESULT_VALUE)};
    }
}

static void status(heard *to, const uint8_t *at) {
    to->statuses++;
    to->zero_counts = ad_get_i32(at + ADAPTER_STATUS_ZERO_COUNTS);
    to->bias_udps = ad_get_i32(at + ADAPTER_STATUS_BIAS_UDPS);
    to->supply_mV = ad_get_u16(at + ADAPTER_STATUS_SUPPLY_MV);
    to->status_flags = ad_get_u16(at + ADAPTER_STATUS_FLAGS);
    to->bad_frames = ad_get_u16(at + ADAPTER_STATUS_BAD_FRAMES);
    to->missed = ad_get_u16(at + ADAPTER_STATUS_MISSED);
    to->state = at[ADAPTER_STATUS_STATE];
}

static const struct {
    uint8_t type, bytes;
    void (*take)(heard *to, const uint8_t *at);
} frames[] = {{ADAPTER_SAMPLE, ADAPTER_SAMPLE_BYTES, sample},
              {ADAPTER_IDENTITY, ADAPTER_IDENTITY_BYTES, identity},
              {ADAPTER_CALIBRATION, ADAPTER_CALIBRATION_BYTES, calibration},
              {ADAPTER_RESULT, ADAPTER_RESULT_BYTES, result},
              {ADAPTER_STATUS, ADAPTER_STATUS_BYTES, status}};

static void frame(heard *to) {
    const uint8_t *at = to->reader.plain;
    for (size_t i = 0; i < sizeof frames / sizeof frames[0]; i++) {
        if (frames[i].type != at[ADAPTER_AT_TYPE] || frames[i].bytes != to->reader.n ||
            at[ADAPTER_AT_VERSION] != ADAPTER_VERSION) {
            continue;
        }
        uint16_t sequence = ad_get_u16(at + ADAPTER_AT_SEQUENCE);
        if (to->begun) {
            to->lost += (uint16_t)(sequence - to->sequence - 1);
        } else {
            to->first_type = at[ADAPTER_AT_TYPE];
        }
        to->begun = true;
        to->sequence = sequence;
        to->frames++;
        frames[i].take(to, at);
        return;
    }
    to->bad++;
}

void heard_bytes(heard *to, const uint8_t *bytes, size_t n) {
    for (size_t i = 0; i < n; i++) {
        ad_read read = ad_reader_take(&to->reader, bytes[i]);
        if (read == AD_READ_FRAME) {
            frame(to);
        } else if (read == AD_READ_BAD) {
            to->bad++;
        }
    }
}

double heard_Nm(const heard *from, const heard_sample *at) {
    return at->counts * (double)(at->counts < 0 ? from->gain_loosen : from->gain_tighten) *
           ADAPTER_NM_PER_GAIN;
}

size_t heard_command(uint8_t *plain, size_t n, uint8_t type, uint16_t sequence, uint8_t *coded) {
    return ad_frame_code(plain, (uint8_t)n, type, sequence, coded);
}
