/* reader.c - see reader.h.
 *
 * One row for each declaration.  A declaration with mistakes still takes its place, so that what
 * refers to it is not a second mistake. */
#include "sequence/reader.h"

#include "base/text.h"
#include "sequence/draft.h"
#include "sequence/words.h"

#include <string.h>

/* What an answer may take while it is read: one that says little in many bytes takes most. */
enum { SCRATCH_BYTES = 48 << 20 };

void *bw_draft_memory(bw_draft *draft, size_t n, size_t size) {
    void *memory = bw_arena_alloc(draft->arena, n, size);
    if (memory == NULL) {
        draft->mistakes->memory_out = true;
    }
    return memory;
}

/* ---- declarations ---- */

static const char *or_empty(const char *text) {
    return text == NULL ? "" : text;
}

static void read_rule(bw_draft *draft, const bw_fields *form) {
    const char *word = bw_fields_text(form, "rule", BW_OPTIONAL);
    if (word == NULL) {
        return;
    }
    for (int rule = 0; rule < BW_RULE_COUNT; rule++) {
        if (strcmp(bw_rule_word((bw_rule)rule), word) == 0) {
            draft->plan.rule = (bw_rule)rule;
            return;
        }
    }
    bw_mistake_add(draft->mistakes, bw_fields_at(form, "rule"),
                   "`rule` of sequence is one of \"simple\" (accepted where inside the limits), "
                   "\"guarded\", \"guarded_95\" (where inside by the wrench's uncertainty), not "
                   "\"%.48s\"",
                   word);
}

static void read_sequence(bw_draft *draft, const bw_value *node) {
    bw_fields form = bw_fields_of(draft->mistakes, node);
    if (draft->sequence_n++ > 0) {
        bw_mistake_add(draft->mistakes, node->spot, "sequence{ ... } stands there already");
        return;
    }
    if (draft->plan.step_n > 0 || draft->plan.group_n > 0) {
        bw_mistake_add(draft->mistakes, node->spot,
                       "sequence{ ... } must come before all groups and steps");
    }
    bw_plan *plan = &draft->plan;
    plan->title = bw_fields_text(&form, "title", BW_NEEDED);
    plan->engine = bw_fields_text(&form, "engine", BW_NEEDED);
    plan->document = bw_fields_text(&form, "document", BW_NEEDED);
    plan->edition = or_empty(bw_fields_text(&form, "edition", BW_OPTIONAL));
    plan->revision = or_empty(bw_fields_text(&form, "revision", BW_OPTIONAL));
    plan->invented = bw_fields_flag(&form, "invented", false);
    (void)bw_fields_unit(&form, "torque_unit", BW_OPTIONAL, BW_DIM_TORQUE, &plan->torque_unit);
    read_rule(draft, &form);
}

static void read_nothing_more(bw_draft *draft, const bw_fields *form, bw_step *step) {
    (void)draft;
    (void)form;
    (void)step;
}

static const struct step_row {
    bw_step_kind kind;
    void (*read)(bw_draft *draft, const bw_fields *form, bw_step *step);
} step_rows[] = {
    {BW_STEP_CAUTION, read_nothing_more}, {BW_STEP_CONFIRM, read_nothing_more},
    {BW_STEP_NOTE, read_nothing_more},    {BW_STEP_MEASURE, bw_read_measure},
    {BW_STEP_TIGHTEN, bw_read_stages},    {BW_STEP_ASK, bw_read_ask},
    {BW_STEP_WAIT, bw_read_wait},         {BW_STEP_CHOOSE, bw_read_choose},
    {BW_STEP_FIT, bw_read_fit},
};

static const struct step_row *find_step_row(const char *word) {
    for (size_t i = 0; i < sizeof step_rows / sizeof step_rows[0]; i++) {
        if (strcmp(bw_step_word(step_rows[i].kind), word) == 0) {
            return &step_rows[i];
        }
    }
    return NULL;
}

static void read_step(bw_draft *draft, const bw_value *node) {
    const struct step_row *row = find_step_row(node->text);
    bw_fields form = bw_fields_of(draft->mistakes, node);
    bw_step *step = &draft->step[draft->plan.step_n];
    bw_draft_step *named = &draft->named[draft->plan.step_n];
    draft->plan.step_n++;
    step->kind = row->kind;
    step->where = bw_mistakes_where(draft->mistakes, node->spot);
    named->spot = node->spot;
    step->id = or_empty(bw_fields_id(&form, "id", BW_NEEDED));
    step->say = bw_fields_text(&form, "say", BW_NEEDED);
    step->why = bw_fields_text(&form, "why", BW_OPTIONAL);
    bw_read_buries(draft, &form, step);
    named->after = bw_fields_ids(&form, "after", BW_OPTIONAL, &named->after_n);
    bw_read_circumstances(draft, &form, step);
    if (row->kind == BW_STEP_TIGHTEN) {
        named->group = bw_fields_id(&form, "group", BW_NEEDED);
        named->continues = bw_fields_id(&form, "continues", BW_OPTIONAL);
        step->trial = bw_fields_flag(&form, "trial", false);
        step->due = bw_fields_text(&form, "due", BW_OPTIONAL);
        if (step->due != NULL && step->trial) {
            bw_mistake_add(draft->mistakes, node->spot,
                           "what is taken apart again is not due afterwards: `due` is for a step "
                           "for good");
        }
    }
    row->read(draft, &form, step);
}

/* ---- what the worker has to say itself ---- */

/* The text of a message node, "" where it has none. */
static const char *message_of(const bw_value *node) {
    bool has_text = node->list_n == 1 && node->list[0].kind == BW_VALUE_TEXT;
    return has_text ? node->list[0].text : "";
}

static void read_mistake(bw_draft *draft, const bw_value *node) {
    bw_mistake_add(draft->mistakes, node->spot, "%.300s", message_of(node));
}

static void read_error(bw_draft *draft, const bw_value *node) {
    bw_mistake_add(draft->mistakes, node->spot, "%.300s", message_of(node));
    draft->stopped = true;
}

/* True the first time that a word is unknown at its spot. */
static bool is_news(bw_draft *draft, const bw_value *node) {
    for (size_t i = 0; i < draft->unknown_n; i++) {
        const bw_value *told = draft->unknown[i];
        if (told->spot.line == node->spot.line && told->spot.source == node->spot.source &&
            strcmp(message_of(told), message_of(node)) == 0) {
            return false;
        }
    }
    if (draft->unknown_n == BW_MISTAKES_MAX) {
        return false;
    }
    draft->unknown[draft->unknown_n++] = node;
    return true;
}

static void read_unknown(bw_draft *draft, const bw_value *node) {
    if (!is_news(draft, node)) {
        return;
    }
    const char *word = message_of(node);
    bw_nearest nearest = bw_mistakes_nearest(draft->mistakes, word);
    bw_nearest_offer_words(&nearest);
    if (nearest.best != NULL) {
        bw_mistake_add(draft->mistakes, node->spot, "unknown word `%.64s`; did you mean `%.*s`?",
                       word, (int)nearest.best_len, nearest.best);
    } else {
        bw_mistake_add(draft->mistakes, node->spot,
                       "unknown word `%.64s`: neither a word of the language nor set before", word);
    }
}

static void read_dropped(bw_draft *draft, const bw_value *node) {
    if (draft->dropped_n < BW_DRAFT_DROPPED_MAX) {
        draft->dropped[draft->dropped_n++] = node;
    }
}

/* ---- all of them ---- */

static const struct node_row {
    const char *word;
    void (*read)(bw_draft *draft, const bw_value *node);
} node_rows[] = {
    {"sequence", read_sequence}, {"group", bw_read_group}, {"caution", read_step},
    {"confirm", read_step},      {"note", read_step},      {"measure", read_step},
    {"tighten", read_step},      {"ask", read_step},       {"wait", read_step},
    {"choose", read_step},       {"fit", read_step},       {"forbid", bw_read_forbid},
    {"mistake", read_mistake},   {"error", read_error},    {"unknown", read_unknown},
    {"dropped", read_dropped},
};

static bool read_node(bw_draft *draft, const bw_value *node) {
    for (size_t i = 0; i < sizeof node_rows / sizeof node_rows[0]; i++) {
        if (strcmp(node_rows[i].word, node->text) == 0) {
            node_rows[i].read(draft, node);
            return true;
        }
    }
    return false;
}

static size_t count_where(const bw_value *node, size_t n, bool (*counts)(const char *word)) {
    size_t count = 0;
    for (size_t i = 0; i < n; i++) {
        count += counts(node[i].text) ? 1 : 0;
    }
    return count;
}

static bool is_group(const char *word) {
    return strcmp(word, "group") == 0;
}

static bool is_ban(const char *word) {
    return strcmp(word, "forbid") == 0;
}

static bool is_step(const char *word) {
    return find_step_row(word) != NULL;
}

/* Sets room aside for all that was declared; false, and noted, where that is too much. */
static bool make_room(bw_draft *draft, const bw_value *node, size_t n) {
    size_t groups = count_where(node, n, is_group);
    size_t steps = count_where(node, n, is_step);
    size_t bans = count_where(node, n, is_ban);
    if (groups > BW_PLAN_GROUPS_MAX || steps > BW_PLAN_STEPS_MAX || bans > BW_PLAN_BANS_MAX) {
        bw_mistake_add(draft->mistakes, node[n - 1].spot,
                       "%zu groups, %zu steps and %zu bans are declared: at most %d, %d and %d",
                       groups, steps, bans, BW_PLAN_GROUPS_MAX, BW_PLAN_STEPS_MAX,
                       BW_PLAN_BANS_MAX);
        return false;
    }
    draft->group = bw_draft_memory(draft, groups, sizeof *draft->group);
    draft->group_spot = bw_draft_memory(draft, groups, sizeof *draft->group_spot);
    draft->step = bw_draft_memory(draft, steps, sizeof *draft->step);
    draft->named = bw_draft_memory(draft, steps, sizeof *draft->named);
    draft->ban = bw_draft_memory(draft, bans, sizeof *draft->ban);
    draft->named_ban = bw_draft_memory(draft, bans, sizeof *draft->named_ban);
    draft->by_id = bw_draft_memory(draft, steps, sizeof *draft->by_id);
    return !draft->mistakes->memory_out;
}

static bw_status read_nodes(bw_draft *draft, const bw_value *node, size_t n, bw_err *err) {
    if (!make_room(draft, node, n)) {
        return BW_OK;
    }
    for (size_t i = 0; i < n; i++) {
        if (!read_node(draft, &node[i])) {
            return bw_fail(err, BW_E_DATA, "the worker's answer is not well-formed");
        }
    }
    bw_check_draft(draft);
    return BW_OK;
}

static bw_status hand_out(bw_draft *draft, bw_loaded *out, bw_err *err) {
    const bw_mistake *mistake = NULL;
    size_t n = 0;
    bw_status rc = bw_mistakes_take(draft->mistakes, &mistake, &n, err);
    if (rc != BW_OK) {
        return rc;
    }
    bw_plan *plan = NULL;
    if (n == 0) {
        plan = bw_arena_alloc(draft->arena, 1, sizeof *plan);
        if (plan == NULL) {
            return bw_fail(err, BW_E_MEM, "out of memory for a plan");
        }
        *plan = draft->plan;
        plan->group = draft->group;
        plan->step = draft->step;
        plan->ban = draft->ban;
    }
    out->plan = plan;
    out->mistake = mistake;
    out->mistake_n = n;
    return BW_OK;
}

bw_status bw_reader_plan(const uint8_t *data, size_t len, const char *const *file, size_t file_n,
                         const bw_source *source, bw_arena *arena, bw_loaded *out, bw_err *err) {
    bw_arena *scratch = bw_arena_new(SCRATCH_BYTES);
    bw_mistakes *mistakes = bw_arena_alloc(arena, 1, sizeof *mistakes);
    if (scratch == NULL || mistakes == NULL) {
        bw_arena_free(scratch);
        return bw_fail(err, BW_E_MEM, "out of memory for a plan");
    }
    bw_mistakes_init(mistakes, arena, file, file_n);
    mistakes->source = source;
    bw_draft draft = {.arena = arena, .mistakes = mistakes};
    draft.plan.torque_unit = BW_UNIT_NM;
    const bw_value *node = NULL;
    size_t n = 0;
    bw_status rc = bw_wire_read(data, len, scratch, &node, &n, err);
    if (rc == BW_OK) {
        rc = read_nodes(&draft, node, n, err);
    }
    if (rc == BW_OK) {
        rc = hand_out(&draft, out, err);
    }
    bw_arena_free(scratch);
    return rc;
}

bw_status bw_reader_result(const uint8_t *data, size_t len, bw_arena *arena, const bw_value **out,
                           bw_err *err) {
    const bw_value *node = NULL;
    size_t n = 0;
    static const char *const file[] = {"calc"};
    bw_mistakes *mistakes = bw_arena_alloc(arena, 1, sizeof *mistakes);
    if (mistakes == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory");
    }
    bw_mistakes_init(mistakes, arena, file, 1);
    bw_draft draft = {.arena = arena, .mistakes = mistakes};
    bw_status rc = bw_wire_read(data, len, arena, &node, &n, err);
    for (size_t i = 0; rc == BW_OK && i < n; i++) {
        bool told = strcmp(node[i].text, "mistake") == 0 || strcmp(node[i].text, "error") == 0 ||
                    strcmp(node[i].text, "unknown") == 0;
        if (told) {
            (void)read_node(&draft, &node[i]);
        }
    }
    if (rc == BW_OK && mistakes->n > 0) {
        return bw_fail(err, BW_E_DATA, "%s", mistakes->list[0].text);
    }
    bool has_value = rc == BW_OK && n > 0 && strcmp(node[n - 1].text, "result") == 0 &&
                     node[n - 1].list_n == 1;
    if (rc == BW_OK && !has_value) {
        return bw_fail(err, BW_E_DATA, "the expression gives nothing");
    }
    if (rc == BW_OK) {
        *out = &node[n - 1].list[0];
    }
    return rc;
}
