/* relations_test.c - what must hold between verdicts on related traces, whatever the traces are:
 * a few thousand drawn by chance, from clean to hopeless. */
#include "cmocka_all.h"

#include "good.h"

#include <math.h>
#include <string.h>

enum { CASES = 1100 };

static pen p;
static bw_sample changed[PEN_SAMPLES_MAX];

static double between(uint64_t *seed, double least, double most) {
    return least + (most - least) * (double)(next_chance(seed) >> 11) / 9007199254740992.0;
}

static bool one_in(uint64_t *seed, uint64_t n) {
    return next_chance(seed) % n == 0;
}

/* A pull of one to four strokes that ends somewhere about the target, with what a wrench adds. */
static void draw(uint64_t *seed, double peak_Nm, double turn_deg) {
    static const double rates_Hz[] = {10, 64, 128, 512};
    pen_take(&p, rates_Hz[next_chance(seed) % 4]);
    p.chance = next_chance(seed);
    p.windup_deg_per_Nm = between(seed, 0, 0.1);
    p.noise_Nm = one_in(seed, 3) ? between(seed, 0, 0.1) : 0;
    p.no_angle = one_in(seed, 10);
    size_t strokes = 1 + next_chance(seed) % 4;
    double torque_Nm = between(seed, 0.3, 0.8) * peak_Nm;
    double rise_Nm = (peak_Nm - torque_Nm) / (double)strokes;
    pen_to(&p, 0, 0, 0.4);
    for (size_t i = 0; i < strokes; i++) {
        pen_to(&p, torque_Nm, 0, 0.4);
        torque_Nm += rise_Nm;
        pen_to(&p, torque_Nm, turn_deg / (double)strokes, 0.6);
        if (one_in(seed, 3)) {
            pen_to(&p, between(seed, 0.02, 0.9) * torque_Nm, 0, 0.2);
            pen_to(&p, torque_Nm, 0, 0.2);
        }
        pen_to(&p, 0, 0, 0.2);
        pen_back(&p, turn_deg / (double)strokes, 0.1);
    }
    pen_to(&p, 0, 0, 0.4);
    if (one_in(seed, 8)) {
        p.sample[next_chance(seed) % p.n].torque_Nm += between(seed, 0, 2 * peak_Nm);
    }
}

typedef struct task {
    bw_stage stage;
    bw_standing standing;
    double sign; /* of the torque */
} task;

static bool counts_angle(const bw_stage *stage) {
    return bw_stage_traits_of(stage->kind)->limits_turn;
}

/* One of the kinds that are more than a torque or an angle. */
static task draw_other(uint64_t *seed) {
    static const double rates_Hz[] = {50, 64, 128, 256};
    size_t which = BW_STAGE_BACK_OFF + next_chance(seed) % (GOOD_CASES - BW_STAGE_BACK_OFF);
    good g = good_case(which);
    pen_take(&p, rates_Hz[next_chance(seed) % 4]);
    p.chance = next_chance(seed);
    p.windup_deg_per_Nm = between(seed, 0, 0.1);
    p.noise_Nm = one_in(seed, 3) ? between(seed, 0, 0.1) : 0;
    p.no_angle = one_in(seed, 10);
    double far = between(seed, 0.85, 1.2);
    good_pull(&p, which, between(seed, 0.7, 1.3), far);
    if (one_in(seed, 8)) {
        p.sample[next_chance(seed) % p.n].torque_Nm += between(seed, 0, 100);
    }
    return (task){g.stage, g.standing, good_sign(which)};
}

/* A stage and a trace that suits it more or less. */
static task draw_task(uint64_t *seed) {
    task t = {.sign = 1};
    if (one_in(seed, 2)) {
        return draw_other(seed);
    }
    double at = between(seed, 0.9, 1.1);
    switch (next_chance(seed) % 3) {
    case 0:
        t.stage = torque_stage(57, 60, 63);
        t.stage.least_turn_deg = 10;
        draw(seed, at * 60, one_in(seed, 5) ? 3 : 30);
        break;
    case 1:
        t.stage = snug_stage(16, 80, 100);
        draw(seed, 70, at * 100);
        break;
    default:
        t.stage = angle_stage(86, 94);
        t.standing.torque_Nm = 40;
        draw(seed, 75, at * 90);
        break;
    }
    if (t.stage.kind != BW_STAGE_TORQUE && one_in(seed, 2)) {
        t.stage.low_Nm = 70;
        t.stage.high_Nm = 76;
    }
    if (one_in(seed, 4)) {
        t.standing.pulls = 1;
        t.standing.turn_known = !one_in(seed, 4);
        t.standing.turn_deg = t.standing.turn_known ? 5 : 0;
        t.standing.peak_Nm = 30;
        t.standing.snug_reached = t.stage.kind == BW_STAGE_TORQUE_ANGLE;
    }
    return t;
}

static bw_verdict verdict_on(const task *t) {
    return judge_all(&t->stage, &t->standing, p.sample, p.n, true);
}

/* The draw must hold enough of everything for the relations to say anything. */
static void test_the_draw_is_mixed(void **state) {
    (void)state;
    size_t seen[BW_VERDICT_COUNT] = {0};
    uint32_t reasons = 0;
    for (uint64_t seed = 0, i = 0; i < CASES; i++) {
        task t = draw_task(&seed);
        bw_verdict v = verdict_on(&t);
        seen[v.outcome]++;
        reasons |= v.reasons;
        assert_true(v.outcome == BW_VERDICT_PASS || v.reasons != 0);
    }
    for (int i = 0; i < BW_VERDICT_COUNT; i++) {
        assert_true(seen[i] > CASES / 20);
    }
    assert_int_equal(reasons & 0xff, 0xff);
}

static void test_the_same_twice(void **state) {
    (void)state;
    for (uint64_t seed = 0, i = 0; i < CASES; i++) {
        task t = draw_task(&seed);
        bw_verdict a = verdict_on(&t);
        bw_judge judge;
        memset(&judge, 0xa5, sizeof judge); /* nothing of what was there before matters */
        bw_judge_begin(&judge, &t.stage, &t.standing, &(bw_terms){.windup_deg_per_Nm = 0.07});
        for (size_t k = 0; k < p.n; k++) {
            (void)bw_judge_sample(&judge, &p.sample[k]);
            (void)bw_judge_end(&judge, true); /* asking changes nothing */
        }
        bw_verdict b = bw_judge_end(&judge, true);
        assert_true(verdicts_same(&a, &b));
    }
}

/* Wider limits never turn a pass into anything else. */
static void test_wider_limits(void **state) {
    (void)state;
    size_t passes = 0;
    for (uint64_t seed = 0, i = 0; i < CASES; i++) {
        task t = draw_task(&seed);
        if (verdict_on(&t).outcome != BW_VERDICT_PASS) {
            continue;
        }
        passes++;
        for (int k = 0; k < 8; k++) {
            task wide = t;
            double by = between(&seed, 0, one_in(&seed, 3) ? 1e9 : 20);
            wide.stage.high_Nm += (k & 1) != 0 ? by : 0;
            wide.stage.high_deg += (k & 2) != 0 ? by : 0;
            wide.stage.low_deg -= (k & 4) != 0 ? fmin(by, 30) : 0;
            wide.stage.least_turn_deg = between(&seed, 0, t.stage.least_turn_deg);
            if (!counts_angle(&t.stage) || t.stage.kind == BW_STAGE_YIELD) {
                wide.stage.low_Nm -= by; /* an angle's thresholds go by its floor */
            }
            assert_int_equal(verdict_on(&wide).outcome, BW_VERDICT_PASS);
        }
    }
    assert_true(passes > CASES / 20);
}

/* Narrower limits never turn anything else into a pass. */
static void test_narrower_limits(void **state) {
    (void)state;
    for (uint64_t seed = 0, i = 0; i < CASES; i++) {
        task t = draw_task(&seed);
        if (verdict_on(&t).outcome == BW_VERDICT_PASS) {
            continue;
        }
        bool runs = bw_stage_traits_of(t.stage.kind)->runs; /* a mean decides once it is whole */
        t.stage.high_Nm -= between(&seed, 0, 2);
        t.stage.high_deg -= between(&seed, 0, 2);
        t.stage.low_deg += between(&seed, 0, 2);
        t.stage.least_turn_deg += runs ? between(&seed, 0, 2) : 0;
        t.stage.low_Nm += !counts_angle(&t.stage) ? between(&seed, 0, 2) : 0;
        assert_int_not_equal(verdict_on(&t).outcome, BW_VERDICT_PASS);
    }
}

/* When it was pulled, and where the wrench's angle stood, does not matter.  Times and shifts are
 * whole 1/512 s, so that nothing is rounded. */
static void test_shifted_in_time_and_angle(void **state) {
    (void)state;
    static const double shifts_s[] = {-1000, 0.5, 86400, 1048576};
    for (uint64_t seed = 0, i = 0; i < CASES; i++) {
        task t = draw_task(&seed);
        for (size_t k = 0; k < p.n; k++) {
            p.sample[k].time_s = round(512 * p.sample[k].time_s) / 512;
        }
        bw_verdict a = verdict_on(&t);
        double shift_s = shifts_s[i % 4];
        double shift_deg = between(&seed, -720, 720);
        for (size_t k = 0; k < p.n; k++) {
            p.sample[k].time_s += shift_s;
        }
        bw_verdict b = verdict_on(&t);
        assert_true(verdicts_same(&a, &b));
        for (size_t k = 0; k < p.n && !p.no_angle; k++) {
            p.sample[k].angle_deg += shift_deg;
        }
        b = verdict_on(&t);
        assert_int_equal(a.outcome, b.outcome);
        assert_int_equal(a.reasons, b.reasons);
        assert_true(fabs(a.turn_deg - b.turn_deg) < 1e-9);
    }
}

/* Twice the torque against twice the limits: the same verdict.  (Twice is exact.) */
static void test_scaled_torque(void **state) {
    (void)state;
    for (uint64_t seed = 0, i = 0; i < CASES; i++) {
        task t = draw_task(&seed);
        if (bw_stage_traits_of(t.stage.kind)->runs) {
            continue; /* of so little torque that the least threshold of all holds */
        }
        bw_verdict a = verdict_on(&t);
        double *const scaled[] = {&t.stage.snug_Nm, &t.stage.target_Nm,    &t.stage.low_Nm,
                                  &t.stage.high_Nm, &t.standing.torque_Nm, &t.standing.peak_Nm};
        for (size_t k = 0; k < sizeof scaled / sizeof scaled[0]; k++) {
            *scaled[k] *= 2;
        }
        for (size_t k = 0; k < p.n; k++) {
            p.sample[k].torque_Nm *= 2;
        }
        bw_verdict b = verdict_on(&t);
        assert_true(b.peak_Nm == 2 * a.peak_Nm && b.pull_peak_Nm == 2 * a.pull_peak_Nm);
        b.peak_Nm = a.peak_Nm;
        b.pull_peak_Nm = a.pull_peak_Nm;
        assert_true(verdicts_same(&a, &b));
    }
}

/* Cut anywhere, and said to be cut: never a pass.  Said to be whole: never one while loaded. */
static void test_cut_anywhere(void **state) {
    (void)state;
    size_t cuts = 0;
    for (uint64_t seed = 0, i = 0; i < CASES / 3; i++) {
        task t = draw_task(&seed);
        double threshold_Nm = bw_judge_threshold_Nm(&t.stage, &t.standing);
        bw_judge judge;
        bw_judge_begin(&judge, &t.stage, &t.standing, &(bw_terms){0});
        for (size_t k = 0; k < p.n; k++) {
            assert_int_not_equal(bw_judge_end(&judge, false).outcome, BW_VERDICT_PASS);
            bool loaded = k > 0 && t.sign * p.sample[k - 1].torque_Nm >= threshold_Nm;
            if (loaded || k == 0) {
                assert_int_not_equal(bw_judge_end(&judge, true).outcome, BW_VERDICT_PASS);
            }
            (void)bw_judge_sample(&judge, &p.sample[k]);
            cuts++;
        }
        assert_int_not_equal(bw_judge_end(&judge, false).outcome, BW_VERDICT_PASS);
    }
    assert_true(cuts > 30000);
}

/* Without its beginning a trace never passes where the whole does not. */
static void test_beheaded(void **state) {
    (void)state;
    for (uint64_t seed = 0, i = 0; i < CASES / 3; i++) {
        task t = draw_task(&seed);
        bw_verdict whole = verdict_on(&t);
        bool torque = t.stage.kind == BW_STAGE_TORQUE || t.stage.kind == BW_STAGE_SLOT;
        if (whole.outcome == BW_VERDICT_PASS || torque) {
            continue;
        }
        double threshold_Nm = bw_judge_threshold_Nm(&t.stage, &t.standing);
        for (size_t from = 1; from < p.n; from += 3) {
            if (t.sign * p.sample[from].torque_Nm < threshold_Nm) {
                continue;
            }
            bw_verdict v = judge_all(&t.stage, &t.standing, p.sample + from, p.n - from, true);
            bool snug_seen = t.stage.kind == BW_STAGE_TORQUE_ANGLE && !t.standing.snug_reached &&
                             p.sample[from].torque_Nm < t.stage.snug_Nm;
            assert_true(snug_seen || v.outcome != BW_VERDICT_PASS);
        }
    }
}

/* A slower wrench sees the same joint: clean pulls keep their verdict at every rate. */
static void test_every_other_sample(void **state) {
    (void)state;
    bw_stage stage[] = {torque_stage(57, 60, 63), snug_stage(25, 86, 94), angle_stage(86, 94)};
    bw_standing stands = {.torque_Nm = 40};
    size_t same = 0;
    for (uint64_t seed = 0, i = 0; i < 300; i++) {
        const bw_stage *s = &stage[i % 3];
        double peak_Nm = s->kind == BW_STAGE_TORQUE ? between(&seed, 55, 65) : 75;
        double turn_deg = s->kind == BW_STAGE_TORQUE ? 40 : between(&seed, 80, 100);
        pen_take(&p, 1000);
        p.windup_deg_per_Nm = between(&seed, 0, 0.1);
        pen_to(&p, 0, 0, 0.4);
        pen_to(&p, s->kind == BW_STAGE_TORQUE_ANGLE ? 25 : 44, 0, 0.5);
        pen_to(&p, peak_Nm, turn_deg, 1.5);
        pen_to(&p, peak_Nm, 0, 0.2);
        pen_to(&p, 0, 0, 0.5);
        pen_to(&p, 0, 0, 0.4);
        bw_verdict fast = judge_all(s, &stands, p.sample, p.n, true);
        for (size_t every = 2; every <= 20; every += 3) {
            size_t n = 0;
            for (size_t k = 0; k < p.n; k += every) {
                changed[n++] = p.sample[k];
            }
            bw_verdict slow = judge_all(s, &stands, changed, n, true);
            assert_true(fabs(slow.peak_Nm - fast.peak_Nm) < 1e-9); /* it is held for 0.2 s */
            assert_true(fabs(slow.turn_deg - fast.turn_deg) < 0.6);
            bool clear = s->kind == BW_STAGE_TORQUE || fabs(fabs(fast.turn_deg - 90) - 4) > 0.6;
            assert_true(!clear || slow.outcome == fast.outcome);
            assert_int_equal(slow.reasons == fast.reasons, slow.outcome == fast.outcome);
            same += clear ? 1 : 0;
        }
    }
    assert_true(same > 1500);
}

/* The same for the other kinds: what passes at a thousand samples a second passes at fifty. */
static void test_every_other_sample_of_the_others(void **state) {
    (void)state;
    for (uint64_t seed = 0, i = 0; i < 90; i++) {
        size_t which = BW_STAGE_BACK_OFF + i % (GOOD_CASES - BW_STAGE_BACK_OFF);
        good g = good_case(which);
        pen_take(&p, 1000);
        p.windup_deg_per_Nm = between(&seed, 0, 0.1);
        p.noise_Nm = between(&seed, 0, 0.05);
        good_pull(&p, which, between(&seed, 0.95, 1.05), between(&seed, 0.97, 1.03));
        bw_verdict fast = judge_pen(&g.stage, &g.standing, &p);
        assert_int_equal(fast.outcome, BW_VERDICT_PASS);
        for (size_t every = 2; every <= 20; every += 3) {
            size_t n = 0;
            for (size_t k = 0; k < p.n; k += every) {
                changed[n++] = p.sample[k];
            }
            bw_verdict slow = judge_all(&g.stage, &g.standing, changed, n, true);
            assert_int_equal(slow.outcome, BW_VERDICT_PASS);
            assert_int_equal(slow.loose, fast.loose);
            assert_true(fabs(slow.turn_deg - fast.turn_deg) < 1.5);
            assert_true(fabs(slow.judged_Nm - fast.judged_Nm) < 0.02 * fast.judged_Nm + 0.1);
        }
    }
}

/* Backing off is turning on, seen in a mirror: the same figures, whichever way the thread goes. */
static void test_mirrored(void **state) {
    (void)state;
    size_t seen[BW_VERDICT_COUNT] = {0};
    for (uint64_t seed = 0, i = 0; i < CASES; i++) {
        double turn_deg = 90 * between(&seed, 0.9, 1.1);
        draw(&seed, 75, turn_deg);
        bw_stage on = angle_stage(86, 94);
        bw_stage back = on;
        back.kind = BW_STAGE_BACK_OFF;
        bw_standing stands = {.torque_Nm = 75};
        bw_verdict a = judge_all(&on, &stands, p.sample, p.n, true);
        for (size_t k = 0; k < p.n; k++) {
            p.sample[k].torque_Nm = -p.sample[k].torque_Nm;
            p.sample[k].angle_deg = -p.sample[k].angle_deg;
        }
        bw_verdict b = judge_all(&back, &stands, p.sample, p.n, true);
        assert_true(a.peak_Nm == b.peak_Nm && a.pull_turn_deg == b.pull_turn_deg);
        assert_true(a.has_turn == b.has_turn && a.turn_deg == b.turn_deg);
        bool same = a.outcome == b.outcome && a.reasons == b.reasons;
        bool fell = (a.reasons & (uint32_t)BW_REASON_TORQUE_DROP) != 0; /* or is loose, backward */
        bool tight = (a.reasons & (uint32_t)BW_REASON_NO_TURN) != 0; /* asked of turning on alone */
        assert_true(same || fell || tight || b.loose);
        seen[b.outcome]++;
    }
    for (int i = 0; i < BW_VERDICT_COUNT; i++) {
        assert_true(seen[i] > CASES / 20);
    }
}

/* More rest before and behind changes nothing. */
static void test_more_rest(void **state) {
    (void)state;
    for (uint64_t seed = 0, i = 0; i < CASES; i++) {
        task t = draw_task(&seed);
        bw_verdict a = verdict_on(&t);
        size_t n = 0;
        size_t rest = 20;
        for (size_t k = 0; k < rest; k++) {
            changed[n] = p.sample[0];
            changed[n].torque_Nm = 0;
            changed[n++].time_s = p.sample[0].time_s - (double)(rest - k) * p.step_s;
        }
        memcpy(changed + n, p.sample, p.n * sizeof p.sample[0]);
        n += p.n;
        for (size_t k = 1; k <= rest; k++) {
            changed[n] = p.sample[p.n - 1];
            changed[n].torque_Nm = 0;
            changed[n++].time_s = p.sample[p.n - 1].time_s + (double)k * p.step_s;
        }
        bw_verdict b = judge_all(&t.stage, &t.standing, changed, n, true);
        bool at_the_edge = fabs(p.sample[0].torque_Nm) > 1 ||
                           fabs(p.sample[p.n - 1].torque_Nm) > 1 ||
                           fabs(p.sample[p.n - 2].torque_Nm) > 1;
        assert_true(at_the_edge || verdicts_same(&a, &b)); /* the knock may be there */
    }
}

/* Strokes in one pull, or each as a pull of its own: the same turn, the same verdict. */
static void test_one_pull_or_several(void **state) {
    (void)state;
    bw_stage stage = angle_stage(86, 94);
    bw_standing stands = {.torque_Nm = 40};
    for (uint64_t seed = 0, i = 0; i < 300; i++) {
        double turn_deg[3];
        bw_standing then = stands;
        bw_verdict several = {0};
        for (size_t k = 0; k < 3; k++) {
            turn_deg[k] = between(&seed, 25, 35);
            pen_take(&p, 200);
            p.windup_deg_per_Nm = 0.05;
            pen_pull(&p, 44 + 10 * (double)k, 54 + 10 * (double)k, turn_deg[k]);
            several = judge_pen(&stage, &then, &p);
            then = standing_after(&then, &several);
        }
        pen_take(&p, 200);
        p.windup_deg_per_Nm = 0.05;
        for (size_t k = 0; k < 3; k++) {
            pen_pull(&p, 44 + 10 * (double)k, 54 + 10 * (double)k, turn_deg[k]);
        }
        bw_verdict one = judge_pen(&stage, &stands, &p);
        assert_true(fabs(one.turn_deg - several.turn_deg) < 1e-6);
        assert_int_equal(one.outcome, several.outcome);
        assert_int_equal(one.reasons, several.reasons);
        assert_true(one.peak_Nm == several.peak_Nm);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_draw_is_mixed),
        cmocka_unit_test(test_the_same_twice),
        cmocka_unit_test(test_wider_limits),
        cmocka_unit_test(test_narrower_limits),
        cmocka_unit_test(test_shifted_in_time_and_angle),
        cmocka_unit_test(test_scaled_torque),
        cmocka_unit_test(test_cut_anywhere),
        cmocka_unit_test(test_beheaded),
        cmocka_unit_test(test_every_other_sample),
        cmocka_unit_test(test_every_other_sample_of_the_others),
        cmocka_unit_test(test_mirrored),
        cmocka_unit_test(test_more_rest),
        cmocka_unit_test(test_one_pull_or_several),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
