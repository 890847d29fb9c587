/* sheet_fasteners.c - each group of fasteners: its map, its targets, every verdict, its curves. */
#include "face/sheet_make.h"

#include "base/decimal.h"
#include "face/figures.h"

#include <string.h>

/* ---- the map ---- */

/* What the newest verdict of each place says, where it is not a pass; NONE else. */
static bw_mark *newest_faults(bw_making *m, const bw_step *step, const bw_group *group) {
    bw_mark *fault = bw_make_room(m, group->place_n, sizeof *fault);
    for (size_t i = 0; fault != NULL && i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        size_t place = bw_entry_place(e, group);
        if (e->kind == BW_KIND_VERDICT && place < group->place_n && bw_entry_at_step(e, step)) {
            bw_mark mark = bw_mark_of_verdict(bw_entry_text(e, BW_M_VERDICT, ""));
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
        if (e->kind == BW_KIND_VERDICT && bw_entry_at_step(e, step)) {
            const char *name = bw_entry_text(e, BW_M_TOOL, "");
            if (tool != NULL && strcmp(tool, name) != 0) {
                return NULL;
            }
            tool = name;
        }
    }
    return tool;
}

/* The wrench of the step, where it is one; else those that nothing guards, each once. */
static void tell_tools(bw_making *m, const bw_step *step, const char *only) {
    const bw_entry *on = NULL;
    const char *told = "";
    bool any = false;
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        on = e->kind == BW_KIND_TOOL_ON ? e : on;
        bool used = e->kind == BW_KIND_VERDICT && bw_entry_at_step(e, step) && on != NULL;
        const char *why = used ? bw_entry_unguarded(on) : NULL;
        const char *tool = why != NULL ? bw_entry_text(on, BW_M_TOOL, "") : "";
        if (why != NULL && strcmp(tool, told) != 0) {
            bw_make_fact(m, BW_BLOCK_FACTS,
                         any            ? ""
                         : only != NULL ? "tool"
                                        : "tools",
                         bw_make_said(m, "%s; unchecked: %s", tool, why));
            told = tool;
            any = true;
        }
    }
    if (!any && only != NULL) {
        bw_make_fact(m, BW_BLOCK_FACTS, "tool", only);
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
    tell_tools(m, step, tool);
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
        bw_make_stage(m, step, i, tool == NULL);
    }
}

void bw_make_fasteners(bw_making *m) {
    static const char verdicts[] = "Every verdict in its order.";
    static const char curves[] =
        "Every verdict in its order. In the curves each line is one fastener, as the wrench gave "
        "it, wind-up included; where a turn is limited, the lines are moved sideways so that each "
        "ends at the turn that was judged, wind-up taken off. A heavy broken line with its place: "
        "not accepted, accepted by decision, or questioned.";
    bool begun = false;
    for (size_t i = 0; i < m->plan->step_n; i++) {
        const bw_step *step = &m->plan->step[i];
        if (step->kind != BW_STEP_TIGHTEN || bw_session_step(m->replay->session, i).skipped) {
            continue;
        }
        if (!begun) {
            begun = true;
            (void)bw_make_section(m, "Fasteners");
            (void)bw_make_block(m, BW_BLOCK_TEXT, m->proof->trace == NULL ? verdicts : curves);
        }
        tell_group(m, i);
    }
}
