/* aim.c - see aim.h.  How well a hand aims is our choice, no source. */
#include "rehearsal/aim.h"

#include <math.h>

static const double stops_short_share = 0.1;

/* Beyond the limit of an angle that has none, or of a torque that has none. */
static const double far_turn_deg = 20.0;
static const double far_torque_share = 1.2;

/* A rehit in an angle stage: what the hand feels before it sees that nothing turns. */
static const double felt_share = 1.5;

/* What the fastener stands at; a seized one stands at nothing that a hand could know. */
static double stands_Nm(const bw_hand *hand) {
    double turning_Nm = bw_grip_turning_Nm(&hand->grip);
    return isfinite(turning_Nm) ? turning_Nm : 0;
}

/* A little above the target, never past half the way to the limit. */
static double torque_on_target(bw_hand *hand, const bw_stage *stage) {
    bool beyond = hand->style == BW_HAND_BEYOND;
    double least = beyond ? 1.012 : 1.002;
    double share = bw_chance_between(&hand->chance, least, beyond ? 1.025 : 1.010);
    double most_Nm = stage->target_Nm + 0.5 * (stage->high_Nm - stage->target_Nm);
    return fmin(share * stage->target_Nm, most_Nm);
}

/* Within a degree of the target, nearer where the limits are. */
static double turn_on_target(bw_hand *hand, const bw_stage *stage) {
    double window = fmin(stage->high_deg - stage->target_deg, stage->target_deg - stage->low_deg);
    double miss_deg = fmin(1, 0.5 * window);
    return stage->target_deg + bw_chance_between(&hand->chance, -miss_deg, miss_deg);
}

/* Somewhere on the way from where it stands to the lower limit. */
static double short_of(bw_hand *hand, double from, double low, double target) {
    double to = fmin(target, isfinite(low) ? low : target);
    double way = bw_chance_between(&hand->chance, 0.5, 0.75);
    return from < to ? from + way * (to - from) : 0.8 * to;
}

static void aim_at_torque(bw_hand *hand, const bw_stage *stage, bw_fault_kind fault) {
    switch (fault) {
    case BW_FAULT_SHORT:
        hand->aim.torque_Nm = short_of(hand, stands_Nm(hand), stage->low_Nm, stage->target_Nm);
        break;
    case BW_FAULT_OVER:
        hand->aim.torque_Nm = isfinite(stage->high_Nm)
                                  ? stage->high_Nm * bw_chance_between(&hand->chance, 1.03, 1.08)
                                  : far_torque_share * stage->target_Nm;
        break;
    default:
        hand->aim.torque_Nm = torque_on_target(hand, stage);
        break;
    }
}

static void aim_at_turn(bw_hand *hand, const bw_hand_task *task, bw_fault_kind fault) {
    const bw_stage *stage = &task->stage;
    bool from_snug = stage->kind == BW_STAGE_TORQUE_ANGLE && !task->snug_reached;
    double goal_deg = turn_on_target(hand, stage);
    if (fault == BW_FAULT_SHORT) {
        goal_deg = short_of(hand, task->turn_deg, stage->low_deg, stage->target_deg);
    } else if (fault == BW_FAULT_OVER) {
        double high_deg = isfinite(stage->high_deg) ? stage->high_deg
                                                    : stage->target_deg + far_turn_deg;
        goal_deg = high_deg + bw_chance_between(&hand->chance, 6, 12);
    }
    hand->aim.angle = true;
    hand->aim.turn_deg = fmax(goal_deg - task->turn_deg, 0.3);
    hand->aim.counted_from_Nm = from_snug ? stage->snug_Nm : 0;
}

/* The wrong one: it was tightened before and does not move at what is pulled. */
static void aim_at_tight_one(bw_hand *hand, const bw_stage *stage) {
    bw_fastener *f = &hand->grip.fastener;
    double felt_Nm = stage->target_Nm;
    if (stage->kind != BW_STAGE_TORQUE) {
        felt_Nm = felt_share * fmax(stage->snug_Nm, stands_Nm(hand));
    }
    hand->aim.torque_Nm = felt_Nm * bw_chance_between(&hand->chance, 1.002, 1.010);
    bw_fastener_stand(f, hand->aim.torque_Nm);
}

double bw_aim_scale_Nm(const bw_hand *hand, const bw_stage *stage) {
    return fmax(fmax(stage->target_Nm, stage->snug_Nm), fmax(stands_Nm(hand), 1));
}

void bw_aim_take(bw_hand *hand, const bw_hand_task *task) {
    bool plain = task->fault == BW_FAULT_NONE && task->pulls == 0;
    bool tired = bw_chance_between(&hand->chance, 0, 1) < stops_short_share;
    bw_fault_kind fault = plain && tired ? BW_FAULT_SHORT : task->fault;
    if (task->back_off_deg > 0) {
        hand->aim = (bw_hand_aim){.angle = true, .turn_deg = task->back_off_deg};
    } else if (fault == BW_FAULT_REHIT) {
        aim_at_tight_one(hand, &task->stage);
    } else if (task->stage.kind == BW_STAGE_TORQUE) {
        aim_at_torque(hand, &task->stage, fault);
    } else {
        aim_at_turn(hand, task, fault);
    }
}
