/* stand_in_pull.c - the stand-in's hand and its wrench: pulls, and what the wrench sends of them.
 */
#include "command/stand_in_int.h"

#include "base/text.h"
#include "command/command.h"
#include "rehearsal/hand.h"
#include "rehearsal/joint.h"
#include "rehearsal/shaft.h"

#include <math.h>

enum {
    SEND_FAST_MS = 1,
    SEND_PACED_MS = 10,
    DRAIN_MS = 100, /* an unplugged terminal drops what was not read yet */
    REPLUG_MS = 400,
    UNFELT_MOST = 3 /* pulls without torque, one after the other */
};

/* The wrench's clock between two pulls. */
static const double between_pulls_s = 1.0;

/* ---- the wrench sends ---- */

bool bw_stand_in_sends(bw_stand_in *s) {
    return s->firmware != NULL ? bw_firmware_busy(s->firmware)
                               : bw_wrench_due(s->wrench, INFINITY) > 0;
}

static bw_status send_now(bw_stand_in *s, bool *all_sent) {
    double until_s = INFINITY;
    if (s->firmware != NULL) {
        *all_sent = !bw_stand_in_sends(s);
        return BW_OK;
    }
    if (s->speed > 0) {
        double passed_s = (double)(uv_now(bw_turn_loop(s->turn)) - s->sent_from_ms) / 1e3;
        until_s = s->sent_from_s + s->speed * passed_s;
    }
    bw_status status = bw_wrench_send(s->wrench, until_s, NULL);
    *all_sent = !bw_stand_in_sends(s);
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

static void pull_again(bw_stand_in *s);

static void on_send(uv_timer_t *handle) {
    bw_stand_in *s = handle->data;
    bool all_sent = false;
    if (send_now(s, &all_sent) == BW_OK && !all_sent) {
        return;
    }
    (void)uv_timer_stop(&s->send);
    if (s->asked) {
        bw_stand_in_act(s);
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

void bw_stand_in_plug_again(bw_stand_in *s) {
    (void)uv_timer_start(&s->plug, on_plug, REPLUG_MS, 0);
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
void bw_stand_in_pull(bw_stand_in *s) {
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

/* Nothing was felt, as on one that is loose already: what went wrong is over, the next pull is on
 * the right one.  Where it stays so, no pull will come, and the builder decides on the last one. */
static void pull_again(bw_stand_in *s) {
    const bw_prompt *p = &s->prompt;
    bw_fault_happened(&s->memory.faults, p->group->name, p->place, (int)p->stage_index + 1);
    if (s->unfelt_times < UNFELT_MOST) {
        bw_stand_in_pull(s);
        return;
    }
    if (s->unfelt_times == UNFELT_MOST && p->standing.pulls > 0) {
        bw_stand_in_type(s, "decide");
        return;
    }
    bw_complain("the simulated builder: place %zu of %s gives no torque", p->place + 1,
                p->group->name);
    bw_stand_in_type(s, "pause");
}
