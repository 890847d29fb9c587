/* view.c - see view.h. */
#include "face/display/view.h"

#include "base/text.h"
#include "face/ask.h"
#include "face/figures.h"
#include "face/members.h"

#include <math.h>
#include <string.h>

/* ---- figures ---- */

void bw_view_figure(json_t *object, const char *name, bw_quantity figure) {
    char bytes[BW_FIGURE_MAX];
    bw_text text = bw_text_on(bytes, sizeof bytes);
    json_t *both = json_object();
    bw_figure_own_add(&text, figure);
    bw_set_text(both, "own", bytes);
    text = bw_text_on(bytes, sizeof bytes);
    if (bw_figure_other_add(&text, figure)) {
        bw_set_text(both, "other", bytes);
    }
    (void)json_object_set_new(object, name, both);
}

bw_quantity bw_view_in(double base_value, bw_unit unit, int decimals) {
    return (bw_quantity){
        .value = bw_from_base(base_value, unit), .unit = unit, .decimals = decimals};
}

/* Lines as ask.h gives them. */
static void set_lines(json_t *object, const char *name, const char *lines) {
    json_t *list = json_array();
    while (*lines != '\0') {
        size_t len = strcspn(lines, "\n");
        size_t indent = strspn(lines, " ");
        (void)json_array_append_new(list,
                                    json_stringn(lines + indent, len > indent ? len - indent : 0));
        lines += len + (lines[len] == '\n' ? 1 : 0);
    }
    (void)json_object_set_new(object, name, list);
}

/* ---- the joint ---- */

/* Places in the order of the group; turn: when each has its turn, from 1. */
static json_t *places_of(const bw_prompt *p) {
    json_t *list = json_array();
    for (size_t i = 0; i < p->group->place_n; i++) {
        const bw_place *place = &p->group->place[i];
        json_t *one = json_object();
        bw_set_text(one, "label", place->label);
        if (p->group->has_points) {
            bw_set_number(one, "x_mm", place->point.x_mm);
            bw_set_number(one, "y_mm", place->point.y_mm);
        }
        bw_set_flag(one, "done", p->progress[i].stages_done > p->stage_index);
        bw_set_flag(one, "overridden", p->progress[i].overridden);
        (void)json_array_append_new(list, one);
    }
    for (size_t k = 0; k < p->group->place_n; k++) {
        bw_set_whole(json_array_get(list, p->group->order[k]), "turn", k + 1);
    }
    return list;
}

static void set_limits(json_t *object, const bw_plan_stage *stage) {
    char bytes[BW_VIEW_TEXT_MAX];
    if (stage->stage.kind == BW_STAGE_BACK_OFF && stage->stage.until_loose) {
        return;
    }
    bw_text text = bw_text_on(bytes, sizeof bytes);
    bw_limits_add(&text, stage->low, stage->high);
    bw_set_text(object, "limits", bytes);
}

/* What the hand follows: a torque or a turn, to where, between what. */
static json_t *gauge_of(const bw_prompt *p) {
    json_t *gauge = json_object();
    bool turn = bw_ask_follows_turn(&p->aim);
    double to = bw_ask_follows_to(&p->aim);
    bool runs = bw_stage_traits_of(p->aim.kind)->runs;
    bw_set_text(gauge, "about", turn ? "turn" : "torque");
    bw_set_positive(gauge, "target", to);
    bw_set_positive(gauge, "low", runs ? 0 : turn ? p->aim.low_deg : p->aim.low_Nm);
    bw_set_positive(gauge, "high", runs ? 0 : turn ? p->aim.high_deg : p->aim.high_Nm);
    bw_set_positive(gauge, "snug_Nm", p->aim.snug_Nm);
    bw_unit other = bw_other_torque_unit(p->plan->torque_unit);
    bw_set_number(gauge, "own_per_Nm", bw_from_base(1, p->plan->torque_unit));
    bw_set_text(gauge, "own", bw_unit_of(p->plan->torque_unit)->symbol);
    bw_set_number(gauge, "other_per_Nm", bw_from_base(1, other));
    bw_set_text(gauge, "other", bw_unit_of(other)->symbol);
    json_t *words = json_array();
    for (bw_live_word word = BW_LIVE_FREE; word <= BW_LIVE_OVER; word++) {
        (void)json_array_append_new(words, json_string(bw_ask_live_word(word)));
    }
    (void)json_object_set_new(gauge, "words", words);
    return gauge;
}

static json_t *fastener_of(const bw_prompt *p) {
    char bytes[BW_VIEW_TEXT_MAX];
    char source[BW_SOURCE_TEXT_MAX];
    bw_text text = bw_text_on(bytes, sizeof bytes);
    json_t *f = json_object();
    bw_set_text(f, "group", p->group->name);
    bw_set_text(f, "group_say", p->group->say);
    bw_set_whole(f, "place", p->place + 1);
    bw_set_text(f, "label", p->group->place[p->place].label);
    bw_place_add(&text, p->group, p->place);
    bw_set_text(f, "name", bytes);
    bw_set_whole(f, "turn", p->turn_of + 1);
    bw_set_whole(f, "stage", p->stage_index + 1);
    bw_set_whole(f, "stages", p->step->stage_n);
    bw_set_text(f, "kind", bw_stage_traits_of(p->aim.kind)->word);
    text = bw_text_on(bytes, sizeof bytes);
    bw_ask_task_add(p, &text);
    set_lines(f, "task", bytes);
    if (p->stage->target.value > 0) {
        bw_view_figure(f, "target", p->stage->target);
    }
    if (p->stage->snug.value > 0) {
        bw_view_figure(f, "snug", p->stage->snug);
    }
    set_limits(f, p->stage);
    text = bw_text_on(bytes, sizeof bytes);
    bw_ask_hand_add(p, &text);
    bw_ask_notes_add(p, &text);
    set_lines(f, "notes", bytes);
    bw_set_text(f, "source", bw_source_text(p->plan, p->stage, source, sizeof source));
    text = bw_text_on(bytes, sizeof bytes);
    bw_ask_class_add(p->group, &text);
    set_lines(f, "class", bytes);
    bw_set_text(f, "lubricant", p->group->lubricant);
    bw_set_text(f, "washers", p->group->washers);
    (void)json_object_set_new(f, "places", places_of(p));
    (void)json_object_set_new(f, "gauge", gauge_of(p));
    return f;
}

/* Who has to look at what. */
static json_t *witness_of(const bw_prompt *p) {
    char bytes[BW_VIEW_TEXT_MAX];
    bw_text text = bw_text_on(bytes, sizeof bytes);
    json_t *w = json_object();
    bw_ask_class_add(p->group, &text);
    set_lines(w, "class", bytes);
    bw_set_whole(w, "n", p->group->place_n);
    bw_set_text(w, "of", p->group->say);
    return w;
}

/* ---- measuring ---- */

static json_t *value_of(const bw_prompt *p) {
    const bw_derived *d = p->derived;
    char bytes[BW_VIEW_TEXT_MAX];
    bw_text text = bw_text_on(bytes, sizeof bytes);
    json_t *v = json_object();
    bool low = p->derived_value < d->low;
    bw_set_text(v, "say", d->say);
    bw_view_figure(v, "value", bw_view_in(p->derived_value, d->unit, d->decimals));
    bw_value_beside_add(&text, p->derived_value, d->low, d->high, d->unit, d->decimals);
    bw_set_text(v, "beside", bytes);
    text = bw_text_on(bytes, sizeof bytes);
    bw_value_limits_add(&text, d->low, d->high, d->unit, d->decimals);
    bw_set_text(v, "limits", bytes);
    bw_set_text(v, "side", low ? "low" : "high");
    bw_set_text(v, "remedy", low ? d->when_low : d->when_high);
    return v;
}

static json_t *length_of(const bw_prompt *p) {
    json_t *l = json_object();
    int decimals = p->length_unit == BW_UNIT_IN ? 4 : 3;
    bw_set_text(l, "unit", bw_unit_of(p->length_unit)->symbol);
    bw_set_flag(l, "tightened", p->tightened);
    if (p->free_mm > 0) {
        bw_view_figure(l, "free", bw_view_in(p->free_mm, p->length_unit, decimals));
    }
    if (p->tightened) {
        bw_view_figure(l, "grow", bw_view_in(p->aim.target_mm, p->length_unit, decimals));
    }
    return l;
}

/* ---- the prompt ---- */

static json_t *options_of(const bw_prompt *p) {
    json_t *list = json_array();
    for (size_t i = 0; i < p->option_n; i++) {
        json_t *one = json_object();
        bw_set_text(one, "word", p->option[i].word);
        bw_set_text(one, "says", p->option[i].says);
        (void)json_array_append_new(list, one);
    }
    return list;
}

static void set_step(json_t *o, const bw_prompt *p) {
    json_t *s = json_object();
    bw_set_whole(s, "number", p->step_number);
    bw_set_text(s, "id", p->step->id);
    bw_set_text(s, "what", bw_step_word(p->step->kind));
    bw_set_text(s, "say", p->step->say);
    bw_set_text(s, "why", p->step->why);
    bw_set_text(s, "buries", p->step->buries);
    bw_set_text(s, "position", p->state == BW_STATE_POSITION ? p->step->position : NULL);
    bw_set_text(s, "take", p->chosen);
    if (p->state == BW_STATE_FIT) {
        bw_set_text(s, "fits", p->step->fits);
        bw_set_text(s, "fit_to", p->step->to[p->to]);
        bw_set_whole(s, "fit_number", p->to + 1);
        bw_set_whole(s, "fit_of", p->step->to_n);
        bw_set_text(s, "mark", p->mark);
    }
    (void)json_object_set_new(o, "step", s);
}

static void set_clock(json_t *o, const bw_prompt *p) {
    char bytes[BW_VIEW_TEXT_MAX];
    bw_text text = bw_text_on(bytes, sizeof bytes);
    bw_ask_clock_add(p, &text);
    if (text.len > 0) {
        bool wait = p->step->kind == BW_STEP_WAIT;
        double s = wait ? p->step->least_s : p->step->most_s;
        set_lines(o, "clock", bytes);
        bw_set_flag(o, "clock_waits", wait);
        (void)json_object_set_new(o, "clock_ms", json_integer(p->since_ms + (int64_t)(s * 1000)));
    }
}

static json_t *labels_of(const bw_group *group) {
    json_t *labels = json_array();
    for (size_t i = 0; i < group->place_n; i++) {
        (void)json_array_append_new(labels, json_string(group->place[i].label));
    }
    return labels;
}

json_t *bw_view_prompt(const bw_prompt *p, const bw_session *session) {
    char bytes[BW_VIEW_TEXT_MAX];
    bw_text text = bw_text_on(bytes, sizeof bytes);
    json_t *o = json_object();
    bw_set_text(o, "state", bw_state_name(p->state));
    bw_set_text(o, "by", p->by);
    bw_set_flag(o, "may_go_back", p->may_go_back);
    bw_set_flag(o, "may_say_wrong", p->may_say_wrong);
    bw_set_whole(o, "redo", p->redo);
    bw_set_whole(o, "steps", p->step_n);
    bw_set_whole(o, "steps_done", p->steps_done);
    bw_ask_bans_add(p, &text);
    set_lines(o, "bans", bytes);
    if (p->step != NULL) {
        set_step(o, p);
        set_clock(o, p);
    }
    if (p->reuse != NULL) {
        bw_set_text(o, "reuse_check", p->reuse);
        bw_set_text(o, "reuse_of", p->group->say);
        (void)json_object_set_new(o, "reuse_places", labels_of(p->group));
    }
    if (p->state == BW_STATE_WITNESS && p->group != NULL) {
        (void)json_object_set_new(o, "witness", witness_of(p));
    }
    if (p->step != NULL && p->group != NULL && p->stage != NULL) {
        (void)json_object_set_new(o, "fastener", fastener_of(p));
    }
    if (p->state == BW_STATE_READING && p->step != NULL && p->set != NULL) {
        (void)json_object_set_new(o, "reading", bw_view_reading(p, session));
    }
    bool on_value = p->state == BW_STATE_VALUE || p->state == BW_STATE_SECOND_PERSON ||
                    p->state == BW_STATE_REASON;
    if (on_value && p->derived != NULL) {
        (void)json_object_set_new(o, "value", value_of(p));
    }
    if (p->state == BW_STATE_LENGTH) {
        (void)json_object_set_new(o, "length", length_of(p));
    }
    bw_set_text(o, "tool_text", p->state == BW_STATE_NO_TOOL ? p->tool_text : NULL);
    (void)json_object_set_new(o, "options", options_of(p));
    return o;
}

/* ---- the job ---- */

/* "Tighten main caps: stage 2 of 3, 4 of 10 done": a step that is begun and not done. */
static void add_half(const bw_plan *plan, const bw_session *session, size_t i, json_t *half) {
    const bw_step *step = &plan->step[i];
    bw_step_standing standing = bw_session_step(session, i);
    if (standing.done || standing.progress == NULL) {
        return;
    }
    size_t place_n = plan->group[step->group].place_n;
    size_t stage = step->stage_n;
    size_t done = 0;
    bool begun = false;
    for (size_t k = 0; k < place_n; k++) {
        size_t has = standing.progress[k].stages_done;
        stage = has < stage ? has : stage;
        begun = begun || has > 0;
    }
    for (size_t k = 0; k < place_n; k++) {
        done += standing.progress[k].stages_done > stage ? 1 : 0;
    }
    if (begun) {
        char bytes[BW_VIEW_TEXT_MAX];
        bw_text text = bw_text_on(bytes, sizeof bytes);
        size_t len = strlen(step->say);
        len -= len > 0 && step->say[len - 1] == '.' ? 1 : 0;
        bw_text_add(&text, "%.*s: stage %zu of %zu, %zu of %zu done", (int)len, step->say,
                    stage + 1, step->stage_n, done, place_n);
        (void)json_array_append_new(half, json_string(bytes));
    }
}

/* What is opened again with a step, as far as it was begun. */
static json_t *falls_of(const bw_plan *plan, const bw_session *session, size_t step) {
    bool redone[BW_PLAN_STEPS_MAX];
    json_t *falls = json_array();
    bw_session_redone(plan, step, redone);
    for (size_t i = 0; i < plan->step_n; i++) {
        if (redone[i] && bw_session_step(session, i).begun) {
            (void)json_array_append_new(falls, json_integer((json_int_t)i + 1));
        }
    }
    return falls;
}

static void set_begun(json_t *job, const bw_plan *plan, const bw_session *session) {
    json_t *begun = json_array();
    for (size_t i = 0; i < plan->step_n; i++) {
        if (bw_session_step(session, i).begun) {
            json_t *one = json_object();
            bw_set_whole(one, "number", i + 1);
            bw_set_text(one, "say", plan->step[i].say);
            bw_set_flag(one, "tight", plan->step[i].kind == BW_STEP_TIGHTEN);
            (void)json_object_set_new(one, "falls", falls_of(plan, session, i));
            (void)json_array_append_new(begun, one);
        }
    }
    (void)json_object_set_new(job, "begun", begun);
}

static void set_open(json_t *job, const bw_plan *plan, const bw_session *session, size_t now) {
    json_t *open = json_array();
    json_t *half = json_array();
    bool buried = false;
    for (size_t i = 0; i < plan->step_n; i++) {
        const bw_step *step = &plan->step[i];
        add_half(plan, session, i, half);
        if (bw_session_step(session, i).done) {
            continue;
        }
        json_t *one = json_object();
        bw_set_whole(one, "number", i + 1);
        bw_set_text(one, "say", step->say);
        bw_set_text(one, "what", bw_step_word(step->kind));
        bw_set_flag(one, "passed", i < now);
        (void)json_array_append_new(open, one);
        if (!buried && step->buries != NULL) {
            json_t *next = json_object();
            bw_set_whole(next, "number", i + 1);
            bw_set_text(next, "say", step->say);
            bw_set_text(next, "buries", step->buries);
            (void)json_object_set_new(job, "buries_next", next);
            buried = true;
        }
    }
    (void)json_object_set_new(job, "open", open);
    (void)json_object_set_new(job, "half", half);
}

json_t *bw_view_job(const bw_display_setup *setup, const bw_prompt *p) {
    const bw_plan *plan = setup->plan;
    char bytes[BW_VIEW_TEXT_MAX];
    bw_text text = bw_text_on(bytes, sizeof bytes);
    json_t *job = json_object();
    bw_set_text(job, "build", setup->build);
    bw_set_text(job, "title", plan->title);
    bw_set_text(job, "engine", plan->engine);
    bw_text_add(&text, "%s, revision %s", plan->document, plan->revision);
    bw_set_text(job, "source", bytes);
    bw_set_flag(job, "invented", plan->invented);
    bw_set_flag(job, "rehearsal", setup->rehearsal);
    set_begun(job, plan, setup->session);
    set_open(job, plan, setup->session, p->step != NULL ? p->step_number - 1 : 0);
    return job;
}

json_t *bw_view_dues(const bw_plan *plan, const bw_session *session) {
    json_t *dues = json_array();
    for (size_t i = 0; i < plan->step_n; i++) {
        const bw_step *step = &plan->step[i];
        if (step->kind == BW_STEP_TIGHTEN && bw_session_step(session, i).due) {
            json_t *one = json_object();
            bw_set_text(one, "group", plan->group[step->group].name);
            bw_set_text(one, "say", plan->group[step->group].say);
            bw_set_text(one, "due", step->due);
            (void)json_array_append_new(dues, one);
        }
    }
    return dues;
}
