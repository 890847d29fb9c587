/* kind_test.c - the kinds of stage beyond torque and angle: what is asked, recorded, said and
 * decided; one story a test. */
#include "cmocka_all.h"

#include "bench.h"

#include <math.h>
#include <string.h>

static double number(const bw_entry *e, bw_member member) {
    return bw_entry_number(e, member, NAN);
}

static bool lacks(const bw_entry *e, bw_member member) {
    return e->value[member].type == BW_VALUE_NONE;
}

static void low(bench *b, double judged_Nm, bool more) {
    bench_verdict(b, (bw_verdict){.outcome = BW_VERDICT_LOW,
                                  .reasons = BW_REASON_BELOW_LIMIT,
                                  .judged_Nm = judged_Nm,
                                  .has_turn = true,
                                  .turn_deg = 400,
                                  .more = more});
}

static void high(bench *b, uint32_t reason, double judged_Nm) {
    bench_verdict(b, (bw_verdict){.outcome = BW_VERDICT_HIGH,
                                  .reasons = reason,
                                  .judged_Nm = judged_Nm,
                                  .has_turn = true,
                                  .turn_deg = 130});
}

/* The bench closes, and finds in its record what it left. */
/* ---- prevailing torque ---- */

static void test_prevailing_is_added(void **state) {
    (void)state;
    bench b;
    bench_kinds_at(&b, NUTS, 0, 0);
    for (int i = 0; i < 3; i++) {
        bench_verdict(&b, (bw_verdict){.judged_Nm = 2.5 + i, .has_turn = true, .turn_deg = 400});
        bench_told(&b, i == 0 ? "pass, prevailing torque 2.5 N·m." : "pass, prevailing torque");
        assert_true(number(bench_last(&b, 0), BW_M_JUDGED_NM) == 2.5 + i);
    }
    for (int i = 0; i < 3; i++) {
        bench_asks(&b, i == 0 ? "1" : i == 1 ? "2" : "3", 2);
        const bw_stage *stage = bw_session_stage(b.session);
        assert_true(stage->target_Nm == 42.5 + i && stage->low_Nm == 40.5 + i);
        bw_prompt p = bench_prompt(&b);
        assert_true(p.prevailing_Nm == 2.5 + i && p.aim.high_Nm == 44.5 + i);
        assert_true(p.stage->stage.target_Nm == 40); /* as the manual writes it */
        assert_true(bw_session_standing(b.session).torque_Nm == 0);
        bench_pull(&b, 40, 30);
        bench_told(&b, i == 0 ? "It reached 40.0 N·m; at least 40.5 N·m" : "too low");
        bench_killed(&b);
        assert_true(bw_session_stage(b.session)->target_Nm == 42.5 + i);
        bench_pull(&b, 42 + i, 30);
        assert_true(number(bench_last(&b, 0), BW_M_LOW_NM) == 40.5 + i);
        assert_true(number(bench_last(&b, 0), BW_M_HIGH_NM) == 44.5 + i);
    }
    bench_at_step(&b, STUDS);
    bench_close(&b);
}

/* A locking feature that is worn: another nut, and its own torque counts. */
static void test_prevailing_too_low(void **state) {
    (void)state;
    bench b;
    bench_kinds_at(&b, NUTS, 0, 0);
    low(&b, 0.5, false);
    bench_told(&b, "it runs too easily: 0.5 N·m; at least 1 N·m is needed");
    bench_options(&b, "loosen replace repeat override");
    bench_type(&b, "repeat");
    bench_asks(&b, "1", 1);
    assert_int_equal(bench_prompt(&b).attempt, 1);
    low(&b, 0.5, false);
    bench_type(&b, "replace");
    assert_int_equal(bench_prompt(&b).attempt, 2);
    bench_good_pull(&b);
    bench_asks(&b, "2", 1);
    low(&b, 0.25, false);
    bench_type(&b, "override");
    bench_type(&b, "B. Ek");
    bench_type(&b, "the last one there was");
    bench_good_pull(&b);
    bench_good_pull(&b); /* 1, stage 2 */
    bench_asks(&b, "2", 2);
    assert_true(bw_session_stage(b.session)->target_Nm == 40.25);
    bench_close(&b);
}

/* By what the other one's own torque adds, this pull says nothing of it. */
static void test_wrong_one_above_prevailing(void **state) {
    (void)state;
    bench b;
    bench_kinds_at(&b, NUTS, 1, 0);
    bench_good_pull(&b);
    bench_type(&b, "wrong 2");
    bench_recorded(&b, "correction");
    bench_told(&b, "must be loosened before its turn comes");
    bench_asks(&b, "1", 2);
    assert_true(bench_prompt(&b).prevailing_Nm == 3);
    bench_good_pull(&b);
    bench_asks(&b, "2", 2);
    bench_close(&b);
    /* A prevailing torque itself is the one that was run down. */
    bench_kinds_at(&b, NUTS, 0, 0);
    bench_verdict(&b, (bw_verdict){.judged_Nm = 6, .has_turn = true, .turn_deg = 400});
    bench_type(&b, "wrong 3");
    bench_told(&b, "has this stage now, out of order");
    bench_good_pull(&b);
    bench_good_pull(&b);
    bench_good_pull(&b); /* stage 2 of 1 and 2 */
    bench_good_pull(&b);
    bench_asks(&b, "3", 2);
    assert_true(bench_prompt(&b).prevailing_Nm == 6);
    bench_close(&b);
}

/* ---- stretch ---- */

static void test_stretch(void **state) {
    (void)state;
    bench b;
    bench_open_plan(&b, bench_kinds_plan());
    bench_person(&b, "A. Lund");
    bench_event(&b, BW_EVENT_TOOL_ON);
    bench_work(&b, STUDS);
    bw_prompt p = bench_prompt(&b);
    assert_int_equal(p.state,
                     BW_STATE_LENGTH); /* before the torque stage: later it is free no more */
    assert_false(p.tightened);
    assert_int_equal(p.stage_index, 0);
    assert_int_equal(p.length_unit, BW_UNIT_MM);
    assert_int_equal(p.option_n, 0);
    bench_type(&b, "65,02");
    bench_recorded(&b, "fastener_length");
    const bw_entry *e = bench_last(&b, 0);
    bench_has_text(e, BW_M_AT, "free");
    bench_has_text(e, BW_M_UNIT, "mm");
    bench_has_text(e, BW_M_TYPED, "65,02");
    assert_true(number(e, BW_M_VALUE) == 65.02);
    bench_asks(&b, "1", 1);
    bench_good_pull(&b);
    bench_type(&b, "2.5600 in"); /* 65.024 mm */
    bench_asks(&b, "2", 1);
    bench_good_pull(&b);
    bench_asks(&b, "1", 2);
    bench_good_pull(&b);
    bench_recorded(&b, "pull");
    bench_told(&b, "rod studs, place 1, stage 2: pulled to 45.0 N·m.");
    p = bench_prompt(&b);
    assert_int_equal(p.state, BW_STATE_LENGTH);
    assert_true(p.tightened && p.free_mm == 65.02);
    bench_options(&b, "loosen replace");
    uint64_t pull = bench_last(&b, 0)->number;
    bench_type(&b, "65.12");
    bench_recorded(&b, "fastener_length verdict");
    bench_told(&b, "grown by 0.100 mm; at least 0.13 mm is needed: pull on, and measure again");
    e = bench_last(&b, 0);
    assert_int_equal(bw_entry_whole(e, BW_M_OF, 0), pull);
    bench_has_text(e, BW_M_REASONS, "stretch_short");
    assert_true(fabs(number(e, BW_M_STRETCH_MM) - 0.1) < 1e-9);
    assert_true(number(e, BW_M_LOW_MM) == 0.13 && number(e, BW_M_HIGH_MM) == 0.17);
    bench_has_text(bench_last(&b, 1), BW_M_AT, "tightened");
    bench_asks(&b, "1", 2);
    assert_int_equal(bw_session_standing(b.session).pulls, 1);
    assert_true(bw_session_standing(b.session).torque_Nm == 20);
    bench_good_pull(&b);
    bench_type(&b, "65.17");
    bench_told(&b, "pass, it has grown by 0.150 mm.");
    assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_PULLS, 0), 2);
    assert_int_equal(b.actions->tone, BW_TONE_GOOD);
    bench_asks(&b, "2", 2);
    bench_close(&b);
}

static void to_stretched(bench *b) {
    bench_kinds_at(b, STUDS, 1, 0);
    bench_good_pull(b);
}

/* Slips of hand and eye are refused with a line, and nothing is judged by them. */
static void test_implausible_lengths(void **state) {
    (void)state;
    static const struct {
        const char *typed, *told, *kinds;
    } rows[] = {
        {"6.515", "can't be a length of this fastener now: between 64.935 mm and 65.650 mm",
         "note"},
        {"66.000", "can't be a length of this fastener now", "note"},
        {"64.900", "can't be a length of this fastener now", "note"},
        {"65.1", "Read it more finely", ""},
        {"about 65", "a number such as", ""},
        {"65.150 Nm", "", ""},
        {"", "", ""},
        {"1", "can't be a length", "note"}, /* no option by its number */
    };
    bench b;
    to_stretched(&b);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bench_type(&b, rows[i].typed);
        bench_recorded(&b, rows[i].kinds);
        bench_told(&b, rows[i].told);
        assert_int_equal(b.actions->tone, BW_TONE_BAD);
        assert_int_equal(bench_state(&b), BW_STATE_LENGTH);
    }
    bench_close(&b);
    static const char *const free_ones[] = {"-65.000", "0.000", "14.990", "2000.010"};
    for (size_t i = 0; i < sizeof free_ones / sizeof free_ones[0]; i++) {
        bench_open_plan(&b, bench_kinds_plan());
        bench_person(&b, "A. Lund");
        bench_event(&b, BW_EVENT_TOOL_ON);
        bench_work(&b, STUDS);
        bench_type(&b, free_ones[i]);
        bench_told(&b, "can't be a free length: between 15.000 mm and 2000.000 mm is plausible");
        assert_true(bench_prompt(&b).free_mm == 0);
        bench_type(&b, "15.000");
        bench_asks(&b, "1", 1);
        bench_close(&b);
    }
}

static void test_grown_too_long(void **state) {
    (void)state;
    bench b;
    to_stretched(&b);
    bench_type(&b, "65.18");
    bench_told(&b, "grown too long: by 0.180 mm; the most allowed is 0.17 mm");
    bench_options(&b, "loosen replace override");
    bench_type(&b, "replace");
    /* A new one has a length of its own. */
    assert_int_equal(bench_state(&b), BW_STATE_LENGTH);
    assert_false(bench_prompt(&b).tightened);
    assert_int_equal(bench_prompt(&b).attempt, 2);
    assert_int_equal(bench_prompt(&b).stage_index, 0);
    bench_close(&b);
}

/* The last length is taken back, and with it what it decided; nothing older, and nothing once work
 * has gone on. */
static void test_back_to_a_length(void **state) {
    (void)state;
    bench b;
    to_stretched(&b);
    bench_type(&b, "back");
    bench_told(&b, "work has gone on since");
    static const char *const typed[] = {"65.25", "65.15", "65.05"}; /* high, pass, low */
    for (size_t i = 0; i < 3; i++) {
        bench_type(&b, typed[i]);
        const bw_entry *length = bench_last(&b, 1);
        bench_type(&b, "back a slip");
        bench_recorded(&b, "correction");
        assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_CORRECTS, 0), length->number);
        bench_has_text(bench_last(&b, 0), BW_M_REASON, "a slip");
        bw_prompt p = bench_prompt(&b);
        assert_int_equal(p.state, BW_STATE_LENGTH);
        assert_true(p.tightened && p.place == 0 && p.standing.pulls == 0);
        assert_int_equal(p.progress[0].stages_done, 1);
        bench_killed(&b);
        assert_int_equal(bench_state(&b), BW_STATE_LENGTH);
        bench_type(&b, "back");
        bench_recorded(&b, "");
    }
    bench_type(&b, "65.15");
    bench_asks(&b, "2", 2);
    bench_type(&b, "back");
    bench_type(&b, "wrong 2"); /* nothing is accepted any more */
    bench_recorded(&b, "");
    bench_type(&b, "65.16");
    bench_begin(&b);
    bench_type(&b, "back");
    bench_recorded(&b, "");
    bench_close(&b);
}

static void test_back_to_a_free_length(void **state) {
    (void)state;
    bench b;
    bench_open_plan(&b, bench_kinds_plan());
    bench_person(&b, "A. Lund");
    bench_event(&b, BW_EVENT_TOOL_ON);
    bench_work(&b, STUDS);
    bench_type(&b, "56.02");
    bench_asks(&b, "1", 1);
    bench_killed(&b);
    bench_type(&b, "back");
    bench_recorded(&b, "correction");
    bw_prompt p = bench_prompt(&b);
    assert_int_equal(p.state, BW_STATE_LENGTH);
    assert_true(!p.tightened && p.free_mm == 0);
    bench_type(&b, "65.02");
    bench_asks(&b, "1", 1);
    bench_close(&b);
}

/* The pull is in the record; what it waits for is asked for after any end. */
static void test_killed_before_the_length(void **state) {
    (void)state;
    bench b;
    to_stretched(&b);
    bench_event(&b, BW_EVENT_TOOL_LOST);
    assert_int_equal(bench_state(&b), BW_STATE_LENGTH);
    b.session = bench_fold(&b, b.entry_n);
    bench_person(&b, "A. Lund");
    bench_recorded(&b, "interrupted resumed");
    assert_true(lacks(bench_last(&b, 1), BW_M_FASTENER)); /* no pull was lost */
    assert_int_equal(bench_state(&b), BW_STATE_LENGTH);
    /* Another wrench by then: the verdict is about the pull, and names the one that made it. */
    bench_send(&b, (bw_event){.kind = BW_EVENT_TOOL_ON,
                              .tool = "wrench 60",
                              .port = "sim",
                              .driver = "line 1",
                              .tool_terms = {.uncertainty_share = 0.02, .uncertainty_deg = 1}});
    bench_event(&b, BW_EVENT_PULL_ENDED); /* and a pull that nobody asked for */
    bench_recorded(&b, "pull");
    bench_type(&b, "later");
    bench_told(&b, "must be decided first");
    bench_type(&b, "wrong 2");
    bench_recorded(&b, "");
    bench_type(&b, "65.15");
    bench_told(&b, "pass, it has grown by 0.150 mm.");
    bench_has_text(bench_last(&b, 0), BW_M_TOOL, "wrench 200");
    assert_true(lacks(bench_last(&b, 0), BW_M_UNCERTAINTY_DEG));
    bench_asks(&b, "2", 2);
    bench_close(&b);
}

/* Where the gauge is not to be had, or what was typed as free length was wrong. */
static void test_loosened_instead_of_measured(void **state) {
    (void)state;
    bench b;
    to_stretched(&b);
    uint64_t pull = bench_last(&b, 0)->number;
    bench_type(&b, "loosen");
    bench_recorded(&b, "decision");
    assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_OF, 0), pull);
    bench_told(&b, "Loosen it fully");
    assert_int_equal(bench_state(&b), BW_STATE_LENGTH);
    assert_false(bench_prompt(&b).tightened);
    assert_int_equal(bench_prompt(&b).attempt, 2);
    bench_close(&b);
}

/* A pull that is bad in itself is not measured. */
static void test_above_the_ceiling(void **state) {
    (void)state;
    bench b;
    bench_kinds_at(&b, STUDS, 1, 0);
    high(&b, BW_REASON_ABOVE_LIMIT, 61);
    bench_recorded(&b, "pull verdict");
    assert_true(lacks(bench_last(&b, 1), BW_M_PULLS));
    bench_told(&b, "It went to 61.0 N·m; the most allowed is 60 N·m");
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_close(&b);
}

/* ---- castle nut ---- */

static void test_slot(void **state) {
    (void)state;
    bench b;
    bench_kinds_at(&b, CASTLE, 0, 0);
    bench_good_pull(&b);
    bench_recorded(&b, "pull");
    assert_int_equal(bench_state(&b), BW_STATE_SLOT);
    static const char *const no_answer[] = {"", "ok", "done", "maybe", "1"};
    for (size_t i = 0; i < sizeof no_answer / sizeof no_answer[0]; i++) {
        bench_type(&b, no_answer[i]);
        bench_recorded(&b, "");
        bench_told(&b, "Answer yes or no");
    }
    bench_killed(&b);
    assert_int_equal(bench_state(&b), BW_STATE_SLOT);
    bench_type(&b, "No");
    bench_recorded(&b, "fastener_slot verdict");
    bench_told(&b, "no slot meets the hole: pull on a little, never back, and never above 90 N·m");
    assert_false(bw_entry_flag(bench_last(&b, 0), BW_M_SLOT_MEETS, true));
    assert_false(bw_entry_flag(bench_last(&b, 1), BW_M_SLOT_MEETS, true));
    bench_has_text(bench_last(&b, 0), BW_M_REASONS, "angle_short");
    bench_asks(&b, "1", 1);
    assert_true(bw_session_standing(b.session).peak_Nm == 70);
    bench_verdict(&b, (bw_verdict){.judged_Nm = 82, .has_turn = true, .turn_deg = 10});
    bench_type(&b, "y");
    bench_told(&b, "pass, 82.0 N·m, and a slot meets the hole.");
    assert_true(bw_entry_flag(bench_last(&b, 0), BW_M_SLOT_MEETS, false));
    assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_PULLS, 0), 2);
    assert_true(number(bench_last(&b, 0), BW_M_FINAL_DEG) == 30);
    bench_asks(&b, "2", 1);
    bench_type(&b, "back");
    assert_int_equal(bench_state(&b), BW_STATE_SLOT);
    bench_type(&b, "no");
    bench_asks(&b, "1", 1);
    /* At the upper limit there is no way on. */
    bench_verdict(&b, (bw_verdict){.judged_Nm = 90, .has_turn = true, .turn_deg = 10});
    bench_type(&b, "no");
    bench_told(&b, "it may not be pulled above 90 N·m");
    bench_options(&b, "loosen replace override");
    bench_close(&b);
}

/* ---- back off, yield ---- */

static void test_back_off_then_tighter(void **state) {
    (void)state;
    bench b;
    bench_kinds_at(&b, HEAD, 1, 0);
    assert_true(bw_session_standing(b.session).torque_Nm == 60);
    bench_verdict(&b, (bw_verdict){.peak_Nm = 50, .has_turn = true, .turn_deg = 88});
    bench_told(&b, "pass, backed off by 88°; what torque is left is not known.");
    assert_true(lacks(bench_last(&b, 0), BW_M_LOOSE));
    while (bench_prompt(&b).stage_index == 1) {
        bench_good_pull(&b);
    }
    bench_asks(&b, "1", 3);
    assert_false(bench_prompt(&b).torque_known);
    assert_true(bw_session_standing(b.session).torque_Nm == 0);
    bench_verdict(&b, (bw_verdict){.outcome = BW_VERDICT_LOW,
                                   .reasons = BW_REASON_ANGLE_SHORT,
                                   .peak_Nm = 20,
                                   .has_turn = true,
                                   .turn_deg = 30,
                                   .more = true});
    bench_told(&b, "it is not loose yet: turn it back further");
    bench_verdict(&b, (bw_verdict){.peak_Nm = 8, .has_turn = true, .turn_deg = 90, .loose = true});
    bench_told(&b, "pass, it is loose.");
    assert_true(bw_entry_flag(bench_last(&b, 0), BW_M_LOOSE, false));
    while (bench_prompt(&b).stage_index == 2) {
        bench_good_pull(&b);
    }
    bench_asks(&b, "1", 4);
    assert_true(bench_prompt(&b).torque_known);
    bench_verdict(&b, (bw_verdict){.outcome = BW_VERDICT_LOW,
                                   .reasons = BW_REASON_ANGLE_SHORT,
                                   .peak_Nm = 66,
                                   .has_turn = true,
                                   .turn_deg = 30,
                                   .snug_reached = true,
                                   .slope_Nm_per_deg = 1.25,
                                   .more = true});
    bench_told(&b, "it has not yielded yet, at 66.0 N·m: pull on, slowly");
    bw_standing standing = bw_session_standing(b.session);
    assert_true(standing.slope_Nm_per_deg == 1.25 && standing.snug_reached);
    bench_good_pull(&b);
    bench_told(&b, "pass, it yields at 92.0 N·m after 100°.");
    bench_close(&b);
}

/* ---- check, shaft, sleeve ---- */

static void test_check_tightens_nothing(void **state) {
    (void)state;
    bench b;
    bench_kinds_at(&b, CHECKED, 0, 0);
    bench_good_pull(&b);
    bench_told(&b, "pass, it holds: no movement below 62.0 N·m.");
    bench_asks(&b, "2", 1);
    low(&b, 20, true);
    bench_told(&b, "20.0 N·m tells nothing yet; it must hold at least 50 N·m: pull on.");
    bench_asks(&b, "2", 1);
    low(&b, 41, false);
    bench_told(&b, "it has let go: it moved at 41.0 N·m, and must hold at least 50 N·m");
    bench_options(&b, "loosen repeat override");
    bench_type(&b, "loosen");
    /* It is put right where it was tightened; the others are not touched. */
    bench_at_step(&b, HEAD);
    bench_asks(&b, "2", 1);
    bw_prompt p = bench_prompt(&b);
    assert_int_equal(p.attempt, 2);
    assert_int_equal(p.progress[0].stages_done, 4);
    bench_killed(&b);
    bench_asks(&b, "2", 1);
    for (int i = 0; i < 4; i++) {
        bench_good_pull(&b);
    }
    bench_at_step(&b, CHECKED);
    bench_asks(&b, "2", 1);
    assert_true(bw_session_standing(b.session).torque_Nm == 0);
    high(&b, BW_REASON_ABOVE_LIMIT, 80);
    bench_told(&b, "pulled too far: 80.0 N·m; the most allowed is 75 N·m");
    bench_options(&b, "loosen repeat override");
    bench_close(&b);
}

static void test_shaft(void **state) {
    (void)state;
    bench b;
    bench_kinds_at(&b, SHAFT, 0, 0);
    high(&b, BW_REASON_ABOVE_LIMIT, 6.5);
    bench_told(&b, "turns too hard: 6.5 N·m; the most allowed is 6 N·m");
    bench_options(&b, "replace repeat override");
    bench_type(&b, "repeat");
    bench_verdict(&b, (bw_verdict){.outcome = BW_VERDICT_LOW,
                                   .reasons = BW_REASON_ANGLE_SHORT,
                                   .judged_Nm = 3.5,
                                   .has_turn = true,
                                   .turn_deg = 200,
                                   .more = true});
    bench_told(&b, "200° done, 160° to go: keep it turning");
    assert_true(bw_session_standing(b.session).judged_Nm == 3.5);
    bench_good_pull(&b);
    bench_told(&b, "pass, it turns at 4.0 N·m.");
    bench_at_step(&b, SLEEVE);
    bench_close(&b);
}

static void test_sleeve(void **state) {
    (void)state;
    bench b;
    bench_kinds_at(&b, SLEEVE, 0, 0);
    low(&b, 1.4, true);
    bench_told(&b, "It turns at 1.4 N·m; at least 2.0 N·m is needed: tighten a little more, never "
                   "back, and turn it again.");
    assert_int_equal(bench_prompt(&b).standing.pulls, 1);
    high(&b, BW_REASON_ABOVE_LIMIT, 2.7);
    bench_told(&b, "it turns at 2.7 N·m; the most allowed is 2.6 N·m");
    bench_told(&b, "its sleeve must be replaced");
    bench_options(&b, "replace override");
    bench_type(&b, "loosen");
    bench_recorded(&b, "");
    bench_type(&b, "replace");
    assert_int_equal(bench_prompt(&b).attempt, 2);
    assert_int_equal(bench_prompt(&b).standing.pulls, 0);
    bench_good_pull(&b);
    bench_at_step(&b, QUESTION);
    bench_close(&b);
}

/* ---- another one was pulled ---- */

static void test_another_one_over_tightened(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_good_pull(&b); /* 1 right */
    bench_asks(&b, "2 left", 1);
    bench_pull(&b, 20, 10);
    bench_pull(&b, 40, 30);
    bench_options(&b, "loosen replace another override");
    static const char *const which[] = {"another", "another 9", "another 2 left", "3"};
    for (size_t i = 0; i < sizeof which / sizeof which[0]; i++) {
        bench_type(&b, which[i]);
        bench_recorded(&b, "");
        bench_told(&b, "Write behind the word");
    }
    uint64_t verdict = bench_last(&b, 0)->number;
    bench_type(&b, "another 1 left");
    bench_recorded(&b, "correction");
    assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_CORRECTS, 0), verdict);
    bench_told(&b, "Corrected: it was place 1 (1 left)");
    /* The one that was pulled can't be got rid of with a word: it is decided on. */
    bw_prompt p = bench_prompt(&b);
    assert_int_equal(p.state, BW_STATE_VERDICT);
    assert_string_equal(p.group->place[p.place].label, "1 left");
    bench_options(&b, "loosen replace");
    bench_killed(&b);
    bench_options(&b, "loosen replace");
    bench_type(&b, "loosen");
    bench_has_text(bench_last(&b, 0), BW_M_LABEL, "1 left");
    bench_asks(&b, "2 left", 1);
    p = bench_prompt(&b);
    assert_int_equal(p.attempt, 1);
    assert_int_equal(p.standing.pulls, 1); /* the low pull was its own */
    assert_int_equal(p.progress[0].attempt, 2);
    assert_int_equal(p.progress[1].stages_done, 1);
    bench_work(&b, RODS);
    bench_close(&b);
}

/* ---- no other pull will come ---- */

static void test_decided_though_another_pull_could_mend_it(void **state) {
    (void)state;
    bench b;
    bench_kinds_at(&b, HEAD, 2, 0);
    bench_type(&b, "decide"); /* nothing was pulled yet */
    bench_told(&b, "Nothing is to be decided");
    for (int i = 0; i < 2; i++) {
        bench_verdict(&b, (bw_verdict){.outcome = BW_VERDICT_LOW,
                                       .reasons = BW_REASON_ANGLE_SHORT,
                                       .peak_Nm = 20,
                                       .has_turn = true,
                                       .turn_deg = 30,
                                       .more = true});
    }
    uint64_t verdict = bench_last(&b, 0)->number;
    bench_type(&b, "decide");
    bench_recorded(&b, "");
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_options(&b, "loosen replace override cancel");
    bench_event(&b, BW_EVENT_TOOL_LOST);
    bench_event(&b, BW_EVENT_TOOL_BACK);
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_type(&b, "later");
    bench_told(&b, "decided first");
    bench_type(&b, "cancel");
    bench_asks(&b, "1", 3);
    bench_type(&b, "decide");
    bench_type(&b, "override");
    bench_type(&b, "B. Ek");
    bench_type(&b, "cancel");
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_type(&b, "override");
    bench_type(&b, "B. Ek");
    bench_type(&b, "it turns by hand");
    bench_recorded(&b, "decision");
    assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_OF, 0), verdict);
    bench_asks(&b, "2", 3);
    bench_type(&b, "decide"); /* the last pull was another one's */
    bench_told(&b, "Nothing is to be decided");
    assert_true(bench_prompt(&b).progress[0].overridden);
    bench_close(&b);
    /* Killed in between, it is pulled on. */
    bench_at(&b, CAPS);
    bench_pull(&b, 20, 10);
    bench_type(&b, "decide");
    bench_options(&b, "loosen replace override cancel");
    bench_killed(&b);
    bench_asks(&b, "1 right", 1);
    bench_type(&b, "decide");
    bench_type(&b, "replace");
    bench_asks(&b, "1 right", 1);
    assert_int_equal(bench_prompt(&b).attempt, 2);
    assert_int_equal(bench_prompt(&b).standing.pulls, 0);
    bench_type(&b, "decide");
    bench_told(&b, "Nothing is to be decided");
    bench_close(&b);
}

/* ---- the wrench and the rule ---- */

static void test_what_is_known_of_the_wrench(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bw_terms terms = bw_session_terms(b.session);
    assert_true(terms.range_high_Nm == 0 && terms.uncertainty_share == 0);
    assert_true(lacks(bench_last(&b, 0), BW_M_RANGE_HIGH_NM));
    bench_send(&b, (bw_event){.kind = BW_EVENT_TOOL_ON,
                              .tool = "wrench 200",
                              .port = "sim",
                              .driver = "line 1",
                              .tool_terms = {.range_low_Nm = 20,
                                             .range_high_Nm = 200,
                                             .uncertainty_share = 0.015,
                                             .uncertainty_deg = 1.5}});
    assert_string_equal(bench_said(&b), ""); /* the rule is simple: nothing is missing */
    const bw_entry *e = bench_last(&b, 0);
    assert_true(number(e, BW_M_RANGE_LOW_NM) == 20 && number(e, BW_M_RANGE_HIGH_NM) == 200);
    assert_true(number(e, BW_M_UNCERTAINTY_SHARE) == 0.015);
    assert_true(number(e, BW_M_UNCERTAINTY_DEG) == 1.5);
    bench_event(&b, BW_EVENT_TOOL_LOST);
    bench_event(&b, BW_EVENT_TOOL_BACK);
    b.session = bench_fold(&b, b.entry_n);
    terms = bw_session_terms(b.session);
    assert_true(terms.range_low_Nm == 20 && terms.range_high_Nm == 200);
    assert_true(terms.uncertainty_share == 0.015 && terms.uncertainty_deg == 1.5);
    assert_int_equal(terms.rule, BW_RULE_SIMPLE);
    bw_standing standing = bw_session_standing(b.session);
    bw_verdict v = bw_judge_result(bw_session_stage(b.session), &standing, &terms, 30, true, 30);
    bench_begin(&b);
    bench_end(&b, &v, true);
    e = bench_last(&b, 0);
    assert_true(fabs(number(e, BW_M_UNCERTAINTY_NM) - 0.45) < 1e-9);
    assert_true(number(e, BW_M_UNCERTAINTY_DEG) == 1.5);
    bench_told(&b, "Not judged: ");    /* a bare result */
    bench_event(&b, BW_EVENT_TOOL_ON); /* another one, of which nothing is known */
    assert_true(bw_session_terms(b.session).range_high_Nm == 0);
    bench_close(&b);
}

static void test_guarded_rule(void **state) {
    (void)state;
    bw_plan plan = *bench_kinds_plan();
    plan.rule = BW_RULE_GUARDED;
    bench b;
    bench_open_plan(&b, &plan);
    bench_person(&b, "A. Lund");
    static const struct {
        double share, angle_deg;
        const char *told;
    } rows[] = {{0, 0, "--wrench PORT,uncertainty=PER_CENT"},
                {0, 1, "--wrench PORT,uncertainty=PER_CENT"},
                {0.01, 0, "--wrench PORT,angle_uncertainty=DEGREES"},
                {0.01, 1, ""}};
    for (size_t i = 0; i < 4; i++) {
        bench_send(&b, (bw_event){.kind = BW_EVENT_TOOL_ON,
                                  .tool = "wrench 60",
                                  .port = "sim",
                                  .driver = "line 1",
                                  .tool_terms = {.uncertainty_share = rows[i].share,
                                                 .uncertainty_deg = rows[i].angle_deg}});
        bench_told(&b, rows[i].told);
        assert_int_equal(bench_said(&b)[0] == '\0', i == 3);
        assert_null(strchr(bench_said(&b), '\n'));
    }
    assert_int_equal(bw_session_terms(b.session).rule, BW_RULE_GUARDED);
    bench_verdict(&b, (bw_verdict){.outcome = BW_VERDICT_SUSPECT,
                                   .reasons = BW_REASON_INSIDE_GUARD,
                                   .judged_Nm = 1.01,
                                   .uncertainty_Nm = 0.05});
    bench_has_text(bench_last(&b, 0), BW_M_RULE, "guarded");
    assert_true(number(bench_last(&b, 0), BW_M_UNCERTAINTY_NM) == 0.05);
    bench_told(&b, "nearer to one than this wrench is sure of");
    bench_close(&b);
}

/* ---- questions ---- */

static void test_questions(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_pull(&b, 60, 30);
    bench_told(&b, "is the torque of another stage");
    assert_non_null(strstr(bw_entry_text(bench_last(&b, 0), BW_M_QUESTION, ""), "another stage"));
    bench_type(&b, "loosen");
    bench_pull(&b, 40.7, 30);
    bench_told(&b, "lbf·ft");
    bench_type(&b, "loosen");
    bench_pull(&b, 45, 30);
    assert_true(lacks(bench_last(&b, 0), BW_M_QUESTION));
    bench_type(&b, "loosen");
    bw_verdict v = {.outcome = BW_VERDICT_HIGH,
                    .reasons = BW_REASON_ABOVE_LIMIT,
                    .peak_Nm = 35,
                    .pull_peak_Nm = 35,
                    .pulls = 1};
    static const double apart_s[] = {0.6, 1.5, 0, INFINITY};
    for (size_t i = 0; i < 4; i++) {
        bench_begin(&b);
        bench_send(&b, (bw_event){.kind = BW_EVENT_PULL_ENDED,
                                  .verdict = &v,
                                  .complete = true,
                                  .peaks_apart_s = apart_s[i],
                                  .trace_hex = "00",
                                  .raw_hex = "00",
                                  .tool = "wrench 200"});
        assert_int_equal(strstr(bench_said(&b), "two peaks") != NULL, i == 0);
        bench_type(&b, "loosen");
    }
    bench_work(&b, RODS);
    bench_pull(&b, 60, 30); /* still set for the caps */
    bench_told(&b, "is the torque of the joint before");
    bench_type(&b, "loosen");
    bench_pull(&b, 60, 30);
    bench_told(&b, "is the torque of the joint before");
    bench_close(&b);
}

static void test_second_click(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_good_pull(&b);
    bw_verdict v = {.pull_peak_Nm = 30, .peak_Nm = 30, .pulls = 1};
    bench_send(&b, (bw_event){.kind = BW_EVENT_PULL_ENDED,
                              .verdict = &v,
                              .complete = true,
                              .too_soon = true,
                              .trace_hex = "00",
                              .raw_hex = "00",
                              .tool = "wrench 200"});
    bench_recorded(&b, "pull");
    assert_false(bw_entry_flag(bench_last(&b, 0), BW_M_ASKED, true));
    bench_told(&b, "within a second of the accepted one");
    assert_non_null(strstr(bw_entry_text(bench_last(&b, 0), BW_M_QUESTION, ""), "within a second"));
    bench_asks(&b, "2 left", 1);
    bench_close(&b);
}

/* ---- lost pulls ---- */

/* What is lost with a pull of which nothing was kept: a turn that is judged, nothing else. */
static void test_killed_in_a_pull_of_each_kind(void **state) {
    (void)state;
    static const struct {
        size_t step, stage;
        const char *options; /* NULL: it is simply asked for again */
    } rows[] = {{NUTS, 0, NULL},
                {NUTS, 1, NULL},
                {STUDS, 1, NULL},
                {CASTLE, 0, NULL},
                {HEAD, 1, "loosen replace unmoved override"},
                {HEAD, 2, NULL},
                {HEAD, 3, "loosen replace unmoved override"},
                {CHECKED, 0, "loosen repeat unmoved override"},
                {SHAFT, 0, NULL},
                {SLEEVE, 0, NULL}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bench b;
        bench_kinds_at(&b, rows[i].step, rows[i].stage, 0);
        bench_begin(&b);
        bench_killed(&b);
        if (rows[i].options != NULL) {
            bench_options(&b, rows[i].options);
            bench_type(&b, "unmoved");
        }
        bench_asks(&b, "1", rows[i].stage + 1);
        assert_int_equal(bw_session_standing(b.session).pulls, rows[i].options == NULL ? 1 : 0);
        bench_good_pull(&b);
        bench_close(&b);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_prevailing_is_added),
        cmocka_unit_test(test_prevailing_too_low),
        cmocka_unit_test(test_wrong_one_above_prevailing),
        cmocka_unit_test(test_stretch),
        cmocka_unit_test(test_implausible_lengths),
        cmocka_unit_test(test_grown_too_long),
        cmocka_unit_test(test_back_to_a_length),
        cmocka_unit_test(test_back_to_a_free_length),
        cmocka_unit_test(test_killed_before_the_length),
        cmocka_unit_test(test_loosened_instead_of_measured),
        cmocka_unit_test(test_above_the_ceiling),
        cmocka_unit_test(test_slot),
        cmocka_unit_test(test_back_off_then_tighter),
        cmocka_unit_test(test_check_tightens_nothing),
        cmocka_unit_test(test_shaft),
        cmocka_unit_test(test_sleeve),
        cmocka_unit_test(test_another_one_over_tightened),
        cmocka_unit_test(test_decided_though_another_pull_could_mend_it),
        cmocka_unit_test(test_what_is_known_of_the_wrench),
        cmocka_unit_test(test_guarded_rule),
        cmocka_unit_test(test_questions),
        cmocka_unit_test(test_second_click),
        cmocka_unit_test(test_killed_in_a_pull_of_each_kind),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
