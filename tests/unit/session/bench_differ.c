/* bench_differ.c - two sessions compared; see bench.h. */
#include "bench.h"

#include <string.h>

static bool same_text(const char *a, const char *b) {
    return a == NULL || b == NULL ? a == b : strcmp(a, b) == 0;
}

static bool same_standing(const bw_standing *a, const bw_standing *b) {
    return a->torque_Nm == b->torque_Nm && a->turn_deg == b->turn_deg &&
           a->turn_known == b->turn_known && a->snug_reached == b->snug_reached &&
           a->peak_Nm == b->peak_Nm && a->pulls == b->pulls && a->judged_Nm == b->judged_Nm &&
           a->slope_Nm_per_deg == b->slope_Nm_per_deg && a->siblings.n == b->siblings.n &&
           a->siblings.median_Nm_per_deg == b->siblings.median_Nm_per_deg &&
           a->siblings.mad_Nm_per_deg == b->siblings.mad_Nm_per_deg;
}

static bool same_terms(bw_terms a, bw_terms b) {
    return a.rule == b.rule && a.range_low_Nm == b.range_low_Nm &&
           a.range_high_Nm == b.range_high_Nm && a.uncertainty_share == b.uncertainty_share &&
           a.uncertainty_deg == b.uncertainty_deg;
}

static bool same_stage(const bw_stage *a, const bw_stage *b) {
    if (a == NULL || b == NULL) {
        return a == b;
    }
    return a->kind == b->kind && a->low_Nm == b->low_Nm && a->high_Nm == b->high_Nm &&
           a->target_Nm == b->target_Nm && a->target_deg == b->target_deg &&
           a->target_mm == b->target_mm;
}

/* What the record keeps of a verdict. */
static bool same_verdict(const bw_verdict *a, const bw_verdict *b) {
    return a->outcome == b->outcome && a->reasons == b->reasons && a->more == b->more &&
           a->peak_Nm == b->peak_Nm && a->has_turn == b->has_turn && a->turn_deg == b->turn_deg &&
           a->snug_reached == b->snug_reached && a->pulls == b->pulls &&
           a->has_judged == b->has_judged && a->judged_Nm == b->judged_Nm && a->loose == b->loose &&
           a->has_stretch == b->has_stretch && a->stretch_mm == b->stretch_mm;
}

static bool same_options(const bw_prompt *a, const bw_prompt *b) {
    bool same = a->option_n == b->option_n;
    for (size_t i = 0; same && i < a->option_n; i++) {
        same = same_text(a->option[i].word, b->option[i].word) &&
               same_text(a->option[i].says, b->option[i].says);
    }
    return same;
}

static bool same_progress(const bw_prompt *a, const bw_prompt *b) {
    if (a->group != b->group || (a->progress == NULL) != (b->progress == NULL)) {
        return false;
    }
    size_t n = a->group != NULL && a->progress != NULL && b->progress != NULL ? a->group->place_n
                                                                              : 0;
    for (size_t i = 0; i < n; i++) {
        if (a->progress[i].stages_done != b->progress[i].stages_done ||
            a->progress[i].overridden != b->progress[i].overridden ||
            a->progress[i].attempt != b->progress[i].attempt ||
            a->progress[i].reuse != b->progress[i].reuse) {
            return false;
        }
    }
    return true;
}

static const char *prompt_difference(const bw_prompt *a, const bw_prompt *b) {
    const struct {
        const char *what;
        bool same;
    } rows[] = {
        {"state", a->state == b->state},
        {"person", same_text(a->by, b->by)},
        {"step", a->step == b->step && a->step_number == b->step_number},
        {"steps done", a->steps_done == b->steps_done},
        {"reading", a->set == b->set && a->at == b->at && a->reading_number == b->reading_number &&
                        a->reading_n == b->reading_n},
        {"value", a->derived == b->derived && a->derived_value == b->derived_value},
        {"fastener", a->group == b->group && a->place == b->place && a->turn_of == b->turn_of},
        {"stage", a->stage_index == b->stage_index && a->stage == b->stage},
        {"aim", same_stage(&a->aim, &b->aim) && a->prevailing_Nm == b->prevailing_Nm},
        {"length", a->tightened == b->tightened && a->free_mm == b->free_mm},
        {"what it stands at", a->torque_known == b->torque_known},
        {"standing", same_standing(&a->standing, &b->standing)},
        {"progress", same_progress(a, b)},
        {"attempt", a->attempt == b->attempt},
        {"verdict", same_verdict(&a->verdict, &b->verdict)},
        {"tool", same_text(a->tool_text, b->tool_text)},
        {"options", same_options(a, b)},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (!rows[i].same) {
            return rows[i].what;
        }
    }
    return NULL;
}

const char *bench_difference(const bw_session *a, const bw_session *b) {
    bw_prompt prompt_a;
    bw_prompt prompt_b;
    bw_tally tally_a;
    bw_tally tally_b;
    bw_session_prompt(a, &prompt_a);
    bw_session_prompt(b, &prompt_b);
    const char *what = prompt_difference(&prompt_a, &prompt_b);
    if (what != NULL) {
        return what;
    }
    bw_session_tally(a, &tally_a);
    bw_session_tally(b, &tally_b);
    bool same = tally_a.fasteners == tally_b.fasteners && tally_a.accepted == tally_b.accepted &&
                tally_a.overridden == tally_b.overridden && tally_a.pulls == tally_b.pulls &&
                tally_a.measurements == tally_b.measurements &&
                same_text(tally_a.outcome, tally_b.outcome);
    if (!same) {
        return "tally";
    }
    bw_standing standing_a = bw_session_standing(a);
    bw_standing standing_b = bw_session_standing(b);
    bool asked = same_stage(bw_session_stage(a), bw_session_stage(b)) &&
                 same_standing(&standing_a, &standing_b);
    return asked && same_terms(bw_session_terms(a), bw_session_terms(b)) ? NULL
                                                                         : "what to judge by";
}
