/* stand_in.c - see stand_in.h. */
#include "command/stand_in_int.h"

#include "rehearsal/joint.h"

#include <stdlib.h>
#include <string.h>

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

/* ---- its turn ---- */

/* A verdict comes while the hand still rests: what it leads to waits until the wrench has sent all.
 */
static void on_act(uv_idle_t *handle) {
    bw_stand_in *s = handle->data;
    (void)uv_idle_stop(&s->act);
    if (bw_stand_in_sends(s)) {
        return;
    }
    s->asked = false;
    bw_stand_in_answer(s);
}

void bw_stand_in_act(bw_stand_in *s) {
    (void)uv_idle_start(&s->act, on_act);
}

static void prompt(void *ctx, const bw_prompt *p) {
    bw_stand_in *s = ctx;
    s->prompt = *p;
    s->asked = true;
    bw_stand_in_act(s);
}

bw_face bw_stand_in_face(bw_stand_in *stand_in) {
    return (bw_face){.ctx = stand_in, .prompt = prompt, .recorded = recorded};
}

/* ---- taking its place ---- */

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
