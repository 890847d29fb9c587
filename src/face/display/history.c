/* history.c - see history.h. */
#include "face/display/history.h"

#include "base/text.h"
#include "face/figures.h"
#include "face/members.h"
#include "judge/judge.h"

#include <string.h>

void bw_history_init(bw_history *history, const bw_plan *plan, bw_store *store) {
    *history = (bw_history){.plan = plan, .pulled = {.plan = plan, .store = store}};
}

void bw_history_free(bw_history *history) {
    json_decref(history->verdict);
    json_decref(history->accepted);
    bw_pulled_free(&history->pulled);
}

/* ---- a line each ---- */

static const bw_step *step_of(const bw_history *h, const bw_entry *e) {
    size_t step = 0;
    return bw_plan_find_step(h->plan, bw_entry_text(e, BW_M_STEP, ""), &step) ? &h->plan->step[step]
                                                                              : NULL;
}

static const char *say_of(const bw_history *h, const bw_entry *e) {
    const bw_step *step = step_of(h, e);
    return step != NULL ? step->say : bw_entry_text(e, BW_M_STEP, "");
}

/* "main cap bolts, 4 left, stage 2: " */
static void add_spot(const bw_history *h, const bw_entry *e, bw_text *text) {
    size_t group = 0;
    const char *name = bw_entry_text(e, BW_M_GROUP, "");
    bool known = bw_plan_find_group(h->plan, name, &group);
    bw_text_add(text, "%s, %s, stage %d: ", known ? h->plan->group[group].say : name,
                bw_entry_text(e, BW_M_LABEL, "?"), (int)bw_entry_whole(e, BW_M_STAGE, 0));
}

typedef void line_of(const bw_history *h, const bw_entry *e, bw_text *text);

static void line_confirmed(const bw_history *h, const bw_entry *e, bw_text *text) {
    bw_text_add(text, "%s", say_of(h, e));
}

static void line_answered(const bw_history *h, const bw_entry *e, bw_text *text) {
    const char *label = bw_entry_text(e, BW_M_LABEL, NULL);
    bw_text_add(text, "%s: %s%s%s", say_of(h, e), bw_entry_text(e, BW_M_TEXT, ""),
                label != NULL ? " " : "", label != NULL ? label : "");
}

static void line_reading(const bw_history *h, const bw_entry *e, bw_text *text) {
    const bw_step *step = step_of(h, e);
    const char *set = bw_entry_text(e, BW_M_SET, "");
    for (size_t i = 0; step != NULL && i < step->set_n; i++) {
        if (strcmp(step->set[i].id, set) == 0) {
            set = step->set[i].say;
        }
    }
    bw_text_add(text, "%s, %s: %s", set, bw_entry_text(e, BW_M_AT, ""),
                bw_entry_text(e, BW_M_TYPED, ""));
}

static void line_derived(const bw_history *h, const bw_entry *e, bw_text *text) {
    const bw_step *step = step_of(h, e);
    const char *id = bw_entry_text(e, BW_M_DERIVED, "");
    bw_unit unit = BW_UNIT_NUMBER;
    const char *name = bw_entry_text(e, BW_M_UNIT, "");
    for (size_t i = 0; step != NULL && i < step->derived_n; i++) {
        const bw_derived *d = &step->derived[i];
        if (strcmp(d->id, id) == 0 && bw_unit_find(name, strlen(name), &unit)) {
            bw_text_add(text, "%s ", d->say);
            bw_value_beside_add(text, bw_to_base(bw_entry_number(e, BW_M_VALUE, 0), unit), d->low,
                                d->high, d->unit, d->decimals);
            bw_text_add(text, ": %s", bw_entry_text(e, BW_M_VERDICT, ""));
        }
    }
}

static void line_verdict(const bw_history *h, const bw_entry *e, bw_text *text) {
    add_spot(h, e, text);
    bw_torque_add(text, bw_entry_number(e, BW_M_PEAK_NM, 0), h->plan->torque_unit);
    bw_text_add(text, ", %s", bw_entry_text(e, BW_M_VERDICT, ""));
}

static void line_decision(const bw_history *h, const bw_entry *e, bw_text *text) {
    if (e->value[BW_M_DERIVED].type == BW_VALUE_NONE) {
        add_spot(h, e, text);
    }
    bw_text_add(text, "%s", bw_entry_text(e, BW_M_DECISION, ""));
    const char *second = bw_entry_text(e, BW_M_SECOND, NULL);
    if (second != NULL) {
        bw_text_add(text, ", with %s: %s", second, bw_entry_text(e, BW_M_REASON, ""));
    }
}

static void line_correction(const bw_history *h, const bw_entry *e, bw_text *text) {
    bw_text_add(text, "Corrected: %s. %s", say_of(h, e), bw_entry_text(e, BW_M_REASON, ""));
}

static void line_redone(const bw_history *h, const bw_entry *e, bw_text *text) {
    bw_text_add(text, "Done anew: %s. %s", say_of(h, e), bw_entry_text(e, BW_M_REASON, ""));
}

static void line_person(const bw_history *h, const bw_entry *e, bw_text *text) {
    (void)h;
    bw_text_add(text, "%s works from here on", bw_entry_text(e, BW_M_PERSON, ""));
}

static void line_put_off(const bw_history *h, const bw_entry *e, bw_text *text) {
    bw_text_add(text, "Left for later: %s", say_of(h, e));
}

static void line_length(const bw_history *h, const bw_entry *e, bw_text *text) {
    add_spot(h, e, text);
    bw_text_add(text, "length %s", bw_entry_text(e, BW_M_TYPED, ""));
}

static void line_text(const bw_history *h, const bw_entry *e, bw_text *text) {
    (void)h;
    bw_text_add(text, "%s", bw_entry_text(e, BW_M_TEXT, ""));
}

static const struct {
    bw_kind kind;
    const char *mark;
    line_of *line;
} lines[] = {
    {BW_KIND_CONFIRMED, "good", line_confirmed},  {BW_KIND_ANSWERED, "good", line_answered},
    {BW_KIND_READING, "plain", line_reading},     {BW_KIND_DERIVED, "value", line_derived},
    {BW_KIND_VERDICT, "value", line_verdict},     {BW_KIND_DECISION, "bad", line_decision},
    {BW_KIND_CORRECTION, "bad", line_correction}, {BW_KIND_PERSON_ON, "plain", line_person},
    {BW_KIND_PUT_OFF, "plain", line_put_off},     {BW_KIND_FASTENER_LENGTH, "plain", line_length},
    {BW_KIND_NOTE, "plain", line_text},           {BW_KIND_TOOL_LOST, "bad", line_text},
    {BW_KIND_POSITION, "good", line_text},        {BW_KIND_INTERRUPTED, "bad", line_text},
    {BW_KIND_STEP_REDONE, "bad", line_redone},
};

static void add_line(bw_history *h, const bw_entry *e, const char *mark, line_of *line) {
    bool value = strcmp(mark, "value") == 0;
    bool pass = strcmp(bw_entry_text(e, BW_M_VERDICT, ""), "pass") == 0;
    bw_text text = bw_text_on(h->line[h->next].text, BW_HISTORY_TEXT_MAX);
    line(h, e, &text);
    h->line[h->next].mark = !value ? mark : pass ? "good" : "bad";
    h->line[h->next].number = e->number;
    h->line[h->next].time_ms = e->time_ms;
    (void)bw_text_copy(h->line[h->next].by, sizeof h->line[h->next].by, e->by);
    h->next = (h->next + 1) % BW_HISTORY_LINES;
    h->n += h->n < BW_HISTORY_LINES ? 1 : 0;
}

json_t *bw_history_lines(const bw_history *h) {
    json_t *list = json_array();
    for (size_t i = 0; i < h->n; i++) {
        size_t at = (h->next + BW_HISTORY_LINES - 1 - i) % BW_HISTORY_LINES;
        json_t *one = json_object();
        bw_set_text(one, "text", h->line[at].text);
        bw_set_text(one, "mark", h->line[at].mark);
        bw_set_text(one, "by", h->line[at].by);
        (void)json_object_set_new(one, "time_ms", json_integer(h->line[at].time_ms));
        (void)json_array_append_new(list, one);
    }
    return list;
}

/* ---- the last verdict ---- */

static json_t *reasons_of(const bw_entry *e) {
    const char *words = bw_entry_text(e, BW_M_REASONS, "");
    json_t *list = json_array();
    while (*words != '\0') {
        size_t len = strcspn(words, " ");
        for (size_t i = 0; i < BW_REASON_COUNT; i++) {
            const char *word = bw_reason_word(i);
            if (strlen(word) == len && strncmp(word, words, len) == 0) {
                json_t *one = json_object();
                bw_set_text(one, "word", word);
                bw_set_text(one, "says", bw_reason_says(i));
                bw_set_text(one, "look", bw_reason_look(i));
                (void)json_array_append_new(list, one);
            }
        }
        words += len + strspn(words + len, " ");
    }
    return list;
}

static json_t *spot_of(const bw_entry *e) {
    json_t *spot = json_object();
    bw_set_text(spot, "group", bw_entry_text(e, BW_M_GROUP, NULL));
    bw_set_text(spot, "label", bw_entry_text(e, BW_M_LABEL, NULL));
    bw_set_whole(spot, "place", (size_t)bw_entry_whole(e, BW_M_FASTENER, 0));
    bw_set_whole(spot, "stage", (size_t)bw_entry_whole(e, BW_M_STAGE, 0));
    return spot;
}

static void keep_verdict(bw_history *h, const bw_entry *e) {
    json_t *v = spot_of(e);
    bw_set_whole(v, "entry", (size_t)e->number);
    bw_set_text(v, "word", bw_entry_text(e, BW_M_VERDICT, ""));
    bw_set_flag(v, "more", bw_entry_flag(e, BW_M_MORE, false));
    bw_set_number(v, "peak_Nm", bw_entry_number(e, BW_M_PEAK_NM, 0));
    bw_set_positive(v, "turn_deg", bw_entry_number(e, BW_M_FINAL_DEG, 0));
    bw_set_positive(v, "low_Nm", bw_entry_number(e, BW_M_LOW_NM, 0));
    bw_set_positive(v, "high_Nm", bw_entry_number(e, BW_M_HIGH_NM, 0));
    bw_set_positive(v, "low_deg", bw_entry_number(e, BW_M_LOW_DEG, 0));
    bw_set_positive(v, "high_deg", bw_entry_number(e, BW_M_HIGH_DEG, 0));
    bw_set_positive(v, "judged_Nm", bw_entry_number(e, BW_M_JUDGED_NM, 0));
    (void)json_object_set_new(v, "reasons", reasons_of(e));
    json_decref(h->verdict);
    h->verdict = v;
    if (strcmp(bw_entry_text(e, BW_M_VERDICT, ""), "pass") == 0) {
        json_decref(h->accepted);
        h->accepted = spot_of(e);
    }
}

/* It may have been of the step that is done anew, and stands no longer. */
static void forget_verdict(bw_history *h) {
    json_decref(h->verdict);
    json_decref(h->accepted);
    h->verdict = NULL;
    h->accepted = NULL;
}

void bw_history_entry(bw_history *h, const bw_entry *e) {
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        if (lines[i].kind == e->kind) {
            add_line(h, e, lines[i].mark, lines[i].line);
        }
    }
    bw_pulled_entry(&h->pulled, e);
    if (e->kind == BW_KIND_VERDICT) {
        keep_verdict(h, e);
    } else if (e->kind == BW_KIND_STEP_REDONE) {
        forget_verdict(h);
    }
}

json_t *bw_history_verdict(bw_history *h) {
    json_t *verdict = json_copy(h->verdict);
    if (verdict != NULL) {
        bw_pulled_set(&h->pulled, json_integer_value(json_object_get(verdict, "place")), verdict);
    }
    return verdict;
}
