/* kinds_test.c - the kinds of stage that are more than a torque or an angle: backing off, slot,
 * stretch, and what runs.  One story a test, traces drawn by hand.  (Checks and yield:
 * moving_test.c.) */
#include "cmocka_all.h"

#include "pen.h"

#include <math.h>

static pen p;

static const bw_standing stands_50 = {.torque_Nm = 50};

static bw_stage stage_of(bw_stage_kind kind) {
    bw_stage stage = torque_stage(-INFINITY, 0, INFINITY);
    stage.kind = kind;
    return stage;
}

/* ---- back off ---- */

static bw_stage back_off_stage(double low_deg, double high_deg) {
    bw_stage stage = stage_of(BW_STAGE_BACK_OFF);
    stage.target_deg = (low_deg + high_deg) / 2;
    stage.low_deg = low_deg;
    stage.high_deg = high_deg;
    return stage;
}

static bw_stage loose_stage(void) {
    bw_stage stage = stage_of(BW_STAGE_BACK_OFF);
    stage.until_loose = true;
    return stage;
}

/* Breaks away backward at 45 N.m and turns back by turn_deg to -end_Nm. */
static void draw_back(double end_Nm, double turn_deg) {
    pen_take(&p, 200);
    p.windup_deg_per_Nm = 0.05;
    pen_to(&p, 0, 0, 0.2);
    pen_to(&p, -45, 0, 0.5);
    pen_to(&p, -end_Nm, -turn_deg, 1);
}

static void let_go(void) {
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 0, 0, 0.4);
}

static void test_back_by_an_angle(void **state) {
    (void)state;
    bw_stage stage = back_off_stage(75, 105);
    static const struct {
        double turn_deg;
        bw_outcome outcome;
        uint32_t reasons;
        bool more;
    } rows[] = {{90, BW_VERDICT_PASS, 0, false},
                {74, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true},
                {106, BW_VERDICT_HIGH, BW_REASON_ANGLE_OVER, false}};
    for (size_t i = 0; i < 3; i++) {
        draw_back(20, rows[i].turn_deg);
        let_go();
        bw_verdict v = judge_pen(&stage, &stands_50, &p);
        verdict_is(&v, rows[i].outcome, rows[i].reasons, rows[i].more);
        close_to(v.turn_deg, rows[i].turn_deg, 1e-9);
        close_to(v.peak_Nm, 45, 0);
        assert_false(v.loose);
        assert_false(v.has_judged);
    }
}

static void test_back_in_two_pulls(void **state) {
    (void)state;
    bw_stage stage = back_off_stage(75, 105);
    draw_back(30, 40);
    let_go();
    bw_verdict v = judge_pen(&stage, &stands_50, &p);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    bw_standing then = standing_after(&stands_50, &v);
    draw_back(15, 45);
    let_go();
    v = judge_pen(&stage, &then, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    close_to(v.turn_deg, 85, 1e-9);
}

/* It comes loose on the way: what it turned until then is enough, and free turning is no turn. */
static void test_back_and_loose(void **state) {
    (void)state;
    bw_stage stages[] = {back_off_stage(75, 105), loose_stage()};
    for (size_t i = 0; i < 2; i++) {
        draw_back(0, 50);
        pen_to(&p, 0, -200, 1);
        bw_verdict v = judge_pen(&stages[i], &stands_50, &p);
        verdict_is(&v, BW_VERDICT_PASS, 0, false);
        assert_true(v.loose);
        close_to(v.turn_deg, 50 * 43.5 / 45, 0.4); /* where no more than 1.5 N.m were left */
    }
}

/* A hand that lets go gives back the wind-up; that is not loose.  Neither is one that turned as far
 * as the angle says. */
static void test_back_and_not_loose(void **state) {
    (void)state;
    bw_stage stage = loose_stage();
    draw_back(10, 60);
    let_go();
    bw_verdict v = judge_pen(&stage, &stands_50, &p);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    assert_false(v.loose);
    draw_back(45, 300);
    let_go();
    v = judge_pen(&stage, &stands_50, &p);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
}

/* Ratchet strokes: back-swings go the other way, free play before the pawl bites is no looseness.
 */
static void test_back_by_strokes(void **state) {
    (void)state;
    bw_stage stage = loose_stage();
    pen_take(&p, 200);
    p.windup_deg_per_Nm = 0.05;
    pen_to(&p, 0, 0, 0.2);
    for (int i = 0; i < 3; i++) {
        pen_to(&p, -45 + 10 * i, 0, 0.3);
        pen_to(&p, -40 + 10 * i, -30, 0.5);
        pen_to(&p, 0, 0, 0.1);
        pen_back(&p, -30, 0.2);
        pen_back(&p, 4, 0.05);
    }
    pen_to(&p, 0, 0, 0.4);
    bw_verdict v = judge_pen(&stage, &stands_50, &p);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    close_to(v.turn_deg, 90, 1e-9);
}

/* A locking feature drags on when the preload is gone. */
static void test_loose_under_a_locking_feature(void **state) {
    (void)state;
    bw_stage stage = loose_stage();
    static const struct {
        double on_deg;
        bool loose;
        double down_Nm; /* so far it falls meanwhile */
    } rows[] = {{35, true, 6}, {25, false, 6}, {35, false, 2.7}};
    for (size_t i = 0; i < 3; i++) {
        pen_take(&p, 200);
        p.windup_deg_per_Nm = 0.05;
        pen_to(&p, 0, 0, 0.2);
        pen_to(&p, -45, 0, 0.5);
        pen_to(&p, -6, -50, 1);
        pen_to(&p, -rows[i].down_Nm, -rows[i].on_deg, 1);
        pen_to(&p, 0, 0, 0.3);
        pen_to(&p, 0, 0, 0.4);
        bw_verdict v = judge_pen(&stage, &stands_50, &p);
        assert_int_equal(v.loose, rows[i].loose);
        assert_int_equal(v.outcome, rows[i].loose ? BW_VERDICT_PASS : BW_VERDICT_LOW);
    }
}

/* The ratchet is set the wrong way: whatever the hand does, it does not pass. */
static void test_back_the_wrong_way(void **state) {
    (void)state;
    bw_stage stages[] = {back_off_stage(75, 105), back_off_stage(-INFINITY, 105), loose_stage()};
    for (size_t i = 0; i < 3; i++) {
        pen_take(&p, 200);
        pen_pull(&p, 40, 60, 90);
        bw_verdict v = judge_pen(&stages[i], &stands_50, &p);
        verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
        close_to(v.turn_deg, 0, 0);
        assert_false(v.loose);
        /* And then back after all. */
        pen_to(&p, -45, 0, 0.3);
        pen_to(&p, -30, -90, 1);
        pen_to(&p, 0, 0, 0.3);
        pen_to(&p, 0, 0, 0.3);
        v = judge_pen(&stages[i], &stands_50, &p);
        verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
        pen_to(&p, -30, 0, 0.2);
        pen_to(&p, 0, -10, 0.3);
        pen_to(&p, 0, -60, 1);
        v = judge_pen(&stages[i], &stands_50, &p);
        verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_LOOSENED, false);
    }
}

static void test_seized_backward(void **state) {
    (void)state;
    bw_stage stage = back_off_stage(75, 105);
    pen_take(&p, 200);
    pen_to(&p, 0, 0, 0.2);
    pen_to(&p, -70, 0, 0.5);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 0, 0, 0.4);
    bw_verdict v = judge_pen(&stage, &stands_50, &p);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
}

/* The words while it is backed off: by the turn, or by its being loose. */
static void test_back_off_live(void **state) {
    (void)state;
    bw_stage stages[] = {back_off_stage(40, 105), loose_stage()};
    for (size_t i = 0; i < 2; i++) {
        bw_judge judge;
        bw_judge_begin(&judge, &stages[i], &stands_50, &(bw_terms){.windup_deg_per_Nm = 0.05});
        draw_back(0, 50);
        pen_to(&p, 0, -50, 1);
        bool stop = false;
        for (size_t k = 0; k < p.n; k++) {
            bw_live live = bw_judge_sample(&judge, &p.sample[k]);
            if (live.word == BW_LIVE_STOP && !stop) {
                stop = true;
                if (i == 0) {
                    close_to(live.turn_deg, 40, 0.3);
                } else {
                    close_to(-p.sample[k].angle_deg, 50 * 44.1 / 45 + 1.5, 0.8);
                }
            }
            assert_int_not_equal(live.word, BW_LIVE_OVER);
        }
        assert_true(stop);
    }
}

/* ---- castle nut ---- */

static bw_stage slot_stage(void) {
    bw_stage stage = torque_stage(60, 60, 90);
    stage.kind = BW_STAGE_SLOT;
    stage.high_deg = 60;
    return stage;
}

static void test_slot(void **state) {
    (void)state;
    bw_stage stage = slot_stage();
    static const struct {
        double peak_Nm, turn_deg; /* the turn is that beyond 60 N.m */
        bw_outcome outcome;
        uint32_t reasons;
        bool more;
    } rows[] = {{59, 0, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, true},
                {75, 30, BW_VERDICT_PASS, 0, false},
                {91, 30, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false},
                {75, 61, BW_VERDICT_HIGH, BW_REASON_ANGLE_OVER, false},
                {91, 61, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT | BW_REASON_ANGLE_OVER, false}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        pen_take(&p, 200);
        p.windup_deg_per_Nm = 0.05;
        pen_to(&p, 0, 0, 0.2);
        pen_to(&p, fmin(60, rows[i].peak_Nm), 200, 2);
        pen_to(&p, rows[i].peak_Nm, rows[i].turn_deg, 1);
        pen_to(&p, 0, 0, 0.3);
        pen_to(&p, 0, 0, 0.4);
        bw_verdict v = judge_pen(&stage, NULL, &p);
        verdict_is(&v, rows[i].outcome, rows[i].reasons, rows[i].more);
        close_to(v.turn_deg, rows[i].turn_deg, 1e-6);
        close_to(v.judged_Nm, rows[i].peak_Nm, 1e-9);
    }
}

/* On to the next slot in a second pull: its turn is all beyond the least torque. */
static void test_slot_goes_on(void **state) {
    (void)state;
    bw_stage stage = slot_stage();
    bw_standing nothing = {0};
    pen_take(&p, 200);
    pen_pull(&p, 60, 65, 20);
    bw_verdict v = judge_pen(&stage, NULL, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    bw_seen meets_not = {0};
    bw_verdict seen = bw_judge_seen(&stage, &v, &meets_not);
    verdict_is(&seen, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    bw_standing then = standing_after(&nothing, &seen);
    pen_take(&p, 200);
    pen_pull(&p, 66, 75, 30);
    v = judge_pen(&stage, &then, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    close_to(v.turn_deg, 50, 1e-9);
    seen = bw_judge_seen(&stage, &v, &(bw_seen){.slot_meets = true});
    assert_true(verdicts_same(&seen, &v));
    /* At the upper limit there is no way on. */
    v.peak_Nm = 90;
    seen = bw_judge_seen(&stage, &v, &meets_not);
    verdict_is(&seen, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, false);
}

static void test_slot_without_angle(void **state) {
    (void)state;
    bw_stage stage = slot_stage();
    pen_take(&p, 200);
    p.no_angle = true;
    pen_pull(&p, 60, 75, 70);
    bw_verdict v = judge_pen(&stage, NULL, &p);
    verdict_is(&v, BW_VERDICT_PASS, BW_REASON_NO_TRACE, false);
    v = bw_judge_result(&stage, &stands_50, &(bw_terms){0}, 75, false, 0);
    verdict_is(&v, BW_VERDICT_PASS, BW_REASON_NO_TRACE, false);
    assert_true(v.snug_reached);
    v = bw_judge_result(&stage, &stands_50, &(bw_terms){0}, 55, false, 0);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_NO_TRACE | BW_REASON_BELOW_LIMIT, true);
    assert_false(v.snug_reached);
}

/* A result goes on from where an earlier pull was; a turn that was lost stays so. */
static void test_slot_by_results(void **state) {
    (void)state;
    bw_stage stage = slot_stage();
    bw_standing then = {.pulls = 1, .turn_known = true, .turn_deg = 40, .snug_reached = true};
    bw_verdict v = bw_judge_result(&stage, &then, &(bw_terms){0}, 75, true, 30);
    verdict_is(&v, BW_VERDICT_HIGH, BW_REASON_NO_TRACE | BW_REASON_ANGLE_OVER, false);
    close_to(v.turn_deg, 70, 0);
    then.turn_known = false;
    v = bw_judge_result(&stage, &then, &(bw_terms){0}, 75, true, 30);
    verdict_is(&v, BW_VERDICT_PASS, BW_REASON_NO_TRACE, false);
    assert_false(v.has_turn);
}

/* ---- stretch ---- */

static bw_stage stretch_stage(double about_Nm, double ceiling_Nm) {
    bw_stage stage = torque_stage(-INFINITY, about_Nm, ceiling_Nm);
    stage.kind = BW_STAGE_STRETCH;
    stage.target_mm = 0.15;
    stage.low_mm = 0.13;
    stage.high_mm = 0.17;
    return stage;
}

static void test_stretch_pull(void **state) {
    (void)state;
    bw_stage stage = stretch_stage(45, 60);
    static const struct {
        double peak_Nm;
        bw_outcome outcome;
        uint32_t reasons;
        bool more;
    } rows[] = {{2, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, true}, /* that is no pull */
                {30, BW_VERDICT_PASS, 0, false},
                {60, BW_VERDICT_PASS, 0, false},
                {60.1, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        pen_take(&p, 200);
        pen_pull(&p, 1, rows[i].peak_Nm, 40);
        bw_verdict v = judge_pen(&stage, NULL, &p);
        verdict_is(&v, rows[i].outcome, rows[i].reasons, rows[i].more);
        assert_true(v.has_judged);
        close_to(v.judged_Nm, rows[i].peak_Nm, 0);
    }
    stage.high_Nm = INFINITY; /* no ceiling: no torque is judged */
    bw_verdict v = judge_pen(&stage, NULL, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    assert_false(v.has_judged);
}

/* Run down for 60 degrees, and then a rise that bends: early, unless a locking feature makes it or
 * nothing says how much torque is to come. */
static void test_rises_early_or_not(void **state) {
    (void)state;
    bw_stage stages[] = {stretch_stage(45, 60), stretch_stage(0, 60), stretch_stage(45, 60)};
    stages[2].adds_prevailing = true;
    for (size_t i = 0; i < 3; i++) {
        pen_take(&p, 200);
        pen_to(&p, 0, 60, 1);
        pen_to(&p, 12, 50, 1);
        pen_to(&p, 13, 60, 1);
        pen_to(&p, 50, 60, 1);
        pen_to(&p, 0, 0, 0.3);
        pen_to(&p, 0, 0, 0.3);
        bw_verdict v = judge_pen(&stages[i], NULL, &p);
        assert_int_equal(v.reasons, i == 0 ? BW_REASON_EARLY_RISE : 0);
    }
}

/* The moment of each reason about a turn: the sample that crossed, or the peak. */
static void test_when(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    bw_judge judge;
    bw_judge_begin(&judge, &stage, &stands_50, &(bw_terms){0});
    pen_take(&p, 100);
    pen_pull(&p, 55, 80, 100);
    double at_s = 0;
    assert_false(bw_judge_when(&judge, BW_REASON_ANGLE_SHORT, &at_s));
    assert_false(bw_judge_when(&judge, BW_REASON_ANGLE_OVER, &at_s));
    for (size_t k = 0; k < p.n; k++) {
        (void)bw_judge_sample(&judge, &p.sample[k]);
    }
    assert_true(bw_judge_when(&judge, BW_REASON_ANGLE_OVER, &at_s));
    close_to(at_s, 0.5 + 0.94, 0.02);
    assert_true(bw_judge_when(&judge, BW_REASON_ANGLE_SHORT, &at_s));
    close_to(at_s, 1.5, 0.02);
    assert_true(bw_judge_when(&judge, BW_REASON_NO_TURN, &at_s));
    assert_false(bw_judge_when(&judge, BW_REASON_STRETCH_OVER, &at_s));
}

static void test_stretch_seen(void **state) {
    (void)state;
    bw_stage stage = stretch_stage(45, 60);
    bw_verdict pull = {.outcome = BW_VERDICT_PASS, .peak_Nm = 50};
    static const struct {
        double grown_mm;
        bw_outcome outcome;
        uint32_t reasons;
        bool more;
    } rows[] = {{0.129, BW_VERDICT_LOW, BW_REASON_STRETCH_SHORT, true},
                {0.13, BW_VERDICT_PASS, 0, false},
                {0.17, BW_VERDICT_PASS, 0, false},
                {0.171, BW_VERDICT_HIGH, BW_REASON_STRETCH_OVER, false},
                {NAN, BW_VERDICT_SUSPECT, BW_REASON_GAP, false},
                {INFINITY, BW_VERDICT_SUSPECT, BW_REASON_GAP, false}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_seen seen = {.before_mm = 52.31, .after_mm = 52.31 + rows[i].grown_mm};
        bw_verdict v = bw_judge_seen(&stage, &pull, &seen);
        verdict_is(&v, rows[i].outcome, rows[i].reasons, rows[i].more);
        assert_int_equal(v.has_stretch, isfinite(rows[i].grown_mm));
        close_to(v.stretch_mm, v.has_stretch ? rows[i].grown_mm : 0, 1e-12);
    }
    pull.peak_Nm = 60; /* too short, and no torque left to pull with */
    bw_verdict v = bw_judge_seen(&stage, &pull, &(bw_seen){52, 52.1, false});
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_STRETCH_SHORT, false);
}

/* What did not pass, and what is not answered, is given back as it is. */
static void test_seen_changes_nothing_else(void **state) {
    (void)state;
    bw_seen seen = {52, 53, false};
    for (int kind = 0; kind < BW_STAGE_KIND_COUNT; kind++) {
        bw_stage stage = stretch_stage(45, 60);
        stage.kind = (bw_stage_kind)kind;
        bool answered = bw_stage_traits_of(stage.kind)->is_answered;
        for (int outcome = 0; outcome < BW_VERDICT_COUNT; outcome++) {
            bw_verdict pull = {.outcome = (bw_outcome)outcome, .peak_Nm = 50};
            bw_verdict v = bw_judge_seen(&stage, &pull, &seen);
            bool stays = !answered || outcome != BW_VERDICT_PASS;
            assert_int_equal(verdicts_same(&v, &pull), stays);
        }
    }
}

static void test_stretch_live(void **state) {
    (void)state;
    bw_stage stage = stretch_stage(45, 60);
    static const struct {
        uint32_t pulls;
        double torque_Nm;
        bw_live_word word;
    } rows[] = {{0, 40, BW_LIVE_FREE}, {0, 41, BW_LIVE_NEAR}, {0, 45, BW_LIVE_STOP},
                {0, 61, BW_LIVE_OVER}, {1, 50, BW_LIVE_FREE}, {1, 61, BW_LIVE_OVER}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_judge judge;
        bw_standing standing = {.pulls = rows[i].pulls};
        bw_judge_begin(&judge, &stage, &standing, &(bw_terms){0});
        bw_sample rest = {.has_angle = true};
        bw_sample now = {.time_s = 1, .torque_Nm = rows[i].torque_Nm, .has_angle = true};
        (void)bw_judge_sample(&judge, &rest);
        assert_int_equal(bw_judge_sample(&judge, &now).word, rows[i].word);
    }
    bw_judge judge;
    stage.target_Nm = 0;
    bw_judge_begin(&judge, &stage, &stands_50, &(bw_terms){0});
    assert_int_equal(bw_judge_sample(&judge, &(bw_sample){.torque_Nm = 1}).word, BW_LIVE_FREE);
}

/* ---- what runs ---- */

static const bw_stage_kind running[] = {BW_STAGE_PREVAILING, BW_STAGE_ROTATING, BW_STAGE_CREEP};

static bw_stage running_stage(bw_stage_kind kind, double low_Nm, double high_Nm) {
    bw_stage stage = torque_stage(low_Nm, 0, high_Nm);
    stage.kind = kind;
    stage.least_turn_deg = 360;
    return stage;
}

/* Winds up, breaks away well above the torque that keeps it turning, runs. */
static void draw_run(double torque_Nm, double turn_deg) {
    pen_to(&p, 0, 0, 0.2);
    pen_to(&p, 1.3 * torque_Nm, 0, 0.3);
    pen_to(&p, torque_Nm, 1, 0.05);
    pen_to(&p, torque_Nm, turn_deg - 1, turn_deg / 90);
    pen_to(&p, 0, 0, 0.2);
    pen_to(&p, 0, 0, 0.1);
}

static void test_runs(void **state) {
    (void)state;
    static const struct {
        double torque_Nm, turn_deg;
        bw_outcome outcome;
        uint32_t reasons;
    } rows[] = {{4, 380, BW_VERDICT_PASS, 0},
                {4, 359, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT},
                {4, 4, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT},
                {1.9, 380, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT},
                {6.1, 380, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT},
                {2, 380, BW_VERDICT_PASS, 0},
                {6, 380, BW_VERDICT_PASS, 0}};
    for (size_t k = 0; k < 3; k++) {
        bw_stage stage = running_stage(running[k], 2, 6);
        for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
            pen_take(&p, 200);
            p.windup_deg_per_Nm = 0.05;
            draw_run(rows[i].torque_Nm, rows[i].turn_deg);
            bw_verdict v = judge_pen(&stage, NULL, &p);
            bool mends = rows[i].reasons == (uint32_t)BW_REASON_ANGLE_SHORT ||
                         (rows[i].reasons == (uint32_t)BW_REASON_BELOW_LIMIT &&
                          running[k] == BW_STAGE_CREEP);
            verdict_is(&v, rows[i].outcome, rows[i].reasons, mends);
            close_to(v.turn_deg, rows[i].turn_deg, 1e-6);
            assert_int_equal(v.has_judged, rows[i].turn_deg > 5);
            close_to(v.judged_Nm, v.has_judged ? rows[i].torque_Nm : 0, 1e-9);
            close_to(v.peak_Nm, 1.3 * rows[i].torque_Nm, 1e-9);
        }
    }
}

/* By strokes of a ratchet, quickly and slowly by turns: the mean is that over the turn. */
static void test_runs_by_strokes(void **state) {
    (void)state;
    bw_stage stage = running_stage(BW_STAGE_ROTATING, 2, 6);
    pen_take(&p, 200);
    p.windup_deg_per_Nm = 0.05;
    for (int i = 0; i < 8; i++) {
        double torque_Nm = i % 2 == 0 ? 3 : 5;
        pen_to(&p, 1.1 * torque_Nm, 0, 0.2);
        pen_to(&p, torque_Nm, 1, 0.05);
        pen_to(&p, torque_Nm, 60, i % 2 == 0 ? 0.5 : 3);
        pen_to(&p, torque_Nm, 0, 1); /* a hand that stands still adds nothing */
        pen_to(&p, 0, 0, 0.1);
        pen_back(&p, 61, 0.3);
    }
    bw_verdict v = judge_pen(&stage, NULL, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    close_to(v.turn_deg, 8 * 61, 1e-6);
    close_to(v.judged_Nm, 4, 0.002); /* handle and extension wind up a little further under 5 */
}

/* At the end of the run-down the nut meets its seat: that is no prevailing torque.  What rises and
 * falls again, or rises for more than a seat can, is. */
static void test_prevailing_and_the_seat(void **state) {
    (void)state;
    static const struct {
        bw_stage_kind kind;
        double top_Nm, rise_deg, down_deg, judged_Nm;
    } rows[] = {
        {BW_STAGE_PREVAILING, 20, 40, 0, 3},
        {BW_STAGE_PREVAILING, 4.4, 50, 0, 3 + 0.7 * 50 / 446}, /* 1.5 times the mean is its own */
        {BW_STAGE_PREVAILING, 20, 40, 30, 0},
        {BW_STAGE_PREVAILING, 7, 200, 0, 3.4}, /* all but the last of it */
        {BW_STAGE_ROTATING, 20, 40, 0, 0},     /* a shaft has no seat */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_stage stage = running_stage(rows[i].kind, 1, 100);
        pen_take(&p, 200);
        pen_to(&p, 0, 0, 0.2);
        pen_to(&p, 3, 0, 0.1);
        pen_to(&p, 3, 400, 4);
        pen_to(&p, rows[i].top_Nm, rows[i].rise_deg, 0.5);
        if (rows[i].down_deg > 0) {
            pen_to(&p, 3, rows[i].down_deg, 0.5);
        }
        pen_to(&p, 0, 0, 0.3);
        pen_to(&p, 0, 0, 0.3);
        bw_verdict v = judge_pen(&stage, NULL, &p);
        double ends_deg = rows[i].rise_deg + rows[i].down_deg;
        double all_Nm = (395 * 3 + ends_deg * (3 + rows[i].top_Nm) / 2) / (395 + ends_deg);
        /* Until it is half as much again, the rise is still counted. */
        close_to(v.judged_Nm, rows[i].judged_Nm > 0 ? rows[i].judged_Nm : all_Nm, 0.06);
    }
}

/* Several pulls: turn and mean go on, until the mean was complete. */
static void test_runs_by_pulls(void **state) {
    (void)state;
    bw_stage stage = running_stage(BW_STAGE_CREEP, 2, 6);
    bw_standing then = {.torque_Nm = 80};
    pen_take(&p, 200);
    draw_run(1, 120);
    bw_verdict v = judge_pen(&stage, &then, &p);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    then = standing_after(&then, &v);
    pen_take(&p, 200);
    draw_run(1.4, 245);
    v = judge_pen(&stage, &then, &p);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, true);
    close_to(v.turn_deg, 365, 1e-6);
    close_to(v.judged_Nm, (120 + 1.4 * 240) / 360, 1e-6);
    then = standing_after(&then, &v);
    pen_take(&p, 200);
    draw_run(3, 100); /* tighter now: what was before does not count */
    v = judge_pen(&stage, &then, &p);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    close_to(v.turn_deg, 100, 1e-6);
    close_to(v.judged_Nm, 3, 1e-6);
    then = standing_after(&then, &v);
    then.turn_known = false; /* that pull was lost: begin anew */
    pen_take(&p, 200);
    draw_run(3, 270);
    v = judge_pen(&stage, &then, &p);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    close_to(v.turn_deg, 270, 1e-6);
}

static void test_runs_unseen(void **state) {
    (void)state;
    for (size_t k = 0; k < 3; k++) {
        bw_stage stage = running_stage(running[k], 2, 6);
        pen_take(&p, 200);
        p.no_angle = true;
        draw_run(4, 400);
        bw_verdict v = judge_pen(&stage, NULL, &p);
        verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TRACE, false);
        stage.least_turn_deg = 0; /* no turn is asked for, and a mean is over turn all the same */
        v = judge_pen(&stage, NULL, &p);
        verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TRACE, false);
        stage.least_turn_deg = 360;
        pen_take(&p, 200);
        draw_run(4, 400);
        v = judge_all(&stage, NULL, p.sample, p.n, false);
        verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, true); /* it can be turned again */
        v = bw_judge_result(&stage, &stands_50, &(bw_terms){0}, 4, true, 400);
        verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TRACE, false);
        assert_false(v.has_judged);
    }
}

/* The word comes once it turned enough, and follows the mean. */
static void test_runs_live(void **state) {
    (void)state;
    static const struct {
        double torque_Nm;
        bw_live_word word;
    } rows[] = {{1, BW_LIVE_FREE}, {4, BW_LIVE_STOP}, {7, BW_LIVE_OVER}};
    bw_stage stage = running_stage(BW_STAGE_ROTATING, 2, 6);
    bw_standing nothing = {0};
    for (size_t i = 0; i < 3; i++) {
        bw_judge judge;
        bw_judge_begin(&judge, &stage, &nothing, &(bw_terms){0});
        pen_take(&p, 200);
        draw_run(rows[i].torque_Nm, 400);
        for (size_t k = 0; k < p.n; k++) {
            bw_live live = bw_judge_sample(&judge, &p.sample[k]);
            bw_live_word word = live.turn_deg < 0.9 * 360 - 1e-6 ? BW_LIVE_FREE
                                : live.turn_deg < 360 - 1e-6     ? BW_LIVE_NEAR
                                                                 : rows[i].word;
            assert_int_equal(live.word, word);
        }
        bw_verdict v = bw_judge_end(&judge, true);
        double at_s = 0;
        assert_int_equal(v.outcome == BW_VERDICT_PASS, i == 1);
        assert_int_equal(bw_judge_when(&judge, BW_REASON_ABOVE_LIMIT, &at_s), true);
        close_to(at_s, 0.5, 0.01); /* the peak */
    }
}

/* A limit on one side, or none: there is a threshold all the same. */
static void test_runs_without_limits(void **state) {
    (void)state;
    bw_standing stands = {.torque_Nm = 200};
    static const struct {
        double low_Nm, high_Nm, threshold_Nm;
    } rows[] = {{-INFINITY, INFINITY, 0.3},
                {-INFINITY, 8, 0.3},
                {0, 8, 0.3},
                {10, INFINITY, 0.5},
                {-INFINITY, -1, 0.3}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_stage stage = running_stage(BW_STAGE_PREVAILING, rows[i].low_Nm, rows[i].high_Nm);
        close_to(bw_judge_threshold_Nm(&stage, &stands), rows[i].threshold_Nm, 1e-12);
    }
    bw_stage stage = running_stage(BW_STAGE_PREVAILING, -INFINITY, INFINITY);
    pen_take(&p, 200);
    draw_run(3, 400);
    bw_verdict v = judge_pen(&stage, NULL, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    assert_true(v.has_judged);
    close_to(v.judged_Nm, 3, 1e-9);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_back_by_an_angle),
        cmocka_unit_test(test_back_in_two_pulls),
        cmocka_unit_test(test_back_and_loose),
        cmocka_unit_test(test_back_and_not_loose),
        cmocka_unit_test(test_back_by_strokes),
        cmocka_unit_test(test_loose_under_a_locking_feature),
        cmocka_unit_test(test_back_the_wrong_way),
        cmocka_unit_test(test_seized_backward),
        cmocka_unit_test(test_back_off_live),
        cmocka_unit_test(test_slot),
        cmocka_unit_test(test_slot_goes_on),
        cmocka_unit_test(test_slot_without_angle),
        cmocka_unit_test(test_slot_by_results),
        cmocka_unit_test(test_stretch_pull),
        cmocka_unit_test(test_rises_early_or_not),
        cmocka_unit_test(test_when),
        cmocka_unit_test(test_stretch_seen),
        cmocka_unit_test(test_seen_changes_nothing_else),
        cmocka_unit_test(test_stretch_live),
        cmocka_unit_test(test_runs),
        cmocka_unit_test(test_runs_by_strokes),
        cmocka_unit_test(test_prevailing_and_the_seat),
        cmocka_unit_test(test_runs_by_pulls),
        cmocka_unit_test(test_runs_unseen),
        cmocka_unit_test(test_runs_live),
        cmocka_unit_test(test_runs_without_limits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
