/* test_sim_faults.c - the built firmware in the simulated chip, with what can go wrong. */
#include "adapter.h"
#include "cmocka_all.h"
#include "rig.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static test_rig *at_rest(double until_s) {
    ad_parts parts = ad_parts_usual();
    test_rig *rig = rig_new(&parts);
    rig_run(rig, until_s);
    return rig;
}

static uint16_t flags(const test_rig *rig) {
    return rig_last(rig)->flags;
}

static void converter_stuck(void **state) {
    (void)state;
    test_rig *rig = at_rest(1);
    assert_int_equal(flags(rig) & ADAPTER_NO_TORQUE, 0);
    ad_sim_faults(rig->sim)->converter_stuck = true;
    rig_run(rig, 1.2);
    assert_true((flags(rig) & ADAPTER_FLAG_STUCK) != 0);
    ad_sim_faults(rig->sim)->converter_stuck = false;
    rig_run(rig, 2);
    assert_int_equal(flags(rig), ADAPTER_FLAG_REST);
    ad_sim_faults(rig->sim)->converter_silent = true;
    size_t before = rig->heard.samples;
    rig_run(rig, 2.5);
    assert_true((flags(rig) & ADAPTER_FLAG_STUCK) != 0);
    assert_in_range(rig->heard.samples - before, 35, 41);
    rig_free(rig);
}

static void bridge_saturated_and_open(void **state) {
    (void)state;
    test_rig *rig = at_rest(1);
    rig_go(rig, 1, 0, 0);
    rig_go(rig, 0.1, 700, 0);
    rig_go(rig, 0.1, 700, 0);
    rig_go(rig, 0.1, 0, 0);
    rig_run(rig, 1.2);
    assert_true((flags(rig) & ADAPTER_FLAG_SATURATED) != 0);
    assert_true((flags(rig) & ADAPTER_FLAG_OVERLOAD) != 0);
    rig_run(rig, 2);
    assert_false((flags(rig) & ADAPTER_FLAG_SATURATED) != 0);
    assert_true((flags(rig) & ADAPTER_FLAG_OVERLOAD) != 0);
    ad_sim_faults(rig->sim)->bridge_open = true;
    rig_run(rig, 2.2);
    assert_true((flags(rig) & ADAPTER_FLAG_SATURATED) != 0);
    assert_false((flags(rig) & ADAPTER_FLAG_OPEN) != 0);
    rig_run(rig, 4.2);
    assert_true((flags(rig) & ADAPTER_FLAG_OPEN) != 0);
    rig_free(rig);
}

static void gyro_saturated(void **state) {
    (void)state;
    test_rig *rig = at_rest(1);
    rig_go(rig, 1, 0, 0);
    rig_go(rig, 0.1, 30, 0);
    rig_go(rig, 0.02, 30, 25); /* 1250 degree/s */
    rig_go(rig, 0.3, 30, 0);
    rig_go(rig, 0.1, 0, 0);
    rig_run(rig, 1.4);
    assert_true((flags(rig) & ADAPTER_FLAG_GYRO_SATURATED) != 0);
    assert_int_equal(flags(rig) & ADAPTER_NO_TORQUE, 0);
    rig_run(rig, 2.5);
    assert_int_equal(flags(rig), ADAPTER_FLAG_REST);
    rig_free(rig);
}

static void gyro_gone(void **state) {
    (void)state;
    test_rig *rig = at_rest(1);
    ad_sim_faults(rig->sim)->gyro_stuck = true;
    rig_run(rig, 1.5);
    assert_true((flags(rig) & ADAPTER_FLAG_GYRO_FAULT) != 0);
    rig_free(rig);
    ad_parts parts = ad_parts_usual();
    rig = rig_new(&parts);
    ad_sim_faults(rig->sim)->gyro_absent = true;
    rig_run(rig, 1);
    assert_true((flags(rig) & ADAPTER_FLAG_GYRO_FAULT) != 0);
    assert_true((flags(rig) & ADAPTER_FLAG_BIAS_UNKNOWN) != 0);
    rig_free(rig);
}

/* A wrong value would be one that no sample without noise has.  What arrives is the same as what a
 * second adapter says whose line is quiet, frame by frame. */
static void noise_on_the_line(void **state) {
    (void)state;
    ad_parts parts = ad_parts_usual();
    test_rig *quiet = rig_new(&parts);
    test_rig *noisy = rig_new(&parts);
    noisy->noise_one_in = 100;
    for (int i = 0; i < 2; i++) {
        test_rig *rig = i == 0 ? quiet : noisy;
        rig_go(rig, 1, 0, 0);
        rig_go(rig, 2, 100, 30);
        rig_go(rig, 2, 0, 0);
        rig_run(rig, 5);
    }
    assert_int_equal(quiet->heard.bad + quiet->heard.lost, 0);
    assert_in_range(noisy->heard.bad, 50, 300);
    assert_in_range(noisy->heard.lost, 50, 300);
    assert_in_range(noisy->heard.samples, 200, quiet->heard.samples - 40);
    size_t at = 0;
    for (size_t i = 0; i < noisy->heard.samples; i++) {
        const heard_sample *sample = &noisy->heard.sample[i];
        while (at < quiet->heard.samples && quiet->heard.sample[at].sequence != sample->sequence) {
            at++;
        }
        assert_true(at < quiet->heard.samples);
        const heard_sample *right = &quiet->heard.sample[at];
        assert_int_equal(sample->flags, right->flags);
        assert_int_equal(sample->time_us, right->time_us);
        assert_int_equal(sample->counts, right->counts);
        assert_int_equal(sample->angle_mdeg, right->angle_mdeg);
    }
    rig_free(quiet);
    rig_free(noisy);
}

static void damage(test_rig *rig, uint16_t address) {
    uint8_t byte = 0;
    ad_sim_store_get(rig->sim, address, &byte, 1);
    byte ^= 0x40;
    ad_sim_store_put(rig->sim, address, &byte, 1);
}

static void damaged_calibration(void **state) {
    (void)state;
    const struct {
        bool first, second;
        uint8_t says;
        uint16_t flag;
    } row[] = {
        {true, false, ADAPTER_CALIBRATION_SECOND, ADAPTER_FLAG_ONE_COPY},
        {false, true, ADAPTER_CALIBRATION_FIRST, ADAPTER_FLAG_ONE_COPY},
        {true, true, ADAPTER_CALIBRATION_NONE, ADAPTER_FLAG_NO_CALIBRATION},
    };
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        ad_parts parts = ad_parts_usual();
        test_rig *rig = rig_new(&parts);
        if (row[i].first) {
            damage(rig, AD_STORE_FIRST + 6);
        }
        if (row[i].second) {
            damage(rig, AD_STORE_SECOND + 6);
        }
        rig_go(rig, 1, 0, 0);
        rig_go(rig, 0.3, 60, 0);
        rig_run(rig, 1.6);
        assert_int_equal(rig->heard.calibration_state, row[i].says);
        assert_true((flags(rig) & row[i].flag) != 0);
        bool none = row[i].says == ADAPTER_CALIBRATION_NONE;
        assert_int_equal((flags(rig) & ADAPTER_NO_TORQUE) != 0, none);
        assert_int_equal(rig->heard.gain_tighten == 0, none);
        assert_true(none || fabs(heard_Nm(&rig->heard, rig_last(rig)) - 60) < 0.1);
        rig_free(rig);
    }
}

static void gap_told(test_rig *rig, uint8_t reset, uint16_t boots) {
    assert_int_equal(rig->heard.reset, reset);
    assert_int_equal(rig->heard.boots, (uint16_t)(boots + 1));
    assert_true((flags(rig) & ADAPTER_FLAG_ZERO_UNKNOWN) != 0);
    assert_int_not_equal(flags(rig) & ADAPTER_NO_TORQUE, 0);
    assert_int_not_equal(flags(rig) & ADAPTER_NO_ANGLE, 0);
}

/* In mid-frame and under load: what was half sent does not count, and the new start claims no
 * torque, because it has not been at rest. */
static void brown_out(void **state) {
    (void)state;
    test_rig *rig = at_rest(1);
    uint16_t boots = rig->heard.boots;
    rig_go(rig, 1, 0, 0);
    rig_go(rig, 0.5, 80, 10);
    rig_go(rig, 3, 80, 0);
    rig_go(rig, 0.1, 0, 0);
    rig_run(rig, 1.8);
    size_t before = rig->heard.bad;
    while (rig->heard.reader.n < 5 || !rig->heard.reader.begun) {
        rig_run(rig, ad_sim_now_s(rig->sim) + 0.0002);
    }
    ad_sim_brown_out(rig->sim);
    rig_run(rig, 2.5);
    assert_int_equal(rig->heard.bad, before + 1);
    gap_told(rig, ADAPTER_RESET_BROWN_OUT, boots);
    rig_run(rig, 6);
    assert_int_equal(flags(rig) & (ADAPTER_NO_TORQUE | ADAPTER_NO_ANGLE), 0);
    rig_free(rig);
}

static void watchdog(void **state) {
    (void)state;
    test_rig *rig = at_rest(1);
    uint16_t boots = rig->heard.boots;
    rig_go(rig, 1, 0, 0);
    rig_go(rig, 0.5, 80, 10);
    rig_go(rig, 3, 80, 0);
    rig_go(rig, 0.1, 0, 0);
    rig_run(rig, 1.8);
    assert_int_equal(flags(rig), ADAPTER_FLAG_LOADED);
    ad_sim_faults(rig->sim)->hang = true;
    rig_run(rig, 2.1);
    ad_sim_faults(rig->sim)->hang = false;
    rig_run(rig, 3);
    gap_told(rig, ADAPTER_RESET_WATCHDOG, boots);
    for (size_t i = 1; i < rig->heard.samples; i++) {
        assert_false(rig->heard.sample[i].sequence != 2 &&
                     rig->heard.sample[i].time_us <= rig->heard.sample[i - 1].time_us);
    }
    rig_run(rig, 6);
    assert_int_equal(flags(rig) & (ADAPTER_NO_TORQUE | ADAPTER_NO_ANGLE), 0);
    rig_free(rig);
}

/* Commands through the real line; noise toward the adapter is counted, and does nothing. */
static void commands(void **state) {
    (void)state;
    test_rig *rig = at_rest(1.5);
    rig_command(rig, ADAPTER_SHUNT, 7, NULL, 0);
    rig_run(rig, 1.6);
    assert_true(ad_sim_shunted(rig->sim));
    rig_run(rig, 2.2);
    assert_int_equal(rig->heard.results, 1);
    assert_int_equal(rig->heard.result[0].code, ADAPTER_DONE);
    assert_int_equal(rig->heard.result[0].sequence, 7);
    assert_true(fabs(rig->heard.result[0].value - rig->parts.shunt_counts) < 50);
    const uint8_t rubbish[] = {1, 2, 3, 0, 9, 9, 9, 9, 9, 9, 9, 9, 9, 0};
    assert_true(ad_sim_give(rig->sim, rubbish, sizeof rubbish));
    rig_run(rig, 4);
    assert_int_equal(rig->heard.bad_frames, 2);
    assert_int_equal(rig->heard.results, 1);
    rig_free(rig);
}

/* Calibrated over the line, then switched off and on. */
static void calibrated_over_the_line(void **state) {
    (void)state;
    ad_parts parts = ad_parts_usual();
    uint8_t frame[ADAPTER_CALIBRATE_BYTES] = {0};
    ad_put_u32(frame + ADAPTER_CALIBRATE_SERIAL, 31);
    ad_put_u32(frame + ADAPTER_CALIBRATE_GAIN_TIGHTEN, 1000);
    ad_put_u32(frame + ADAPTER_CALIBRATE_GAIN_LOOSEN, 2000);
    ad_put_u32(frame + ADAPTER_CALIBRATE_GYRO_UDPS, 3000);
    ad_put_i32(frame + ADAPTER_CALIBRATE_OVERLOAD_COUNTS, 2000000);
    for (int closed = 0; closed < 2; closed++) {
        parts.may_calibrate = closed == 1;
        test_rig *rig = rig_new(&parts);
        rig_run(rig, 1.5);
        rig_command(rig, ADAPTER_CALIBRATE, 1, frame + ADAPTER_AT_BODY,
                    sizeof frame - ADAPTER_HEAD_BYTES - ADAPTER_CRC_BYTES);
        rig_run(rig, 3);
        assert_int_equal(rig->heard.result[0].code,
                         closed == 1 ? ADAPTER_DONE : ADAPTER_REFUSED_LOCKED);
        ad_sim_brown_out(rig->sim);
        rig_run(rig, 4);
        assert_int_equal(rig->heard.serial, closed == 1 ? 31 : 1207);
        assert_int_equal(rig->heard.gain_loosen == 2000, closed);
        assert_int_equal(rig->heard.calibration_state, ADAPTER_CALIBRATION_BOTH);
        rig_free(rig);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(converter_stuck),   cmocka_unit_test(bridge_saturated_and_open),
        cmocka_unit_test(gyro_saturated),    cmocka_unit_test(gyro_gone),
        cmocka_unit_test(noise_on_the_line), cmocka_unit_test(damaged_calibration),
        cmocka_unit_test(brown_out),         cmocka_unit_test(watchdog),
        cmocka_unit_test(commands),          cmocka_unit_test(calibrated_over_the_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
