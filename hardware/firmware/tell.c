/* tell.c - frames that the adapter sends. */
#include "adapter.h"
#include "board.h"

#include <string.h>

/* ad_adapter.angle in one thousandth of a degree. */
static const int64_t angle_per_mdeg = (int64_t)AD_TICKS_Hz * AD_REST_TICKS * 1000;

/* Counts the frame even where the board has no room for it: the host sees that it is lost. */
static void send(ad_adapter *adapter, uint8_t *plain, uint8_t n, uint8_t type) {
    uint8_t coded[ADAPTER_CODED_MAX];
    uint8_t length = ad_frame_code(plain, n, type, adapter->sequence, coded);
    adapter->sequence++;
    board_send(coded, length);
}

void ad_tell_sample(ad_adapter *adapter, uint32_t time_us, int32_t counts, int64_t angle,
                    uint16_t flags) {
    uint8_t plain[ADAPTER_SAMPLE_BYTES];
    ad_put_u32(plain + ADAPTER_SAMPLE_TIME_US, time_us);
    ad_put_i32(plain + ADAPTER_SAMPLE_TORQUE_COUNTS, counts);
    ad_put_i32(plain + ADAPTER_SAMPLE_ANGLE_MDEG, (int32_t)(angle / angle_per_mdeg));
    ad_put_u16(plain + ADAPTER_SAMPLE_FLAGS, flags);
    send(adapter, plain, sizeof plain, ADAPTER_SAMPLE);
}

static void tell_calibration(ad_adapter *adapter) {
    const ad_calibration *calibration = &adapter->calibration;
    uint8_t plain[ADAPTER_CALIBRATION_BYTES];
    plain[ADAPTER_CALIBRATION_STATE] = adapter->calibration_state;
    ad_put_u32(plain + ADAPTER_CALIBRATION_SERIAL, calibration->serial);
    ad_put_u32(plain + ADAPTER_CALIBRATION_GAIN_TIGHTEN, calibration->gain_tighten_pNm);
    ad_put_u32(plain + ADAPTER_CALIBRATION_GAIN_LOOSEN, calibration->gain_loosen_pNm);
    ad_put_u32(plain + ADAPTER_CALIBRATION_GYRO_UDPS, calibration->gyro_udps);
    ad_put_i32(plain + ADAPTER_CALIBRATION_SHUNT_COUNTS, calibration->shunt_counts);
    ad_put_i32(plain + ADAPTER_CALIBRATION_OVERLOAD_COUNTS, calibration->overload_counts);
    ad_put_u16(plain + ADAPTER_CALIBRATION_RATED_CNM, calibration->rated_cNm);
    ad_put_u32(plain + ADAPTER_CALIBRATION_DATE, calibration->date);
    memcpy(plain + ADAPTER_CALIBRATION_CERTIFICATE, calibration->certificate,
           sizeof calibration->certificate);
    send(adapter, plain, sizeof plain, ADAPTER_CALIBRATION);
}

void ad_tell_identity(ad_adapter *adapter) {
    uint8_t plain[ADAPTER_IDENTITY_BYTES];
    plain[ADAPTER_IDENTITY_VERSION_LEAST] = ADAPTER_VERSION;
    plain[ADAPTER_IDENTITY_VERSION_MOST] = ADAPTER_VERSION;
    plain[ADAPTER_IDENTITY_FIRMWARE_MAJOR] = AD_FIRMWARE_MAJOR;
    plain[ADAPTER_IDENTITY_FIRMWARE_MINOR] = AD_FIRMWARE_MINOR;
    ad_put_u32(plain + ADAPTER_IDENTITY_SERIAL, adapter->calibration.serial);
    ad_put_u16(plain + ADAPTER_IDENTITY_BOOTS, adapter->boots);
    plain[ADAPTER_IDENTITY_RESET] = adapter->reset;
    plain[ADAPTER_IDENTITY_RATE_HZ] = (uint8_t)(AD_CONVERSIONS_Hz / adapter->window.wanted);
    ad_put_u16(plain + ADAPTER_IDENTITY_DELAY_US,
               (uint16_t)((uint32_t)adapter->window.wanted * AD_CONVERSION_us / 2));
    send(adapter, plain, sizeof plain, ADAPTER_IDENTITY);
    tell_calibration(adapter);
}

void ad_tell_status(ad_adapter *adapter) {
    uint8_t plain[ADAPTER_STATUS_BYTES];
    ad_put_u32(plain + ADAPTER_STATUS_TIME_US, adapter->now_us);
    ad_put_i32(plain + ADAPTER_STATUS_ZERO_COUNTS, adapter->bridge.zero);
    ad_put_i32(plain + ADAPTER_STATUS_BIAS_UDPS,
               ad_gyro_bias(&adapter->gyro, adapter->calibration.gyro_udps));
    ad_put_u16(plain + ADAPTER_STATUS_SUPPLY_MV, adapter->supply_mV);
    ad_put_u16(plain + ADAPTER_STATUS_FLAGS, ad_adapter_flags(adapter));
    ad_put_u16(plain + ADAPTER_STATUS_BAD_FRAMES, adapter->bad_frames);
    ad_put_u16(plain + ADAPTER_STATUS_MISSED, adapter->missed);
    plain[ADAPTER_STATUS_STATE] = adapter->asleep ? ADAPTER_ASLEEP : ADAPTER_AWAKE;
    send(adapter, plain, sizeof plain, ADAPTER_STATUS);
}

void ad_tell_result(ad_adapter *adapter, uint8_t type, uint16_t sequence, uint8_t code,
                    int32_t value) {
    uint8_t plain[ADAPTER_RESULT_BYTES];
    plain[ADAPTER_RESULT_TYPE] = type;
    ad_put_u16(plain + ADAPTER_RESULT_SEQUENCE, sequence);
    plain[ADAPTER_RESULT_CODE] = code;
    ad_put_i32(plain + ADAPTER_RESULT_VALUE, value);
    send(adapter, plain, sizeof plain, ADAPTER_RESULT);
}
