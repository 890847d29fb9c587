/* trial.c - see trial.h. */
#include "rehearsal/trial.h"

#include "rehearsal/shaft.h"

#include <math.h>

/* Another pull than the first: no hand stops short of its aim by itself. */
static const unsigned not_the_first = 1;

/* A lock nut that was run down already turns on from there. */
static const double run_down_more_deg = 30.0;

/* One that had this stage already. */
static void had_it(const bw_stage *stage, bw_fastener *f) {
    switch (stage->kind) {
    case BW_STAGE_TORQUE:
    case BW_STAGE_SLOT:
        bw_fastener_stand(f, stage->target_Nm);
        break;
    case BW_STAGE_STRETCH:
        bw_fastener_turn(f, bw_fastener_to_growth_deg(f, stage->target_mm));
        break;
    case BW_STAGE_YIELD:
        bw_fastener_turn(f, bw_fastener_to_yield_deg(f) + 5);
        break;
    case BW_STAGE_BACK_OFF:
        bw_fastener_back(f,
                         stage->until_loose ? bw_fastener_to_loose_deg(f) + 45 : stage->target_deg);
        break;
    case BW_STAGE_PREVAILING:
        bw_fastener_turn(f, stage->least_turn_deg + run_down_more_deg);
        break;
    case BW_STAGE_CHECK:
        break;
    default:
        bw_fastener_stand(f, stage->snug_Nm);
        bw_fastener_turn(f, stage->target_deg);
        break;
    }
}

static bw_fastener shaft_for(const bw_trial *trial, uint64_t key) {
    bool too_far = trial->fault == BW_FAULT_OVERCREPT;
    bw_shaft shaft = trial->stage.kind == BW_STAGE_CREEP
                         ? bw_shaft_crept(&trial->joint, key, &trial->stage,
                                          trial->before.pulls + 1, too_far)
                         : bw_shaft_drawn(&trial->joint, key);
    return bw_shaft_turned(&shaft);
}

static bw_fastener fastener_for(const bw_trial *trial, uint64_t key) {
    bw_stage_kind kind = trial->stage.kind;
    if (kind == BW_STAGE_ROTATING || kind == BW_STAGE_CREEP) {
        return shaft_for(trial, key);
    }
    if (trial->before.pulls > 0) {
        return trial->before.fastener;
    }
    bw_fastener f = bw_fastener_faulty(&trial->joint, key, trial->fault);
    if (trial->stands_Nm > 0) {
        bw_fastener_stand(&f, trial->stands_Nm);
        bw_fastener_relax(&f);
    }
    if (trial->fault == BW_FAULT_WRONG) {
        had_it(&trial->stage, &f);
    }
    return f;
}

static bw_hand_task task_for(const bw_trial *trial) {
    bw_hand_task task = {.stage = trial->stage,
                         .step = "trial",
                         .stage_number = 1,
                         .attempt = 1,
                         .pulls = not_the_first + trial->before.pulls,
                         .style = trial->style,
                         .fault = trial->fault};
    if (trial->before.pulls > 0) {
        task.turn_deg = trial->before.turn_deg;
        task.snug_reached = trial->before.snug_reached;
    }
    return task;
}

/* What was so before the hand came. */
static bw_truth told_before(const bw_trial *trial, const bw_fastener *f) {
    bool back = bw_stage_traits_of(trial->stage.kind)->loosens;
    return (bw_truth){.asked = !bw_fault_mistakes(trial->fault) && trial->fault != BW_FAULT_REHIT,
                      .before_N = bw_fastener_preload_N(f),
                      .before_mm = bw_fastener_growth_mm(f),
                      .first_move_Nm = back ? bw_fastener_back_breakaway_Nm(f)
                                            : bw_fastener_breakaway_Nm(f)};
}

/* Where it began to yield: at the preload that it last bore. */
static double yield_Nm(const bw_fastener *before) {
    bw_fastener there = *before;
    bw_fastener_turn(&there, bw_fastener_to_yield_deg(&there));
    return bw_fastener_turning_Nm(&there);
}

static void tell(const bw_hand *hand, const bw_fastener *before, const bw_stage *stage,
                 bw_truth *truth) {
    const bw_grip *grip = &hand->grip;
    bw_fastener after = grip->fastener;
    truth->yielded = after.yield_N != before->yield_N;
    truth->yield_Nm = truth->yielded ? yield_Nm(before) : 0;
    truth->peak_Nm = hand->peak_Nm;
    truth->turned_deg = grip->turned_deg;
    truth->counted_deg = bw_hand_counted_deg(hand);
    truth->mean_Nm = bw_hand_mean_Nm(hand);
    truth->growth_mm = bw_fastener_growth_mm(&after);
    truth->loose = bw_fastener_is_loose(&after);
    truth->slot_meets = stage->kind == BW_STAGE_SLOT && isfinite(stage->high_deg) &&
                        bw_fastener_to_slot_deg(&after, stage->high_deg) <= 0;
    truth->whole = !bw_hand_unplugged(hand) && !bw_hand_fell_silent(hand);
    truth->drift_deg_per_s = hand->drift_deg_per_s;
    truth->windup_deg_per_Nm = grip->windup_deg_per_Nm;
    truth->has_result = bw_hand_result(hand, &truth->result_Nm, &truth->result_deg);
    bw_fastener_relax(&after);
    truth->preload_N = bw_fastener_preload_N(&after);
    truth->fastener = after;
}

bool bw_trial_run(const bw_trial *trial, bw_sample *sample, size_t room, size_t *n,
                  bw_truth *truth) {
    uint64_t key = bw_chance_key_number(trial->seed, 0);
    bw_fastener f = fastener_for(trial, key);
    bw_hand_task task = task_for(trial);
    bw_hand hand;
    *n = 0;
    *truth = told_before(trial, &f);
    bw_hand_begin_on(&hand, &f, key, &task, &trial->wrench, 0);
    bool more = true;
    while (*n < room && more) {
        more = bw_hand_next(&hand, &sample[*n]);
        *n += more ? 1 : 0;
    }
    f = hand.fault == BW_FAULT_REHIT ? hand.grip.fastener : f;
    tell(&hand, &f, &trial->stage, truth);
    return !more;
}
