/* check_order.c - what comes before what, in every order that a builder may choose; and what the
 * steps over one group make of it.  See draft.h. */
#include "sequence/draft.h"

#include <string.h>

enum { WORD_BITS = 64 };

/* ---- before, over any number of steps between ---- */

static size_t words_of(const bw_draft *draft) {
    return (draft->plan.step_n + WORD_BITS - 1) / WORD_BITS;
}

static uint64_t *row_of(const bw_draft *draft, uint64_t *rows, size_t step) {
    return &rows[step * words_of(draft)];
}

static void add_row(const bw_draft *draft, uint64_t *row, const uint64_t *other) {
    for (size_t w = 0; w < words_of(draft); w++) {
        row[w] |= other[w];
    }
}

static void add_step(uint64_t *row, size_t step) {
    row[step / WORD_BITS] |= UINT64_C(1) << (step % WORD_BITS);
}

bool bw_draft_is_before(const bw_draft *draft, size_t before, size_t step) {
    const uint64_t *row = row_of(draft, draft->before, step);
    return (row[before / WORD_BITS] >> (before % WORD_BITS) & 1) != 0;
}

bool bw_draft_is_sure(const bw_draft *draft, size_t step, size_t given) {
    const bw_step *one = &draft->step[step];
    const bw_step *at = &draft->step[given];
    for (; one->has_when && at->has_when; at = &draft->step[at->when]) {
        bool same = at->when == one->when && at->when_answer == one->when_answer;
        if (same || at->when == step) {
            return true;
        }
    }
    return !one->has_when;
}

/* One of the steps after which `index` comes was done whatever was answered, where there is one for
 * each answer: what comes before all of these comes before it too. */
static void add_common(bw_draft *draft, size_t index, size_t question) {
    enum { WORDS_MAX = BW_PLAN_STEPS_MAX / WORD_BITS };
    const bw_step *step = &draft->step[index];
    uint64_t common[WORDS_MAX];
    memset(common, 0xff, sizeof common);
    for (size_t answer = 0; answer < draft->step[question].answer_n; answer++) {
        uint64_t here[WORDS_MAX] = {0};
        for (size_t k = 0; k < step->after_n; k++) {
            const bw_step *other = &draft->step[step->after[k]];
            if (other->has_when && other->when == question && other->when_answer == answer) {
                add_row(draft, here, row_of(draft, draft->before, step->after[k]));
            }
        }
        for (size_t w = 0; w < words_of(draft); w++) {
            common[w] &= here[w];
        }
    }
    add_row(draft, row_of(draft, draft->before, index), common);
}

/* A step that was left out waited for nothing but the answer that left it out. */
static void add_after(bw_draft *draft, size_t index) {
    const bw_step *step = &draft->step[index];
    uint64_t *row = row_of(draft, draft->before, index);
    size_t asked = index; /* the question looked at last */
    for (size_t k = 0; k < step->after_n; k++) {
        size_t other = step->after[k];
        bool sure = bw_draft_is_sure(draft, other, index);
        add_step(row, other);
        add_row(draft, row, row_of(draft, sure ? draft->before : draft->over, other));
        size_t question = draft->step[other].when;
        if (!sure && question != asked && bw_draft_is_sure(draft, question, index)) {
            add_common(draft, index, question);
            asked = question;
        }
    }
}

/* Prerequisites are written before what needs them, so one pass in order finds all. */
void bw_check_before(bw_draft *draft) {
    size_t n = draft->plan.step_n;
    draft->before = bw_draft_memory(draft, n * words_of(draft), sizeof *draft->before);
    draft->over = bw_draft_memory(draft, n * words_of(draft), sizeof *draft->over);
    for (size_t i = 0; draft->before != NULL && draft->over != NULL && i < n; i++) {
        const bw_step *step = &draft->step[i];
        add_after(draft, i);
        bw_resolve_when(draft, i);
        if (step->has_when) {
            add_after(draft, i);
        }
        add_step(row_of(draft, draft->over, i), i);
        add_row(draft, row_of(draft, draft->over, i),
                step->has_when ? row_of(draft, draft->over, step->when)
                               : row_of(draft, draft->before, i));
    }
}

bool bw_draft_would_be_before(const bw_draft *draft, size_t before, size_t step) {
    bool reached[BW_PLAN_STEPS_MAX] = {false};
    reached[step] = true;
    for (size_t i = step; i > before; i--) {
        for (size_t k = 0; reached[i] && k < draft->step[i].after_n; k++) {
            reached[draft->step[i].after[k]] = true;
        }
    }
    return before < step && reached[before];
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
        bw_mistake_add(draft->mistakes, bw_draft_at(draft, index, "continues"),
                       "`continues` names the last step before this one that tightens group "
                       "\"%s\"; \"%s\" is not that step",
                       named->group, named->continues);
    } else if (draft->step[*last].trial != step->trial) {
        bw_mistake_add(draft->mistakes, bw_draft_at(draft, index, "continues"),
                       "what continues a step is on trial where that is, and for good where that "
                       "is: \"%s\" is %s",
                       named->continues, step->trial ? "for good" : "on trial");
    } else if (!bw_draft_is_sure(draft, *last, index)) {
        bw_mistake_add(draft->mistakes, bw_draft_at(draft, index, "continues"),
                       "`continues` names \"%s\", which may be left out where this step is not: "
                       "give this step the same `when`",
                       named->continues);
    } else {
        step->goes_on = true;
        step->before = *last;
    }
}

/* All steps over the group from `first` on are before this one, or done in place of it.  Where one
 * is not it is told, and what comes later is held against this one alone. */
static void check_ordered(bw_draft *draft, size_t index, size_t group, size_t *first) {
    for (size_t i = index; i-- > *first;) {
        if (is_over(draft, i, group) && !bw_draft_is_before(draft, i, index) &&
            !bw_draft_exclude(draft, i, index)) {
            bw_mistake_add(draft->mistakes, draft->named[index].spot,
                           "nothing says that \"%s\" is done before \"%s\", which has the same "
                           "fasteners: name it in `after`",
                           draft->step[i].id, draft->step[index].id);
            *first = index;
        }
    }
}

static void check_cycles(bw_draft *draft, size_t group, int cycles) {
    const bw_group *g = &draft->group[group];
    if (g->cycles > 0 && cycles > g->cycles) {
        bw_mistake_add(
            draft->mistakes,
            bw_mistakes_at(draft->mistakes, draft->group_spot[group], "group", "cycles", 0),
            "this sequence makes the fasteners of \"%s\" tight %d times, trial "
            "assemblies included; `cycles` allows %d",
            g->name, cycles, g->cycles);
    }
}

void bw_check_steps_of(bw_draft *draft, size_t group) {
    const size_t *last = NULL; /* that tightens */
    size_t at = 0;
    size_t any = draft->plan.step_n;
    size_t first = 0;
    int cycles = 0;
    int most = 0; /* of the steps of which one is done in place of the other */
    for (size_t i = 0; i < draft->plan.step_n; i++) {
        if (!is_over(draft, i, group)) {
            continue;
        }
        check_continued(draft, i, last);
        bool instead = false; /* of the step before */
        if (any < draft->plan.step_n) {
            check_ordered(draft, i, group, &first);
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
