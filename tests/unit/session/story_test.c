/* story_test.c - a build from one end to the other, and what stands in its record. */
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

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_whole_build),
        cmocka_unit_test(test_order_of_the_group),
        cmocka_unit_test(test_what_a_pull_leaves_in_the_record),
        cmocka_unit_test(test_what_a_wrench_leaves_in_the_record),
        cmocka_unit_test(test_a_wrench_brings_its_card),
        cmocka_unit_test(test_another_device_is_told),
        cmocka_unit_test(test_time_and_rehearsal),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
