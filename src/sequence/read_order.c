/* read_order.c - in which order places are gone through: a group's, and a step's own.  See
 * draft.h. */
#include "sequence/draft.h"

#include "base/text.h"

#include <string.h>

static bool find_order(const char *word, bw_order_kind *out) {
    for (int kind = 0; kind < BW_ORDER_KIND_COUNT; kind++) {
        if (strcmp(bw_order_word((bw_order_kind)kind), word) == 0) {
            *out = (bw_order_kind)kind;
            return true;
        }
    }
    return false;
}

static void note_unknown_order(const bw_fields *form, const char *word) {
    char known[80];
    bw_text text = bw_text_on(known, sizeof known);
    for (int kind = 0; kind < BW_ORDER_KIND_COUNT; kind++) {
        bw_text_add(&text, "%s\"%s\"", kind > 0 ? ", " : "", bw_order_word((bw_order_kind)kind));
    }
    bw_mistake_add(form->mistakes, bw_fields_at(form, "order"),
                   "order \"%.48s\" is not known: it is one of %s", word, known);
}

bool bw_read_order(const bw_fields *form, bw_order_kind *kind) {
    const char *word = bw_fields_text(form, "order", BW_OPTIONAL);
    if (word != NULL && !find_order(word, kind)) {
        note_unknown_order(form, word);
        return false;
    }
    return true;
}

/* As for loosening. */
static void reverse(size_t *order, size_t n) {
    for (size_t i = 0; i < n / 2; i++) {
        size_t kept = order[i];
        order[i] = order[n - 1 - i];
        order[n - 1 - i] = kept;
    }
}

const size_t *bw_draft_order(bw_draft *draft, bw_spot spot, const char *word, const bw_group *group,
                             bw_order_kind kind, bool reversed) {
    if (kind != BW_ORDER_LISTED && !group->has_points) {
        bw_mistake_add(draft->mistakes, bw_mistakes_at(draft->mistakes, spot, word, "order", 0),
                       "order \"%s\" needs to know where the places are: use grid{}, circle{} or "
                       "places{} with x and y, or order \"listed\"",
                       bw_order_word(kind));
        return NULL;
    }
    size_t n = group->place_n;
    size_t *order = bw_draft_memory(draft, n, sizeof *order);
    bw_point *point = bw_draft_memory(draft, n, sizeof *point);
    if (order == NULL || point == NULL) {
        return NULL;
    }
    for (size_t i = 0; i < n; i++) {
        point[i] = group->place[i].point;
        point[i].x_mm = group->mirrored ? -point[i].x_mm : point[i].x_mm;
    }
    bw_err err = {.code = BW_OK, .text = ""};
    if (bw_order_make(kind, group->has_points ? point : NULL, n, order, &err) != BW_OK) {
        bw_mistake_add(draft->mistakes, bw_mistakes_at(draft->mistakes, spot, word, "order", 0),
                       "%s", err.text);
        return NULL;
    }
    if (reversed) {
        reverse(order, n);
    }
    return order;
}

void bw_read_own_order(bw_draft *draft, const bw_fields *form) {
    bw_draft_step *named = &draft->named[draft->plan.step_n - 1];
    named->own_order = bw_fields_has(form, "order");
    named->reversed = bw_fields_flag(form, "reversed", false);
    if (!bw_read_order(form, &named->order_kind)) {
        named->own_order = false;
    }
}

static bool same_way(const bw_draft *draft, size_t a, size_t b) {
    return draft->step[a].kind == BW_STEP_TIGHTEN && draft->step[a].order != NULL &&
           draft->step[a].group == draft->step[b].group &&
           draft->step[a].order_kind == draft->step[b].order_kind &&
           draft->named[a].reversed == draft->named[b].reversed;
}

/* The group's own way, backwards, where the step names none.  A way that an earlier step goes is
 * not worked out again. */
void bw_settle_own_order(bw_draft *draft, size_t index) {
    const bw_draft_step *named = &draft->named[index];
    bw_step *step = &draft->step[index];
    const bw_group *group = &draft->group[step->group];
    if (group->order == NULL || (!named->own_order && !named->reversed)) {
        return;
    }
    step->order_kind = named->own_order ? named->order_kind : group->order_kind;
    for (size_t i = 0; i < index && step->order == NULL; i++) {
        step->order = same_way(draft, i, index) ? draft->step[i].order : NULL;
    }
    if (step->order == NULL) {
        step->order = bw_draft_order(draft, named->spot, "tighten", group, step->order_kind,
                                     named->reversed);
    }
}
