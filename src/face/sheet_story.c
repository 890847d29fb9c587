/* sheet_story.c - what was confirmed, answered, noted and fitted; what did not go straight; what is
 * still open. */
#include "face/sheet_make.h"

#include "base/decimal.h"

#include <string.h>

static bool is_any(bw_kind kind, const bw_kind *kinds, size_t n) {
    for (size_t i = 0; i < n; i++) {
        if (kinds[i] == kind) {
            return true;
        }
    }
    return false;
}

static const bw_entry *entry_numbered(const bw_making *m, int64_t number) {
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        if ((int64_t)m->replay->entry[i].number == number) {
            return &m->replay->entry[i];
        }
    }
    return NULL;
}

/* A row about an entry in a table whose first columns are time and by. */
static bw_sheet_row *entry_row(bw_making *m, bw_sheet_table *table, const bw_entry *e) {
    bw_sheet_row *row = bw_make_row(m, table);
    row->cell[0] = bw_make_when(m, e);
    row->cell[1] = e->by;
    return row;
}

/* On paper it is struck through; in plain text only the words say it. */
static void mark_taken_back(bw_making *m, size_t index, bw_sheet_row *row) {
    const bw_entry *by = m->taken_back[index];
    if (by != NULL) {
        row->past = true;
        row->note = bw_make_said(m, "taken back: %s", bw_entry_text(by, BW_M_REASON, ""));
    }
}

/* ---- decisions: what was accepted although it was not a pass ---- */

static const char *what_it_is(bw_making *m, const bw_entry *e) {
    const bw_step *step = bw_entry_step(m, e);
    const char *label = bw_entry_text(e, BW_M_LABEL, "");
    const char *derived = bw_entry_text(e, BW_M_DERIVED, "");
    const char *say = step != NULL ? step->say : "";
    if (bw_entry_has(e, BW_M_FASTENER)) {
        return bw_make_said(m, "%s Place %lld (%s), stage %lld", say,
                            (long long)bw_entry_whole(e, BW_M_FASTENER, 0), label,
                            (long long)bw_entry_whole(e, BW_M_STAGE, 0));
    }
    for (size_t i = 0; step != NULL && i < step->derived_n; i++) {
        if (strcmp(step->derived[i].id, derived) == 0) {
            return bw_make_said(m, "%s %s", say, step->derived[i].say);
        }
    }
    return say;
}

/* "low, 46.3 N·m" or "high, 0.075 mm": what the entry that was decided on says. */
static const char *found(bw_making *m, const bw_entry *e) {
    if (e == NULL) {
        return "";
    }
    const char *verdict = bw_entry_text(e, BW_M_VERDICT, "");
    if (e->kind == BW_KIND_VERDICT) {
        return bw_make_said(m, "%s, peak %s%s%s", verdict,
                            bw_make_torque(m, bw_entry_number(e, BW_M_PEAK_NM, 0)),
                            bw_entry_text(e, BW_M_REASONS, "")[0] != '\0' ? "\n" : "",
                            bw_entry_text(e, BW_M_REASONS, ""));
    }
    if (e->kind == BW_KIND_DERIVED) {
        char value[32];
        return bw_make_said(m, "%s, %s %s", verdict,
                            bw_number_text(bw_entry_number(e, BW_M_VALUE, 0), value, sizeof value),
                            bw_entry_text(e, BW_M_UNIT, ""));
    }
    return bw_kind_says(e->kind) != NULL ? bw_kind_says(e->kind) : "";
}

static void tell_decisions(bw_making *m) {
    static const char *const heads[] = {"time (UTC)", "by", "what", "found", "why", NULL};
    bw_sheet_table *table = NULL;
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        if (e->kind != BW_KIND_DECISION || !bw_entry_has(e, BW_M_SECOND)) {
            continue;
        }
        if (table == NULL) {
            (void)bw_make_section(m, "Accepted by decision");
            table = bw_make_table(m, NULL, heads);
            table->marks = true;
        }
        bw_sheet_row *row = entry_row(m, table, e);
        row->mark = BW_MARK_DECIDED;
        row->cell[1] = bw_make_said(m, "%s\nwith %s", e->by, bw_entry_text(e, BW_M_SECOND, ""));
        row->cell[2] = what_it_is(m, e);
        row->cell[3] = found(m, entry_numbered(m, bw_entry_whole(e, BW_M_OF, 0)));
        row->cell[4] = bw_entry_text(e, BW_M_REASON, "");
    }
}

/* ---- corrections ---- */

static const char *value_of(bw_making *m, const bw_entry *e) {
    if (e == NULL) {
        return "";
    }
    if (bw_entry_has(e, BW_M_TYPED)) {
        return bw_make_typed(m, e);
    }
    if (bw_entry_has(e, BW_M_PEAK_NM)) {
        return bw_make_said(m, "place %lld, peak %s",
                            (long long)bw_entry_whole(e, BW_M_FASTENER, 0),
                            bw_make_torque(m, bw_entry_number(e, BW_M_PEAK_NM, 0)));
    }
    if (bw_entry_has(e, BW_M_SERIAL_NUMBER)) {
        return bw_entry_text(e, BW_M_SERIAL_NUMBER, "");
    }
    return bw_entry_text(e, BW_M_TEXT, bw_kind_says(e->kind) != NULL ? bw_kind_says(e->kind) : "");
}

/* The entry that stands in the old one's place: the same thing said again. */
static const bw_entry *put_right(const bw_making *m, const bw_entry *old, size_t from) {
    static const bw_member same[] = {BW_M_STEP, BW_M_SET, BW_M_AT, BW_M_LABEL};
    for (size_t i = from; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        bool is = e->kind == old->kind &&
                  bw_entry_whole(e, BW_M_STAGE, 0) == bw_entry_whole(old, BW_M_STAGE, 0);
        for (size_t k = 0; is && k < sizeof same / sizeof same[0]; k++) {
            is = strcmp(bw_entry_text(e, same[k], ""), bw_entry_text(old, same[k], "")) == 0;
        }
        if (is) {
            return e;
        }
    }
    return NULL;
}

static const char *new_value(bw_making *m, const bw_entry *correction, const bw_entry *old,
                             size_t index) {
    if (bw_entry_has(correction, BW_M_LABEL)) {
        return bw_make_said(m, "it was %s", bw_entry_text(correction, BW_M_LABEL, ""));
    }
    if (bw_entry_has(correction, BW_M_TEXT)) {
        return bw_entry_text(correction, BW_M_TEXT, "");
    }
    const bw_entry *now = old != NULL ? put_right(m, old, index + 1) : NULL;
    return now != NULL ? value_of(m, now) : "not given again";
}

static void tell_corrections(bw_making *m) {
    static const char *const heads[] = {"time (UTC)", "by",  "what",   "old value",
                                        "new value",  "why", ">entry", NULL};
    bw_sheet_table *table = NULL;
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        if (e->kind != BW_KIND_CORRECTION) {
            continue;
        }
        if (table == NULL) {
            (void)bw_make_section(m, "Corrections");
            table = bw_make_table(m, NULL, heads);
        }
        int64_t corrects = bw_entry_whole(e, BW_M_CORRECTS, 0);
        const bw_entry *old = entry_numbered(m, corrects);
        bw_sheet_row *row = entry_row(m, table, e);
        row->cell[2] = what_it_is(m, old != NULL ? old : e);
        row->cell[3] = value_of(m, old);
        row->cell[4] = new_value(m, e, old, i);
        row->cell[5] = bw_entry_text(e, BW_M_REASON, "");
        row->cell[6] = bw_make_said(m, "%lld", (long long)corrects);
    }
}

/* ---- open ---- */

/* A group with fasteners still to be done, counted. */
static const char *left_at(bw_making *m, const bw_step *step, const bw_progress *progress) {
    size_t left = 0;
    size_t n = step->kind == BW_STEP_TIGHTEN ? m->plan->group[step->group].place_n : 0;
    for (size_t i = 0; progress != NULL && i < n; i++) {
        left += progress[i].stages_done < step->stage_n ? 1 : 0;
    }
    return left > 0 && left < n ? bw_make_said(m, "%zu of %zu fasteners left", left, n) : "";
}

static void tell_open(bw_making *m) {
    static const char *const heads[] = {">step", "what", "in hand", NULL};
    bw_sheet_table *table = NULL;
    bw_prompt prompt;
    bw_session_prompt(m->replay->session, &prompt);
    for (size_t i = 0; i < m->plan->step_n; i++) {
        const bw_step *step = &m->plan->step[i];
        bw_step_standing standing = bw_session_step(m->replay->session, i);
        if (standing.done) {
            continue;
        }
        if (table == NULL) {
            (void)bw_make_section(m, "Open");
            (void)bw_make_block(
                m, BW_BLOCK_NOTICE,
                bw_make_said(m, "%zu of %zu steps are done.", prompt.steps_done, m->plan->step_n));
            table = bw_make_table(m, NULL, heads);
        }
        bw_sheet_row *row = bw_make_row(m, table);
        const char *left = left_at(m, step, standing.progress);
        row->cell[0] = bw_make_said(m, "%zu", i + 1);
        row->cell[1] = step->say;
        row->cell[2] = bw_make_said(m, "%s%s%s", step == prompt.step ? "yes" : "",
                                    step == prompt.step && left[0] != '\0' ? ", " : "", left);
    }
}

/* How it was seen to; NULL: it was not yet. */
static const char *done_text(bw_making *m, const bw_entry *due) {
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        if (e->kind == BW_KIND_RETORQUE_DONE &&
            (uint64_t)bw_entry_whole(e, BW_M_OF, 0) == due->number) {
            const char *text = bw_entry_text(e, BW_M_TEXT, "");
            return bw_make_said(m, "%s: done on %s UTC by %s%s%s", bw_entry_text(due, BW_M_DUE, ""),
                                bw_make_when(m, e), e->by, text[0] != '\0' ? ": " : "", text);
        }
    }
    return NULL;
}

/* What outlives the build. */
static void tell_due(bw_making *m) {
    bool begun = false;
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        size_t group = 0;
        if (e->kind != BW_KIND_RETORQUE_DUE) {
            continue;
        }
        if (!begun) {
            begun = true;
            (void)bw_make_section(m, "Due after closing");
        }
        bool known = bw_plan_find_group(m->plan, bw_entry_text(e, BW_M_GROUP, ""), &group);
        const char *done = done_text(m, e);
        bw_make_fact(m, BW_BLOCK_FACTS, known ? m->plan->group[group].say : "",
                     done != NULL ? done : bw_entry_text(e, BW_M_DUE, ""));
    }
}

void bw_make_irregular(bw_making *m) {
    tell_open(m);
    tell_due(m);
    tell_decisions(m);
    tell_corrections(m);
}

/* ---- the straight story ---- */

/* What was told of fasteners that are used again. */
static const char *reuse_text(bw_making *m, const bw_entry *e, const bw_step *step) {
    const char *say = m->plan->group[step->group].say;
    const char *label = bw_entry_text(e, BW_M_LABEL, NULL);
    if (label != NULL) {
        return bw_make_said(m, "%s: %s %s by a new one", say, label,
                            bw_entry_text(e, BW_M_TEXT, ""));
    }
    const char *text = bw_entry_text(e, BW_M_TEXT, "");
    bool some = strncmp(bw_entry_text(e, BW_M_TYPED, ""), "replaced", strlen("replaced")) == 0;
    return strcmp(text, "new") == 0
               ? bw_make_said(m, "%s: all are new", say)
               : bw_make_said(m, "%s: %s %s", say, some ? "the others" : "all",
                              strcmp(text, "checked") == 0 ? "were checked, and are used again"
                                                           : "are used again");
}

static const char *confirmed_text(bw_making *m, const bw_entry *e, const bw_step *step) {
    const char *text = bw_entry_text(e, BW_M_TEXT, "");
    const char *second = bw_entry_text(e, BW_M_SECOND, "");
    switch (e->kind) {
    case BW_KIND_CONFIRMED:
        if (second[0] != '\0') {
            return bw_make_said(m, "%s Looked at by a second person: %s", step->say, second);
        }
        return bw_make_said(m, "%s%s%s", step->say, text[0] != '\0' ? " Taken: " : "", text);
    case BW_KIND_ANSWERED:
        return step->kind == BW_STEP_TIGHTEN ? reuse_text(m, e, step)
                                             : bw_make_said(m, "%s %s", step->say, text);
    case BW_KIND_POSITION:
        return bw_make_said(m, "turned so that it stands: %s", text);
    default: {
        const char *asked = step != NULL && step->kind == BW_STEP_NOTE ? step->say : "note";
        size_t len = strlen(asked);
        bool dot = len > 0 && asked[len - 1] == '.';
        return bw_make_said(m, "%.*s: %s", (int)(dot ? len - 1 : len), asked, text);
    }
    }
}

static const char *how_it_came(bw_making *m, const bw_entry *e) {
    const char *typed = bw_make_pull_typed(m, e);
    if (typed != NULL) {
        return typed;
    }
    long long samples = bw_entry_whole(e, BW_M_SAMPLES, 0);
    return samples > 0 ? bw_make_said(m, "trace, %lld samples", samples) : "peak alone, no trace";
}

/* Pulls that no step asked for: all of them where there is no sequence. */
static void tell_unscripted(bw_making *m) {
    static const char *const heads[] = {"time (UTC)", "by",          ">entry", ">peak",
                                        "tool",       "how it came", "what",   NULL};
    bw_sheet_table *table = NULL;
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        const char *name = "";
        if (e->kind != BW_KIND_PULL || bw_entry_flag(e, BW_M_ASKED, false)) {
            continue;
        }
        if (table == NULL) {
            (void)bw_make_section(m, "Unscripted pulls: recorded, not judged");
            table = bw_make_table(m, NULL, heads);
        }
        for (size_t k = i + 1; k < m->replay->entry_n; k++) {
            const bw_entry *note = &m->replay->entry[k];
            bool of_it = note->kind == BW_KIND_NOTE &&
                         (uint64_t)bw_entry_whole(note, BW_M_OF, 0) == e->number;
            name = of_it ? bw_entry_text(note, BW_M_TEXT, "") : name;
        }
        bw_sheet_row *row = entry_row(m, table, e);
        row->cell[2] = bw_make_said(m, "%llu", (unsigned long long)e->number);
        row->cell[3] = bw_make_torque(m, bw_entry_number(e, BW_M_PEAK_NM, 0));
        row->cell[4] = bw_entry_text(e, BW_M_TOOL, "");
        row->cell[5] = how_it_came(m, e);
        row->cell[6] = name;
    }
}

static void tell_confirmed(bw_making *m) {
    static const char *const heads[] = {"time (UTC)", "by", "what", NULL};
    static const bw_kind kinds[] = {BW_KIND_CONFIRMED, BW_KIND_ANSWERED, BW_KIND_POSITION,
                                    BW_KIND_NOTE};
    (void)bw_make_section(m, "Cautions, confirmations, answers, notes");
    bw_sheet_table *table = bw_make_table(m, NULL, heads);
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        const bw_step *step = bw_entry_step(m, e);
        if (!is_any(e->kind, kinds, sizeof kinds / sizeof kinds[0]) ||
            (step == NULL && e->kind != BW_KIND_NOTE)) {
            continue;
        }
        bw_sheet_row *row = entry_row(m, table, e);
        row->strong = step != NULL && step->kind == BW_STEP_CAUTION ? 3 : 0;
        mark_taken_back(m, i, row);
        row->cell[2] = confirmed_text(m, e, step);
    }
}

/* Parts chosen out of a table by the sequence, and parts entered as fitted. */
static void tell_parts(bw_making *m) {
    static const char *const heads[] = {"time (UTC)", "by",    "part",          "for",
                                        ">quantity",  "batch", "serial number", NULL};
    bw_sheet_table *table = NULL;
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        const bw_step *step = bw_entry_step(m, e);
        bool chosen = e->kind == BW_KIND_CONFIRMED && step != NULL &&
                      step->kind == BW_STEP_CHOOSE && bw_entry_has(e, BW_M_TEXT);
        if (!chosen && e->kind != BW_KIND_PART_FITTED) {
            continue;
        }
        if (table == NULL) {
            (void)bw_make_section(m, "Parts selected and fitted");
            table = bw_make_table(m, NULL, heads);
        }
        bw_sheet_row *row = entry_row(m, table, e);
        mark_taken_back(m, i, row);
        row->cell[2] = bw_entry_text(e, chosen ? BW_M_TEXT : BW_M_PART, "");
        row->cell[3] = bw_entry_has(e, BW_M_AT) ? bw_entry_text(e, BW_M_AT, "")
                       : step != NULL           ? step->say
                                                : "";
        row->cell[4] = bw_entry_has(e, BW_M_QUANTITY)
                           ? bw_make_said(m, "%lld", (long long)bw_entry_whole(e, BW_M_QUANTITY, 0))
                           : "";
        row->cell[5] = bw_entry_text(e, BW_M_BATCH, "");
        row->cell[6] = bw_entry_text(e, BW_M_SERIAL_NUMBER, "");
        const char *more = chosen ? NULL : bw_entry_text(e, BW_M_TEXT, NULL);
        row->note = more != NULL ? bw_make_below(m, row->note, more) : row->note;
    }
}

static void tell_files(bw_making *m) {
    static const char *const heads[] = {"time (UTC)", "by", "file", "what", "SHA-256", NULL};
    bw_sheet_table *table = NULL;
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        if (e->kind != BW_KIND_FILE_ATTACHED) {
            continue;
        }
        if (table == NULL) {
            (void)bw_make_section(m, "Photos and documents, kept elsewhere");
            table = bw_make_table(m, NULL, heads);
        }
        bw_sheet_row *row = entry_row(m, table, e);
        row->cell[2] = bw_entry_text(e, BW_M_FILE, "");
        row->cell[3] = bw_entry_text(e, BW_M_TEXT, "");
        row->cell[4] = bw_entry_text(e, BW_M_SHA256, "");
    }
}

/* What interrupted the work, in order. */
static void tell_interruptions(bw_making *m) {
    static const char *const heads[] = {"time (UTC)", "by", "what", NULL};
    static const bw_kind kinds[] = {BW_KIND_INTERRUPTED, BW_KIND_TOOL_LOST,  BW_KIND_TOOL_BACK,
                                    BW_KIND_PUT_OFF,     BW_KIND_CLOCK_STEP, BW_KIND_OVERRUN,
                                    BW_KIND_PAUSED,      BW_KIND_RESUMED,    BW_KIND_BUILD_REOPENED,
                                    BW_KIND_STEP_REDONE};
    bw_sheet_table *table = NULL;
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        if (!is_any(e->kind, kinds, sizeof kinds / sizeof kinds[0])) {
            continue;
        }
        if (table == NULL) {
            (void)bw_make_section(m, "Interruptions");
            table = bw_make_table(m, NULL, heads);
        }
        const char *text = bw_entry_text(e, BW_M_TEXT, bw_entry_text(e, BW_M_REASON, ""));
        const char *label = bw_entry_text(e, BW_M_LABEL, "");
        bw_sheet_row *row = entry_row(m, table, e);
        const char *second = bw_entry_text(e, BW_M_SECOND, "");
        const bw_step *step = e->kind == BW_KIND_STEP_REDONE ? bw_entry_step(m, e) : NULL;
        row->cell[2] = bw_make_said(
            m, "%s%s%s%s%s%s%s%s%s", bw_kind_says(e->kind), text[0] != '\0' ? ": " : "", text,
            label[0] != '\0' ? "; fastener " : "", label, step != NULL ? "; step: " : "",
            step != NULL ? step->say : "", second[0] != '\0' ? "; with " : "", second);
    }
}

/* They are kept, and whoever reads the sheet learns that they are there. */
static void tell_unknown(bw_making *m) {
    static const char *const heads[] = {"time (UTC)", "by", "kind", "text", ">entry", NULL};
    bw_sheet_table *table = NULL;
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        if (e->kind != BW_KIND_UNKNOWN) {
            continue;
        }
        if (table == NULL) {
            (void)bw_make_section(m, "Entries of a newer program, not understood by this one");
            table = bw_make_table(m, NULL, heads);
        }
        bw_sheet_row *row = entry_row(m, table, e);
        row->cell[2] = e->kind_name;
        row->cell[3] = bw_entry_text(e, BW_M_TEXT, "");
        row->cell[4] = bw_make_said(m, "%llu", (unsigned long long)e->number);
    }
}

/* What is about steps that the sequence no longer has: the build goes on with another edition. */
static void tell_former(bw_making *m) {
    static const char *const heads[] = {"time (UTC)", "by", "step", "what", "value", NULL};
    bw_sheet_table *table = NULL;
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        if (e->kind == BW_KIND_UNKNOWN || !bw_entry_has(e, BW_M_STEP) ||
            bw_entry_step(m, e) != NULL) {
            continue;
        }
        if (table == NULL) {
            (void)bw_make_section(m, "Steps that the sequence no longer has");
            table = bw_make_table(m, NULL, heads);
        }
        bw_sheet_row *row = entry_row(m, table, e);
        row->cell[2] = bw_entry_text(e, BW_M_STEP, "");
        row->cell[3] = bw_kind_says(e->kind) != NULL ? bw_kind_says(e->kind) : e->kind_name;
        row->cell[4] = value_of(m, e);
    }
}

void bw_make_story(bw_making *m) {
    tell_former(m);
    tell_parts(m);
    tell_files(m);
    tell_unscripted(m);
    tell_confirmed(m);
    tell_interruptions(m);
    tell_unknown(m);
}
