/* read_job.c - what steps of a whole job say of each other: questions and what depends on them,
 * waits and time limits, choices, what must not happen between.  See draft.h.
 *
 * Steps are named here and found by check_job.c. */
#include "sequence/draft.h"

#include <string.h>

static const double most_wait_s = 30 * 24 * 3600.0;

static bw_draft_step *named_of(bw_draft *draft) {
    return &draft->named[draft->plan.step_n - 1];
}

/* ---- what any step may have ---- */

static void read_when(bw_draft *draft, const bw_fields *form) {
    const bw_value *when = bw_fields_get(form, "when", BW_OPTIONAL);
    if (when == NULL) {
        return;
    }
    if (when->kind != BW_VALUE_TABLE) {
        bw_mistake_add(draft->mistakes, bw_fields_at(form, "when"),
                       "`when` of %s needs a question and its answer in braces: {step = \"bolts\", "
                       "answer = \"used\"}",
                       form->word);
        return;
    }
    bw_fields table = bw_fields_in(form, "when", when, "`when`", "step answer");
    bw_draft_step *named = named_of(draft);
    named->when = bw_fields_id(&table, "step", BW_NEEDED);
    named->when_answer = bw_fields_text(&table, "answer", BW_NEEDED);
}

/* What is buried, in words; or that, and the steps whose work it is. */
void bw_read_buries(bw_draft *draft, const bw_fields *form, bw_step *step) {
    const bw_value *buries = bw_fields_get(form, "buries", BW_OPTIONAL);
    if (buries == NULL || buries->kind == BW_VALUE_TEXT) {
        step->buries = bw_fields_text(form, "buries", BW_OPTIONAL);
        return;
    }
    if (buries->kind != BW_VALUE_TABLE) {
        char found[BW_FIELDS_DESCRIBE_MAX];
        bw_mistake_add(draft->mistakes, bw_fields_at(form, "buries"),
                       "`buries` of %s needs what is buried in quotes, or that and the steps in "
                       "braces: {say = \"the oil jets\", steps = {\"jets-in\"}}; not %s",
                       form->word, bw_fields_describe(buries, found, sizeof found));
        return;
    }
    bw_fields table = bw_fields_in(form, "buries", buries, "`buries`", "say steps");
    bw_draft_step *named = named_of(draft);
    step->buries = bw_fields_text(&table, "say", BW_NEEDED);
    named->buried = bw_fields_ids(&table, "steps", BW_NEEDED, &named->buried_n);
}

static bool read_time(const bw_fields *form, const char *field, double *out_s) {
    bw_written written;
    if (!bw_fields_quantity(form, field, BW_NEEDED, BW_DIM_TIME, &written)) {
        return false;
    }
    if (written.base <= 0 || written.base > most_wait_s) {
        bw_mistake_add(form->mistakes, written.spot,
                       "`%s` of %s must be above zero, and a month at most", field, form->word);
        return false;
    }
    *out_s = written.base;
    return true;
}

/* In time: both or none. */
static void read_most(bw_draft *draft, const bw_fields *form, bw_step *step) {
    bool most = bw_fields_has(form, "most");
    bool since = bw_fields_has(form, "since");
    if (most != since) {
        bw_mistake_add(draft->mistakes, bw_fields_at(form, most ? "most" : "since"),
                       most ? "%s lacks `since`: the step from which `most` counts"
                            : "%s lacks `most`: how long after `since` it may be done",
                       form->word);
    } else if (most) {
        named_of(draft)->since = bw_fields_id(form, "since", BW_NEEDED);
        (void)read_time(form, "most", &step->most_s);
    }
}

void bw_read_circumstances(bw_draft *draft, const bw_fields *form, bw_step *step) {
    read_when(draft, form);
    step->position = bw_fields_text(form, "position", BW_OPTIONAL);
    step->moves = bw_fields_flag(form, "moves", false);
    if (step->kind != BW_STEP_WAIT) {
        read_most(draft, form, step);
    }
}

/* ---- questions, waits, choices ---- */

void bw_read_ask(bw_draft *draft, const bw_fields *form, bw_step *step) {
    const bw_value *list = bw_fields_get(form, "answers", BW_NEEDED);
    size_t n = 0;
    const char *const *answer = list == NULL ? NULL : bw_fields_labels(form, list, "answers", &n);
    if (answer == NULL) {
        return;
    }
    if (n < 2 || n > BW_PLAN_ANSWERS_MAX) {
        bw_mistake_add(draft->mistakes, bw_fields_at(form, "answers"),
                       "`answers` of ask holds %zu: 2 to %d are possible", n, BW_PLAN_ANSWERS_MAX);
        return;
    }
    for (size_t i = 0; i < n; i++) {
        if (bw_is_bench_word(answer[i])) {
            bw_mistake_add(draft->mistakes, bw_fields_at(form, "answers"),
                           "`answers` of ask holds \"%s\", which does something else when it is "
                           "typed at the bench: choose another word",
                           answer[i]);
        }
        for (size_t k = 0; k < i; k++) {
            if (strcmp(answer[i], answer[k]) == 0) {
                bw_mistake_add(draft->mistakes, bw_fields_at(form, "answers"),
                               "`answers` of ask holds \"%s\" twice: each needs its own word",
                               answer[i]);
            }
        }
    }
    step->answer = answer;
    step->answer_n = n;
}

void bw_read_wait(bw_draft *draft, const bw_fields *form, bw_step *step) {
    named_of(draft)->since = bw_fields_id(form, "since", BW_NEEDED);
    (void)read_time(form, "least", &step->least_s);
}

void bw_read_choose(bw_draft *draft, const bw_fields *form, bw_step *step) {
    bw_draft_step *named = named_of(draft);
    if (bw_fields_has(form, "of") || bw_fields_has(form, "stock")) {
        bw_read_stock(draft, form, step);
        return;
    }
    named->row = bw_fields_id(form, "row", BW_NEEDED);
    named->column = bw_fields_id(form, "column", BW_OPTIONAL);
    step->has_column = bw_fields_has(form, "column");
    named->parts = bw_fields_get(form, "parts", BW_NEEDED);
}

/* ---- what must not happen ---- */

void bw_read_forbid(bw_draft *draft, const bw_value *node) {
    bw_fields form = bw_fields_of(draft->mistakes, node);
    bw_ban *ban = &draft->ban[draft->plan.ban_n];
    bw_draft_ban *named = &draft->named_ban[draft->plan.ban_n];
    draft->plan.ban_n++;
    ban->where = bw_mistakes_where(draft->mistakes, node->spot);
    ban->say = bw_fields_text(&form, "say", BW_NEEDED);
    ban->why = bw_fields_text(&form, "why", BW_OPTIONAL);
    named->spot = node->spot;
    named->from = bw_fields_id(&form, "from", BW_NEEDED);
    named->until = bw_fields_id(&form, "to", BW_NEEDED);
}
