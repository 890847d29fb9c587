/* checker.c - what can be said of a sequence only when all of it is there: names that must be
 * found, prerequisites that must come first.  See draft.h. */
#include "sequence/draft.h"

#include "base/text.h"
#include "sequence/words.h"

#include <stdlib.h>
#include <string.h>

/* ---- names ---- */

static bool same(const char *a, const char *b) {
    return a != NULL && b != NULL && strcmp(a, b) == 0;
}

static const char *dropped_text(const bw_value *table, const char *field) {
    const bw_value *value = bw_value_field(table, field);
    return value != NULL && value->kind == BW_VALUE_TEXT ? value->text : NULL;
}

/* Does a table under an unknown word hold this text in this field? */
static bool was_dropped(const bw_draft *draft, const char *field, const char *text) {
    for (size_t i = 0; i < draft->dropped_n; i++) {
        if (same(dropped_text(draft->dropped[i], field), text)) {
            return true;
        }
    }
    return false;
}

bool bw_draft_names_missing(const bw_draft *draft, const char *id) {
    return draft->stopped || bw_mistakes_full(draft->mistakes) || was_dropped(draft, "id", id);
}

static int by_id_then_place(const void *left, const void *right) {
    const bw_id_place *a = left;
    const bw_id_place *b = right;
    int order = strcmp(a->id, b->id);
    return order != 0 ? order : (a->index > b->index) - (a->index < b->index);
}

static void sort_ids(bw_draft *draft) {
    for (size_t i = 0; i < draft->plan.step_n; i++) {
        draft->by_id[i] = (bw_id_place){.id = draft->step[i].id, .index = i};
    }
    if (draft->plan.step_n > 0) {
        qsort(draft->by_id, draft->plan.step_n, sizeof *draft->by_id, by_id_then_place);
    }
}

bool bw_draft_find_step(const bw_draft *draft, const char *id, size_t *out) {
    size_t low = 0;
    size_t high = draft->plan.step_n;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (strcmp(draft->by_id[middle].id, id) < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    if (low == draft->plan.step_n || !same(draft->by_id[low].id, id)) {
        return false;
    }
    *out = draft->by_id[low].index;
    return true;
}

bw_spot bw_draft_at(const bw_draft *draft, size_t step, const char *field) {
    return bw_mistakes_at(draft->mistakes, draft->named[step].spot,
                          bw_step_word(draft->step[step].kind), field, 0);
}

static bool find_group(const bw_draft *draft, const char *name, size_t *out) {
    for (size_t i = 0; i < draft->plan.group_n; i++) {
        if (same(draft->group[i].name, name)) {
            *out = i;
            return true;
        }
    }
    return false;
}

static void note_twice(bw_draft *draft, bw_spot spot, const char *what, const char *name,
                       bw_where first) {
    if (bw_mistakes_where(draft->mistakes, spot).file == first.file) {
        bw_mistake_add(draft->mistakes, spot, "%s \"%s\" stands already in line %d: choose another",
                       what, name, first.line);
    } else {
        bw_mistake_add(draft->mistakes, spot, "%s \"%s\" stands already at %s:%d: choose another",
                       what, name, first.file, first.line);
    }
}

static void check_twice(bw_draft *draft) {
    size_t first = 0;
    for (size_t i = 0; i < draft->plan.step_n; i++) {
        const bw_step *step = &draft->step[i];
        if (step->id[0] != '\0' && bw_draft_find_step(draft, step->id, &first) && first < i) {
            note_twice(draft, bw_draft_at(draft, i, "id"), "step id", step->id,
                       draft->step[first].where);
        }
    }
    for (size_t i = 0; i < draft->plan.group_n; i++) {
        const bw_group *group = &draft->group[i];
        if (group->name[0] != '\0' && find_group(draft, group->name, &first) && first < i) {
            bw_spot spot = bw_mistakes_at(draft->mistakes, draft->group_spot[i], "group", "name",
                                          0);
            note_twice(draft, spot, "group", group->name, draft->group[first].where);
        }
    }
}

/* ---- prerequisites ---- */

static void note_unknown_step(bw_draft *draft, bw_spot spot, const char *id) {
    bw_nearest nearest = bw_mistakes_nearest(draft->mistakes, id);
    for (size_t i = 0; i < draft->plan.step_n; i++) {
        bw_nearest_offer(&nearest, draft->step[i].id, strlen(draft->step[i].id));
    }
    if (nearest.best != NULL) {
        bw_mistake_add(draft->mistakes, spot,
                       "`after` names \"%s\", which is no step; did you mean \"%s\"?", id,
                       nearest.best);
    } else {
        bw_mistake_add(draft->mistakes, spot, "`after` names \"%s\", which is no step", id);
    }
}

static void resolve_after(bw_draft *draft, size_t index) {
    const bw_draft_step *named = &draft->named[index];
    bw_step *step = &draft->step[index];
    size_t *after = bw_draft_memory(draft, named->after_n, sizeof *after);
    size_t n = 0;
    for (size_t i = 0; after != NULL && i < named->after_n; i++) {
        const char *id = named->after[i];
        size_t found = 0;
        if (!bw_draft_find_step(draft, id, &found)) {
            if (!bw_draft_names_missing(draft, id)) {
                note_unknown_step(draft, bw_draft_at(draft, index, "after"), id);
            }
        } else if (found >= index) {
            bw_mistake_add(draft->mistakes, bw_draft_at(draft, index, "after"),
                           found == index ? "`after` of \"%s\" names the step itself"
                                          : "`after` names \"%s\", which comes later: write it "
                                            "before this step",
                           id);
        } else {
            after[n++] = found;
        }
    }
    step->after = after;
    step->after_n = n;
}

/* ---- groups ---- */

/* What a step's stages have from its group. */
static void hand_down(bw_draft *draft, size_t index) {
    const bw_step *step = &draft->step[index];
    const bw_group *group = &draft->group[step->group];
    for (size_t i = 0; i < step->stage_n; i++) {
        bw_plan_stage *stage = &draft->named[index].stage[i];
        if (stage->document == NULL) {
            stage->document = group->document;
            stage->revision = group->revision;
        }
        stage->stage.needs_trace = group->joint_class == 'A' && !step->trial &&
                                   bw_stage_traits_of(stage->stage.kind)->tightens;
    }
}

/* A group without a name: it may be the one that is looked for. */
static bool lacks_name(const bw_draft *draft) {
    size_t nameless = 0;
    return find_group(draft, "", &nameless);
}

static void note_unknown_group(bw_draft *draft, size_t index) {
    const bw_draft_step *named = &draft->named[index];
    bw_spot spot = bw_draft_at(draft, index, "group");
    bw_nearest nearest = bw_mistakes_nearest(draft->mistakes, named->group);
    for (size_t i = 0; i < draft->plan.group_n; i++) {
        bw_nearest_offer(&nearest, draft->group[i].name, strlen(draft->group[i].name));
    }
    size_t meant = 0;
    draft->group_lost = draft->group_lost || nearest.best == NULL;
    if (nearest.best == NULL) {
        bw_mistake_add(draft->mistakes, spot, "there is no group \"%s\"", named->group);
    } else if (find_group(draft, nearest.best, &meant)) {
        draft->group_meant[meant] = true;
        bw_mistake_add(draft->mistakes, spot, "there is no group \"%s\"; did you mean \"%s\"?",
                       named->group, nearest.best);
    }
}

/* False where the step's group is not there. */
static bool resolve_group(bw_draft *draft, size_t index) {
    bw_draft_step *named = &draft->named[index];
    named->group_found = named->group != NULL &&
                         find_group(draft, named->group, &draft->step[index].group);
    if (named->group == NULL || named->group_found) {
        return named->group_found;
    }
    if (draft->stopped || lacks_name(draft) || was_dropped(draft, "name", named->group)) {
        return false;
    }
    note_unknown_group(draft, index);
    return false;
}

static void check_tightened(bw_draft *draft) {
    for (size_t g = 0; g < draft->plan.group_n; g++) {
        const char *name = draft->group[g].name;
        bool tightened = name[0] == '\0' || draft->group_lost || draft->group_meant[g] ||
                         was_dropped(draft, "group", name);
        for (size_t i = 0; i < draft->plan.step_n; i++) {
            tightened = tightened || same(draft->named[i].group, name);
        }
        if (!tightened) {
            bw_mistake_add(draft->mistakes, draft->group_spot[g],
                           "group \"%s\" is never tightened: a tighten{} with group = \"%s\" is "
                           "missing",
                           name, name);
        }
    }
}

/* What a step asks for: pulls, and what is read or fitted. */
static size_t pulls_of(const bw_draft *draft, size_t index) {
    const bw_step *step = &draft->step[index];
    return draft->named[index].group_found ? draft->group[step->group].place_n * step->stage_n : 0;
}

static size_t reads_of(const bw_draft *draft, size_t index) {
    const bw_step *step = &draft->step[index];
    size_t n = step->to_n;
    for (size_t i = 0; i < step->set_n; i++) {
        n += step->set[i].at_n * bw_set_repeats(&step->set[i]);
    }
    return n;
}

static void check_amount(bw_draft *draft, size_t most, const char *what,
                         size_t (*of)(const bw_draft *draft, size_t index)) {
    size_t n = 0;
    for (size_t i = 0; i < draft->plan.step_n; i++) {
        bool fits = n <= most;
        n += of(draft, i);
        if (fits && n > most) {
            bw_mistake_add(draft->mistakes, draft->named[i].spot,
                           "with this step the sequence asks for %zu %s: at most %zu", n, what,
                           most);
        }
    }
}

/* ---- the whole ---- */

static void check_there(bw_draft *draft) {
    static const bw_spot top = {0, 1};
    if (draft->stopped) {
        return;
    }
    if (draft->sequence_n == 0) {
        bw_mistake_add(draft->mistakes, top,
                       "sequence{ title = ..., engine = ..., document = ... } is missing: it comes "
                       "first");
    }
    if (draft->plan.step_n == 0 && draft->dropped_n == 0) {
        bw_mistake_add(draft->mistakes, top,
                       "there are no steps: a sequence holds one confirm{}, measure{} or "
                       "tighten{} at least");
    }
    check_tightened(draft);
    check_amount(draft, BW_PLAN_PULLS_MAX, "pulls, one for each place and stage", pulls_of);
    check_amount(draft, BW_PLAN_READ_MAX, "readings and parts", reads_of);
}

void bw_check_draft(bw_draft *draft) {
    sort_ids(draft);
    check_twice(draft);
    for (size_t i = 0; i < draft->plan.step_n; i++) {
        resolve_after(draft, i);
        if (draft->step[i].kind == BW_STEP_TIGHTEN && resolve_group(draft, i)) {
            hand_down(draft, i);
            bw_settle_own_order(draft, i);
        }
    }
    bw_check_before(draft);
    if (!draft->mistakes->memory_out) {
        bw_check_job(draft);
        for (size_t g = 0; g < draft->plan.group_n; g++) {
            bw_check_steps_of(draft, g);
            bw_check_stages(draft, g);
        }
        bw_check_buried(draft);
    }
    check_there(draft);
}
