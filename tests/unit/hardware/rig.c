#include "rig.h"

#include "calibrated.h"
#include "cmocka_all.h"
#include "fake_board.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void rig_truth(test_rig *rig, double time_s, double *torque_Nm, double *angle_deg) {
    ad_track_at(&rig->world, time_s, torque_Nm, angle_deg);
}

void rig_go(test_rig *rig, double for_s, double torque_Nm, double turn_deg) {
    assert_true(ad_track_go(&rig->world, 0, for_s, torque_Nm, turn_deg));
}

test_rig *rig_new(const ad_parts *parts) {
    test_rig *rig = calloc(1, sizeof *rig);
    assert_non_null(rig);
    rig->parts = *parts;
    rig->at = (ad_world){.ctx = &rig->world, .at = ad_track_at};
    rig->noise.state = 7;
    rig->sim = ad_sim_new(BW_BINARY_DIR "/adapter.elf", parts, &rig->at);
    assert_non_null(rig->sim);
    ad_calibration calibration = ad_calibration_of(parts);
    fake_board_new();
    assert_true(ad_store_save(&calibration));
    ad_sim_store_put(rig->sim, 0, fake.store, sizeof fake.store);
    return rig;
}

void rig_free(test_rig *rig) {
    ad_sim_free(rig->sim);
    free(rig);
}

static void spoil(test_rig *rig, uint8_t *bytes, size_t n) {
    for (size_t i = 0; rig->noise_one_in > 0 && i < n; i++) {
        uint64_t drawn = bw_chance_next(&rig->noise);
        if (drawn % rig->noise_one_in == 0) {
            bytes[i] = (uint8_t)(bytes[i] ^ (1u + (drawn >> 32) % 255u));
        }
    }
}

static void listen(test_rig *rig) {
    uint8_t bytes[1024];
    size_t n = ad_sim_take(rig->sim, bytes, sizeof bytes);
    while (n > 0) {
        spoil(rig, bytes, n);
        heard_bytes(&rig->heard, bytes, n);
        n = ad_sim_take(rig->sim, bytes, sizeof bytes);
    }
}

void rig_run(test_rig *rig, double until_s) {
    for (double now_s = ad_sim_now_s(rig->sim); now_s < until_s; now_s += 1) {
        assert_true(ad_sim_run(rig->sim, fmin(until_s, now_s + 1)));
        listen(rig);
    }
}

void rig_command(test_rig *rig, uint8_t type, uint16_t sequence, const uint8_t *body, size_t n) {
    uint8_t plain[ADAPTER_PLAIN_MAX];
    uint8_t coded[ADAPTER_CODED_MAX];
    if (n > 0) {
        memcpy(plain + ADAPTER_AT_BODY, body, n);
    }
    size_t length = heard_command(plain, ADAPTER_HEAD_BYTES + n + ADAPTER_CRC_BYTES, type, sequence,
                                  coded);
    assert_true(ad_sim_give(rig->sim, coded, length));
}

const heard_sample *rig_last(const test_rig *rig) {
    assert_true(rig->heard.samples > 0);
    return &rig->heard.sample[rig->heard.samples - 1];
}

const heard_sample *rig_after(const test_rig *rig, double time_s) {
    for (size_t i = 0; i < rig->heard.samples; i++) {
        if (rig->heard.sample[i].time_us >= time_s * 1e6) {
            return &rig->heard.sample[i];
        }
    }
    fail_msg("no sample after %g s", time_s);
    return NULL;
}
