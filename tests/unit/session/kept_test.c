/* kept_test.c - what is kept beside the steps, and what comes after a build is closed. */
#include "cmocka_all.h"

#include "bench.h"

#include <string.h>

static void has_whole(const bw_entry *e, bw_member member, int64_t value) {
    assert_int_equal(bw_entry_whole(e, member, -1), value);
}

static void has_none(const bw_entry *e, bw_member member) {
    assert_int_equal(e->value[member].type, BW_VALUE_NONE);
}

static void test_a_part_with_what_is_known_of_it(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_type(&b, "part head bolts,batch  HB-204 , quantity 10, serial 77 31, bought new");
    bench_recorded(&b, "part_fitted");
    bench_has_text(bench_last(&b, 0), BW_M_PART, "head bolts");
    bench_has_text(bench_last(&b, 0), BW_M_STEP, "caps");
    bench_has_text(bench_last(&b, 0), BW_M_BATCH, "HB-204");
    bench_has_text(bench_last(&b, 0), BW_M_SERIAL_NUMBER, "77 31");
    bench_has_text(bench_last(&b, 0), BW_M_TEXT, "bought new");
    has_whole(bench_last(&b, 0), BW_M_QUANTITY, 10);
    bench_type(&b, "part gasket");
    bench_has_text(bench_last(&b, 0), BW_M_PART, "gasket");
    has_none(bench_last(&b, 0), BW_M_BATCH);
    static const char *const wrong[] = {"part",
                                        "part , batch 7",
                                        "part bolt, quantity 0",
                                        "part bolt, quantity ten",
                                        "part bolt, quantity 1000000",
                                        "part bolt,"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        bench_type(&b, wrong[i]);
        bench_recorded(&b, "");
        bench_told(&b, "part head bolts, batch HB-204");
    }
    bench_asks(&b, "1 right", 1);
    bench_close(&b);
}

static void test_a_file_by_its_hash(void **state) {
    (void)state;
    static const char hash[] = "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08";
    bench b;
    bench_at(&b, CAPS);
    bench_send(&b, (bw_event){.kind = BW_EVENT_ANSWER,
                              .text = "file photos/caps.jpg, the caps and their marks",
                              .file_name = "caps.jpg",
                              .file_sha256 = hash});
    bench_recorded(&b, "file_attached");
    bench_has_text(bench_last(&b, 0), BW_M_FILE, "caps.jpg");
    bench_has_text(bench_last(&b, 0), BW_M_SHA256, hash);
    bench_has_text(bench_last(&b, 0), BW_M_TEXT, "the caps and their marks");
    bench_send(&b, (bw_event){.kind = BW_EVENT_ANSWER,
                              .text = "file nowhere.jpg",
                              .file_fault = "nowhere.jpg cannot be read"});
    bench_recorded(&b, "");
    bench_told(&b, "nowhere.jpg cannot be read. Write");
    bench_close(&b);
}

static void test_a_checkpoint_and_on(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_type(&b, "checkpoint the customer looks in");
    bench_recorded(&b, "checkpoint_asked");
    bench_has_text(bench_last(&b, 0), BW_M_REASON, "the customer looks in");
    assert_true(b.actions->sign && !b.actions->pause && !b.actions->closed);
    bench_type(&b, "note and on");
    assert_false(b.actions->sign);
    bench_close(&b);
}

static void test_a_reading_and_its_temperature(void **state) {
    (void)state;
    static const struct {
        const char *typed;
        double degC;
    } rows[] = {{"50.050 at 31 C", 31}, {"50.051 at 20", 20}, {"50.052 mm at 68 °F", 20}};
    bench b;
    bench_at(&b, BEARINGS);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bench_type(&b, rows[i].typed);
        const bw_entry *e = bench_last(&b, 0);
        assert_int_equal(e->kind, BW_KIND_READING);
        bench_has_text(e, BW_M_TYPED, rows[i].typed);
        assert_true(bw_entry_number(e, BW_M_TEMPERATURE_DEGC, 0) - rows[i].degC < 1e-9);
        assert_true(rows[i].degC - bw_entry_number(e, BW_M_TEMPERATURE_DEGC, 0) < 1e-9);
        bench_type(&b, "back");
        bench_told(&b, "the old one, 50.05");
    }
    static const char *const wrong[] = {"50.050 at", "50.050 at noon", "50.050 at 900 C",
                                        "at 20 C"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        bench_type(&b, wrong[i]);
        bench_recorded(&b, "");
        assert_int_equal(b.actions->tone, BW_TONE_BAD);
    }
    bench_type(&b, "50.050");
    has_none(bench_last(&b, 0), BW_M_TEMPERATURE_DEGC);
    bench_close(&b);
}

/* ---- after the end ---- */

static void to_closed(bench *b) {
    bench_at(b, HOT);
    bench_work(b, STEPS);
    bench_type(b, "close");
    assert_int_equal(bench_state(b), BW_STATE_CLOSED);
}

static void reopen(bench *b) {
    bench_send(b, (bw_event){.kind = BW_EVENT_OPEN,
                             .text = "A. Lund",
                             .program = "p",
                             .reopen = true,
                             .second = "C. Berg",
                             .why = "leaks at the rear"});
}

static void test_a_closed_build_opened_again(void **state) {
    (void)state;
    bench b;
    bw_tally tally;
    to_closed(&b);
    uint64_t closed = bench_last(&b, 0)->number;
    bench_type(&b, "redo caps leaks");
    bench_recorded(&b, "");
    bench_person(&b, "A. Lund");
    bench_recorded(&b, "");
    assert_true(b.actions->closed);
    reopen(&b);
    bench_recorded(&b, "build_reopened resumed");
    const bw_entry *e = bench_last(&b, 1);
    has_whole(e, BW_M_OF, (int64_t)closed);
    bench_has_text(e, BW_M_REASON, "leaks at the rear");
    bench_has_text(e, BW_M_SECOND, "C. Berg");
    assert_int_equal(bench_state(&b), BW_STATE_CLOSE);
    bw_session_tally(b.session, &tally);
    assert_string_equal(tally.outcome, "paused");
    bench_type(&b, "close");
    bench_recorded(&b, "build_closed");
    bench_close(&b);
}

static void test_steps_done_anew(void **state) {
    (void)state;
    bench b;
    bw_tally tally;
    to_closed(&b);
    reopen(&b);
    uint64_t reopened = bench_last(&b, 1)->number;
    static const char *const wrong[] = {"redo", "redo caps", "redo nowhere because", "redo 0 why",
                                        "redo 99 why"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        bench_type(&b, wrong[i]);
        bench_recorded(&b, "");
        bench_told(&b, "by its number or id");
    }
    bench_type(&b, "redo caps bolts stretched");
    bench_recorded(&b, "");
    bench_type(&b, "redo caps bolts stretched");
    bench_recorded(&b, "step_redone");
    bench_has_text(bench_last(&b, 0), BW_M_STEP, "caps");
    has_whole(bench_last(&b, 0), BW_M_OF, (int64_t)reopened);
    bench_event(&b, BW_EVENT_TOOL_ON);
    bench_asks(&b, "1 right", 1);
    assert_int_equal(bench_prompt(&b).progress[0].attempt, 2);
    bw_session_tally(b.session, &tally);
    assert_int_equal(tally.accepted, tally.fasteners - 8 - 4);
    bench_type(&b, "redo 4 bores measured again"); /* nothing that stands on it is done any more */
    bench_recorded(&b, "step_redone");
    bench_at_step(&b, BEARINGS);
    assert_int_equal(bench_state(&b), BW_STATE_READING);
    bench_type(&b, "redo bearings twice"); /* it is open */
    bench_recorded(&b, "");
    bench_type(&b, "redo hot oven again");
    bench_told(&b, "This opens again step 1 (hot), and what stands on it: 3 (clean). To do so");
    bench_type(&b, "redo hot oven again");
    bench_at_step(&b, HOT);
    bench_killed(&b);
    bench_at_step(&b, HOT);
    bench_event(&b, BW_EVENT_TOOL_ON);
    bench_work(&b, STEPS);
    bw_session_tally(b.session, &tally);
    assert_int_equal(tally.accepted, tally.fasteners);
    assert_int_equal(bw_session_misfits(b.session), 0);
    bench_type(&b, "close");
    assert_int_equal(bench_state(&b), BW_STATE_CLOSED);
    bench_close(&b);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_part_with_what_is_known_of_it),
        cmocka_unit_test(test_a_file_by_its_hash),
        cmocka_unit_test(test_a_checkpoint_and_on),
        cmocka_unit_test(test_a_reading_and_its_temperature),
        cmocka_unit_test(test_a_closed_build_opened_again),
        cmocka_unit_test(test_steps_done_anew),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
