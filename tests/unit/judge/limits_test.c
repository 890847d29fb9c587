/* limits_test.c - limits are inclusive: one step of the wrench below, at, and above each limit of
 * each kind of stage, over the range of torques and angles that a workshop has. */
#include "cmocka_all.h"

#include "pen.h"
#include "trade/units.h"

#include <math.h>

static pen p;

typedef enum limit { LOW_NM, HIGH_NM, LOW_DEG, HIGH_DEG, LEAST_TURN, LIMITS } limit;

/* What stands on the wrong side of each limit. */
static const struct {
    const char *name;
    bool of_torque; /* else of the turn */
    bool is_low;
    bw_outcome outcome;
    uint32_t reason;
} limits[LIMITS] = {
    [LOW_NM] = {"low_Nm", true, true, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT},
    [HIGH_NM] = {"high_Nm", true, false, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT},
    [LOW_DEG] = {"low_deg", false, true, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT},
    [HIGH_DEG] = {"high_deg", false, false, BW_VERDICT_HIGH, BW_REASON_ANGLE_OVER},
    [LEAST_TURN] = {"least_turn", false, true, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN},
};

static void set_limit(bw_stage *stage, limit which, double value) {
    double *const member[LIMITS] = {&stage->low_Nm, &stage->high_Nm, &stage->low_deg,
                                    &stage->high_deg, &stage->least_turn_deg};
    *member[which] = value;
}

/* A pull that ends at this torque and turn; the joint moves from half the torque on. */
static bw_verdict pulled(const bw_stage *stage, double peak_Nm, double turn_deg) {
    bw_standing standing = {0};
    pen_take(&p, 100);
    if (stage->kind == BW_STAGE_ANGLE) {
        standing.torque_Nm = 0.5 * peak_Nm;
    }
    pen_to(&p, 0, 0, 0.2);
    pen_to(&p, stage->kind == BW_STAGE_TORQUE_ANGLE ? stage->snug_Nm : 0.5 * peak_Nm, 0, 0.3);
    pen_to(&p, peak_Nm, turn_deg, 0.5);
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 0, 0, 0.4);
    return judge_pen(stage, &standing, &p);
}

static bw_stage stage_of(bw_stage_kind kind, double torque_Nm) {
    bw_stage open = torque_stage(-INFINITY, torque_Nm, INFINITY);
    open.kind = kind;
    if (kind != BW_STAGE_TORQUE) {
        open.target_Nm = 0;
    }
    if (kind == BW_STAGE_TORQUE_ANGLE) {
        open.snug_Nm = 0.5 * torque_Nm;
    }
    return open;
}

static void check(bw_stage_kind kind, limit which, double torque_Nm, double turn_deg, double by) {
    bw_stage stage = stage_of(kind, torque_Nm);
    set_limit(&stage, which, limits[which].of_torque ? torque_Nm : turn_deg);
    for (int side = -1; side <= 1; side++) {
        double peak_Nm = torque_Nm + (limits[which].of_torque ? side * by : 0);
        double deg = turn_deg + (limits[which].of_torque ? 0 : side * by);
        bw_verdict v = pulled(&stage, peak_Nm, deg);
        bool fails = limits[which].is_low ? side < 0 : side > 0;
        bw_outcome outcome = fails ? limits[which].outcome : BW_VERDICT_PASS;
        uint32_t reasons = fails ? limits[which].reason : 0;
        if (v.outcome != outcome || v.reasons != reasons) {
            fail_msg("kind %d, %s = %g N.m or %g deg, %+d step: %s, reasons %x", kind,
                     limits[which].name, torque_Nm, turn_deg, side, bw_outcome_word(v.outcome),
                     v.reasons);
        }
    }
}

static const double torques_Nm[] = {1.5, 8.13, 25, 60, 61.01, 100.5, 339.99, 1200};
static const double turns_deg[] = {3, 12.5, 45, 60.1, 90, 179.9, 240, 719.7};

enum { N = 8 };

static void test_each_limit_of_each_kind(void **state) {
    (void)state;
    static const struct {
        bw_stage_kind kind;
        limit which;
    } rows[] = {
        {BW_STAGE_TORQUE, LOW_NM},         {BW_STAGE_TORQUE, HIGH_NM},
        {BW_STAGE_TORQUE, LEAST_TURN},     {BW_STAGE_TORQUE_ANGLE, LOW_NM},
        {BW_STAGE_TORQUE_ANGLE, HIGH_NM},  {BW_STAGE_TORQUE_ANGLE, LOW_DEG},
        {BW_STAGE_TORQUE_ANGLE, HIGH_DEG}, {BW_STAGE_ANGLE, LOW_NM},
        {BW_STAGE_ANGLE, HIGH_NM},         {BW_STAGE_ANGLE, LOW_DEG},
        {BW_STAGE_ANGLE, HIGH_DEG},
    };
    for (size_t r = 0; r < sizeof rows / sizeof rows[0]; r++) {
        double by = limits[rows[r].which].of_torque ? 0.01 : 0.1;
        for (size_t i = 0; i < N; i++) {
            for (size_t k = 0; k < N; k++) {
                check(rows[r].kind, rows[r].which, torques_Nm[i], turns_deg[k], by);
            }
        }
    }
}

/* Both limits of a band at once, and every step across it. */
static void test_across_the_band(void **state) {
    (void)state;
    bw_stage stage = torque_stage(57, 60, 63);
    bw_stage angle = angle_stage(86, 94);
    for (int step = -400; step <= 400; step++) {
        bw_verdict v = pulled(&stage, 60 + step / 100.0, 30);
        bw_outcome outcome = step < -300  ? BW_VERDICT_LOW
                             : step > 300 ? BW_VERDICT_HIGH
                                          : BW_VERDICT_PASS;
        assert_int_equal(v.outcome, outcome);
        v = pulled(&angle, 60, 90 + step / 50.0);
        outcome = step < -200 ? BW_VERDICT_LOW : step > 200 ? BW_VERDICT_HIGH : BW_VERDICT_PASS;
        assert_int_equal(v.outcome, outcome);
    }
}

/* A limit in lbf.ft met by a wrench that shows N.m: what the conversion rounds off is no fault, a
 * hundred-thousandth of a newton metre is. */
static void test_a_conversion_is_no_fault(void **state) {
    (void)state;
    for (int lbf_ft = 1; lbf_ft <= 300; lbf_ft++) {
        double exact_Nm = bw_to_base(lbf_ft, BW_UNIT_LBF_FT);
        double by_inch_Nm = bw_to_base(lbf_ft * 12.0, BW_UNIT_LBF_IN);
        bw_stage stage = torque_stage(exact_Nm, exact_Nm, exact_Nm);
        bw_verdict v = pulled(&stage, by_inch_Nm, 30);
        assert_int_equal(v.outcome, BW_VERDICT_PASS);
        v = pulled(&stage, exact_Nm + 1e-5, 30);
        assert_int_equal(v.outcome, BW_VERDICT_HIGH);
        v = pulled(&stage, exact_Nm - 1e-5, 30);
        assert_int_equal(v.outcome, BW_VERDICT_LOW);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each_limit_of_each_kind),
        cmocka_unit_test(test_across_the_band),
        cmocka_unit_test(test_a_conversion_is_no_fault),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
