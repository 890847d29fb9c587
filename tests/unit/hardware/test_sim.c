/* test_sim.c - the built firmware in the simulated chip, pulled by the simulated hand on the
 * simulated joint: how far what it says is from what was so. */
#include "cmocka_all.h"
#include "rehearsal/hand.h"
#include "rig.h"

#include <math.h>
#include <string.h>
#include <time.h>

static const double rated_Nm = 150;
static const double torque_share = 0.005; /* of reading, from a fifth of the range */
static const double angle_limit_deg = 1;

/* So that what the hand does is there without a wrench's noise and steps. */
static bw_hand_wrench bare_wrench(void) {
    bw_hand_wrench wrench = bw_hand_usual_wrench();
    wrench.rate_Hz = 1000;
    wrench.noise_Nm = 0;
    wrench.step_Nm = 1e-6;
    wrench.drift_deg_per_s = 0;
    wrench.step_deg = 1e-6;
    return wrench;
}

static bw_stage angle_stage(void) {
    return (bw_stage){.kind = BW_STAGE_ANGLE, .target_deg = 90, .low_deg = 85, .high_deg = 95};
}

static double end_s(const test_rig *rig) {
    return ad_track_end_s(&rig->world);
}

/* Adds one pull of the hand to the world; a second of rest before it. */
static void pull(test_rig *rig, const bw_stage *stage, double stands_Nm, bw_hand_style style,
                 uint64_t seed) {
    bw_joint_spec spec = bw_joint_usual(12, 0, "10.9", "engine oil");
    bw_fastener fastener = bw_fastener_drawn(&spec, seed);
    if (stands_Nm > 0) {
        bw_fastener_stand(&fastener, stands_Nm);
    }
    bw_hand_task task = {
        .stage = *stage, .step = "head", .stage_number = 1, .attempt = 1, .style = style};
    bw_hand_wrench wrench = bare_wrench();
    bw_hand hand;
    bw_sample sample;
    rig_go(rig, 1, 0, 0);
    double from_s = end_s(rig);
    double before_deg = 0;
    bw_hand_begin_on(&hand, &fastener, seed, &task, &wrench, from_s);
    while (bw_hand_next(&hand, &sample)) {
        rig_go(rig, sample.time_s - end_s(rig), sample.torque_Nm, sample.angle_deg - before_deg);
        before_deg = sample.angle_deg;
    }
}

/* What a perfect adapter would say of the torque: the mean over what its filter looks at. */
static double filtered_Nm(test_rig *rig, double time_s) {
    enum { SLICES = 64 };
    const double length_s = 0.0125;
    double sum_Nm = 0;
    for (int i = 0; i < SLICES; i++) {
        double torque_Nm = 0;
        double angle_deg = 0;
        rig_truth(rig, time_s + ((i + 0.5) / SLICES - 0.5) * length_s, &torque_Nm, &angle_deg);
        sum_Nm += torque_Nm;
    }
    return sum_Nm / SLICES;
}

/* The largest error of all samples from a fifth of the range on, as a share of the torque. */
static double worst_torque(test_rig *rig, size_t *looked_at) {
    double worst = 0;
    for (size_t i = 0; i < rig->heard.samples; i++) {
        const heard_sample *sample = &rig->heard.sample[i];
        double time_s = ad_sim_began_s(rig->sim) + sample->time_us * 1e-6;
        double right_Nm = filtered_Nm(rig, time_s);
        if (fabs(right_Nm) < 0.2 * rated_Nm) {
            continue;
        }
        assert_int_equal(sample->flags & (ADAPTER_NO_TORQUE | ADAPTER_NO_ANGLE), 0);
        ++*looked_at;
        worst = fmax(worst, fabs(heard_Nm(&rig->heard, sample) - right_Nm) / fabs(right_Nm));
    }
    return worst;
}

static double highest_Nm(const test_rig *rig) {
    double highest = 0;
    for (size_t i = 0; i < rig->world.n; i++) {
        highest = fmax(highest, rig->world.point[i].torque_Nm);
    }
    return highest;
}

static double heard_highest_Nm(const test_rig *rig) {
    double highest = 0;
    for (size_t i = 0; i < rig->heard.samples; i++) {
        highest = fmax(highest, heard_Nm(&rig->heard, &rig->heard.sample[i]));
    }
    return highest;
}

/* How far the adapter turned while torque was on it: more than 1 N.m, of which it sees 1.4. */
static double loaded_deg(const test_rig *rig) {
    double sum = 0;
    for (size_t i = 1; i < rig->world.n; i++) {
        const ad_track_point *point = &rig->world.point[i];
        sum += point->torque_Nm > 1.2 ? point->angle_deg - point[-1].angle_deg : 0;
    }
    return sum;
}

static void joint_torque(void **state) {
    (void)state;
    ad_parts parts = ad_parts_usual();
    test_rig *rig = rig_new(&parts);
    bw_stage stage = {.kind = BW_STAGE_TORQUE, .target_Nm = 90, .low_Nm = 86, .high_Nm = 94};
    pull(rig, &stage, 0, BW_HAND_SMOOTH, 11);
    pull(rig, &stage, 30, BW_HAND_RATCHET, 12);
    rig_run(rig, end_s(rig) + 0.5);
    size_t looked_at = 0;
    double worst = worst_torque(rig, &looked_at);
    double peak = heard_highest_Nm(rig) / highest_Nm(rig) - 1;
    print_message("torque: worst of %zu samples %.3f %% of reading, peak %+.3f %%\n", looked_at,
                  100 * worst, 100 * peak);
    assert_in_range(looked_at, 50, 10000);
    assert_true(worst < torque_share);
    assert_true(fabs(peak) < torque_share);
    assert_int_equal(rig->heard.bad + rig->heard.lost, 0);
    rig_free(rig);
}

static void joint_angle(void **state) {
    (void)state;
    ad_parts parts = ad_parts_usual();
    test_rig *rig = rig_new(&parts);
    bw_stage stage = angle_stage();
    pull(rig, &stage, 40, BW_HAND_RATCHET, 21);
    rig_run(rig, end_s(rig) + 0.5);
    double heard_deg = rig_last(rig)->angle_mdeg * ADAPTER_DEG_PER_ANGLE;
    double right_deg = loaded_deg(rig);
    print_message("angle on the joint: %.3f of %.3f degrees\n", heard_deg, right_deg);
    assert_true(right_deg > 60);
    assert_true(fabs(heard_deg - right_deg) < angle_limit_deg);
    rig_free(rig);
}

/* Five strokes of 18 degrees on a bolt that holds 60 N.m, a back-swing after each, 1 degree/s bias
 * either way and 0.1 degree/s noise.  Load comes up and goes off within half a degree. */
static void five_strokes(void **state) {
    (void)state;
    for (int i = 0; i < 2; i++) {
        ad_parts parts = ad_parts_usual();
        parts.gyro_bias_dps = i % 2 == 0 ? 1 : -1;
        parts.seed = (uint64_t)(100 + i);
        test_rig *rig = rig_new(&parts);
        rig_go(rig, 1.5, 0, 0);
        for (int stroke = 0; stroke < 5; stroke++) {
            rig_go(rig, 0.02, 60, 0);
            rig_go(rig, 0.5 + 0.4 * i, 66, 18);
            rig_go(rig, 0.02, 0, 0);
            rig_go(rig, 0.3, 0, -18);
            rig_go(rig, 0.1, 0, 0);
        }
        rig_go(rig, 0.3, 0, 0);
        rig_run(rig, end_s(rig));
        double error_deg = rig_last(rig)->angle_mdeg * ADAPTER_DEG_PER_ANGLE - 90;
        print_message("angle over 90 degrees in five strokes: %+.3f\n", error_deg);
        assert_true(fabs(error_deg) < angle_limit_deg);
        rig_free(rig);
    }
}

static void loosening(void **state) {
    (void)state;
    ad_parts parts = ad_parts_usual();
    test_rig *rig = rig_new(&parts);
    rig_go(rig, 1.5, 0, 0);
    rig_go(rig, 0.5, -120, -4);
    rig_go(rig, 0.5, -120, -30);
    rig_go(rig, 0.2, 0, 0);
    rig_run(rig, end_s(rig) + 0.3);
    size_t looked_at = 0;
    assert_true(worst_torque(rig, &looked_at) < torque_share);
    assert_in_range(looked_at, 50, 10000);
    assert_true(fabs(rig_last(rig)->angle_mdeg * ADAPTER_DEG_PER_ANGLE + 34) < angle_limit_deg);
    rig_free(rig);
}

/* The simulated second takes less than a second: a builder can work with it. */
static void fast_enough(void **state) {
    (void)state;
    ad_parts parts = ad_parts_usual();
    test_rig *rig = rig_new(&parts);
    rig_go(rig, 5, 60, 40);
    clock_t from = clock();
    rig_run(rig, 5);
    double took_s = (double)(clock() - from) / CLOCKS_PER_SEC;
    print_message("5 simulated seconds in %.2f s of processor time\n", took_s);
    assert_true(took_s < 5);
    rig_free(rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(joint_torque), cmocka_unit_test(joint_angle),
        cmocka_unit_test(five_strokes), cmocka_unit_test(loosening),
        cmocka_unit_test(fast_enough),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
