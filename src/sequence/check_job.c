/* check_job.c - the names that read_job.c left: each is a step that is sure to come before.  See
 * draft.h. */
#include "sequence/draft.h"

#include "base/text.h"

#include <string.h>

/* ---- names ---- */

bool bw_draft_name_step(bw_draft *draft, bw_spot spot, const char *word, const char *field,
                        const char *id, size_t *out) {
    if (id == NULL || bw_draft_find_step(draft, id, out)) {
        return id != NULL;
    }
    if (bw_draft_names_missing(draft, id)) {
        return false;
    }
    bw_nearest nearest = bw_mistakes_nearest(draft->mistakes, id);
    for (size_t i = 0; i < draft->plan.step_n; i++) {
        bw_nearest_offer(&nearest, draft->step[i].id, strlen(draft->step[i].id));
    }
    bw_mistake_add(draft->mistakes, bw_mistakes_at(draft->mistakes, spot, word, field, 0),
                   "`%s` names \"%s\", which is no step%s%s%s", field, id,
                   nearest.best != NULL ? "; did you mean \"" : "",
                   nearest.best != NULL ? nearest.best : "", nearest.best != NULL ? "\"?" : "");
    return false;
}

/* A step that is done before this one whatever the builder chooses. */
static bool find_before(bw_draft *draft, size_t step, const char *field, const char *id,
                        size_t *out) {
    if (!bw_draft_name_step(draft, draft->named[step].spot, bw_step_word(draft->step[step].kind),
                            field, id, out)) {
        return false;
    }
    if (*out >= step || !bw_draft_is_before(draft, *out, step)) {
        bw_mistake_add(draft->mistakes, bw_draft_at(draft, step, field),
                       "`%s` names \"%s\", which need not be done before this step: name it in "
                       "`after`",
                       field, id);
        return false;
    }
    return true;
}

/* One that is not left out either, where this one is done: what it found is needed. */
static bool find_done(bw_draft *draft, size_t step, const char *field, const char *id,
                      size_t *out) {
    if (!find_before(draft, step, field, id, out)) {
        return false;
    }
    if (!bw_draft_is_sure(draft, *out, step)) {
        bw_mistake_add(draft->mistakes, bw_draft_at(draft, step, field),
                       "`%s` names \"%s\", which may be left out where this step is not: give "
                       "this step the same `when`",
                       field, id);
        return false;
    }
    return true;
}

static bool is_question(bw_draft *draft, size_t step, const char *field, const char *id,
                        const size_t *found) {
    if (draft->step[*found].kind != BW_STEP_ASK) {
        bw_mistake_add(draft->mistakes, bw_draft_at(draft, step, field),
                       "`%s` names \"%s\", which is no ask{}: only a question has answers", field,
                       id);
        return false;
    }
    return draft->step[*found].answer_n > 0;
}

static bool find_question(bw_draft *draft, size_t step, const char *field, const char *id,
                          size_t *out) {
    return find_done(draft, step, field, id, out) && is_question(draft, step, field, id, out);
}

/* ---- what depends on a question ---- */

static void note_unknown_answer(bw_draft *draft, size_t step, const bw_step *asks) {
    char known[BW_PLAN_ANSWERS_MAX * (BW_PLAN_ID_MAX + 4)];
    bw_text text = bw_text_on(known, sizeof known);
    for (size_t i = 0; i < asks->answer_n; i++) {
        bw_text_add(&text, "%s\"%s\"", i > 0 ? ", " : "", asks->answer[i]);
    }
    bw_mistake_add(draft->mistakes, bw_draft_at(draft, step, "when"),
                   "`when`: \"%s\" is no answer to \"%s\"; it has %s",
                   draft->named[step].when_answer, asks->id, known);
}

void bw_resolve_when(bw_draft *draft, size_t index) {
    bw_step *step = &draft->step[index];
    const bw_draft_step *named = &draft->named[index];
    if (named->when == NULL || !find_before(draft, index, "when", named->when, &step->when) ||
        !is_question(draft, index, "when", named->when, &step->when) ||
        named->when_answer == NULL) {
        return;
    }
    const bw_step *asks = &draft->step[step->when];
    while (step->when_answer < asks->answer_n &&
           strcmp(asks->answer[step->when_answer], named->when_answer) != 0) {
        step->when_answer++;
    }
    step->has_when = step->when_answer < asks->answer_n;
    if (!step->has_when) {
        note_unknown_answer(draft, index, asks);
    }
}

bool bw_draft_exclude(const bw_draft *draft, size_t a, size_t b) {
    const bw_step *one = &draft->step[a];
    const bw_step *other = &draft->step[b];
    return one->has_when && other->has_when && one->when == other->when &&
           one->when_answer != other->when_answer;
}

/* ---- choices ---- */

static bool note_parts(bw_draft *draft, size_t index, size_t rows, size_t columns) {
    bw_mistake_add(draft->mistakes, bw_draft_at(draft, index, "parts"),
                   "`parts` of choose needs %zu rows, one for each answer of `row`, of %zu texts "
                   "each",
                   rows, columns);
    return false;
}

/* One row of texts; where there are no columns each row is a text of its own. */
static bool read_row(bw_draft *draft, size_t index, const bw_value *item, size_t columns,
                     const char **out) {
    bw_fields form = {.mistakes = draft->mistakes,
                      .node = item,
                      .word = "choose",
                      .spot = draft->named[index].spot};
    const bw_value *text = draft->step[index].has_column ? item->list : item;
    for (size_t i = 0; i < columns; i++) {
        out[i] = bw_fields_label(&form, &text[i], "parts");
        if (out[i] == NULL) {
            return false;
        }
    }
    return true;
}

static void resolve_parts(bw_draft *draft, size_t index) {
    bw_step *step = &draft->step[index];
    const bw_value *parts = draft->named[index].parts;
    size_t rows = draft->step[step->row].answer_n;
    size_t columns = step->has_column ? draft->step[step->column].answer_n : 1;
    const char **part = bw_draft_memory(draft, rows * columns, sizeof *part);
    bool good = part != NULL && parts->kind == BW_VALUE_TABLE && parts->list_n == rows;
    for (size_t i = 0; good && i < rows && step->has_column; i++) {
        good = parts->list[i].kind == BW_VALUE_TABLE && parts->list[i].list_n == columns;
    }
    if (!good) {
        (void)note_parts(draft, index, rows, columns);
        return;
    }
    for (size_t i = 0; good && i < rows; i++) {
        good = read_row(draft, index, &parts->list[i], columns, &part[i * columns]);
    }
    step->part = part;
}

static void resolve_choice(bw_draft *draft, size_t index) {
    bw_step *step = &draft->step[index];
    const bw_draft_step *named = &draft->named[index];
    bool good = find_question(draft, index, "row", named->row, &step->row);
    good = (!step->has_column ||
            find_question(draft, index, "column", named->column, &step->column)) &&
           good;
    if (good && named->parts != NULL) {
        resolve_parts(draft, index);
    }
}

/* ---- a value that chooses, and parts that go back ---- */

static void resolve_stock(bw_draft *draft, size_t index) {
    bw_step *step = &draft->step[index];
    const bw_draft_step *named = &draft->named[index];
    if (!find_done(draft, index, "of", named->of_step, &step->stock_step) ||
        named->of_value == NULL) {
        return;
    }
    const bw_step *measures = &draft->step[step->stock_step];
    for (size_t i = 0; i < measures->derived_n; i++) {
        const bw_derived *d = &measures->derived[i];
        if (d->id != NULL && strcmp(d->id, named->of_value) == 0) {
            step->stock_value = i;
            if (bw_unit_of(d->unit)->dimension != BW_DIM_LENGTH) {
                bw_mistake_add(draft->mistakes, bw_draft_at(draft, index, "of"),
                               "`of` names \"%s\", which is no length: `stock` holds lengths",
                               named->of_value);
            }
            return;
        }
    }
    bw_mistake_add(draft->mistakes, bw_draft_at(draft, index, "of"),
                   "`of`: step \"%s\" has no value \"%s\"", named->of_step, named->of_value);
}

static void resolve_as(bw_draft *draft, size_t index) {
    bw_step *step = &draft->step[index];
    const bw_draft_step *named = &draft->named[index];
    if (named->as == NULL || !find_done(draft, index, "as", named->as, &step->as)) {
        return;
    }
    const bw_step *before = &draft->step[step->as];
    step->has_as = before->kind == BW_STEP_FIT && before->to_n == step->to_n;
    for (size_t i = 0; step->has_as && i < step->to_n; i++) {
        step->has_as = strcmp(before->to[i], step->to[i]) == 0;
    }
    if (!step->has_as) {
        bw_mistake_add(draft->mistakes, bw_draft_at(draft, index, "as"),
                       "`as` names \"%s\", which is no fit{} to the same places", named->as);
    }
}

/* ---- what must not happen ---- */

static void resolve_ban(bw_draft *draft, size_t index) {
    bw_ban *ban = &draft->ban[index];
    const bw_draft_ban *named = &draft->named_ban[index];
    bool good = bw_draft_name_step(draft, named->spot, "forbid", "from", named->from, &ban->from);
    good = bw_draft_name_step(draft, named->spot, "forbid", "to", named->until, &ban->until) &&
           good;
    if (good && (ban->from >= ban->until || !bw_draft_is_before(draft, ban->from, ban->until))) {
        bw_mistake_add(draft->mistakes, named->spot,
                       "forbid: \"%s\" need not be done before \"%s\": name it in its `after`",
                       named->from, named->until);
    }
}

static void check_due(bw_draft *draft) {
    size_t n = 0;
    for (size_t i = 0; i < draft->plan.step_n; i++) {
        n += draft->step[i].due != NULL ? 1 : 0;
        if (n == BW_PLAN_DUE_MAX + 1 && draft->step[i].due != NULL) {
            bw_mistake_add(draft->mistakes, bw_draft_at(draft, i, "due"),
                           "at most %d steps have something due after closing", BW_PLAN_DUE_MAX);
        }
    }
}

void bw_check_job(bw_draft *draft) {
    check_due(draft);
    for (size_t i = 0; i < draft->plan.step_n; i++) {
        const bw_draft_step *named = &draft->named[i];
        bw_step *step = &draft->step[i];
        step->has_since = find_done(draft, i, "since", named->since, &step->since);
        if (step->kind == BW_STEP_CHOOSE && (step->stock_n > 0 || named->of_step != NULL)) {
            resolve_stock(draft, i);
        } else if (step->kind == BW_STEP_CHOOSE) {
            resolve_choice(draft, i);
        }
        resolve_as(draft, i);
    }
    for (size_t i = 0; i < draft->plan.ban_n; i++) {
        resolve_ban(draft, i);
    }
}
