/* moving_test.c - what lies in the curve of torque over turn: where a tightened fastener first
 * moves, and where one begins to yield.  Traces drawn by hand. */
#include "cmocka_all.h"

#include "pen.h"

#include <math.h>

static pen p;

static const bw_standing stands_60 = {.torque_Nm = 60};

/* ---- check ---- */

static bw_stage check_stage(void) {
    bw_stage stage = torque_stage(50, 0, 75);
    stage.kind = BW_STAGE_CHECK;
    stage.high_deg = 5;
    return stage;
}

/* Winds up to first_Nm, where it moves; falls by a share of friction at rest; turns on. */
static void draw_check(double first_Nm, double rest_share, double last_Nm, double turn_deg) {
    p.windup_deg_per_Nm = 0.04;
    pen_to(&p, 0, 0, 0.2);
    pen_to(&p, first_Nm, 0, first_Nm / 40);
    if (turn_deg > 0) {
        double slip_deg = fmin(rest_share * first_Nm * 0.04, turn_deg);
        pen_to(&p, first_Nm * (1 - rest_share), slip_deg, 0.005);
        pen_to(&p, last_Nm, turn_deg - slip_deg, 0.4);
    }
    pen_to(&p, 0, 0, 0.4);
    pen_to(&p, 0, 0, 0.4);
}

static void test_check(void **state) {
    (void)state;
    bw_stage stage = check_stage();
    static const struct {
        double first_Nm, rest_share, last_Nm, turn_deg;
        bw_outcome outcome;
        uint32_t reasons;
        bool more;
        double judged_Nm;
    } rows[] = {
        {60, 0, 62, 3, BW_VERDICT_PASS, 0, false, 60},   /* moves smoothly */
        {60, 0.1, 61, 3, BW_VERDICT_PASS, 0, false, 60}, /* breaks away, goes beyond */
        {60, 0.1, 56, 3, BW_VERDICT_PASS, 0, false, 60}, /* breaks away, stays below */
        {60, 0, 0, 0, BW_VERDICT_PASS, 0, false, 60},    /* holds */
        {46, 0, 49, 3, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, false, 46}, /* has let go */
        {46, 0.1, 55, 4, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, false, 46},
        {46, 0, 0, 0, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, true, 46}, /* says nothing yet */
        {76, 0, 0, 0, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false, 76},
        {70, 0, 76, 3, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false, 70},
        {60, 0, 66, 6, BW_VERDICT_HIGH, BW_REASON_ANGLE_OVER, false, 60},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (int noisy = 0; noisy < 2; noisy++) {
            pen_take(&p, 200);
            p.noise_Nm = noisy == 0 ? 0 : 0.08;
            p.drift_deg_per_s = noisy == 0 ? 0 : 0.02;
            draw_check(rows[i].first_Nm, rows[i].rest_share, rows[i].last_Nm, rows[i].turn_deg);
            bw_verdict v = judge_pen(&stage, &stands_60, &p);
            verdict_is(&v, rows[i].outcome, rows[i].reasons, rows[i].more);
            assert_true(v.has_judged);
            close_to(v.judged_Nm, rows[i].judged_Nm, 0.9); /* a level, and 0.3 degree */
            close_to(v.turn_deg, rows[i].turn_deg, 0.1);
        }
    }
}

/* One reach that holds below the window, then one that moves it: levels go on from there. */
static void test_check_in_two_strokes(void **state) {
    (void)state;
    bw_stage stage = check_stage();
    pen_take(&p, 200);
    draw_check(45, 0, 0, 0);
    draw_check(58, 0.05, 59, 2);
    bw_verdict v = judge_pen(&stage, &stands_60, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    close_to(v.judged_Nm, 58, 0.5);
    /* The other way round: the second only shows that it was moved before. */
    pen_take(&p, 200);
    draw_check(46, 0, 47, 2);
    draw_check(58, 0, 0, 0);
    v = judge_pen(&stage, &stands_60, &p);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, false);
    close_to(v.judged_Nm, 46, 0.5);
}

/* Far above what it was tightened to: levels become coarser, the torque stays right. */
static void test_check_far_above(void **state) {
    (void)state;
    bw_stage stage = check_stage();
    stage.high_Nm = INFINITY;
    static const double firsts_Nm[] = {70, 150, 400, 2000};
    for (size_t i = 0; i < 4; i++) {
        pen_take(&p, 200);
        draw_check(firsts_Nm[i], 0.05, 1.01 * firsts_Nm[i], 3);
        bw_verdict v = judge_pen(&stage, &stands_60, &p);
        verdict_is(&v, BW_VERDICT_PASS, 0, false);
        close_to(v.judged_Nm, firsts_Nm[i], 0.01 * firsts_Nm[i]);
    }
}

static void test_check_without_a_number(void **state) {
    (void)state;
    bw_stage stage = check_stage();
    stage.low_Nm = -INFINITY;
    stage.high_Nm = INFINITY;
    pen_take(&p, 200);
    draw_check(30, 0.1, 31, 2);
    bw_verdict v = judge_pen(&stage, NULL, &p); /* nothing is known of it either */
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    close_to(v.judged_Nm, 30, 0.5);
}

/* It moves under next to nothing: it is loose. */
static void test_check_of_a_loose_one(void **state) {
    (void)state;
    bw_stage stage = check_stage();
    pen_take(&p, 200);
    pen_to(&p, 0, 0, 0.2);
    pen_to(&p, 20, 4, 1);
    pen_to(&p, 0, 0, 0.4);
    pen_to(&p, 0, 0, 0.4);
    bw_verdict v = judge_pen(&stage, &stands_60, &p);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, false);
    assert_true(v.judged_Nm < 6);
}

static void test_check_unseen(void **state) {
    (void)state;
    bw_stage stage = check_stage();
    pen_take(&p, 200);
    draw_check(60, 0, 0, 0);
    bw_verdict v = judge_all(&stage, &stands_60, p.sample, p.n, false);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, false);
    pen_take(&p, 200);
    p.no_angle = true;
    draw_check(60, 0, 0, 0);
    v = judge_pen(&stage, &stands_60, &p);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TRACE, false);
    v = bw_judge_result(&stage, &stands_60, &(bw_terms){0}, 60, true, 0);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TRACE, false);
}

/* Stop where it moves, as soon as the wind-up is known; else where it holds. */
static void test_check_live(void **state) {
    (void)state;
    bw_stage stage = check_stage();
    static const struct {
        double windup_deg_per_Nm, low_Nm, at_Nm;
    } rows[] = {{0.04, 50, 41.5}, {0, 50, 50}, {0.04, -INFINITY, 41.5}};
    for (size_t i = 0; i < 3; i++) {
        bw_judge judge;
        stage.low_Nm = rows[i].low_Nm;
        bw_judge_begin(&judge, &stage, &stands_60,
                       &(bw_terms){.windup_deg_per_Nm = rows[i].windup_deg_per_Nm});
        pen_take(&p, 200);
        draw_check(40, 0, 55, 12);
        size_t k = 0;
        bw_live live = {0};
        while (live.word != BW_LIVE_STOP) {
            live = bw_judge_sample(&judge, &p.sample[k++]);
        }
        close_to(live.torque_Nm, rows[i].at_Nm, 0.5);
        while (live.word != BW_LIVE_OVER && k < p.n) {
            live = bw_judge_sample(&judge, &p.sample[k++]);
        }
        assert_int_equal(live.word == BW_LIVE_OVER, rows[i].windup_deg_per_Nm > 0);
    }
}

static void test_check_when(void **state) {
    (void)state;
    bw_stage stage = check_stage();
    bw_judge judge;
    bw_judge_begin(&judge, &stage, &stands_60, &(bw_terms){0});
    pen_take(&p, 200);
    draw_check(40, 0, 45, 3);
    for (size_t k = 0; k < p.n; k++) {
        (void)bw_judge_sample(&judge, &p.sample[k]);
    }
    double at_s = 0;
    assert_true(bw_judge_when(&judge, BW_REASON_BELOW_LIMIT, &at_s));
    close_to(at_s, 1.2, 0.1);
}

/* ---- yield ---- */

static bw_stage yield_stage(double share) {
    bw_stage stage = torque_stage(70, 0, 110);
    stage.kind = BW_STAGE_YIELD;
    stage.snug_Nm = 40;
    stage.slope_share = share;
    stage.high_deg = 120;
    return stage;
}

/* From rest to the snug torque in a soft start; a straight line of slope to onset_Nm; beyond it a
 * tenth of the slope for beyond_deg. */
static void draw_yield(double slope, double onset_Nm, double beyond_deg) {
    pen_to(&p, 0, 0, 0.2);
    pen_to(&p, 10, fmax(20, 20 / slope), 0.5);
    pen_to(&p, 40, 30 / slope, 0.5);
    pen_to(&p, onset_Nm, (onset_Nm - 40) / slope, (onset_Nm - 40) / 30);
    pen_to(&p, onset_Nm + 0.1 * slope * beyond_deg, beyond_deg, fmax(0.1, beyond_deg / 20));
    pen_to(&p, 0, 0, 0.4);
    pen_to(&p, 0, 0, 0.4);
}

static void test_yield(void **state) {
    (void)state;
    static const double slopes[] = {0.15, 0.6, 1.5, 3};
    static const double shares[] = {0.3, 0.5, 0.7};
    static const double windups[] = {0, 0.03, 0.05, 0.1};
    for (size_t i = 0; i < 3 * 4 * 4 * 2; i++) {
        bw_stage stage = yield_stage(shares[i % 3]);
        pen_take(&p, 200);
        p.windup_deg_per_Nm = windups[i / 12 % 4];
        p.noise_Nm = i < 48 ? 0 : 0.08;
        p.drift_deg_per_s = i < 48 ? 0 : 0.02;
        double slope = slopes[i / 3 % 4];
        double beyond_deg = fmax(12, 20 / slope);
        draw_yield(slope, 90, beyond_deg);
        stage.high_deg = 50 / slope + beyond_deg + 1;
        bw_verdict v = judge_pen(&stage, NULL, &p);
        verdict_is(&v, BW_VERDICT_PASS, 0, false);
        assert_true(v.has_judged && v.snug_reached);
        close_to(v.judged_Nm, 90, 5);
        close_to(v.turn_deg, 50 / slope + beyond_deg, 0.5);
    }
}

static void test_yield_limits(void **state) {
    (void)state;
    bw_stage stage = yield_stage(0.5);
    static const struct {
        double onset_Nm, beyond_deg;
        bw_outcome outcome;
        uint32_t reasons;
        bool more;
    } rows[] = {{90, 15, BW_VERDICT_PASS, 0, false},
                {90, 0, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true},   /* not there yet */
                {60, 15, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, false}, /* a weak bolt */
                {118, 15, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false},
                {115, 0, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false}, /* does not yield at all */
                {90, 90, BW_VERDICT_HIGH, BW_REASON_ANGLE_OVER, false},
                {34, 0, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true}}; /* short of snug */
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        pen_take(&p, 200);
        p.windup_deg_per_Nm = 0.04;
        p.noise_Nm = 0.05;
        draw_yield(1.5, rows[i].onset_Nm, rows[i].beyond_deg);
        if (rows[i].onset_Nm < 40) {
            p.n = 0;
            pen_pull(&p, 10, rows[i].onset_Nm, 20);
        }
        bw_verdict v = judge_pen(&stage, NULL, &p);
        verdict_is(&v, rows[i].outcome, rows[i].reasons, rows[i].more);
        assert_int_equal(v.has_judged, rows[i].beyond_deg > 0);
    }
}

/* Strokes of a ratchet, each sticking by a tenth before it goes on: no onset before the one. */
static void test_yield_by_strokes(void **state) {
    (void)state;
    bw_stage stage = yield_stage(0.5);
    for (size_t strokes = 2; strokes <= 5; strokes++) {
        for (int yields = 0; yields < 2; yields++) {
            pen_take(&p, 200);
            p.windup_deg_per_Nm = 0.05;
            p.noise_Nm = 0.05;
            pen_to(&p, 0, 0, 0.2);
            pen_to(&p, 10, 20, 0.5);
            pen_to(&p, 40, 20, 0.5);
            double torque_Nm = 40;
            for (size_t i = 0; i < strokes; i++) {
                double rise_Nm = 50.0 / (double)strokes;
                if (i > 0) {
                    pen_to(&p, 1.1 * torque_Nm, 0, 0.4);
                    pen_to(&p, torque_Nm, 0.1 * torque_Nm * 0.05, 0.01);
                }
                torque_Nm += rise_Nm;
                pen_to(&p, torque_Nm, rise_Nm / 1.5, 0.6);
                if (i + 1 == strokes && yields != 0) {
                    pen_to(&p, torque_Nm + 1.5, 10, 0.6);
                }
                pen_to(&p, 0, 0, 0.2);
                pen_back(&p, 20, 0.2);
            }
            pen_to(&p, 0, 0, 0.3);
            bw_verdict v = judge_pen(&stage, NULL, &p);
            if (yields != 0) {
                verdict_is(&v, BW_VERDICT_PASS, 0, false);
                close_to(v.judged_Nm, 90, 5);
            } else {
                verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
            }
        }
    }
}

/* A hand that halts, eases and goes on: it sticks, breaks away, and is back on its line. */
static void test_yield_and_halts(void **state) {
    (void)state;
    for (int i = 0; i < 40; i++) {
        bw_stage stage = yield_stage(0.3 + 0.1 * (i % 4));
        double slip_deg = 0;
        pen_take(&p, 200);
        p.windup_deg_per_Nm = 0.01 * (i / 4 + 1);
        p.noise_Nm = 0.05;
        pen_to(&p, 0, 0, 0.2);
        pen_to(&p, 20, 30, 0.5);
        for (double torque_Nm = 30; torque_Nm < 90; torque_Nm += 10) {
            pen_to(&p, torque_Nm, 10 / 1.5 - slip_deg, 0.3);
            pen_to(&p, 0.85 * torque_Nm, 0, 0.2);
            pen_to(&p, 1.12 * torque_Nm, 0, 0.3);
            /* It slips until the torque that is left just keeps it turning. */
            slip_deg = 0.12 * torque_Nm / (1.5 + 1 / p.windup_deg_per_Nm);
            pen_to(&p, torque_Nm + 1.5 * slip_deg, slip_deg, 0.01);
        }
        pen_to(&p, 0, 0, 0.3);
        pen_to(&p, 0, 0, 0.3);
        bw_verdict v = judge_pen(&stage, NULL, &p);
        verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    }
}

/* It stood at the snug torque already: it sticks beyond it before it turns, and that is steeper
 * than any bolt. */
static void test_yield_from_where_it_stood(void **state) {
    (void)state;
    bw_stage stage = yield_stage(0.5);
    bw_standing stands_40 = {.torque_Nm = 40};
    for (int yields = 0; yields < 2; yields++) {
        pen_take(&p, 200);
        p.windup_deg_per_Nm = 0.05;
        p.noise_Nm = 0.05;
        pen_to(&p, 0, 0, 0.2);
        pen_to(&p, 45, 0, 0.6);
        pen_to(&p, 41, 0.3, 0.01);
        pen_to(&p, 90, 33, 1.5);
        if (yields != 0) {
            pen_to(&p, 91.5, 12, 0.6);
        }
        pen_to(&p, 0, 0, 0.3);
        pen_to(&p, 0, 0, 0.3);
        bw_verdict v = judge_pen(&stage, &stands_40, &p);
        if (yields != 0) {
            verdict_is(&v, BW_VERDICT_PASS, 0, false);
            close_to(v.judged_Nm, 90, 4);
        } else {
            verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
        }
    }
}

/* It drags at first, and then goes all at once: what was before is no part of its line. */
static void test_yield_behind_a_jerk(void **state) {
    (void)state;
    bw_stage stage = yield_stage(0.5);
    bw_standing stands_40 = {.torque_Nm = 40};
    pen_take(&p, 200);
    pen_to(&p, 0, 0, 0.2);
    pen_to(&p, 46, 0, 0.6);
    pen_to(&p, 46, 6, 0.4);
    pen_to(&p, 41, 0.3, 0.01);
    pen_to(&p, 88, 32, 1.5);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 0, 0, 0.3);
    bw_verdict v = judge_pen(&stage, &stands_40, &p);
    verdict_is(&v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
}

/* A second pull that begins where it yields already knows how steep it was. */
static void test_yield_in_the_second_pull(void **state) {
    (void)state;
    bw_stage stage = yield_stage(0.5);
    bw_standing then = {.pulls = 1,
                        .turn_known = true,
                        .turn_deg = 30,
                        .peak_Nm = 88,
                        .snug_reached = true,
                        .slope_Nm_per_deg = 1.5};
    pen_take(&p, 200);
    p.windup_deg_per_Nm = 0.05;
    pen_to(&p, 0, 0, 0.2);
    pen_to(&p, 92, 0, 0.6);
    pen_to(&p, 88, 0.3, 0.01);
    pen_to(&p, 91, 12, 1);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 0, 0, 0.3);
    bw_verdict v = judge_pen(&stage, &then, &p);
    verdict_is(&v, BW_VERDICT_PASS, 0, false);
    close_to(v.judged_Nm, 89, 2);
    close_to(v.turn_deg, 42.3, 0.1);
}

/* The hand is told within a window behind the onset, from the torque where it may yield on it is
 * told to go slowly, and above the window that it is too much. */
static void test_yield_live(void **state) {
    (void)state;
    bw_stage stage = yield_stage(0.5);
    bw_standing nothing = {0};
    for (int yields = 0; yields < 2; yields++) {
        bw_judge judge;
        bw_judge_begin(&judge, &stage, &nothing, &(bw_terms){0});
        pen_take(&p, 200);
        p.windup_deg_per_Nm = 0.05;
        draw_yield(1.5, yields != 0 ? 90 : 115, 20);
        double stop_deg = 0;
        bool over = false;
        for (size_t k = 0; k < p.n; k++) {
            bw_live live = bw_judge_sample(&judge, &p.sample[k]);
            over = over || live.word == BW_LIVE_OVER;
            if (live.word == BW_LIVE_STOP && stop_deg == 0) {
                stop_deg = p.sample[k].angle_deg;
            }
            if (stop_deg == 0 && !over) {
                bool near = live.torque_Nm >= 63;
                assert_int_equal(live.word, near ? BW_LIVE_NEAR : BW_LIVE_FREE);
            }
        }
        double at_s = 0;
        if (yields != 0) {
            double onset_deg = 40 + 50 / 1.5 + 0.05 * 90;
            assert_true(stop_deg > onset_deg && stop_deg < onset_deg + 6);
            assert_false(over);
            assert_true(bw_judge_when(&judge, BW_REASON_BELOW_LIMIT, &at_s));
            close_to(at_s, 0.2 + 1 + 50.0 / 30, 0.2);
        } else {
            assert_true(over);
            assert_true(bw_judge_when(&judge, BW_REASON_ABOVE_LIMIT, &at_s));
        }
    }
}

static void test_yield_unseen(void **state) {
    (void)state;
    bw_stage stage = yield_stage(0.5);
    pen_take(&p, 200);
    draw_yield(1.5, 90, 15);
    bw_verdict v = judge_all(&stage, NULL, p.sample, p.n, false);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, false);
    pen_take(&p, 200);
    p.no_angle = true;
    draw_yield(1.5, 90, 15);
    v = judge_pen(&stage, NULL, &p);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TRACE, false);
    v = bw_judge_result(&stage, &stands_60, &(bw_terms){0}, 90, true, 50);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_NO_TRACE, false);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_check),
        cmocka_unit_test(test_check_in_two_strokes),
        cmocka_unit_test(test_check_far_above),
        cmocka_unit_test(test_check_without_a_number),
        cmocka_unit_test(test_check_of_a_loose_one),
        cmocka_unit_test(test_check_unseen),
        cmocka_unit_test(test_check_live),
        cmocka_unit_test(test_check_when),
        cmocka_unit_test(test_yield),
        cmocka_unit_test(test_yield_limits),
        cmocka_unit_test(test_yield_by_strokes),
        cmocka_unit_test(test_yield_and_halts),
        cmocka_unit_test(test_yield_from_where_it_stood),
        cmocka_unit_test(test_yield_behind_a_jerk),
        cmocka_unit_test(test_yield_in_the_second_pull),
        cmocka_unit_test(test_yield_live),
        cmocka_unit_test(test_yield_unseen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
