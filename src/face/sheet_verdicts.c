/* sheet_verdicts.c - the table of a stage: every verdict in its order, and what is to be said of
 * it. */
#include "face/sheet_make.h"

#include "face/figures.h"
#include "judge/unjudged.h"

#include <math.h>
#include <string.h>

static bool at_stage(const bw_entry *e, const bw_step *step, size_t stage) {
    return bw_entry_whole(e, BW_M_STAGE, 0) == (int64_t)stage + 1 && bw_entry_at_step(e, step);
}

size_t bw_entry_place(const bw_entry *e, const bw_group *group) {
    int64_t place = bw_entry_whole(e, BW_M_FASTENER, 0);
    return place >= 1 && (uint64_t)place <= group->place_n ? (size_t)place - 1 : group->place_n;
}

bw_mark bw_mark_of_verdict(const char *word) {
    static const bw_mark marks[BW_VERDICT_COUNT] = {
        [BW_VERDICT_PASS] = BW_MARK_ACCEPTED,
        [BW_VERDICT_LOW] = BW_MARK_LOW,
        [BW_VERDICT_HIGH] = BW_MARK_HIGH,
        [BW_VERDICT_SUSPECT] = BW_MARK_SUSPECT,
    };
    for (int i = 0; i < BW_VERDICT_COUNT; i++) {
        if (strcmp(word, bw_outcome_word((bw_outcome)i)) == 0) {
            return marks[i];
        }
    }
    return BW_MARK_NONE;
}

/* ---- a verdict's own line: what the columns have no room for ---- */

static void add_torque(const bw_making *m, const bw_entry *e, bw_member member, const char *before,
                       const char *behind, bw_text *text) {
    if (bw_entry_has(e, member)) {
        bw_text_add(text, "%s", before);
        bw_torque_add(text, bw_entry_number(e, member, 0), m->plan->torque_unit);
        bw_text_add(text, "%s", behind);
    }
}

/* The torque that was held against the limits, where the columns do not show it already. */
static void add_judged(const bw_making *m, const bw_entry *e, const bw_stage *stage,
                       bw_text *text) {
    bool the_peak = bw_entry_number(e, BW_M_JUDGED_NM, 0) == bw_entry_number(e, BW_M_PEAK_NM, 0);
    bool plain = the_peak && !stage->adds_prevailing && !bw_entry_has(e, BW_M_UNCERTAINTY_NM);
    if (plain || !bw_entry_has(e, BW_M_JUDGED_NM)) {
        return;
    }
    add_torque(m, e, BW_M_JUDGED_NM, "judged: ", "", text);
    add_torque(m, e, BW_M_UNCERTAINTY_NM, ", to within ", " (k = 2)", text);
    add_torque(m, e, BW_M_LOW_NM, ", at least ", "", text);
    add_torque(m, e, BW_M_HIGH_NM, ", at most ", "", text);
    bw_text_add(text, "; rule %s. ", bw_entry_text(e, BW_M_RULE, ""));
}

static void add_seen(const bw_entry *e, bw_text *text) {
    if (bw_entry_has(e, BW_M_STRETCH_MM)) {
        bw_text_add(text, "grown by %.3f mm", bw_entry_number(e, BW_M_STRETCH_MM, 0));
        if (bw_entry_has(e, BW_M_LOW_MM)) {
            bw_text_add(text, ", at least %.3f", bw_entry_number(e, BW_M_LOW_MM, 0));
        }
        if (bw_entry_has(e, BW_M_HIGH_MM)) {
            bw_text_add(text, ", at most %.3f", bw_entry_number(e, BW_M_HIGH_MM, 0));
        }
        bw_text_add(text, ". ");
    }
    if (bw_entry_has(e, BW_M_SLOT_MEETS)) {
        bw_text_add(text, "%s",
                    bw_entry_flag(e, BW_M_SLOT_MEETS, false) ? "a slot meets the hole. "
                                                             : "no slot meets the hole. ");
    }
    if (bw_entry_flag(e, BW_M_LOOSE, false)) {
        bw_text_add(text, "it came loose. ");
    }
}

static void add_taken_back(const bw_making *m, size_t index, bw_text *text) {
    const bw_entry *by = m->taken_back[index];
    if (by != NULL) {
        const char *label = bw_entry_text(by, BW_M_LABEL, NULL);
        bool anew = by->kind == BW_KIND_STEP_REDONE;
        bw_text_add(text, "TAKEN BACK: %s%s. ",
                    anew            ? "done anew, "
                    : label != NULL ? "it was "
                                    : "read again",
                    anew            ? bw_entry_text(by, BW_M_REASON, "")
                    : label != NULL ? label
                                    : "");
    }
}

/* "below_limit: The torque stayed below its lower limit. " */
static void add_reasons(uint32_t reasons, bw_text *text) {
    for (size_t i = 0; bw_reason_word(i) != NULL; i++) {
        if ((reasons >> i & 1u) != 0) {
            bw_text_add(text, "%s: %s ", bw_reason_word(i), bw_reason_says(i));
        }
    }
}

static void add_unread(int64_t unread, bw_text *text) {
    if (unread > 0) {
        bw_text_add(text,
                    "NOT READ: %lld byte%s or line%s from the wrench, in these pulls or before "
                    "them; samples may be missing. ",
                    (long long)unread, unread > 1 ? "s" : "", unread > 1 ? "s" : "");
    }
}

/* unread: of what the wrench sent for this verdict. */
static const char *more_text(bw_making *m, size_t index, const bw_step *step, size_t stage,
                             int64_t unread) {
    const bw_entry *e = &m->replay->entry[index];
    const bw_group *group = &m->plan->group[step->group];
    const char *lubricant = bw_entry_text(e, BW_M_LUBRICANT, "");
    char line[BW_SHEET_LINE_BYTES];
    char unjudged[BW_NOT_JUDGED_MAX];
    bw_text text = bw_text_on(line, sizeof line);
    bw_verdict v = bw_verdict_of(e);
    const char *typed = bw_make_pull_typed(m, e);
    int64_t attempt = bw_entry_whole(e, BW_M_ATTEMPT, 1);
    if (attempt > 1) {
        bw_text_add(&text, "attempt %lld. ", (long long)attempt);
    }
    add_reasons(v.reasons, &text);
    if (typed != NULL) {
        bw_text_add(&text, "%s. ", typed);
    }
    add_taken_back(m, index, &text);
    add_unread(unread, &text);
    add_judged(m, e, &step->stage[stage].stage, &text);
    add_seen(e, &text);
    if (strcmp(lubricant, group->lubricant) != 0) {
        bw_text_add(&text, "lubricant: %s. ", lubricant);
    }
    (void)bw_judge_not_judged(&step->stage[stage].stage, &v, unjudged, sizeof unjudged);
    bw_text_add(&text, "%s%s%s", unjudged, unjudged[0] != '\0' ? " " : "",
                bw_entry_text(e, BW_M_QUESTION, ""));
    while (text.len > 0 && line[text.len - 1] == ' ') {
        line[--text.len] = '\0';
    }
    return text.len > 0 ? bw_make_said(m, "%s", line) : NULL;
}

static void add_note(bw_making *m, bw_sheet_row *row, const char *note) {
    row->note = note != NULL ? bw_make_below(m, row->note, note) : row->note;
}

static const char *decision_text(bw_making *m, const bw_entry *e) {
    const char *second = bw_entry_text(e, BW_M_SECOND, "");
    const char *reason = bw_entry_text(e, BW_M_REASON, "");
    return bw_make_said(m, "decided: %s, by %s%s%s%s%s, %s", bw_entry_text(e, BW_M_DECISION, ""),
                        e->by, second[0] != '\0' ? " with " : "", second,
                        reason[0] != '\0' ? ", because: " : "", reason, bw_make_when(m, e));
}

/* ---- the table of a stage ---- */

/* One table at work: which columns it has, and the newest row of each place. */
typedef struct stage_table {
    const bw_step *step;
    const bw_group *group;
    size_t stage;
    bool turns, cycles, tools;
    bw_sheet_table *table;
    bw_sheet_row **newest; /* [place_n] */
    int64_t *unread;       /* [place_n] in pulls that have no verdict yet */
    const char **lengths;  /* [place_n] that have none yet; NULL: none */
} stage_table;

static bool any_member(const bw_making *m, const bw_step *step, bw_kind kind, bw_member member) {
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        if (e->kind == kind && bw_entry_at_step(e, step) && bw_entry_has(e, member)) {
            return true;
        }
    }
    return false;
}

static void begin_stage(bw_making *m, stage_table *t, const char *title) {
    t->table = bw_make_table(m, title, NULL);
    t->table->marks = true;
    bw_make_column(t->table, "place", true);
    bw_make_column(t->table, "label", false);
    bw_make_column(t->table, "in order", true);
    bw_make_column(t->table, "peak", true);
    if (t->turns) {
        bw_make_column(t->table, "turn", true);
    }
    bw_make_column(t->table, "pulls", true);
    if (t->cycles) {
        bw_make_column(t->table, "cycle", true);
    }
    bw_make_column(t->table, "verdict", false);
    if (t->tools) {
        bw_make_column(t->table, "tool", false);
    }
    bw_make_column(t->table, "by", false);
    bw_make_column(t->table, "time (UTC)", false);
}

static const char *turn_text(bw_making *m, const bw_entry *e) {
    double turn_deg = bw_entry_number(e, BW_M_FINAL_DEG, NAN);
    bool none = fabs(turn_deg) < 0.05; /* nor is it -0.0 */
    return isfinite(turn_deg) ? bw_make_said(m, "%.1f°", none ? 0 : turn_deg) : "not known";
}

static const char *whole_text(bw_making *m, const bw_entry *e, bw_member member) {
    return bw_entry_has(e, member)
               ? bw_make_said(m, "%lld", (long long)bw_entry_whole(e, member, 0))
               : "";
}

static void verdict_row(bw_making *m, stage_table *t, size_t index, size_t turn) {
    const bw_entry *e = &m->replay->entry[index];
    size_t place = bw_entry_place(e, t->group);
    bw_sheet_row *row = bw_make_row(m, t->table);
    size_t c = 0;
    row->cell[c++] = whole_text(m, e, BW_M_FASTENER);
    row->cell[c++] = bw_entry_text(e, BW_M_LABEL, "");
    row->cell[c++] = bw_make_said(m, "%zu", turn);
    row->cell[c++] = bw_make_torque(m, bw_entry_number(e, BW_M_PEAK_NM, 0));
    if (t->turns) {
        row->cell[c++] = turn_text(m, e);
    }
    row->cell[c++] = whole_text(m, e, BW_M_PULLS);
    if (t->cycles) {
        row->cell[c++] = whole_text(m, e, BW_M_CYCLE);
    }
    row->cell[c++] = bw_entry_text(e, BW_M_VERDICT, "");
    if (t->tools) {
        row->cell[c++] = bw_entry_text(e, BW_M_TOOL, "");
    }
    row->cell[c++] = e->by;
    row->cell[c++] = bw_make_when(m, e);
    row->mark = bw_mark_of_verdict(bw_entry_text(e, BW_M_VERDICT, ""));
    row->past = m->taken_back[index] != NULL;
    row->note = t->lengths[place];
    add_note(m, row, more_text(m, index, t->step, t->stage, t->unread[place]));
    t->lengths[place] = NULL;
    t->unread[place] = 0;
    if (t->newest[place] != NULL) {
        t->newest[place]->past = true;
    }
    t->newest[place] = row;
}

/* The row that a decision about a fastener belongs to: its newest, or one without a verdict. */
static bw_sheet_row *row_of(bw_making *m, stage_table *t, size_t place) {
    if (t->newest[place] != NULL) {
        return t->newest[place];
    }
    bw_sheet_row *row = bw_make_row(m, t->table);
    row->cell[0] = bw_make_said(m, "%zu", place + 1);
    row->cell[1] = t->group->place[place].label;
    return row;
}

static const char *length_text(bw_making *m, size_t index) {
    const bw_entry *e = &m->replay->entry[index];
    const char *back = m->taken_back[index] != NULL ? "  TAKEN BACK" : "";
    return bw_make_said(m, "length %s: %s, by %s, %s%s", bw_entry_text(e, BW_M_AT, ""),
                        bw_make_typed(m, e), e->by, bw_make_when(m, e), back);
}

/* Lengths that no verdict followed yet. */
static void rows_of_lengths(bw_making *m, stage_table *t) {
    for (size_t i = 0; i < t->group->place_n; i++) {
        if (t->lengths[i] != NULL) {
            t->newest[i] = NULL;
            row_of(m, t, i)->note = t->lengths[i];
        }
    }
}

static void decided(bw_making *m, stage_table *t, size_t place, const bw_entry *e) {
    bw_sheet_row *row = row_of(m, t, place);
    add_note(m, row, decision_text(m, e));
    if (strcmp(bw_entry_text(e, BW_M_DECISION, ""), "override") == 0) {
        row->mark = BW_MARK_DECIDED;
    }
}

static void stage_rows(bw_making *m, stage_table *t) {
    size_t *turn = bw_make_room(m, t->group->place_n, sizeof *turn);
    for (size_t i = 0; turn != NULL && i < t->group->place_n; i++) {
        turn[bw_step_order(m->plan, t->step)[i]] = i + 1;
    }
    for (size_t i = 0; turn != NULL && i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        size_t place = bw_entry_place(e, t->group);
        if (!at_stage(e, t->step, t->stage) || place == t->group->place_n) {
            continue;
        }
        if (e->kind == BW_KIND_PULL) {
            t->unread[place] += bw_entry_whole(e, BW_M_UNREAD, 0);
        } else if (e->kind == BW_KIND_VERDICT) {
            verdict_row(m, t, i, turn[place]);
        } else if (e->kind == BW_KIND_FASTENER_LENGTH) {
            t->lengths[place] = bw_make_below(m, t->lengths[place], length_text(m, i));
        } else if (e->kind == BW_KIND_DECISION) {
            decided(m, t, place, e);
        }
    }
    rows_of_lengths(m, t);
}

void bw_make_stage(bw_making *m, const bw_step *step, size_t stage, bool tools) {
    stage_table t = {.step = step, .group = &m->plan->group[step->group], .stage = stage};
    t.newest = bw_make_room(m, t.group->place_n, sizeof(bw_sheet_row *));
    t.unread = bw_make_room(m, t.group->place_n, sizeof *t.unread);
    t.turns = any_member(m, step, BW_KIND_VERDICT, BW_M_FINAL_DEG);
    t.cycles = any_member(m, step, BW_KIND_VERDICT, BW_M_CYCLE);
    t.tools = tools;
    t.lengths = bw_make_room(m, t.group->place_n, sizeof *t.lengths);
    if (t.newest != NULL && t.unread != NULL && t.lengths != NULL) {
        begin_stage(m, &t, bw_make_target(m, step, stage));
        stage_rows(m, &t);
    }
}
