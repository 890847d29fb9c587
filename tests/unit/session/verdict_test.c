/* verdict_test.c - pulls: what is judged, said and decided; one story a test. */
#include "cmocka_all.h"

#include "bench.h"

/* ---- verdicts ---- */

static void test_low_then_pass(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_pull(&b, 22.5, 12);
    bench_told(&b, "It reached 22.5");
    bench_told(&b, "at least 28 N·m");
    bench_told(&b, "pull again");
    assert_int_equal(b.actions->tone, BW_TONE_BAD);
    bench_asks(&b, "1 right", 1);
    bw_standing standing = bw_session_standing(b.session);
    assert_int_equal(standing.pulls, 1);
    assert_true(standing.peak_Nm == 22.5 && standing.turn_deg == 12 && standing.turn_known);
    bench_pull(&b, 30.5, 3);
    bench_told(&b, "pass, 30.5");
    assert_int_equal(b.actions->tone, BW_TONE_GOOD);
    bench_has_text(bench_last(&b, 0), BW_M_VERDICT, "pass");
    assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_PULLS, 0), 2);
    bench_asks(&b, "2 left", 1);
    bench_close(&b);
}

/* Only that fastener begins anew, and from its first stage. */
static void test_high_loosen_redo(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    for (int i = 0; i < 5; i++) {
        bench_good_pull(&b); /* stage 1, and the first of stage 2 */
    }
    bench_asks(&b, "2 left", 2);
    bench_pull(&b, 66, 30);
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_told(&b, "too high. It went to 66.0");
    bench_options(&b, "loosen replace another override");
    bench_type(&b, "loosen");
    bench_recorded(&b, "decision");
    bench_has_text(bench_last(&b, 0), BW_M_DECISION, "loosen");
    assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_OF, 0), bench_last(&b, 1)->number);
    bench_told(&b, "Loosen it fully");
    bench_asks(&b, "2 left", 1);
    bw_prompt p = bench_prompt(&b);
    assert_int_equal(p.attempt, 2);
    assert_true(p.standing.torque_Nm == 0 && p.standing.peak_Nm == 0 && p.standing.pulls == 0);
    static const size_t others_done[] = {1, 2, 0, 1};
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(p.progress[i].stages_done, others_done[i]);
        assert_int_equal(p.progress[i].attempt, i == 2 ? 2 : 1);
    }
    bench_good_pull(&b);
    assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_ATTEMPT, 0), 2);
    bench_asks(&b, "2 left", 2);
    bench_work(&b, RODS);
    bench_close(&b);
}

/* By number, too; a new one is tightened like one that was loosened. */
static void test_high_replace(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_pull(&b, 40, 30);
    bench_type(&b, "2");
    bench_has_text(bench_last(&b, 0), BW_M_DECISION, "replace");
    bench_asks(&b, "1 right", 1);
    assert_int_equal(bench_prompt(&b).attempt, 2);
    bench_close(&b);
}

/* An override takes a second person who is another one, and a reason. */
static void test_high_override(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_pull(&b, 33, 30);
    bench_type(&b, "override");
    bench_recorded(&b, "");
    static const char *const the_same[] = {"A. Lund", "a. lund", "A.Lund", "a lund", "ALund"};
    for (size_t i = 0; i < sizeof the_same / sizeof the_same[0]; i++) {
        bench_type(&b, the_same[i]);
        bench_told(&b, "That is you");
        assert_int_equal(bench_state(&b), BW_STATE_SECOND_PERSON);
    }
    bench_type(&b, "");
    bench_told(&b, "name or initials");
    bench_type(&b, "B. Lund");
    assert_int_equal(bench_state(&b), BW_STATE_REASON);
    bench_type(&b, "");
    bench_told(&b, "A reason is needed");
    bench_recorded(&b, "");
    bench_type(&b, "within the maker's bulletin 12");
    bench_recorded(&b, "decision");
    const bw_entry *e = bench_last(&b, 0);
    bench_has_text(e, BW_M_DECISION, "override");
    bench_has_text(e, BW_M_SECOND, "B. Lund");
    bench_has_text(e, BW_M_REASON, "within the maker's bulletin 12");
    bench_has_text(e, BW_M_LABEL, "1 right");
    assert_string_equal(e->by, "A. Lund");
    bw_prompt p = bench_prompt(&b);
    assert_int_equal(p.progress[1].stages_done, 1);
    assert_true(p.progress[1].overridden);
    bench_asks(&b, "2 left", 1);
    bench_work(&b, STEPS);
    bw_tally tally;
    bw_session_tally(b.session, &tally);
    assert_int_equal(tally.accepted, 11);
    assert_int_equal(tally.overridden, 1);
    bench_close(&b);
}

/* The override can be called off at either question; nothing of it is recorded. */
static void test_override_called_off(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_pull(&b, 33, 30);
    size_t n = b.entry_n;
    bench_type(&b, "override");
    bench_type(&b, "cancel");
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_type(&b, "override");
    bench_type(&b, "B. Ek");
    bench_type(&b, "cancel");
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    assert_int_equal(b.entry_n, n);
    bench_close(&b);
}

/* What the wrench does in the meantime does not take the questions back. */
static void test_override_outlives_the_cable(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_pull(&b, 33, 30);
    bench_type(&b, "override");
    bench_type(&b, "B. Ek");
    bench_event(&b, BW_EVENT_TOOL_LOST);
    bench_event(&b, BW_EVENT_TOOL_BACK);
    bench_event(&b, BW_EVENT_CLOCK_STEP);
    bench_event(&b, BW_EVENT_PULL_ENDED);
    assert_int_equal(bench_state(&b), BW_STATE_REASON);
    bench_type(&b, "bulletin 12");
    bench_has_text(bench_last(&b, 0), BW_M_SECOND, "B. Ek");
    bench_close(&b);
}

static void test_no_turn_then_the_right_one(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_good_pull(&b);
    bench_asks(&b, "2 left", 1);
    bench_pull(&b, 30, 0.5);
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_told(&b, "it did not turn");
    bench_options(&b, "loosen replace repeat override");
    bench_type(&b, "repeat");
    bench_asks(&b, "2 left", 1);
    bw_prompt p = bench_prompt(&b);
    assert_int_equal(p.attempt, 1);
    assert_int_equal(p.standing.pulls, 0);
    bench_good_pull(&b);
    bench_asks(&b, "1 left", 1);
    bench_close(&b);
}

static void test_angle_over_several_pulls(void **state) {
    (void)state;
    bench b;
    bench_at(&b, RODS);
    bench_good_pull(&b);
    bench_good_pull(&b);
    bench_asks(&b, "1", 2);
    bench_pull(&b, 40, 50);
    bench_told(&b, "50° done, 40° to go");
    bench_pull(&b, 50, 39);
    bench_told(&b, "pass, 50.0");
    bench_told(&b, "after 89°");
    bench_asks(&b, "2", 2);
    bench_close(&b);
}

/* A wrench that reports a peak only: what it can't tell is no reason to hide what it can. */
static void test_low_result_is_said_to_be_low(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bw_standing standing = bw_session_standing(b.session);
    bw_verdict v = bw_judge_result(bw_session_stage(b.session), &standing, &(bw_terms){0}, 20,
                                   false, 0);
    bench_begin(&b);
    bench_end(&b, &v, true);
    bench_told(&b, "too low. It reached 20.0");
    bench_close(&b);
}

static void test_no_angle_is_said(void **state) {
    (void)state;
    bench b;
    bench_at(&b, RODS);
    bench_good_pull(&b);
    bench_good_pull(&b);
    bw_standing standing = bw_session_standing(b.session);
    bw_verdict v = bw_judge_result(bw_session_stage(b.session), &standing, &(bw_terms){0}, 50,
                                   false, 0);
    bench_begin(&b);
    bench_end(&b, &v, true);
    bench_told(&b, "the wrench gave no angle, which this stage needs.");
    bench_options(&b, "loosen replace override");
    assert_int_equal(bench_prompt(&b).step_number, RODS + 1);
    assert_int_equal(bench_prompt(&b).step_n, STEPS);
    bench_close(&b);
}

/* No figure is rounded to the limit that it broke. */
static void test_figures_beside_their_limits(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_pull(&b, 27.99, 30);
    bench_told(&b, "It reached 27.99");
    bench_pull(&b, 32.02, 30);
    bench_told(&b, "It went to 32.02");
    bench_close(&b);
    bench_at(&b, RODS);
    bench_good_pull(&b);
    bench_good_pull(&b);
    bench_pull(&b, 60, 94.2);
    bench_told(&b, "through 94.2°; the most allowed is 94");
    bench_close(&b);
    bench_at(&b, BEARINGS);
    bench_type(&b, "50.0804");
    bench_type(&b, "50.0804");
    bench_type(&b, "50.000");
    bench_type(&b, "50.000");
    bench_told(&b, "oil clearance 0.0804 mm is outside");
    bench_close(&b);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_low_then_pass),
        cmocka_unit_test(test_high_loosen_redo),
        cmocka_unit_test(test_high_replace),
        cmocka_unit_test(test_high_override),
        cmocka_unit_test(test_override_called_off),
        cmocka_unit_test(test_override_outlives_the_cable),
        cmocka_unit_test(test_no_turn_then_the_right_one),
        cmocka_unit_test(test_angle_over_several_pulls),
        cmocka_unit_test(test_low_result_is_said_to_be_low),
        cmocka_unit_test(test_no_angle_is_said),
        cmocka_unit_test(test_figures_beside_their_limits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
