/* stages_test.c - every kind of stage with traces drawn by hand: one story a test. */
#include "cmocka_all.h"

#include "pen.h"

#include <math.h>

static pen p;

/* outcome, exactly these reasons, and whether another pull mends it. */
static void is(const bw_verdict *v, bw_outcome outcome, uint32_t reasons, bool more) {
    if (v->outcome != outcome || v->reasons != reasons || v->more != more) {
        char words[200];
        fail_msg("%s (%s) more %d, peak %g N.m, turn %g deg", bw_outcome_word(v->outcome),
                 bw_reasons_text(v->reasons, words, sizeof words), v->more, v->peak_Nm,
                 v->turn_deg);
    }
}

static void near(double value, double expected, double by) {
    if (!(fabs(value - expected) <= by)) {
        fail_msg("%.9g is not %g within %g", value, expected, by);
    }
}

static const bw_standing stands_40 = {.torque_Nm = 40};

/* ---- to a torque ---- */

static void test_torque_pass(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    stage.least_turn_deg = 5;
    pen_take(&p, 100);
    pen_pull(&p, 10, 60.5, 30);
    bw_verdict v = judge_pen(&stage, NULL, &p);
    is(&v, BW_VERDICT_PASS, 0, false);
    near(v.peak_Nm, 60.5, 0);
    near(v.pull_peak_Nm, 60.5, 0);
    near(v.turn_deg, 30, 1e-9);
    assert_true(v.has_turn);
    assert_int_equal(v.pulls, 1);
}

static void test_torque_low_then_pass(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    stage.least_turn_deg = 5;
    pen_take(&p, 100);
    pen_pull(&p, 10, 50, 25);
    bw_verdict v = judge_pen(&stage, NULL, &p);
    is(&v, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, true);
    /* The rest of the way turns less than least_turn_deg: all pulls of the attempt count. */
    bw_standing nothing = {0};
    bw_standing then = standing_after(&nothing, &v);
    pen_take(&p, 100);
    pen_pull(&p, 52, 60, 4);
    v = judge_pen(&stage, &then, &p);
    is(&v, BW_VERDICT_PASS, 0, false);
    near(v.turn_deg, 29, 1e-9);
    near(v.pull_turn_deg, 4, 1e-9);
    assert_int_equal(v.pulls, 2);
}

/* The last pull must reach it: a peak of an earlier one is no reason to accept. */
static void test_torque_each_pull_must_reach_it(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    bw_standing then = {.peak_Nm = 60, .pulls = 1, .turn_known = true};
    pen_take(&p, 100);
    pen_pull(&p, 10, 20, 1);
    bw_verdict v = judge_pen(&stage, &then, &p);
    is(&v, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, true);
    near(v.peak_Nm, 60, 0);
    near(v.pull_peak_Nm, 20, 0);
}

/* A fastener that was over the limit once stays so, however well it is pulled afterwards. */
static void test_torque_high_stays_high(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    bw_standing then = {.peak_Nm = 64, .pulls = 1, .turn_known = true};
    pen_take(&p, 100);
    pen_pull(&p, 10, 60, 10);
    bw_verdict v = judge_pen(&stage, &then, &p);
    is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
}

/* The word comes with the sample that crosses, not before it, and stays. */
static void test_torque_high_at_the_crossing_sample(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    bw_standing nothing = {0};
    bw_judge judge;
    pen_take(&p, 100);
    pen_pull(&p, 10, 66, 30);
    bw_judge_begin(&judge, &stage, &nothing, 0);
    bool crossed = false;
    for (size_t i = 0; i < p.n; i++) {
        bw_live live = bw_judge_sample(&judge, &p.sample[i]);
        double torque_Nm = p.sample[i].torque_Nm;
        crossed = crossed || torque_Nm > 63.0000005;
        bw_live_word word = torque_Nm < 0.9 * 57 ? BW_LIVE_FREE
                            : torque_Nm < 57     ? BW_LIVE_NEAR
                                                 : BW_LIVE_STOP;
        assert_int_equal(live.word, crossed ? BW_LIVE_OVER : word);
        near(live.torque_Nm, torque_Nm, 0);
    }
    bw_verdict v = bw_judge_end(&judge, true);
    is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
}

static void test_torque_without_turn(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    stage.least_turn_deg = 5;
    pen_take(&p, 100);
    p.windup_deg_per_Nm = 0.08; /* nearly five degrees of it */
    pen_pull(&p, 10, 60, 0);
    bw_verdict v = judge_pen(&stage, NULL, &p);
    is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
    near(v.turn_deg, 0, 1e-9);
}

/* A wrench without angle: the torque counts, and the verdict says that the turn was not judged. */
static void test_torque_without_angle(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    pen_take(&p, 100);
    p.no_angle = true;
    pen_pull(&p, 10, 60, 0);
    bw_verdict v = judge_pen(&stage, NULL, &p);
    is(&v, BW_VERDICT_PASS, 0, false);
    assert_false(v.has_turn);
    stage.least_turn_deg = 5;
    v = judge_pen(&stage, NULL, &p);
    is(&v, BW_VERDICT_PASS, BW_REASON_NO_TRACE, false);
}

/* One sample without an angle is enough: the turn is not known. */
static void test_one_angle_missing(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    pen_take(&p, 100);
    pen_pull(&p, 44, 80, 90);
    p.sample[p.n / 2].has_angle = false;
    bw_verdict v = judge_pen(&stage, &stands_40, &p);
    is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TRACE, false);
    assert_false(v.has_turn);
}

/* ---- from a snug torque through an angle ---- */

static void test_snug_pass(void **state) {
    (void)state;
    bw_stage stage = snug_stage(25, 56, 64);
    pen_take(&p, 100);
    p.windup_deg_per_Nm = 0.05;
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 5, 200, 1); /* runs down */
    pen_to(&p, 25, 20, 1);
    pen_to(&p, 70, 60, 1);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 0, 0, 0.4);
    bw_verdict v = judge_pen(&stage, NULL, &p);
    is(&v, BW_VERDICT_PASS, 0, false);
    assert_true(v.snug_reached);
    near(v.turn_deg, 60, 0.1);
}

/* The angle begins at the snug torque: what turned below it is no turn of the stage, be it ever so
 * much. */
static void test_snug_not_reached(void **state) {
    (void)state;
    bw_stage stage = snug_stage(25, 56, 64);
    bw_standing nothing = {0};
    pen_take(&p, 100);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 5, 20, 0.5);
    pen_to(&p, 20, 40, 1);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 0, 0, 0.4);
    bw_judge judge;
    bw_judge_begin(&judge, &stage, &nothing, 0);
    for (size_t i = 0; i < p.n; i++) {
        bw_live live = bw_judge_sample(&judge, &p.sample[i]);
        assert_int_equal(live.word, BW_LIVE_FREE);
        near(live.turn_deg, 0, 0);
    }
    bw_verdict v = bw_judge_end(&judge, true);
    is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    assert_false(v.snug_reached);
    near(v.turn_deg, 0, 0);
    /* The next pull begins to count where it passes the snug torque. */
    bw_standing then = standing_after(&nothing, &v);
    pen_take(&p, 100);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 25, 12, 1);
    pen_to(&p, 70, 60, 1);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 0, 0, 0.4);
    v = judge_pen(&stage, &then, &p);
    is(&v, BW_VERDICT_PASS, 0, false);
    near(v.turn_deg, 60, 1e-9);
}

static void test_snug_over_several_pulls(void **state) {
    (void)state;
    bw_stage stage = snug_stage(25, 86, 94);
    bw_standing then = {0};
    static const double from_Nm[] = {10, 52, 74};
    static const double to_Nm[] = {50, 72, 90};
    static const double turns_deg[] = {55, 30, 22};
    for (size_t i = 0; i < 3; i++) {
        pen_take(&p, 100);
        p.windup_deg_per_Nm = 0.05;
        pen_to(&p, 0, 0, 0.2);
        pen_to(&p, from_Nm[i], 0, 0.3);
        if (i == 0) {
            pen_to(&p, 25, 15, 0.5);
        }
        pen_to(&p, to_Nm[i], i == 0 ? turns_deg[0] - 15 : turns_deg[i], 1);
        pen_to(&p, 0, 0, 0.3);
        pen_to(&p, 0, 0, 0.4);
        bw_verdict v = judge_pen(&stage, &then, &p);
        if (i < 2) {
            is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
        } else {
            is(&v, BW_VERDICT_PASS, 0, false);
            near(v.turn_deg, 92, 0.1);
            assert_int_equal(v.pulls, 3);
        }
        then = standing_after(&then, &v);
    }
}

/* The hand eases below the snug torque and goes on without letting go: all of it counts. */
static void test_snug_second_reach(void **state) {
    (void)state;
    bw_stage stage = snug_stage(25, 86, 94);
    for (double eases_to_Nm = 2; eases_to_Nm < 50; eases_to_Nm += 1) {
        pen_take(&p, 100);
        p.windup_deg_per_Nm = 0.05;
        pen_to(&p, 0, 0, 0.3);
        pen_to(&p, 25, 10, 0.5);
        pen_to(&p, 60, 45, 1);
        pen_to(&p, eases_to_Nm, 0, 0.2);
        pen_to(&p, 62, 0, 0.2);
        pen_to(&p, 90, 45, 1);
        pen_to(&p, 0, 0, 0.3);
        pen_to(&p, 0, 0, 0.4);
        bw_verdict v = judge_pen(&stage, NULL, &p);
        near(v.turn_deg, 90, 0.1);
        is(&v, BW_VERDICT_PASS, 0, false);
    }
}

/* The figure that the hand sees grows from the snug torque on, and stands while it lets go. */
static void test_snug_live(void **state) {
    (void)state;
    bw_stage stage = snug_stage(25, 56, 64);
    bw_standing nothing = {0};
    bw_judge judge;
    pen_take(&p, 100);
    p.windup_deg_per_Nm = 0.05;
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 25, 30, 0.5);
    pen_to(&p, 70, 60, 1);
    size_t release = p.n;
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 0, 0, 0.4);
    bw_judge_begin(&judge, &stage, &nothing, 0.05);
    double before_deg = 0;
    for (size_t i = 0; i < p.n; i++) {
        bw_live live = bw_judge_sample(&judge, &p.sample[i]);
        double moved_deg = live.turn_deg - before_deg;
        assert_true(i < release ? moved_deg >= 0 && moved_deg < 1 : fabs(moved_deg) < 1e-9);
        before_deg = live.turn_deg;
    }
    near(before_deg, 60, 1e-9);
}

static void test_snug_stuck(void **state) {
    (void)state;
    bw_stage stage = snug_stage(25, 56, 64);
    pen_take(&p, 100);
    pen_pull(&p, 10, 40, 3);
    bw_verdict v = judge_pen(&stage, NULL, &p);
    is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
}

/* A knock while it still runs down does not begin the angle. */
static void test_snug_not_begun_by_a_knock(void **state) {
    (void)state;
    bw_stage stage = snug_stage(25, 56, 64);
    pen_take(&p, 100);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 6, 30, 0.5);
    size_t knocked = p.n;
    pen_to(&p, 10, 40, 0.5);
    pen_to(&p, 25, 20, 0.5);
    pen_to(&p, 70, 60, 1);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 0, 0, 0.4);
    p.sample[knocked].torque_Nm = 60;
    bw_verdict v = judge_pen(&stage, NULL, &p);
    is(&v, BW_VERDICT_PASS, BW_REASON_SPIKE, false);
    near(v.turn_deg, 60, 1e-9);
    near(v.peak_Nm, 70, 0);
}

/* ---- through an angle from where the last stage ended ---- */

static void test_angle_pass_and_live(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    bw_judge judge;
    pen_take(&p, 100);
    p.windup_deg_per_Nm = 0.05;
    pen_pull(&p, 44, 80, 90);
    bw_judge_begin(&judge, &stage, &stands_40, 0.05);
    double most_deg = 0;
    for (size_t i = 0; i < p.n; i++) {
        bw_live live = bw_judge_sample(&judge, &p.sample[i]);
        assert_true(live.has_turn);
        assert_true(live.turn_deg >= most_deg - 0.2); /* it never seems to turn back */
        most_deg = fmax(most_deg, live.turn_deg);
        bw_live_word word = live.turn_deg < 0.9 * 86    ? BW_LIVE_FREE
                            : live.turn_deg < 86 - 1e-6 ? BW_LIVE_NEAR
                                                        : BW_LIVE_STOP;
        assert_int_equal(live.word, word);
    }
    near(most_deg, 90, 0.2);
    bw_verdict v = bw_judge_end(&judge, true);
    is(&v, BW_VERDICT_PASS, 0, false);
    near(v.turn_deg, 90, 0.1);
}

static void test_angle_over_at_the_crossing_sample(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    bw_judge judge;
    pen_take(&p, 100);
    pen_pull(&p, 44, 80, 100);
    bw_judge_begin(&judge, &stage, &stands_40, 0);
    bool crossed = false;
    for (size_t i = 0; i < p.n; i++) {
        crossed = crossed || p.sample[i].angle_deg > 94.0000005;
        bw_live live = bw_judge_sample(&judge, &p.sample[i]);
        assert_int_equal(live.word == BW_LIVE_OVER, crossed);
    }
    bw_verdict v = bw_judge_end(&judge, true);
    is(&v, BW_VERDICT_HIGH, BW_REASON_ANGLE_OVER, false);
}

static void test_angle_short_over_several_pulls(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    bw_standing then = stands_40;
    static const double to_Nm[] = {55, 65, 78};
    static const double turns_deg[] = {40, 30, 20};
    double total_deg = 0;
    for (size_t i = 0; i < 3; i++) {
        pen_take(&p, 100);
        p.windup_deg_per_Nm = 0.05;
        pen_pull(&p, to_Nm[i] - 10, to_Nm[i], turns_deg[i]);
        bw_verdict v = judge_pen(&stage, &then, &p);
        total_deg += turns_deg[i];
        near(v.turn_deg, total_deg, 0.1);
        near(v.pull_turn_deg, turns_deg[i], 0.1);
        if (i < 2) {
            is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
        } else {
            is(&v, BW_VERDICT_PASS, 0, false);
        }
        then = standing_after(&then, &v);
    }
}

static void test_angle_stuck(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    pen_take(&p, 100);
    pen_pull(&p, 44, 53, 2);
    bw_verdict v = judge_pen(&stage, &stands_40, &p);
    is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
    /* It moves, if slowly. */
    pen_take(&p, 100);
    pen_pull(&p, 44, 53, 12);
    v = judge_pen(&stage, &stands_40, &p);
    is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    /* Not yet beyond friction at rest: it may still come. */
    pen_take(&p, 100);
    pen_pull(&p, 44, 51, 2);
    v = judge_pen(&stage, &stands_40, &p);
    is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
}

/* Floor: turned as far as it may be, and the torque is not there.  No further pull mends that. */
static void test_angle_floor(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    stage.low_Nm = 70;
    pen_take(&p, 100);
    pen_pull(&p, 44, 66, 90);
    bw_verdict v = judge_pen(&stage, &stands_40, &p);
    is(&v, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, false);
    pen_take(&p, 100);
    pen_pull(&p, 44, 70, 90);
    v = judge_pen(&stage, &stands_40, &p);
    is(&v, BW_VERDICT_PASS, 0, false);
}

static void test_angle_ceiling(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    stage.high_Nm = 75;
    bw_judge judge;
    pen_take(&p, 100);
    pen_pull(&p, 44, 80, 90);
    bw_judge_begin(&judge, &stage, &stands_40, 0);
    bool crossed = false;
    for (size_t i = 0; i < p.n; i++) {
        crossed = crossed || p.sample[i].torque_Nm > 75.0000005;
        assert_int_equal(bw_judge_sample(&judge, &p.sample[i]).word == BW_LIVE_OVER, crossed);
    }
    bw_verdict v = bw_judge_end(&judge, true);
    is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
}

static void test_angle_both_over(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    stage.high_Nm = 75;
    pen_take(&p, 100);
    pen_pull(&p, 44, 80, 100);
    bw_verdict v = judge_pen(&stage, &stands_40, &p);
    is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT | BW_REASON_ANGLE_OVER, false);
}

static void test_angle_without_angle(void **state) {
    (void)state;
    bw_stage stage[] = {angle_stage(86, 94), snug_stage(25, 86, 94)};
    for (size_t i = 0; i < 2; i++) {
        pen_take(&p, 100);
        p.no_angle = true;
        pen_pull(&p, 44, 80, 90);
        bw_verdict v = judge_pen(&stage[i], &stands_40, &p);
        is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TRACE, false);
        stage[i].high_Nm = 75;
        v = judge_pen(&stage[i], &stands_40, &p);
        is(&v, BW_VERDICT_HIGH, BW_REASON_NO_TRACE | BW_REASON_ABOVE_LIMIT, false);
    }
}

/* An earlier pull was lost: no later pull can tell the turn of the attempt. */
static void test_angle_after_a_lost_pull(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    bw_standing then = {.torque_Nm = 40, .pulls = 1, .turn_known = false};
    pen_take(&p, 100);
    pen_pull(&p, 44, 80, 90);
    bw_verdict v = judge_pen(&stage, &then, &p);
    is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, false);
    assert_false(v.has_turn);
}

/* ---- what was not seen ---- */

static void test_incomplete(void **state) {
    (void)state;
    bw_stage torque = torque_stage(57, 60, 63);
    pen_take(&p, 100);
    pen_pull(&p, 10, 60, 30);
    bw_verdict v = judge_all(&torque, NULL, p.sample, p.n, false);
    is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, true); /* a torque can be pulled again */
    bw_stage angle = angle_stage(86, 94);
    pen_take(&p, 100);
    pen_pull(&p, 44, 80, 90);
    v = judge_all(&angle, &stands_40, p.sample, p.n, false);
    is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, false); /* a turn that nobody saw can't */
    assert_false(v.has_turn);
}

/* Samples that are missing under load; at rest they are not missed. */
static void test_gap(void **state) {
    (void)state;
    bw_stage torque = torque_stage(57, 60, 63);
    static const struct {
        double after_Nm; /* the first samples from here on are lost */
        bool matters;
    } rows[] = {{30, true}, {59, true}, {-1, false}};
    for (size_t i = 0; i < 3; i++) {
        pen_take(&p, 100);
        pen_pull(&p, 10, 60, 30);
        size_t from = 0;
        while (p.sample[from].torque_Nm <= rows[i].after_Nm) {
            from++;
        }
        for (size_t k = from; k < p.n; k++) {
            p.sample[k].time_s += 0.31;
        }
        bw_verdict v = judge_pen(&torque, NULL, &p);
        if (rows[i].matters) {
            is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, true);
        } else {
            is(&v, BW_VERDICT_PASS, 0, false);
        }
    }
}

/* Where rest ended and load began was not seen: how far it had turned by then nobody knows. */
static void test_gap_into_the_load(void **state) {
    (void)state;
    bw_stage angle = angle_stage(86, 94);
    pen_take(&p, 100);
    pen_to(&p, 0, 0, 0.3);
    size_t rest = p.n;
    pen_to(&p, 44, 0, 0.3);
    pen_to(&p, 60, 40, 0.7);
    size_t again = p.n;
    pen_to(&p, 80, 90, 1);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 0, 0, 0.4);
    size_t n = rest;
    for (size_t i = again; i < p.n; i++) {
        p.sample[n++] = p.sample[i];
    }
    bw_verdict v = judge_all(&angle, &stands_40, p.sample, n, true);
    assert_int_not_equal(v.outcome, BW_VERDICT_PASS);
    assert_true((v.reasons & (uint32_t)BW_REASON_GAP) != 0);
    /* The same where nothing at all was seen before the load. */
    v = judge_all(&angle, &stands_40, p.sample + rest, n - rest, true);
    assert_int_not_equal(v.outcome, BW_VERDICT_PASS);
    assert_true((v.reasons & (uint32_t)BW_REASON_GAP) != 0);
}

/* A stroke of a ratchet may hide in a gap: the turn of that pull is not known, and neither is that
 * of the attempt from then on. */
static void test_gap_spoils_the_turn_of_later_pulls(void **state) {
    (void)state;
    bw_stage angle = angle_stage(86, 94);
    pen_take(&p, 100);
    pen_pull(&p, 44, 60, 40);
    for (size_t i = p.n / 2; i < p.n; i++) {
        p.sample[i].time_s += 1;
    }
    bw_verdict v = judge_pen(&angle, &stands_40, &p);
    assert_true((v.reasons & (uint32_t)BW_REASON_GAP) != 0);
    assert_false(v.has_turn);
    bw_standing then = standing_after(&stands_40, &v);
    pen_take(&p, 100);
    pen_pull(&p, 62, 80, 50);
    v = judge_pen(&angle, &then, &p);
    is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, false);
    pen_take(&p, 100);
    pen_pull(&p, 62, 80, 90);
    v = judge_pen(&angle, &then, &p);
    is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, false);
}

/* A torque that was there with the first sample was not seen to rise. */
static void test_begins_at_the_peak(void **state) {
    (void)state;
    bw_stage torque = torque_stage(57, 60, 63);
    static const bw_sample sample[] = {{.time_s = 0.0, .torque_Nm = 60},
                                       {.time_s = 0.1, .torque_Nm = 0},
                                       {.time_s = 0.2, .torque_Nm = 0}};
    bw_verdict v = judge_all(&torque, NULL, sample, 3, true);
    is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, true);
    /* A wrench that wakes up under load is good enough for a torque. */
    pen_take(&p, 100);
    pen_pull(&p, 10, 60, 30);
    size_t from = 0;
    while (p.sample[from].torque_Nm < 12) {
        from++;
    }
    v = judge_all(&torque, NULL, p.sample + from, p.n - from, true);
    is(&v, BW_VERDICT_PASS, 0, false);
}

/* ---- knocks ---- */

static void test_spike_left_out_and_named(void **state) {
    (void)state;
    bw_stage torque = torque_stage(57, 60, 63);
    bw_standing nothing = {0};
    pen_take(&p, 100);
    pen_pull(&p, 10, 60, 30);
    for (size_t at = 1; at + 1 < p.n; at++) {
        double was_Nm = p.sample[at].torque_Nm;
        p.sample[at].torque_Nm = was_Nm + 40;
        bw_verdict v = judge_pen(&torque, NULL, &p);
        is(&v, BW_VERDICT_PASS, BW_REASON_SPIKE, false);
        /* The peak itself may have been hit by the knock. */
        near(v.peak_Nm, 60, 0.6);
        near(v.turn_deg, 30, 0.5);
        p.sample[at].torque_Nm = was_Nm;
    }
    /* The hand is warned at once, and told off again as soon as it is known for a knock. */
    bw_judge judge;
    bw_judge_begin(&judge, &torque, &nothing, 0);
    p.sample[70].torque_Nm += 60;
    for (size_t i = 0; i < p.n; i++) {
        bw_live live = bw_judge_sample(&judge, &p.sample[i]);
        assert_int_equal(live.word == BW_LIVE_OVER, i == 70);
    }
}

/* Two samples in a row are a pull, not a knock; so is one that a hand can make. */
static void test_what_is_no_spike(void **state) {
    (void)state;
    bw_stage torque = torque_stage(57, 60, 63);
    pen_take(&p, 100);
    pen_pull(&p, 10, 60, 30);
    p.sample[70].torque_Nm += 60;
    p.sample[71].torque_Nm += 60;
    bw_verdict v = judge_pen(&torque, NULL, &p);
    is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
    /* At 10 Hz nobody can tell a knock from a quick pull: it counts. */
    pen_take(&p, 10);
    pen_pull(&p, 10, 60, 30);
    p.sample[8].torque_Nm = 70;
    v = judge_pen(&torque, NULL, &p);
    is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
}

/* Where no torque is known that the stage is about, there is no rate that no hand can make; the
 * ceiling holds for every sample. */
static void test_no_spike_without_a_reference(void **state) {
    (void)state;
    bw_stage angle = angle_stage(86, 94);
    angle.high_Nm = 75;
    pen_take(&p, 10);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 72, 86, 2);
    pen_to(&p, 76, 4, 0.1);
    pen_to(&p, 70, 0, 0.1);
    pen_to(&p, 0, 0, 0.3);
    bw_verdict v = judge_pen(&angle, NULL, &p);
    is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
}

/* A wrench whose samples come in bundles with one time: no time, no rate, no knock. */
static void test_no_spike_without_time(void **state) {
    (void)state;
    bw_stage torque = torque_stage(57, 60, 63);
    pen_take(&p, 20);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 60, 20, 0.5);
    pen_to(&p, 64, 2, 0.05);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 0, 0, 0.4);
    for (size_t i = 0; i < p.n; i++) {
        p.sample[i].time_s = 0.2 * floor(p.sample[i].time_s / 0.2);
    }
    bw_verdict v = judge_pen(&torque, NULL, &p);
    is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
}

/* ---- bare results ---- */

static void test_results(void **state) {
    (void)state;
    bw_stage torque = torque_stage(57, 60, 63);
    torque.least_turn_deg = 5;
    bw_stage angle = angle_stage(86, 94);
    bw_stage snug = snug_stage(25, 86, 94);
    const uint32_t bare = BW_REASON_NO_TRACE;
    const struct {
        const bw_stage *stage;
        double peak_Nm;
        bool has_turn;
        double turn_deg;
        bw_outcome outcome;
        uint32_t reasons;
        bool more;
    } rows[] = {
        {&torque, 60, false, 0, BW_VERDICT_PASS, bare, false},
        {&torque, 60, true, 9, BW_VERDICT_PASS, bare, false},
        {&torque, 60, true, 4, BW_VERDICT_SUSPECT, bare | BW_REASON_NO_TURN, false},
        {&torque, 56, false, 0, BW_VERDICT_LOW, bare | BW_REASON_BELOW_LIMIT, true},
        {&torque, 64, false, 0, BW_VERDICT_HIGH, bare | BW_REASON_ABOVE_LIMIT, false},
        {&angle, 80, true, 90, BW_VERDICT_PASS, bare, false},
        {&angle, 80, true, 50, BW_VERDICT_LOW, bare | BW_REASON_ANGLE_SHORT, true},
        {&angle, 80, true, 95, BW_VERDICT_HIGH, bare | BW_REASON_ANGLE_OVER, false},
        {&angle, 80, true, 3, BW_VERDICT_SUSPECT, bare | BW_REASON_NO_TURN, false},
        {&angle, 80, false, 0, BW_VERDICT_SUSPECT, bare, false},
        {&snug, 80, true, 90, BW_VERDICT_PASS, bare, false},
        {&snug, 24, true, 90, BW_VERDICT_LOW, bare | BW_REASON_ANGLE_SHORT, true},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_verdict v = bw_judge_result(rows[i].stage, &stands_40, rows[i].peak_Nm, rows[i].has_turn,
                                       rows[i].turn_deg);
        is(&v, rows[i].outcome, rows[i].reasons, rows[i].more);
        near(v.peak_Nm, rows[i].peak_Nm, 0);
        assert_int_equal(v.pulls, 1);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_torque_pass),
        cmocka_unit_test(test_torque_low_then_pass),
        cmocka_unit_test(test_torque_each_pull_must_reach_it),
        cmocka_unit_test(test_torque_high_stays_high),
        cmocka_unit_test(test_torque_high_at_the_crossing_sample),
        cmocka_unit_test(test_torque_without_turn),
        cmocka_unit_test(test_torque_without_angle),
        cmocka_unit_test(test_one_angle_missing),
        cmocka_unit_test(test_snug_pass),
        cmocka_unit_test(test_snug_not_reached),
        cmocka_unit_test(test_snug_over_several_pulls),
        cmocka_unit_test(test_snug_second_reach),
        cmocka_unit_test(test_snug_live),
        cmocka_unit_test(test_snug_stuck),
        cmocka_unit_test(test_snug_not_begun_by_a_knock),
        cmocka_unit_test(test_angle_pass_and_live),
        cmocka_unit_test(test_angle_over_at_the_crossing_sample),
        cmocka_unit_test(test_angle_short_over_several_pulls),
        cmocka_unit_test(test_angle_stuck),
        cmocka_unit_test(test_angle_floor),
        cmocka_unit_test(test_angle_ceiling),
        cmocka_unit_test(test_angle_both_over),
        cmocka_unit_test(test_angle_without_angle),
        cmocka_unit_test(test_angle_after_a_lost_pull),
        cmocka_unit_test(test_incomplete),
        cmocka_unit_test(test_gap),
        cmocka_unit_test(test_gap_into_the_load),
        cmocka_unit_test(test_gap_spoils_the_turn_of_later_pulls),
        cmocka_unit_test(test_begins_at_the_peak),
        cmocka_unit_test(test_spike_left_out_and_named),
        cmocka_unit_test(test_what_is_no_spike),
        cmocka_unit_test(test_no_spike_without_a_reference),
        cmocka_unit_test(test_no_spike_without_time),
        cmocka_unit_test(test_results),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
