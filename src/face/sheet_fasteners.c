/* sheet_fasteners.c - each group of fasteners: its map, its targets, every verdict, its curves. */
#include "face/sheet_make.h"

#include "base/decimal.h"
#include "face/figures.h"
#include "judge/unjudged.h"

#include <string.h>

static bool at_step(const bw_entry *e, const bw_step *step) {
    return strcmp(bw_entry_text(e, BW_M_STEP, ""), step->id) == 0;
}

static bool at_stage(const bw_entry *e, const bw_step *step, size_t stage) {
    return bw_entry_whole(e, BW_M_STAGE, 0) == (int64_t)stage + 1 && at_step(e, step);
}

/* Place index of the entry; place_n where it has none. */
static size_t place_of(const bw_entry *e, const bw_group *group) {
    int64_t place = bw_entry_whole(e, BW_M_FASTENER, 0);
    return place >= 1 && (uint64_t)place <= group->place_n ? (size_t)place - 1 : group->place_n;
}

/* ---- the map ---- */

static bw_mark mark_of_verdict(const char *word) {
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

/* What the newest verdict of each place says, where it is not a pass; NONE else. */
static bw_mark *newest_faults(bw_making *m, const bw_step *step, const bw_group *group) {
    bw_mark *fault = bw_make_room(m, group->place_n, sizeof *fault);
    for (size_t i = 0; fault != NULL && i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        size_t place = place_of(e, group);
        if (e->kind == BW_KIND_VERDICT && place < group->place_n && at_step(e, step)) {
            bw_mark mark = mark_of_verdict(bw_entry_text(e, BW_M_VERDICT, ""));
            fault[place] = mark == BW_MARK_ACCEPTED ? BW_MARK_NONE : mark;
        }
    }
    return fault;
}

static bw_mark mark_of(const bw_progress *progress, const bw_step *step, bw_mark fault) {
    if (progress->stages_done >= step->stage_n) {
        return progress->overridden ? BW_MARK_DECIDED : BW_MARK_ACCEPTED;
    }
    if (fault != BW_MARK_NONE) {
        return fault;
    }
    return progress->stages_done > 0 ? BW_MARK_PART : BW_MARK_OPEN;
}

static bw_sheet_place *places(bw_making *m, const bw_step *step) {
    const bw_group *group = &m->plan->group[step->group];
    const size_t *order = bw_step_order(m->plan, step);
    bw_sheet_place *place = bw_make_room(m, group->place_n, sizeof *place);
    for (size_t i = 0; place != NULL && i < group->place_n; i++) {
        place[i].point = group->place[i].point;
        place[i].number = i + 1;
        place[i].label = group->place[i].label;
        place[order[i]].turn = i + 1;
    }
    return place;
}

bw_sheet_place *bw_make_map(bw_making *m, const bw_step *step, size_t boxes) {
    const bw_group *group = &m->plan->group[step->group];
    bw_sheet_map *map = bw_make_room(m, 1, sizeof *map);
    bw_sheet_place *place = places(m, step);
    if (map == NULL || place == NULL) {
        return NULL;
    }
    *map = (bw_sheet_map){
        .to_scale = group->has_points, .n = group->place_n, .place = place, .boxes = boxes};
    bw_make_block(m, BW_BLOCK_MAP, NULL)->map = map;
    return place;
}

static void map_of_group(bw_making *m, size_t index, const bw_group *group) {
    const bw_step *step = &m->plan->step[index];
    bw_step_standing standing = bw_session_step(m->replay->session, index);
    bw_mark *fault = newest_faults(m, step, group);
    bw_sheet_place *place = bw_make_map(m, step, 0);
    for (size_t i = 0; place != NULL && fault != NULL && i < group->place_n; i++) {
        place[i].mark = mark_of(&standing.progress[i], step, fault[i]);
    }
}

/* ---- what the group is ---- */

static const char *thread_of(bw_making *m, const bw_group *group) {
    if (group->thread_d_mm <= 0) {
        return NULL;
    }
    char figures[2][32];
    return bw_make_said(m, "M%s x %s%s%s",
                        bw_number_text(group->thread_d_mm, figures[0], sizeof figures[0]),
                        bw_number_text(group->thread_pitch_mm, figures[1], sizeof figures[1]),
                        group->property_class != NULL ? ", class " : "",
                        group->property_class != NULL ? group->property_class : "");
}

static void add_reuse(bw_making *m, const bw_step *step, const bw_group *group) {
    static const char *const words[] = {[BW_REUSE_NOT_TOLD] = "not told",
                                        [BW_REUSE_NEW] = "new",
                                        [BW_REUSE_CHECKED] = "checked, used again",
                                        [BW_REUSE_REPLACED] = "replaced by a new one"};
    size_t index = 0;
    if (m->replay == NULL || !bw_plan_find_step(m->plan, step->id, &index)) {
        return;
    }
    const bw_progress *progress = bw_session_step(m->replay->session, index).progress;
    for (bw_reuse reuse = BW_REUSE_NEW; reuse <= BW_REUSE_REPLACED; reuse++) {
        char line[BW_SHEET_LINE_BYTES];
        bw_text text = bw_text_on(line, sizeof line);
        for (size_t i = 0; i < group->place_n; i++) {
            if (progress[i].reuse == reuse) {
                bw_text_add(&text, "%s%s", text.len > 0 ? ", " : "", group->place[i].label);
            }
        }
        if (text.len > 0) {
            bw_make_fact(m, BW_BLOCK_FACTS, words[reuse], bw_make_said(m, "%s", line));
        }
    }
}

void bw_make_group_facts(bw_making *m, const bw_step *step) {
    const bw_group *group = &m->plan->group[step->group];
    const char *thread = thread_of(m, group);
    bw_make_fact(m, BW_BLOCK_FACTS, "fasteners",
                 bw_make_said(m, "%zu %s%s%s%s", group->place_n, group->say,
                              thread != NULL ? ", " : "", thread != NULL ? thread : "",
                              group->new_each_time ? ", used once" : ""));
    bw_make_fact(m, BW_BLOCK_FACTS, "lubricant", group->lubricant);
    if (group->washers != NULL) {
        bw_make_fact(m, BW_BLOCK_FACTS, "washers", group->washers);
    }
    if (group->reuse_check != NULL) {
        bw_make_fact(m, BW_BLOCK_FACTS, "used again", group->reuse_check);
        add_reuse(m, step, group);
    }
    if (group->joint_class != 0) {
        bw_make_fact(m, BW_BLOCK_FACTS, "joint class",
                     bw_make_said(m, "%c%s", group->joint_class,
                                  group->joint_class == 'A' ? ": DANGER TO LIFE" : ""));
    }
    if (group->cycles > 0) {
        bw_make_fact(m, BW_BLOCK_FACTS, "cycles",
                     bw_make_said(m, "tightened %d times at most", group->cycles));
    }
    bw_make_fact(m, BW_BLOCK_FACTS, "order",
                 bw_order_word(step->order != NULL ? step->order_kind : group->order_kind));
}

const char *bw_make_target(bw_making *m, const bw_step *step, size_t stage) {
    char line[BW_SHEET_LINE_BYTES];
    bw_text text = bw_text_on(line, sizeof line);
    bw_target_add(&text, &step->stage[stage]);
    if (step->stage[stage].document == NULL) {
        return bw_make_said(m, "Stage %zu: %s", stage + 1, line);
    }
    char source[BW_SOURCE_TEXT_MAX];
    return bw_make_said(m, "Stage %zu: %s; figures: %s", stage + 1, line,
                        bw_source_text(m->plan, &step->stage[stage], source, sizeof source));
}

/* The wrench of the step's verdicts, where it is one. */
static const char *only_tool(const bw_making *m, const bw_step *step) {
    const char *tool = NULL;
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        if (e->kind == BW_KIND_VERDICT && at_step(e, step)) {
            const char *name = bw_entry_text(e, BW_M_TOOL, "");
            if (tool != NULL && strcmp(tool, name) != 0) {
                return NULL;
            }
            tool = name;
        }
    }
    return tool;
}

static bool any_member(const bw_making *m, const bw_step *step, bw_kind kind, bw_member member) {
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        if (e->kind == kind && at_step(e, step) && bw_entry_has(e, member)) {
            return true;
        }
    }
    return false;
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

static void add_judged(const bw_making *m, const bw_entry *e, const bw_stage *stage,
                       bw_text *text) {
    bool plain = stage->kind == BW_STAGE_TORQUE && !stage->adds_prevailing &&
                 !bw_entry_has(e, BW_M_UNCERTAINTY_NM);
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
        bool anew = by->kind == BW_KIND_BUILD_REOPENED;
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

static const char *more_text(bw_making *m, size_t index, const bw_step *step, size_t stage) {
    const bw_entry *e = &m->replay->entry[index];
    const bw_group *group = &m->plan->group[step->group];
    const char *lubricant = bw_entry_text(e, BW_M_LUBRICANT, "");
    char line[BW_SHEET_LINE_BYTES];
    char unjudged[BW_NOT_JUDGED_MAX];
    bw_text text = bw_text_on(line, sizeof line);
    bw_verdict v = bw_verdict_of(e);
    const char *typed = bw_make_pull_typed(m, e);
    add_reasons(v.reasons, &text);
    if (typed != NULL) {
        bw_text_add(&text, "%s. ", typed);
    }
    add_taken_back(m, index, &text);
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
    row->note = bw_make_below(m, row->note, note);
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
} stage_table;

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
    return bw_entry_has(e, BW_M_FINAL_DEG)
               ? bw_make_said(m, "%.1f°", bw_entry_number(e, BW_M_FINAL_DEG, 0))
               : "not known";
}

static const char *whole_text(bw_making *m, const bw_entry *e, bw_member member) {
    return bw_entry_has(e, member)
               ? bw_make_said(m, "%lld", (long long)bw_entry_whole(e, member, 0))
               : "";
}

static void verdict_row(bw_making *m, stage_table *t, size_t index, size_t turn) {
    const bw_entry *e = &m->replay->entry[index];
    size_t place = place_of(e, t->group);
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
    row->mark = mark_of_verdict(bw_entry_text(e, BW_M_VERDICT, ""));
    row->past = m->taken_back[index] != NULL;
    row->note = more_text(m, index, t->step, t->stage);
    if (t->newest[place] != NULL) {
        t->newest[place]->past = true;
    }
    t->newest[place] = row;
}

/* The row that something about a fastener belongs to: its newest, or one without a verdict. */
static bw_sheet_row *row_of(bw_making *m, stage_table *t, const bw_entry *e) {
    size_t place = place_of(e, t->group);
    if (place < t->group->place_n && t->newest[place] != NULL) {
        return t->newest[place];
    }
    bw_sheet_row *row = bw_make_row(m, t->table);
    row->cell[0] = whole_text(m, e, BW_M_FASTENER);
    row->cell[1] = bw_entry_text(e, BW_M_LABEL, "");
    return row;
}

static void length_note(bw_making *m, stage_table *t, size_t index) {
    const bw_entry *e = &m->replay->entry[index];
    const char *back = m->taken_back[index] != NULL ? "  TAKEN BACK" : "";
    add_note(m, row_of(m, t, e),
             bw_make_said(m, "length %s: %s, by %s, %s%s", bw_entry_text(e, BW_M_AT, ""),
                          bw_make_typed(m, e), e->by, bw_make_when(m, e), back));
}

static void decided(bw_making *m, stage_table *t, const bw_entry *e) {
    bw_sheet_row *row = row_of(m, t, e);
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
        if (!at_stage(e, t->step, t->stage)) {
            continue;
        }
        if (e->kind == BW_KIND_VERDICT && place_of(e, t->group) < t->group->place_n) {
            verdict_row(m, t, i, turn[place_of(e, t->group)]);
        } else if (e->kind == BW_KIND_FASTENER_LENGTH) {
            length_note(m, t, i);
        } else if (e->kind == BW_KIND_DECISION) {
            decided(m, t, e);
        }
    }
}

static void tell_stage(bw_making *m, const bw_step *step, size_t stage, bool tools) {
    stage_table t = {.step = step, .group = &m->plan->group[step->group], .stage = stage};
    t.newest = bw_make_room(m, t.group->place_n, sizeof(bw_sheet_row *));
    t.turns = any_member(m, step, BW_KIND_VERDICT, BW_M_FINAL_DEG);
    t.cycles = any_member(m, step, BW_KIND_VERDICT, BW_M_CYCLE);
    t.tools = tools;
    if (t.newest != NULL) {
        begin_stage(m, &t, bw_make_target(m, step, stage));
        stage_rows(m, &t);
    }
}

/* ---- a group ---- */

static void tell_group(bw_making *m, size_t index) {
    const bw_step *step = &m->plan->step[index];
    const bw_group *group = &m->plan->group[step->group];
    const char *tool = only_tool(m, step);
    (void)bw_make_block(
        m, BW_BLOCK_HEADING,
        bw_make_said(m, "%s%s", step->say, step->trial ? "  (ON TRIAL, taken apart again)" : ""));
    bw_make_group_facts(m, step);
    if (tool != NULL) {
        bw_make_fact(m, BW_BLOCK_FACTS, "tool", tool);
    }
    map_of_group(m, index, group);
    bw_sheet_plot *plots = NULL;
    bw_sheet_plot **end = &plots;
    for (size_t i = 0; i < step->stage_n; i++) {
        *end = bw_make_plot(m, step, i);
        end = *end != NULL ? &(*end)->next : end;
    }
    if (plots != NULL) {
        bw_make_block(m, BW_BLOCK_PLOTS, NULL)->plot = plots;
    }
    for (size_t i = 0; i < step->stage_n; i++) {
        tell_stage(m, step, i, tool == NULL);
    }
}

void bw_make_fasteners(bw_making *m) {
    bool begun = false;
    for (size_t i = 0; i < m->plan->step_n; i++) {
        const bw_step *step = &m->plan->step[i];
        if (step->kind != BW_STEP_TIGHTEN || bw_session_step(m->replay->session, i).skipped) {
            continue;
        }
        if (!begun) {
            begun = true;
            (void)bw_make_section(m, "Fasteners");
            (void)bw_make_block(m, BW_BLOCK_TEXT, "Every verdict in its order.");
        }
        tell_group(m, i);
    }
}
