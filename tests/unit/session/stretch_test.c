/* stretch_test.c - bolts that are judged by how much longer they become. */
#include "cmocka_all.h"

#include "bench.h"
#include "kind_bench.h"

#include <math.h>

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
    assert_true(kind_number(e, BW_M_VALUE) == 65.02);
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
    assert_true(fabs(kind_number(e, BW_M_STRETCH_MM) - 0.1) < 1e-9);
    assert_true(kind_number(e, BW_M_LOW_MM) == 0.13 && kind_number(e, BW_M_HIGH_MM) == 0.17);
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
    assert_true(kind_lacks(bench_last(&b, 1), BW_M_FASTENER)); /* no pull was lost */
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
    assert_true(kind_lacks(bench_last(&b, 0), BW_M_UNCERTAINTY_DEG));
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
    kind_high(&b, BW_REASON_ABOVE_LIMIT, 61);
    bench_recorded(&b, "pull verdict");
    assert_true(kind_lacks(bench_last(&b, 1), BW_M_PULLS));
    bench_told(&b, "It went to 61.0 N·m; the most allowed is 60 N·m");
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_close(&b);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_stretch),
        cmocka_unit_test(test_implausible_lengths),
        cmocka_unit_test(test_grown_too_long),
        cmocka_unit_test(test_back_to_a_length),
        cmocka_unit_test(test_back_to_a_free_length),
        cmocka_unit_test(test_killed_before_the_length),
        cmocka_unit_test(test_loosened_instead_of_measured),
        cmocka_unit_test(test_above_the_ceiling),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
