/* question_limits_test.c - question.c and unjudged.c at their limits: the smallest torques and
 * turns, ties, and a second between two peaks. */
#include "cmocka_all.h"

#include "judge/question.h"
#include "judge/unjudged.h"
#include "pen.h"

#include <math.h>
#include <string.h>

static const double hair = 1e-9;

static bw_question asked(const bw_question_facts *facts) {
    char text[BW_QUESTION_TEXT_MAX];
    return bw_judge_question(facts, text, sizeof text);
}

static bw_verdict came(double torque_Nm, uint32_t reasons) {
    return (bw_verdict){
        .outcome = BW_VERDICT_HIGH, .reasons = reasons, .has_judged = true, .judged_Nm = torque_Nm};
}

/* No hand pulls twice on purpose within a second. */
static void test_a_second_between(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    bw_verdict v = came(70, BW_REASON_ABOVE_LIMIT);
    bw_question_facts facts = {.stage = &stage, .verdict = &v, .peaks_apart_s = 1};
    assert_int_equal(asked(&facts), BW_QUESTION_TWO_PEAKS);
    facts.peaks_apart_s = 1 + hair;
    assert_int_equal(asked(&facts), BW_QUESTION_NONE);
}

/* Each of the reasons alone. */
static void test_whatever_the_reason(void **state) {
    (void)state;
    static const double other[] = {40};
    bw_stage stage = torque_stage(57, 60, 63);
    static const struct {
        bw_reason reason;
        bw_question twice, once;
    } rows[] = {
        {BW_REASON_BELOW_LIMIT, BW_QUESTION_OTHER_STAGE, BW_QUESTION_OTHER_STAGE},
        {BW_REASON_ABOVE_LIMIT, BW_QUESTION_TWO_PEAKS, BW_QUESTION_OTHER_STAGE},
        {BW_REASON_NO_TURN, BW_QUESTION_TWO_PEAKS, BW_QUESTION_NONE},
        {BW_REASON_SPIKE, BW_QUESTION_NONE, BW_QUESTION_NONE},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_verdict v = came(40, rows[i].reason);
        bw_question_facts facts = {&stage, &v, BW_UNIT_NM, other, 1, 0, 0.5};
        assert_int_equal(asked(&facts), rows[i].twice);
        facts.peaks_apart_s = INFINITY;
        assert_int_equal(asked(&facts), rows[i].once);
    }
}

/* Screwdrivers below 1 N.m: every torque above none is one. */
static void test_small_torques(void **state) {
    (void)state;
    static const double other[] = {0.5};
    bw_stage stage = torque_stage(0.76, 0.8, 0.84);
    bw_verdict v = came(0.5, BW_REASON_BELOW_LIMIT);
    bw_question_facts facts = {&stage, &v, BW_UNIT_NM, other, 1, 0, INFINITY};
    assert_int_equal(asked(&facts), BW_QUESTION_OTHER_STAGE);
    facts.other_n = 0;
    facts.last_setting_Nm = 0.5;
    assert_int_equal(asked(&facts), BW_QUESTION_LAST_SETTING);
}

/* Nothing can be told of a torque that did not come, or came the wrong way, whatever the others. */
static void test_no_torque(void **state) {
    (void)state;
    static const double other[] = {0, -40};
    static const double lows[] = {57, 0, -80};
    static const double torques[] = {0, -40};
    for (size_t i = 0; i < 6; i++) {
        bw_stage stage = torque_stage(lows[i / 2], 60, 63);
        bw_verdict v = came(torques[i % 2], BW_REASON_ABOVE_LIMIT);
        bw_question_facts facts = {&stage, &v, BW_UNIT_NM, other, 2, 0, INFINITY};
        char text[BW_QUESTION_TEXT_MAX] = "x";
        assert_int_equal(bw_judge_question(&facts, text, sizeof text), BW_QUESTION_NONE);
        assert_string_equal(text, "");
    }
}

/* A check has limits and nothing to aim for: no other torque can fit as well as its own. */
static void test_no_target(void **state) {
    (void)state;
    static const double other[] = {70};
    bw_stage stage = torque_stage(0, 0, 63);
    stage.kind = BW_STAGE_CHECK;
    bw_verdict v = came(70, BW_REASON_ABOVE_LIMIT);
    bw_question_facts facts = {&stage, &v, BW_UNIT_NM, other, 1, 70, INFINITY};
    assert_int_equal(asked(&facts), BW_QUESTION_NONE);
}

/* Of two that lie equally near, the stage's own step is asked about first. */
static void test_ties(void **state) {
    (void)state;
    static const double other[] = {40};
    bw_stage stage = torque_stage(57, 60, 63);
    bw_verdict v = came(40, BW_REASON_BELOW_LIMIT);
    bw_question_facts facts = {&stage, &v, BW_UNIT_NM, other, 1, 40, INFINITY};
    assert_int_equal(asked(&facts), BW_QUESTION_OTHER_STAGE);
}

/* ---- not judged ---- */

/* The least turn that a stage can ask for is a turn that must be seen. */
static void test_least_turn(void **state) {
    (void)state;
    static const struct {
        double least_turn_deg;
        const char *begins;
    } rows[] = {{0.5, "Not judged: turn, early rise"}, {0, "Not judged: early rise"}};
    for (size_t i = 0; i < 2; i++) {
        char text[BW_NOT_JUDGED_MAX];
        bw_stage stage = torque_stage(57, 60, 63);
        stage.least_turn_deg = rows[i].least_turn_deg;
        bw_verdict v = {.reasons = BW_REASON_NO_TRACE};
        (void)bw_judge_not_judged(&stage, &v, text, sizeof text);
        assert_int_equal(strncmp(text, rows[i].begins, strlen(rows[i].begins)), 0);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_second_between), cmocka_unit_test(test_whatever_the_reason),
        cmocka_unit_test(test_small_torques),    cmocka_unit_test(test_no_torque),
        cmocka_unit_test(test_no_target),        cmocka_unit_test(test_ties),
        cmocka_unit_test(test_least_turn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
