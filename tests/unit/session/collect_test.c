/* collect_test.c - the pull in hand: with the samples before it, cut short, or a result only. */
#include "cmocka_all.h"

#include "session/collect.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const bw_stage torque_60 = {.kind = BW_STAGE_TORQUE,
                                   .target_Nm = 60,
                                   .low_Nm = 57,
                                   .high_Nm = 63,
                                   .low_deg = -INFINITY,
                                   .high_deg = INFINITY,
                                   .least_turn_deg = 5};
static const bw_stage angle_90 = {.kind = BW_STAGE_ANGLE,
                                  .low_Nm = -INFINITY,
                                  .high_Nm = INFINITY,
                                  .target_deg = 90,
                                  .low_deg = 86,
                                  .high_deg = 94};
static const bw_standing nothing = {0};
static const bw_standing stands_40 = {.torque_Nm = 40};

/* A hand at 100 Hz: each call goes on from where the last one ended. */
typedef struct hand {
    bw_collect collect;
    double time_s, torque_Nm, angle_deg;
    size_t began, on, ended, rest; /* what was answered */
    bw_live live;
} hand;

static bw_pull_event give(hand *h) {
    bw_sample sample = {h->time_s, h->torque_Nm, h->angle_deg, true};
    bw_pull_event event = bw_collect_sample(&h->collect, &sample, &h->live);
    size_t *const count[] = {&h->rest, &h->began, &h->on, &h->ended};
    (*count[event])++;
    h->time_s += 0.01;
    return event;
}

static void go(hand *h, double torque_Nm, double angle_deg, int samples) {
    double from_Nm = h->torque_Nm;
    double from_deg = h->angle_deg;
    for (int i = 1; i <= samples; i++) {
        h->torque_Nm = from_Nm + (torque_Nm - from_Nm) * i / samples;
        h->angle_deg = from_deg + (angle_deg - from_deg) * i / samples;
        (void)give(h);
    }
}

static void take(hand *h, const bw_stage *stage, const bw_standing *standing) {
    *h = (hand){0};
    bw_collect_init(&h->collect);
    bw_collect_arm(&h->collect, stage, standing, NULL);
}

static char *text_of(const hand *h, size_t *len) {
    char *text = NULL;
    bw_err err = {0};
    if (bw_collect_text(&h->collect, &text, len, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
    return text;
}

static void test_a_pull_with_what_came_before_it(void **state) {
    (void)state;
    hand h;
    take(&h, &torque_60, &nothing);
    go(&h, 0, 0, 20);
    assert_int_equal(h.rest, 20);
    assert_int_equal(h.collect.n, 0);
    go(&h, 60, 30, 100);
    assert_int_equal(h.began, 1);
    assert_int_equal(h.live.word, BW_LIVE_STOP);
    /* The threshold is 3 N.m, the fifth sample of the rise; all before it are kept with it. */
    assert_int_equal(h.collect.n, 20 + 100);
    assert_true(h.collect.sample[0].torque_Nm == 0 && h.collect.sample[0].time_s == 0);
    assert_true(fabs(h.collect.sample[24].torque_Nm - 3.0) < 1e-9);
    go(&h, 0, 30, 30);
    go(&h, 0, 30, 30);
    assert_int_equal(h.ended, 1);
    bw_verdict v = bw_collect_verdict(&h.collect, true);
    assert_int_equal(v.outcome, BW_VERDICT_PASS);
    assert_int_equal(v.reasons, 0);
    assert_true(fabs(v.peak_Nm - 60) < 1e-9);
    bw_collect_free(&h.collect);
}

/* Five seconds of what came before, no more; not across a clock that goes back; and at a thousand a
 * second, too. */
static void test_how_much_is_kept_from_before(void **state) {
    (void)state;
    hand h;
    take(&h, &torque_60, &nothing);
    go(&h, 0, 300, 900);
    go(&h, 60, 330, 100);
    double first_s = h.collect.sample[0].time_s;
    double began_s = 9.05 - 0.01;
    assert_true(fabs(began_s - first_s - 5.0) < 0.011);
    go(&h, 0, 330, 20);
    go(&h, 0, 330, 40);
    assert_int_equal(h.ended, 1);
    size_t rest = h.rest;
    h.time_s = 2.0; /* it was switched off and on */
    go(&h, 0, 0, 10);
    assert_int_equal(h.rest, rest + 10);
    go(&h, 60, 30, 100);
    assert_true(h.collect.sample[0].time_s == 2.0);
    bw_collect_free(&h.collect);
    take(&h, &torque_60, &nothing);
    for (int i = 0; i < 20000; i++) {
        (void)give(&h);
        h.time_s -= 0.009;
    }
    size_t n = 0;
    while (h.began == 0) {
        h.torque_Nm = n++ < 3 ? 1 : 20;
        (void)give(&h);
    }
    assert_true(h.collect.n > 4900 && h.collect.n <= 5001);
    bw_collect_free(&h.collect);
}

/* What was loaded, or lies behind a hole, belonged to something else: it would look like a pull
 * that began too late. */
static void test_load_before_is_not_kept(void **state) {
    (void)state;
    hand h;
    take(&h, NULL, NULL);
    go(&h, 1.8, 0, 5);
    go(&h, 1.8, 200, 100); /* a shaft is turned, below what is noticed */
    go(&h, 0, 200, 5);
    bw_stage torque_20 = torque_60;
    torque_20.target_Nm = 20;
    torque_20.low_Nm = 18;
    torque_20.high_Nm = 22;
    bw_collect_arm(&h.collect, &torque_20, &nothing, NULL);
    go(&h, 0, 200, 10);
    go(&h, 20, 230, 100);
    assert_true(fabs(h.collect.sample[0].torque_Nm) < 1.0);
    go(&h, 0, 230, 20);
    go(&h, 0, 230, 40);
    assert_int_equal(h.ended, 1);
    assert_int_equal(bw_collect_verdict(&h.collect, true).reasons, 0);
    bw_collect_free(&h.collect);
    take(&h, &torque_60, &nothing);
    go(&h, 0, 90, 50);
    h.time_s += 1;
    go(&h, 0, 90, 30);
    go(&h, 60, 120, 100);
    assert_int_equal(h.collect.n, 30 + 100);
    bw_collect_free(&h.collect);
}

/* A wrench that sends only under load: the one sample before it, however long ago that was. */
static void test_the_newest_before_is_always_kept(void **state) {
    (void)state;
    hand h;
    take(&h, &torque_60, &nothing);
    go(&h, 0, 0, 20);
    h.time_s += 60;
    go(&h, 60, 30, 10);
    assert_int_equal(h.collect.n, 1 + 10);
    assert_true(h.collect.sample[0].time_s < 0.2);
    bw_collect_free(&h.collect);
}

/* Run down while the samples are at rest, then a thread that wedges: the judge sees it. */
static void test_early_rise_shows(void **state) {
    (void)state;
    hand h;
    take(&h, &torque_60, &nothing);
    go(&h, 0.2, 0, 20);
    go(&h, 0.5, 200, 200);
    go(&h, 12, 240, 60);
    go(&h, 14, 330, 120);
    go(&h, 60, 350, 60);
    go(&h, 0, 350, 20);
    go(&h, 0, 350, 40);
    assert_int_equal(h.ended, 1);
    bw_verdict v = bw_collect_verdict(&h.collect, true);
    assert_int_equal(v.outcome, BW_VERDICT_SUSPECT);
    assert_true((v.reasons & (uint32_t)BW_REASON_EARLY_RISE) != 0);
    bw_collect_free(&h.collect);
}

/* One whole pull of so many samples, after so long at rest. */
static bw_verdict whole_pull(hand *h, int rest, int samples, double peak_Nm) {
    double at_deg = h->angle_deg;
    go(h, 0, at_deg, rest);
    go(h, peak_Nm, at_deg + 20, samples);
    go(h, 0, at_deg + 20, 5);
    go(h, 0, at_deg + 20, 35);
    return bw_collect_verdict(&h->collect, true);
}

/* A second click on the accepted fastener is over within a second; a pull that goes on is the next
 * fastener's. */
static void test_too_soon(void **state) {
    (void)state;
    hand h;
    take(&h, &torque_60, &nothing);
    (void)whole_pull(&h, 10, 50, 60);
    assert_false(bw_collect_too_soon(&h.collect));
    assert_true(isinf(bw_collect_peaks_apart_s(&h.collect)));
    bw_collect_judged(&h.collect, true, true);
    (void)whole_pull(&h, 5, 10, 60);
    assert_true(bw_collect_too_soon(&h.collect));
    assert_true(fabs(bw_collect_peaks_apart_s(&h.collect) - 0.55) < 0.02);
    /* Not the peak of an accepted one: it counts as any other. */
    bw_collect_judged(&h.collect, true, false);
    (void)whole_pull(&h, 5, 10, 60);
    assert_false(bw_collect_too_soon(&h.collect));
    bw_collect_judged(&h.collect, false, true); /* nobody asked for it */
    (void)whole_pull(&h, 5, 10, 60);
    assert_false(bw_collect_too_soon(&h.collect));
    bw_collect_judged(&h.collect, true, true);
    (void)whole_pull(&h, 5, 60, 60);
    assert_false(bw_collect_too_soon(&h.collect));
    bw_collect_judged(&h.collect, true, true);
    (void)whole_pull(&h, 60, 10, 60);
    assert_false(bw_collect_too_soon(&h.collect));
    bw_collect_free(&h.collect);
}

/* What is known of the wrench reaches the verdict. */
static void test_terms(void **state) {
    (void)state;
    hand h;
    bw_terms terms = {.rule = BW_RULE_GUARDED, .uncertainty_share = 0.04, .uncertainty_deg = 1};
    take(&h, &torque_60, &nothing);
    bw_collect_arm(&h.collect, &torque_60, &nothing, &terms);
    bw_verdict v = whole_pull(&h, 10, 50, 58);
    assert_int_equal(v.outcome, BW_VERDICT_SUSPECT);
    assert_int_equal(v.reasons, BW_REASON_INSIDE_GUARD);
    assert_true(fabs(v.uncertainty_Nm - 0.04 * 58) < 1e-9);
    assert_int_equal(v.rule, BW_RULE_GUARDED);
    bw_collect_arm(&h.collect, &torque_60, &nothing, NULL);
    v = whole_pull(&h, 10, 50, 58);
    assert_int_equal(v.outcome, BW_VERDICT_PASS);
    bw_collect_free(&h.collect);
}

/* Judged again from its text it gives the same verdict, bit for bit: that is what the record keeps.
 */
static void test_the_text_gives_the_same_verdict(void **state) {
    (void)state;
    const bw_stage *const stages[] = {&torque_60, &angle_90};
    for (size_t s = 0; s < 2; s++) {
        hand h;
        size_t len = 0;
        take(&h, stages[s], &stands_40);
        go(&h, 0, 0, 20);
        go(&h, 43.7, 2.1, 40);
        go(&h, 60.123, 92.345, 100);
        go(&h, 0, 89.9, 25);
        go(&h, 0, 89.9, 40);
        assert_int_equal(h.ended, 1);
        bw_verdict v = bw_collect_verdict(&h.collect, true);
        assert_int_equal(v.outcome, BW_VERDICT_PASS);
        char *text = text_of(&h, &len);
        assert_int_equal(strlen(text), len);
        bw_arena *arena = bw_arena_new(0);
        const bw_sample *sample = NULL;
        size_t n = 0;
        assert_int_equal(bw_trace_read(text, len, arena, &sample, &n, NULL), BW_OK);
        assert_int_equal(n, h.collect.n);
        bw_judge judge;
        bw_judge_begin(&judge, stages[s], &stands_40, &(bw_terms){0});
        for (size_t i = 0; i < n; i++) {
            (void)bw_judge_sample(&judge, &sample[i]);
        }
        bw_verdict again = bw_judge_end(&judge, true);
        assert_int_equal(v.outcome, again.outcome);
        assert_int_equal(v.reasons, again.reasons);
        assert_memory_equal(&v.peak_Nm, &again.peak_Nm, sizeof v.peak_Nm);
        assert_memory_equal(&v.turn_deg, &again.turn_deg, sizeof v.turn_deg);
        bw_arena_free(arena);
        free(text);
        bw_collect_free(&h.collect);
    }
}

/* What is asked for next does not touch the pull that is on; the one after it does. */
static void test_arming_in_the_middle(void **state) {
    (void)state;
    hand h;
    take(&h, &torque_60, &nothing);
    go(&h, 0, 0, 5);
    go(&h, 40, 20, 50);
    bw_collect_arm(&h.collect, NULL, NULL, NULL);
    bw_collect_arm(&h.collect, &angle_90, &stands_40, NULL);
    go(&h, 60, 30, 50);
    go(&h, 0, 30, 20);
    go(&h, 0, 30, 40);
    bw_verdict v = bw_collect_verdict(&h.collect, true);
    assert_int_equal(v.outcome, BW_VERDICT_PASS);
    assert_true(fabs(v.peak_Nm - 60) < 1e-9);
    bw_collect_arm(&h.collect, &angle_90, &stands_40, NULL);
    go(&h, 45, 33, 40);
    go(&h, 60, 123, 100);
    go(&h, 0, 120, 20);
    go(&h, 0, 120, 40);
    v = bw_collect_verdict(&h.collect, true);
    assert_int_equal(v.outcome, BW_VERDICT_PASS);
    assert_true(v.has_turn && fabs(v.turn_deg - 90) < 1);
    assert_int_equal(h.ended, 2);
    bw_collect_free(&h.collect);
}

/* Nothing is asked for: small things are let pass, a pull is noticed, and no pull is fine. */
static void test_aside(void **state) {
    (void)state;
    hand h;
    take(&h, NULL, NULL);
    go(&h, 1.9, 0, 20);
    assert_int_equal(h.began, 0);
    go(&h, 25, 10, 20);
    assert_int_equal(h.began, 1);
    go(&h, 0, 10, 20);
    go(&h, 0, 10, 40);
    assert_int_equal(h.ended, 1);
    assert_true(fabs(bw_collect_verdict(&h.collect, true).pull_peak_Nm - 25) < 1e-9);
    bw_collect_free(&h.collect);
}

/* Cut off under load: kept as far as it goes, and never a pass. */
static void test_stopped(void **state) {
    (void)state;
    const bw_stage *const stages[] = {&torque_60, &angle_90};
    for (size_t s = 0; s < 2; s++) {
        hand h;
        bool loaded = false;
        size_t len = 0;
        take(&h, stages[s], &stands_40);
        assert_false(bw_collect_on(&h.collect, &loaded));
        go(&h, 0, 0, 5);
        go(&h, 45, 2, 30);
        go(&h, 60, 92, 60);
        assert_true(bw_collect_on(&h.collect, &loaded));
        assert_true(loaded);
        bw_collect_stop(&h.collect);
        assert_false(bw_collect_on(&h.collect, &loaded));
        bw_verdict v = bw_collect_verdict(&h.collect, false);
        assert_int_not_equal(v.outcome, BW_VERDICT_PASS);
        assert_true((v.reasons & (uint32_t)BW_REASON_GAP) != 0);
        v = bw_collect_verdict(&h.collect, true); /* not even where it is said to be whole */
        assert_int_not_equal(v.outcome, BW_VERDICT_PASS);
        char *text = text_of(&h, &len);
        assert_true(len > 500);
        free(text);
        /* What comes after a stop was not at rest before it: no sample of old is put in front. */
        h.torque_Nm = 30;
        assert_int_equal(give(&h), BW_PULL_BEGAN);
        assert_int_equal(h.collect.n, 1);
        bw_collect_free(&h.collect);
    }
}

/* A wrench that falls silent at rest: still on, not loaded; its end is as good as any. */
static void test_silent_at_rest(void **state) {
    (void)state;
    hand h;
    bool loaded = true;
    take(&h, &torque_60, &nothing);
    go(&h, 0, 0, 5);
    go(&h, 60, 30, 60);
    go(&h, 0, 30, 20);
    assert_true(bw_collect_on(&h.collect, &loaded));
    assert_false(loaded);
    bw_collect_stop(&h.collect);
    assert_int_equal(bw_collect_verdict(&h.collect, true).outcome, BW_VERDICT_PASS);
    bw_collect_free(&h.collect);
}

/* More samples than are kept: the pull is cut, and no pass. */
static void test_too_long(void **state) {
    (void)state;
    hand h;
    take(&h, &torque_60, &nothing);
    go(&h, 0, 0, 5);
    go(&h, 60, 30, 60);
    while (!h.collect.cut && h.on < 3 * (size_t)BW_TRACE_SAMPLES_MAX) {
        (void)give(&h);
    }
    assert_true(h.collect.cut);
    assert_true(h.collect.n <= BW_TRACE_SAMPLES_MAX);
    assert_true(h.collect.n > BW_TRACE_SAMPLES_MAX / 4);
    go(&h, 0, 30, 20);
    go(&h, 0, 30, 40);
    assert_int_equal(h.ended, 1);
    bw_verdict v = bw_collect_verdict(&h.collect, true);
    assert_int_equal(v.outcome, BW_VERDICT_SUSPECT);
    assert_true((v.reasons & (uint32_t)BW_REASON_GAP) != 0);
    /* The next one is a new one. */
    go(&h, 60, 60, 60);
    go(&h, 0, 60, 20);
    go(&h, 0, 60, 40);
    assert_false(h.collect.cut);
    assert_int_equal(bw_collect_verdict(&h.collect, true).outcome, BW_VERDICT_PASS);
    /* And so is a result: there are no samples of old with it. */
    h.collect.cut = true;
    bw_collect_result(&h.collect, h.time_s, 60, false, 0);
    assert_false(h.collect.cut);
    assert_int_equal(h.collect.n, 0);
    bw_collect_free(&h.collect);
}

static void test_result_only(void **state) {
    (void)state;
    hand h;
    size_t len = 0;
    take(&h, &torque_60, &nothing);
    bw_collect_result(&h.collect, h.time_s, 60, false, 0);
    bw_verdict v = bw_collect_verdict(&h.collect, true);
    assert_int_equal(v.outcome, BW_VERDICT_PASS);
    assert_int_equal(v.reasons, BW_REASON_NO_TRACE);
    assert_int_equal(h.collect.n, 0);
    char *text = text_of(&h, &len);
    assert_string_equal(text, "time_s,torque_Nm,angle_deg\n");
    free(text);
    bw_collect_result(&h.collect, h.time_s, 64, false, 0);
    assert_int_equal(bw_collect_verdict(&h.collect, true).outcome, BW_VERDICT_HIGH);
    /* A trace after a result is judged as a trace. */
    go(&h, 0, 0, 5);
    go(&h, 50, 30, 60);
    go(&h, 0, 30, 20);
    go(&h, 0, 30, 40);
    v = bw_collect_verdict(&h.collect, true);
    assert_int_equal(v.outcome, BW_VERDICT_LOW);
    assert_int_equal(v.reasons, BW_REASON_BELOW_LIMIT);
    /* By what is armed, and that is an angle now. */
    bw_collect_arm(&h.collect, &angle_90, &stands_40, NULL);
    bw_collect_result(&h.collect, h.time_s, 70, true, 90);
    assert_int_equal(bw_collect_verdict(&h.collect, true).outcome, BW_VERDICT_PASS);
    bw_collect_result(&h.collect, h.time_s, 70, false, 0);
    assert_int_equal(bw_collect_verdict(&h.collect, true).outcome, BW_VERDICT_SUSPECT);
    bw_collect_free(&h.collect);
}

/* No hand gets from one fastener to the next in a second, whatever the wrench sends of it. */
static void test_a_result_too_soon(void **state) {
    (void)state;
    static const struct {
        double after_s;
        bool asked, accepted, too_soon;
    } rows[] = {{0.5, true, true, true},   {0.99, true, true, true},  {1.01, true, true, false},
                {0.5, true, false, false}, {0.5, false, true, false}, {-0.5, true, true, false}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        hand h;
        take(&h, &torque_60, &nothing);
        bw_collect_result(&h.collect, 10, 60, false, 0);
        assert_false(bw_collect_too_soon(&h.collect));
        bw_collect_judged(&h.collect, rows[i].asked, rows[i].accepted);
        bw_collect_result(&h.collect, 10 + rows[i].after_s, 60.1, false, 0);
        assert_int_equal(bw_collect_too_soon(&h.collect), rows[i].too_soon);
        assert_true(isinf(bw_collect_peaks_apart_s(&h.collect)));
        bw_collect_free(&h.collect);
    }
    /* Nor does a stream's own result, which follows it, tighten the next one. */
    hand h;
    take(&h, &torque_60, &nothing);
    go(&h, 60, 30, 60);
    go(&h, 0, 30, 20);
    go(&h, 0, 30, 35);
    assert_int_equal(h.ended, 1);
    bw_collect_judged(&h.collect, true, true);
    bw_collect_result(&h.collect, h.time_s, 60, false, 0);
    assert_true(bw_collect_too_soon(&h.collect));
    bw_collect_free(&h.collect);
}

/* The wind-up that one pull showed helps the hand at the next, and changes no verdict. */
static void test_windup_helps_the_next_pull(void **state) {
    (void)state;
    hand h;
    take(&h, &angle_90, &stands_40);
    go(&h, 0, 0, 10);
    double furthest_deg[2];
    for (int pull = 0; pull < 2; pull++) {
        double from_deg = h.angle_deg;
        go(&h, 44, from_deg + 4.4, 40);
        go(&h, 60, from_deg + 6 + 30, 60);
        furthest_deg[pull] = h.live.turn_deg;
        go(&h, 0, from_deg + 30, 30);
        go(&h, 0, from_deg + 30, 40);
        bw_verdict v = bw_collect_verdict(&h.collect, true);
        assert_true(fabs(v.turn_deg - 30) < 0.1);
    }
    assert_true(furthest_deg[0] > 35);
    assert_true(fabs(furthest_deg[1] - 30) < 0.2);
    bw_collect_free(&h.collect);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_pull_with_what_came_before_it),
        cmocka_unit_test(test_how_much_is_kept_from_before),
        cmocka_unit_test(test_load_before_is_not_kept),
        cmocka_unit_test(test_the_newest_before_is_always_kept),
        cmocka_unit_test(test_early_rise_shows),
        cmocka_unit_test(test_too_soon),
        cmocka_unit_test(test_terms),
        cmocka_unit_test(test_the_text_gives_the_same_verdict),
        cmocka_unit_test(test_arming_in_the_middle),
        cmocka_unit_test(test_aside),
        cmocka_unit_test(test_stopped),
        cmocka_unit_test(test_silent_at_rest),
        cmocka_unit_test(test_too_long),
        cmocka_unit_test(test_result_only),
        cmocka_unit_test(test_a_result_too_soon),
        cmocka_unit_test(test_windup_helps_the_next_pull),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
