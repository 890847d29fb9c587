/* decide_test.c - where another one was pulled, or no pull can mend it: it is decided. */
#include "cmocka_all.h"

#include "bench.h"
#include "kind_bench.h"

/* ---- another one was pulled ---- */

static void test_another_one_over_tightened(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_good_pull(&b); /* 1 right */
    bench_asks(&b, "2 left", 1);
    bench_pull(&b, 20, 10);
    bench_pull(&b, 40, 30);
    bench_options(&b, "loosen replace another override");
    static const char *const which[] = {"another", "another 9", "another 2 left", "3"};
    for (size_t i = 0; i < sizeof which / sizeof which[0]; i++) {
        bench_type(&b, which[i]);
        bench_recorded(&b, "");
        bench_told(&b, "Write behind the word");
    }
    uint64_t verdict = bench_last(&b, 0)->number;
    bench_type(&b, "another 1 left");
    bench_recorded(&b, "correction");
    assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_CORRECTS, 0), verdict);
    bench_told(&b, "Corrected: it was place 1 (1 left)");
    /* The one that was pulled can't be got rid of with a word: it is decided on. */
    bw_prompt p = bench_prompt(&b);
    assert_int_equal(p.state, BW_STATE_VERDICT);
    assert_string_equal(p.group->place[p.place].label, "1 left");
    bench_options(&b, "loosen replace");
    bench_killed(&b);
    bench_options(&b, "loosen replace");
    bench_type(&b, "loosen");
    bench_has_text(bench_last(&b, 0), BW_M_LABEL, "1 left");
    bench_asks(&b, "2 left", 1);
    p = bench_prompt(&b);
    assert_int_equal(p.attempt, 1);
    assert_int_equal(p.standing.pulls, 1); /* the low pull was its own */
    assert_int_equal(p.progress[0].attempt, 2);
    assert_int_equal(p.progress[1].stages_done, 1);
    bench_work(&b, RODS);
    bench_close(&b);
}

/* ---- no other pull will come ---- */

static void test_decided_though_another_pull_could_mend_it(void **state) {
    (void)state;
    bench b;
    bench_kinds_at(&b, HEAD, 2, 0);
    bench_type(&b, "decide"); /* nothing was pulled yet */
    bench_told(&b, "Nothing is to be decided");
    for (int i = 0; i < 2; i++) {
        bench_verdict(&b, (bw_verdict){.outcome = BW_VERDICT_LOW,
                                       .reasons = BW_REASON_ANGLE_SHORT,
                                       .peak_Nm = 20,
                                       .has_turn = true,
                                       .turn_deg = 30,
                                       .more = true});
    }
    uint64_t verdict = bench_last(&b, 0)->number;
    bench_type(&b, "decide");
    bench_recorded(&b, "");
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_options(&b, "loosen replace override cancel");
    bench_event(&b, BW_EVENT_TOOL_LOST);
    bench_event(&b, BW_EVENT_TOOL_BACK);
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_type(&b, "later");
    bench_told(&b, "decided first");
    bench_type(&b, "cancel");
    bench_asks(&b, "1", 3);
    bench_type(&b, "decide");
    bench_type(&b, "override");
    bench_type(&b, "B. Ek");
    bench_type(&b, "cancel");
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_type(&b, "override");
    bench_type(&b, "B. Ek");
    bench_type(&b, "it turns by hand");
    bench_recorded(&b, "decision");
    assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_OF, 0), verdict);
    bench_asks(&b, "2", 3);
    bench_type(&b, "decide"); /* the last pull was another one's */
    bench_told(&b, "Nothing is to be decided");
    assert_true(bench_prompt(&b).progress[0].overridden);
    bench_close(&b);
    /* Killed in between, it is pulled on. */
    bench_at(&b, CAPS);
    bench_pull(&b, 20, 10);
    bench_type(&b, "decide");
    bench_options(&b, "loosen replace override cancel");
    bench_killed(&b);
    bench_asks(&b, "1 right", 1);
    bench_type(&b, "decide");
    bench_type(&b, "replace");
    bench_asks(&b, "1 right", 1);
    assert_int_equal(bench_prompt(&b).attempt, 2);
    assert_int_equal(bench_prompt(&b).standing.pulls, 0);
    bench_type(&b, "decide");
    bench_told(&b, "Nothing is to be decided");
    bench_close(&b);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_another_one_over_tightened),
        cmocka_unit_test(test_decided_though_another_pull_could_mend_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
