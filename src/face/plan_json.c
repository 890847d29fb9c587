/* plan_json.c - a plan, or what is wrong with a sequence, as JSON Lines; see plan_text.h. */
#include "face/plan_text.h"

#include "face/figures.h"

#include <jansson.h>
#include <math.h>

enum { LINE_BYTES = 512 };

static void print_json(json_t *object, FILE *out) {
    if (object != NULL) {
        (void)json_dumpf(object, out, JSON_COMPACT | JSON_REAL_PRECISION(15));
        (void)fputc('\n', out);
        json_decref(object);
    }
}

/* A limit that is none is null. */
static json_t *limit(double value) {
    return isfinite(value) ? json_real(value) : json_null();
}

/* Left out where a step is neither on trial nor goes on from another. */
static void add_assembly(json_t *object, const bw_plan *plan, const bw_step *step) {
    if (step->trial) {
        (void)json_object_set_new(object, "trial", json_true());
    }
    if (step->goes_on) {
        (void)json_object_set_new(object, "continues", json_string(plan->step[step->before].id));
    }
    if (step->due != NULL) {
        (void)json_object_set_new(object, "due", json_string(step->due));
    }
}

static void add_circumstances(json_t *object, const bw_plan *plan, const bw_step *step) {
    if (step->has_when) {
        const bw_step *asks = &plan->step[step->when];
        (void)json_object_set_new(
            object, "when",
            json_pack("{s:s,s:s}", "step", asks->id, "answer", asks->answer[step->when_answer]));
    }
    if (step->position != NULL) {
        (void)json_object_set_new(object, "position", json_string(step->position));
    }
    if (step->has_since) {
        bool wait = step->kind == BW_STEP_WAIT;
        (void)json_object_set_new(object, "since", json_string(plan->step[step->since].id));
        (void)json_object_set_new(object, wait ? "least_s" : "most_s",
                                  json_real(wait ? step->least_s : step->most_s));
    }
    for (size_t i = 0; i < step->answer_n; i++) {
        json_t *answers = i == 0 ? json_array() : json_object_get(object, "answers");
        (void)json_array_append_new(answers, json_string(step->answer[i]));
        if (i == 0) {
            (void)json_object_set_new(object, "answers", answers);
        }
    }
}

/* Ids of steps. */
static void add_steps(json_t *object, const char *name, const bw_plan *plan, const size_t *index,
                      size_t n) {
    json_t *ids = n > 0 ? json_array() : NULL;
    for (size_t i = 0; i < n; i++) {
        (void)json_array_append_new(ids, json_string(plan->step[index[i]].id));
    }
    if (ids != NULL) {
        (void)json_object_set_new(object, name, ids);
    }
}

static void add_order(json_t *object, const bw_plan *plan, const bw_step *step) {
    add_steps(object, "after", plan, step->after, step->after_n);
    if (step->buries != NULL) {
        (void)json_object_set_new(object, "buries", json_string(step->buries));
        add_steps(object, "buries_steps", plan, step->buried, step->buried_n);
    }
}

static void add_need(json_t *object, bw_wrench_need need) {
    bool any = need.low_Nm <= need.high_Nm;
    (void)json_object_set_new(object, "shows_from_Nm", any ? json_real(need.low_Nm) : json_null());
    (void)json_object_set_new(object, "shows_to_Nm", any ? json_real(need.high_Nm) : json_null());
    (void)json_object_set_new(object, "pulls", json_integer((json_int_t)need.pulls));
    (void)json_object_set_new(object, "strokes", json_integer((json_int_t)need.strokes));
}

static void print_step_json(const bw_plan *plan, size_t index, FILE *out) {
    const bw_step *step = &plan->step[index];
    json_t *object = json_pack("{s:s,s:I,s:s,s:s,s:s}", "kind", "step", "number",
                               (json_int_t)index + 1, "id", step->id, "what",
                               bw_step_word(step->kind), "say", step->say);
    if (object != NULL) {
        add_order(object, plan, step);
        add_circumstances(object, plan, step);
    }
    if (step->kind == BW_STEP_TIGHTEN) {
        (void)json_object_set_new(object, "group", json_string(plan->group[step->group].name));
        add_assembly(object, plan, step);
        add_need(object, bw_step_need(plan, step));
    }
    print_json(object, out);
}

/* What only some kinds have: left out where a stage has none. */
static void add_own(json_t *object, const bw_plan_stage *plan_stage) {
    const bw_stage *stage = &plan_stage->stage;
    const struct {
        const char *name;
        double value;
    } own[] = {{"snug_Nm", stage->snug_Nm},         {"target_Nm", stage->target_Nm},
               {"target_deg", stage->target_deg},   {"least_turn_deg", stage->least_turn_deg},
               {"slope_share", stage->slope_share}, {"target_mm", stage->target_mm}};
    for (size_t i = 0; i < sizeof own / sizeof own[0]; i++) {
        if (own[i].value > 0) {
            (void)json_object_set_new(object, own[i].name, json_real(own[i].value));
        }
    }
    if (stage->kind == BW_STAGE_STRETCH) {
        (void)json_object_set_new(object, "low_mm", json_real(stage->low_mm));
        (void)json_object_set_new(object, "high_mm", json_real(stage->high_mm));
    }
    if (plan_stage->slots > 0) {
        (void)json_object_set_new(object, "slots", json_integer(plan_stage->slots));
    }
    const struct {
        const char *name;
        bool set;
    } flags[] = {{"above_prevailing", stage->adds_prevailing},
                 {"until_loose", stage->until_loose},
                 {"again", plan_stage->again}};
    for (size_t i = 0; i < sizeof flags / sizeof flags[0]; i++) {
        if (flags[i].set) {
            (void)json_object_set_new(object, flags[i].name, json_true());
        }
    }
}

/* Left out where the stage's figures are from the document of the sequence. */
static void add_source(json_t *object, const bw_group *group, const bw_plan_stage *stage) {
    if (stage->document != NULL) {
        (void)json_object_set_new(object, "document", json_string(stage->document));
        (void)json_object_set_new(object, "revision", json_string(stage->revision));
    }
    if (group->joint_class != 0) {
        (void)json_object_set_new(object, "joint_class", json_stringn(&group->joint_class, 1));
    }
}

static void print_pull_json(const bw_group *group, const bw_plan_stage *plan_stage, size_t place,
                            size_t stage_number, FILE *out) {
    const bw_stage *stage = &plan_stage->stage;
    char line[LINE_BYTES];
    bw_text text = bw_text_on(line, sizeof line);
    bw_target_add(&text, plan_stage);
    json_t *object = json_pack(
        "{s:s,s:s,s:I,s:s,s:I,s:s,s:s,s:o,s:o,s:o,s:o,s:s}", "kind", "pull", "group", group->name,
        "fastener", (json_int_t)place + 1, "label", group->place[place].label, "stage",
        (json_int_t)stage_number, "what", bw_stage_traits_of(stage->kind)->word, "say", line,
        "low_Nm", limit(stage->low_Nm), "high_Nm", limit(stage->high_Nm), "low_deg",
        limit(stage->low_deg), "high_deg", limit(stage->high_deg), "lubricant", group->lubricant);
    if (object != NULL) {
        add_own(object, plan_stage);
        add_source(object, group, plan_stage);
    }
    print_json(object, out);
}

static void print_head_json(const bw_plan *plan, FILE *out) {
    print_json(json_pack("{s:s,s:s,s:s,s:s,s:s,s:s,s:b,s:s}", "kind", "plan", "title", plan->title,
                         "engine", plan->engine, "edition", plan->edition, "document",
                         plan->document, "revision", plan->revision, "invented", plan->invented,
                         "rule", bw_rule_word(plan->rule)),
               out);
}

void bw_plan_print_json(const bw_plan *plan, FILE *out) {
    print_head_json(plan, out);
    for (size_t i = 0; i < plan->step_n; i++) {
        const bw_step *step = &plan->step[i];
        print_step_json(plan, i, out);
        const bw_group *group = &plan->group[step->group];
        for (size_t k = 0; step->kind == BW_STEP_TIGHTEN && k < step->stage_n; k++) {
            for (size_t n = 0; n < group->place_n; n++) {
                print_pull_json(group, &step->stage[k], bw_step_order(plan, step)[n], k + 1, out);
            }
        }
    }
    json_t *wrench = json_pack("{s:s}", "kind", "wrench");
    if (wrench != NULL) {
        add_need(wrench, bw_plan_need(plan));
    }
    print_json(wrench, out);
}

void bw_mistakes_print_json(const bw_mistake *mistake, size_t n, FILE *out) {
    for (size_t i = 0; i < n; i++) {
        print_json(json_pack("{s:s,s:s,s:i,s:s}", "kind", "mistake", "file", mistake[i].where.file,
                             "line", mistake[i].where.line, "message", mistake[i].text),
                   out);
    }
}
