/* reuse_test.c - fasteners that are used again only after a check: asked for the whole group, told
 * for each. */
#include "cmocka_all.h"

#include "job_bench.h"

#include <string.h>

static void test_used_again_after_a_check(void **state) {
    (void)state;
    static const char text[] = HEAD
        "group{name = 'g', say = 's', lubricant = 'oil', reuse = 'after_check', reuse_check "
        "= 'no longer than 118 mm', cycles = 2, places = labels{'a', 'b'}}\n"
        "tighten{id = 'trial', say = 's', group = 'g', trial = true, stages = {torque{Nm(50), "
        "within = percent(5)}}}\n"
        "tighten{id = 'final', say = 's', group = 'g', after = 'trial', stages = "
        "{torque{Nm(50), within = percent(5)}}}\n";
    job j;
    open_job(&j, text);
    bench_options(&j.b, "new replaced checked");
    bench_type(&j.b, "used");
    bench_recorded(&j.b, "");
    bench_told(&j.b, "Answer with one of: new, replaced, checked");
    bench_type(&j.b, "checked");
    bench_recorded(&j.b, "answered");
    pull_all(&j, 2);
    assert_int_equal(bench_state(&j.b), BW_STATE_ASK); /* they were used since */
    bench_type(&j.b, "new");
    assert_int_equal(bench_prompt(&j.b).cycles, 0);
    pull_all(&j, 2);
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

#define LIDS                                                                                       \
    HEAD "group{name = 'g', say = 'lid bolts', lubricant = 'oil', reuse = 'after_check', "         \
         "reuse_check = 'no longer than 118 mm', cycles = 3, places = "                            \
         "labels{'1 left', '1 right', 'far'}}\n"                                                   \
         "tighten{id = 'trial', say = 's', group = 'g', trial = true, stages = {torque{Nm(50), "   \
         "within = percent(5)}}}\n"                                                                \
         "tighten{id = 'final', say = 's', group = 'g', after = 'trial', stages = "                \
         "{torque{Nm(50), within = percent(5)}}}\n"

/* At the final step, each bolt tightened once on trial. */
static void at_final(job *j) {
    open_job(j, LIDS);
    bench_type(&j->b, "new");
    pull_all(j, 3);
    assert_int_equal(bench_state(&j->b), BW_STATE_ASK);
    bench_at_step(&j->b, 1);
}

static bw_reuse reuse_of(const job *j, size_t place) {
    return bw_session_step(j->b.session, 1).progress[place].reuse;
}

/* Those that did not pass the check are named, by label or place: they are new, the others are
 * used again. */
static void test_some_are_replaced(void **state) {
    (void)state;
    job j;
    at_final(&j);
    bench_type(&j.b, "replaced far,1 left");
    bench_recorded(&j.b, "answered answered answered");
    bench_has_text(bench_last(&j.b, 2), BW_M_TEXT, "replaced");
    bench_has_text(bench_last(&j.b, 2), BW_M_LABEL, "1 left");
    bench_has_text(bench_last(&j.b, 1), BW_M_LABEL, "far");
    assert_int_equal(bw_entry_whole(bench_last(&j.b, 1), BW_M_FASTENER, 0), 3);
    bench_has_text(bench_last(&j.b, 0), BW_M_TEXT, "checked");
    bench_has_text(bench_last(&j.b, 0), BW_M_TYPED, "replaced far,1 left");
    bench_told(&j.b, "1 left, far are new; the others are used again.");
    assert_int_equal(reuse_of(&j, 0), BW_REUSE_REPLACED);
    assert_int_equal(reuse_of(&j, 1), BW_REUSE_CHECKED);
    assert_int_equal(reuse_of(&j, 2), BW_REUSE_REPLACED);
    static const int cycle[] = {1, 2, 1};
    for (size_t i = 0; i < 3; i++) {
        bench_good_pull(&j.b);
        assert_int_equal(bw_entry_whole(bench_last(&j.b, 0), BW_M_CYCLE, 0), cycle[i]);
    }
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

static void test_all_or_new_at_once(void **state) {
    (void)state;
    static const struct {
        const char *word;
        bw_reuse reuse;
        int cycle;
    } rows[] = {{"checked", BW_REUSE_CHECKED, 2}, {"new", BW_REUSE_NEW, 1}};
    for (size_t i = 0; i < 2; i++) {
        job j;
        at_final(&j);
        bench_type(&j.b, rows[i].word);
        bench_recorded(&j.b, "answered");
        for (size_t place = 0; place < 3; place++) {
            assert_int_equal(reuse_of(&j, place), rows[i].reuse);
        }
        bench_good_pull(&j.b);
        assert_int_equal(bw_entry_whole(bench_last(&j.b, 0), BW_M_CYCLE, 0), rows[i].cycle);
        close_job(&j);
    }
}

static void test_what_names_no_fastener(void **state) {
    (void)state;
    static const struct {
        const char *typed, *told;
    } rows[] = {
        {"replaced", "Write behind the word which ones"},
        {"replaced ,", "Write behind the word which ones"},
        {"replaced 4", "\"4\" is none of the lid bolts"},
        {"replaced far, near", "\"near\" is none of the lid bolts"},
        {"replaced 1 2", "\"1 2\" is none of the lid bolts"},
        {"replace far", "Answer with one of: new, replaced, checked"},
        {"checked far", "Answer with one of: new, replaced, checked"},
        {"yes", "Answer with one of: new, replaced, checked"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        job j;
        at_final(&j);
        bench_type(&j.b, rows[i].typed);
        bench_recorded(&j.b, "");
        bench_told(&j.b, rows[i].told);
        assert_int_equal(bench_state(&j.b), BW_STATE_ASK);
        close_job(&j);
    }
}

/* One that is named twice is replaced once. */
static void test_named_twice(void **state) {
    (void)state;
    job j;
    at_final(&j);
    bench_type(&j.b, "replaced 3, far");
    bench_recorded(&j.b, "answered answered");
    close_job(&j);
}

/* Told wrongly: all is as before, and it is asked again; not once a wrench has pulled. */
static void test_taken_back(void **state) {
    (void)state;
    job j;
    at_final(&j);
    bench_type(&j.b, "new");
    assert_true(bench_prompt(&j.b).may_go_back);
    bench_type(&j.b, "back");
    bench_recorded(&j.b, "correction");
    bench_told(&j.b, "The last answer is open again; the old one stays in the record.");
    assert_int_equal(bench_state(&j.b), BW_STATE_ASK);
    assert_int_equal(reuse_of(&j, 0), BW_REUSE_NOT_TOLD);
    bench_type(&j.b, "replaced 2");
    bench_type(&j.b, "back");
    bench_type(&j.b, "checked");
    for (size_t i = 0; i < 3; i++) {
        bench_good_pull(&j.b);
        assert_int_equal(bw_entry_whole(bench_last(&j.b, 0), BW_M_CYCLE, 0), 2);
    }
    close_job(&j);
    at_final(&j);
    bench_type(&j.b, "checked");
    bench_good_pull(&j.b);
    bench_type(&j.b, "back");
    bench_recorded(&j.b, "");
    close_job(&j);
}

/* One that is replaced while it is tightened is new from there on. */
static void test_replaced_by_decision(void **state) {
    (void)state;
    job j;
    at_final(&j);
    bench_type(&j.b, "checked");
    bench_pull(&j.b, 60, 30);
    assert_int_equal(bench_state(&j.b), BW_STATE_VERDICT);
    bench_type(&j.b, "replace");
    assert_int_equal(reuse_of(&j, 0), BW_REUSE_REPLACED);
    assert_int_equal(reuse_of(&j, 1), BW_REUSE_CHECKED);
    bench_good_pull(&j.b);
    assert_int_equal(bw_entry_whole(bench_last(&j.b, 0), BW_M_CYCLE, 0), 1);
    close_job(&j);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_used_again_after_a_check),
    cmocka_unit_test(test_some_are_replaced),
    cmocka_unit_test(test_all_or_new_at_once),
    cmocka_unit_test(test_what_names_no_fastener),
    cmocka_unit_test(test_named_twice),
    cmocka_unit_test(test_taken_back),
    cmocka_unit_test(test_replaced_by_decision),
};

KIT_MAIN(tests)
