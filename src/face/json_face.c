/* json_face.c - see json_face.h. */
#include "face/json_face.h"

#include "face/members.h"

#include <jansson.h>
#include <stdlib.h>

static void print(bw_json_face *f, json_t *object) {
    if (object != NULL) {
        (void)json_dumpf(object, f->out, JSON_COMPACT);
        (void)fputc('\n', f->out);
        (void)fflush(f->out);
        json_decref(object);
    }
}

static void add_length(const bw_prompt *p, json_t *object) {
    bw_set_text(object, "at", p->tightened ? "tightened" : "free");
    bw_set_text(object, "unit", bw_unit_of(p->length_unit)->name);
    bw_set_positive(object, "free_mm", p->free_mm);
    bw_set_positive(object, "target_mm", p->aim.target_mm);
    bw_set_positive(object, "low_mm", p->aim.low_mm);
    bw_set_positive(object, "high_mm", p->aim.high_mm);
}

static void add_fastener(const bw_prompt *p, json_t *object) {
    const bw_stage *stage = &p->aim;
    bw_set_text(object, "stage_kind", bw_stage_traits_of(stage->kind)->word);
    bw_set_text(object, "group", p->group->name);
    bw_set_whole(object, "fastener", p->place + 1);
    bw_set_text(object, "label", p->group->place[p->place].label);
    bw_set_whole(object, "stage", p->stage_index + 1);
    bw_set_whole(object, "stages", p->step->stage_n);
    bw_set_whole(object, "attempt", (size_t)p->attempt);
    bw_set_whole(object, "pulls", p->standing.pulls);
    bw_set_number(object, "low_Nm", stage->low_Nm);
    bw_set_number(object, "high_Nm", stage->high_Nm);
    bw_set_number(object, "low_deg", stage->low_deg);
    bw_set_number(object, "high_deg", stage->high_deg);
    bw_set_positive(object, "target_Nm", stage->target_Nm);
    bw_set_positive(object, "target_deg", stage->target_deg);
    bw_set_positive(object, "least_turn_deg", stage->least_turn_deg);
    bw_set_positive(object, "prevailing_Nm", p->prevailing_Nm);
    if (p->torque_known) {
        bw_set_number(object, "stands_at_Nm", p->standing.torque_Nm);
    }
    bw_set_number(object, "turned_deg", p->standing.turn_deg);
    bw_set_text(object, "lubricant", p->group->lubricant);
    char source[BW_SOURCE_TEXT_MAX];
    bw_set_text(object, "document", bw_source_text(p->plan, p->stage, source, sizeof source));
}

static void add_class(const bw_prompt *p, json_t *object) {
    char name[] = {p->group->joint_class, '\0'};
    bw_set_text(object, "joint_class", name[0] != '\0' ? name : NULL);
}

static void add_options(const bw_prompt *p, json_t *object) {
    json_t *options = json_array();
    for (size_t i = 0; i < p->option_n; i++) {
        (void)json_array_append_new(options, json_string(p->option[i].word));
    }
    (void)json_object_set_new(object, "options", options);
}

static void add_circumstances(const bw_prompt *p, json_t *object) {
    if (p->ban_n > 0) {
        json_t *bans = json_array();
        for (size_t i = 0; i < p->ban_n; i++) {
            (void)json_array_append_new(bans, json_string(p->ban[i]->say));
        }
        (void)json_object_set_new(object, "forbidden", bans);
    }
    if (p->state == BW_STATE_POSITION && p->step != NULL) {
        bw_set_text(object, "position", p->step->position);
    }
    bw_set_text(object, "take", p->chosen);
    if (p->state == BW_STATE_FIT && p->step != NULL) {
        bw_set_text(object, "part", p->step->fits);
        bw_set_text(object, "to", p->step->to[p->to]);
        bw_set_text(object, "mark", p->mark);
    }
    if (p->step != NULL && p->since_ms > 0) {
        bw_set_positive(object, "not_before_s", p->step->least_s);
        bw_set_positive(object, "not_after_s", p->step->most_s);
    }
}

static void prompt(void *ctx, const bw_prompt *p) {
    json_t *object = json_object();
    ((bw_json_face *)ctx)->live_word = BW_LIVE_FREE;
    bw_set_text(object, "kind", "prompt");
    bw_set_text(object, "state", bw_state_name(p->state));
    if (p->step != NULL) {
        bw_set_text(object, "step", p->step->id);
        bw_set_text(object, "what", bw_step_word(p->step->kind));
        bw_set_text(object, "say", p->step->say);
        bw_set_whole(object, "number", p->step_number);
    }
    if (p->set != NULL) {
        bw_set_text(object, "set", p->set->id);
        bw_set_text(object, "at", p->set->at[p->at]);
        bw_set_text(object, "unit", bw_unit_of(p->set->unit)->name);
        if (p->repeats > 1) {
            bw_set_whole(object, "repeat", p->repeat);
            bw_set_whole(object, "repeats", p->repeats);
        }
        bw_set_number(object, "least", bw_from_base(p->set->least, p->set->unit));
        bw_set_number(object, "most", bw_from_base(p->set->most, p->set->unit));
    }
    if (p->derived != NULL) {
        bw_set_text(object, "derived", p->derived->id);
    }
    if (p->step != NULL && p->group != NULL && p->stage != NULL) {
        add_fastener(p, object);
    }
    if (p->step != NULL && p->group != NULL) {
        add_class(p, object);
    }
    if (p->state == BW_STATE_LENGTH) {
        add_length(p, object);
    }
    add_circumstances(p, object);
    if (p->option_n > 0) {
        add_options(p, object);
    }
    print(ctx, object);
}

static void live(void *ctx, const bw_prompt *p, const bw_live *live_) {
    static const char *const words[] = {[BW_LIVE_FREE] = "go_on",
                                        [BW_LIVE_NEAR] = "near",
                                        [BW_LIVE_STOP] = "stop",
                                        [BW_LIVE_OVER] = "over"};
    bw_json_face *f = ctx;
    if (p->state != BW_STATE_PULLING || live_->word == f->live_word) {
        return;
    }
    f->live_word = live_->word;
    json_t *object = json_object();
    bw_set_text(object, "kind", "live");
    bw_set_text(object, "word", words[live_->word]);
    bw_set_number(object, "torque_Nm", live_->torque_Nm);
    if (live_->has_turn) {
        bw_set_number(object, "turn_deg", live_->turn_deg);
    }
    print(f, object);
}

static void say(void *ctx, bw_tone tone, const char *text) {
    static const char *const tones[] = {
        [BW_TONE_PLAIN] = "plain", [BW_TONE_GOOD] = "good", [BW_TONE_BAD] = "bad"};
    json_t *object = json_object();
    bw_set_text(object, "kind", "say");
    bw_set_text(object, "tone", tones[tone]);
    bw_set_text(object, "text", text);
    print(ctx, object);
}

bw_face bw_json_face_of(bw_json_face *state) {
    return (bw_face){.ctx = state, .prompt = prompt, .live = live, .say = say};
}
