/* test_kinds.c - the hand in each kind of stage: what a careful pull leaves is within the stage's
 * limits, and what is wrong with one is not, whatever hand, wrench and fastener are drawn. */
#include "cmocka_all.h"

#include "rehearsal/trial.h"

#include <math.h>

enum { ROOM = 400000, SEEDS = 40, PULLS = 8 };

static bw_sample trace[ROOM];

/* M10 10.9 in engine oil, growth and torques as that joint has them; a lock nut of 3 N.m. */
static bw_trial usual(bw_stage_kind kind, uint64_t seed, bw_fault_kind fault) {
    bw_trial trial = {.seed = seed,
                      .joint = bw_joint_usual(10, 1.5, "10.9", "engine oil"),
                      .stage = {.kind = kind,
                                .low_Nm = -INFINITY,
                                .high_Nm = INFINITY,
                                .low_deg = -INFINITY,
                                .high_deg = INFINITY},
                      .fault = fault,
                      .wrench = bw_hand_usual_wrench()};
    return trial;
}

static bw_trial back_off(uint64_t seed, bw_fault_kind fault) {
    bw_trial trial = usual(BW_STAGE_BACK_OFF, seed, fault);
    trial.stage.until_loose = true;
    trial.stands_Nm = 50;
    return trial;
}

static bw_trial yield(uint64_t seed, bw_fault_kind fault) {
    bw_trial trial = usual(BW_STAGE_YIELD, seed, fault);
    trial.stage.snug_Nm = 30;
    trial.stage.low_Nm = 60;
    trial.stage.high_Nm = 115;
    trial.stage.high_deg = 90;
    trial.stage.slope_share = 0.5;
    return trial;
}

static bw_trial stretch(uint64_t seed, bw_fault_kind fault) {
    bw_trial trial = usual(BW_STAGE_STRETCH, seed, fault);
    trial.stage.target_mm = 0.08;
    trial.stage.low_mm = 0.074;
    trial.stage.high_mm = 0.086;
    trial.stage.target_Nm = seed % 2 == 0 ? 30 : 0;
    return trial;
}

static bw_trial slot(uint64_t seed, bw_fault_kind fault) {
    bw_trial trial = usual(BW_STAGE_SLOT, seed, fault);
    trial.stage.target_Nm = trial.stage.low_Nm = 30;
    trial.stage.high_Nm = 120;
    trial.stage.high_deg = 60;
    return trial;
}

static bw_trial check(uint64_t seed, bw_fault_kind fault) {
    bw_trial trial = usual(BW_STAGE_CHECK, seed, fault);
    trial.stands_Nm = 60;
    trial.stage.low_Nm = 50;
    trial.stage.high_Nm = 75;
    trial.stage.high_deg = 5;
    return trial;
}

static bw_trial running(bw_stage_kind kind, uint64_t seed, bw_fault_kind fault) {
    bw_trial trial = usual(kind, seed, fault);
    trial.joint.prevailing_Nm = 3;
    trial.joint.free_least_deg = 600;
    trial.joint.free_most_deg = 900;
    trial.joint.drag_Nm = 3;
    trial.stage.low_Nm = 2;
    trial.stage.high_Nm = 4;
    trial.stage.least_turn_deg = 360;
    return trial;
}

static bw_truth pull(const bw_trial *trial) {
    size_t n = 0;
    bw_truth truth;
    assert_true(bw_trial_run(trial, trace, ROOM, &n, &truth));
    assert_true(n > 50 || trial->fault == BW_FAULT_PEAK);
    return truth;
}

static void go_on(bw_trial *trial, const bw_truth *truth) {
    trial->fault = BW_FAULT_NONE;
    trial->before.pulls++;
    trial->before.turn_deg += truth->counted_deg;
    trial->before.fastener = truth->fastener;
}

static void test_back_until_loose(void **state) {
    (void)state;
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        bw_trial trial = back_off(seed, BW_FAULT_NONE);
        bw_truth t = pull(&trial);
        assert_true(t.loose && t.before_N > 20000 && t.preload_N == 0);
        trial = back_off(seed, BW_FAULT_SHORT);
        t = pull(&trial);
        assert_true(!t.loose && t.turned_deg > 1);
        trial = back_off(seed, BW_FAULT_WRONG);
        t = pull(&trial);
        assert_true(t.loose && t.before_N == 0 && t.peak_Nm < 1);
        trial = back_off(seed, BW_FAULT_SEIZED);
        t = pull(&trial);
        assert_true(t.turned_deg == 0);
    }
}

/* Stops two to eight degrees after it began to yield, within the window; a weak one yields below
 * it. */
static void test_yield(void **state) {
    (void)state;
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        bw_trial trial = yield(seed, BW_FAULT_NONE);
        bw_truth t = pull(&trial);
        assert_true(t.yielded && t.yield_Nm > 60 && t.yield_Nm < 115 && t.peak_Nm < 115.01);
        /* Friction at rest, where a stroke begins just below yield. */
        assert_true(t.peak_Nm >= t.yield_Nm && t.peak_Nm < 1.16 * t.yield_Nm);
        assert_true(t.counted_deg > 20);
        trial = yield(seed, BW_FAULT_YIELDING);
        t = pull(&trial);
        assert_true(t.yielded && t.yield_Nm < 60);
        trial = yield(seed, BW_FAULT_SHORT);
        t = pull(&trial);
        assert_true(!t.yielded && t.yield_Nm == 0);
        trial = yield(seed, BW_FAULT_OVER);
        t = pull(&trial);
        assert_true(t.yielded && t.counted_deg > 90);
    }
}

/* Measured, pulled on, measured: right within a few pulls, from below. */
static void test_stretch(void **state) {
    (void)state;
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        bw_trial trial = stretch(seed, BW_FAULT_NONE);
        bw_truth t = pull(&trial);
        assert_true(t.before_mm == 0 && t.growth_mm > 0 && t.growth_mm <= trial.stage.high_mm);
        for (int i = 0; i < PULLS && t.growth_mm < trial.stage.low_mm; i++) {
            double grown_mm = t.growth_mm;
            go_on(&trial, &t);
            t = pull(&trial);
            assert_true(t.before_mm == grown_mm && t.growth_mm > grown_mm);
        }
        assert_true(t.growth_mm >= trial.stage.low_mm && t.growth_mm <= trial.stage.high_mm);
        trial = stretch(seed, BW_FAULT_BOTTOMED);
        trial.stage.high_Nm = 60;
        t = pull(&trial);
        assert_true(t.growth_mm < 0.02 && t.peak_Nm <= 60);
        trial = stretch(seed, BW_FAULT_OVER);
        t = pull(&trial);
        assert_true(t.growth_mm > trial.stage.high_mm);
    }
}

/* To the least torque, then to a slot, never above the most; a tenth of them have one at once. */
static void test_slot(void **state) {
    (void)state;
    size_t at_once = 0;
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        bw_trial trial = slot(seed, BW_FAULT_NONE);
        bw_truth t = pull(&trial);
        assert_true(t.peak_Nm >= 30 && t.peak_Nm < 32);
        at_once += t.slot_meets ? 1 : 0;
        if (!t.slot_meets) {
            go_on(&trial, &t);
            t = pull(&trial);
            assert_true(t.slot_meets && t.turned_deg > 2 && t.turned_deg < 60);
            assert_true(t.peak_Nm > 30 && t.peak_Nm < 120);
        }
        trial = slot(seed, BW_FAULT_OVER);
        assert_true(pull(&trial).peak_Nm > 120);
    }
    assert_true(at_once > 0 && at_once < SEEDS / 2);
}

/* Moves a degree or three at its friction at rest, or holds to somewhere between the limits; one
 * that let go moves far below. */
static void test_check(void **state) {
    (void)state;
    size_t moved = 0;
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        bw_trial trial = check(seed, BW_FAULT_NONE);
        bw_truth t = pull(&trial);
        assert_true(t.first_move_Nm > 1.019 * 60 && t.first_move_Nm < 1.151 * 60);
        assert_true(t.turned_deg < 3.5 && t.peak_Nm > 50 && t.peak_Nm < 75);
        assert_true((t.turned_deg > 0) == (t.peak_Nm >= t.first_move_Nm - 1e-6));
        moved += t.turned_deg > 0 ? 1 : 0;
        trial = check(seed, BW_FAULT_RELAXED);
        t = pull(&trial);
        assert_true(t.first_move_Nm < 40 && t.turned_deg > 0.5 && t.peak_Nm < 45);
        trial = check(seed, BW_FAULT_SHORT);
        t = pull(&trial);
        assert_true(t.turned_deg == 0 && t.peak_Nm < 40);
        trial = check(seed, BW_FAULT_OVER);
        t = pull(&trial);
        assert_true(t.peak_Nm > 75);
    }
    assert_true(moved > SEEDS / 4 && moved < SEEDS);
}

/* A whole turn and more, strokes or not; the mean that is told is that of the thing. */
static void test_running(void **state) {
    (void)state;
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        bw_trial trial = running(BW_STAGE_PREVAILING, seed, BW_FAULT_NONE);
        bw_truth t = pull(&trial);
        assert_true(t.turned_deg > 370 && t.turned_deg < 420 && t.preload_N == 0);
        assert_true(fabs(t.mean_Nm / t.fastener.prevailing_Nm - 1) < 0.08);
        assert_true(t.mean_Nm > 2 && t.mean_Nm < 4);
        trial = running(BW_STAGE_PREVAILING, seed, BW_FAULT_WEAK_LOCK);
        t = pull(&trial);
        assert_true(t.mean_Nm < 0.7);
        trial = running(BW_STAGE_ROTATING, seed, BW_FAULT_NONE);
        t = pull(&trial);
        assert_true(t.turned_deg > 370 && t.mean_Nm > 0.78 * 3 && t.mean_Nm < 1.22 * 3);
        assert_true(t.peak_Nm > t.mean_Nm);
        trial = running(BW_STAGE_ROTATING, seed, BW_FAULT_SHORT);
        assert_true(pull(&trial).turned_deg < 300);
    }
}

static void test_creep(void **state) {
    (void)state;
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        bw_trial trial = running(BW_STAGE_CREEP, seed, BW_FAULT_NONE);
        bw_truth t = pull(&trial);
        assert_true(t.fastener.prevailing_Nm < 2);
        for (int i = 0; i < PULLS && t.fastener.prevailing_Nm < 2; i++) {
            double before_Nm = t.fastener.prevailing_Nm;
            go_on(&trial, &t);
            t = pull(&trial);
            assert_true(t.fastener.prevailing_Nm > before_Nm && t.turned_deg > 370);
        }
        assert_true(t.fastener.prevailing_Nm >= 2 && t.fastener.prevailing_Nm <= 4);
        trial = running(BW_STAGE_CREEP, seed, BW_FAULT_OVERCREPT);
        assert_true(pull(&trial).fastener.prevailing_Nm > 4.3);
    }
}

/* Every fault in every kind that it fits comes to an end, in any style, and is the same again. */
/* What a stage asks for is what such a joint gives, at the group's mean. */
static void test_joint_suits(void **state) {
    (void)state;
    bw_joint_spec spec = bw_joint_usual(10, 1.25, "10.9", "oil");
    const bw_joint_spec before = spec;
    bw_stage torque = {.kind = BW_STAGE_TORQUE, .target_Nm = 40, .low_Nm = 38, .high_Nm = 42};
    bw_joint_suit(&spec, &torque);
    assert_memory_equal(&spec, &before, sizeof spec);
    bw_stage longer = stretch(1, BW_FAULT_NONE).stage;
    longer.target_mm = 0.14;
    bw_joint_suit(&spec, &longer);
    bw_stage yields = yield(1, BW_FAULT_NONE).stage;
    yields.low_Nm = 40;
    yields.high_Nm = 60;
    spec.friction_spread = 0;
    bw_joint_suit(&spec, &yields);
    bw_fastener f = bw_fastener_drawn(&spec, 7);
    bw_fastener_turn(&f, bw_fastener_to_yield_deg(&f));
    assert_true(fabs(bw_fastener_turning_Nm(&f) - 50) < 0.01);
    spec = before;
    bw_joint_suit(&spec, &longer);
    f = bw_fastener_drawn(&spec, 7);
    bw_fastener_turn(&f, bw_fastener_to_growth_deg(&f, 0.14));
    assert_true(bw_fastener_preload_N(&f) > 0.55 * f.yield_N);
    assert_true(bw_fastener_preload_N(&f) < 0.75 * f.yield_N);
    bw_trial locks = running(BW_STAGE_PREVAILING, 1, BW_FAULT_NONE);
    bw_trial creeps = running(BW_STAGE_CREEP, 1, BW_FAULT_NONE);
    bw_joint_suit(&spec, &locks.stage);
    bw_joint_suit(&spec, &creeps.stage);
    assert_true(spec.prevailing_Nm == 3 && spec.drag_Nm == 3 && spec.free_least_deg > 600);
}

static void test_all_faults_in_all_kinds(void **state) {
    (void)state;
    static const struct {
        bw_stage_kind kind;
        bw_trial (*make)(uint64_t seed, bw_fault_kind fault);
    } rows[] = {{BW_STAGE_BACK_OFF, back_off},
                {BW_STAGE_YIELD, yield},
                {BW_STAGE_STRETCH, stretch},
                {BW_STAGE_SLOT, slot},
                {BW_STAGE_CHECK, check}};
    static const bw_stage_kind runs[] = {BW_STAGE_PREVAILING, BW_STAGE_ROTATING, BW_STAGE_CREEP};
    size_t fits = 0;
    for (int fault = BW_FAULT_NONE; fault < BW_FAULT_KIND_COUNT; fault++) {
        for (size_t row = 0; row < 5 + 3; row++) {
            bw_stage_kind kind = row < 5 ? rows[row].kind : runs[row - 5];
            for (uint64_t seed = 0; seed < 4; seed++) {
                bw_trial trial = row < 5 ? rows[row].make(seed, (bw_fault_kind)fault)
                                         : running(kind, seed, (bw_fault_kind)fault);
                trial.style = (bw_hand_style)(1 + seed);
                if (bw_fault_fits((bw_fault_kind)fault, kind)) {
                    bw_truth first = pull(&trial);
                    bw_truth again = pull(&trial);
                    assert_true(first.peak_Nm == again.peak_Nm);
                    assert_true(first.growth_mm == again.growth_mm);
                    fits++;
                }
            }
        }
    }
    assert_true(fits > 400);
    assert_false(bw_fault_fits(BW_FAULT_OVERCREPT, BW_STAGE_TORQUE));
    assert_false(bw_fault_fits(BW_FAULT_DRY, BW_STAGE_CREEP));
    assert_true(bw_fault_fits(BW_FAULT_OVERCREPT, BW_STAGE_CREEP));
    assert_true(bw_fault_fits(BW_FAULT_NONE, BW_STAGE_CREEP));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_back_until_loose),
        cmocka_unit_test(test_yield),
        cmocka_unit_test(test_stretch),
        cmocka_unit_test(test_slot),
        cmocka_unit_test(test_check),
        cmocka_unit_test(test_running),
        cmocka_unit_test(test_creep),
        cmocka_unit_test(test_joint_suits),
        cmocka_unit_test(test_all_faults_in_all_kinds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
