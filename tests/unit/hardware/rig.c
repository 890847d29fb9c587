#include "rig.h"

#include "cmocka_all.h"
#include "fake_board.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void rig_truth(test_rig *rig, double time_s, double *torque_Nm, double *angle_deg) {
    rig_world *world = &rig->world;
    while (world->near > 0 && world->point[world->near].time_s > time_s) {
        world->near--;
    }
    while (world->near + 1 < world->n && world->point[world->near + 1].time_s <= time_s) {
        world->near++;
    }
    const bw_sample *from = &world->point[world->near];
    const bw_sample *to = world->near + 1 < world->n ? from + 1 : from;
    double length_s = to->time_s - from->time_s;
    double share = length_s > 0 ? fmax(0, (time_s - from->time_s) / length_s) : 0;
    *torque_Nm = from->torque_Nm + share * (to->torque_Nm - from->torque_Nm);
    *angle_deg = from->angle_deg + share * (to->angle_deg - from->angle_deg);
}

static void world_at(void *ctx, double time_s, double *torque_Nm, double *angle_deg) {
    rig_truth(ctx, time_s, torque_Nm, angle_deg);
}

void rig_go(test_rig *rig, double for_s, double torque_Nm, double turn_deg) {
    rig_world *world = &rig->world;
    const bw_sample *last = &world->point[world->n - 1];
    assert_true(world->n < RIG_POINTS);
    world->point[world->n++] = (bw_sample){.time_s = last->time_s + for_s,
                                           .torque_Nm = torque_Nm,
                                           .angle_deg = last->angle_deg + turn_deg,
                                           .has_angle = true};
}

ad_calibration rig_calibration(const ad_parts *parts) {
    return (ad_calibration){
        .serial = 1207,
        .gain_tighten_pNm = (uint32_t)lround(1e12 / parts->counts_per_Nm),
        .gain_loosen_pNm = (uint32_t)lround(1e12 / parts->counts_per_Nm / parts->loosen_share),
        .gyro_udps = (uint32_t)lround(1e6 / parts->gyro_counts_per_dps),
        .shunt_counts = (int32_t)parts->shunt_counts,
        .overload_counts = (int32_t)(180 * parts->counts_per_Nm),
        .rated_cNm = 15000,
        .date = 20261125,
        .certificate = "CAL-0042",
        .zero_counts = (int32_t)parts->zero_counts};
}

test_rig *rig_new(const ad_parts *parts) {
    test_rig *rig = calloc(1, sizeof *rig);
    assert_non_null(rig);
    rig->parts = *parts;
    rig->world.n = 1;
    rig->at = (ad_world){.ctx = rig, .at = world_at};
    rig->noise.state = 7;
    rig->sim = ad_sim_new(BW_BINARY_DIR "/adapter.elf", parts, &rig->at);
    assert_non_null(rig->sim);
    ad_calibration calibration = rig_calibration(parts);
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
