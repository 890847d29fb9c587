/* trial_test.c - the judge on whole simulated pulls of the kinds that are more than a torque or an
 * angle, against what was true of the fastener: figures right, no good one turned away, no bad one
 * let through.  Wrenches and joints vary over all of what judging.md promises for. */
#include "cmocka_all.h"

#include "judge/judge.h"
#include "rehearsal/trial.h"

#include <math.h>

enum { ROOM = 250000, PULLS_MOST = 8, SEEDS = 36 };

static bw_sample trace[ROOM];

static double between(uint64_t seed, uint64_t which, double least, double most) {
    uint64_t z = (seed * 0x9e3779b97f4a7c15u) ^ (which * 0xbf58476d1ce4e5b9u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return least + (most - least) * (double)((z ^ (z >> 31)) >> 11) / 9007199254740992.0;
}

/* M8, M10 or M12 10.9 in oil, pulled to 25, 55 or 95 N.m as a rule. */
static const double usual_Nm[] = {25, 55, 95};

static bw_trial trial_of(uint64_t seed, bw_stage stage) {
    static const double rates_Hz[] = {100, 200, 500, 1000};
    bw_trial trial = {.seed = seed,
                      .joint = bw_joint_usual(8.0 + 2.0 * (double)(seed % 3), 0, "10.9", "oil"),
                      .stage = stage,
                      .wrench = bw_hand_usual_wrench()};
    trial.joint.rest_least = 0.02;
    trial.joint.rest_most = 0.15;
    trial.wrench.rate_Hz = rates_Hz[seed / 3 % 4];
    trial.wrench.noise_Nm = 0.05;
    trial.wrench.windup_deg_per_Nm = between(seed, 1, 0.01, 0.1);
    return trial;
}

static bw_stage stage_of(bw_stage_kind kind, double low_Nm, double high_Nm) {
    return (bw_stage){.kind = kind,
                      .low_Nm = low_Nm,
                      .high_Nm = high_Nm,
                      .low_deg = -INFINITY,
                      .high_deg = INFINITY};
}

typedef struct run {
    bw_truth truth; /* of the last pull */
    bw_verdict verdict;
} run;

static void go_on(bw_trial *trial, bw_standing *standing, const run *r) {
    trial->before.pulls++;
    trial->before.turn_deg = r->verdict.turn_deg;
    trial->before.snug_reached = r->verdict.snug_reached;
    trial->before.fastener = r->truth.fastener;
    *standing = (bw_standing){.torque_Nm = standing->torque_Nm,
                              .turn_deg = r->verdict.turn_deg,
                              .turn_known = r->verdict.has_turn,
                              .snug_reached = r->verdict.snug_reached,
                              .peak_Nm = r->verdict.peak_Nm,
                              .judged_Nm = r->verdict.judged_Nm,
                              .slope_Nm_per_deg = r->verdict.slope_Nm_per_deg,
                              .pulls = r->verdict.pulls};
}

static run pulled(const bw_trial *trial, const bw_standing *standing) {
    run r;
    size_t n = 0;
    bw_judge judge;
    assert_true(bw_trial_run(trial, trace, ROOM, &n, &r.truth));
    bw_judge_begin(&judge, &trial->stage, standing, &(bw_terms){0});
    for (size_t i = 0; i < n; i++) {
        (void)bw_judge_sample(&judge, &trace[i]);
    }
    bw_verdict pull = bw_judge_end(&judge, r.truth.whole);
    bw_seen seen = {50, 50 + r.truth.growth_mm, r.truth.slot_meets};
    r.verdict = bw_judge_seen(&trial->stage, &pull, &seen);
    return r;
}

/* Pulls until nothing is left that another pull would mend.  recorded_Nm: what the record says of
 * it; stands_Nm: how tight it is. */
static run done(bw_trial *trial, double recorded_Nm, double stands_Nm) {
    bw_standing standing = {.torque_Nm = recorded_Nm};
    trial->stands_Nm = stands_Nm;
    run r = pulled(trial, &standing);
    for (int i = 1; i < PULLS_MOST && r.verdict.more; i++) {
        go_on(trial, &standing, &r);
        r = pulled(trial, &standing);
    }
    return r;
}

static bool passed(const run *r) {
    return r->verdict.outcome == BW_VERDICT_PASS;
}

static bw_stage back_off_stage(double target_deg) {
    bw_stage stage = stage_of(BW_STAGE_BACK_OFF, -INFINITY, INFINITY);
    stage.target_deg = target_deg;
    stage.low_deg = 0.75 * target_deg;
    stage.high_deg = 1.25 * target_deg;
    return stage;
}

static void test_back_off(void **state) {
    (void)state;
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        double tight_Nm = usual_Nm[seed % 3];
        bw_trial trial = trial_of(seed, back_off_stage(seed % 2 == 0 ? 20 : 40));
        run r = done(&trial, tight_Nm, tight_Nm);
        assert_true(passed(&r));
        double off_deg = fabs(r.verdict.turn_deg - r.truth.counted_deg);
        assert_true(r.verdict.loose ||
                    off_deg < (r.truth.preload_N > 0.05 * r.truth.before_N ? 1 : 4));
        assert_true(r.verdict.loose || !r.truth.loose);
        /* What is called loose keeps a hundredth of its preload at most. */
        assert_true(!r.verdict.loose || r.truth.preload_N < 0.03 * r.truth.before_N);
    }
}

static void test_until_loose(void **state) {
    (void)state;
    size_t found = 0;
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        double tight_Nm = usual_Nm[seed % 3];
        bw_stage stage = stage_of(BW_STAGE_BACK_OFF, -INFINITY, INFINITY);
        stage.until_loose = true;
        bw_trial trial = trial_of(seed, stage);
        run r = done(&trial, tight_Nm, tight_Nm);
        assert_true(!passed(&r) || r.truth.loose);
        found += passed(&r) ? 1 : 0;
    }
    /* A stroke that ends where the torque does is not known for it. */
    assert_true(found >= SEEDS - SEEDS / 20);
}

static bw_stage yield_stage(double usual, double low, double high) {
    bw_stage stage = stage_of(BW_STAGE_YIELD, low * usual, high * usual);
    stage.snug_Nm = 0.5 * usual;
    stage.slope_share = 0.5;
    stage.high_deg = 150;
    return stage;
}

static void test_yield(void **state) {
    (void)state;
    static const bw_fault_kind faults[] = {BW_FAULT_NONE, BW_FAULT_SHORT, BW_FAULT_YIELDING};
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        double usual = usual_Nm[seed % 3];
        for (size_t k = 0; k < 3; k++) {
            bw_trial trial = trial_of(seed, yield_stage(usual, 0.9, 2.5));
            trial.fault = faults[k];
            double stands_Nm = seed % 2 == 0 ? 0 : 0.5 * usual;
            bw_standing standing = {.torque_Nm = stands_Nm};
            trial.stands_Nm = stands_Nm;
            run r = k == 1 ? pulled(&trial, &standing) : done(&trial, stands_Nm, stands_Nm);
            assert_int_equal(passed(&r), k == 0);
            if (k == 0) {
                assert_true(fabs(r.verdict.judged_Nm / r.truth.yield_Nm - 1) < 0.03);
            }
        }
    }
}

/* It holds, or it was let go of: the torque that first moves it tells. */
static void test_check(void **state) {
    (void)state;
    size_t moved = 0;
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        double tight_Nm = usual_Nm[seed % 3];
        bw_stage stage = stage_of(BW_STAGE_CHECK, 0.85 * tight_Nm, 1.3 * tight_Nm);
        stage.high_deg = 10;
        bw_trial trial = trial_of(seed, stage);
        run r = done(&trial, tight_Nm, tight_Nm);
        assert_true(passed(&r));
        trial = trial_of(seed, stage);
        r = done(&trial, tight_Nm, 0.6 * tight_Nm);
        assert_false(passed(&r));
        if ((r.verdict.reasons & (uint32_t)BW_REASON_BELOW_LIMIT) != 0) {
            moved++;
            assert_false(r.verdict.more);
            assert_true(fabs(r.verdict.judged_Nm / r.truth.first_move_Nm - 1) < 0.03);
        }
    }
    assert_true(moved > SEEDS / 2);
}

static bw_trial running_trial(uint64_t seed, bw_stage_kind kind, double low_Nm, double high_Nm) {
    bw_stage stage = stage_of(kind, low_Nm, high_Nm);
    stage.least_turn_deg = 360;
    bw_trial trial = trial_of(seed, stage);
    trial.joint.free_least_deg = 420;
    trial.joint.free_most_deg = 500;
    trial.joint.prevailing_Nm = 4;
    trial.joint.drag_Nm = 4;
    return trial;
}

static void test_running(void **state) {
    (void)state;
    static const bw_stage_kind kinds[] = {BW_STAGE_PREVAILING, BW_STAGE_ROTATING};
    for (uint64_t seed = 0; seed < SEEDS / 2; seed++) {
        for (size_t k = 0; k < 2; k++) {
            bw_trial trial = running_trial(seed, kinds[k], 2, 8);
            run r = done(&trial, 0, 0);
            assert_true(passed(&r) || r.truth.mean_Nm > 7.9 || r.truth.mean_Nm < 2.1);
            bool one = r.verdict.pulls == 1;
            assert_true(!one || fabs(r.verdict.judged_Nm / r.truth.mean_Nm - 1) < 0.02);
        }
        bw_trial trial = running_trial(seed, BW_STAGE_PREVAILING, 2, 8);
        trial.fault = BW_FAULT_WEAK_LOCK;
        run r = done(&trial, 0, 0);
        assert_int_equal(r.verdict.outcome, BW_VERDICT_LOW); /* or it is not felt at all */
    }
}

static void test_creep(void **state) {
    (void)state;
    for (uint64_t seed = 0; seed < SEEDS / 3; seed++) {
        bw_trial trial = running_trial(seed, BW_STAGE_CREEP, 2, 2.6);
        trial.joint.drag_Nm = 2.3;
        run r = done(&trial, 0, 0);
        assert_true(passed(&r));
        trial = running_trial(seed, BW_STAGE_CREEP, 2, 2.6);
        trial.joint.drag_Nm = 2.3;
        trial.fault = BW_FAULT_OVERCREPT;
        r = done(&trial, 0, 0);
        assert_int_equal(r.verdict.outcome, BW_VERDICT_HIGH);
    }
}

static void test_answered(void **state) {
    (void)state;
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        double usual = usual_Nm[seed % 3];
        bw_stage slot = stage_of(BW_STAGE_SLOT, 0.5 * usual, 1.2 * usual);
        slot.target_Nm = slot.low_Nm;
        slot.high_deg = 60;
        bw_trial trial = trial_of(seed, slot);
        run r = done(&trial, 0, 0);
        assert_true(!passed(&r) || (r.truth.slot_meets && r.truth.peak_Nm <= slot.high_Nm + 0.3));
        trial = trial_of(seed, slot);
        trial.fault = BW_FAULT_OVER;
        r = done(&trial, 0, 0);
        assert_false(passed(&r));
        bw_stage stretch = stage_of(BW_STAGE_STRETCH, -INFINITY, 2 * usual);
        stretch.target_Nm = 0.5 * usual;
        stretch.target_mm = 0.06;
        stretch.low_mm = 0.05;
        stretch.high_mm = 0.07;
        trial = trial_of(seed, stretch);
        r = done(&trial, 0, 0);
        double grown_mm = r.truth.growth_mm;
        assert_int_equal(passed(&r), grown_mm >= 0.05 && grown_mm <= 0.07);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_back_off), cmocka_unit_test(test_until_loose),
        cmocka_unit_test(test_yield),    cmocka_unit_test(test_check),
        cmocka_unit_test(test_running),  cmocka_unit_test(test_creep),
        cmocka_unit_test(test_answered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
