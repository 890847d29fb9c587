/* wrong_test.c - the wrong fastener was pulled, and the builder says so. */
#include "cmocka_all.h"

#include "bench.h"

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

/* The one that was asked for was not made tight by what another one got. */
static void test_wrong_gives_its_cycle_back(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_good_pull(&b);
    bench_type(&b, "wrong 2 left");
    bench_asks(&b, "1 right", 1);
    assert_int_equal(bench_prompt(&b).cycles, 0);
    bench_good_pull(&b);
    bench_asks(&b, "1 left", 1);
    bench_pull(&b, 45, 30);
    assert_int_equal(bench_prompt(&b).cycles, 1);
    bench_type(&b, "another 2 right");
    assert_int_equal(bench_prompt(&b).cycles, 1); /* of that one */
    bench_type(&b, "loosen");
    bench_asks(&b, "1 left", 1);
    assert_int_equal(bench_prompt(&b).cycles, 0);
    bench_good_pull(&b);
    bench_asks(&b, "2 right", 1);
    assert_int_equal(bench_prompt(&b).cycles, 1);
    bench_good_pull(&b);
    bench_asks(&b, "1 right", 2);
    assert_int_equal(bench_prompt(&b).cycles, 1);
    assert_null(bench_difference(b.session, bench_fold(&b, b.entry_n)));
    bench_close(&b);
}

/* One that was tight already when it was asked for stays so. */
static void test_wrong_takes_no_cycle_of_a_tight_one(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    for (size_t i = 0; i < 5; i++) {
        bench_good_pull(&b);
    }
    bench_asks(&b, "2 left", 2);
    bench_type(&b, "wrong 2 right");
    bench_asks(&b, "1 right", 2);
    assert_int_equal(bench_prompt(&b).cycles, 1);
    bench_close(&b);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_wrong_fastener),
        cmocka_unit_test(test_wrong_fastener_twice),
        cmocka_unit_test(test_wrong_needs_another_fastener),
        cmocka_unit_test(test_wrong_at_the_end_of_a_group),
        cmocka_unit_test(test_wrong_found_by_the_next_pull),
        cmocka_unit_test(test_wrong_after_an_override),
        cmocka_unit_test(test_wrong_after_loosening),
        cmocka_unit_test(test_wrong_gives_its_cycle_back),
        cmocka_unit_test(test_wrong_takes_no_cycle_of_a_tight_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
