/* trial.c - see trial.h. */
#include "rehearsal/trial.h"

#include <math.h>

/* Another pull than the first: no hand stops short of its aim by itself. */
static const unsigned not_the_first = 1;

static bw_fastener fastener_for(const bw_trial *trial, uint64_t key) {
    bw_fastener f = bw_fastener_faulty(&trial->joint, key, trial->fault);
    if (trial->stands_Nm > 0) {
        bw_fastener_stand(&f, trial->stands_Nm);
    }
    if (trial->fault != BW_FAULT_WRONG) {
        return f;
    }
    if (trial->stage.kind == BW_STAGE_TORQUE) {
        bw_fastener_stand(&f, trial->stage.target_Nm);
    } else {
        bw_fastener_stand(&f, trial->stage.snug_Nm);
        bw_fastener_turn(&f, trial->stage.target_deg);
    }
    return f;
}

static bw_hand_task task_for(const bw_trial *trial) {
    bw_hand_task task = {.stage = trial->stage,
                         .step = "trial",
                         .stage_number = 1,
                         .attempt = 1,
                         .pulls = not_the_first,
                         .back_off_deg = trial->back_off_deg,
                         .style = trial->style,
                         .fault = trial->fault};
    return task;
}

static void tell(const bw_hand *hand, const bw_fastener *before, bw_truth *truth) {
    const bw_grip *grip = &hand->grip;
    bw_fastener after = grip->fastener;
    truth->yielded = after.yield_N != before->yield_N;
    truth->turned_deg = grip->turned_deg;
    truth->counted_deg = bw_hand_counted_deg(hand);
    truth->whole = !bw_hand_unplugged(hand) && !bw_hand_fell_silent(hand);
    truth->drift_deg_per_s = hand->drift_deg_per_s;
    truth->windup_deg_per_Nm = grip->windup_deg_per_Nm;
    truth->has_result = bw_hand_result(hand, &truth->result_Nm, &truth->result_deg);
    if (after.relax_share > 0) {
        bw_fastener_settle(&after, bw_fastener_preload_N(&after) * (1 - after.relax_share));
    }
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
    *truth = (bw_truth){.asked = !bw_fault_mistakes(trial->fault) && trial->fault != BW_FAULT_REHIT,
                        .before_N = bw_fastener_preload_N(&f)};
    bw_hand_begin_on(&hand, &f, key, &task, &trial->wrench, 0);
    bool more = true;
    while (*n < room && more) {
        more = bw_hand_next(&hand, &sample[*n]);
        *n += more ? 1 : 0;
    }
    f = hand.fault == BW_FAULT_REHIT ? hand.grip.fastener : f;
    truth->peak_Nm = hand.peak_Nm;
    tell(&hand, &f, truth);
    return !more;
}
