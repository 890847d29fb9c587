/* check_order.c - what comes before what, in every order that a builder may choose; and what the
 * steps over one group make of it.  See draft.h. */
#include "sequence/draft.h"

#include <string.h>

enum { WORD_BITS = 64 };

/* ---- before, over any number of steps between ---- */

static size_t words_of(const bw_draft *draft) {
    return (draft->plan.step_n + WORD_BITS - 1) / WORD_BITS;
}

bool bw_draft_is_before(const bw_draft *draft, size_t before, size_t step) {
    const uint64_t *row = &draft->before[step * words_of(draft)];
    return (row[before / WORD_BITS] >> (before % WORD_BITS) & 1) != 0;
}

/* Prerequisites are written before what needs them, so one pass in order finds all. */
void bw_check_before(bw_draft *draft) {
    size_t words = words_of(draft);
    draft->before = bw_draft_memory(draft, draft->plan.step_n * words, sizeof *draft->before);
    for (size_t i = 0; draft->before != NULL && i < draft->plan.step_n; i++) {
        const bw_step *step = &draft->step[i];
        uint64_t *row = &draft->before[i * words];
        for (size_t k = 0; k < step->after_n; k++) {
            const uint64_t *other = &draft->before[step->after[k] * words];
            for (size_t w = 0; w < words; w++) {
                row[w] |= other[w];
            }
            row[step->after[k] / WORD_BITS] |= UINT64_C(1) << (step->after[k] % WORD_BITS);
        }
    }
}

/* ---- the steps over one group ---- */

static bool is_over(const bw_draft *draft, size_t step, size_t group) {
    const char *name = draft->named[step].group;
    return draft->step[step].kind == BW_STEP_TIGHTEN && name != NULL &&
           strcmp(name, draft->group[group].name) == 0;
}

static bool tightens(const bw_step *step) {
    for (size_t i = 0; i < step->stage_n; i++) {
        if (bw_stage_traits_of(step->stage[i].stage.kind)->tightens) {
            return true;
        }
    }
    return false;
}

static void check_continued(bw_draft *draft, size_t index, const size_t *last) {
    const bw_draft_step *named = &draft->named[index];
    bw_step *step = &draft->step[index];
    if (named->continues == NULL) {
        return;
    }
    if (last == NULL || strcmp(draft->step[*last].id, named->continues) != 0) {
        bw_mistake_add(draft->mistakes, named->spot,
                       "`continues` names the last step before this one that tightens group "
                       "\"%s\"; \"%s\" is not that step",
                       named->group, named->continues);
    } else if (draft->step[*last].trial != step->trial) {
        bw_mistake_add(draft->mistakes, named->spot,
                       "what continues a step is on trial where that is, and for good where that "
                       "is: \"%s\" is %s",
                       named->continues, step->trial ? "for good" : "on trial");
    } else {
        step->goes_on = true;
        step->before = *last;
    }
}

static void check_ordered(bw_draft *draft, size_t index, size_t last) {
    if (!bw_draft_is_before(draft, last, index) && !bw_draft_exclude(draft, last, index)) {
        bw_mistake_add(draft->mistakes, draft->named[index].spot,
                       "nothing says that \"%s\" is done before \"%s\", which has the same "
                       "fasteners: name it in `after`",
                       draft->step[last].id, draft->step[index].id);
    }
}

static void check_cycles(bw_draft *draft, size_t group, int cycles) {
    const bw_group *g = &draft->group[group];
    if (g->cycles > 0 && cycles > g->cycles) {
        bw_mistake_add(draft->mistakes, draft->group_spot[group],
                       "this sequence makes the fasteners of \"%s\" tight %d times, trial "
                       "assemblies included; `cycles` allows %d",
                       g->name, cycles, g->cycles);
    }
}

void bw_check_steps_of(bw_draft *draft, size_t group) {
    const size_t *last = NULL; /* that tightens */
    size_t at = 0;
    size_t any = draft->plan.step_n;
    int cycles = 0;
    int most = 0; /* of the steps of which one is done in place of the other */
    for (size_t i = 0; i < draft->plan.step_n; i++) {
        if (!is_over(draft, i, group)) {
            continue;
        }
        check_continued(draft, i, last);
        bool instead = false; /* of the step before */
        if (any < draft->plan.step_n) {
            check_ordered(draft, i, any);
            instead = bw_draft_exclude(draft, any, i);
        }
        any = i;
        int own = bw_step_cycles(&draft->step[i]);
        cycles += instead ? (own > most ? own - most : 0) : own;
        most = instead && own < most ? most : own;
        if (tightens(&draft->step[i])) {
            at = i;
            last = &at;
        }
    }
    check_cycles(draft, group, cycles);
    if (last != NULL && draft->step[at].trial) {
        bw_mistake_add(draft->mistakes, draft->named[at].spot,
                       "\"%s\" is on trial, and no step after it tightens group \"%s\" for good",
                       draft->step[at].id, draft->group[group].name);
    }
}
