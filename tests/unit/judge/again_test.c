/* again_test.c - what earlier pulls and stages of a fastener tell of this one: how steep its joint
 * is, so that one which turns on without torque shows though nothing before it in the trace is
 * steep; and a rise too short for a slope that still is steeper than the others. */
#include "cmocka_all.h"

#include "judge/slope.h"
#include "pen.h"

#include <math.h>

static pen p;

/* One more pass on a fastener that stands at 52 N.m: it breaks away, and turns on to 60. */
static bw_verdict again(const bw_stage *stage, double joint_Nm_per_deg, double Nm_per_deg) {
    bw_standing stands = {.torque_Nm = 52, .joint_Nm_per_deg = joint_Nm_per_deg};
    pen_take(&p, 100);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 52, 0, 0.5);
    pen_to(&p, 60, 8 / Nm_per_deg, 1);
    pen_to(&p, 0, 0, 0.2);
    pen_to(&p, 0, 0, 0.4);
    return judge_pen(stage, &stands, &p);
}

/* Half of the slope that it had is the share of a stage that must stay elastic. */
static void test_pass_that_turns_on(void **state) {
    (void)state;
    bw_stage torque = torque_stage(57, 60, 63);
    bw_verdict v = again(&torque, 2, 2);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    v = again(&torque, 2, 1.05);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    v = again(&torque, 2, 0.95);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_YIELDING, false);
    v = again(&torque, 0, 0.95); /* nobody knows how steep it was */
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
}

/* An earlier pull of the same stage counts as one of an earlier stage does. */
static void test_pull_that_turns_on(void **state) {
    (void)state;
    bw_stage torque = torque_stage(57, 60, 63);
    bw_standing later = {.pulls = 1, .peak_Nm = 52, .turn_known = true, .slope_Nm_per_deg = 2};
    (void)again(&torque, 0, 0.95);
    bw_verdict v = judge_pen(&torque, &later, &p);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_YIELDING, false);
    later.slope_Nm_per_deg = 0;
    v = judge_pen(&torque, &later, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
}

static bw_stage stretch_stage(double target_Nm) {
    bw_stage stage = torque_stage(-INFINITY, target_Nm, INFINITY);
    stage.kind = BW_STAGE_STRETCH;
    return stage;
}

/* 60 N.m in a straight line, and then turn without torque. */
static bw_verdict stretched(const bw_stage *stage, double rate_Hz, double on_deg) {
    pen_take(&p, rate_Hz);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 60, 30, 1.5);
    pen_to(&p, 61, on_deg, 1);
    pen_to(&p, 0, 0, 0.2);
    pen_to(&p, 0, 0, 0.4);
    return judge_pen(stage, NULL, &p);
}

/* A length that is right does not excuse a bolt that gave way; with or without a torque to aim at,
 * and as well at a thousand samples a second as at fifty. */
static void test_stretch_that_gives_way(void **state) {
    (void)state;
    for (double rate_Hz = 50; rate_Hz <= 1000; rate_Hz *= 4.4) {
        for (double target_Nm = 0; target_Nm <= 60; target_Nm += 60) {
            bw_stage stage = stretch_stage(target_Nm);
            bw_verdict v = stretched(&stage, rate_Hz, 0);
            verdict_is(&v, BW_VERDICT_PASS, 0, false);
            v = stretched(&stage, rate_Hz, 25);
            verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_YIELDING, false);
        }
    }
}

/* Without a torque to aim at pieces are cut by their turn alone: at any rate of sampling there are
 * enough of them for a slope. */
static void test_slope_without_a_target(void **state) {
    (void)state;
    bw_stage stage = stretch_stage(0);
    for (double rate_Hz = 20; rate_Hz <= 1000; rate_Hz *= 5) {
        bw_verdict v = stretched(&stage, rate_Hz, 0);
        close_to(v.slope_Nm_per_deg, 2, 0.05);
    }
}

/* ---- at least so steep ---- */

static bw_curve curve;

static void node(double deg, double torque_Nm, uint32_t stroke) {
    curve.node[curve.n++] = (bw_node){0, deg, torque_Nm, stroke};
}

/* It ran free up to there. */
static void begin(double free_to_deg) {
    curve = (bw_curve){.least_deg = -100, .free_deg = free_to_deg + 100, .stroke = 1};
}

/* Of the rise 15 % may be friction at rest, a quarter a locking feature, and a degree of the turn
 * may have been missed. */
static void test_at_least(void **state) {
    (void)state;
    begin(-20);
    node(0, 12, 1);
    node(3, 46, 1);
    close_to(bw_slope_at_least(&curve, 0, 0), (46 / 1.15 - 12) / 4, 1e-12);
    close_to(bw_slope_at_least(&curve, 0.05, 0), (46 / 1.15 - 12) / 2.3, 1e-12);
    close_to(bw_slope_at_least(&curve, 0.2, 0), 46 / 1.15 - 12, 1e-12); /* no turn is left */
    curve.node[0].torque_Nm = 10;
    close_to(bw_slope_at_least(&curve, 0, 0), (46 / 1.15 - 46 * 0.25) / 4, 1e-12);
    curve.node[0].torque_Nm = 40; /* what sticks rises by itself; the run down is far away */
    curve.node[0].angle_deg = 3;
    close_to(bw_slope_at_least(&curve, 0, 0), 0, 0);
}

/* The run down is the place from where the first piece rises. */
static void test_at_least_from_the_run_down(void **state) {
    (void)state;
    begin(0);
    node(5, 46, 1);
    close_to(bw_slope_at_least(&curve, 0, 0), (46 / 1.15 - 46 * 0.25) / 6, 1e-12);
    curve.piece = (bw_piece){.n = 2, .sum_deg = 12, .sum_Nm = 4 * 46}; /* one still open: 6, 92 */
    close_to(bw_slope_at_least(&curve, 0, 0), (92 / 1.15 - 46) / 2, 1e-12);
    begin(0); /* nothing at all */
    close_to(bw_slope_at_least(&curve, 0, 0), 0, 0);
}

/* What takes longer than ten degrees has a slope of its own. */
static void test_at_least_over_a_short_turn(void **state) {
    (void)state;
    begin(0);
    node(20, 12, 1);
    node(30, 46, 1);
    close_to(bw_slope_at_least(&curve, 0, 0), 28 / 11.0, 1e-12);
    curve.node[1].angle_deg = nextafter(30, 31);
    close_to(bw_slope_at_least(&curve, 0, 0), 0, 0);
    node(31, 92, 1); /* later ones are nearer to each other */
    close_to(bw_slope_at_least(&curve, 0, 0), (92 / 1.15 - 46) / 2, 1e-9);
}

/* It does not move below what it stood at, nor below what an earlier stroke left it at. */
static void test_at_least_from_where_it_stood(void **state) {
    (void)state;
    begin(0);
    node(20, 12, 1);
    node(21, 46, 1);
    close_to(bw_slope_at_least(&curve, 0, 12), 14, 1e-12);
    close_to(bw_slope_at_least(&curve, 0, 20), 10, 1e-12);
    close_to(bw_slope_at_least(&curve, 0, 40), 0, 1e-12);
    curve.n = 1;
    node(22, 12, 2);
    node(22, 12.5, 2);
    close_to(bw_slope_at_least(&curve, 0, 0), 0,
             0); /* another stroke, and not above the one before */
    node(23, 69, 2);
    close_to(bw_slope_at_least(&curve, 0, 0), (60 - 69 * 0.25) / 2, 1e-12);
    curve.node[0].torque_Nm = 40;
    close_to(bw_slope_at_least(&curve, 0, 0), (60 - 40) / 2.0, 1e-12);
}

/* The whole way: sound beside its siblings, and one that meets the bottom within a few degrees. */
static void test_steep_without_a_slope(void **state) {
    (void)state;
    bw_stage torque = torque_stage(57, 60, 63);
    bw_standing among = {.siblings = {5, 2, 0.05}};
    pen_take(&p, 100);
    pen_pull(&p, 1, 60, 3);
    bw_verdict v = judge_pen(&torque, &among, &p);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_STEEP, false);
    assert_true(v.slope_Nm_per_deg > 2.6);
    bw_standing unseen = among; /* a pull was lost: it may be tight already */
    unseen.pulls = 1;
    v = judge_pen(&torque, &unseen, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    among.siblings.n = BW_SIBLINGS_LEAST - 1;
    v = judge_pen(&torque, &among, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    among.siblings.n = 5;
    pen_take(&p, 100);
    pen_pull(&p, 1, 60, 30);
    v = judge_pen(&torque, &among, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pass_that_turns_on),
        cmocka_unit_test(test_pull_that_turns_on),
        cmocka_unit_test(test_stretch_that_gives_way),
        cmocka_unit_test(test_slope_without_a_target),
        cmocka_unit_test(test_at_least),
        cmocka_unit_test(test_at_least_from_the_run_down),
        cmocka_unit_test(test_at_least_over_a_short_turn),
        cmocka_unit_test(test_at_least_from_where_it_stood),
        cmocka_unit_test(test_steep_without_a_slope),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
