/* stages_test.c - every kind of stage with traces drawn by hand: one story a test. */
#include "cmocka_all.h"

#include "pen.h"

#include <math.h>

static pen p;

static const bw_standing stands_40 = {.torque_Nm = 40};

/* ---- to a torque ---- */

static void test_torque_pass(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    stage.least_turn_deg = 5;
    pen_take(&p, 100);
    pen_pull(&p, 10, 60.5, 30);
    bw_verdict v = judge_pen(&stage, NULL, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    close_to(v.peak_Nm, 60.5, 0);
    close_to(v.pull_peak_Nm, 60.5, 0);
    close_to(v.turn_deg, 30, 1e-9);
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
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, true);
    /* The rest of the way turns less than least_turn_deg: all pulls of the attempt count. */
    bw_standing nothing = {0};
    bw_standing then = standing_after(&nothing, &v);
    pen_take(&p, 100);
    pen_pull(&p, 52, 60, 4);
    v = judge_pen(&stage, &then, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    close_to(v.turn_deg, 29, 1e-9);
    close_to(v.pull_turn_deg, 4, 1e-9);
    assert_int_equal(v.pulls, 2);
}

/* Once more at the torque at which it stands: it hardly turns, and where it turns on it gives way.
 */
static void test_torque_once_more(void **state) {
    (void)state;
    static const struct {
        double stands_Nm, turn_deg;
        bw_outcome outcome;
    } rows[] = {
        {60, 30, BW_VERDICT_PASS},
        {60, 30.01, BW_VERDICT_SUSPECT},
        {50, 30.01, BW_VERDICT_SUSPECT}, /* a fifth below: once more */
        {49.9, 30.01, BW_VERDICT_PASS},  /* a stage that raises it */
    };
    bw_stage stage = torque_stage(57, 60, 63);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_standing stands = {.torque_Nm = rows[i].stands_Nm};
        pen_take(&p, 1000);
        pen_pull(&p, 50, 60, rows[i].turn_deg);
        bw_verdict v = judge_pen(&stage, &stands, &p);
        uint32_t reasons = rows[i].outcome == BW_VERDICT_PASS ? 0 : BW_REASON_YIELDING;
        verdict_is(&v, rows[i].outcome, reasons, false);
    }
    bw_standing stands = {.torque_Nm = 60};
    p.no_angle = true;
    pen_take(&p, 1000);
    p.no_angle = true;
    pen_pull(&p, 50, 60, 90);
    bw_verdict v = judge_pen(&stage, &stands, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false); /* nothing is said of a turn that nobody saw */
}

/* It stood at 40 and moves at 52 at most; one that takes more was tighter than anybody knew. */
static void test_tight_before(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    bw_standing stands = {.torque_Nm = 40};
    pen_take(&p, 1000);
    pen_pull(&p, 48, 90, 90);
    bw_verdict v = judge_pen(&stage, &stands, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    pen_take(&p, 1000);
    pen_pull(&p, 56, 90, 90);
    v = judge_pen(&stage, &stands, &p);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
    stands.pulls = 1;
    stands.turn_known = true;
    v = judge_pen(&stage, &stands, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false); /* an earlier pull of this stage tightened it */
}

/* A thread that strips bit by bit: the torque falls by a tenth over twenty degrees. */
static void test_falls_slowly(void **state) {
    (void)state;
    static const struct {
        double end_Nm;
        bw_outcome outcome;
    } rows[] = {{77, BW_VERDICT_PASS}, {70, BW_VERDICT_SUSPECT}};
    bw_stage stage = angle_stage(86, 94);
    bw_standing stands = {.torque_Nm = 40};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_judge judge;
        double at_s = -1;
        pen_take(&p, 200);
        pen_to(&p, 0, 0, 0.5);
        pen_to(&p, 42, 0, 0.3);
        pen_to(&p, 80, 70, 1);
        double from_s = p.time_s;
        pen_to(&p, rows[i].end_Nm, 20, 0.5);
        pen_to(&p, 0, 0, 0.2);
        pen_to(&p, 0, 0, 0.5);
        bw_judge_begin(&judge, &stage, &stands, &(bw_terms){0});
        for (size_t k = 0; k < p.n; k++) {
            (void)bw_judge_sample(&judge, &p.sample[k]);
        }
        bw_verdict v = bw_judge_end(&judge, true);
        bool falls = rows[i].outcome == BW_VERDICT_SUSPECT;
        verdict_is(&v, rows[i].outcome, falls ? BW_REASON_TORQUE_DROP : 0, false);
        assert_int_equal(bw_judge_when(&judge, BW_REASON_TORQUE_DROP, &at_s), falls);
        assert_true(!falls || (at_s > from_s - 0.2 && at_s < from_s + 0.3));
    }
}

/* The last pull must reach it: a peak of an earlier one is no reason to accept. */
static void test_torque_each_pull_must_reach_it(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    bw_standing then = {.peak_Nm = 60, .pulls = 1, .turn_known = true};
    pen_take(&p, 100);
    pen_pull(&p, 10, 20, 1);
    bw_verdict v = judge_pen(&stage, &then, &p);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, true);
    close_to(v.peak_Nm, 60, 0);
    close_to(v.pull_peak_Nm, 20, 0);
}

/* A fastener that was over the limit once stays so, however well it is pulled afterwards. */
static void test_torque_high_stays_high(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    bw_standing then = {.peak_Nm = 64, .pulls = 1, .turn_known = true};
    pen_take(&p, 100);
    pen_pull(&p, 10, 60, 10);
    bw_verdict v = judge_pen(&stage, &then, &p);
    verdict_is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
}

/* The word comes with the sample that crosses, not before it, and stays. */
static void test_torque_high_at_the_crossing_sample(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    bw_standing nothing = {0};
    bw_judge judge;
    pen_take(&p, 100);
    pen_pull(&p, 10, 66, 30);
    bw_judge_begin(&judge, &stage, &nothing, &(bw_terms){0});
    bool crossed = false;
    for (size_t i = 0; i < p.n; i++) {
        bw_live live = bw_judge_sample(&judge, &p.sample[i]);
        double torque_Nm = p.sample[i].torque_Nm;
        crossed = crossed || torque_Nm > 63.0000005;
        bw_live_word word = torque_Nm < 0.9 * 57 ? BW_LIVE_FREE
                            : torque_Nm < 57     ? BW_LIVE_NEAR
                                                 : BW_LIVE_STOP;
        assert_int_equal(live.word, crossed ? BW_LIVE_OVER : word);
        close_to(live.torque_Nm, torque_Nm, 0);
    }
    bw_verdict v = bw_judge_end(&judge, true);
    verdict_is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
}

static void test_torque_without_turn(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    stage.least_turn_deg = 5;
    pen_take(&p, 100);
    p.windup_deg_per_Nm = 0.08; /* nearly five degrees of it */
    pen_pull(&p, 10, 60, 0);
    bw_verdict v = judge_pen(&stage, NULL, &p);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
    close_to(v.turn_deg, 0, 1e-9);
}

/* A wrench without angle: the torque counts, and the verdict says that the turn was not judged. */
static void test_torque_without_angle(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    pen_take(&p, 100);
    p.no_angle = true;
    pen_pull(&p, 10, 60, 0);
    bw_verdict v = judge_pen(&stage, NULL, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    assert_false(v.has_turn);
    stage.least_turn_deg = 5;
    v = judge_pen(&stage, NULL, &p);
    verdict_is(&v, BW_VERDICT_PASS, BW_REASON_NO_TRACE, false);
}

/* One sample without an angle is enough: the turn is not known. */
/* A hand does not go far in the time of a gap: angles that are missing for no longer are bridged.
 */
static void test_angles_missing(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    for (size_t missing = 1; missing <= 40; missing++) {
        pen_take(&p, 100);
        pen_pull(&p, 44, 80, 90);
        for (size_t i = 0; i < missing; i++) {
            p.sample[p.n / 2 + i].has_angle = false;
        }
        bw_verdict v = judge_pen(&stage, &stands_40, &p);
        if (missing < 30) {
            verdict_is(&v, BW_VERDICT_PASS, 0, false);
            close_to(v.turn_deg, 90, 0.5);
        } else if (missing > 30) { /* thirty at 100 Hz are on the hair */
            verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, false);
            assert_false(v.has_turn);
        }
    }
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
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    assert_true(v.snug_reached);
    close_to(v.turn_deg, 60, 0.1);
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
    bw_judge_begin(&judge, &stage, &nothing, &(bw_terms){0});
    for (size_t i = 0; i < p.n; i++) {
        bw_live live = bw_judge_sample(&judge, &p.sample[i]);
        assert_int_equal(live.word, BW_LIVE_FREE);
        close_to(live.turn_deg, 0, 0);
    }
    bw_verdict v = bw_judge_end(&judge, true);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    assert_false(v.snug_reached);
    close_to(v.turn_deg, 0, 0);
    /* The next pull begins to count where it passes the snug torque. */
    bw_standing then = standing_after(&nothing, &v);
    pen_take(&p, 100);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 25, 12, 1);
    pen_to(&p, 70, 60, 1);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 0, 0, 0.4);
    v = judge_pen(&stage, &then, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    close_to(v.turn_deg, 60, 1e-9);
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
            verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
        } else {
            verdict_is(&v, BW_VERDICT_PASS, 0, false);
            close_to(v.turn_deg, 92, 0.1);
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
        close_to(v.turn_deg, 90, 0.1);
        verdict_is(&v, BW_VERDICT_PASS, 0, false);
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
    bw_judge_begin(&judge, &stage, &nothing, &(bw_terms){.windup_deg_per_Nm = 0.05});
    double before_deg = 0;
    for (size_t i = 0; i < p.n; i++) {
        bw_live live = bw_judge_sample(&judge, &p.sample[i]);
        double moved_deg = live.turn_deg - before_deg;
        assert_true(i < release ? moved_deg >= 0 && moved_deg < 1 : fabs(moved_deg) < 1e-9);
        before_deg = live.turn_deg;
    }
    close_to(before_deg, 60, 1e-9);
}

static void test_snug_stuck(void **state) {
    (void)state;
    bw_stage stage = snug_stage(25, 56, 64);
    pen_take(&p, 100);
    pen_pull(&p, 10, 40, 3);
    bw_verdict v = judge_pen(&stage, NULL, &p);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
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
    verdict_is(&v, BW_VERDICT_PASS, BW_REASON_SPIKE, false);
    close_to(v.turn_deg, 60, 1e-9);
    close_to(v.peak_Nm, 70, 0);
}

/* ---- through an angle from where the last stage ended ---- */

static void test_angle_pass_and_live(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    bw_judge judge;
    pen_take(&p, 100);
    p.windup_deg_per_Nm = 0.05;
    pen_pull(&p, 44, 80, 90);
    bw_judge_begin(&judge, &stage, &stands_40, &(bw_terms){.windup_deg_per_Nm = 0.05});
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
    close_to(most_deg, 90, 0.2);
    bw_verdict v = bw_judge_end(&judge, true);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    close_to(v.turn_deg, 90, 0.1);
}

static void test_angle_over_at_the_crossing_sample(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    bw_judge judge;
    pen_take(&p, 100);
    pen_pull(&p, 44, 80, 100);
    bw_judge_begin(&judge, &stage, &stands_40, &(bw_terms){0});
    bool crossed = false;
    for (size_t i = 0; i < p.n; i++) {
        crossed = crossed || p.sample[i].angle_deg > 94.0000005;
        bw_live live = bw_judge_sample(&judge, &p.sample[i]);
        assert_int_equal(live.word == BW_LIVE_OVER, crossed);
    }
    bw_verdict v = bw_judge_end(&judge, true);
    verdict_is(&v, BW_VERDICT_HIGH, BW_REASON_ANGLE_OVER, false);
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
        close_to(v.turn_deg, total_deg, 0.1);
        close_to(v.pull_turn_deg, turns_deg[i], 0.1);
        if (i < 2) {
            verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
        } else {
            verdict_is(&v, BW_VERDICT_PASS, 0, false);
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
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
    /* It moves, if slowly. */
    pen_take(&p, 100);
    pen_pull(&p, 44, 53, 12);
    v = judge_pen(&stage, &stands_40, &p);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    /* Not yet beyond friction at rest: it may still come. */
    pen_take(&p, 100);
    pen_pull(&p, 44, 51, 2);
    v = judge_pen(&stage, &stands_40, &p);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
}

/* Floor: turned as far as it may be, and the torque is not there.  No further pull mends that. */
static void test_angle_floor(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    stage.low_Nm = 70;
    pen_take(&p, 100);
    pen_pull(&p, 44, 66, 90);
    bw_verdict v = judge_pen(&stage, &stands_40, &p);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, false);
    pen_take(&p, 100);
    pen_pull(&p, 44, 70, 90);
    v = judge_pen(&stage, &stands_40, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
}

static void test_angle_ceiling(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    stage.high_Nm = 75;
    bw_judge judge;
    pen_take(&p, 100);
    pen_pull(&p, 44, 80, 90);
    bw_judge_begin(&judge, &stage, &stands_40, &(bw_terms){0});
    bool crossed = false;
    for (size_t i = 0; i < p.n; i++) {
        crossed = crossed || p.sample[i].torque_Nm > 75.0000005;
        assert_int_equal(bw_judge_sample(&judge, &p.sample[i]).word == BW_LIVE_OVER, crossed);
    }
    bw_verdict v = bw_judge_end(&judge, true);
    verdict_is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
}

static void test_angle_both_over(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    stage.high_Nm = 75;
    pen_take(&p, 100);
    pen_pull(&p, 44, 80, 100);
    bw_verdict v = judge_pen(&stage, &stands_40, &p);
    verdict_is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT | BW_REASON_ANGLE_OVER, false);
}

static void test_angle_without_angle(void **state) {
    (void)state;
    bw_stage stage[] = {angle_stage(86, 94), snug_stage(25, 86, 94)};
    for (size_t i = 0; i < 2; i++) {
        pen_take(&p, 100);
        p.no_angle = true;
        pen_pull(&p, 44, 80, 90);
        bw_verdict v = judge_pen(&stage[i], &stands_40, &p);
        verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TRACE, false);
        stage[i].high_Nm = 75;
        v = judge_pen(&stage[i], &stands_40, &p);
        verdict_is(&v, BW_VERDICT_HIGH, BW_REASON_NO_TRACE | BW_REASON_ABOVE_LIMIT, false);
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
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, false);
    assert_false(v.has_turn);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_torque_once_more),
        cmocka_unit_test(test_tight_before),
        cmocka_unit_test(test_falls_slowly),
        cmocka_unit_test(test_torque_pass),
        cmocka_unit_test(test_torque_low_then_pass),
        cmocka_unit_test(test_torque_each_pull_must_reach_it),
        cmocka_unit_test(test_torque_high_stays_high),
        cmocka_unit_test(test_torque_high_at_the_crossing_sample),
        cmocka_unit_test(test_torque_without_turn),
        cmocka_unit_test(test_torque_without_angle),
        cmocka_unit_test(test_angles_missing),
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
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
