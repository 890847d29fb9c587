/* real_test.c - traces that nobody here drew: tests/data/real-traces (source and licence in its
 * README). */
#include "cmocka_all.h"

#include "judge/pull.h"
#include "pen.h"

#include <math.h>
#include <stdio.h>

enum { RUNS = 7, BYTES_MAX = 200000 };

static const char *const runs[RUNS] = {"1596334", "1596336", "1596338", "1621524",
                                       "1621526", "1623126", "1623128"};

static char text[BYTES_MAX];

static size_t read_run(const char *run, bw_arena *arena, const bw_sample **sample) {
    char path[400];
    (void)snprintf(path, sizeof path, "%s/tests/data/real-traces/run-%s.csv", BW_SOURCE_DIR, run);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    size_t len = fread(text, 1, sizeof text, file);
    assert_true(len > 0 && len < sizeof text);
    assert_int_equal(fclose(file), 0);
    size_t n = 0;
    bw_err err = {0};
    if (bw_trace_read(text, len, arena, sample, &n, &err) != BW_OK) {
        fail_msg("%s: %s", path, err.text);
    }
    assert_true(n > 600);
    return n;
}

/* The screwdriver's own target, wide enough for all of its ends. */
static bw_stage screw(void) {
    return torque_stage(1.3, 1.4, 1.6);
}

static void test_peak_and_no_false_alarm(void **state) {
    (void)state;
    bw_stage stage = screw();
    for (size_t i = 0; i < RUNS; i++) {
        bw_arena *arena = bw_arena_new(0);
        const bw_sample *sample = NULL;
        size_t n = read_run(runs[i], arena, &sample);
        double peak_Nm = 0;
        for (size_t k = 0; k < n; k++) {
            peak_Nm = fmax(peak_Nm, sample[k].torque_Nm);
        }
        bw_verdict v = judge_all(&stage, NULL, sample, n, true);
        assert_true(v.peak_Nm == peak_Nm);
        assert_true(peak_Nm > 1.3 && peak_Nm < 1.6);
        assert_int_equal(v.reasons, 0);
        assert_int_equal(v.outcome, BW_VERDICT_PASS);
        bw_verdict again = judge_all(&stage, NULL, sample, n, true);
        assert_true(verdicts_same(&v, &again));
        bw_arena_free(arena);
    }
}

/* The turn by its definition, worked out over the whole trace: between the first rise through the
 * threshold and the last fall, less what passed while the tool was at rest in between. */
static double direct_turn_deg(const bw_sample *s, size_t n, double threshold_Nm) {
    double total_deg = 0;
    double start_deg = 0;
    double end_deg = 0;
    bool on = false;
    for (size_t i = 1; i < n; i++) {
        double share = (threshold_Nm - s[i - 1].torque_Nm) / (s[i].torque_Nm - s[i - 1].torque_Nm);
        double at_deg = s[i - 1].angle_deg + share * (s[i].angle_deg - s[i - 1].angle_deg);
        bool was_below = s[i - 1].torque_Nm < threshold_Nm;
        bool is_below = s[i].torque_Nm < threshold_Nm;
        if (was_below && !is_below && !on) {
            on = true;
            start_deg = at_deg;
        } else if (!was_below && is_below) {
            end_deg = at_deg;
        }
        if (on && s[i].torque_Nm < 0.6 * threshold_Nm) {
            on = false;
            total_deg += end_deg - start_deg;
        }
    }
    assert_false(on);
    return total_deg;
}

static void test_turn(void **state) {
    (void)state;
    bw_stage stage = screw();
    bw_standing nothing = {0};
    for (size_t i = 0; i < RUNS; i++) {
        bw_arena *arena = bw_arena_new(0);
        const bw_sample *sample = NULL;
        size_t n = read_run(runs[i], arena, &sample);
        bw_verdict v = judge_all(&stage, NULL, sample, n, true);
        double direct_deg = direct_turn_deg(sample, n, bw_judge_threshold_Nm(&stage, &nothing));
        assert_true(v.has_turn);
        assert_true(fabs(v.turn_deg - direct_deg) < 1e-9);
        /* A part of the way only is under load. */
        assert_true(v.turn_deg > 90 && v.turn_deg < sample[n - 1].angle_deg);
        bw_arena_free(arena);
    }
}

/* Judged as another stage each run says what is wrong with it.  By a target that is not theirs the
 * torque of forming the thread in plastic may count as an early rise, and that is true of it. */
static void test_with_other_limits(void **state) {
    (void)state;
    const uint32_t shape = BW_REASON_EARLY_RISE;
    for (size_t i = 0; i < RUNS; i++) {
        bw_arena *arena = bw_arena_new(0);
        const bw_sample *sample = NULL;
        size_t n = read_run(runs[i], arena, &sample);
        bw_stage more = torque_stage(1.7, 1.8, 1.9);
        bw_verdict v = judge_all(&more, NULL, sample, n, true);
        assert_int_not_equal(v.outcome, BW_VERDICT_PASS);
        assert_int_equal(v.reasons & ~shape, BW_REASON_BELOW_LIMIT);
        bw_stage less = torque_stage(1.0, 1.1, 1.2);
        v = judge_all(&less, NULL, sample, n, true);
        assert_int_equal(v.outcome, BW_VERDICT_HIGH);
        assert_int_equal(v.reasons & ~shape, BW_REASON_ABOVE_LIMIT);
        bw_stage stage = screw();
        v = judge_all(&stage, NULL, sample, n / 2, true);
        assert_int_not_equal(v.outcome, BW_VERDICT_PASS);
        bw_arena_free(arena);
    }
}

/* Cut where the screwdriver was still on, no run passes. */
static void test_cut(void **state) {
    (void)state;
    bw_stage stage = screw();
    for (size_t i = 0; i < RUNS; i++) {
        bw_arena *arena = bw_arena_new(0);
        const bw_sample *sample = NULL;
        size_t n = read_run(runs[i], arena, &sample);
        for (size_t cut = 0; cut < n; cut += 7) {
            bw_verdict v = judge_all(&stage, NULL, sample, cut, false);
            assert_int_not_equal(v.outcome, BW_VERDICT_PASS);
            bool loaded = cut == 0 || sample[cut - 1].torque_Nm >= 0.3;
            v = judge_all(&stage, NULL, sample, cut, true);
            assert_true(!loaded || v.outcome != BW_VERDICT_PASS);
        }
        bw_arena_free(arena);
    }
}

/* Each run is one pull from where it takes load to its end; the text keeps every bit of it. */
static void test_pull_and_text(void **state) {
    (void)state;
    static char written[BYTES_MAX];
    for (size_t i = 0; i < RUNS; i++) {
        bw_arena *arena = bw_arena_new(0);
        const bw_sample *sample = NULL;
        size_t n = read_run(runs[i], arena, &sample);
        size_t len = 0;
        const bw_sample *back = NULL;
        size_t back_n = 0;
        assert_int_equal(bw_trace_write(sample, n, written, sizeof written, &len, NULL), BW_OK);
        assert_int_equal(bw_trace_read(written, len, arena, &back, &back_n, NULL), BW_OK);
        assert_int_equal(back_n, n);
        bw_stage stage = screw();
        bw_verdict a = judge_all(&stage, NULL, sample, n, true);
        bw_verdict b = judge_all(&stage, NULL, back, back_n, true);
        assert_true(verdicts_same(&a, &b));
        bw_pull_watch watch = {.threshold_Nm = 0.3, .rest_s = 0.3};
        size_t began = 0;
        for (size_t k = 0; k < n; k++) {
            began += bw_pull_sample(&watch, &sample[k]) == BW_PULL_BEGAN ? 1 : 0;
        }
        assert_int_equal(began, 1);
        bw_arena_free(arena);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_peak_and_no_false_alarm), cmocka_unit_test(test_turn),
        cmocka_unit_test(test_with_other_limits),       cmocka_unit_test(test_cut),
        cmocka_unit_test(test_pull_and_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
