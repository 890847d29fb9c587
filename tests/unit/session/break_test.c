/* break_test.c - what breaks in: wrench, pause, kill, pulls that nobody asked for, a record of
 * another plan; one story a test. */
#include "cmocka_all.h"

#include "bench.h"

/* ---- the wrench goes away ---- */

static void test_wrench_lost_at_rest(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_event(&b, BW_EVENT_TOOL_LOST);
    assert_int_equal(bench_state(&b), BW_STATE_NO_TOOL);
    assert_string_equal(bench_prompt(&b).tool_text, "The cable was pulled out.");
    bench_event(&b, BW_EVENT_TOOL_BACK);
    bench_asks(&b, "1 right", 1);
    bench_close(&b);
}

/* In the middle of a pull: the loss is told first, then what was seen of the pull is judged. */
static void test_wrench_lost_under_load(void **state) {
    (void)state;
    bw_verdict cut = {.outcome = BW_VERDICT_SUSPECT,
                      .reasons = BW_REASON_GAP,
                      .peak_Nm = 29,
                      .pull_peak_Nm = 29,
                      .more = true,
                      .pulls = 1};
    bench b;
    bench_at(&b, CAPS);
    bench_begin(&b);
    bench_event(&b, BW_EVENT_TOOL_LOST);
    bench_end(&b, &cut, false);
    bench_recorded(&b, "pull verdict");
    assert_false(bw_entry_flag(bench_last(&b, 1), BW_M_COMPLETE, true));
    bench_told(&b, "does not count: pull again");
    assert_int_equal(bench_state(&b), BW_STATE_NO_TOOL);
    bench_event(&b, BW_EVENT_TOOL_BACK);
    bench_asks(&b, "1 right", 1);
    bw_standing standing = bw_session_standing(b.session);
    assert_int_equal(standing.pulls, 1);
    assert_false(standing.turn_known);
    bench_close(&b);
    /* An angle that nobody saw is decided on. */
    bench_at(&b, RODS);
    bench_good_pull(&b);
    bench_good_pull(&b);
    bench_begin(&b);
    bench_event(&b, BW_EVENT_TOOL_LOST);
    cut.more = false;
    bench_end(&b, &cut, false);
    bench_told(&b, "its turn is not known");
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_options(&b, "loosen replace override"); /* it did turn: something was seen */
    bench_close(&b);
}

/* ---- breaking off ---- */

static void test_pause_and_go_on(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_good_pull(&b);
    bench_event(&b, BW_EVENT_PAUSE);
    bench_recorded(&b, "paused");
    assert_true(b.actions->pause);
    bench_person(&b, "A. Lund");
    bench_recorded(&b, "resumed");
    bench_told(&b, "Going on: 4 of 7 steps are done.");
    assert_int_equal(bench_state(&b), BW_STATE_NO_TOOL); /* which wrench is said anew */
    bench_event(&b, BW_EVENT_TOOL_ON);
    bench_asks(&b, "2 left", 1);
    /* By somebody else. */
    bench_type(&b, "pause");
    bench_person(&b, "B. Ek");
    bench_recorded(&b, "resumed person_on");
    assert_string_equal(bench_prompt(&b).by, "B. Ek");
    bench_close(&b);
}

/* A torque is pulled again; that its turn was lost is kept in mind. */
static void test_killed_in_a_torque_pull(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_begin(&b);
    bench_person(&b, "A. Lund");
    bench_recorded(&b, "interrupted resumed");
    const bw_entry *e = bench_last(&b, 1);
    bench_has_text(e, BW_M_LABEL, "1 right");
    assert_int_equal(bw_entry_whole(e, BW_M_STAGE, 0), 1);
    bench_told(&b, "main cap bolts, place 2 (1 right), stage 1");
    bench_told(&b, "may carry some torque");
    bench_event(&b, BW_EVENT_TOOL_ON);
    bench_asks(&b, "1 right", 1);
    bw_standing standing = bw_session_standing(b.session);
    assert_int_equal(standing.pulls, 1);
    assert_false(standing.turn_known);
    bench_good_pull(&b);
    bench_asks(&b, "2 left", 1);
    bench_close(&b);
}

/* A turn is lost: whether it had moved is for the builder to say. */
static void test_killed_in_an_angle_pull(void **state) {
    (void)state;
    bench b;
    bench_at(&b, RODS);
    bench_good_pull(&b);
    bench_good_pull(&b);
    bench_begin(&b);
    bench_person(&b, "A. Lund");
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_options(&b, "loosen replace unmoved override");
    bw_prompt p = bench_prompt(&b);
    assert_int_equal(p.verdict.outcome, BW_VERDICT_SUSPECT);
    assert_int_equal(p.verdict.reasons, BW_REASON_GAP);
    bench_type(&b, "unmoved");
    bench_has_text(bench_last(&b, 0), BW_M_DECISION, "unmoved");
    bench_event(&b, BW_EVENT_TOOL_ON);
    bench_asks(&b, "1", 2);
    bw_standing standing = bw_session_standing(b.session);
    assert_true(standing.torque_Nm == 20);
    assert_int_equal(standing.pulls, 0);
    bench_good_pull(&b);
    bench_asks(&b, "2", 2);
    bench_close(&b);
}

/* With an earlier pull of the stage behind it, going on from where it stood can't be offered: how
 * far that was is not known any more. */
static void test_killed_in_the_second_angle_pull(void **state) {
    (void)state;
    bench b;
    bench_at(&b, RODS);
    bench_good_pull(&b);
    bench_good_pull(&b);
    bench_pull(&b, 40, 50);
    bench_begin(&b);
    bench_person(&b, "A. Lund");
    bench_options(&b, "loosen replace unmoved override");
    bench_type(&b, "unmoved"); /* what was turned before the lost pull still counts */
    assert_true(bw_session_standing(b.session).turn_known);
    assert_true(bw_session_standing(b.session).turn_deg > 0);
    bench_close(&b);
}

/* `pause` typed under load is no way to a verdict: when work goes on the pull is gone, and what is
 * pulled then is judged by the stage and not by nothing. */
static void test_pause_in_a_pull(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_begin(&b);
    bench_type(&b, "pause");
    bench_recorded(&b, "interrupted paused");
    bench_has_text(bench_last(&b, 1), BW_M_LABEL, "1 right");
    bench_person(&b, "A. Lund");
    bench_recorded(&b, "resumed");
    bench_event(&b, BW_EVENT_TOOL_ON);
    bench_asks(&b, "1 right", 1);
    assert_false(bw_session_standing(b.session).turn_known);
    bench_close(&b);
    bench_at(&b, RODS);
    bench_good_pull(&b);
    bench_good_pull(&b);
    bench_begin(&b);
    bench_event(&b, BW_EVENT_PAUSE);
    bench_person(&b, "A. Lund");
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_options(&b, "loosen replace unmoved override");
    bench_close(&b);
}

/* ---- asides ---- */

/* A pull that nobody asked for is kept and counts for nothing. */
static void test_aside(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CLEAN);
    bw_prompt before = bench_prompt(&b);
    bench_event(&b, BW_EVENT_PULL_BEGUN);
    bench_recorded(&b, "");
    bench_event(&b, BW_EVENT_PULL_ENDED);
    bench_recorded(&b, "pull");
    assert_false(bw_entry_flag(bench_last(&b, 0), BW_M_ASKED, true));
    assert_int_equal(bench_last(&b, 0)->value[BW_M_STEP].type, BW_VALUE_NONE);
    bench_told(&b, "A pull of 30.0");
    assert_ptr_equal(bench_prompt(&b).step, before.step);
    bw_tally tally;
    bw_session_tally(b.session, &tally);
    assert_int_equal(tally.pulls, 1);
    assert_int_equal(tally.accepted, 0);
    bench_close(&b);
}

/* ---- a record that does not fit the plan ---- */

static void test_misfits_change_nothing(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bw_session *fresh = bench_fold(&b, b.entry_n);
    bw_entry e = bw_entry_of(BW_KIND_VERDICT);
    bw_entry_set_text(&e, BW_M_STEP, "caps");
    bw_entry_set_text(&e, BW_M_VERDICT, "pass");
    static const int64_t places[] = {0, 5, -1, INT64_MAX, INT64_MIN, 1};
    static const int64_t stages[] = {1, 1, 1, 1, 1, 3};
    for (size_t i = 0; i < 6; i++) {
        bw_entry_set_whole(&e, BW_M_FASTENER, places[i]);
        bw_entry_set_whole(&e, BW_M_STAGE, stages[i]);
        bw_session_apply(fresh, &e);
        assert_int_equal(bw_session_misfits(fresh), i + 1);
    }
    bw_entry_set_text(&e, BW_M_STEP, "no such step");
    bw_session_apply(fresh, &e);
    bw_entry_set_text(&e, BW_M_STEP, "clean"); /* no tightening */
    bw_session_apply(fresh, &e);
    bw_entry reading = bw_entry_of(BW_KIND_READING);
    bw_entry_set_text(&reading, BW_M_STEP, "bearings");
    bw_entry_set_text(&reading, BW_M_SET, "no such set");
    bw_session_apply(fresh, &reading);
    bw_entry confirmed = bw_entry_of(BW_KIND_CONFIRMED);
    bw_entry_set_text(&confirmed, BW_M_STEP, "caps"); /* nothing to confirm */
    bw_session_apply(fresh, &confirmed);
    static const bw_kind kinds[] = {BW_KIND_PUT_OFF,     BW_KIND_DERIVED,  BW_KIND_PULL_BEGUN,
                                    BW_KIND_INTERRUPTED, BW_KIND_DECISION, BW_KIND_CORRECTION};
    for (size_t i = 0; i < 6; i++) {
        bw_entry other = bw_entry_of(kinds[i]);
        bw_entry_set_text(&other, BW_M_STEP, "no such step");
        bw_entry_set_whole(&other, BW_M_FASTENER, 1);
        bw_entry_set_whole(&other, BW_M_STAGE, 1);
        bw_session_apply(fresh, &other);
        assert_int_equal(bw_session_misfits(fresh), 11 + i);
    }
    bw_entry unknown = bw_entry_of(BW_KIND_UNKNOWN);
    bw_session_apply(fresh, &unknown);
    assert_int_equal(bw_session_misfits(fresh), 16);
    assert_null(bench_difference(fresh, b.session));
    bench_close(&b);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_wrench_lost_at_rest),
        cmocka_unit_test(test_wrench_lost_under_load),
        cmocka_unit_test(test_pause_and_go_on),
        cmocka_unit_test(test_killed_in_a_torque_pull),
        cmocka_unit_test(test_killed_in_an_angle_pull),
        cmocka_unit_test(test_killed_in_the_second_angle_pull),
        cmocka_unit_test(test_pause_in_a_pull),
        cmocka_unit_test(test_aside),
        cmocka_unit_test(test_misfits_change_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
