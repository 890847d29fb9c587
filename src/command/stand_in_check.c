/* stand_in_check.c - whether what is to go wrong in a rehearsal can happen in its sequence. */
#include "command/stand_in_int.h"

#include "base/nearest.h"
#include "base/text.h"

#include <string.h>

enum { LINE_BYTES = 160 };

static size_t most_stages(const bw_plan *plan, size_t group) {
    size_t most = 0;
    for (size_t i = 0; i < plan->step_n; i++) {
        const bw_step *step = &plan->step[i];
        if (step->kind == BW_STEP_TIGHTEN && step->group == group && step->stage_n > most) {
            most = step->stage_n;
        }
    }
    return most;
}

/* Whether the group has such a stage in which the fault can happen: that one, or for what is wrong
 * with a fastener any. */
static bool fits_somewhere(const bw_plan *plan, size_t group, const bw_fault *fault) {
    bool of_fastener = bw_fault_is_at(fault->kind) == BW_FAULT_AT_FASTENER;
    for (size_t i = 0; i < plan->step_n; i++) {
        const bw_step *step = &plan->step[i];
        for (size_t k = 0;
             step->kind == BW_STEP_TIGHTEN && step->group == group && k < step->stage_n; k++) {
            bool this_one = of_fastener || k + 1 == (size_t)fault->stage;
            if (this_one && bw_fault_fits(fault->kind, step->stage[k].stage.kind)) {
                return true;
            }
        }
    }
    return false;
}

static bw_status no_group(const bw_plan *plan, const char *name, bw_err *err) {
    char line[LINE_BYTES];
    bw_text text = bw_text_on(line, sizeof line);
    bw_nearest nearest = bw_nearest_to(name);
    for (size_t i = 0; i < plan->group_n; i++) {
        const char *known = plan->group[i].name;
        bw_nearest_offer(&nearest, known, strlen(known));
        bw_text_add(&text, "%s%s", i == 0 ? "it has " : ", ", known);
    }
    return nearest.best != NULL
               ? bw_fail(err, BW_E_ARG, "--fault: the sequence has no group %s; did you mean %s?",
                         name, nearest.best)
               : bw_fail(err, BW_E_ARG, "--fault: the sequence has no group %s; %s", name, line);
}

bw_status bw_stand_in_check(void *stand_in, const bw_plan *plan, bw_err *err) {
    bw_stand_in *s = stand_in;
    for (size_t i = 0; i < s->memory.faults.n; i++) {
        bw_fault *fault = &s->memory.faults.fault[i];
        size_t group = 0;
        if (!bw_plan_find_group(plan, fault->group, &group)) {
            return no_group(plan, fault->group, err);
        }
        const bw_group *g = &plan->group[group];
        bool lacks = fault->kind == BW_FAULT_BATTERY || fault->kind == BW_FAULT_PEAK;
        if (s->firmware != NULL && lacks) {
            return bw_fail(err, BW_E_ARG,
                           "--fault: %s can't happen with --wrench firmware: the adapter has no "
                           "battery and no peak mode",
                           bw_fault_word(fault->kind));
        }
        if (!bw_group_find_place(g, fault->place, &fault->fastener)) {
            return bw_fail(err, BW_E_ARG, "--fault: group %s has no place %s; it has 1 to %zu",
                           fault->group, fault->place, g->place_n);
        }
        if (bw_fault_mistakes(fault->kind) && g->place_n == 1) {
            return bw_fail(err, BW_E_ARG,
                           "--fault: group %s has one fastener, which can't be "
                           "mistaken for another",
                           fault->group);
        }
        if ((size_t)fault->stage > most_stages(plan, group)) {
            return bw_fail(err, BW_E_ARG, "--fault: group %s has %zu stages, not %d", fault->group,
                           most_stages(plan, group), fault->stage);
        }
        if (!fits_somewhere(plan, group, fault)) {
            return bw_fail(
                err, BW_E_ARG,
                "--fault: %s can't happen in stage %d of group %s; docs/commands.md says "
                "where it can",
                bw_fault_word(fault->kind), fault->stage, fault->group);
        }
    }
    return BW_OK;
}
