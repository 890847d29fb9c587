/* good.c - see good.h. */
#include "good.h"

#include <math.h>

/* Limits: N.m, degrees, mm; those that a kind does not use are open. */
static const struct {
    bw_stage_kind kind;
    double stands_Nm;
    double snug_Nm, target_Nm, low_Nm, high_Nm;
    double low_deg, high_deg, least_turn_deg;
    double move_Nm, peak_Nm, turn_deg; /* what is drawn: it turns between the two torques */
} cases[GOOD_CASES] = {
    {BW_STAGE_TORQUE, 0, 0, 60, 57, 63, -INFINITY, INFINITY, 5, 10, 60, 30},
    {BW_STAGE_TORQUE_ANGLE, 0, 25, 0, -INFINITY, INFINITY, 86, 94, 0, 25, 70, 90},
    {BW_STAGE_ANGLE, 40, 0, 0, -INFINITY, INFINITY, 86, 94, 0, 44, 75, 90},
    {BW_STAGE_BACK_OFF, 50, 0, 0, -INFINITY, INFINITY, 75, 105, 0, 45, 20, 90},
    {BW_STAGE_YIELD, 0, 40, 0, 70, 110, -INFINITY, 120, 0, 40, 90, 33},
    {BW_STAGE_STRETCH, 0, 0, 45, -INFINITY, 60, -INFINITY, INFINITY, 0, 10, 50, 40},
    {BW_STAGE_SLOT, 0, 0, 60, 60, 90, -INFINITY, 60, 0, 60, 75, 30},
    {BW_STAGE_CHECK, 60, 0, 0, 50, 75, -INFINITY, 5, 0, 60, 62, 3},
    {BW_STAGE_PREVAILING, 0, 0, 0, 2, 6, -INFINITY, INFINITY, 360, 4, 4, 380},
    {BW_STAGE_ROTATING, 0, 0, 0, 2, 6, -INFINITY, INFINITY, 360, 4, 4, 380},
    {BW_STAGE_CREEP, 80, 0, 0, 2, 6, -INFINITY, INFINITY, 360, 4, 4, 380},
    {BW_STAGE_BACK_OFF, 50, 0, 0, -INFINITY, INFINITY, -INFINITY, INFINITY, 0, 45, 0, 60},
};

static bool until_loose(size_t which) {
    return which >= BW_STAGE_KIND_COUNT;
}

good good_case(size_t which) {
    return (good){.stage = {.kind = cases[which].kind,
                            .until_loose = until_loose(which),
                            .snug_Nm = cases[which].snug_Nm,
                            .target_Nm = cases[which].target_Nm,
                            .low_Nm = cases[which].low_Nm,
                            .high_Nm = cases[which].high_Nm,
                            .low_deg = cases[which].low_deg,
                            .high_deg = cases[which].high_deg,
                            .least_turn_deg = cases[which].least_turn_deg,
                            .slope_share = 0.5,
                            .target_mm = 0.15,
                            .low_mm = 0.13,
                            .high_mm = 0.17},
                  .standing = {.torque_Nm = cases[which].stands_Nm}};
}

double good_sign(size_t which) {
    return cases[which].kind == BW_STAGE_BACK_OFF ? -1 : 1;
}

void good_pull(pen *p, size_t which, double at, double far) {
    double sign = good_sign(which);
    double move_Nm = sign * at * cases[which].move_Nm;
    double peak_Nm = sign * at * cases[which].peak_Nm;
    double turn_deg = sign * far * cases[which].turn_deg;
    if (cases[which].kind == BW_STAGE_TORQUE_ANGLE) {
        move_Nm = cases[which].move_Nm; /* where the turn counts from */
    }
    double before_deg = 0;
    if (cases[which].kind == BW_STAGE_SLOT) { /* as steep before the least torque as beyond it */
        move_Nm = fmin(cases[which].move_Nm, peak_Nm);
        before_deg = 120;
    }
    pen_to(p, 0, 0, 0.2);
    pen_to(p, move_Nm, before_deg, 0.5 + before_deg / 60);
    pen_to(p, peak_Nm, turn_deg, 0.2 + fabs(turn_deg) / 60);
    if (cases[which].kind == BW_STAGE_YIELD) {
        pen_to(p, peak_Nm + 1.5, far * 12, 0.5);
    } else if (until_loose(which)) {
        pen_to(p, 0, -10, 0.2);
    }
    pen_to(p, 0, 0, 0.3);
    pen_to(p, 0, 0, 0.4);
}
