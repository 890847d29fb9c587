/* plan.c - looking things up in a plan.  See plan.h. */
#include "sequence/plan.h"

#include "base/decimal.h"
#include "base/text.h"

#include <string.h>

static const char *const step_words[BW_STEP_KIND_COUNT] = {
    [BW_STEP_CAUTION] = "caution", [BW_STEP_CONFIRM] = "confirm", [BW_STEP_MEASURE] = "measure",
    [BW_STEP_TIGHTEN] = "tighten", [BW_STEP_NOTE] = "note",       [BW_STEP_ASK] = "ask",
    [BW_STEP_WAIT] = "wait",       [BW_STEP_CHOOSE] = "choose",   [BW_STEP_FIT] = "fit",
};

const char *bw_step_word(bw_step_kind kind) {
    return (unsigned)kind < BW_STEP_KIND_COUNT ? step_words[kind] : NULL;
}

bool bw_plan_find_step(const bw_plan *plan, const char *id, size_t *index) {
    for (size_t i = 0; i < plan->step_n; i++) {
        if (strcmp(plan->step[i].id, id) == 0) {
            *index = i;
            return true;
        }
    }
    return false;
}

const size_t *bw_step_order(const bw_plan *plan, const bw_step *step) {
    return step->order != NULL ? step->order : plan->group[step->group].order;
}

int bw_step_cycles(const bw_step *step) {
    bool tight = step->goes_on;
    int cycles = 0;
    for (size_t i = 0; i < step->stage_n; i++) {
        const bw_stage *stage = &step->stage[i].stage;
        const bw_stage_traits *traits = bw_stage_traits_of(stage->kind);
        bool tightens = traits->tightens && !traits->loosens;
        cycles += tightens && !tight ? 1 : 0;
        tight = (tight || tightens) && !stage->until_loose;
    }
    return cycles;
}

bool bw_plan_find_group(const bw_plan *plan, const char *name, size_t *index) {
    for (size_t i = 0; i < plan->group_n; i++) {
        if (strcmp(plan->group[i].name, name) == 0) {
            *index = i;
            return true;
        }
    }
    return false;
}

/* A place number as it is written: digits only, no zero in front. */
static size_t place_number(const char *text) {
    size_t len = strlen(text);
    double value = 0;
    bool digits = len > 0 && strspn(text, "0123456789") == len && text[0] != '0';
    if (!digits || bw_number_parse(text, len, &value, NULL) != BW_OK || value > BW_ORDER_MAX) {
        return 0;
    }
    return (size_t)value;
}

bool bw_group_find_place(const bw_group *group, const char *label, size_t *index) {
    for (size_t i = 0; i < group->place_n; i++) {
        if (strcmp(group->place[i].label, label) == 0) {
            *index = i;
            return true;
        }
    }
    size_t number = place_number(label);
    if (number < 1 || number > group->place_n) {
        return false;
    }
    *index = number - 1;
    return true;
}

bw_unit bw_other_torque_unit(bw_unit unit) {
    return unit == BW_UNIT_NM ? BW_UNIT_LBF_FT : BW_UNIT_NM;
}

const char *bw_source_text(const bw_plan *plan, const bw_plan_stage *stage, char *out,
                           size_t size) {
    bool own = stage != NULL && stage->document != NULL;
    const char *revision = own ? stage->revision : plan->revision;
    bw_text text = bw_text_on(out, size);
    bw_text_add(&text, "%s%s%s", own ? stage->document : plan->document,
                revision[0] != '\0' ? ", revision " : "", revision);
    return out;
}

size_t bw_set_repeats(const bw_reading_set *set) {
    return set->repeats > 1 ? (size_t)set->repeats : 1;
}

/* Held against the session's own table by a test. */
bool bw_is_bench_word(const char *text) {
    static const char *const words[] = {"back",   "checkpoint", "decide", "file", "help",
                                        "later",  "name",       "note",   "part", "pause",
                                        "person", "redo",       "reject", "wrong"};
    size_t len = strcspn(text, " ");
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (strlen(words[i]) == len && strncmp(words[i], text, len) == 0) {
            return true;
        }
    }
    return false;
}
