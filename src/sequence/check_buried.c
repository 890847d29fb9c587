/* check_buried.c - what a step buries is over before it, in every order that a builder may choose
 * and for every answer; and nothing works there afterwards.  See draft.h. */
#include "sequence/draft.h"

/* ---- over before it is buried ---- */

static void note_not_before(bw_draft *draft, size_t step, size_t buried) {
    const char *id = draft->step[buried].id;
    const char *where = "";
    const char *do_so = "";
    if (bw_draft_would_be_before(draft, buried, step)) {
        where = " where a step between them is left out";
    } else if (buried > step) {
        do_so = "write it above this step and ";
    }
    bw_mistake_add(
        draft->mistakes, bw_draft_at(draft, step, "buries"),
        "\"%s\" buries \"%s\", but nothing puts \"%s\" before it%s: %sadd after = \"%s\"",
        draft->step[step].id, id, id, where, do_so, id);
}

static void check_before(bw_draft *draft, size_t step, size_t buried) {
    if (buried == step) {
        bw_mistake_add(draft->mistakes, bw_draft_at(draft, step, "buries"),
                       "`buries` of \"%s\" names the step itself", draft->step[step].id);
    } else if (bw_draft_is_before(draft, step, buried)) {
        bw_mistake_add(draft->mistakes, bw_draft_at(draft, step, "buries"),
                       "\"%s\" buries \"%s\", which is done only after it: do that before, or take "
                       "it out of `buries`",
                       draft->step[step].id, draft->step[buried].id);
    } else if (!bw_draft_is_before(draft, buried, step) && !bw_draft_exclude(draft, buried, step)) {
        note_not_before(draft, step, buried);
    }
}

static void resolve(bw_draft *draft, size_t index) {
    const bw_draft_step *named = &draft->named[index];
    bw_step *step = &draft->step[index];
    size_t *buried = bw_draft_memory(draft, named->buried_n, sizeof *buried);
    step->buried = buried;
    for (size_t i = 0; buried != NULL && i < named->buried_n; i++) {
        size_t found = 0;
        if (bw_draft_name_step(draft, named->spot, bw_step_word(step->kind), "buries",
                               named->buried[i], &found)) {
            buried[step->buried_n++] = found;
            check_before(draft, index, found);
        }
    }
}

/* ---- and never touched again ---- */

/* What lies below: of each group and each fitted step the step that is named, plus 1; 0: nothing.
 */
typedef struct below {
    size_t group[BW_PLAN_GROUPS_MAX];
    size_t step[BW_PLAN_STEPS_MAX];
} below;

static below below_of(const bw_draft *draft, const bw_step *step) {
    below b = {{0}, {0}};
    for (size_t i = 0; i < step->buried_n; i++) {
        size_t buried = step->buried[i];
        const bw_step *other = &draft->step[buried];
        b.step[buried] = buried + 1;
        if (other->kind == BW_STEP_TIGHTEN && draft->named[buried].group_found) {
            b.group[other->group] = buried + 1;
        }
    }
    return b;
}

/* The buried step whose fasteners or parts this one has in hand, plus 1. */
static size_t touches(const bw_draft *draft, const below *b, size_t index) {
    const bw_step *step = &draft->step[index];
    if (step->kind == BW_STEP_TIGHTEN && draft->named[index].group_found) {
        return b->group[step->group];
    }
    return step->has_as ? b->step[step->as] : 0;
}

static void note_touched(bw_draft *draft, size_t index, size_t buried, size_t step) {
    const char *id = draft->step[index].id;
    const char *burying = draft->step[step].id;
    bw_mistake_add(draft->mistakes, draft->named[index].spot,
                   "\"%s\" has the %s of \"%s\" in hand, which \"%s\" buries: do it before, with "
                   "after = \"%s\" in \"%s\"",
                   id, draft->step[index].kind == BW_STEP_TIGHTEN ? "fasteners" : "parts",
                   draft->step[buried].id, burying, id, burying);
}

static void check_touched(bw_draft *draft, size_t step) {
    below b = below_of(draft, &draft->step[step]);
    for (size_t i = 0; i < draft->plan.step_n; i++) {
        size_t buried = touches(draft, &b, i);
        bool apart = i == step || b.step[i] != 0 || bw_draft_is_before(draft, i, step) ||
                     bw_draft_exclude(draft, i, step);
        if (buried > 0 && !apart) {
            note_touched(draft, i, buried - 1, step);
        }
    }
}

void bw_check_buried(bw_draft *draft) {
    for (size_t i = 0; i < draft->plan.step_n; i++) {
        resolve(draft, i);
        if (draft->step[i].buried_n > 0) {
            check_touched(draft, i);
        }
    }
}
