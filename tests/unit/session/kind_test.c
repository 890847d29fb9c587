/* kind_test.c - the kinds of stage beyond torque and angle: what is asked, recorded, said and
 * decided; one story a test.  Stretch is in stretch_test.c. */
#include "cmocka_all.h"

#include "bench.h"
#include "kind_bench.h"

/* ---- prevailing torque ---- */

static void test_prevailing_is_added(void **state) {
    (void)state;
    bench b;
    bench_kinds_at(&b, NUTS, 0, 0);
    for (int i = 0; i < 3; i++) {
        bench_verdict(&b, (bw_verdict){.judged_Nm = 2.5 + i, .has_turn = true, .turn_deg = 400});
        bench_told(&b, i == 0 ? "pass, prevailing torque 2.5 N·m." : "pass, prevailing torque");
        assert_true(kind_number(bench_last(&b, 0), BW_M_JUDGED_NM) == 2.5 + i);
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
        assert_true(kind_number(bench_last(&b, 0), BW_M_LOW_NM) == 40.5 + i);
        assert_true(kind_number(bench_last(&b, 0), BW_M_HIGH_NM) == 44.5 + i);
    }
    bench_at_step(&b, STUDS);
    bench_close(&b);
}

/* A locking feature that is worn: another nut, and its own torque counts. */
static void test_prevailing_too_low(void **state) {
    (void)state;
    bench b;
    bench_kinds_at(&b, NUTS, 0, 0);
    kind_low(&b, 0.5, false);
    bench_told(&b, "it runs too easily: 0.5 N·m; at least 1 N·m is needed");
    bench_options(&b, "loosen replace repeat override");
    bench_type(&b, "repeat");
    bench_asks(&b, "1", 1);
    assert_int_equal(bench_prompt(&b).attempt, 1);
    kind_low(&b, 0.5, false);
    bench_type(&b, "replace");
    assert_int_equal(bench_prompt(&b).attempt, 2);
    bench_good_pull(&b);
    bench_asks(&b, "2", 1);
    kind_low(&b, 0.25, false);
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
    assert_true(kind_number(bench_last(&b, 0), BW_M_FINAL_DEG) == 30);
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

/* Taken back and seen again it was tightened once. */
static void test_slot_seen_again_is_one_cycle(void **state) {
    (void)state;
    bench b;
    bench_kinds_at(&b, CASTLE, 0, 0);
    bench_good_pull(&b);
    for (int i = 0; i < 3; i++) {
        bench_type(&b, "no");
        assert_int_equal(bench_prompt(&b).cycles, 1);
        bench_type(&b, "back");
        assert_int_equal(bench_state(&b), BW_STATE_SLOT);
        assert_int_equal(bench_prompt(&b).cycles, 0);
    }
    bench_type(&b, "yes");
    bench_asks(&b, "2", 1);
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
    assert_true(kind_lacks(bench_last(&b, 0), BW_M_LOOSE));
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
    kind_low(&b, 20, true);
    bench_told(&b, "20.0 N·m tells nothing yet; it must hold at least 50 N·m: pull on.");
    bench_asks(&b, "2", 1);
    kind_low(&b, 41, false);
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
    kind_high(&b, BW_REASON_ABOVE_LIMIT, 80);
    bench_told(&b, "pulled too far: 80.0 N·m; the most allowed is 75 N·m");
    bench_options(&b, "loosen repeat override");
    bench_close(&b);
}

static void test_shaft(void **state) {
    (void)state;
    bench b;
    bench_kinds_at(&b, SHAFT, 0, 0);
    kind_high(&b, BW_REASON_ABOVE_LIMIT, 6.5);
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
    kind_low(&b, 1.4, true);
    bench_told(&b, "It turns at 1.4 N·m; at least 2.0 N·m is needed: tighten a little more, never "
                   "back, and turn it again.");
    assert_int_equal(bench_prompt(&b).standing.pulls, 1);
    kind_high(&b, BW_REASON_ABOVE_LIMIT, 2.7);
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
        cmocka_unit_test(test_slot),
        cmocka_unit_test(test_slot_seen_again_is_one_cycle),
        cmocka_unit_test(test_back_off_then_tighter),
        cmocka_unit_test(test_check_tightens_nothing),
        cmocka_unit_test(test_shaft),
        cmocka_unit_test(test_sleeve),
        cmocka_unit_test(test_killed_in_a_pull_of_each_kind),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
