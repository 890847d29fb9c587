/* wrench_test.c - what the wrench brings to a verdict: its uncertainty, and questions about how it
 * was set and pulled. */
#include "cmocka_all.h"

#include "bench.h"
#include "kind_bench.h"

#include <math.h>
#include <string.h>

/* ---- the wrench and the rule ---- */

static void test_what_is_known_of_the_wrench(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bw_terms terms = bw_session_terms(b.session);
    assert_true(terms.range_high_Nm == 0 && terms.uncertainty_share == 0);
    assert_true(kind_lacks(bench_last(&b, 0), BW_M_RANGE_HIGH_NM));
    bench_send(&b, (bw_event){.kind = BW_EVENT_TOOL_ON,
                              .tool = "wrench 200",
                              .port = "sim",
                              .driver = "line 1",
                              .tool_terms = {.range_low_Nm = 20,
                                             .range_high_Nm = 200,
                                             .uncertainty_share = 0.015,
                                             .uncertainty_deg = 1.5}});
    assert_string_equal(bench_said(&b), ""); /* the rule is simple: nothing is missing */
    const bw_entry *e = bench_last(&b, 0);
    assert_true(kind_number(e, BW_M_RANGE_LOW_NM) == 20 &&
                kind_number(e, BW_M_RANGE_HIGH_NM) == 200);
    assert_true(kind_number(e, BW_M_UNCERTAINTY_SHARE) == 0.015);
    assert_true(kind_number(e, BW_M_UNCERTAINTY_DEG) == 1.5);
    bench_event(&b, BW_EVENT_TOOL_LOST);
    bench_event(&b, BW_EVENT_TOOL_BACK);
    b.session = bench_fold(&b, b.entry_n);
    terms = bw_session_terms(b.session);
    assert_true(terms.range_low_Nm == 20 && terms.range_high_Nm == 200);
    assert_true(terms.uncertainty_share == 0.015 && terms.uncertainty_deg == 1.5);
    assert_int_equal(terms.rule, BW_RULE_SIMPLE);
    bw_standing standing = bw_session_standing(b.session);
    bw_verdict v = bw_judge_result(bw_session_stage(b.session), &standing, &terms, 30, true, 30);
    bench_begin(&b);
    bench_end(&b, &v, true);
    e = bench_last(&b, 0);
    assert_true(fabs(kind_number(e, BW_M_UNCERTAINTY_NM) - 0.45) < 1e-9);
    assert_true(kind_number(e, BW_M_UNCERTAINTY_DEG) == 1.5);
    bench_told(&b, "Not judged: ");    /* a bare result */
    bench_event(&b, BW_EVENT_TOOL_ON); /* another one, of which nothing is known */
    assert_true(bw_session_terms(b.session).range_high_Nm == 0);
    bench_close(&b);
}

static void test_guarded_rule(void **state) {
    (void)state;
    bw_plan plan = *bench_kinds_plan();
    plan.rule = BW_RULE_GUARDED;
    bench b;
    bench_open_plan(&b, &plan);
    bench_person(&b, "A. Lund");
    static const struct {
        double share, angle_deg;
        const char *told;
    } rows[] = {{0, 0, "--wrench PORT,uncertainty=PER_CENT"},
                {0, 1, "--wrench PORT,uncertainty=PER_CENT"},
                {0.01, 0, "--wrench PORT,angle_uncertainty=DEGREES"},
                {0.01, 1, ""}};
    for (size_t i = 0; i < 4; i++) {
        bench_send(&b, (bw_event){.kind = BW_EVENT_TOOL_ON,
                                  .tool = "wrench 60",
                                  .port = "sim",
                                  .driver = "line 1",
                                  .tool_terms = {.uncertainty_share = rows[i].share,
                                                 .uncertainty_deg = rows[i].angle_deg}});
        bench_told(&b, rows[i].told);
        assert_int_equal(bench_said(&b)[0] == '\0', i == 3);
        assert_null(strchr(bench_said(&b), '\n'));
    }
    assert_int_equal(bw_session_terms(b.session).rule, BW_RULE_GUARDED);
    bench_verdict(&b, (bw_verdict){.outcome = BW_VERDICT_SUSPECT,
                                   .reasons = BW_REASON_INSIDE_GUARD,
                                   .judged_Nm = 1.01,
                                   .uncertainty_Nm = 0.05});
    bench_has_text(bench_last(&b, 0), BW_M_RULE, "guarded");
    assert_true(kind_number(bench_last(&b, 0), BW_M_UNCERTAINTY_NM) == 0.05);
    bench_told(&b, "nearer to one than this wrench is sure of");
    bench_close(&b);
}

/* ---- questions ---- */

static void test_questions(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_pull(&b, 60, 30);
    bench_told(&b, "is the torque of another stage");
    assert_non_null(strstr(bw_entry_text(bench_last(&b, 0), BW_M_QUESTION, ""), "another stage"));
    bench_type(&b, "loosen");
    bench_pull(&b, 40.7, 30);
    bench_told(&b, "lbf·ft");
    bench_type(&b, "loosen");
    bench_pull(&b, 45, 30);
    assert_true(kind_lacks(bench_last(&b, 0), BW_M_QUESTION));
    bench_type(&b, "loosen");
    bw_verdict v = {.outcome = BW_VERDICT_HIGH,
                    .reasons = BW_REASON_ABOVE_LIMIT,
                    .peak_Nm = 35,
                    .pull_peak_Nm = 35,
                    .pulls = 1};
    static const double apart_s[] = {0.6, 1.5, 0, INFINITY};
    for (size_t i = 0; i < 4; i++) {
        bench_begin(&b);
        bench_send(&b, (bw_event){.kind = BW_EVENT_PULL_ENDED,
                                  .verdict = &v,
                                  .complete = true,
                                  .peaks_apart_s = apart_s[i],
                                  .trace_hex = "00",
                                  .raw_hex = "00",
                                  .tool = "wrench 200"});
        assert_int_equal(strstr(bench_said(&b), "two peaks") != NULL, i == 0);
        bench_type(&b, "loosen");
    }
    bench_work(&b, RODS);
    bench_pull(&b, 60, 30); /* still set for the caps */
    bench_told(&b, "is the torque of the joint before");
    bench_type(&b, "loosen");
    bench_pull(&b, 60, 30);
    bench_told(&b, "is the torque of the joint before");
    bench_close(&b);
}

static void test_second_click(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_good_pull(&b);
    bw_verdict v = {.pull_peak_Nm = 30, .peak_Nm = 30, .pulls = 1};
    bench_send(&b, (bw_event){.kind = BW_EVENT_PULL_ENDED,
                              .verdict = &v,
                              .complete = true,
                              .too_soon = true,
                              .trace_hex = "00",
                              .raw_hex = "00",
                              .tool = "wrench 200"});
    bench_recorded(&b, "pull");
    assert_false(bw_entry_flag(bench_last(&b, 0), BW_M_ASKED, true));
    bench_told(&b, "within a second of the accepted one");
    assert_non_null(strstr(bw_entry_text(bench_last(&b, 0), BW_M_QUESTION, ""), "within a second"));
    bench_asks(&b, "2 left", 1);
    bench_close(&b);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_is_known_of_the_wrench),
        cmocka_unit_test(test_guarded_rule),
        cmocka_unit_test(test_questions),
        cmocka_unit_test(test_second_click),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
