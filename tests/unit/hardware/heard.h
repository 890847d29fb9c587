/* heard.h - what a host hears of the adapter: frames taken apart, for tests. */
#ifndef HEARD_H
#define HEARD_H

#include "frame.h"

#include <stddef.h>

enum { HEARD_SAMPLES = 20000, HEARD_RESULTS = 64 };

typedef struct heard_sample {
    uint16_t sequence, flags;
    uint32_t time_us;
    int32_t counts, angle_mdeg;
} heard_sample;

typedef struct heard_result {
    uint8_t type, code;
    uint16_t sequence;
    int32_t value;
} heard_result;

typedef struct heard {
    ad_reader reader;
    size_t frames, bad, lost; /* lost: gaps in the sequence */
    bool begun;
    uint16_t sequence;
    size_t identities, statuses;
    uint8_t first_type; /* of the first frame of all */
    uint16_t boots;
    uint8_t reset, rate_Hz;
    uint16_t delay_us;
    uint32_t serial;
    uint8_t calibration_state;
    uint32_t gain_tighten, gain_loosen, gyro_udps;
    int32_t zero_counts, bias_udps;
    uint16_t supply_mV, status_flags, bad_frames, missed;
    uint8_t state;
    heard_sample sample[HEARD_SAMPLES];
    size_t samples;
    heard_result result[HEARD_RESULTS];
    size_t results;
} heard;

void heard_bytes(heard *to, const uint8_t *bytes, size_t n);

/* Torque of a sample by the calibration that was heard. */
double heard_Nm(const heard *from, const heard_sample *sample);

/* A command from the host, its body filled in by the caller from ADAPTER_AT_BODY on; n of
 * ADAPTER_..._BYTES.  Returns the bytes for the line. */
size_t heard_command(uint8_t *plain, size_t n, uint8_t type, uint16_t sequence, uint8_t *coded);

#endif
