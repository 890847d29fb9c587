/* hand.c - see hand.h.
 *
 * How fast: tools are tested with the last fifth of the torque applied over 0.5 to 4 s (ISO 6789-1,
 * from a secondary text); speeds, halts, strokes and how well a hand aims are our choice, no
 * source.  The back-swing of a ratchet is over within 0.3 s, so that a pull is not taken for two.
 */
#include "rehearsal/hand.h"

#include <math.h>

static const double rest_s = 0.5;
static const double hold_s = 0.25;
static const double halt_s = 0.4;
static const double release_s = 0.12;
static const double stroke_release_s = 0.06;

static const double fast_deg_per_s = 80.0;
static const double swing_deg_per_s = 400.0;
static const double play_deg_per_s = 20.0;

/* Torque that comes while nothing turns takes this long from nothing to the target. */
static const double stiff_ramp_s = 0.6;

/* A hand that has gone so far without getting there gives up. */
static const double give_up_deg = 1080.0;

/* Nobody puts down the handle so near to the aim: setting off from rest would jump past it. */
static const double last_stroke_share = 0.9;

static const double stops_short_share = 0.1;

/* Beyond the limit of an angle that has none, or of a torque that has none. */
static const double far_turn_deg = 20.0;
static const double far_torque_share = 1.2;

/* A rehit in an angle stage: what the hand feels before it sees that nothing turns. */
static const double stuck_share = 1.5;

enum { HALVINGS = 40 };

bw_hand_wrench bw_hand_usual_wrench(void) {
    return (bw_hand_wrench){.rate_Hz = 100,
                            .noise_Nm = 0.02,
                            .step_Nm = 0.01,
                            .windup_deg_per_Nm = 0.05,
                            .drift_deg_per_s = 0.05,
                            .step_deg = 0.1,
                            .has_angle = true};
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
    double stands_Nm = bw_fastener_turning_Nm(&hand->grip.fastener);
    switch (fault) {
    case BW_FAULT_SHORT:
        hand->aim.torque_Nm = short_of(hand, stands_Nm, stage->low_Nm, stage->target_Nm);
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
        felt_Nm = stuck_share * fmax(stage->snug_Nm, bw_fastener_turning_Nm(f));
    }
    hand->aim.torque_Nm = felt_Nm * bw_chance_between(&hand->chance, 1.002, 1.010);
    bw_fastener_stand(f, hand->aim.torque_Nm);
}

/* The torque that the stage is about, for speeds and knocks. */
static double scale_Nm(const bw_hand *hand, const bw_stage *stage) {
    double stands_Nm = bw_fastener_turning_Nm(&hand->grip.fastener);
    return fmax(fmax(stage->target_Nm, stage->snug_Nm), fmax(stands_Nm, 1));
}

static void take_aim(bw_hand *hand, const bw_hand_task *task) {
    bool plain = task->fault == BW_FAULT_NONE && task->pulls == 0;
    bool tired = bw_chance_between(&hand->chance, 0, 1) < stops_short_share;
    bw_fault_kind fault = plain && tired ? BW_FAULT_SHORT : task->fault;
    if (fault == BW_FAULT_REHIT) {
        aim_at_tight_one(hand, &task->stage);
    } else if (task->stage.kind == BW_STAGE_TORQUE) {
        aim_at_torque(hand, &task->stage, fault);
    } else {
        aim_at_turn(hand, task, fault);
    }
}

/* How often a hand works so: half of the pulls are smooth. */
static bw_hand_style drawn_style(bw_chance *chance) {
    static const struct {
        double below;
        bw_hand_style style;
    } rows[] = {
        {0.50, BW_HAND_SMOOTH}, {0.75, BW_HAND_RATCHET}, {0.90, BW_HAND_HALT}, {1, BW_HAND_BEYOND}};
    double drawn = bw_chance_between(chance, 0, 1);
    size_t i = 0;
    while (drawn >= rows[i].below) {
        i++;
    }
    return rows[i].style;
}

static uint64_t pull_key(const bw_joint *joint, const bw_hand_task *task) {
    uint64_t key = bw_chance_key_text(bw_joint_key(joint, task->fastener), task->step);
    key = bw_chance_key_number(key, (uint64_t)task->stage_number);
    key = bw_chance_key_number(key, (uint64_t)task->attempt);
    return bw_chance_key_number(key, task->pulls);
}

static void begin_phase(bw_hand *hand, bw_hand_phase phase, double seconds, double fall_Nm) {
    hand->phase = phase;
    hand->length = (unsigned long)ceil(seconds * hand->wrench.rate_Hz);
    hand->left = hand->length;
    hand->fall_Nm = fall_Nm;
}

static void begin_stroke(bw_hand *hand) {
    hand->phase = BW_HAND_LOAD;
    hand->stroke_from_deg = hand->grip.handle_deg;
    hand->stroke_deg = bw_chance_between(&hand->chance, 25, 40);
}

void bw_hand_begin(bw_hand *hand, const bw_joint *joint, const bw_hand_task *task,
                   const bw_hand_wrench *wrench, double start_s) {
    bw_fastener f = bw_joint_fastener(joint, task->fastener, task->step, task->attempt);
    *hand = (bw_hand){.wrench = *wrench,
                      .fault = task->fault,
                      .chance = {pull_key(joint, task)},
                      .grip = bw_grip_on(&f, wrench->windup_deg_per_Nm),
                      .start_s = start_s};
    bw_chance *chance = &hand->chance;
    hand->style = drawn_style(chance);
    if (task->style != BW_HAND_ANY) {
        hand->style = task->style;
    }
    take_aim(hand, task);
    double most = wrench->drift_deg_per_s;
    hand->drift_deg_per_s = bw_chance_between(chance, -most, most);
    hand->slow_deg_per_s = bw_chance_between(chance, 8, 12);
    hand->halt_at = bw_chance_between(chance, 0.4, 0.6);
    hand->spike_is_due = task->fault == BW_FAULT_SPIKE;
    hand->scale_Nm = scale_Nm(hand, &task->stage);
    hand->counting = hand->aim.counted_from_Nm <= 0;
    begin_stroke(hand);
    begin_phase(hand, BW_HAND_BEFORE, rest_s + bw_chance_between(chance, 0, 0.3), 0);
}

static double counted_deg(const bw_hand *hand) {
    return hand->counting ? hand->grip.turned_deg - hand->counted_deg : 0;
}

/* Share of the way to the aim; 1 and above: there. */
static double progress(const bw_hand *hand) {
    return hand->aim.angle ? counted_deg(hand) / hand->aim.turn_deg
                           : hand->grip.torque_Nm / hand->aim.torque_Nm;
}

/* Counting begins where the torque passes the snug torque, between two samples as a rule. */
static void watch_for_snug(bw_hand *hand, const bw_grip *before) {
    double snug_Nm = hand->aim.counted_from_Nm;
    if (hand->counting || hand->grip.torque_Nm < snug_Nm) {
        return;
    }
    double rise_Nm = hand->grip.torque_Nm - before->torque_Nm;
    double share = rise_Nm > 0 ? (snug_Nm - before->torque_Nm) / rise_Nm : 1;
    hand->counting = true;
    hand->counted_deg = before->turned_deg + share * (hand->grip.turned_deg - before->turned_deg);
}

/* Slower and slower toward the aim; the ratchet's play is felt for; while nothing turns no faster
 * than the torque may rise. */
static double forward_deg(const bw_hand *hand) {
    double way = 1 - fmax(0, fmin(1, progress(hand)));
    double speed = hand->slow_deg_per_s + (fast_deg_per_s - hand->slow_deg_per_s) * way * way;
    double sticks_Nm = hand->grip.turning ? 0 : bw_fastener_breakaway_Nm(&hand->grip.fastener);
    if (hand->play_deg > 0) {
        speed = play_deg_per_s;
    } else if (sticks_Nm > 0) {
        double ramp_Nm_per_s = fmax(hand->scale_Nm, sticks_Nm) / stiff_ramp_s;
        speed = fmin(speed, ramp_Nm_per_s * hand->grip.windup_deg_per_Nm);
    }
    return speed / hand->wrench.rate_Hz;
}

static void forward(bw_hand *hand, const bw_hand *before, double deg) {
    *hand = *before;
    bw_grip_forward(&hand->grip, deg);
    watch_for_snug(hand, &before->grip);
}

/* A hand stops between two samples: exactly where it is there. */
static void forward_to_aim(bw_hand *hand, double deg) {
    const bw_hand before = *hand;
    forward(hand, &before, deg);
    if (progress(hand) < 1) {
        return;
    }
    double least = 0;
    double most = deg;
    for (int i = 0; i < HALVINGS; i++) {
        double middle = (least + most) / 2;
        forward(hand, &before, middle);
        if (progress(hand) < 1) {
            least = middle;
        } else {
            most = middle;
        }
    }
    forward(hand, &before, most);
}

static void release(bw_hand *hand, bool stroke_ends) {
    hand->stroke_ends = stroke_ends;
    begin_phase(hand, BW_HAND_RELEASE, stroke_ends ? stroke_release_s : release_s,
                hand->grip.torque_Nm);
}

static void knock(bw_hand *hand) {
    if (hand->spike_is_due && progress(hand) >= 0.5) {
        hand->spike_is_due = false;
        hand->spike_Nm = hand->scale_Nm;
    }
}

/* What the hand does next once it has gone forward. */
static void after_load(bw_hand *hand) {
    double torque_Nm = hand->grip.torque_Nm;
    double way = progress(hand);
    double stroke_deg = hand->grip.handle_deg - hand->stroke_from_deg;
    bool stroke_full = stroke_deg >= hand->stroke_deg && way < last_stroke_share;
    if (hand->fault == BW_FAULT_UNPLUG && way >= 0.6) {
        hand->unplugged = true;
        hand->phase = BW_HAND_DONE;
    } else if (way >= 1) {
        double eases = bw_chance_between(&hand->chance, 0.01, 0.03);
        begin_phase(hand, BW_HAND_HOLD, hold_s, eases * torque_Nm);
    } else if (hand->grip.handle_deg > give_up_deg) {
        release(hand, false);
    } else if (hand->style == BW_HAND_HALT && way >= hand->halt_at) {
        hand->halt_at = 2;
        begin_phase(hand, BW_HAND_HALTED, halt_s, 0.02 * torque_Nm);
    } else if (hand->style == BW_HAND_RATCHET && stroke_full) {
        release(hand, true);
    }
}

static void load(bw_hand *hand) {
    double deg = forward_deg(hand);
    double play_deg = fmin(deg, hand->play_deg);
    hand->play_deg -= play_deg;
    hand->swung_deg += play_deg;
    if (play_deg < deg) {
        forward_to_aim(hand, deg - play_deg);
    }
    knock(hand);
    after_load(hand);
}

/* Phases of a fixed length, in which the torque falls in a line. */
static bool wait(bw_hand *hand) {
    double fall_Nm = hand->fall_Nm / (double)hand->length;
    hand->left--;
    bool over = hand->left == 0;
    bool to_nothing = over && hand->phase == BW_HAND_RELEASE;
    bw_grip_ease(&hand->grip, to_nothing ? 0 : hand->grip.torque_Nm - fall_Nm);
    return over;
}

static void swing_back(bw_hand *hand) {
    double deg = fmin(swing_deg_per_s / hand->wrench.rate_Hz, hand->swing_left_deg);
    hand->swung_deg -= deg;
    hand->swing_left_deg -= deg;
    if (hand->swing_left_deg <= 0) {
        begin_stroke(hand);
    }
}

static void begin_swing_back(bw_hand *hand) {
    hand->phase = BW_HAND_SWING_BACK;
    hand->play_deg = bw_chance_between(&hand->chance, 0, 1);
    hand->swing_left_deg = hand->stroke_deg + hand->play_deg;
}

/* One period of the wrench's rate. */
static void tick(bw_hand *hand) {
    switch (hand->phase) {
    case BW_HAND_LOAD:
        load(hand);
        break;
    case BW_HAND_SWING_BACK:
        swing_back(hand);
        break;
    case BW_HAND_BEFORE:
    case BW_HAND_HALTED:
        if (wait(hand)) {
            hand->phase = BW_HAND_LOAD;
        }
        break;
    case BW_HAND_HOLD:
        if (wait(hand)) {
            release(hand, false);
        }
        break;
    case BW_HAND_RELEASE:
        if (wait(hand)) {
            if (hand->stroke_ends) {
                begin_swing_back(hand);
            } else {
                begin_phase(hand, BW_HAND_AFTER, rest_s, 0);
            }
        }
        break;
    case BW_HAND_AFTER:
        if (wait(hand)) {
            hand->phase = BW_HAND_DONE;
        }
        break;
    case BW_HAND_DONE:
        break;
    }
}

static double in_steps(double value, double step) {
    return step > 0 ? round(value / step) * step + 0.0 : value;
}

/* What the wrench shows of it. */
static void show(bw_hand *hand, bw_sample *out) {
    const bw_hand_wrench *wrench = &hand->wrench;
    double since_s = (double)hand->ticks / wrench->rate_Hz;
    double noise_Nm = wrench->noise_Nm * bw_chance_normal(&hand->chance);
    double angle_deg = hand->grip.handle_deg + hand->swung_deg + hand->drift_deg_per_s * since_s;
    out->time_s = hand->start_s + since_s;
    out->torque_Nm = in_steps(hand->grip.torque_Nm + hand->spike_Nm + noise_Nm, wrench->step_Nm);
    out->angle_deg = wrench->has_angle ? in_steps(angle_deg, wrench->step_deg) : 0;
    out->has_angle = wrench->has_angle;
    hand->spike_Nm = 0;
    hand->ticks++;
}

bool bw_hand_next(bw_hand *hand, bw_sample *out) {
    if (hand->phase == BW_HAND_DONE) {
        return false;
    }
    tick(hand);
    show(hand, out);
    return true;
}

bool bw_hand_unplugged(const bw_hand *hand) {
    return hand->unplugged;
}
