/* hostile_test.c - what no wrench should send: no crash, no pass, no number that is none. */
#include "cmocka_all.h"

#include "good.h"

#include <math.h>
#include <string.h>

static pen p;

#define most 1.7976931348623157e308 /* of a double */

static void is_sound(const bw_verdict *v) {
    assert_true((unsigned)v->outcome < BW_VERDICT_COUNT);
    assert_true(v->reasons < 1u << BW_REASON_COUNT);
    assert_true(isfinite(v->peak_Nm) && isfinite(v->pull_peak_Nm));
    assert_true(isfinite(v->turn_deg) && isfinite(v->pull_turn_deg));
    assert_true(isfinite(v->judged_Nm) && isfinite(v->slope_Nm_per_deg));
    assert_true(v->outcome == BW_VERDICT_PASS || v->reasons != 0);
}

static void draw(size_t which) {
    pen_take(&p, 100);
    good_pull(&p, which, 1, 1);
}

/* One bad sample anywhere in a pull that passes, in each member. */
static void test_one_bad_sample(void **state) {
    (void)state;
    static const double bad[] = {NAN, -NAN, INFINITY, -INFINITY, most, -most, 1e13};
    for (size_t kind = 0; kind < GOOD_CASES; kind++) {
        good g = good_case(kind);
        draw(kind);
        assert_int_equal(judge_pen(&g.stage, &g.standing, &p).outcome, BW_VERDICT_PASS);
        for (size_t i = 0; i < p.n; i += kind < 3 ? 1 : 11) {
            for (size_t b = 0; b < sizeof bad / sizeof bad[0]; b++) {
                for (int member = 0; member < 3; member++) {
                    bw_sample was = p.sample[i];
                    double *const at[] = {&p.sample[i].time_s, &p.sample[i].torque_Nm,
                                          &p.sample[i].angle_deg};
                    *at[member] = bad[b];
                    bw_verdict v = judge_pen(&g.stage, &g.standing, &p);
                    is_sound(&v);
                    assert_int_not_equal(v.outcome, BW_VERDICT_PASS);
                    assert_true((v.reasons & (uint32_t)BW_REASON_GAP) != 0);
                    p.sample[i] = was;
                }
            }
        }
    }
}

static void test_time_goes_back(void **state) {
    (void)state;
    for (size_t kind = 0; kind < GOOD_CASES; kind++) {
        good g = good_case(kind);
        draw(kind);
        for (size_t i = 1; i < p.n; i++) {
            double was_s = p.sample[i].time_s;
            p.sample[i].time_s = p.sample[i - 1].time_s - 0.001;
            bw_verdict v = judge_pen(&g.stage, &g.standing, &p);
            assert_int_not_equal(v.outcome, BW_VERDICT_PASS);
            p.sample[i].time_s = was_s;
        }
        /* The whole of it backwards. */
        for (size_t i = 0; i < p.n / 2; i++) {
            bw_sample swap = p.sample[i];
            p.sample[i] = p.sample[p.n - 1 - i];
            p.sample[p.n - 1 - i] = swap;
        }
        bw_verdict v = judge_pen(&g.stage, &g.standing, &p);
        is_sound(&v);
        assert_int_not_equal(v.outcome, BW_VERDICT_PASS);
    }
}

static void test_none_and_one(void **state) {
    (void)state;
    static const double torques_Nm[] = {-1e12, -60, -3, 0, 0.1, 3, 60, 70, 1e12};
    for (size_t kind = 0; kind < GOOD_CASES; kind++) {
        good g = good_case(kind);
        for (int complete = 0; complete < 2; complete++) {
            bw_verdict v = judge_all(&g.stage, &g.standing, NULL, 0, complete != 0);
            is_sound(&v);
            assert_int_not_equal(v.outcome, BW_VERDICT_PASS);
            assert_true((v.reasons & (uint32_t)BW_REASON_GAP) != 0);
            for (size_t i = 0; i < sizeof torques_Nm / sizeof torques_Nm[0]; i++) {
                bw_sample one = {.torque_Nm = torques_Nm[i], .has_angle = true};
                v = judge_all(&g.stage, &g.standing, &one, 1, complete != 0);
                is_sound(&v);
                assert_int_not_equal(v.outcome, BW_VERDICT_PASS);
                /* And let go at once. */
                bw_sample two[] = {one, {.time_s = 0.1, .has_angle = true}};
                v = judge_all(&g.stage, &g.standing, two, 2, complete != 0);
                is_sound(&v);
                assert_int_not_equal(v.outcome, BW_VERDICT_PASS);
            }
        }
    }
}

/* All samples at one moment, or one long pull of a million samples. */
static void test_no_time_and_much_time(void **state) {
    (void)state;
    for (size_t kind = 0; kind < GOOD_CASES; kind++) {
        good g = good_case(kind);
        draw(kind);
        for (size_t i = 0; i < p.n; i++) {
            p.sample[i].time_s = 7;
        }
        bw_verdict v = judge_pen(&g.stage, &g.standing, &p);
        is_sound(&v);
        size_t samples = 1000000;
        bw_judge judge;
        bw_judge_begin(&judge, &g.stage, &g.standing, &(bw_terms){.windup_deg_per_Nm = 0.05});
        for (size_t i = 0; i < samples; i++) {
            double at = (double)i / 1e6;
            bw_sample sample = {.time_s = (double)i / 1000,
                                .torque_Nm = good_sign(kind) * 55 * sin(40 * at),
                                .angle_deg = 50 * at,
                                .has_angle = true};
            bw_live live = bw_judge_sample(&judge, &sample);
            assert_true(isfinite(live.turn_deg) &&
                        live.torque_Nm == good_sign(kind) * sample.torque_Nm);
        }
        v = bw_judge_end(&judge, true);
        is_sound(&v);
        assert_int_not_equal(v.outcome, BW_VERDICT_PASS);
        assert_true(fabs(v.peak_Nm - 55) < 1e-6);
    }
}

static double garbage(uint64_t *seed) {
    uint64_t bits = next_chance(seed);
    double value = 0;
    switch (bits % 4) {
    case 0:
        memcpy(&value, &bits, sizeof value); /* any double at all */
        return value;
    case 1:
        return (double)(bits >> 40) / 1e5;
    case 2:
        return 0.01 * (double)(bits >> 57);
    default:
        return -(double)(bits >> 55) / 10;
    }
}

static void test_garbage(void **state) {
    (void)state;
    uint64_t seed = 1;
    size_t unusable = 0;
    for (size_t i = 0; i < 40000; i++) {
        good g = good_case(i % GOOD_CASES);
        bw_judge judge;
        bool bad = false;
        bw_judge_begin(&judge, &g.stage, &g.standing, &(bw_terms){.windup_deg_per_Nm = 0.05});
        for (size_t k = next_chance(&seed) % 24; k > 0; k--) {
            bw_sample sample = {garbage(&seed), garbage(&seed), garbage(&seed),
                                next_chance(&seed) % 8 != 0};
            bw_live live = bw_judge_sample(&judge, &sample);
            assert_true((unsigned)live.word <= BW_LIVE_OVER);
            assert_true(isfinite(live.turn_deg) && isfinite(live.torque_Nm));
            bad = bad || !isfinite(sample.torque_Nm) || !isfinite(sample.time_s);
        }
        bw_verdict v = bw_judge_end(&judge, true);
        is_sound(&v);
        assert_true(!bad || v.outcome != BW_VERDICT_PASS);
        unusable += bad ? 1 : 0;
        assert_int_not_equal(bw_judge_end(&judge, false).outcome, BW_VERDICT_PASS);
    }
    assert_true(unusable > 50);
}

/* A result that is no number is no result. */
static void test_bad_results(void **state) {
    (void)state;
    static const double bad[] = {NAN, INFINITY, -INFINITY, most, -most};
    for (size_t kind = 0; kind < GOOD_CASES; kind++) {
        good g = good_case(kind);
        bool mute = bw_stage_traits_of(g.stage.kind)->needs_trace;
        bool angle = bw_stage_traits_of(g.stage.kind)->limits_turn;
        for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
            bw_verdict v = bw_judge_result(&g.stage, &g.standing, &(bw_terms){0}, bad[i], true, 90);
            is_sound(&v);
            assert_int_not_equal(v.outcome, BW_VERDICT_PASS);
            /* The snug torque was not reached, or a torque can be pulled again. */
            assert_int_equal(v.more, !mute && kind != BW_STAGE_ANGLE);
            v = bw_judge_result(&g.stage, &g.standing, &(bw_terms){0}, 60, true, bad[i]);
            is_sound(&v);
            assert_int_equal(v.outcome, mute || angle ? BW_VERDICT_SUSPECT : BW_VERDICT_PASS);
            assert_false(v.has_turn);
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_one_bad_sample), cmocka_unit_test(test_time_goes_back),
        cmocka_unit_test(test_none_and_one),   cmocka_unit_test(test_no_time_and_much_time),
        cmocka_unit_test(test_garbage),        cmocka_unit_test(test_bad_results),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
