/* stand_in.c - see stand_in.h. */
#include "command/stand_in.h"

#include "command/command.h"
#include "command/firmware.h"
#include "command/memory.h"
#include "base/text.h"
#include "rehearsal/answer.h"
#include "rehearsal/hand.h"
#include "rehearsal/joint.h"
#include "rehearsal/shaft.h"
#include "rehearsal/wrench.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    SEND_FAST_MS = 1,
    SEND_PACED_MS = 10,
    DRAIN_MS = 100, /* an unplugged terminal drops what was not read yet */
    REPLUG_MS = 400,
    UNFELT_MOST = 3,   /* pulls without torque, one after the other */
    LENGTHS_MOST = 6,  /* a bolt that is no longer after so many pulls will not get there */
    UNHEARD_MOST = 20, /* lines of which none comes into the record: it does not get on */
    AGAIN_MOST = 2,    /* a value outside its limits is measured again so often, then overridden */
    ATTEMPTS_MOST = 4  /* what a fastener is loosened for so often is overridden */
};

/* The wrench's clock between two pulls. */
static const double between_pulls_s = 1.0;

struct bw_stand_in {
    uint64_t seed;
    double speed;
    bw_arena *arena;
    bw_wrench *wrench; /* either of both, the other NULL */
    bw_firmware *firmware;
    bw_turn *turn;
    uv_idle_t act; /* answers once the prompt's round is over */
    uv_timer_t send;
    uv_timer_t plug;
    bw_prompt prompt;
    bool asked;            /* the prompt waits for what it asks */
    FILE *echo;            /* where its lines are shown, or NULL */
    double clock_s;        /* of the wrench */
    double sent_from_s;    /* clock when the pull began */
    uint64_t sent_from_ms; /* loop's time then */
    bool unplug_after;     /* the pull in hand ends with the wrench going away */
    bool battery_flat;
    bool unfelt;      /* the pull in hand has so little torque that nothing will come of it */
    int unfelt_times; /* one after the other */
    int again;
    int unheard;      /* lines typed since something was recorded */
    bw_memory memory; /* of the builder */
};

bw_status bw_stand_in_new(uint64_t seed, double speed, const bw_fault_list *faults, bool firmware,
                          FILE *echo, bw_stand_in **out, bw_err *err) {
    bw_stand_in *s = calloc(1, sizeof *s);
    bw_arena *arena = bw_arena_new(0);
    if (s == NULL || arena == NULL) {
        free(s);
        bw_arena_free(arena);
        return bw_fail(err, BW_E_MEM, "no memory for a rehearsal");
    }
    s->seed = seed;
    s->speed = speed;
    s->echo = echo;
    s->memory.faults = *faults;
    s->arena = arena;
    bw_status status = firmware ? bw_firmware_start(speed, &s->firmware, err)
                                : bw_wrench_open(&s->wrench, err);
    if (status != BW_OK) {
        bw_stand_in_free(s);
        return status;
    }
    *out = s;
    return BW_OK;
}

void bw_stand_in_free(bw_stand_in *stand_in) {
    if (stand_in != NULL) {
        bw_wrench_free(stand_in->wrench);
        bw_firmware_free(stand_in->firmware);
        bw_arena_free(stand_in->arena);
        free(stand_in);
    }
}

const char *bw_stand_in_port(const bw_stand_in *stand_in) {
    return stand_in->firmware != NULL ? bw_firmware_port(stand_in->firmware)
                                      : bw_wrench_path(stand_in->wrench);
}

const char *bw_stand_in_driver(const bw_stand_in *stand_in) {
    return stand_in->firmware != NULL ? "adapter" : "line";
}

/* ---- the joints ---- */

static void spoil_fasteners(const bw_stand_in *s, const bw_group *group, bw_joint *joint) {
    for (size_t i = 0; i < s->memory.faults.n; i++) {
        const bw_fault *fault = &s->memory.faults.fault[i];
        if (bw_fault_is_at(fault->kind) == BW_FAULT_AT_FASTENER &&
            strcmp(fault->group, group->name) == 0) {
            bw_joint_fault(joint, fault->fastener, fault->kind);
        }
    }
}

/* The joint for which the plan's figures are meant. */
static bw_joint_spec spec_of(const bw_plan *plan, size_t group) {
    const bw_group *g = &plan->group[group];
    bw_joint_spec spec = bw_joint_usual(g->thread_d_mm, g->thread_pitch_mm, g->property_class,
                                        g->lubricant);
    for (size_t i = 0; i < plan->step_n; i++) {
        const bw_step *step = &plan->step[i];
        for (size_t k = 0;
             step->kind == BW_STEP_TIGHTEN && step->group == group && k < step->stage_n; k++) {
            bw_joint_suit(&spec, &step->stage[k].stage);
        }
    }
    return spec;
}

static bw_status make_joint(bw_stand_in *s, size_t group, bw_err *err) {
    const bw_group *g = &s->memory.plan->group[group];
    bw_joint_spec spec = spec_of(s->memory.plan, group);
    bw_point *point = g->has_points ? bw_arena_alloc(s->arena, g->place_n, sizeof *point) : NULL;
    for (size_t i = 0; point != NULL && i < g->place_n; i++) {
        point[i] = g->place[i].point;
    }
    bw_status status = bw_joint_new(s->arena, &spec, s->seed, g->name, g->place_n, point,
                                    &s->memory.joint[group], err);
    if (status == BW_OK) {
        spoil_fasteners(s, g, s->memory.joint[group]);
    }
    return status;
}

static void recorded(void *ctx, const bw_entry *e) {
    bw_stand_in *s = ctx;
    s->unheard = 0;
    bw_memory_fold(&s->memory, e);
}

/* ---- the wrench sends ---- */

/* The pull in hand is not over at the wrench's end. */
static bool still_sends(bw_stand_in *s) {
    return s->firmware != NULL ? bw_firmware_busy(s->firmware)
                               : bw_wrench_due(s->wrench, INFINITY) > 0;
}

static bw_status send_now(bw_stand_in *s, bool *all_sent) {
    double until_s = INFINITY;
    if (s->firmware != NULL) {
        *all_sent = !still_sends(s);
        return BW_OK;
    }
    if (s->speed > 0) {
        double passed_s = (double)(uv_now(bw_turn_loop(s->turn)) - s->sent_from_ms) / 1e3;
        until_s = s->sent_from_s + s->speed * passed_s;
    }
    bw_status status = bw_wrench_send(s->wrench, until_s, NULL);
    *all_sent = !still_sends(s);
    return status;
}

static void on_unplug(uv_timer_t *handle) {
    bw_stand_in *s = handle->data;
    bw_err err = {0};
    if (s->firmware == NULL) {
        bw_wrench_unplug(s->wrench);
    } else if (bw_firmware_unplug(s->firmware, &err) != BW_OK) {
        bw_complain("%s", err.text);
    } else {
        (void)bw_firmware_busy(s->firmware); /* hands it on */
    }
}

static void on_act(uv_idle_t *handle);
static void pull_again(bw_stand_in *s);

static void on_send(uv_timer_t *handle) {
    bw_stand_in *s = handle->data;
    bool all_sent = false;
    if (send_now(s, &all_sent) == BW_OK && !all_sent) {
        return;
    }
    (void)uv_timer_stop(&s->send);
    if (s->asked) {
        (void)uv_idle_start(&s->act, on_act);
    } else if (s->unfelt) {
        pull_again(s);
    }
    if (s->unplug_after) {
        s->unplug_after = false;
        (void)uv_timer_start(&s->plug, on_unplug, DRAIN_MS, 0);
    }
}

static void on_plug(uv_timer_t *handle) {
    bw_stand_in *s = handle->data;
    bw_err err = {0};
    if (s->firmware != NULL) {
        if (bw_firmware_plug(s->firmware, &err) != BW_OK) {
            bw_complain("%s", err.text);
        }
        (void)uv_timer_start(&s->send, on_send, 0, SEND_PACED_MS); /* until it has found its zero */
    } else if (bw_wrench_fd(s->wrench) < 0 && bw_wrench_plug(s->wrench, &err) != BW_OK) {
        bw_complain("the simulated wrench: %s", err.text);
    }
}

/* ---- the hand pulls ---- */

static bw_memory_spot spot_at(const bw_stand_in *s) {
    const bw_prompt *p = &s->prompt;
    bw_memory_spot at = {.group = p->step->group,
                         .fastener = p->place,
                         .stage = (int64_t)p->stage_index + 1,
                         .attempt = p->attempt};
    (void)bw_text_copy(at.step, sizeof at.step, p->step->id);
    return at;
}

static bw_hand_task task_at(const bw_stand_in *s) {
    const bw_prompt *p = &s->prompt;
    unsigned pulls = p->standing.pulls;
    int stage = (int)p->stage_index + 1;
    bw_hand_task task = {
        .stage = p->aim,
        .fastener = p->place,
        .step = p->step->id,
        .stage_number = stage,
        .attempt = p->attempt,
        .pulls = pulls,
        .turn_deg = p->standing.turn_deg,
        .snug_reached = p->standing.snug_reached,
        .style = BW_HAND_ANY,
        .fault = bw_fault_of_pull(&s->memory.faults, p->group->name, p->place, stage, p->attempt,
                                  pulls),
    };
    if (bw_fault_mistakes(task.fault)) {
        task.fastener = bw_memory_mistaken_for(p->group, p->place, task.fault);
        task.attempt = bw_joint_attempt(s->memory.joint[p->step->group], task.fastener, task.step);
    }
    return task;
}

/* Before a shaft is turned to feel its bearings, the nut on its sleeve is tightened a bit more. */
static void begin_on_shaft(bw_stand_in *s, const bw_hand_task *task, const bw_hand_wrench *wrench,
                           bw_hand *hand) {
    const bw_joint *joint = s->memory.joint[s->prompt.step->group];
    const bw_joint_spec *spec = bw_joint_spec_of(joint);
    uint64_t key = bw_joint_key(joint, task->fastener);
    bw_shaft shaft = task->stage.kind == BW_STAGE_CREEP
                         ? bw_shaft_crept(spec, bw_chance_key_number(key, (uint64_t)task->attempt),
                                          &task->stage, task->pulls + 1,
                                          task->fault == BW_FAULT_OVERCREPT)
                         : bw_shaft_drawn(spec, key);
    bw_fastener turned = bw_shaft_turned(&shaft);
    bw_hand_begin_on(hand, &turned, key, task, wrench, s->clock_s);
}

static void begin_pull(bw_stand_in *s, const bw_hand_task *task, const bw_hand_wrench *wrench,
                       bw_hand *hand) {
    bw_stage_kind kind = task->stage.kind;
    if (kind == BW_STAGE_ROTATING || kind == BW_STAGE_CREEP) {
        begin_on_shaft(s, task, wrench, hand);
    } else {
        bw_hand_begin(hand, s->memory.joint[s->prompt.step->group], task, wrench, s->clock_s);
    }
}

/* The wrench says what the hand does. */
static void put_samples(bw_stand_in *s, bw_hand *hand) {
    bw_sample sample;
    bw_sample result = {.has_angle = true};
    while (bw_hand_next(hand, &sample) && bw_wrench_put(s->wrench, &sample, NULL) == BW_OK) {
        s->clock_s = sample.time_s;
    }
    if (bw_hand_result(hand, &result.torque_Nm, &result.angle_deg)) {
        bw_err err = {0};
        result.time_s = s->clock_s;
        if (bw_wrench_put_result(s->wrench, &result, &err) != BW_OK) {
            bw_complain("the simulated wrench: %s", err.text);
        }
    }
}

static void put_pull(bw_stand_in *s, const bw_hand_task *task) {
    bw_hand_wrench wrench = s->firmware != NULL ? bw_firmware_hand_wrench()
                                                : bw_hand_usual_wrench();
    bw_hand hand;
    bw_err err = {0};
    begin_pull(s, task, &wrench, &hand);
    if (s->firmware == NULL) {
        put_samples(s, &hand);
    } else if (bw_firmware_pull(s->firmware, &hand, between_pulls_s, task->fault == BW_FAULT_NOISE,
                                &s->clock_s, &err) != BW_OK) {
        bw_complain("%s", err.text);
    }
    s->unfelt = hand.peak_Nm < bw_judge_threshold_Nm(&task->stage, &s->prompt.standing);
    s->unfelt_times = s->unfelt ? s->unfelt_times + 1 : 0;
    s->unplug_after = bw_hand_unplugged(&hand);
    s->battery_flat = bw_hand_fell_silent(&hand);
}

/* A flat battery is only noticed where nothing comes any more: to change it, the wrench is off. */
static void pull(bw_stand_in *s) {
    if (s->battery_flat) {
        s->battery_flat = false;
        bw_wrench_unplug(s->wrench);
        return;
    }
    bw_memory_spot at = spot_at(s);
    bw_memory_goes_on(&s->memory, &at);
    bw_hand_task task = task_at(s);
    s->sent_from_s = s->clock_s;
    s->sent_from_ms = uv_now(bw_turn_loop(s->turn));
    put_pull(s, &task);
    s->clock_s += between_pulls_s;
    uint64_t every_ms = s->speed > 0 ? SEND_PACED_MS : SEND_FAST_MS;
    (void)uv_timer_start(&s->send, on_send, 0, every_ms);
}

/* ---- the builder answers ---- */

static void type(bw_stand_in *s, const char *line);

/* Nothing was felt, as on one that is loose already: what went wrong is over, the next pull is on
 * the right one.  Where it stays so, no pull will come, and the builder decides on the last one. */
static void pull_again(bw_stand_in *s) {
    const bw_prompt *p = &s->prompt;
    bw_fault_happened(&s->memory.faults, p->group->name, p->place, (int)p->stage_index + 1);
    if (s->unfelt_times < UNFELT_MOST) {
        pull(s);
        return;
    }
    if (s->unfelt_times == UNFELT_MOST && p->standing.pulls > 0) {
        type(s, "decide");
        return;
    }
    bw_complain("the simulated builder: place %zu of %s gives no torque", p->place + 1,
                p->group->name);
    type(s, "pause");
}

static void type(bw_stand_in *s, const char *line) {
    bw_err err = {0};
    if (s->unheard++ == UNHEARD_MOST) {
        bw_complain("the simulated builder: %s does not get on: \"%s\" is no answer that helps",
                    s->prompt.step != NULL ? s->prompt.step->id : "the build", line);
        line = "pause";
    }
    if (s->echo != NULL) {
        (void)fprintf(s->echo, "%s\n", line);
    }
    if (bw_turn_push_line(s->turn, line, &err) != BW_OK) {
        bw_complain("the simulated builder: %s", err.text);
    }
}

static void read_gauge(bw_stand_in *s) {
    const bw_prompt *p = &s->prompt;
    char number[64];
    bw_answer_set set = {.step = p->step->id,
                         .set = p->set->id,
                         .unit = p->set->unit,
                         .decimals = p->set->decimals,
                         .least = p->set->least,
                         .most = p->set->most};
    type(s, bw_answer_reading(s->seed, &set, p->set->at[p->at], number, sizeof number));
}

static void decide_value(bw_stand_in *s) {
    type(s, s->again++ < AGAIN_MOST ? "again" : "override");
}

static bool offers(const bw_prompt *p, const char *word) {
    size_t i = 0;
    while (i < p->option_n && strcmp(p->option[i].word, word) != 0) {
        i++;
    }
    return i < p->option_n;
}

/* Begun anew, until it is enough; a word that is not offered is no way. */
static const char *anew(const bw_prompt *p) {
    bool enough = p->attempt >= ATTEMPTS_MOST;
    return !enough && offers(p, "loosen")    ? "loosen"
           : !enough && offers(p, "replace") ? "replace"
                                             : "override";
}

/* Where nothing turned, another fastener was pulled: this one is asked for again, once.  Anything
 * else, and what is no better for it, begins anew. */
static void decide_verdict(bw_stand_in *s) {
    bool again = offers(&s->prompt, "repeat") && !bw_memory_repeated(&s->memory);
    type(s, again ? "repeat" : anew(&s->prompt));
}

static bw_fastener as_it_stands(const bw_stand_in *s) {
    const bw_prompt *p = &s->prompt;
    return bw_joint_fastener(s->memory.joint[p->step->group], p->place, p->step->id, p->attempt);
}

/* A bolt that does not grow is looked at instead of measured again. */
static void read_length(bw_stand_in *s) {
    const bw_prompt *p = &s->prompt;
    const bw_joint *joint = s->memory.joint[p->step->group];
    bw_fastener f = as_it_stands(s);
    uint64_t key = bw_chance_key_number(bw_joint_key(joint, p->place), (uint64_t)p->attempt);
    char number[64];
    if (p->tightened && p->standing.pulls >= LENGTHS_MOST && offers(p, anew(p))) {
        type(s, anew(p));
        return;
    }
    key = bw_chance_key_number(key, p->tightened ? p->verdict.pulls : 0);
    type(s, bw_answer_length(key, bw_joint_new_mm(joint, p->place) + bw_fastener_growth_mm(&f),
                             p->length_unit, number, sizeof number));
}

/* A slot that would need more than the highest torque is never met: another washer goes under. */
static void look_at_slot(bw_stand_in *s) {
    const bw_prompt *p = &s->prompt;
    bw_fastener f = as_it_stands(s);
    double to_deg = bw_fastener_to_slot_deg(&f, 360.0 / p->stage->slots);
    bool meets = to_deg <= 0;
    bw_fastener_turn(&f, to_deg);
    bool in_reach = bw_fastener_turning_Nm(&f) < p->aim.high_Nm;
    type(s, meets ? "yes" : in_reach || !offers(p, anew(p)) ? "no" : anew(p));
}

/* The builder sees which one was pulled instead and says so; what is free text here is no word. */
static bool own_up(bw_stand_in *s) {
    bw_state state = s->prompt.state;
    bool free_text = state == BW_STATE_NOTE || state == BW_STATE_REASON ||
                     state == BW_STATE_SECOND_PERSON;
    if (!s->memory.owns_up || free_text) {
        return false;
    }
    char line[BW_PLAN_TEXT_MAX];
    bw_text text = bw_text_on(line, sizeof line);
    bw_text_add(&text, "wrong %s",
                s->memory.plan->group[s->memory.pulled.group].place[s->memory.instead].label);
    s->memory.owns_up = false;
    type(s, line);
    return true;
}

/* Another seed answers otherwise, so that what is left out differs. */
static void answer_question(bw_stand_in *s) {
    const bw_prompt *p = &s->prompt;
    const char *word = p->option[(s->seed + p->step_number) % p->option_n].word;
    type(s, p->group != NULL && strcmp(word, "replaced") == 0 ? "replaced 1" : word);
}

/* A part that bears no mark in the sequence has one in the rehearsal. */
static void name_part(bw_stand_in *s) {
    char line[BW_PLAN_ID_MAX + 16];
    bw_text text = bw_text_on(line, sizeof line);
    if (s->prompt.mark == NULL) {
        bw_text_add(&text, "R%zu", s->prompt.to + 1);
    } else {
        bw_text_add(&text, "%s", s->prompt.mark);
    }
    type(s, line);
}

static void plug_again(bw_stand_in *s) {
    (void)uv_timer_start(&s->plug, on_plug, REPLUG_MS, 0);
}

/* One line for a state whose answer never differs; a function where it does. */
static const struct {
    const char *line;
    void (*run)(bw_stand_in *s);
} answers[BW_STATE_COUNT] = {
    [BW_STATE_CONFIRM] = {"yes", NULL},
    [BW_STATE_NOTE] = {"rehearsed, nothing stamped", NULL},
    [BW_STATE_READING] = {NULL, read_gauge},
    [BW_STATE_VALUE] = {NULL, decide_value},
    [BW_STATE_PULL] = {NULL, pull},
    [BW_STATE_NO_TOOL] = {NULL, plug_again},
    [BW_STATE_LENGTH] = {NULL, read_length},
    [BW_STATE_SLOT] = {NULL, look_at_slot},
    [BW_STATE_VERDICT] = {NULL, decide_verdict},
    [BW_STATE_SECOND_PERSON] = {"second person of the rehearsal", NULL},
    [BW_STATE_REASON] = {"accepted in rehearsal only", NULL},
    [BW_STATE_ASK] = {NULL, answer_question},
    [BW_STATE_POSITION] = {"yes", NULL},
    [BW_STATE_FIT] = {NULL, name_part},
    [BW_STATE_WITNESS] = {"second person of the rehearsal", NULL},
    [BW_STATE_CLOSE] = {"close", NULL},
};

/* A verdict comes while the hand still rests: what it leads to waits until the wrench has sent all.
 */
static void on_act(uv_idle_t *handle) {
    bw_stand_in *s = handle->data;
    (void)uv_idle_stop(&s->act);
    if (still_sends(s)) {
        return;
    }
    s->asked = false;
    if (own_up(s)) {
        return;
    }
    if (answers[s->prompt.state].run != NULL) {
        answers[s->prompt.state].run(s);
    } else if (answers[s->prompt.state].line != NULL) {
        type(s, answers[s->prompt.state].line);
    }
}

static void prompt(void *ctx, const bw_prompt *p) {
    bw_stand_in *s = ctx;
    s->prompt = *p;
    s->asked = true;
    (void)uv_idle_start(&s->act, on_act);
}

bw_face bw_stand_in_face(bw_stand_in *stand_in) {
    return (bw_face){.ctx = stand_in, .prompt = prompt, .recorded = recorded};
}

/* ---- taking its place ---- */

static size_t most_stages(const bw_plan *plan, size_t group) {
    size_t most = 0;
    for (size_t i = 0; i < plan->step_n; i++) {
        const bw_step *step = &plan->step[i];
        if (step->kind == BW_STEP_TIGHTEN && step->group == group && step->stage_n > most) {
            most = step->stage_n;
        }
    }
    return most;
}

/* Whether the group has such a stage in which the fault can happen: that one, or for what is wrong
 * with a fastener any. */
static bool fits_somewhere(const bw_plan *plan, size_t group, const bw_fault *fault) {
    bool of_fastener = bw_fault_is_at(fault->kind) == BW_FAULT_AT_FASTENER;
    for (size_t i = 0; i < plan->step_n; i++) {
        const bw_step *step = &plan->step[i];
        for (size_t k = 0;
             step->kind == BW_STEP_TIGHTEN && step->group == group && k < step->stage_n; k++) {
            bool this_one = of_fastener || k + 1 == (size_t)fault->stage;
            if (this_one && bw_fault_fits(fault->kind, step->stage[k].stage.kind)) {
                return true;
            }
        }
    }
    return false;
}

bw_status bw_stand_in_check(void *stand_in, const bw_plan *plan, bw_err *err) {
    bw_stand_in *s = stand_in;
    for (size_t i = 0; i < s->memory.faults.n; i++) {
        bw_fault *fault = &s->memory.faults.fault[i];
        size_t group = 0;
        if (!bw_plan_find_group(plan, fault->group, &group)) {
            return bw_fail(err, BW_E_ARG, "--fault: the sequence has no group %s", fault->group);
        }
        const bw_group *g = &plan->group[group];
        bool lacks = fault->kind == BW_FAULT_BATTERY || fault->kind == BW_FAULT_PEAK;
        if (s->firmware != NULL && lacks) {
            return bw_fail(err, BW_E_ARG,
                           "--fault: %s can't happen with --wrench firmware: the adapter has no "
                           "battery and no peak mode",
                           bw_fault_word(fault->kind));
        }
        if (!bw_group_find_place(g, fault->place, &fault->fastener)) {
            return bw_fail(err, BW_E_ARG, "--fault: group %s has no place %s; it has 1 to %zu",
                           fault->group, fault->place, g->place_n);
        }
        if (bw_fault_mistakes(fault->kind) && g->place_n == 1) {
            return bw_fail(err, BW_E_ARG,
                           "--fault: group %s has one fastener, which can't be "
                           "mistaken for another",
                           fault->group);
        }
        if ((size_t)fault->stage > most_stages(plan, group)) {
            return bw_fail(err, BW_E_ARG, "--fault: group %s has %zu stages, not %d", fault->group,
                           most_stages(plan, group), fault->stage);
        }
        if (!fits_somewhere(plan, group, fault)) {
            return bw_fail(
                err, BW_E_ARG,
                "--fault: %s can't happen in stage %d of group %s; docs/commands.md says "
                "where it can",
                bw_fault_word(fault->kind), fault->stage, fault->group);
        }
    }
    return BW_OK;
}

bw_status bw_stand_in_ready(void *stand_in, bw_turn *turn, const bw_replay *replay,
                            const bw_plan *plan, bw_err *err) {
    bw_stand_in *s = stand_in;
    uv_loop_t *loop = bw_turn_loop(turn);
    s->turn = turn;
    s->memory.plan = plan;
    s->memory.joint = bw_arena_alloc(s->arena, plan->group_n, sizeof *s->memory.joint);
    if (s->memory.joint == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory for a rehearsal");
    }
    bw_status status = BW_OK;
    for (size_t i = 0; status == BW_OK && i < plan->group_n; i++) {
        status = make_joint(s, i, err);
    }
    if (status != BW_OK) {
        return status;
    }
    for (size_t i = 0; i < replay->entry_n; i++) {
        recorded(s, &replay->entry[i]);
    }
    (void)uv_idle_init(loop, &s->act);
    (void)uv_timer_init(loop, &s->send);
    (void)uv_timer_init(loop, &s->plug);
    s->act.data = s;
    s->send.data = s;
    s->plug.data = s;
    return BW_OK;
}
