/* memory.c - see memory.h. */
#include "command/memory.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

/* So many pulls in one stage, and a bad fastener is seen to unasked. */
enum { PULLS_MOST = 3 };

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

static void move_joint(bw_memory *m, const bw_memory_spot *at, const bw_entry *e) {
    bw_joint *joint = m->joint[at->group];
    bw_joint_pull pull = {
        .fastener = at->fastener,
        .step = at->step,
        .attempt = (int)at->attempt,
        .peak_Nm = bw_entry_number(e, BW_M_PEAK_NM, 0),
        .turn_deg = bw_entry_number(e, BW_M_TURN_DEG, INFINITY),
    };
    if (m->mistaken) {
        pull.fastener = m->instead;
        pull.attempt = bw_joint_attempt(joint, m->instead, at->step);
    }
    bw_joint_pulled(joint, &pull);
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
        memory->owns_up = memory->mistaken &&
                          strcmp(bw_entry_text(e, BW_M_VERDICT, ""), "pass") == 0;
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
