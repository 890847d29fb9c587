/* unseen_test.c - what was not seen, what was no pull, and wrenches that report a result only. */
#include "cmocka_all.h"

#include "pen.h"

#include <math.h>

static pen p;

static const bw_standing stands_40 = {.torque_Nm = 40};

/* ---- what was not seen ---- */

static void test_incomplete(void **state) {
    (void)state;
    bw_stage torque = torque_stage(57, 60, 63);
    pen_take(&p, 100);
    pen_pull(&p, 10, 60, 30);
    bw_verdict v = judge_all(&torque, NULL, p.sample, p.n, false);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, true); /* a torque can be pulled again */
    bw_stage angle = angle_stage(86, 94);
    pen_take(&p, 100);
    pen_pull(&p, 44, 80, 90);
    v = judge_all(&angle, &stands_40, p.sample, p.n, false);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, false); /* a turn that nobody saw can't */
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
            verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, true);
        } else {
            verdict_is(&v, BW_VERDICT_PASS, 0, false);
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
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, false);
    pen_take(&p, 100);
    pen_pull(&p, 62, 80, 90);
    v = judge_pen(&angle, &then, &p);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, false);
}

/* A torque that was there with the first sample was not seen to rise. */
static void test_begins_at_the_peak(void **state) {
    (void)state;
    bw_stage torque = torque_stage(57, 60, 63);
    static const bw_sample sample[] = {{.time_s = 0.0, .torque_Nm = 60},
                                       {.time_s = 0.1, .torque_Nm = 0},
                                       {.time_s = 0.2, .torque_Nm = 0}};
    bw_verdict v = judge_all(&torque, NULL, sample, 3, true);
    verdict_is(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, true);
}

/* What was cut away at its beginning may have been a thread that bound; below the torque that it
 * stands at nothing turned. */
static void test_begins_under_load(void **state) {
    (void)state;
    bw_stage torque = torque_stage(57, 60, 63);
    bw_standing stands = {.torque_Nm = 20};
    pen_take(&p, 100);
    pen_pull(&p, 20, 60, 30);
    for (size_t from = 0; p.sample[from].torque_Nm < 59; from++) {
        bool loaded = p.sample[from].torque_Nm >= bw_judge_threshold_Nm(&torque, &(bw_standing){0});
        bool turned = p.sample[from].torque_Nm >= 20;
        bw_verdict v = judge_all(&torque, NULL, p.sample + from, p.n - from, true);
        assert_int_equal((v.reasons & (uint32_t)BW_REASON_GAP) != 0, loaded);
        assert_int_equal(v.outcome == BW_VERDICT_PASS, !loaded);
        v = judge_all(&torque, &stands, p.sample + from, p.n - from, true);
        assert_int_equal(v.outcome == BW_VERDICT_PASS, !turned);
    }
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
        verdict_is(&v, BW_VERDICT_PASS, BW_REASON_SPIKE, false);
        /* The peak itself may have been hit by the knock. */
        close_to(v.peak_Nm, 60, 0.6);
        close_to(v.turn_deg, 30, 0.5);
        p.sample[at].torque_Nm = was_Nm;
    }
    /* The hand is warned at once, and told off again as soon as it is known for a knock. */
    bw_judge judge;
    bw_judge_begin(&judge, &torque, &nothing, &(bw_terms){0});
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
    verdict_is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT | BW_REASON_TORQUE_DROP, false);
    /* At 10 Hz nobody can tell a knock from a quick pull: it counts. */
    pen_take(&p, 10);
    pen_pull(&p, 10, 60, 30);
    p.sample[8].torque_Nm = 70;
    v = judge_pen(&torque, NULL, &p);
    verdict_is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
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
    verdict_is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
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
    verdict_is(&v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
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
        bw_verdict v = bw_judge_result(rows[i].stage, &stands_40, &(bw_terms){0}, rows[i].peak_Nm,
                                       rows[i].has_turn, rows[i].turn_deg);
        verdict_is(&v, rows[i].outcome, rows[i].reasons, rows[i].more);
        close_to(v.peak_Nm, rows[i].peak_Nm, 0);
        assert_int_equal(v.pulls, 1);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_incomplete),
        cmocka_unit_test(test_gap),
        cmocka_unit_test(test_gap_into_the_load),
        cmocka_unit_test(test_gap_spoils_the_turn_of_later_pulls),
        cmocka_unit_test(test_begins_at_the_peak),
        cmocka_unit_test(test_begins_under_load),
        cmocka_unit_test(test_spike_left_out_and_named),
        cmocka_unit_test(test_what_is_no_spike),
        cmocka_unit_test(test_no_spike_without_a_reference),
        cmocka_unit_test(test_no_spike_without_time),
        cmocka_unit_test(test_results),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
