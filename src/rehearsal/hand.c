/* hand.c - see hand.h.
 *
 * How fast: tools are tested with the last fifth of the torque applied over 0.5 to 4 s (ISO 6789-1,
 * from a secondary text); speeds, halts, strokes and how well a hand aims are our choice, no
 * source.  The back-swing of a ratchet is over within 0.3 s, so that a pull is not taken for two.
 */
#include "rehearsal/hand.h"

#include "rehearsal/aim.h"

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

/* A fastener that has not begun to turn at so much more than it stands at, or is to be turned from,
 * will not: friction at rest is 15 % more at most.  Where neither is known it is so many N.m. */
static const double stuck_share = 1.5;
static const double stuck_Nm = 20.0;

/* A hand feels the thread give way where the torque falls to this share while it turns on: friction
 * at rest and a rough thread fall less. */
static const double gives_way_share = 0.6;

static const double goes_at = 0.6;
static const double lost_s = 0.5;
static const double noise_times = 20.0;

/* Common for a tool's own count of angle: our choice, no source. */
static const double result_from_Nm = 2.0;

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

/* Who pulls the wrong one does it with another pull than the one that is its own. */
static uint64_t pull_key(uint64_t fastener_key, const bw_hand_task *task) {
    uint64_t key = bw_chance_key_text(fastener_key, task->step);
    key = bw_chance_key_number(key, (uint64_t)task->stage_number);
    key = bw_chance_key_number(key, (uint64_t)task->attempt);
    key = bw_chance_key_number(key, task->pulls);
    return bw_fault_mistakes(task->fault) ? bw_chance_key_number(key, task->fault) : key;
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
    hand->highest_Nm = 0;
    hand->stroke_deg = hand->runs ? bw_chance_between(&hand->chance, 60, 90)
                                  : bw_chance_between(&hand->chance, 25, 40);
}

/* What is wrong with wrench or handle. */
static void spoil(bw_hand *hand) {
    hand->lose_at = 2;
    switch (hand->fault) {
    case BW_FAULT_SPIKE:
        hand->spike_is_due = true;
        break;
    case BW_FAULT_NOISE:
        hand->wrench.noise_Nm *= noise_times;
        break;
    case BW_FAULT_LOST:
        hand->lose_at = bw_chance_between(&hand->chance, 0.3, 0.9);
        break;
    case BW_FAULT_PEAK:
        hand->wrench.peak_only = true;
        break;
    default:
        break;
    }
}

void bw_hand_begin_on(bw_hand *hand, const bw_fastener *fastener, uint64_t key,
                      const bw_hand_task *task, const bw_hand_wrench *wrench, double start_s) {
    *hand = (bw_hand){.wrench = *wrench,
                      .fault = task->fault,
                      .chance = {pull_key(key, task)},
                      .grip = bw_grip_on(fastener, wrench->windup_deg_per_Nm,
                                         bw_stage_traits_of(task->stage.kind)->loosens),
                      .start_s = start_s,
                      .ramp_s = stiff_ramp_s,
                      .runs = bw_stage_traits_of(task->stage.kind)->runs};
    bw_chance *chance = &hand->chance;
    hand->style = drawn_style(chance);
    if (task->style != BW_HAND_ANY) {
        hand->style = task->style;
    }
    bw_aim_take(hand, task);
    double most = wrench->drift_deg_per_s;
    hand->drift_deg_per_s = bw_chance_between(chance, -most, most);
    hand->slow_deg_per_s = bw_chance_between(chance, 8, 12);
    hand->halt_at = bw_chance_between(chance, 0.4, 0.6);
    hand->scale_Nm = bw_aim_scale_Nm(hand, &task->stage);
    hand->counting = hand->aim.counted_from_Nm <= 0;
    begin_stroke(hand);
    begin_phase(hand, BW_HAND_BEFORE, rest_s + bw_chance_between(chance, 0, 0.3), 0);
    spoil(hand);
}

void bw_hand_begin(bw_hand *hand, const bw_joint *joint, const bw_hand_task *task,
                   const bw_hand_wrench *wrench, double start_s) {
    bw_fastener f = bw_joint_fastener(joint, task->fastener, task->step, task->attempt);
    bw_hand_begin_on(hand, &f, bw_joint_key(joint, task->fastener), task, wrench, start_s);
}

double bw_hand_counted_deg(const bw_hand *hand) {
    return hand->counting ? hand->grip.turned_deg - hand->counted_deg : 0;
}

/* Share of the way to the aim; 1 and above: there. */
static double progress(const bw_hand *hand) {
    const bw_hand_aim *aim = &hand->aim;
    double torque_Nm = hand->grip.torque_Nm;
    return aim->angle ? fmax(bw_hand_counted_deg(hand) / aim->turn_deg, torque_Nm / aim->most_Nm)
                      : torque_Nm / fmin(aim->torque_Nm, aim->most_Nm);
}

double bw_hand_mean_Nm(const bw_hand *hand) {
    return hand->ran_deg > 0 ? hand->ran_Nm_deg / hand->ran_deg : 0;
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
    double sticks_Nm = hand->grip.turning ? 0 : bw_grip_breakaway_Nm(&hand->grip);
    if (hand->play_deg > 0) {
        speed = play_deg_per_s;
    } else if (sticks_Nm > 0) {
        double ramp_Nm_per_s = (isfinite(sticks_Nm) ? fmax(hand->scale_Nm, sticks_Nm)
                                                    : hand->scale_Nm) /
                               hand->ramp_s;
        speed = fmin(speed, ramp_Nm_per_s * hand->grip.windup_deg_per_Nm);
    }
    return speed / hand->wrench.rate_Hz;
}

static void forward(bw_hand *hand, const bw_hand *before, double deg) {
    *hand = *before;
    bw_grip_forward(&hand->grip, deg);
    double turned_deg = hand->grip.turned_deg - before->grip.turned_deg;
    hand->ran_deg += turned_deg;
    hand->ran_Nm_deg += turned_deg * hand->grip.torque_Nm;
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

static void lose(bw_hand *hand) {
    if (progress(hand) >= hand->lose_at) {
        hand->lose_at = 2;
        hand->losing = (unsigned long)ceil(lost_s * hand->wrench.rate_Hz);
    }
}

/* It does not turn at all, or turns on without holding. */
static bool hopeless(const bw_hand *hand) {
    const bw_grip *grip = &hand->grip;
    double holds_Nm = bw_grip_turning_Nm(grip);
    double stands_Nm = isfinite(holds_Nm) ? holds_Nm : stuck_Nm;
    double most_Nm = stuck_share * fmax(stands_Nm, hand->aim.counted_from_Nm);
    bool stuck = hand->aim.angle && !isfinite(hand->aim.most_Nm) && !grip->turning &&
                 grip->torque_Nm > most_Nm;
    bool gave_way = !grip->loosens && !hand->runs &&
                    grip->torque_Nm < gives_way_share * hand->highest_Nm;
    return stuck || gave_way || grip->handle_deg > give_up_deg;
}

static bool goes_away(const bw_hand *hand) {
    return hand->fault == BW_FAULT_UNPLUG || hand->fault == BW_FAULT_BATTERY;
}

/* What the hand does next once it has gone forward. */
static void after_load(bw_hand *hand) {
    double torque_Nm = hand->grip.torque_Nm;
    double way = progress(hand);
    double stroke_deg = hand->grip.handle_deg - hand->stroke_from_deg;
    bool stroke_full = stroke_deg >= hand->stroke_deg && way < last_stroke_share;
    hand->highest_Nm = fmax(hand->highest_Nm, torque_Nm);
    hand->peak_Nm = fmax(hand->peak_Nm, torque_Nm);
    if (goes_away(hand) && way >= goes_at) {
        hand->gone = true;
        hand->phase = BW_HAND_DONE;
    } else if (way >= 1) {
        double eases = bw_chance_between(&hand->chance, 0.01, 0.03);
        begin_phase(hand, BW_HAND_HOLD, hold_s, eases * torque_Nm);
    } else if (hopeless(hand)) {
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
        double sticks_Nm = hand->grip.turning ? 0 : bw_grip_breakaway_Nm(&hand->grip);
        forward_to_aim(hand, deg - play_deg);
        hand->peak_Nm = fmax(hand->peak_Nm, hand->grip.turning ? sticks_Nm : 0);
    }
    knock(hand);
    lose(hand);
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

/* The tool's own count, for its result. */
static void count_result(bw_hand *hand, double shown_Nm) {
    double handle_deg = hand->grip.handle_deg;
    if (!hand->result_counts && shown_Nm >= result_from_Nm) {
        hand->result_counts = true;
        hand->result_from_deg = handle_deg;
    }
    hand->result_Nm = fmax(hand->result_Nm, shown_Nm);
    if (hand->result_counts) {
        hand->result_deg = fmax(hand->result_deg, handle_deg - hand->result_from_deg);
    }
}

/* What the wrench shows of it. */
static void show(bw_hand *hand, bw_sample *out) {
    const bw_hand_wrench *wrench = &hand->wrench;
    double way = hand->grip.loosens ? -1 : 1;
    double since_s = (double)hand->ticks / wrench->rate_Hz;
    double noise_Nm = wrench->noise_Nm * bw_chance_normal(&hand->chance);
    double torque_Nm = way * (hand->grip.torque_Nm + hand->spike_Nm) + noise_Nm;
    double angle_deg = way * (hand->grip.handle_deg + hand->swung_deg) +
                       hand->drift_deg_per_s * since_s;
    out->time_s = hand->start_s + since_s;
    out->torque_Nm = in_steps(torque_Nm, wrench->step_Nm);
    out->angle_deg = wrench->has_angle ? in_steps(angle_deg, wrench->step_deg) : 0;
    out->has_angle = wrench->has_angle;
    hand->spike_Nm = 0;
    hand->ticks++;
    count_result(hand, way * out->torque_Nm);
}

/* Whether this sample never arrives. */
static bool is_lost(bw_hand *hand) {
    double share = hand->wrench.lost_share;
    if (hand->losing > 0) {
        hand->losing--;
        return true;
    }
    return hand->wrench.peak_only || (share > 0 && bw_chance_between(&hand->chance, 0, 1) < share);
}

bool bw_hand_next(bw_hand *hand, bw_sample *out) {
    while (hand->phase != BW_HAND_DONE) {
        bw_sample sample;
        tick(hand);
        show(hand, &sample);
        if (!is_lost(hand)) {
            *out = sample;
            return true;
        }
    }
    return false;
}

bool bw_hand_unplugged(const bw_hand *hand) {
    return hand->gone && hand->fault == BW_FAULT_UNPLUG;
}

bool bw_hand_fell_silent(const bw_hand *hand) {
    return hand->gone && hand->fault == BW_FAULT_BATTERY;
}

bool bw_hand_result(const bw_hand *hand, double *peak_Nm, double *turn_deg) {
    if (!hand->wrench.peak_only || hand->gone || hand->phase != BW_HAND_DONE) {
        return false;
    }
    *peak_Nm = hand->result_Nm;
    *turn_deg = hand->result_deg;
    return true;
}
