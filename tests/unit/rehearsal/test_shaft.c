/* test_shaft.c - a shaft's drag: about its mean in any turn, and a crush sleeve's one way. */
#include "cmocka_all.h"

#include "rehearsal/shaft.h"

#include <math.h>

enum { SEEDS = 200 };

static bw_joint_spec spec_of(double drag_Nm) {
    bw_joint_spec spec = bw_joint_usual(22, 1.5, NULL, "oil");
    spec.drag_Nm = drag_Nm;
    return spec;
}

static const bw_stage creep = {.kind = BW_STAGE_CREEP,
                               .low_Nm = 2.0,
                               .high_Nm = 2.6,
                               .low_deg = -INFINITY,
                               .high_deg = INFINITY,
                               .least_turn_deg = 360};

/* Over ten turns its torque's mean is its drag, and never a fifth away from it. */
static void test_drags_about_its_mean(void **state) {
    (void)state;
    bw_joint_spec spec = spec_of(4);
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        bw_shaft shaft = bw_shaft_drawn(&spec, seed);
        double drag_Nm = bw_shaft_drag_Nm(&shaft);
        assert_true(drag_Nm > 0.84 * 4 && drag_Nm < 1.16 * 4);
        bw_fastener f = bw_shaft_turned(&shaft);
        double sum_Nm = 0;
        double swing_Nm = 0;
        for (int deg = 0; deg < 3600; deg++) {
            bw_fastener_turn(&f, 1);
            sum_Nm += bw_fastener_turning_Nm(&f);
            swing_Nm = fmax(swing_Nm, fabs(bw_fastener_turning_Nm(&f) - drag_Nm));
        }
        assert_true(fabs(sum_Nm / 3600 - drag_Nm) < 0.01 * drag_Nm);
        assert_true(swing_Nm > 0.01 * drag_Nm && swing_Nm < 0.2 * drag_Nm);
        assert_true(bw_fastener_breakaway_Nm(&f) > 1.04 * bw_fastener_turning_Nm(&f));
    }
}

/* Never falls, by whatever torque it is tightened to. */
static void test_never_falls_back(void **state) {
    (void)state;
    bw_joint_spec spec = spec_of(2);
    bw_shaft shaft = bw_shaft_drawn(&spec, 3);
    bw_shaft_tighten(&shaft, 2.7);
    assert_true(fabs(bw_shaft_drag_Nm(&shaft) - 2.7) < 1e-12);
    bw_shaft_tighten(&shaft, 2.3);
    assert_true(fabs(bw_shaft_drag_Nm(&shaft) - 2.7) < 1e-12);
}

/* Each bit brings it on, the first leaves it short, and within a few it is where it should be, and
 * stays: unless there was one bit too many. */
static void test_creeps_up(void **state) {
    (void)state;
    bw_joint_spec spec = spec_of(0);
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        double before_Nm = 0;
        for (unsigned bits = 1; bits <= 8; bits++) {
            bw_shaft shaft = bw_shaft_crept(&spec, seed, &creep, bits, false);
            double drag_Nm = bw_shaft_drag_Nm(&shaft);
            assert_true(drag_Nm >= before_Nm && drag_Nm < creep.high_Nm);
            assert_true(bits > 1 || drag_Nm < creep.low_Nm);
            before_Nm = drag_Nm;
        }
        assert_true(before_Nm > (creep.low_Nm + creep.high_Nm) / 2);
        bw_shaft far = bw_shaft_crept(&spec, seed, &creep, 1, true);
        assert_true(bw_shaft_drag_Nm(&far) > creep.high_Nm + 0.1);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_drags_about_its_mean),
        cmocka_unit_test(test_never_falls_back),
        cmocka_unit_test(test_creeps_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
