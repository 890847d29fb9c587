/* plan_tools.c - what a sequence asks of the wrench and of the hand; see plan_text.h. */
#include "face/plan_text.h"

#include "face/figures.h"

#include <math.h>

enum { LINE_BYTES = 512 };

/* What a hand turns in one stroke, about; common practice, no source. */
static const double stroke_deg = 60;

/* The torques that a wrench must show for a stage: from its least to its most. */
typedef struct range {
    double low_Nm, high_Nm; /* low above high: none */
} range;

static void widen(range *r, double torque_Nm) {
    if (isfinite(torque_Nm) && torque_Nm > 0) {
        r->low_Nm = fmin(r->low_Nm, torque_Nm);
        r->high_Nm = fmax(r->high_Nm, torque_Nm);
    }
}

/* A prevailing torque on top is not known before it is measured. */
static range range_of(const bw_step *step) {
    range r = {(double)INFINITY, 0};
    for (size_t i = 0; i < step->stage_n; i++) {
        const bw_stage *stage = &step->stage[i].stage;
        const double torques[] = {stage->snug_Nm, stage->target_Nm, stage->low_Nm, stage->high_Nm};
        for (size_t k = 0; k < sizeof torques / sizeof torques[0]; k++) {
            widen(&r, torques[k]);
        }
    }
    return r;
}

/* A turn takes as many strokes as it does; what only runs is one long one. */
static size_t strokes_of(const bw_stage *stage) {
    double turn_deg = stage->target_deg;
    return turn_deg > stroke_deg ? (size_t)ceil(turn_deg / stroke_deg) : 1;
}

size_t bw_plan_strokes(const bw_plan *plan) {
    size_t strokes = 0;
    for (size_t i = 0; i < plan->step_n; i++) {
        const bw_step *step = &plan->step[i];
        for (size_t k = 0; step->kind == BW_STEP_TIGHTEN && k < step->stage_n; k++) {
            strokes += plan->group[step->group].place_n * strokes_of(&step->stage[k].stage);
        }
    }
    return strokes;
}

static void add_range(const bw_plan *plan, range r, bw_text *text) {
    if (r.low_Nm <= r.high_Nm) {
        bw_torque_add(text, r.low_Nm, plan->torque_unit);
        bw_text_add(text, " to ");
        bw_torque_add(text, r.high_Nm, plan->torque_unit);
    } else {
        bw_text_add(text, "any: no torque is asked for");
    }
}

void bw_plan_print_tools(const bw_plan *plan, FILE *out) {
    range all = {(double)INFINITY, 0};
    size_t n = 0;
    for (size_t i = 0; i < plan->step_n; i++) {
        const bw_step *step = &plan->step[i];
        if (step->kind != BW_STEP_TIGHTEN) {
            continue;
        }
        char line[LINE_BYTES];
        bw_text text = bw_text_on(line, sizeof line);
        range r = range_of(step);
        (void)fputs(n++ == 0 ? "The wrench must show:\n" : "", out);
        bw_text_add(&text, "      %-20s ", step->id);
        add_range(plan, r, &text);
        (void)fprintf(out, "%s\n", line);
        widen(&all, r.low_Nm);
        widen(&all, r.high_Nm);
    }
    if (n > 1) {
        char line[LINE_BYTES];
        bw_text text = bw_text_on(line, sizeof line);
        add_range(plan, all, &text);
        (void)fprintf(out, "      %-20s %s\n", "all of them", line);
    }
}
