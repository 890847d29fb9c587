/* aim.c - see aim.h.  How well a hand aims is our choice, no source. */
#include "rehearsal/aim.h"

#include <math.h>

static const double stops_short_share = 0.1;

/* Beyond the limit of an angle that has none, or of a torque that has none. */
static const double far_turn_deg = 20.0;
static const double far_torque_share = 1.2;

/* A rehit in an angle stage: what the hand feels before it sees that nothing turns. */
static const double felt_share = 1.5;

/* A hand that watches a torque that it must not pass stops so far below. */
static const double ceiling_share = 0.98;

/* While something runs down, so much more than the most that is expected is the head on its face.
 */
static const double seats_share = 1.5;

/* What the fastener stands at; a seized one stands at nothing that a hand could know. */
static double stands_Nm(const bw_hand *hand) {
    double turning_Nm = bw_grip_turning_Nm(&hand->grip);
    return isfinite(turning_Nm) ? turning_Nm : 0;
}

static double share(bw_hand *hand, double least, double most) {
    return bw_chance_between(&hand->chance, least, most);
}

/* The middle of a stage that has no target; the limit that it has, where it has one only. */
static double middle_Nm(const bw_stage *stage) {
    if (isfinite(stage->low_Nm) && isfinite(stage->high_Nm)) {
        return (stage->low_Nm + stage->high_Nm) / 2;
    }
    return isfinite(stage->low_Nm) ? stage->low_Nm : isfinite(stage->high_Nm) ? stage->high_Nm : 0;
}

/* A little above the target, never past half the way to the limit. */
static double torque_on_target(bw_hand *hand, const bw_stage *stage) {
    bool beyond = hand->style == BW_HAND_BEYOND;
    double least = beyond ? 1.012 : 1.002;
    double times = share(hand, least, beyond ? 1.025 : 1.010);
    double most_Nm = stage->target_Nm + 0.5 * (stage->high_Nm - stage->target_Nm);
    return fmin(times * stage->target_Nm, most_Nm);
}

/* Within a degree of the target, nearer where the limits are. */
static double turn_on_target(bw_hand *hand, const bw_stage *stage) {
    double window = fmin(stage->high_deg - stage->target_deg, stage->target_deg - stage->low_deg);
    double miss_deg = fmin(1, 0.5 * window);
    return stage->target_deg + share(hand, -miss_deg, miss_deg);
}

/* Somewhere on the way from where it stands to the lower limit. */
static double short_of(bw_hand *hand, double from, double low, double target) {
    double to = fmin(target, isfinite(low) ? low : target);
    double way = share(hand, 0.5, 0.75);
    return from < to ? from + way * (to - from) : 0.8 * to;
}

static double past_Nm(bw_hand *hand, const bw_stage *stage) {
    return isfinite(stage->high_Nm) ? stage->high_Nm * share(hand, 1.03, 1.08)
                                    : far_torque_share * stage->target_Nm;
}

static double past_deg(bw_hand *hand, const bw_stage *stage) {
    double high_deg = isfinite(stage->high_deg) ? stage->high_deg
                                                : stage->target_deg + far_turn_deg;
    return high_deg + share(hand, 6, 12);
}

static void aim_at_deg(bw_hand *hand, double turn_deg) {
    hand->aim.angle = true;
    hand->aim.turn_deg = fmax(turn_deg, 0.3);
}

static void aim_at_torque(bw_hand *hand, const bw_hand_task *task, bw_fault_kind fault) {
    const bw_stage *stage = &task->stage;
    if (fault == BW_FAULT_SHORT) {
        hand->aim.torque_Nm = short_of(hand, stands_Nm(hand), stage->low_Nm, stage->target_Nm);
    } else if (fault == BW_FAULT_OVER) {
        hand->aim.torque_Nm = past_Nm(hand, stage);
    } else {
        hand->aim.torque_Nm = torque_on_target(hand, stage);
    }
}

static void aim_at_turn(bw_hand *hand, const bw_hand_task *task, bw_fault_kind fault) {
    const bw_stage *stage = &task->stage;
    bool from_snug = stage->kind == BW_STAGE_TORQUE_ANGLE && !task->snug_reached;
    double goal_deg = turn_on_target(hand, stage);
    if (fault == BW_FAULT_SHORT) {
        goal_deg = short_of(hand, task->turn_deg, stage->low_deg, stage->target_deg);
    } else if (fault == BW_FAULT_OVER) {
        goal_deg = past_deg(hand, stage);
    }
    aim_at_deg(hand, goal_deg - task->turn_deg);
    hand->aim.counted_from_Nm = from_snug ? stage->snug_Nm : 0;
}

/* Until it is loose: it is felt to run free, and goes on a little. */
static void aim_back(bw_hand *hand, const bw_hand_task *task, bw_fault_kind fault) {
    if (!task->stage.until_loose) {
        aim_at_turn(hand, task, fault);
        return;
    }
    double to_loose_deg = bw_fastener_to_loose_deg(&hand->grip.fastener);
    aim_at_deg(hand, fault == BW_FAULT_SHORT ? to_loose_deg * share(hand, 0.2, 0.5)
                                             : to_loose_deg + share(hand, 20, 90));
}

/* From the torque where the turn is counted to where it yields. */
static double snug_to_yield_deg(const bw_hand *hand, double snug_Nm) {
    bw_fastener at_snug = hand->grip.fastener;
    bw_fastener_stand(&at_snug, snug_Nm);
    return bw_fastener_to_yield_deg(&at_snug);
}

/* The live help says where the slope falls; the hand is a few degrees late.  It goes no farther
 * than to the torque where it should have yielded. */
static void aim_at_yield(bw_hand *hand, const bw_hand_task *task, bw_fault_kind fault) {
    const bw_stage *stage = &task->stage;
    double counted_from_Nm = task->snug_reached ? 0 : stage->snug_Nm;
    if (fault == BW_FAULT_SHORT) {
        hand->aim.torque_Nm = short_of(hand, fmin(stands_Nm(hand), stage->snug_Nm), stage->low_Nm,
                                       stage->low_Nm);
        return;
    }
    hand->aim.counted_from_Nm = counted_from_Nm;
    if (fault == BW_FAULT_OVER) {
        aim_at_deg(hand, past_deg(hand, stage) - task->turn_deg);
    } else {
        aim_at_deg(hand, snug_to_yield_deg(hand, counted_from_Nm) + share(hand, 2, 8));
        hand->aim.most_Nm = stage->high_Nm;
    }
}

/* To the torque that is said for a first measurement, or by feel to two thirds; then by what is
 * still lacking. */
static void aim_at_growth(bw_hand *hand, const bw_hand_task *task, bw_fault_kind fault) {
    const bw_stage *stage = &task->stage;
    const bw_fastener *f = &hand->grip.fastener;
    double miss_mm = 0.3 *
                     fmin(stage->high_mm - stage->target_mm, stage->target_mm - stage->low_mm);
    double goal_mm = stage->target_mm + share(hand, -miss_mm, miss_mm);
    bool first = bw_fastener_growth_mm(f) < 0.3 * stage->target_mm;
    if (fault == BW_FAULT_SHORT) {
        goal_mm = stage->low_mm * share(hand, 0.5, 0.8);
    } else if (fault == BW_FAULT_OVER) {
        goal_mm = stage->high_mm * share(hand, 1.05, 1.15);
    } else if (first && stage->target_Nm > 0) {
        aim_at_torque(hand, task, fault);
    } else if (first) {
        goal_mm *= share(hand, 0.6, 0.8);
    }
    if (hand->aim.torque_Nm <= 0) {
        aim_at_deg(hand, bw_fastener_to_growth_deg(f, goal_mm));
    }
    hand->aim.most_Nm = fault == BW_FAULT_OVER ? INFINITY : ceiling_share * stage->high_Nm;
}

/* To the least torque; from there on to the next slot, as far as the torque may go. */
static void aim_at_slot(bw_hand *hand, const bw_hand_task *task, bw_fault_kind fault) {
    const bw_stage *stage = &task->stage;
    bool reached = stands_Nm(hand) >= 0.97 * stage->target_Nm;
    if (fault != BW_FAULT_NONE || !reached || !isfinite(stage->high_deg)) {
        aim_at_torque(hand, task, fault);
        return;
    }
    aim_at_deg(hand, bw_fastener_to_slot_deg(&hand->grip.fastener, stage->high_deg));
    hand->aim.most_Nm = ceiling_share * stage->high_Nm;
}

/* Slowly up until it moves, and no farther than between the limits. */
static void aim_at_first_move(bw_hand *hand, const bw_hand_task *task, bw_fault_kind fault) {
    const bw_stage *stage = &task->stage;
    hand->ramp_s = share(hand, 2, 4);
    if (fault == BW_FAULT_OVER) {
        hand->aim.torque_Nm = past_Nm(hand, stage);
    } else if (fault == BW_FAULT_SHORT) {
        hand->aim.torque_Nm = fmin(stage->low_Nm, bw_grip_breakaway_Nm(&hand->grip)) *
                              share(hand, 0.5, 0.75);
    } else {
        double moves_deg = fmin(3, 0.6 * stage->high_deg);
        aim_at_deg(hand, share(hand, 0.3 * moves_deg, moves_deg));
        hand->aim.most_Nm = stage->low_Nm +
                            share(hand, 0.5, 0.85) * (stage->high_Nm - stage->low_Nm);
    }
}

/* Round and round, a little more than is asked for; anew after each bit that a sleeve is crushed.
 */
static void aim_to_run(bw_hand *hand, const bw_hand_task *task, bw_fault_kind fault) {
    const bw_stage *stage = &task->stage;
    double done_deg = stage->kind == BW_STAGE_CREEP ? 0 : task->turn_deg;
    double goal_deg = stage->least_turn_deg - done_deg;
    aim_at_deg(hand, fault == BW_FAULT_SHORT ? goal_deg * share(hand, 0.3, 0.7)
                                             : fmax(goal_deg, 0) + share(hand, 15, 45));
    hand->aim.most_Nm = stage->kind == BW_STAGE_PREVAILING ? seats_share * stage->high_Nm
                                                           : INFINITY;
}

/* The wrong one: it was tightened before and does not move at what is pulled. */
static void aim_at_tight_one(bw_hand *hand, const bw_stage *stage) {
    bw_fastener *f = &hand->grip.fastener;
    double felt_Nm = stage->target_Nm;
    if (stage->kind == BW_STAGE_YIELD) {
        felt_Nm = middle_Nm(stage);
    } else if (felt_Nm <= 0 || stage->kind == BW_STAGE_ANGLE) {
        felt_Nm = felt_share * fmax(stage->snug_Nm, stands_Nm(hand));
    }
    hand->aim = (bw_hand_aim){.torque_Nm = felt_Nm * share(hand, 1.002, 1.010),
                              .most_Nm = INFINITY};
    bw_fastener_stand(f, hand->aim.torque_Nm);
}

double bw_aim_scale_Nm(const bw_hand *hand, const bw_stage *stage) {
    double about_Nm = fmax(stage->target_Nm, stage->snug_Nm);
    return fmax(about_Nm > 0 ? about_Nm : middle_Nm(stage), fmax(stands_Nm(hand), 1));
}

static void (*const aims[BW_STAGE_KIND_COUNT])(bw_hand *hand, const bw_hand_task *task,
                                               bw_fault_kind fault) = {
    [BW_STAGE_TORQUE] = aim_at_torque,  [BW_STAGE_TORQUE_ANGLE] = aim_at_turn,
    [BW_STAGE_ANGLE] = aim_at_turn,     [BW_STAGE_BACK_OFF] = aim_back,
    [BW_STAGE_YIELD] = aim_at_yield,    [BW_STAGE_STRETCH] = aim_at_growth,
    [BW_STAGE_SLOT] = aim_at_slot,      [BW_STAGE_CHECK] = aim_at_first_move,
    [BW_STAGE_PREVAILING] = aim_to_run, [BW_STAGE_ROTATING] = aim_to_run,
    [BW_STAGE_CREEP] = aim_to_run,
};

void bw_aim_take(bw_hand *hand, const bw_hand_task *task) {
    bool plain = task->fault == BW_FAULT_NONE && task->pulls == 0;
    bool tired = share(hand, 0, 1) < stops_short_share;
    bw_fault_kind fault = plain && tired ? BW_FAULT_SHORT : task->fault;
    hand->aim = (bw_hand_aim){.most_Nm = INFINITY};
    if (fault == BW_FAULT_REHIT) {
        aim_at_tight_one(hand, &task->stage);
    } else {
        aims[task->stage.kind](hand, task, fault);
    }
}
