/* job_test.c - the words of a whole job, from the text of a sequence to what the session asks. */
#include "cmocka_all.h"

#include "bench.h"
#include "../sequence/kit.h"

#include <string.h>

#define HEAD "sequence{title = 'T', engine = 'E', document = 'D'}\n"

/* A session on the plan of a text, opened by A. Lund, with a wrench. */
typedef struct job {
    kit_run run;
    bench b;
} job;

static void open_job(job *j, const char *text) {
    j->run = kit_load(text);
    kit_assert_plan(&j->run);
    bench_open_plan(&j->b, j->run.loaded.plan);
    bench_person(&j->b, "A. Lund");
    bench_event(&j->b, BW_EVENT_TOOL_ON);
}

/* What all that was recorded folds to is what stands. */
static void close_job(job *j) {
    bw_session *again = bench_fold(&j->b, j->b.entry_n);
    const char *differs = bench_difference(again, j->b.session);
    if (differs != NULL) {
        fail_msg("a fold of the same entries differs: %s", differs);
    }
    bench_close(&j->b);
    kit_end(&j->run);
}

static void pull_all(job *j, size_t n) {
    for (size_t i = 0; i < n; i++) {
        bench_good_pull(&j->b);
    }
}

#define MAIN                                                                                       \
    "group{name = 'main', say = 'main bolts', lubricant = 'oil', cycles = 3, places = "            \
    "labels{'a', 'b'}}\n"
#define TRIAL                                                                                      \
    "tighten{id = 'trial', say = 's', group = 'main', trial = true, stages = {torque{Nm(50), "     \
    "within = percent(5)}}}\n"
#define FINAL                                                                                      \
    "tighten{id = 'final', say = 's', group = 'main', after = 'trial', stages = {torque{Nm(50), "  \
    "within = percent(5)}}}\n"

static void test_cycles_count_on_trial(void **state) {
    (void)state;
    job j;
    open_job(&j, HEAD MAIN TRIAL FINAL);
    assert_true(bench_prompt(&j.b).step->trial);
    assert_int_equal(bench_prompt(&j.b).cycles, 0);
    pull_all(&j, 2);
    assert_int_equal(bw_entry_whole(bench_last(&j.b, 0), BW_M_CYCLE, 0), 1);
    assert_string_equal(bench_prompt(&j.b).step->id, "final");
    assert_int_equal(bench_prompt(&j.b).cycles, 1);
    assert_true(bench_prompt(&j.b).standing.torque_Nm == 0);
    /* Too far: one more time is left. */
    bench_pull(&j.b, 70, 40);
    assert_int_equal(bw_entry_whole(bench_last(&j.b, 0), BW_M_CYCLE, 0), 2);
    bench_options(&j.b, "loosen replace another override");
    bench_type(&j.b, "loosen");
    assert_int_equal(bench_prompt(&j.b).cycles, 2);
    /* Too far again: none is left, only a new one will do, which has all of its own. */
    bench_pull(&j.b, 70, 40);
    assert_int_equal(bw_entry_whole(bench_last(&j.b, 0), BW_M_CYCLE, 0), 3);
    bench_options(&j.b, "replace another override");
    bench_type(&j.b, "loosen");
    bench_told(&j.b, "Answer with one of: replace");
    bench_type(&j.b, "replace");
    assert_int_equal(bench_prompt(&j.b).cycles, 0);
    pull_all(&j, 2);
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

/* What is still to come is kept free for it. */
static void test_cycles_to_come(void **state) {
    (void)state;
    job j;
    open_job(&j,
             HEAD MAIN TRIAL "tighten{id = 'second', say = 's', group = 'main', after = 'trial', "
                             "trial = true, stages = {torque{Nm(50), within = percent(5)}}}\n"
                             "tighten{id = 'final', say = 's', group = 'main', after = 'second', "
                             "stages = {torque{Nm(50), within = percent(5)}}}\n");
    bench_pull(&j.b, 70, 40);
    bench_options(&j.b, "replace another override");
    close_job(&j);
}

#define TWO                                                                                        \
    HEAD "group{name = 'long', say = 's', lubricant = 'oil', places = labels{'a', 'b'}}\n"         \
         "group{name = 'short', say = 's', lubricant = 'oil', places = labels{'c'}}\n"             \
         "tighten{id = 'l1', say = 's', group = 'long', stages = {torque{Nm(30), within = "        \
         "percent(8)}}}\n"                                                                         \
         "tighten{id = 's1', say = 's', group = 'short', after = 'l1', stages = {torque{Nm(12), "  \
         "within = percent(8)}}}\n"                                                                \
         "tighten{id = 'l2', say = 's', group = 'long', after = 's1', continues = 'l1', stages = " \
         "{angle{deg(90), within = deg(4)}}}\n"                                                    \
         "tighten{id = 's2', say = 's', group = 'short', after = 'l2', continues = 's1', stages "  \
         "= {torque{Nm(12), within = percent(8), again = true}}}\n"

/* Two groups take turns; each goes on from where it stood. */
static void test_groups_take_turns(void **state) {
    (void)state;
    job j;
    open_job(&j, TWO);
    pull_all(&j, 3);
    assert_string_equal(bench_prompt(&j.b).step->id, "l2");
    assert_true(bench_prompt(&j.b).standing.torque_Nm >= 27);
    pull_all(&j, 2);
    assert_string_equal(bench_prompt(&j.b).step->id, "s2");
    assert_true(bench_prompt(&j.b).standing.torque_Nm >= 11);
    pull_all(&j, 1);
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

/* Loosened in its second step it begins in the first one, and comes back to where it was. */
static void test_loosened_over_both_steps(void **state) {
    (void)state;
    job j;
    open_job(&j, TWO);
    pull_all(&j, 4);
    bench_asks(&j.b, "b", 1);
    bench_pull(&j.b, 90, 120);
    bench_type(&j.b, "loosen");
    assert_string_equal(bench_prompt(&j.b).step->id, "l1");
    bench_asks(&j.b, "b", 1);
    assert_true(bench_prompt(&j.b).standing.torque_Nm == 0);
    pull_all(&j, 1);
    assert_string_equal(bench_prompt(&j.b).step->id, "l2");
    bench_asks(&j.b, "b", 1);
    assert_true(bench_prompt(&j.b).standing.torque_Nm >= 27);
    pull_all(&j, 2);
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_cycles_count_on_trial),
    cmocka_unit_test(test_cycles_to_come),
    cmocka_unit_test(test_groups_take_turns),
    cmocka_unit_test(test_loosened_over_both_steps),
};

KIT_MAIN(tests)
