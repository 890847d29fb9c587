/* question_test.c - what numbers ask by themselves, peaks of a pull, and what was not judged. */
#include "cmocka_all.h"

#include "judge/peaks.h"
#include "judge/question.h"
#include "judge/unjudged.h"
#include "pen.h"

#include <math.h>
#include <string.h>

/* ---- questions ---- */

static const double none[] = {0};

/* A torque stage of 60 N.m within 5 %, in which this came. */
typedef struct case_of {
    double torque_Nm;
    uint32_t reasons;
    bw_unit unit;
    double other_Nm[2];
    double last_Nm;
    double apart_s;
} case_of;

static bw_question asked(const bw_stage *stage, const case_of *c, char *out, size_t size) {
    bw_verdict v = {.outcome = BW_VERDICT_HIGH,
                    .reasons = c->reasons,
                    .has_judged = true,
                    .judged_Nm = c->torque_Nm};
    bw_question_facts facts = {.stage = stage,
                               .verdict = &v,
                               .unit = c->unit,
                               .other_Nm = c->other_Nm,
                               .other_n = 2,
                               .last_setting_Nm = c->last_Nm,
                               .peaks_apart_s = c->apart_s > 0 ? c->apart_s : INFINITY};
    return bw_judge_question(&facts, out, size);
}

enum { BELOW = BW_REASON_BELOW_LIMIT, ABOVE = BW_REASON_ABOVE_LIMIT, STUCK = BW_REASON_NO_TURN };

/* Each question once, at and one step beyond the tolerance to either side. */
static const struct {
    case_of c;
    bw_question question;
    const char *text;
} rows[] = {
    /* 1 lbf.ft = 1.3558179483314004 N.m and so on: trade/units.c. */
    {{81.3490769, ABOVE, BW_UNIT_NM, {0}, 0, 0},
     BW_QUESTION_OTHER_UNIT,
     "81.3 N·m is the figure asked for, in another unit: is the wrench set to lbf·ft?"},
    {{85.41653, ABOVE, BW_UNIT_NM, {0}, 0, 0},
     BW_QUESTION_OTHER_UNIT,
     "85.4 N·m is the figure asked for, in another unit: is the wrench set to lbf·ft?"},
    {{85.43, ABOVE, BW_UNIT_NM, {0}, 0, 0}, BW_QUESTION_NONE, ""},
    {{77.28163, ABOVE, BW_UNIT_NM, {0}, 0, 0},
     BW_QUESTION_OTHER_UNIT,
     "77.3 N·m is the figure asked for, in another unit: is the wrench set to lbf·ft?"},
    {{77.27, ABOVE, BW_UNIT_NM, {0}, 0, 0}, BW_QUESTION_NONE, ""},
    {{588.4, ABOVE, BW_UNIT_NM, {0}, 0, 0},
     BW_QUESTION_OTHER_UNIT,
     "588.4 N·m is the figure asked for, in another unit: is the wrench set to kgf·m?"},
    {{6.779, BELOW, BW_UNIT_NM, {0}, 0, 0},
     BW_QUESTION_OTHER_UNIT,
     "6.8 N·m is the figure asked for, in another unit: is the wrench set to lbf·in?"},
    {{6.01, BELOW, BW_UNIT_NM, {0}, 0, 0},
     BW_QUESTION_OTHER_UNIT,
     "6.0 N·m is the figure asked for, in another unit: is the wrench set to dN·m?"},
    {{5.88, BELOW, BW_UNIT_NM, {0}, 0, 0},
     BW_QUESTION_OTHER_UNIT,
     "5.9 N·m is the figure asked for, in another unit: is the wrench set to kgf·cm?"},
    /* Written in lbf.ft: a wrench in N.m gives too little, one in lbf.in a twelfth. */
    {{44.2537, BELOW, BW_UNIT_LBF_FT, {0}, 0, 0},
     BW_QUESTION_OTHER_UNIT,
     "32.6 lbf·ft is the figure asked for, in another unit: is the wrench set to N·m?"},
    {{5, BELOW, BW_UNIT_LBF_FT, {0}, 0, 0},
     BW_QUESTION_OTHER_UNIT,
     "3.7 lbf·ft is the figure asked for, in another unit: is the wrench set to lbf·in?"},
    {{42, BELOW, BW_UNIT_NM, {0, 40}, 0, 0},
     BW_QUESTION_OTHER_STAGE,
     "42.0 N·m is the torque of another stage: is the wrench set for that one?"},
    {{42.01, BELOW, BW_UNIT_NM, {0, 40}, 0, 0}, BW_QUESTION_NONE, ""},
    {{38, BELOW, BW_UNIT_NM, {90, 40}, 0, 0},
     BW_QUESTION_OTHER_STAGE,
     "38.0 N·m is the torque of another stage: is the wrench set for that one?"},
    {{37.99, BELOW, BW_UNIT_NM, {90, 40}, 0, 0}, BW_QUESTION_NONE, ""},
    {{25, BELOW, BW_UNIT_NM, {0}, 25, 0},
     BW_QUESTION_LAST_SETTING,
     "25.0 N·m is the torque of the joint before: is the wrench still set to it?"},
    {{23.74, BELOW, BW_UNIT_NM, {0}, 25, 0}, BW_QUESTION_NONE, ""},
    /* The one that lies nearest. */
    {{80, ABOVE, BW_UNIT_NM, {79, 0}, 83, 0},
     BW_QUESTION_OTHER_STAGE,
     "80.0 N·m is the torque of another stage: is the wrench set for that one?"},
    {{82.9, ABOVE, BW_UNIT_NM, {79, 0}, 83, 0},
     BW_QUESTION_LAST_SETTING,
     "82.9 N·m is the torque of the joint before: is the wrench still set to it?"},
    /* Another one that this stage would take for its own asks nothing. */
    {{64, ABOVE, BW_UNIT_NM, {63, 57}, 60, 0}, BW_QUESTION_NONE, ""},
    {{64, ABOVE, BW_UNIT_NM, {63.1, 0}, 0, 0},
     BW_QUESTION_OTHER_STAGE,
     "64.0 N·m is the torque of another stage: is the wrench set for that one?"},
    {{70, ABOVE, BW_UNIT_NM, {0}, 0, 0.7},
     BW_QUESTION_TWO_PEAKS,
     "70.0 N·m came with two peaks within a second: was the wrench pulled again after its click?"},
    {{60, STUCK, BW_UNIT_NM, {0}, 0, 1.0},
     BW_QUESTION_TWO_PEAKS,
     "60.0 N·m came with two peaks within a second: was the wrench pulled again after its click?"},
    {{70, ABOVE, BW_UNIT_NM, {0}, 0, 1.001}, BW_QUESTION_NONE, ""},
    {{40, BELOW, BW_UNIT_NM, {0}, 0, 0.5}, BW_QUESTION_NONE, ""},
    /* Nothing came, or nothing is amiss with the torque. */
    {{0, BELOW, BW_UNIT_NM, {0}, 0, 0}, BW_QUESTION_NONE, ""},
    {{81.3, STUCK, BW_UNIT_NM, {81, 0}, 81, 0}, BW_QUESTION_NONE, ""},
    {{81.3, 0, BW_UNIT_NM, {81, 0}, 81, 0.5}, BW_QUESTION_NONE, ""},
    {{81.3, BW_REASON_STEEP, BW_UNIT_NM, {81, 0}, 81, 0.5}, BW_QUESTION_NONE, ""},
};

static void test_each_question(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    size_t seen[BW_QUESTION_COUNT] = {0};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[BW_QUESTION_TEXT_MAX];
        bw_question question = asked(&stage, &rows[i].c, text, sizeof text);
        seen[question]++;
        if (question != rows[i].question || strcmp(text, rows[i].text) != 0) {
            fail_msg("row %zu: %d, %s", i, question, text);
        }
    }
    for (size_t i = 0; i < BW_QUESTION_COUNT; i++) {
        assert_true(seen[i] > 0);
    }
}

/* Whatever the wrench, joint and unit: a torque inside of its limits is never asked about. */
static void test_never_on_sound_values(void **state) {
    (void)state;
    static pen p;
    for (double target = 5; target < 400; target *= 1.7) {
        bw_stage stage = torque_stage(0.95 * target, target, 1.05 * target);
        for (double share = 0.95; share <= 1.0501; share += 0.01) {
            pen_take(&p, 100);
            pen_pull(&p, target / 3, fmin(share, 1.05) * target, 30);
            bw_verdict v = judge_pen(&stage, NULL, &p);
            assert_int_equal(v.outcome, BW_VERDICT_PASS);
            for (bw_unit unit = BW_UNIT_NM; unit <= BW_UNIT_DNM; unit++) {
                double others[] = {target, 0.9 * target, 1.1 * target};
                bw_question_facts facts = {&stage, &v, unit, others, 3, 1.08 * target, 0.2};
                char text[BW_QUESTION_TEXT_MAX] = "x";
                assert_int_equal(bw_judge_question(&facts, text, sizeof text), BW_QUESTION_NONE);
                assert_string_equal(text, "");
            }
        }
    }
}

/* Where the stage does not say how near its torque is wanted, nothing can be told of another. */
static void test_stages_without_a_tolerance(void **state) {
    (void)state;
    char text[BW_QUESTION_TEXT_MAX];
    case_of c = {81.3, ABOVE, BW_UNIT_NM, {0}, 0, 0};
    bw_stage stage = torque_stage(-INFINITY, 60, 63);
    assert_int_equal(asked(&stage, &c, text, sizeof text), BW_QUESTION_NONE);
    stage = torque_stage(57, 60, INFINITY);
    assert_int_equal(asked(&stage, &c, text, sizeof text), BW_QUESTION_NONE);
    stage = torque_stage(57, 0, 63);
    assert_int_equal(asked(&stage, &c, text, sizeof text), BW_QUESTION_NONE);
}

/* Without a judged torque it is the pull's peak that is asked about. */
static void test_peak_where_no_torque_was_judged(void **state) {
    (void)state;
    char text[BW_QUESTION_TEXT_MAX];
    bw_stage stage = torque_stage(57, 60, 63);
    bw_verdict v = {.outcome = BW_VERDICT_HIGH, .reasons = ABOVE, .pull_peak_Nm = 81.3};
    bw_question_facts facts = {&stage, &v, BW_UNIT_NM, none, 0, 0, INFINITY};
    assert_int_equal(bw_judge_question(&facts, text, sizeof text), BW_QUESTION_OTHER_UNIT);
}

static void test_words(void **state) {
    (void)state;
    static const char *const words[] = {NULL, "other_unit", "other_stage", "last_setting",
                                        "two_peaks"};
    for (size_t i = 0; i < BW_QUESTION_COUNT; i++) {
        const char *word = bw_question_word((bw_question)i);
        assert_true(words[i] == NULL ? word == NULL : strcmp(word, words[i]) == 0);
    }
    assert_null(bw_question_word(BW_QUESTION_COUNT));
}

/* ---- peaks ---- */

static double apart(const double (*points)[2], size_t n, double least_Nm, uint32_t *peaks_n) {
    bw_peaks peaks;
    bw_peaks_begin(&peaks, least_Nm);
    for (size_t i = 0; i < n; i++) {
        bw_sample sample = {.time_s = points[i][0], .torque_Nm = points[i][1]};
        bw_peaks_take(&peaks, &sample);
    }
    *peaks_n = peaks.n;
    return bw_peaks_apart_s(&peaks);
}

static void test_peaks(void **state) {
    (void)state;
    /* Two above 57, one below between them, a dip that is none, and the highest of each. */
    static const double points[][2] = {{0, 0},    {1, 30},   {2, 57},     {2.1, 61}, {2.2, 55},
                                       {2.3, 61}, {2.4, 60}, {2.5, 28.5}, {2.6, 50}, {2.7, 0},
                                       {2.8, 58}, {2.9, 62}, {3.0, 0}};
    uint32_t n = 0;
    close_to(apart(points, 13, 57, &n), 2.9 - 2.1, 1e-12);
    assert_int_equal(n, 2);
    assert_true(isinf(apart(points, 9, 57, &n)));
    assert_int_equal(n, 1);
    assert_true(isinf(apart(points, 13, 62.5, &n)));
    assert_int_equal(n, 0);
    assert_true(isinf(apart(points, 13, 62, &n)));
    assert_int_equal(n, 1);
    /* No limit, no peaks. */
    static const double none_Nm[] = {0, -1, -INFINITY, INFINITY};
    for (size_t i = 0; i < 4; i++) {
        assert_true(isinf(apart(points, 13, none_Nm[i], &n)));
        assert_int_equal(n, 0);
    }
}

static void test_peaks_of_a_pull(void **state) {
    (void)state;
    static pen p;
    static const bw_standing loose = {0};
    bw_stage stages[] = {torque_stage(57, 60, 63), angle_stage(20, 40)};
    for (size_t i = 0; i < 2; i++) {
        bw_judge judge;
        pen_take(&p, 100);
        pen_to(&p, 0, 0, 0.3);
        pen_to(&p, 60, 30, 0.6);
        pen_to(&p, 10, 0, 0.2);
        pen_to(&p, 64, 1, 0.3);
        pen_to(&p, 0, 0, 0.2);
        pen_to(&p, 0, 0, 0.4);
        bw_judge_begin(&judge, &stages[i], &loose, &(bw_terms){0});
        assert_true(isinf(bw_judge_peaks_apart_s(&judge)));
        for (size_t k = 0; k < p.n; k++) {
            (void)bw_judge_sample(&judge, &p.sample[k]);
        }
        if (i == 0) {
            close_to(bw_judge_peaks_apart_s(&judge), 0.5, 1e-9);
        } else {
            assert_true(isinf(bw_judge_peaks_apart_s(&judge)));
        }
    }
}

/* ---- not judged ---- */

static const char *not_judged(bw_stage_kind kind, double least_turn_deg, uint32_t reasons,
                              bool has_turn) {
    static char text[BW_NOT_JUDGED_MAX];
    bw_stage stage = angle_stage(-INFINITY, INFINITY);
    stage.kind = kind;
    stage.least_turn_deg = least_turn_deg;
    bw_verdict v = {.reasons = reasons, .has_turn = has_turn};
    assert_ptr_equal(bw_judge_not_judged(&stage, &v, text, sizeof text), text);
    return text;
}

static void test_not_judged(void **state) {
    (void)state;
    static const struct {
        bw_stage_kind kind;
        double least_turn_deg;
        const char *result; /* of a bare result without a turn */
    } kinds[] = {
        {BW_STAGE_TORQUE, 0,
         "Not judged: early rise, yielding, torque drop, turning back, slope beside the others."},
        {BW_STAGE_TORQUE, 5,
         "Not judged: turn, early rise, yielding, torque drop, turning back, slope beside the "
         "others."},
        {BW_STAGE_TORQUE_ANGLE, 0,
         "Not judged: turn, early rise, torque drop, turning back, slope beside the others."},
        {BW_STAGE_ANGLE, 0,
         "Not judged: turn, torque drop, turning back, slope beside the others."},
        {BW_STAGE_BACK_OFF, 0, "Not judged: turn, whether it came loose."},
        {BW_STAGE_YIELD, 0,
         "Not judged: turn, where it yields, early rise, torque drop, turning back, slope beside "
         "the others."},
        {BW_STAGE_STRETCH, 0,
         "Not judged: early rise, torque drop, turning back, slope beside the others."},
        {BW_STAGE_SLOT, 0,
         "Not judged: early rise, yielding, torque drop, turning back, slope beside the others."},
        {BW_STAGE_CHECK, 0, "Not judged: its first movement."},
        {BW_STAGE_PREVAILING, 360, "Not judged: turn, the torque while it turns."},
        {BW_STAGE_ROTATING, 0, "Not judged: the torque while it turns."},
        {BW_STAGE_CREEP, 360, "Not judged: turn, the torque while it turns."},
    };
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        bw_stage_kind kind = kinds[i].kind;
        double least = kinds[i].least_turn_deg;
        assert_string_equal(not_judged(kind, least, BW_REASON_NO_TRACE, false), kinds[i].result);
        /* A trace without an angle says no more than a result. */
        assert_string_equal(not_judged(kind, least, 0, false), kinds[i].result);
        assert_string_equal(not_judged(kind, least, 0, true), "");
        /* A turn that came with the result is judged, what its trace would show is not. */
        const char *text = not_judged(kind, least, BW_REASON_NO_TRACE, true);
        assert_null(strstr(text, "turn,"));
        assert_true(strncmp(text, "Not judged: ", 12) == 0);
    }
    /* A turn of which a part was lost; the rest of the trace was there. */
    assert_string_equal(not_judged(BW_STAGE_ANGLE, 0, BW_REASON_GAP, false), "Not judged: turn.");
    assert_string_equal(not_judged(BW_STAGE_TORQUE, 0, BW_REASON_GAP, false), "");
}

/* The longest sentence fits. */
static void test_not_judged_fits(void **state) {
    (void)state;
    const char *text = not_judged(BW_STAGE_YIELD, 5, BW_REASON_NO_TRACE, false);
    assert_true(strlen(text) + 1 < BW_NOT_JUDGED_MAX);
    assert_int_equal(text[strlen(text) - 1], '.');
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each_question),
        cmocka_unit_test(test_never_on_sound_values),
        cmocka_unit_test(test_stages_without_a_tolerance),
        cmocka_unit_test(test_peak_where_no_torque_was_judged),
        cmocka_unit_test(test_words),
        cmocka_unit_test(test_peaks),
        cmocka_unit_test(test_peaks_of_a_pull),
        cmocka_unit_test(test_not_judged),
        cmocka_unit_test(test_not_judged_fits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
