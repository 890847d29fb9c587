/* redo_test.c - a step of an open build done anew, with what stands on it. */
#include "cmocka_all.h"

#include "job_bench.h"

#include <string.h>

static bw_progress progress_of(const bench *b, size_t step, size_t place) {
    return bw_session_step(b->session, step).progress[place];
}

/* A shell was forgotten: caps and rods are off again, what does not stand on it stays. */
static void test_what_stands_on_it(void **state) {
    (void)state;
    bench b;
    bw_tally tally;
    bw_prompt prompt;
    bench_at(&b, TURN);
    bench_type(&b, "redo bearings a shell was forgotten");
    bench_recorded(&b, "");
    bench_told(&b, "This opens again step 4 (bearings), and what stands on it: 5 (caps), 6 (rods). "
                   "To do so, type the line once more.");
    bw_session_prompt(b.session, &prompt);
    assert_int_equal(prompt.redo, 4);
    assert_true(bw_session_step(b.session, CAPS).begun);
    assert_false(bw_session_step(b.session, TURN).begun);
    bench_at_step(&b, TURN);
    bench_type(&b, "redo bearings a shell was forgotten");
    bench_recorded(&b, "step_redone");
    bench_told(&b, "Open again: step 4 (bearings), and what stands on it: 5 (caps), 6 (rods). Each "
                   "counts from its beginning; loosen first what was tightened.");
    bench_has_text(bench_last(&b, 0), BW_M_STEP, "bearings");
    bench_has_text(bench_last(&b, 0), BW_M_REASON, "a shell was forgotten");
    assert_int_equal(bench_last(&b, 0)->value[BW_M_OF].type, BW_VALUE_NONE);
    bench_at_step(&b, BEARINGS);
    assert_true(bw_session_step(b.session, CLEAN).done);
    bw_session_tally(b.session, &tally);
    assert_int_equal(tally.accepted + tally.measurements, 0);
    bench_killed(&b);
    bench_at_step(&b, BEARINGS);
    bench_work(&b, CAPS);
    assert_int_equal(progress_of(&b, CAPS, 0).attempt, 2);
    assert_int_equal(progress_of(&b, CAPS, 0).stages_done, 0);
    bench_work(&b, STEPS);
    bw_session_tally(b.session, &tally);
    assert_int_equal(tally.accepted, tally.fasteners);
    bench_close(&b);
}

/* Another line in between, or a recorded one, is no consent. */
static void test_only_when_typed_twice(void **state) {
    (void)state;
    static const char *const between[] = {"redo caps why", "yes", "note what now"};
    for (size_t i = 0; i < 3; i++) {
        bench b;
        bench_at(&b, TURN);
        bench_type(&b, "redo clean dirt");
        bench_type(&b, between[i]);
        bench_type(&b, "redo clean dirt");
        bench_recorded(&b, "");
        bench_told(&b, "type the line once more");
        bench_close(&b);
    }
}

/* In mid-group: a washer is missing under those that are done. */
static void test_a_step_in_hand(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_good_pull(&b);
    bench_good_pull(&b);
    bench_type(&b, "redo 5 washers forgotten");
    bench_recorded(&b, "");
    bench_told(&b, "This opens again step 5 (caps). To do so, type the line once more.");
    bench_type(&b, "redo 5 washers forgotten");
    bench_recorded(&b, "step_redone");
    bench_told(&b, "Open again: step 5 (caps). It counts from its beginning; loosen first");
    bench_asks(&b, "1 right", 1);
    assert_int_equal(bench_prompt(&b).attempt, 2);
    bench_type(&b, "redo 5 once more"); /* nothing of it is done */
    bench_recorded(&b, "");
    bench_close(&b);
}

static void test_not_while_something_is_open(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_begin(&b);
    bench_type(&b, "redo clean dirt");
    bench_recorded(&b, "");
    bench_told(&b, "This must be ended first");
    bench_event(&b, BW_EVENT_PULL_ENDED);
    bench_pull(&b, 45, 30);
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_type(&b, "redo clean dirt");
    bench_recorded(&b, "");
    bench_close(&b);
}

#define BOLTS(more, after_trial)                                                                   \
    HEAD "group{name = 'g', say = 'lid bolts', lubricant = 'oil', " more "places = "               \
         "labels{'a', 'b'}}\n"                                                                     \
         "confirm{id = 'seat', say = 's'}\n"                                                       \
         "tighten{id = 'first', say = 's', group = 'g', after = 'seat', stages = {torque{Nm(20), " \
         "within = percent(5)}}}\n"                                                                \
         "measure{id = 'gap', say = 's', after = 'first', readings = {reading{id = 'r', say = "    \
         "'gap', unit = 'mm', decimals = 2, plausible = {mm(1), mm(9)}}}}\n" after_trial

#define SECOND                                                                                     \
    "tighten{id = 'second', say = 's', group = 'g', after = 'gap', continues = 'first', stages = " \
    "{torque{Nm(50), within = percent(5)}}}\n"

static void twice(job *j, const char *line) {
    bench_type(&j->b, line);
    bench_type(&j->b, line);
    bench_recorded(&j->b, "step_redone");
}

/* What went on from another step's tightness has lost it: both are done anew, once. */
static void test_what_goes_on(void **state) {
    (void)state;
    job j;
    open_job(&j, BOLTS("", SECOND));
    bench_type(&j.b, "yes");
    pull_all(&j, 2);
    bench_type(&j.b, "5");
    pull_all(&j, 1);
    twice(&j, "redo gap read at the wrong place");
    bench_told(&j.b, "step 3 (gap), and what stands on it: 2 (first), 4 (second).");
    bench_at_step(&j.b, 1);
    assert_int_equal(progress_of(&j.b, 1, 0).attempt, 2);
    assert_int_equal(progress_of(&j.b, 3, 0).attempt, 2);
    pull_all(&j, 2);
    bench_type(&j.b, "5");
    pull_all(&j, 2);
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

/* Loosened and made tight again is a cycle more; where there is none left, new ones are asked for.
 */
static void test_cycles_count_on(void **state) {
    (void)state;
    job j;
    open_job(&j, BOLTS("cycles = 2, ", ""));
    bench_type(&j.b, "yes");
    pull_all(&j, 2);
    twice(&j, "redo seat dirt under it");
    bench_type(&j.b, "yes");
    assert_int_equal(bench_state(&j.b), BW_STATE_PULL);
    pull_all(&j, 2);
    assert_int_equal(bw_entry_whole(bench_last(&j.b, 0), BW_M_CYCLE, 0), 2);
    twice(&j, "redo seat dirt again");
    bench_type(&j.b, "yes");
    assert_int_equal(bench_state(&j.b), BW_STATE_ASK);
    bench_options(&j.b, "new replaced");
    bench_type(&j.b, "replaced b");
    bench_recorded(&j.b, "");
    bench_told(&j.b, "Not used again: place 1 (a) has been tightened 2 of 2 times");
    bench_type(&j.b, "checked");
    bench_recorded(&j.b, "");
    bench_type(&j.b, "replaced a, b");
    bench_recorded(&j.b, "answered answered answered");
    bench_has_text(bench_last(&j.b, 0), BW_M_TEXT, "used again"); /* no check was asked for */
    pull_all(&j, 2);
    assert_int_equal(bw_entry_whole(bench_last(&j.b, 0), BW_M_CYCLE, 0), 1);
    bench_type(&j.b, "5");
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

static void test_used_once(void **state) {
    (void)state;
    job j;
    open_job(&j, BOLTS("new_each_time = true, ", ""));
    bench_type(&j.b, "yes");
    pull_all(&j, 1);
    twice(&j, "redo first the washer was forgotten");
    assert_int_equal(bench_state(&j.b), BW_STATE_ASK);
    bench_options(&j.b, "new");
    bench_type(&j.b, "checked");
    bench_recorded(&j.b, "");
    bench_type(&j.b, "new");
    assert_int_equal(progress_of(&j.b, 1, 1).reuse, BW_REUSE_NEW);
    pull_all(&j, 2);
    bench_at_step(&j.b, 2);
    close_job(&j);
}

/* The answer that leaves a step out is asked again, and with it what depends on it. */
static void test_a_question(void **state) {
    (void)state;
    job j;
    open_job(
        &j, HEAD
        "ask{id = 'seal', say = 's', answers = {'yes', 'no'}}\n"
        "confirm{id = 'ring', say = 's', after = 'seal', when = {step = 'seal', answer = 'yes'}}\n"
        "confirm{id = 'lid', say = 's', after = 'ring'}\n");
    bench_type(&j.b, "no");
    bench_type(&j.b, "yes");
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    twice(&j, "redo seal there is one");
    bench_told(&j.b, "step 1 (seal), and what stands on it: 3 (lid).");
    bench_type(&j.b, "yes");
    bench_at_step(&j.b, 1);
    bench_type(&j.b, "yes");
    bench_at_step(&j.b, 2);
    bench_type(&j.b, "yes");
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

static void test_found_from_the_screen(void **state) {
    (void)state;
    bench b;
    bench_at(&b, TURN);
    bench_type(&b, "help");
    bench_told(&b, "redo STEP WHY  do a step anew that was done, and what stands on it");
    bench_close(&b);
    bench_at(&b, CAPS);
    bench_good_pull(&b);
    bench_type(&b, "back");
    bench_told(&b, "To do a step anew: redo STEP WHY");
    bench_close(&b);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_what_stands_on_it),
    cmocka_unit_test(test_only_when_typed_twice),
    cmocka_unit_test(test_a_step_in_hand),
    cmocka_unit_test(test_not_while_something_is_open),
    cmocka_unit_test(test_what_goes_on),
    cmocka_unit_test(test_cycles_count_on),
    cmocka_unit_test(test_used_once),
    cmocka_unit_test(test_a_question),
    cmocka_unit_test(test_found_from_the_screen),
};

KIT_MAIN(tests)
