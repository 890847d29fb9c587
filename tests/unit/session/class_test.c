/* class_test.c - joints that are a danger to life, and where figures are from. */
#include "cmocka_all.h"

#include "job_bench.h"

#include <string.h>

/* ---- joint class, and where figures are from ---- */

#define HOOK_BOLTS                                                                                 \
    HEAD "group{name = 'hook', say = 'hook bolts', lubricant = 'oil', joint = 'A', document = "    \
         "'Hook leaflet', revision = '3', places = labels{'a', 'b'}}\n"                            \
         "tighten{id = 'trial', say = 's', group = 'hook', trial = true, stages = {torque{Nm(20)," \
         " within = percent(8)}}}\n"                                                               \
         "tighten{id = 'hook', say = 's', group = 'hook', after = 'trial', stages = "              \
         "{torque{Nm(20), within = percent(8)}, torque{Nm(50), within = percent(5), document = "   \
         "'Crane rules'}}}\n"

static void typed_pull(job *j, double peak_Nm) {
    const bw_stage *stage = bw_session_stage(j->b.session);
    bw_standing standing = bw_session_standing(j->b.session);
    bw_terms terms = {.rule = BW_RULE_SIMPLE};
    bw_verdict v = bw_judge_result(stage, &standing, &terms, peak_Nm, false, 0);
    bench_begin(&j->b);
    bench_end(&j->b, &v, true);
}

static void test_class_A_wants_a_second_person(void **state) {
    (void)state;
    job j;
    open_job(&j, HOOK_BOLTS);
    pull_all(&j, 2); /* on trial nobody else is asked */
    assert_int_equal(bench_prompt(&j.b).group->joint_class, 'A');
    pull_all(&j, 4);
    assert_int_equal(bench_state(&j.b), BW_STATE_WITNESS);
    bench_type(&j.b, "a lund");
    bench_told(&j.b, "That is you");
    bench_type(&j.b, "yes");
    bench_recorded(&j.b, "");
    /* One of them was not the one: it is tightened, and all are looked at then. */
    bench_type(&j.b, "wrong a");
    assert_int_equal(bench_state(&j.b), BW_STATE_PULL);
    pull_all(&j, 1);
    bench_type(&j.b, "B. Ek");
    bench_recorded(&j.b, "confirmed");
    bench_has_text(bench_last(&j.b, 0), BW_M_SECOND, "B. Ek");
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

/* A torque that was only told proves nothing there, and nobody's word stands for a trace. */
static void test_class_A_needs_a_trace(void **state) {
    (void)state;
    job j;
    open_job(&j, HOOK_BOLTS);
    typed_pull(&j, 20);
    pull_all(&j, 1);
    typed_pull(&j, 20);
    bench_has_text(bench_last(&j.b, 0), BW_M_VERDICT, "suspect");
    bench_options(&j.b, "loosen replace");
    bench_type(&j.b, "loosen");
    bench_send(&j.b, (bw_event){.kind = BW_EVENT_TOOL_ON,
                                .tool = "click",
                                .port = "hand",
                                .driver = "hand 1",
                                .settings = ""});
    assert_int_equal(bench_state(&j.b), BW_STATE_NO_TOOL);
    assert_non_null(strstr(bench_prompt(&j.b).tool_text, "a typed torque is no proof"));
    bench_type(&j.b, "20 Nm");
    bench_recorded(&j.b, "");
    bench_told(&j.b, "a typed torque is no proof");
    bench_event(&j.b, BW_EVENT_TOOL_ON);
    pull_all(&j, 1);
    bench_pull(&j.b, 40, 40); /* with a trace a decision is one */
    bench_options(&j.b, "loosen replace another override");
    close_job(&j);
}

static void test_source_of_figures(void **state) {
    (void)state;
    job j;
    open_job(&j, HOOK_BOLTS);
    pull_all(&j, 3);
    bench_has_text(bench_last(&j.b, 0), BW_M_DOCUMENT, "Hook leaflet, revision 3");
    pull_all(&j, 2);
    bench_has_text(bench_last(&j.b, 0), BW_M_DOCUMENT, "Crane rules");
    close_job(&j);
    open_job(&j, HEAD MAIN "tighten{id = 't', say = 's', group = 'main', stages = {torque{Nm(20), "
                           "within = percent(5)}}}");
    pull_all(&j, 1);
    bench_has_text(bench_last(&j.b, 0), BW_M_DOCUMENT, "D");
    close_job(&j);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_class_A_wants_a_second_person),
    cmocka_unit_test(test_class_A_needs_a_trace),
    cmocka_unit_test(test_source_of_figures),
};

KIT_MAIN(tests)
