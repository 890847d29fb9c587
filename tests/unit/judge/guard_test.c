/* guard_test.c - the wrench's uncertainty, the decision rule and the calibrated range: one step of
 * the wrench below, at and above each guarded limit, for every kind of stage that has one. */
#include "cmocka_all.h"

#include "judge/guard.h"
#include "pen.h"

#include <math.h>
#include <string.h>

static const double share = 0.015;
static const double deg = 1.0;

/* Guards in expanded uncertainties: JCGM 106 with g = U, and g = 1.645 u where U = 2 u. */
static double guard_of(bw_rule rule) {
    static const double guards[] = {0, 1, 1.6448536269514722 / 2};
    return guards[rule];
}

static bw_stage stage_of(bw_stage_kind kind) {
    bw_stage stage = angle_stage(-INFINITY, INFINITY);
    stage.kind = kind;
    stage.target_deg = 0;
    return stage;
}

/* A verdict that passed with this torque and turn. */
static bw_verdict passed(double torque_Nm, double turn_deg) {
    return (bw_verdict){.has_judged = true,
                        .judged_Nm = torque_Nm,
                        .peak_Nm = torque_Nm,
                        .has_turn = true,
                        .turn_deg = turn_deg};
}

static const struct {
    bw_stage_kind kind;
    bool more; /* pulling on mends what is near the low limit */
} torque_kinds[] = {
    {BW_STAGE_TORQUE, true}, {BW_STAGE_TORQUE_ANGLE, false}, {BW_STAGE_ANGLE, false},
    {BW_STAGE_YIELD, false}, {BW_STAGE_STRETCH, false},      {BW_STAGE_SLOT, true},
    {BW_STAGE_CHECK, true},  {BW_STAGE_PREVAILING, false},   {BW_STAGE_ROTATING, false},
    {BW_STAGE_CREEP, true},
};

static void test_torque(void **state) {
    (void)state;
    for (size_t k = 0; k < sizeof torque_kinds / sizeof torque_kinds[0]; k++) {
        for (bw_rule rule = 0; rule < BW_RULE_COUNT; rule++) {
            bw_stage stage = stage_of(torque_kinds[k].kind);
            bw_terms terms = {.rule = rule, .uncertainty_share = share, .uncertainty_deg = deg};
            stage.low_Nm = 57;
            stage.high_Nm = 63;
            /* At the guarded limit y = low + g share y. */
            double low = 57 / (1 - guard_of(rule) * share);
            double high = 63 / (1 + guard_of(rule) * share);
            for (int side = -1; side <= 1; side++) {
                bw_verdict v = passed(low + 0.01 * side, 0);
                bw_guard_judge(&stage, &terms, &v);
                bool near = side < 0 && rule != BW_RULE_SIMPLE;
                verdict_is(&v, near ? BW_VERDICT_SUSPECT : BW_VERDICT_PASS,
                           near ? BW_REASON_INSIDE_GUARD : 0, near && torque_kinds[k].more);
                close_to(v.uncertainty_Nm, share * v.judged_Nm, 0);
                assert_int_equal(v.rule, rule);
                v = passed(high + 0.01 * side, 0);
                bw_guard_judge(&stage, &terms, &v);
                near = side > 0 && rule != BW_RULE_SIMPLE;
                verdict_is(&v, near ? BW_VERDICT_SUSPECT : BW_VERDICT_PASS,
                           near ? BW_REASON_INSIDE_GUARD : 0, false);
            }
        }
    }
}

static void test_turn(void **state) {
    (void)state;
    for (bw_stage_kind kind = 0; kind < BW_STAGE_KIND_COUNT; kind++) {
        bool judged = bw_stage_traits_of(kind)->limits_turn;
        for (bw_rule rule = 0; rule < BW_RULE_COUNT; rule++) {
            bw_stage stage = stage_of(kind);
            bw_terms terms = {.rule = rule, .uncertainty_share = share, .uncertainty_deg = deg};
            stage.low_deg = 86;
            stage.high_deg = 94;
            double guard = guard_of(rule) * deg;
            for (int side = -1; side <= 1; side++) {
                bw_verdict v = passed(60, 86 + guard + 0.1 * side);
                bw_guard_judge(&stage, &terms, &v);
                bool near = judged && side < 0 && rule != BW_RULE_SIMPLE;
                verdict_is(&v, near ? BW_VERDICT_SUSPECT : BW_VERDICT_PASS,
                           near ? BW_REASON_INSIDE_GUARD : 0, near);
                v = passed(60, 94 - guard + 0.1 * side);
                bw_guard_judge(&stage, &terms, &v);
                near = judged && side > 0 && rule != BW_RULE_SIMPLE;
                verdict_is(&v, near ? BW_VERDICT_SUSPECT : BW_VERDICT_PASS,
                           near ? BW_REASON_INSIDE_GUARD : 0, false);
            }
        }
    }
}

/* Once it is loose the angle does not matter; a turn that is not known is no guard's matter. */
static void test_turn_that_does_not_count(void **state) {
    (void)state;
    bw_terms terms = {.rule = BW_RULE_GUARDED, .uncertainty_deg = deg};
    bw_stage stage = stage_of(BW_STAGE_BACK_OFF);
    stage.low_deg = 86;
    stage.high_deg = 94;
    bw_verdict v = passed(0, 86);
    v.has_judged = false;
    bw_verdict until = v;
    bw_guard_judge(&stage, &terms, &v);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_INSIDE_GUARD, true);
    close_to(v.uncertainty_Nm, 0, 0);
    until.loose = true;
    bw_guard_judge(&stage, &terms, &until);
    verdict_is(&until, BW_VERDICT_PASS, 0, false);
    bw_verdict unknown = passed(0, 0);
    unknown.has_judged = false;
    unknown.has_turn = false;
    bw_guard_judge(&stage, &terms, &unknown);
    verdict_is(&unknown, BW_VERDICT_PASS, 0, false);
}

/* One limit only: the other side is open. */
static void test_one_sided(void **state) {
    (void)state;
    bw_terms terms = {.rule = BW_RULE_GUARDED, .uncertainty_share = share};
    bw_stage stage = stage_of(BW_STAGE_TORQUE);
    stage.low_Nm = 57;
    bw_verdict v = passed(57.5, 0);
    bw_guard_judge(&stage, &terms, &v);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_INSIDE_GUARD, true);
    v = passed(600, 0);
    bw_guard_judge(&stage, &terms, &v);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    stage.low_Nm = -INFINITY;
    stage.high_Nm = 63;
    v = passed(62.5, 0);
    bw_guard_judge(&stage, &terms, &v);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_INSIDE_GUARD, false);
    v = passed(0.1, 0);
    bw_guard_judge(&stage, &terms, &v);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
}

/* Guards that meet leave one value; guards that cross leave none, on whichever side it is. */
static void test_nothing_left(void **state) {
    (void)state;
    bw_terms terms = {.rule = BW_RULE_GUARDED, .uncertainty_share = 0.05};
    bw_stage stage = stage_of(BW_STAGE_TORQUE);
    stage.low_Nm = 57;
    stage.high_Nm = 63;
    bw_verdict v = passed(60, 0);
    bw_guard_judge(&stage, &terms, &v);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    terms.uncertainty_share = 0.0501;
    for (double Nm = 57; Nm <= 63; Nm += 0.5) {
        v = passed(Nm, 0);
        bw_guard_judge(&stage, &terms, &v);
        verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_INSIDE_GUARD, Nm < 59.8);
    }
    stage.low_Nm = 60;
    stage.high_Nm = 60;
    v = passed(60, 0);
    bw_guard_judge(&stage, &terms, &v);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_INSIDE_GUARD, false);
}

/* What is not known shows nothing to a guarded rule; a simple one asks for nothing. */
static void test_unknown_uncertainty(void **state) {
    (void)state;
    bw_stage torque = torque_stage(57, 60, 63);
    bw_stage angle = angle_stage(86, 94);
    for (bw_rule rule = 0; rule <= BW_RULE_COUNT; rule++) { /* with one that nobody knows */
        bw_outcome outcome = rule == BW_RULE_SIMPLE ? BW_VERDICT_PASS : BW_VERDICT_SUSPECT;
        uint32_t reason = rule == BW_RULE_SIMPLE ? 0 : BW_REASON_INSIDE_GUARD;
        bw_terms terms = {.rule = rule, .uncertainty_deg = deg};
        bw_verdict v = passed(60, 90);
        bw_guard_judge(&torque, &terms, &v);
        verdict_is(&v, outcome, reason, false);
        terms = (bw_terms){.rule = rule, .uncertainty_share = share};
        v = passed(60, 90); /* an angle without limits of torque needs no torque's uncertainty */
        bw_guard_judge(&angle, &terms, &v);
        verdict_is(&v, outcome, reason, false);
        terms = (bw_terms){.rule = rule, .uncertainty_deg = deg};
        v = passed(60, 90);
        bw_guard_judge(&angle, &terms, &v);
        bool known = rule < BW_RULE_COUNT;
        verdict_is(&v, known ? BW_VERDICT_PASS : BW_VERDICT_SUSPECT,
                   known ? 0 : BW_REASON_INSIDE_GUARD, false);
    }
}

/* ---- the calibrated range ---- */

static void test_range(void **state) {
    (void)state;
    static const struct {
        double torque_Nm;
        bw_outcome outcome; /* before */
        bool more;
        bw_outcome then;
        uint32_t reason;
        bool then_more;
    } rows[] = {
        {20, BW_VERDICT_PASS, false, BW_VERDICT_PASS, 0, false},
        {19.99, BW_VERDICT_PASS, false, BW_VERDICT_SUSPECT, BW_REASON_OUT_OF_RANGE, false},
        {200, BW_VERDICT_PASS, false, BW_VERDICT_PASS, 0, false},
        {200.01, BW_VERDICT_PASS, false, BW_VERDICT_SUSPECT, BW_REASON_OUT_OF_RANGE, false},
        {19.99, BW_VERDICT_LOW, true, BW_VERDICT_LOW, 0, true},
        {200.01, BW_VERDICT_LOW, true, BW_VERDICT_LOW, BW_REASON_OUT_OF_RANGE, false},
        {19.99, BW_VERDICT_HIGH, false, BW_VERDICT_HIGH, BW_REASON_OUT_OF_RANGE, false},
        {200.01, BW_VERDICT_HIGH, false, BW_VERDICT_HIGH, BW_REASON_OUT_OF_RANGE, false},
        {200.01, BW_VERDICT_SUSPECT, true, BW_VERDICT_SUSPECT, BW_REASON_OUT_OF_RANGE, false},
    };
    bw_stage stage = stage_of(BW_STAGE_TORQUE);
    bw_terms terms = {.range_low_Nm = 20, .range_high_Nm = 200};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_verdict v = passed(rows[i].torque_Nm, 0);
        v.outcome = rows[i].outcome;
        v.more = rows[i].more;
        bw_guard_judge(&stage, &terms, &v);
        verdict_is(&v, rows[i].then, rows[i].reason, rows[i].then_more);
    }
    bw_verdict v = passed(1, 0); /* not judged by its torque; no range known */
    v.has_judged = false;
    bw_guard_judge(&stage, &terms, &v);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    v = passed(1, 0);
    bw_guard_judge(&stage, &(bw_terms){.range_low_Nm = 20}, &v);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    v = passed(0.95, 0); /* a screwdriver's range is one too */
    bw_guard_judge(&stage, &(bw_terms){.range_low_Nm = 0.1, .range_high_Nm = 0.9}, &v);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_OUT_OF_RANGE, false);
}

/* ---- together ---- */

/* What is outside is outside; a guard changes nothing in it. */
static void test_only_what_passed(void **state) {
    (void)state;
    bw_terms terms = {.rule = BW_RULE_GUARDED, .uncertainty_share = share};
    bw_stage stage = torque_stage(57, 60, 63);
    static const bw_outcome outcomes[] = {BW_VERDICT_LOW, BW_VERDICT_HIGH, BW_VERDICT_SUSPECT};
    for (size_t i = 0; i < 3; i++) {
        bw_verdict v = passed(57.1, 0);
        v.outcome = outcomes[i];
        bw_guard_judge(&stage, &terms, &v);
        verdict_is(&v, outcomes[i], 0, false);
        close_to(v.uncertainty_Nm, share * 57.1, 0);
    }
}

/* Steep beside its siblings and near a limit: both are said, and pulling on mends nothing. */
static void test_with_a_slope(void **state) {
    (void)state;
    bw_terms terms = {.rule = BW_RULE_GUARDED, .uncertainty_share = share};
    bw_stage stage = torque_stage(57, 60, 63);
    bw_verdict v = passed(57.1, 0);
    v.outcome = BW_VERDICT_SUSPECT;
    v.reasons = BW_REASON_STEEP;
    bw_guard_judge(&stage, &terms, &v);
    verdict_is(&v, BW_VERDICT_SUSPECT, (uint32_t)BW_REASON_STEEP | (uint32_t)BW_REASON_INSIDE_GUARD,
               false);
}

/* Near to both a limit that can be mended and one that can't. */
static void test_torque_and_turn(void **state) {
    (void)state;
    bw_terms terms = {.rule = BW_RULE_GUARDED, .uncertainty_share = share, .uncertainty_deg = deg};
    bw_stage stage = angle_stage(86, 94);
    stage.low_Nm = 57;
    bw_verdict v = passed(70, 86.5);
    bw_guard_judge(&stage, &terms, &v);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_INSIDE_GUARD, true);
    v = passed(57.1, 86.5);
    bw_guard_judge(&stage, &terms, &v);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_INSIDE_GUARD, false);
    v = passed(57.1, 90);
    bw_guard_judge(&stage, &terms, &v);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_INSIDE_GUARD, false);
}

/* A check that has moved shows its torque; pulling harder shows no other. */
static void test_check_that_moved(void **state) {
    (void)state;
    bw_terms terms = {.rule = BW_RULE_GUARDED, .uncertainty_share = share};
    bw_stage stage = torque_stage(50, 0, 75);
    stage.kind = BW_STAGE_CHECK;
    for (int moved = 0; moved <= 1; moved++) {
        bw_verdict v = passed(50.1, moved == 1 ? 5 : 0);
        bw_guard_judge(&stage, &terms, &v);
        verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_INSIDE_GUARD, moved == 0);
    }
}

/* Through the doors: a trace and a bare result. */
static void test_through_the_judge(void **state) {
    (void)state;
    static pen p;
    bw_stage stage = torque_stage(57, 60, 63);
    bw_standing loose = {0};
    bw_terms terms = {.rule = BW_RULE_GUARDED,
                      .uncertainty_share = share,
                      .range_low_Nm = 20,
                      .range_high_Nm = 200};
    for (double peak = 57; peak <= 63; peak += 0.25) {
        bool near = peak < 57 / (1 - share) || peak > 63 / (1 + share);
        pen_take(&p, 100);
        pen_pull(&p, 10, peak, 30);
        bw_judge judge;
        bw_judge_begin(&judge, &stage, &loose, &terms);
        for (size_t i = 0; i < p.n; i++) {
            (void)bw_judge_sample(&judge, &p.sample[i]);
        }
        bw_verdict v = bw_judge_end(&judge, true);
        double when_s = -1;
        verdict_is(&v, near ? BW_VERDICT_SUSPECT : BW_VERDICT_PASS,
                   near ? BW_REASON_INSIDE_GUARD : 0, near && peak < 60);
        close_to(v.uncertainty_Nm, share * peak, 1e-9);
        assert_true(bw_judge_when(&judge, BW_REASON_INSIDE_GUARD, &when_s));
        close_to(when_s, judge.peak_s, 0);
        v = bw_judge_result(&stage, &loose, &terms, peak, true, 30);
        verdict_is(&v, near ? BW_VERDICT_SUSPECT : BW_VERDICT_PASS,
                   (near ? (uint32_t)BW_REASON_INSIDE_GUARD : 0) | (uint32_t)BW_REASON_NO_TRACE,
                   near && peak < 60);
        close_to(v.uncertainty_Nm, share * peak, 1e-9);
        assert_int_equal(v.rule, BW_RULE_GUARDED);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_torque),
        cmocka_unit_test(test_turn),
        cmocka_unit_test(test_turn_that_does_not_count),
        cmocka_unit_test(test_one_sided),
        cmocka_unit_test(test_nothing_left),
        cmocka_unit_test(test_unknown_uncertainty),
        cmocka_unit_test(test_range),
        cmocka_unit_test(test_only_what_passed),
        cmocka_unit_test(test_with_a_slope),
        cmocka_unit_test(test_torque_and_turn),
        cmocka_unit_test(test_check_that_moved),
        cmocka_unit_test(test_through_the_judge),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
