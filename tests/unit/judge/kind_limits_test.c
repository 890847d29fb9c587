/* kind_limits_test.c - kinds.c and seen.c at each of their limits, from facts instead of a trace:
 * at it, and a hair or a millionth (the judge's rounding) beside it. */
#include "cmocka_all.h"

#include "judge/judge_int.h"
#include "pen.h"

#include <math.h>

static const double hair = 1e-9;
static const double step = 1e-6; /* what verdict.c compares by */

static const bw_standing fresh = {0};
static const bw_standing stands_100 = {.torque_Nm = 100};

static bw_stage stage_of(bw_stage_kind kind) {
    bw_stage stage = torque_stage(-INFINITY, 0, INFINITY);
    stage.kind = kind;
    return stage;
}

/* Pulled once to that torque and through that turn. */
static bw_facts pulled(double peak_Nm, double turn_deg) {
    return (bw_facts){.threshold_Nm = 3,
                      .pull_peak_Nm = peak_Nm,
                      .peak_Nm = peak_Nm,
                      .turn_deg = turn_deg,
                      .turn_known = true};
}

static bw_verdict judged(const bw_stage *stage, const bw_standing *standing, bw_facts facts) {
    bw_verdict v = {0};
    bw_judge_by_kind(stage, standing, &facts, &v);
    return v;
}

static void passes(const bw_stage *stage, const bw_standing *standing, bw_facts facts) {
    bw_verdict v = judged(stage, standing, facts);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
}

static void is_suspect(const bw_stage *stage, const bw_standing *standing, bw_facts facts,
                       bw_reason reason) {
    bw_verdict v = judged(stage, standing, facts);
    verdict_is(&v, BW_VERDICT_SUSPECT, reason, false);
}

/* ---- torque ---- */

/* A fresh fastener turns so far at least, be it less than a degree. */
static void test_least_turn(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    stage.least_turn_deg = 0.5;
    passes(&stage, &fresh, pulled(60, 0.5));
    is_suspect(&stage, &fresh, pulled(60, 0.5 - step), BW_REASON_NO_TURN);
    bw_facts unknown = pulled(60, 0);
    unknown.turn_known = false;
    passes(&stage, &fresh, unknown);
    stage.least_turn_deg = 0; /* not asked for: a gyro may have drifted back */
    passes(&stage, &fresh, pulled(60, -0.2));
}

/* What a gasket lets go of turns 30 degrees back at most; a bolt that yields turns on. */
static void test_turns_again(void **state) {
    (void)state;
    bw_stage stage = torque_stage(114, 120, 126);
    passes(&stage, &stands_100, pulled(120, 30));
    is_suspect(&stage, &stands_100, pulled(120, 30 + step), BW_REASON_YIELDING);
    bw_standing known = stands_100; /* then its curve tells, however long it is */
    known.joint_Nm_per_deg = 0.5;
    passes(&stage, &known, pulled(120, 300));
    bw_standing stands_less = {.torque_Nm = 100 - step}; /* than 1 / 1.2 of its target */
    passes(&stage, &stands_less, pulled(120, 90));
    stage.kind = BW_STAGE_SLOT; /* turned on for its slot */
    passes(&stage, &stands_100, pulled(120, 90));
}

/* ---- an angle that does not come ---- */

/* Thirty percent above what it stood at is twice its friction at rest. */
static void test_stuck_torque(void **state) {
    (void)state;
    bw_stage stage = angle_stage(80, 100);
    bw_verdict v = judged(&stage, &stands_100, pulled(130, 0));
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    is_suspect(&stage, &stands_100, pulled(130 + hair, 0), BW_REASON_NO_TURN);
    stage = snug_stage(40, 80, 100); /* counted from snug, whatever it stood at */
    v = judged(&stage, &stands_100, pulled(52, 0));
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    is_suspect(&stage, &stands_100, pulled(52 + hair, 0), BW_REASON_NO_TURN);
}

/* A tenth of the turn is movement, not a slip of the wrench. */
static void test_stuck_turn(void **state) {
    (void)state;
    bw_stage stage = angle_stage(80, 100);
    bw_verdict v = judged(&stage, &stands_100, pulled(140, 8));
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    is_suspect(&stage, &stands_100, pulled(140, 8 - hair), BW_REASON_NO_TURN);
}

/* One that stood at nothing known can't be stuck at it; a small screw stands at less than 1 N.m. */
static void test_stuck_at_what(void **state) {
    (void)state;
    bw_stage stage = angle_stage(80, 100);
    bw_standing small = {.torque_Nm = 0.5};
    is_suspect(&stage, &small, pulled(0.9, 0), BW_REASON_NO_TURN);
    bw_verdict v = judged(&stage, &fresh, pulled(0.9, 0));
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
}

/* Backed off until it is loose, how far it must turn is not said. */
static void test_stuck_until_loose(void **state) {
    (void)state;
    bw_stage stage = stage_of(BW_STAGE_BACK_OFF);
    stage.low_deg = 80;
    is_suspect(&stage, &stands_100, pulled(140, 0), BW_REASON_NO_TURN);
    stage.until_loose = true;
    bw_verdict v = judged(&stage, &stands_100, pulled(140, 0));
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
}

/* ---- what is not seen ---- */

/* A turn that was lost is lost; what is backed off until it is loose can be turned again, unless
 * the wrench has no trace at all. */
static void test_unseen_turn(void **state) {
    (void)state;
    bw_stage stage = stage_of(BW_STAGE_BACK_OFF);
    bw_facts facts = {.peak_Nm = 50, .pull_peak_Nm = 50};
    is_suspect(&stage, &stands_100, facts, 0);
    stage.until_loose = true;
    passes(&stage, &stands_100, facts);
    bw_verdict v = {.reasons = BW_REASON_NO_TRACE};
    bw_judge_by_kind(&stage, &stands_100, &facts, &v);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TRACE, false);
}

/* ---- stretch ---- */

/* A pull is one from the threshold on: only then is there something to measure. */
static void test_stretch_was_pulled(void **state) {
    (void)state;
    bw_stage stage = stage_of(BW_STAGE_STRETCH);
    passes(&stage, &fresh, pulled(3, 0));
    bw_verdict v = judged(&stage, &fresh, pulled(3 - hair, 0));
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, true);
}

/* ---- which torque was judged ---- */

static void test_judged_torque(void **state) {
    (void)state;
    bw_stage stage = torque_stage(0.4, 0.5, 0.6);
    bw_verdict v = judged(&stage, &fresh, pulled(0.5, 30));
    assert_true(v.has_judged && v.judged_Nm == 0.5);
    v = judged(&stage, &fresh, pulled(0, 0)); /* nothing came: nothing was judged */
    assert_true(!v.has_judged && v.judged_Nm == 0.0);
    stage.low_Nm = -INFINITY; /* one limit will do */
    v = judged(&stage, &fresh, pulled(0.5, 30));
    assert_true(v.has_judged && v.judged_Nm == 0.5);
    stage.high_Nm = INFINITY;
    v = judged(&stage, &fresh, pulled(0.5, 30));
    assert_true(!v.has_judged && v.judged_Nm == 0.0);
}

/* The end of a turn is held against the highest torque of all its pulls; a torque against that of
 * this one, unless an earlier one was too much. */
static void test_judged_of_which_pull(void **state) {
    (void)state;
    bw_facts facts = pulled(50, 90);
    facts.peak_Nm = 70;
    bw_stage stage = angle_stage(80, 100);
    stage.high_Nm = 80;
    bw_verdict v = judged(&stage, &fresh, facts);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    assert_true(v.judged_Nm == 70.0);
    stage = torque_stage(45, 50, 80);
    v = judged(&stage, &fresh, facts);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    assert_true(v.judged_Nm == 50.0);
    stage.high_Nm = 55;
    v = judged(&stage, &fresh, facts);
    verdict_is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
    assert_true(v.judged_Nm == 70.0);
}

/* ---- answers ---- */

/* Where the pull came up to the upper limit, the next one can't go on. */
static void test_room_to_pull_on(void **state) {
    (void)state;
    bw_stage stage = stage_of(BW_STAGE_STRETCH);
    stage.high_Nm = 80;
    stage.low_mm = 0.10;
    stage.high_mm = 0.14;
    for (int less = 0; less < 2; less++) {
        bw_verdict pull = {.peak_Nm = 80 - step * less};
        bw_verdict v = bw_judge_seen(&stage, &pull, &(bw_seen){.before_mm = 60, .after_mm = 60.05});
        verdict_is(&v, BW_VERDICT_LOW, BW_REASON_STRETCH_SHORT, less == 1);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_least_turn),      cmocka_unit_test(test_turns_again),
        cmocka_unit_test(test_stuck_torque),    cmocka_unit_test(test_stuck_turn),
        cmocka_unit_test(test_stuck_at_what),   cmocka_unit_test(test_stuck_until_loose),
        cmocka_unit_test(test_unseen_turn),     cmocka_unit_test(test_stretch_was_pulled),
        cmocka_unit_test(test_judged_torque),   cmocka_unit_test(test_judged_of_which_pull),
        cmocka_unit_test(test_room_to_pull_on),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
