/* memory.c - see memory.h. */
#include "command/memory.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

/* So many pulls in one stage, and a bad fastener is seen to unasked. */
enum { PULLS_MOST = 3 };

/* What is within 3 % of a torque stands at it. */
static const double stands_share = 0.97;

/* Half a turn: loose for any joint of metal, and still on its thread. */
static const double free_deg = 180.0;

size_t bw_memory_mistaken_for(const bw_group *group, size_t fastener, bw_fault_kind fault) {
    size_t at = 0;
    while (group->order[at] != fastener) {
        at++;
    }
    bool next = at + 1 < group->place_n && (fault == BW_FAULT_MISSED || at == 0);
    return group->order[next ? at + 1 : at - 1];
}

static bool read_spot(const bw_memory *m, const bw_entry *e, bw_memory_spot *out) {
    *out = (bw_memory_spot){.fastener = (size_t)bw_entry_whole(e, BW_M_FASTENER, 0) - 1,
                            .stage = bw_entry_whole(e, BW_M_STAGE, 1),
                            .attempt = bw_entry_whole(e, BW_M_ATTEMPT, 1)};
    return bw_plan_find_group(m->plan, bw_entry_text(e, BW_M_GROUP, ""), &out->group) &&
           out->fastener < m->plan->group[out->group].place_n &&
           bw_text_copy(out->step, sizeof out->step, bw_entry_text(e, BW_M_STEP, ""));
}

static bool same_spot(const bw_memory_spot *a, const bw_memory_spot *b) {
    return a->group == b->group && a->fastener == b->fastener && a->stage == b->stage &&
           a->attempt == b->attempt && strcmp(a->step, b->step) == 0;
}

bool bw_memory_repeated(const bw_memory *memory) {
    return same_spot(&memory->repeated, &memory->pulled);
}

/* The pull in which it was to happen was made, or broken off and lost. */
static bw_fault_kind happened(bw_memory *m, const bw_memory_spot *at) {
    const char *group = m->plan->group[at->group].name;
    int stage = (int)at->stage;
    bw_fault_kind fault = bw_fault_of_pull(&m->faults, group, at->fastener, stage, (int)at->attempt,
                                           0);
    bw_fault_happened(&m->faults, group, at->fastener, stage);
    return fault;
}

static const bw_stage *stage_at(const bw_memory *m, const bw_memory_spot *at) {
    size_t step = 0;
    if (!bw_plan_find_step(m->plan, at->step, &step) || at->stage < 1 ||
        (size_t)at->stage > m->plan->step[step].stage_n) {
        return NULL;
    }
    return &m->plan->step[step].stage[at->stage - 1].stage;
}

void bw_memory_goes_on(const bw_memory *memory, const bw_memory_spot *at) {
    const bw_stage *stage = stage_at(memory, at);
    size_t step = 0;
    bool goes_on = bw_plan_find_step(memory->plan, at->step, &step) &&
                   memory->plan->step[step].goes_on;
    if (at->stage == 1 && stage != NULL &&
        (goes_on || stage->kind == BW_STAGE_CHECK || stage->kind == BW_STAGE_BACK_OFF)) {
        bw_joint_goes_on(memory->joint[at->group], at->fastener, at->step, (int)at->attempt);
    }
}

/* The turn is counted from a torque that the fastener did not stand at yet: how far it came until
 * then is not in the record. */
static bool counts_late(const bw_memory *m, const bw_memory_spot *at, const bw_stage *stage) {
    double from_Nm = stage->kind == BW_STAGE_SLOT ? stage->low_Nm : stage->snug_Nm;
    bw_fastener f = bw_joint_fastener(m->joint[at->group], at->fastener, at->step,
                                      (int)at->attempt);
    return from_Nm > 0 && bw_fastener_turning_Nm(&f) < stands_share * from_Nm;
}

/* Turned back, the record counts it forward; where it only runs or just moves, its highest torque
 * is friction at rest and no place where it stands. */
static bw_joint_pull pull_of(const bw_memory *m, const bw_memory_spot *at, const bw_stage *stage,
                             const bw_entry *e) {
    bool only_turns = stage->kind == BW_STAGE_PREVAILING || stage->kind == BW_STAGE_CHECK;
    bw_joint_pull pull = {
        .fastener = at->fastener,
        .step = at->step,
        .attempt = (int)at->attempt,
        .peak_Nm = only_turns ? 0 : bw_entry_number(e, BW_M_PEAK_NM, 0),
        .turn_deg = bw_entry_number(e, BW_M_TURN_DEG, INFINITY),
    };
    if (stage->kind == BW_STAGE_BACK_OFF && isfinite(pull.turn_deg)) {
        pull.turn_deg = -pull.turn_deg;
    } else if (counts_late(m, at, stage)) {
        pull.turn_deg = INFINITY;
    }
    return pull;
}

/* A shaft that turns stands nowhere. */
static void move_joint(bw_memory *m, const bw_memory_spot *at, const bw_entry *e) {
    bw_joint *joint = m->joint[at->group];
    const bw_stage *stage = stage_at(m, at);
    if (stage == NULL || stage->kind == BW_STAGE_ROTATING || stage->kind == BW_STAGE_CREEP) {
        return;
    }
    bw_memory_goes_on(m, at);
    bw_joint_pull pull = pull_of(m, at, stage, e);
    if (m->mistaken) {
        pull.fastener = m->instead;
        pull.attempt = bw_joint_attempt(joint, m->instead, at->step);
    }
    bw_joint_pulled(joint, &pull);
}

/* Where it came loose no torque told how far it went on. */
static void run_free(bw_memory *m, const bw_memory_spot *at) {
    bw_joint_pull pull = {.fastener = m->mistaken ? m->instead : at->fastener,
                          .step = at->step,
                          .attempt = (int)at->attempt,
                          .turn_deg = -free_deg};
    bw_joint_pulled(m->joint[at->group], &pull);
}

static void fold_verdict(bw_memory *m, const bw_entry *e) {
    bw_memory_spot at;
    m->owns_up = m->mistaken && strcmp(bw_entry_text(e, BW_M_VERDICT, ""), "pass") == 0;
    if (bw_entry_flag(e, BW_M_LOOSE, false) && read_spot(m, e, &at)) {
        run_free(m, &at);
    }
}

/* A builder who has pulled so often looks what is the matter. */
static void count_pull(bw_memory *m, const bw_memory_spot *at) {
    m->pulls = same_spot(&m->pulled, at) ? m->pulls + 1 : 1;
    m->pulled = *at;
    if (m->pulls >= PULLS_MOST) {
        bw_joint_mend(m->joint[at->group], at->fastener);
    }
}

static void fold_pull(bw_memory *m, const bw_entry *e) {
    bw_memory_spot at;
    if (!bw_entry_flag(e, BW_M_ASKED, false) || !read_spot(m, e, &at)) {
        return;
    }
    bw_fault_kind fault = happened(m, &at);
    m->owns_up = false;
    m->mistaken = bw_fault_mistakes(fault);
    if (m->mistaken) {
        m->instead = bw_memory_mistaken_for(&m->plan->group[at.group], at.fastener, fault);
    }
    move_joint(m, &at, e);
    count_pull(m, &at);
}

void bw_memory_fold(bw_memory *memory, const bw_entry *e) {
    bw_memory_spot at;
    switch (e->kind) {
    case BW_KIND_PULL:
        fold_pull(memory, e);
        break;
    case BW_KIND_INTERRUPTED:
        if (read_spot(memory, e, &at)) {
            (void)happened(memory, &at);
        }
        break;
    case BW_KIND_VERDICT:
        fold_verdict(memory, e);
        break;
    case BW_KIND_DECISION:
        if (strcmp(bw_entry_text(e, BW_M_DECISION, ""), "repeat") == 0) {
            (void)read_spot(memory, e, &memory->repeated);
        }
        break;
    case BW_KIND_CORRECTION:
        memory->owns_up = false;
        break;
    default:
        break;
    }
}
