/* story_test.c - what a builder goes through, one story a test. */
#include "cmocka_all.h"

#include "bench.h"

#include <math.h>
#include <string.h>

/* The fastener that is asked for, by its label, and the stage from 1. */
static void asks(const bench *b, const char *label, size_t stage) {
    bw_prompt p = bench_prompt(b);
    assert_int_equal(p.state, BW_STATE_PULL);
    assert_string_equal(p.group->place[p.place].label, label);
    assert_int_equal(p.stage_index + 1, stage);
    assert_ptr_equal(bw_session_stage(b->session), &p.stage->stage);
}

static void recorded(const bench *b, const char *kinds) {
    assert_string_equal(bench_kinds(b), kinds);
}

static void said(const bench *b, const char *part) {
    if (strstr(bench_said(b), part) == NULL) {
        fail_msg("`%s` is not in: %s", part, bench_said(b));
    }
}

static void has_text(const bw_entry *e, bw_member member, const char *text) {
    assert_string_equal(bw_entry_text(e, member, "(none)"), text);
}

static void options_are(const bench *b, const char *expected) {
    bw_prompt p = bench_prompt(b);
    char words[200] = "";
    for (size_t i = 0; i < p.option_n; i++) {
        strcat(words, i > 0 ? " " : "");
        strcat(words, p.option[i].word);
    }
    assert_string_equal(words, expected);
}

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
    has_text(adopted, BW_M_FILE, "plover2.lua");
    has_text(adopted, BW_M_TEXT, "-- the sequence\n");
    has_text(adopted, BW_M_DOCUMENT, "Harbour pilot service, manual 7, revision C");
    assert_true(bw_entry_flag(adopted, BW_M_INVENTED, false));
    has_text(&b.entry[2], BW_M_FILE, "lib/caps.lua");
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
    has_text(bench_last(&b, 0), BW_M_OUTCOME, "complete");
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
            asks(&b, order[i], stage);
            assert_int_equal(bench_prompt(&b).turn_of, i);
            bw_standing standing = bw_session_standing(b.session);
            assert_true(standing.torque_Nm == (stage == 1 ? 0.0 : 30.0));
            assert_int_equal(standing.pulls, 0);
            bench_good_pull(&b);
        }
    }
    assert_ptr_equal(bench_prompt(&b).step, &bench_plan()->step[RODS]);
    bench_close(&b);
}

static void test_what_a_pull_leaves_in_the_record(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_begin(&b);
    recorded(&b, "pull_begun");
    has_text(bench_last(&b, 0), BW_M_LABEL, "1 right");
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
    recorded(&b, "pull verdict");
    const bw_entry *pull = bench_last(&b, 1);
    assert_true(bw_entry_flag(pull, BW_M_ASKED, false));
    assert_true(bw_entry_flag(pull, BW_M_COMPLETE, false));
    assert_true(bw_entry_number(pull, BW_M_PEAK_NM, 0) == 30.125);
    assert_true(bw_entry_number(pull, BW_M_TURN_DEG, 0) == 12.5);
    assert_int_equal(bw_entry_whole(pull, BW_M_SAMPLES, 0), 321);
    assert_int_equal(bw_entry_whole(pull, BW_M_FASTENER, 0), 2);
    const bw_entry *verdict = bench_last(&b, 0);
    assert_int_equal(bw_entry_whole(verdict, BW_M_OF, 0), pull->number);
    has_text(verdict, BW_M_VERDICT, "pass");
    has_text(verdict, BW_M_REASONS, "spike");
    has_text(verdict, BW_M_LUBRICANT, "engine oil");
    has_text(verdict, BW_M_RULE, "simple");
    assert_true(bw_entry_number(verdict, BW_M_PEAK_NM, 0) == 30.25);
    assert_true(bw_entry_number(verdict, BW_M_FINAL_DEG, 0) == 41.5);
    assert_true(bw_entry_number(verdict, BW_M_LOW_NM, 0) == 28);
    assert_true(bw_entry_number(verdict, BW_M_HIGH_NM, 0) == 32);
    assert_int_equal(verdict->value[BW_M_LOW_DEG].type, BW_VALUE_NONE);
    assert_int_equal(bw_entry_whole(verdict, BW_M_PULLS, 0), 2);
    assert_true(bw_entry_flag(verdict, BW_M_SNUG, false));
    said(&b, "pass, 30.3"); /* no turn where none is asked for */
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
    has_text(e, BW_M_TOOL, "wrench 200");
    has_text(e, BW_M_PORT, "/dev/ttyUSB0");
    has_text(e, BW_M_DRIVER, "line 1");
    has_text(e, BW_M_SETTINGS, "baud=115200");
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
    said(&b, "It reached 22.5");
    said(&b, "at least 28 N·m");
    said(&b, "pull again");
    assert_int_equal(b.actions->tone, BW_TONE_BAD);
    asks(&b, "1 right", 1);
    bw_standing standing = bw_session_standing(b.session);
    assert_int_equal(standing.pulls, 1);
    assert_true(standing.peak_Nm == 22.5 && standing.turn_deg == 12 && standing.turn_known);
    bench_pull(&b, 30.5, 3);
    said(&b, "pass, 30.5");
    assert_int_equal(b.actions->tone, BW_TONE_GOOD);
    has_text(bench_last(&b, 0), BW_M_VERDICT, "pass");
    assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_PULLS, 0), 2);
    asks(&b, "2 left", 1);
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
    asks(&b, "2 left", 2);
    bench_pull(&b, 66, 30);
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    said(&b, "too high. It went to 66.0");
    options_are(&b, "loosen replace override");
    bench_type(&b, "loosen");
    recorded(&b, "decision");
    has_text(bench_last(&b, 0), BW_M_DECISION, "loosen");
    assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_OF, 0), bench_last(&b, 1)->number);
    said(&b, "Loosen it fully");
    asks(&b, "2 left", 1);
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
    asks(&b, "2 left", 2);
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
    has_text(bench_last(&b, 0), BW_M_DECISION, "replace");
    asks(&b, "1 right", 1);
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
    recorded(&b, "");
    static const char *const the_same[] = {"A. Lund", "a. lund", "A.Lund", "a lund", "ALund"};
    for (size_t i = 0; i < sizeof the_same / sizeof the_same[0]; i++) {
        bench_type(&b, the_same[i]);
        said(&b, "That is you");
        assert_int_equal(bench_state(&b), BW_STATE_SECOND_PERSON);
    }
    bench_type(&b, "");
    said(&b, "name or initials");
    bench_type(&b, "B. Lund");
    assert_int_equal(bench_state(&b), BW_STATE_REASON);
    bench_type(&b, "");
    said(&b, "A reason is needed");
    recorded(&b, "");
    bench_type(&b, "within the maker's bulletin 12");
    recorded(&b, "decision");
    const bw_entry *e = bench_last(&b, 0);
    has_text(e, BW_M_DECISION, "override");
    has_text(e, BW_M_SECOND, "B. Lund");
    has_text(e, BW_M_REASON, "within the maker's bulletin 12");
    has_text(e, BW_M_LABEL, "1 right");
    assert_string_equal(e->by, "A. Lund");
    bw_prompt p = bench_prompt(&b);
    assert_int_equal(p.progress[1].stages_done, 1);
    assert_true(p.progress[1].overridden);
    asks(&b, "2 left", 1);
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
    has_text(bench_last(&b, 0), BW_M_SECOND, "B. Ek");
    bench_close(&b);
}

static void test_no_turn_then_the_right_one(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_good_pull(&b);
    asks(&b, "2 left", 1);
    bench_pull(&b, 30, 0.5);
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    said(&b, "it did not turn");
    options_are(&b, "loosen replace repeat override");
    bench_type(&b, "repeat");
    asks(&b, "2 left", 1);
    bw_prompt p = bench_prompt(&b);
    assert_int_equal(p.attempt, 1);
    assert_int_equal(p.standing.pulls, 0);
    bench_good_pull(&b);
    asks(&b, "1 left", 1);
    bench_close(&b);
}

static void test_angle_over_several_pulls(void **state) {
    (void)state;
    bench b;
    bench_at(&b, RODS);
    bench_good_pull(&b);
    bench_good_pull(&b);
    asks(&b, "1", 2);
    bench_pull(&b, 40, 50);
    said(&b, "50° done, 40° to go");
    bench_pull(&b, 50, 39);
    said(&b, "pass, 50.0");
    said(&b, "after 89°");
    asks(&b, "2", 2);
    bench_close(&b);
}

/* A wrench that reports a peak only: what it can't tell is no reason to hide what it can. */
static void test_low_result_is_said_to_be_low(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bw_standing standing = bw_session_standing(b.session);
    bw_verdict v = bw_judge_result(bw_session_stage(b.session), &standing, 20, false, 0);
    bench_begin(&b);
    bench_end(&b, &v, true);
    said(&b, "too low. It reached 20.0");
    bench_close(&b);
}

static void test_no_angle_is_said(void **state) {
    (void)state;
    bench b;
    bench_at(&b, RODS);
    bench_good_pull(&b);
    bench_good_pull(&b);
    bw_standing standing = bw_session_standing(b.session);
    bw_verdict v = bw_judge_result(bw_session_stage(b.session), &standing, 50, false, 0);
    bench_begin(&b);
    bench_end(&b, &v, true);
    said(&b, "the wrench gave no angle, which this stage needs.");
    options_are(&b, "loosen replace override");
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
    said(&b, "It reached 27.99");
    bench_pull(&b, 32.02, 30);
    said(&b, "It went to 32.02");
    bench_close(&b);
    bench_at(&b, RODS);
    bench_good_pull(&b);
    bench_good_pull(&b);
    bench_pull(&b, 60, 94.2);
    said(&b, "through 94.2°; the most allowed is 94");
    bench_close(&b);
    bench_at(&b, BEARINGS);
    bench_type(&b, "50.0804");
    bench_type(&b, "50.0804");
    bench_type(&b, "50.000");
    bench_type(&b, "50.000");
    said(&b, "oil clearance 0.0804 mm is outside");
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
    recorded(&b, "correction");
    assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_CORRECTS, 0), verdict);
    has_text(bench_last(&b, 0), BW_M_LABEL, "2 right");
    assert_string_equal(bench_said(&b),
                        "Corrected: place 4 (2 right) has this stage now, out of order; "
                        "place 2 (1 right) is asked for again.");
    assert_int_equal(b.actions->tone, BW_TONE_BAD);
    bw_prompt p = bench_prompt(&b);
    assert_int_equal(p.progress[1].stages_done, 0);
    assert_int_equal(p.progress[3].stages_done, 1);
    assert_false(p.progress[3].overridden);
    asks(&b, "1 right", 1);
    /* 2 right has its stage: the round goes past it, and its next one begins from its torque. */
    bench_good_pull(&b);
    bench_good_pull(&b);
    bench_good_pull(&b);
    asks(&b, "1 right", 2);
    for (int i = 0; i < 3; i++) {
        bench_good_pull(&b);
    }
    asks(&b, "2 right", 2);
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
    asks(&b, "1 left", 1);
    bench_type(&b, "wrong 2"); /* by number: 1 right, which has had its stage */
    said(&b, "was tightened twice");
    asks(&b, "2 left", 1);
    bench_type(&b, "wrong 1 left");
    recorded(&b, "");
    said(&b, "none can have been wrong");
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
        recorded(&b, "");
        said(&b, "which fastener it was instead");
    }
    bench_close(&b);
}

/* The last of a group, too: the next step's prompt stands there already. */
static void test_wrong_at_the_end_of_a_group(void **state) {
    (void)state;
    bench b;
    bench_at(&b, RODS);
    bench_type(&b, "wrong 1 left");
    recorded(&b, "correction");
    has_text(bench_last(&b, 0), BW_M_STEP, "caps");
    asks(&b, "2 right", 2);
    bench_good_pull(&b);
    assert_ptr_equal(bench_prompt(&b).step, &bench_plan()->step[RODS]);
    /* But not once work went on. */
    bench_close(&b);
    bench_at(&b, STEPS);
    bench_type(&b, "wrong 1");
    recorded(&b, "");
    said(&b, "none can have been wrong");
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
    recorded(&b, "correction");
    bench_type(&b, "repeat");
    asks(&b, "1 right", 1);
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
    recorded(&b, "");
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
    recorded(&b, "");
    asks(&b, "2 left", 1);
    bench_close(&b);
}

/* ---- readings and values ---- */

static void test_readings_in_their_order(void **state) {
    (void)state;
    static const struct {
        const char *set, *at, *typed;
    } rows[] = {{"bore", "front", "50.050"},
                {"bore", "rear", "50.051"},
                {"journal", "front", "50,001"},
                {"journal", "rear", "1.96854 in"}};
    bench b;
    bench_at(&b, BEARINGS);
    for (size_t i = 0; i < 4; i++) {
        bw_prompt p = bench_prompt(&b);
        assert_string_equal(p.set->id, rows[i].set);
        assert_string_equal(p.set->at[p.at], rows[i].at);
        assert_int_equal(p.reading_number, i + 1);
        assert_int_equal(p.reading_n, 4);
        bench_type(&b, rows[i].typed);
        const bw_entry *e = &b.entry[b.entry_n - b.actions->entry_n];
        has_text(e, BW_M_SET, rows[i].set);
        has_text(e, BW_M_AT, rows[i].at);
        has_text(e, BW_M_TYPED, rows[i].typed);
        has_text(e, BW_M_GAUGE, "bore gauge");
        has_text(e, BW_M_UNIT, i < 3 ? "mm" : "in");
    }
    recorded(&b, "reading derived derived derived");
    const bw_entry *clearance = bench_last(&b, 2);
    has_text(clearance, BW_M_DERIVED, "clearance");
    has_text(clearance, BW_M_FORMULA, "oil_clearance_least");
    has_text(clearance, BW_M_VERDICT, "pass");
    assert_true(fabs(bw_entry_number(clearance, BW_M_VALUE, 0) - 0.049) < 1e-6);
    assert_true(bw_entry_number(clearance, BW_M_LOW, 0) == 0.03);
    assert_int_equal(bench_last(&b, 0)->value[BW_M_LOW].type, BW_VALUE_NONE);
    assert_int_equal(b.actions->tone, BW_TONE_GOOD);
    said(&b, "oil clearance 0.049 mm: good (limits 0.030 mm to 0.080 mm).");
    said(&b, "taper of the journal 0.000 mm: good (at most 0.010 mm).");
    assert_ptr_equal(bench_prompt(&b).step, &bench_plan()->step[CAPS]);
    bench_close(&b);
}

/* A slip of the decimal point is caught on entry, and noted. */
static void test_implausible_reading(void **state) {
    (void)state;
    bench b;
    bench_at(&b, BEARINGS);
    bench_type(&b, "5.005");
    recorded(&b, "note");
    said(&b, "5.005 mm can't be a bore of the shells");
    said(&b, "between 50.000 mm and 51.000 mm");
    has_text(bench_last(&b, 0), BW_M_TEXT, bench_said(&b));
    assert_int_equal(bench_prompt(&b).reading_number, 1);
    static const char *const edges[] = {"50", "51"};
    for (size_t i = 0; i < 2; i++) {
        bench_type(&b, edges[i]);
        recorded(&b, "reading");
    }
    bench_close(&b);
}

static void test_what_is_no_reading(void **state) {
    (void)state;
    static const char *const lines[] = {"",    "fifty", "50.05 Nm",    "50.05.1", "nan",
                                        "inf", "1e2",   "50.05 mm mm", "0x32"};
    bench b;
    bench_at(&b, BEARINGS);
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        bench_type(&b, lines[i]);
        recorded(&b, "");
        assert_true(strlen(bench_said(&b)) > 10);
        assert_int_equal(bench_prompt(&b).reading_number, 1);
    }
    bench_close(&b);
}

static void test_back(void **state) {
    (void)state;
    bench b;
    bench_at(&b, BEARINGS);
    bench_type(&b, "back");
    recorded(&b, "");
    said(&b, "no reading of this step");
    bench_type(&b, "50.050");
    bench_type(&b, "50.500"); /* a slip within the plausible */
    uint64_t slip = bench_last(&b, 0)->number;
    bench_type(&b, "back read upside down");
    recorded(&b, "correction");
    assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_CORRECTS, 0), slip);
    has_text(bench_last(&b, 0), BW_M_REASON, "read upside down");
    assert_int_equal(bench_prompt(&b).reading_number, 2);
    bw_tally tally;
    bw_session_tally(b.session, &tally);
    assert_int_equal(tally.measurements, 1);
    bench_type(&b, "50.050");
    bench_work(&b, CAPS);
    bw_session_tally(b.session, &tally);
    assert_int_equal(tally.measurements, 4);
    bench_close(&b);
}

static void measure(bench *b, const char *front_bore, const char *rear_bore,
                    const char *front_journal, const char *rear_journal) {
    bench_type(b, front_bore);
    bench_type(b, rear_bore);
    bench_type(b, front_journal);
    bench_type(b, rear_journal);
}

/* Outside: the readings behind that value are taken again, the old ones stay in the record. */
static void test_value_measured_again(void **state) {
    (void)state;
    bench b;
    bench_at(&b, BEARINGS);
    measure(&b, "50.050", "50.050", "50.000", "50.015");
    assert_int_equal(bench_state(&b), BW_STATE_VALUE);
    bw_prompt p = bench_prompt(&b);
    assert_string_equal(p.derived->id, "taper");
    assert_true(fabs(p.derived_value - 0.015) < 1e-9);
    options_are(&b, "again override");
    said(&b, "taper of the journal 0.015 mm is outside: measure again or decide (at most");
    assert_int_equal(b.actions->tone, BW_TONE_BAD); /* though the others are good */
    bench_type(&b, "again");
    recorded(&b, "decision");
    has_text(bench_last(&b, 0), BW_M_DERIVED, "taper");
    p = bench_prompt(&b);
    assert_string_equal(p.set->id, "journal"); /* the bores stand */
    assert_int_equal(p.reading_number, 3);
    bench_type(&b, "50.000");
    bench_type(&b, "50.001");
    recorded(&b, "reading derived derived"); /* the bores' own taper stands, too */
    assert_ptr_equal(bench_prompt(&b).step, &bench_plan()->step[CAPS]);
    bench_close(&b);
}

static void test_value_overridden(void **state) {
    (void)state;
    bench b;
    bench_at(&b, BEARINGS);
    measure(&b, "50.090", "50.090", "50.000", "50.000");
    bench_type(&b, "override");
    bench_type(&b, "B. Ek");
    bench_type(&b, "race engine");
    const bw_entry *e = bench_last(&b, 0);
    has_text(e, BW_M_DERIVED, "clearance");
    has_text(e, BW_M_STEP, "bearings");
    has_text(e, BW_M_SECOND, "B. Ek");
    assert_ptr_equal(bench_prompt(&b).step, &bench_plan()->step[CAPS]);
    bench_close(&b);
}

/* Two values outside are decided one after the other; what was decided is not asked again because
 * the other one's readings are taken again. */
static void test_a_decided_value_stands(void **state) {
    (void)state;
    bench b;
    bench_at(&b, BEARINGS);
    measure(&b, "50.050", "50.065", "50.000", "50.015");
    assert_string_equal(bench_prompt(&b).derived->id, "bore_taper");
    bench_type(&b, "override");
    bench_type(&b, "B. Ek");
    bench_type(&b, "will be honed");
    assert_string_equal(bench_prompt(&b).derived->id, "taper");
    bench_type(&b, "again");
    bench_type(&b, "50.000");
    bench_type(&b, "50.000");
    recorded(&b, "reading derived derived"); /* clearance and taper */
    assert_ptr_equal(bench_prompt(&b).step, &bench_plan()->step[CAPS]);
    bench_close(&b);
}

/* Put off while a value is open: it is asked again when the step comes back. */
static void test_value_put_off(void **state) {
    (void)state;
    bench b;
    bench_at(&b, BEARINGS);
    measure(&b, "50.200", "50.200", "50.000", "50.015");
    assert_string_equal(bench_prompt(&b).derived->id, "clearance");
    bench_type(&b, "later");
    bench_work(&b, BEARINGS);
    assert_string_equal(bench_prompt(&b).derived->id, "clearance");
    bench_type(&b, "override");
    bench_type(&b, "B. Ek");
    bench_type(&b, "race engine");
    assert_string_equal(bench_prompt(&b).derived->id, "taper");
    bench_close(&b);
}

/* The last reading was a slip: only the values that come from it are open again. */
static void test_back_leaves_other_values(void **state) {
    (void)state;
    bench b;
    bench_at(&b, BEARINGS);
    measure(&b, "50.050", "50.065", "50.000", "50.015");
    bench_type(&b, "back");
    assert_int_equal(bench_state(&b), BW_STATE_READING);
    assert_int_equal(bench_prompt(&b).reading_number, 4);
    assert_null(bench_prompt(&b).derived);
    bench_type(&b, "50.000");
    recorded(&b, "reading derived derived");
    assert_int_equal(bench_state(&b), BW_STATE_VALUE); /* the bore's own taper is still outside */
    assert_string_equal(bench_prompt(&b).derived->id, "bore_taper");
    bench_close(&b);
}

/* ---- steps in their order ---- */

/* What was put off comes back when there is nothing else, the one first put off first; nothing
 * that must come after it opens before. */
static void test_later_and_its_return(void **state) {
    (void)state;
    bench b;
    bench_open(&b);
    bench_person(&b, "A. Lund");
    bench_type(&b, "later waiting for the oven");
    recorded(&b, "put_off");
    has_text(bench_last(&b, 0), BW_M_STEP, "hot");
    has_text(bench_last(&b, 0), BW_M_REASON, "waiting for the oven");
    assert_ptr_equal(bench_prompt(&b).step, &bench_plan()->step[BLOCK]);
    bench_type(&b, "later");
    assert_int_equal(bench_last(&b, 0)->value[BW_M_REASON].type, BW_VALUE_NONE);
    /* CLEAN comes after HOT: BEARINGS is next. */
    assert_ptr_equal(bench_prompt(&b).step, &bench_plan()->step[BEARINGS]);
    bench_work(&b, HOT);
    assert_int_equal(bench_state(&b), BW_STATE_CONFIRM);
    /* Put off again, it goes behind the other one. */
    bench_type(&b, "later");
    assert_ptr_equal(bench_prompt(&b).step, &bench_plan()->step[BLOCK]);
    bench_type(&b, "later");
    assert_ptr_equal(bench_prompt(&b).step, &bench_plan()->step[HOT]);
    bench_type(&b, "yes");
    /* Now CLEAN, and all behind it, before the note that was put off. */
    assert_ptr_equal(bench_prompt(&b).step, &bench_plan()->step[CLEAN]);
    bench_event(&b, BW_EVENT_TOOL_ON);
    bench_work(&b, TURN);
    bench_type(&b, "yes");
    assert_ptr_equal(bench_prompt(&b).step, &bench_plan()->step[BLOCK]);
    bench_type(&b, "B 4711");
    assert_int_equal(bench_state(&b), BW_STATE_CLOSE);
    bench_close(&b);
}

/* Whatever is put off whenever, no step is asked for before those it comes after. */
static void test_prerequisites_never_opened_before(void **state) {
    (void)state;
    for (unsigned mask = 0; mask < 1u << 12; mask += 5) {
        bench b;
        bench_open(&b);
        bench_person(&b, "A. Lund");
        bench_event(&b, BW_EVENT_TOOL_ON);
        bool done[STEPS] = {false};
        unsigned bits = mask;
        while (bench_state(&b) != BW_STATE_CLOSE) {
            bw_prompt before = bench_prompt(&b);
            for (size_t i = 0; i < before.step->after_n; i++) {
                assert_true(done[before.step->after[i]]);
            }
            bool later = (bits & 1) != 0;
            bits >>= 1;
            if (later) {
                bench_type(&b, "later");
                continue;
            }
            bench_answer_well(&b);
            bw_prompt after = bench_prompt(&b);
            done[before.step_number - 1] = after.steps_done > before.steps_done;
        }
        bench_close(&b);
    }
}

/* A pull that is on, or a verdict that waits, is not left behind the prompt of another step; a
 * note then does not answer that step. */
static void test_later_in_the_middle(void **state) {
    (void)state;
    bench b;
    bench_open(&b);
    bench_person(&b, "A. Lund");
    bench_event(&b, BW_EVENT_TOOL_ON);
    bench_type(&b, "yes");
    bench_type(&b, "later"); /* BLOCK, a note */
    bench_work(&b, CAPS);
    bench_begin(&b);
    bench_type(&b, "later");
    recorded(&b, "");
    said(&b, "A pull is on");
    bench_type(&b, "note the socket slipped a little");
    assert_int_equal(bench_state(&b), BW_STATE_PULLING);
    assert_non_null(bench_prompt(&b).group);
    bw_verdict high = {.outcome = BW_VERDICT_HIGH,
                       .reasons = BW_REASON_ABOVE_LIMIT,
                       .peak_Nm = 40,
                       .pull_peak_Nm = 40,
                       .pulls = 1};
    bench_end(&b, &high, true);
    bench_type(&b, "later");
    recorded(&b, "");
    said(&b, "decided first");
    bench_type(&b, "note looked at it twice");
    assert_int_equal(bench_prompt(&b).steps_done, 3); /* HOT, CLEAN, BEARINGS; not BLOCK */
    bench_close(&b);
}

/* ---- other words ---- */

static void test_note_at_a_step(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_type(&b, "note  thread chased ");
    has_text(bench_last(&b, 0), BW_M_STEP, "caps");
    has_text(bench_last(&b, 0), BW_M_TEXT, " thread chased");
    said(&b, "Noted.");
    assert_int_equal(b.actions->tone, BW_TONE_PLAIN);
    asks(&b, "1 right", 1);
    bench_close(&b);
}

static void test_person(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_type(&b, "person B. Ek");
    recorded(&b, "person_on");
    assert_string_equal(bench_last(&b, 0)->by, "B. Ek");
    assert_string_equal(bench_prompt(&b).by, "B. Ek");
    bench_good_pull(&b);
    assert_string_equal(bench_last(&b, 0)->by, "B. Ek");
    /* The second person is another one than who works now. */
    bench_pull(&b, 40, 30);
    bench_type(&b, "override");
    bench_type(&b, "B. Ek");
    said(&b, "That is you");
    bench_type(&b, "A. Lund");
    assert_int_equal(bench_state(&b), BW_STATE_REASON);
    bench_close(&b);
    /* A name that no record has room for. */
    bench_at(&b, CAPS);
    char line[80] = "person ";
    memset(line + 7, 'x', 64);
    line[7 + 64] = '\0';
    bench_type(&b, line);
    recorded(&b, "");
    line[7 + 63] = '\0';
    bench_type(&b, line);
    recorded(&b, "person_on");
    bench_close(&b);
}

static void test_reject(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_type(&b, "reject");
    recorded(&b, "");
    said(&b, "Write why");
    bench_type(&b, "reject block cracked");
    recorded(&b, "build_closed");
    assert_true(b.actions->closed);
    has_text(bench_last(&b, 0), BW_M_OUTCOME, "rejected");
    has_text(bench_last(&b, 0), BW_M_TEXT, "block cracked");
    assert_int_equal(bench_state(&b), BW_STATE_CLOSED);
    bw_tally tally;
    bw_session_tally(b.session, &tally);
    assert_string_equal(tally.outcome, "rejected");
    bench_close(&b);
}

static void test_help_names_every_word(void **state) {
    (void)state;
    static const char *const words[] = {"back",   "wrong", "later",  "note",
                                        "person", "pause", "reject", "yes"};
    bench b;
    bench_at(&b, CAPS);
    bench_type(&b, "help");
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        said(&b, words[i]);
    }
    bench_close(&b);
}

static void test_confirm_takes_only_yes(void **state) {
    (void)state;
    static const char *const yes[] = {"", "yes", "y", "ok", "done", "  yes  "};
    static const char *const no[] = {"no", "n", "Yes please", "pausE", "1", "close"};
    for (size_t i = 0; i < sizeof no / sizeof no[0]; i++) {
        bench b;
        bench_at(&b, CLEAN);
        bench_type(&b, no[i]);
        recorded(&b, "");
        said(&b, "It stays open");
        bench_type(&b, yes[i]);
        recorded(&b, "confirmed");
        bench_close(&b);
    }
}

/* ---- lines that can't stand in a record ---- */

static void test_bad_lines(void **state) {
    (void)state;
    static char longest[5000];
    static const char *const bad[] = {
        "yes\x01",      "a\tb",          "\x1b[31mred", "caf\xe9",          "\xc3",
        "\xe2\x80\xae", "\xe2\x80\x8b.", "del\x7f",     "two\nlines of it", longest};
    memset(longest, 'x', sizeof longest - 1);
    static const size_t steps[] = {HOT, BLOCK, BEARINGS, CAPS};
    for (size_t s = 0; s < sizeof steps / sizeof steps[0]; s++) {
        bench b;
        bench_at(&b, steps[s]);
        for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
            bw_prompt before = bench_prompt(&b);
            bench_type(&b, bad[i]);
            recorded(&b, "");
            said(&b, "too long or holds characters");
            assert_ptr_equal(bench_prompt(&b).step, before.step);
        }
        bench_close(&b);
    }
}

/* A note of exactly as much as fits, and one more. */
static void test_longest_line(void **state) {
    (void)state;
    char line[BW_PLAN_TEXT_MAX + 1];
    bench b;
    bench_at(&b, BLOCK);
    memset(line, 'n', sizeof line);
    line[BW_PLAN_TEXT_MAX] = '\0';
    bench_type(&b, line);
    recorded(&b, "");
    line[BW_PLAN_TEXT_MAX - 1] = '\0';
    bench_type(&b, line);
    recorded(&b, "note");
    has_text(bench_last(&b, 0), BW_M_TEXT, line);
    bench_close(&b);
}

/* ---- the wrench goes away ---- */

static void test_wrench_lost_at_rest(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_event(&b, BW_EVENT_TOOL_LOST);
    assert_int_equal(bench_state(&b), BW_STATE_NO_TOOL);
    assert_string_equal(bench_prompt(&b).tool_text, "The cable was pulled out.");
    bench_event(&b, BW_EVENT_TOOL_BACK);
    asks(&b, "1 right", 1);
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
    recorded(&b, "pull verdict");
    assert_false(bw_entry_flag(bench_last(&b, 1), BW_M_COMPLETE, true));
    said(&b, "does not count: pull again");
    assert_int_equal(bench_state(&b), BW_STATE_NO_TOOL);
    bench_event(&b, BW_EVENT_TOOL_BACK);
    asks(&b, "1 right", 1);
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
    said(&b, "its turn is not known");
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    options_are(&b, "loosen replace override"); /* it did turn: something was seen */
    bench_close(&b);
}

/* ---- breaking off ---- */

static void test_pause_and_go_on(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_good_pull(&b);
    bench_event(&b, BW_EVENT_PAUSE);
    recorded(&b, "paused");
    assert_true(b.actions->pause);
    bench_person(&b, "A. Lund");
    recorded(&b, "resumed");
    said(&b, "Going on: 4 of 7 steps are done.");
    assert_int_equal(bench_state(&b), BW_STATE_NO_TOOL); /* which wrench is said anew */
    bench_event(&b, BW_EVENT_TOOL_ON);
    asks(&b, "2 left", 1);
    /* By somebody else. */
    bench_type(&b, "pause");
    bench_person(&b, "B. Ek");
    recorded(&b, "resumed person_on");
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
    recorded(&b, "interrupted resumed");
    const bw_entry *e = bench_last(&b, 1);
    has_text(e, BW_M_LABEL, "1 right");
    assert_int_equal(bw_entry_whole(e, BW_M_STAGE, 0), 1);
    said(&b, "main cap bolts, place 2 (1 right), stage 1");
    said(&b, "may carry some torque");
    bench_event(&b, BW_EVENT_TOOL_ON);
    asks(&b, "1 right", 1);
    bw_standing standing = bw_session_standing(b.session);
    assert_int_equal(standing.pulls, 1);
    assert_false(standing.turn_known);
    bench_good_pull(&b);
    asks(&b, "2 left", 1);
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
    options_are(&b, "loosen replace unmoved override");
    bw_prompt p = bench_prompt(&b);
    assert_int_equal(p.verdict.outcome, BW_VERDICT_SUSPECT);
    assert_int_equal(p.verdict.reasons, BW_REASON_GAP);
    bench_type(&b, "unmoved");
    has_text(bench_last(&b, 0), BW_M_DECISION, "unmoved");
    bench_event(&b, BW_EVENT_TOOL_ON);
    asks(&b, "1", 2);
    bw_standing standing = bw_session_standing(b.session);
    assert_true(standing.torque_Nm == 20);
    assert_int_equal(standing.pulls, 0);
    bench_good_pull(&b);
    asks(&b, "2", 2);
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
    options_are(&b, "loosen replace override");
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
    recorded(&b, "interrupted paused");
    has_text(bench_last(&b, 1), BW_M_LABEL, "1 right");
    bench_person(&b, "A. Lund");
    recorded(&b, "resumed");
    bench_event(&b, BW_EVENT_TOOL_ON);
    asks(&b, "1 right", 1);
    assert_false(bw_session_standing(b.session).turn_known);
    bench_close(&b);
    bench_at(&b, RODS);
    bench_good_pull(&b);
    bench_good_pull(&b);
    bench_begin(&b);
    bench_event(&b, BW_EVENT_PAUSE);
    bench_person(&b, "A. Lund");
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    options_are(&b, "loosen replace unmoved override");
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
    recorded(&b, "");
    bench_event(&b, BW_EVENT_PULL_ENDED);
    recorded(&b, "pull");
    assert_false(bw_entry_flag(bench_last(&b, 0), BW_M_ASKED, true));
    assert_int_equal(bench_last(&b, 0)->value[BW_M_STEP].type, BW_VALUE_NONE);
    said(&b, "A pull of 30.0");
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
        cmocka_unit_test(test_a_whole_build),
        cmocka_unit_test(test_order_of_the_group),
        cmocka_unit_test(test_what_a_pull_leaves_in_the_record),
        cmocka_unit_test(test_what_a_wrench_leaves_in_the_record),
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
        cmocka_unit_test(test_readings_in_their_order),
        cmocka_unit_test(test_implausible_reading),
        cmocka_unit_test(test_what_is_no_reading),
        cmocka_unit_test(test_back),
        cmocka_unit_test(test_value_measured_again),
        cmocka_unit_test(test_value_overridden),
        cmocka_unit_test(test_a_decided_value_stands),
        cmocka_unit_test(test_value_put_off),
        cmocka_unit_test(test_back_leaves_other_values),
        cmocka_unit_test(test_later_and_its_return),
        cmocka_unit_test(test_prerequisites_never_opened_before),
        cmocka_unit_test(test_later_in_the_middle),
        cmocka_unit_test(test_note_at_a_step),
        cmocka_unit_test(test_person),
        cmocka_unit_test(test_reject),
        cmocka_unit_test(test_help_names_every_word),
        cmocka_unit_test(test_confirm_takes_only_yes),
        cmocka_unit_test(test_bad_lines),
        cmocka_unit_test(test_longest_line),
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
