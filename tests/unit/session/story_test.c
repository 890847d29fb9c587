/* story_test.c - pulls: what is asked, what is judged, what is decided, what was the wrong one; one
 * story a test. */
#include "cmocka_all.h"

#include "bench.h"

#include <string.h>

/* ---- from one end to the other ---- */

static void test_a_whole_build(void **state) {
    (void)state;
    bench b;
    bench_open(&b);
    bw_prompt p = bench_prompt(&b);
    assert_int_equal(p.state, BW_STATE_NEW);
    assert_null(p.step);
    bench_person(&b, "A. Lund");
    const bw_entry *adopted = &b.entry[1];
    bench_has_text(adopted, BW_M_FILE, "plover2.lua");
    bench_has_text(adopted, BW_M_TEXT, "-- the sequence\n");
    bench_has_text(adopted, BW_M_DOCUMENT, "Harbour pilot service, manual 7, revision C");
    assert_true(bw_entry_flag(adopted, BW_M_INVENTED, false));
    bench_has_text(&b.entry[2], BW_M_FILE, "lib/caps.lua");
    for (size_t i = 0; i < b.entry_n; i++) {
        assert_string_equal(b.entry[i].by, "A. Lund");
        assert_string_equal(b.entry[i].build, "P2-17");
        assert_string_equal(b.entry[i].bench, "slip 3");
        assert_false(b.entry[i].rehearsal);
    }
    bench_work(&b, STEPS);
    p = bench_prompt(&b);
    assert_null(p.step);
    assert_int_equal(p.steps_done, STEPS);
    bench_type(&b, "close");
    assert_true(b.actions->closed);
    bench_has_text(bench_last(&b, 0), BW_M_OUTCOME, "complete");
    bw_tally tally;
    bw_session_tally(b.session, &tally);
    assert_int_equal(tally.fasteners, 4 * 2 + 2 * 2);
    assert_int_equal(tally.accepted, 12);
    assert_int_equal(tally.overridden, 0);
    assert_int_equal(tally.pulls, 12);
    assert_int_equal(tally.measurements, 4);
    assert_string_equal(tally.outcome, "complete");
    p = bench_prompt(&b);
    assert_int_equal(p.state, BW_STATE_CLOSED);
    assert_null(p.step);
    bench_close(&b);
}

/* Stage by stage over the group, in its order. */
static void test_order_of_the_group(void **state) {
    (void)state;
    static const char *const order[] = {"1 right", "2 left", "1 left", "2 right"};
    bench b;
    bench_at(&b, CAPS);
    for (size_t stage = 1; stage <= 2; stage++) {
        for (size_t i = 0; i < 4; i++) {
            bench_asks(&b, order[i], stage);
            assert_int_equal(bench_prompt(&b).turn_of, i);
            bw_standing standing = bw_session_standing(b.session);
            assert_true(standing.torque_Nm == (stage == 1 ? 0.0 : 30.0));
            assert_int_equal(standing.pulls, 0);
            bench_good_pull(&b);
        }
    }
    bench_at_step(&b, RODS);
    bench_close(&b);
}

static void test_what_a_pull_leaves_in_the_record(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_begin(&b);
    bench_recorded(&b, "pull_begun");
    bench_has_text(bench_last(&b, 0), BW_M_LABEL, "1 right");
    bw_verdict v = {.outcome = BW_VERDICT_PASS,
                    .reasons = BW_REASON_SPIKE,
                    .peak_Nm = 30.25,
                    .pull_peak_Nm = 30.125,
                    .has_turn = true,
                    .turn_deg = 41.5,
                    .pull_turn_deg = 12.5,
                    .snug_reached = true,
                    .pulls = 2};
    bench_end(&b, &v, true);
    bench_recorded(&b, "pull verdict");
    const bw_entry *pull = bench_last(&b, 1);
    assert_true(bw_entry_flag(pull, BW_M_ASKED, false));
    assert_true(bw_entry_flag(pull, BW_M_COMPLETE, false));
    assert_true(bw_entry_number(pull, BW_M_PEAK_NM, 0) == 30.125);
    assert_true(bw_entry_number(pull, BW_M_TURN_DEG, 0) == 12.5);
    assert_int_equal(bw_entry_whole(pull, BW_M_SAMPLES, 0), 321);
    assert_int_equal(bw_entry_whole(pull, BW_M_FASTENER, 0), 2);
    const bw_entry *verdict = bench_last(&b, 0);
    assert_int_equal(bw_entry_whole(verdict, BW_M_OF, 0), pull->number);
    bench_has_text(verdict, BW_M_VERDICT, "pass");
    bench_has_text(verdict, BW_M_REASONS, "spike");
    bench_has_text(verdict, BW_M_LUBRICANT, "engine oil");
    bench_has_text(verdict, BW_M_RULE, "simple");
    bench_has_text(verdict, BW_M_TOOL, "wrench 200");
    assert_true(bw_entry_number(verdict, BW_M_PEAK_NM, 0) == 30.25);
    assert_true(bw_entry_number(verdict, BW_M_FINAL_DEG, 0) == 41.5);
    assert_true(bw_entry_number(verdict, BW_M_LOW_NM, 0) == 28);
    assert_true(bw_entry_number(verdict, BW_M_HIGH_NM, 0) == 32);
    assert_int_equal(verdict->value[BW_M_LOW_DEG].type, BW_VALUE_NONE);
    assert_int_equal(bw_entry_whole(verdict, BW_M_PULLS, 0), 2);
    assert_true(bw_entry_flag(verdict, BW_M_SNUG, false));
    bench_told(&b, "pass, 30.3"); /* no turn where none is asked for */
    assert_null(strstr(bench_said(&b), "after"));
    bench_work(&b, TURN);
    verdict = bench_last(&b, 0);
    assert_true(bw_entry_number(verdict, BW_M_LOW_DEG, 0) == 86);
    assert_true(bw_entry_number(verdict, BW_M_HIGH_DEG, 0) == 94);
    assert_int_equal(verdict->value[BW_M_LOW_NM].type, BW_VALUE_NONE);
    assert_int_equal(verdict->value[BW_M_SNUG].type, BW_VALUE_NONE);
    bench_close(&b);
}

/* Which wrench, and how it is spoken to. */
static void test_what_a_wrench_leaves_in_the_record(void **state) {
    (void)state;
    bench b;
    bench_open(&b);
    bench_person(&b, "A. Lund");
    bench_event(&b, BW_EVENT_TOOL_ON);
    const bw_entry *e = bench_last(&b, 0);
    bench_has_text(e, BW_M_TOOL, "wrench 200");
    bench_has_text(e, BW_M_PORT, "/dev/ttyUSB0");
    bench_has_text(e, BW_M_DRIVER, "line 1");
    bench_has_text(e, BW_M_SETTINGS, "baud=115200");
    static const char *const none[] = {NULL, ""};
    for (size_t i = 0; i < 2; i++) {
        bench_send(&b, (bw_event){.kind = BW_EVENT_TOOL_ON,
                                  .tool = "wrench 60",
                                  .port = "sim",
                                  .driver = "line 1",
                                  .settings = none[i]});
        assert_int_equal(bench_last(&b, 0)->value[BW_M_SETTINGS].type, BW_VALUE_NONE);
    }
    bench_event(&b, BW_EVENT_CLOCK_STEP);
    assert_true(bw_entry_number(bench_last(&b, 0), BW_M_BY_S, 0) == -3600);
    bench_close(&b);
}

static void tool_on(bench *b, const char *tool, const char *port, bw_tool_card card) {
    bench_send(b, (bw_event){.kind = BW_EVENT_TOOL_ON,
                             .tool = tool,
                             .port = port,
                             .driver = "line 1",
                             .tool_card = card});
}

/* Which calibration stood behind it, and who it is; what is not known is left out. */
static void test_a_wrench_brings_its_card(void **state) {
    (void)state;
    bench b;
    bench_open(&b);
    bench_person(&b, "A. Lund");
    tool_on(&b, "w2", "usb:A9047",
            (bw_tool_card){.serial_number = "17-4",
                           .calibrated = "2026-01-02",
                           .calibration_due = "2027-01-02",
                           .certificate = "C-7",
                           .device_serial = "A9047",
                           .unchecked = true});
    const bw_entry *e = bench_last(&b, 0);
    bench_has_text(e, BW_M_SERIAL_NUMBER, "17-4");
    bench_has_text(e, BW_M_CALIBRATED, "2026-01-02");
    bench_has_text(e, BW_M_CALIBRATION_DUE, "2027-01-02");
    bench_has_text(e, BW_M_CERTIFICATE, "C-7");
    bench_has_text(e, BW_M_DEVICE_SERIAL, "A9047");
    assert_true(bw_entry_flag(e, BW_M_UNCHECKED, false));
    tool_on(&b, "w2", "usb:A9047", (bw_tool_card){.serial_number = ""});
    e = bench_last(&b, 0);
    static const bw_member members[] = {BW_M_SERIAL_NUMBER, BW_M_CALIBRATED, BW_M_CALIBRATION_DUE,
                                        BW_M_CERTIFICATE,   BW_M_UNCHECKED,  BW_M_DEVICE_SERIAL};
    for (size_t i = 0; i < sizeof members / sizeof members[0]; i++) {
        assert_int_equal(e->value[members[i]].type, BW_VALUE_NONE);
    }
    bench_close(&b);
}

/* A name is no wrench: another device under the old name, the same one under a new name. */
static void test_another_device_is_told(void **state) {
    (void)state;
    static const char a[] = "A9047";
    static const struct {
        const char *tool, *port, *serial, *told;
    } rows[] = {
        {"w2", "/dev/ttyUSB0", a, ""},
        {"w2", "/dev/ttyUSB0", a, ""},
        {"w2", "/dev/ttyUSB1", a, "is the one that was on /dev/ttyUSB0 before"},
        {"w2", "/dev/ttyUSB1", "B1", "serial number B1, it was A9047"},
        {"w3", "/dev/ttyUSB1", a, ""}, /* another name: somebody says so */
        {"w3", "/dev/ttyUSB1", NULL, ""},
        {"w3", "/dev/ttyUSB1", "B1", ""}, /* nobody knows who it was */
    };
    bench b;
    bench_open(&b);
    bench_person(&b, "A. Lund");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bench_event(&b, BW_EVENT_PAUSE);
        bench_person(&b, "A. Lund");
        tool_on(&b, rows[i].tool, rows[i].port, (bw_tool_card){.device_serial = rows[i].serial});
        if (rows[i].told[0] == '\0') {
            assert_string_equal(bench_said(&b), "");
        } else {
            bench_told(&b, rows[i].told);
        }
    }
    bench_close(&b);
}

/* Each entry bears the time of its event, and the mark of a rehearsal where it is one. */
static void test_time_and_rehearsal(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CLEAN);
    for (size_t i = 1; i < b.entry_n; i++) {
        assert_true(b.entry[i].time_ms >= b.entry[i - 1].time_ms);
        assert_true(b.entry[i].time_ms >= 1764000000000);
    }
    assert_true(b.entry[b.entry_n - 1].time_ms > b.entry[0].time_ms);
    bw_session_identity identity = {.build = "P2-17", .bench = "slip 3", .rehearsal = true};
    b.session = bw_session_new(bench_plan(), &identity, b.arena);
    b.entry_n = 0;
    bench_person(&b, "A. Lund");
    bench_work(&b, STEPS);
    for (size_t i = 0; i < b.entry_n; i++) {
        assert_true(b.entry[i].rehearsal);
    }
    bench_close(&b);
}

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

/* ---- the wrong fastener ---- */

static void test_wrong_fastener(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_good_pull(&b); /* asked for 1 right */
    uint64_t verdict = bench_last(&b, 0)->number;
    bench_type(&b, "wrong 2 right");
    bench_recorded(&b, "correction");
    assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_CORRECTS, 0), verdict);
    bench_has_text(bench_last(&b, 0), BW_M_LABEL, "2 right");
    assert_string_equal(bench_said(&b),
                        "Corrected: place 4 (2 right) has this stage now, out of order; "
                        "place 2 (1 right) is asked for again.");
    assert_int_equal(b.actions->tone, BW_TONE_BAD);
    bw_prompt p = bench_prompt(&b);
    assert_int_equal(p.progress[1].stages_done, 0);
    assert_int_equal(p.progress[3].stages_done, 1);
    assert_false(p.progress[3].overridden);
    bench_asks(&b, "1 right", 1);
    /* 2 right has its stage: the round goes past it, and its next one begins from its torque. */
    bench_good_pull(&b);
    bench_good_pull(&b);
    bench_good_pull(&b);
    bench_asks(&b, "1 right", 2);
    for (int i = 0; i < 3; i++) {
        bench_good_pull(&b);
    }
    bench_asks(&b, "2 right", 2);
    assert_true(bw_session_standing(b.session).torque_Nm == 30);
    bench_close(&b);
}

/* That one had its stage already: it was tightened twice; the one asked for is still open. */
static void test_wrong_fastener_twice(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_good_pull(&b);
    bench_good_pull(&b);
    bench_asks(&b, "1 left", 1);
    bench_type(&b, "wrong 2"); /* by number: 1 right, which has had its stage */
    bench_told(&b, "was tightened twice");
    bench_asks(&b, "2 left", 1);
    bench_type(&b, "wrong 1 left");
    bench_recorded(&b, "");
    bench_told(&b, "none can have been wrong");
    bench_close(&b);
}

static void test_wrong_needs_another_fastener(void **state) {
    (void)state;
    static const char *const lines[] = {"wrong", "wrong 1 right", "wrong 9", "wrong 3 left"};
    bench b;
    bench_at(&b, CAPS);
    bench_good_pull(&b);
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        bench_type(&b, lines[i]);
        bench_recorded(&b, "");
        bench_told(&b, "which fastener it was instead");
    }
    bench_close(&b);
}

/* The last of a group, too: the next step's prompt stands there already. */
static void test_wrong_at_the_end_of_a_group(void **state) {
    (void)state;
    bench b;
    bench_at(&b, RODS);
    bench_type(&b, "wrong 1 left");
    bench_recorded(&b, "correction");
    bench_has_text(bench_last(&b, 0), BW_M_STEP, "caps");
    bench_asks(&b, "2 right", 2);
    bench_good_pull(&b);
    bench_at_step(&b, RODS);
    /* But not once work went on. */
    bench_close(&b);
    bench_at(&b, STEPS);
    bench_type(&b, "wrong 1");
    bench_recorded(&b, "");
    bench_told(&b, "none can have been wrong");
    bench_close(&b);
}

/* Tight already: the pull before was on this one. */
static void test_wrong_found_by_the_next_pull(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_good_pull(&b); /* asked for 1 right, pulled 2 left */
    bench_pull(&b, 30, 0);
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_type(&b, "wrong 2 left");
    bench_recorded(&b, "correction");
    bench_type(&b, "repeat");
    bench_asks(&b, "1 right", 1);
    bw_prompt p = bench_prompt(&b);
    assert_int_equal(p.progress[2].stages_done, 1);
    bench_close(&b);
}

/* After an override the last acceptance is a decision: the pull before it is not meant. */
static void test_wrong_after_an_override(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_good_pull(&b);
    bench_pull(&b, 33, 30);
    bench_type(&b, "override");
    bench_type(&b, "B. Ek");
    bench_type(&b, "bulletin 12");
    bench_type(&b, "wrong 2 right");
    bench_recorded(&b, "");
    bench_close(&b);
}

/* Nor after the one that it may have been was loosened. */
static void test_wrong_after_loosening(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_good_pull(&b);
    bench_pull(&b, 40, 30);
    bench_type(&b, "loosen");
    bench_type(&b, "wrong 2 left");
    bench_recorded(&b, "");
    bench_asks(&b, "2 left", 1);
    bench_close(&b);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_whole_build),
        cmocka_unit_test(test_order_of_the_group),
        cmocka_unit_test(test_what_a_pull_leaves_in_the_record),
        cmocka_unit_test(test_what_a_wrench_leaves_in_the_record),
        cmocka_unit_test(test_a_wrench_brings_its_card),
        cmocka_unit_test(test_another_device_is_told),
        cmocka_unit_test(test_time_and_rehearsal),
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
        cmocka_unit_test(test_wrong_fastener),
        cmocka_unit_test(test_wrong_fastener_twice),
        cmocka_unit_test(test_wrong_needs_another_fastener),
        cmocka_unit_test(test_wrong_at_the_end_of_a_group),
        cmocka_unit_test(test_wrong_found_by_the_next_pull),
        cmocka_unit_test(test_wrong_after_an_override),
        cmocka_unit_test(test_wrong_after_loosening),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
