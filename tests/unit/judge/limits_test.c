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

/* A mean of so many N.m over so much turn. */
static void draw_run(double torque_Nm, double turn_deg) {
    pen_to(&p, torque_Nm, 0, 0.3);
    pen_to(&p, torque_Nm, turn_deg, 1);
}

/* Straight on, and for the last third of the turn nearly flat; the end is the torque that is asked
 * for. */
static void draw_yield(double snug_Nm, double peak_Nm, double turn_deg) {
    pen_to(&p, snug_Nm, 0, 0.3);
    pen_to(&p, 0.99 * peak_Nm, turn_deg * 2 / 3, 0.5);
    pen_to(&p, peak_Nm, turn_deg / 3, 0.3);
}

/* A pull that ends at this torque and turn; the joint moves from half the torque on, one that is
 * checked at the torque itself. */
static bw_verdict pulled(const bw_stage *stage, double peak_Nm, double turn_deg) {
    bw_standing standing = {0};
    double half_Nm = 0.5 * peak_Nm;
    double sign = 1;
    pen_take(&p, 100);
    pen_to(&p, 0, 0, 0.2);
    switch (stage->kind) {
    case BW_STAGE_ANGLE:
        standing.torque_Nm = half_Nm;
        break;
    case BW_STAGE_TORQUE_ANGLE:
        half_Nm = stage->snug_Nm;
        break;
    case BW_STAGE_SLOT:
        half_Nm = stage->target_Nm;
        break;
    case BW_STAGE_CHECK:
        standing.torque_Nm = peak_Nm;
        half_Nm = turn_deg > 0 ? 0.9 * peak_Nm : peak_Nm;
        break;
    case BW_STAGE_BACK_OFF:
        standing.torque_Nm = peak_Nm;
        sign = -1;
        break;
    default:
        break;
    }
    if (stage->kind == BW_STAGE_YIELD) {
        draw_yield(stage->snug_Nm, peak_Nm, turn_deg);
    } else if (bw_stage_traits_of(stage->kind)->runs) {
        draw_run(peak_Nm, turn_deg);
    } else {
        pen_to(&p, sign * half_Nm, 0, 0.3);
        pen_to(&p, sign * peak_Nm, sign * turn_deg, 0.5);
    }
    pen_to(&p, 0, 0, 0.3);
    pen_to(&p, 0, 0, 0.4);
    return judge_pen(stage, &standing, &p);
}

static bw_stage stage_of(bw_stage_kind kind, double torque_Nm) {
    bw_stage open = torque_stage(-INFINITY, 0, INFINITY);
    open.kind = kind;
    switch (kind) {
    case BW_STAGE_TORQUE:
    case BW_STAGE_STRETCH:
        open.target_Nm = torque_Nm;
        break;
    case BW_STAGE_SLOT:
        open.target_Nm = 0.5 * torque_Nm;
        break;
    case BW_STAGE_YIELD:
        open.slope_share = 0.5;
        open.snug_Nm = 0.5 * torque_Nm;
        break;
    case BW_STAGE_TORQUE_ANGLE:
        open.snug_Nm = 0.5 * torque_Nm;
        break;
    default:
        break;
    }
    return open;
}

/* What is held against which limit, by kind. */
static const struct {
    bw_stage_kind kind;
    limit which;
    double least_deg; /* with less turn there is nothing to hold */
    double more_deg; /* so much on top of the turns of the table, where they are not what is held */
} rows[] = {
    {BW_STAGE_TORQUE, LOW_NM, 0, 0},         {BW_STAGE_TORQUE, HIGH_NM, 0, 0},
    {BW_STAGE_TORQUE, LEAST_TURN, 0, 0},     {BW_STAGE_TORQUE_ANGLE, LOW_NM, 0, 0},
    {BW_STAGE_TORQUE_ANGLE, HIGH_NM, 0, 0},  {BW_STAGE_TORQUE_ANGLE, LOW_DEG, 0, 0},
    {BW_STAGE_TORQUE_ANGLE, HIGH_DEG, 0, 0}, {BW_STAGE_ANGLE, LOW_NM, 0, 0},
    {BW_STAGE_ANGLE, HIGH_NM, 0, 0},         {BW_STAGE_ANGLE, LOW_DEG, 0, 0},
    {BW_STAGE_ANGLE, HIGH_DEG, 0, 0},        {BW_STAGE_BACK_OFF, LOW_DEG, 0, 0},
    {BW_STAGE_BACK_OFF, HIGH_DEG, 0, 0},     {BW_STAGE_YIELD, HIGH_DEG, 40, 0},
    {BW_STAGE_STRETCH, HIGH_NM, 0, 0},       {BW_STAGE_SLOT, LOW_NM, 0, 0},
    {BW_STAGE_SLOT, HIGH_NM, 0, 0},          {BW_STAGE_SLOT, HIGH_DEG, 0, 0},
    {BW_STAGE_CHECK, LOW_NM, 0, -1000}, /* it holds */
    {BW_STAGE_CHECK, HIGH_NM, 0, -1000},     {BW_STAGE_CHECK, HIGH_DEG, 0, 0},
    {BW_STAGE_PREVAILING, LOW_NM, 0, 20},    {BW_STAGE_PREVAILING, HIGH_NM, 0, 20},
    {BW_STAGE_PREVAILING, LEAST_TURN, 6, 0}, {BW_STAGE_ROTATING, LOW_NM, 0, 20},
    {BW_STAGE_ROTATING, HIGH_NM, 0, 20},     {BW_STAGE_ROTATING, LEAST_TURN, 6, 0},
    {BW_STAGE_CREEP, LOW_NM, 0, 20},         {BW_STAGE_CREEP, HIGH_NM, 0, 20},
    {BW_STAGE_CREEP, LEAST_TURN, 6, 0},
};

enum { ROWS = sizeof rows / sizeof rows[0] };

/* The kind's other limits, each met by one step: none of them decides. */
static void close_others(bw_stage *stage, size_t row, double torque_Nm, double turn_deg) {
    for (size_t r = 0; r < ROWS; r++) {
        limit which = rows[r].which;
        /* A check that moves does so a tenth earlier. */
        bool earlier = which == LOW_NM && stage->kind == BW_STAGE_CHECK;
        if (rows[r].kind != stage->kind || r == row || earlier) {
            continue;
        }
        double by = limits[which].of_torque ? 0.02 : 0.2;
        double at = limits[which].of_torque ? torque_Nm : turn_deg;
        set_limit(stage, which, limits[which].is_low ? at - by : at + by);
    }
}

static void check(size_t row, bool closed, double torque_Nm, double turn_deg, double by) {
    bw_stage_kind kind = rows[row].kind;
    limit which = rows[row].which;
    bw_stage stage = stage_of(kind, torque_Nm);
    if (closed) {
        close_others(&stage, row, torque_Nm, turn_deg);
    }
    set_limit(&stage, which, limits[which].of_torque ? torque_Nm : turn_deg);
    bool runs_short = which == LEAST_TURN && kind != BW_STAGE_TORQUE;
    for (int side = -1; side <= 1; side++) {
        double peak_Nm = torque_Nm + (limits[which].of_torque ? side * by : 0);
        double deg = turn_deg + (limits[which].of_torque ? 0 : side * by);
        bw_verdict v = pulled(&stage, peak_Nm, deg);
        bool fails = limits[which].is_low ? side < 0 : side > 0;
        bw_outcome outcome = !fails       ? BW_VERDICT_PASS
                             : runs_short ? BW_VERDICT_LOW
                                          : limits[which].outcome;
        uint32_t reasons = !fails       ? 0
                           : runs_short ? (uint32_t)BW_REASON_ANGLE_SHORT
                                        : limits[which].reason;
        if (v.outcome != outcome || v.reasons != reasons) {
            fail_msg("%s, %s = %g N.m or %g deg, %+d step, closed %d: %s, reasons %x",
                     bw_stage_traits_of(kind)->word, limits[which].name, torque_Nm, turn_deg, side,
                     closed, bw_outcome_word(v.outcome), v.reasons);
        }
    }
}

static const double torques_Nm[] = {1.5, 8.13, 25, 60, 61.01, 100.5, 339.99, 1200};
static const double turns_deg[] = {3, 12.5, 45, 60.1, 90, 179.9, 240, 719.7};

enum { N = 8 };

static void test_each_limit_of_each_kind(void **state) {
    (void)state;
    for (size_t r = 0; r < ROWS; r++) {
        double by = limits[rows[r].which].of_torque ? 0.01 : 0.1;
        for (size_t i = 0; i < N; i++) {
            for (size_t k = 0; k < N; k++) {
                double turn_deg = fmax(turns_deg[k] + rows[r].more_deg, 0);
                if (turn_deg >= rows[r].least_deg) {
                    check(r, false, torques_Nm[i], turn_deg, by);
                    check(r, true, torques_Nm[i], turn_deg, by);
                }
            }
        }
    }
}

/* Where the trace says itself what is judged, the limit goes by it instead of the trace by the
 * limit: the onset of yield, the first movement. */
static void test_what_the_curve_says(void **state) {
    (void)state;
    static const bw_stage_kind kinds[] = {BW_STAGE_YIELD, BW_STAGE_CHECK};
    for (size_t k = 0; k < 2; k++) {
        for (size_t i = 0; i < N; i++) {
            bw_stage stage = stage_of(kinds[k], torques_Nm[i]);
            double judged_Nm = pulled(&stage, torques_Nm[i], 45).judged_Nm;
            assert_true(judged_Nm > 0.85 * torques_Nm[i] && judged_Nm < torques_Nm[i]);
            for (int side = -1; side <= 1; side++) {
                bw_stage low = stage;
                low.low_Nm = judged_Nm - side * 0.01;
                bw_verdict v = pulled(&low, torques_Nm[i], 45);
                assert_int_equal(v.outcome, side < 0 ? BW_VERDICT_LOW : BW_VERDICT_PASS);
                assert_int_equal(v.reasons, side < 0 ? BW_REASON_BELOW_LIMIT : 0);
                assert_false(v.more);
                bw_stage high = stage;
                high.high_Nm = (k == 0 ? judged_Nm : torques_Nm[i]) - side * 0.01;
                v = pulled(&high, torques_Nm[i], 45);
                assert_int_equal(v.outcome, side > 0 ? BW_VERDICT_HIGH : BW_VERDICT_PASS);
                assert_int_equal(v.reasons, side > 0 ? BW_REASON_ABOVE_LIMIT : 0);
            }
        }
    }
}

/* A gauge of a micrometre. */
static void test_stretch_measured(void **state) {
    (void)state;
    bw_stage stage = stage_of(BW_STAGE_STRETCH, 50);
    bw_verdict pull = {.outcome = BW_VERDICT_PASS};
    for (int low_um = 1; low_um < 400; low_um += 7) {
        for (int free_um = 20000; free_um < 90000; free_um += 6789) {
            stage.low_mm = low_um / 1000.0;
            stage.high_mm = (low_um + 40) / 1000.0;
            for (int um = -1; um <= 41; um++) {
                bw_seen seen = {free_um / 1000.0, (free_um + low_um + um) / 1000.0, false};
                bw_verdict v = bw_judge_seen(&stage, &pull, &seen);
                bw_outcome outcome = um < 0    ? BW_VERDICT_LOW
                                     : um > 40 ? BW_VERDICT_HIGH
                                               : BW_VERDICT_PASS;
                assert_int_equal(v.outcome, outcome);
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
        cmocka_unit_test(test_each_limit_of_each_kind),  cmocka_unit_test(test_what_the_curve_says),
        cmocka_unit_test(test_stretch_measured),         cmocka_unit_test(test_across_the_band),
        cmocka_unit_test(test_a_conversion_is_no_fault),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
