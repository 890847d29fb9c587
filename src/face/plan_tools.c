/* plan_tools.c - what a sequence asks of the wrench and of the hand; see plan_text.h. */
#include "face/plan_text.h"

#include "face/figures.h"

#include <math.h>

enum { LINE_BYTES = 512 };

/* What a hand turns in one stroke, about; common practice, no source. */
static const double stroke_deg = 60;

static void widen(bw_wrench_need *need, double torque_Nm) {
    if (isfinite(torque_Nm) && torque_Nm > 0) {
        need->low_Nm = fmin(need->low_Nm, torque_Nm);
        need->high_Nm = fmax(need->high_Nm, torque_Nm);
    }
}

/* A turn takes as many strokes as it does; what only runs is one long one. */
static size_t strokes_of(const bw_stage *stage) {
    double turn_deg = stage->target_deg;
    return turn_deg > stroke_deg ? (size_t)ceil(turn_deg / stroke_deg) : 1;
}

/* A prevailing torque on top is not known before it is measured. */
bw_wrench_need bw_step_need(const bw_plan *plan, const bw_step *step) {
    bw_wrench_need need = {.low_Nm = (double)INFINITY};
    size_t places = step->kind == BW_STEP_TIGHTEN ? plan->group[step->group].place_n : 0;
    for (size_t i = 0; i < step->stage_n; i++) {
        const bw_stage *stage = &step->stage[i].stage;
        const double torques[] = {stage->snug_Nm, stage->target_Nm, stage->low_Nm, stage->high_Nm};
        for (size_t k = 0; k < sizeof torques / sizeof torques[0]; k++) {
            widen(&need, torques[k]);
        }
        need.pulls += places;
        need.strokes += places * strokes_of(stage);
    }
    return need;
}

bw_wrench_need bw_plan_need(const bw_plan *plan) {
    bw_wrench_need all = {.low_Nm = (double)INFINITY};
    for (size_t i = 0; i < plan->step_n; i++) {
        bw_wrench_need need = bw_step_need(plan, &plan->step[i]);
        widen(&all, need.low_Nm);
        widen(&all, need.high_Nm);
        all.pulls += need.pulls;
        all.strokes += need.strokes;
    }
    return all;
}

static void print_need(const bw_plan *plan, const char *what, bw_wrench_need need, FILE *out) {
    char line[LINE_BYTES];
    bw_text text = bw_text_on(line, sizeof line);
    if (need.low_Nm <= need.high_Nm) {
        bw_torque_add(&text, need.low_Nm, plan->torque_unit);
        bw_text_add(&text, " to ");
        bw_torque_add(&text, need.high_Nm, plan->torque_unit);
    } else {
        bw_text_add(&text, "any: no torque is asked for");
    }
    (void)fprintf(out, "      %-20s %s\n", what, line);
}

void bw_plan_print_tools(const bw_plan *plan, FILE *out) {
    size_t n = 0;
    for (size_t i = 0; i < plan->step_n; i++) {
        const bw_step *step = &plan->step[i];
        if (step->kind == BW_STEP_TIGHTEN) {
            (void)fputs(n++ == 0 ? "The wrench must show:\n" : "", out);
            print_need(plan, step->id, bw_step_need(plan, step), out);
        }
    }
    if (n > 1) {
        print_need(plan, "all of them", bw_plan_need(plan), out);
    }
}
