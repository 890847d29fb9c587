/* curve.c - see curve.h. */
#include "judge/curve.h"

#include <math.h>
#include <string.h>

/* No finer than this: below it wrenches give steps, not angles. */
static const double width_least_deg = 1.0;

/* Torque that rises without travel (it sticks) begins a piece of its own from here on: a mean over
 * sticking and turning is neither. */
static const double piece_rise_share = 0.125;

/* A stroke is over below this share of the threshold, as in judge.c. */
static const double stroke_over_share = 0.6;

/* Friction at rest is up to 15 % above that of turning, so torque falls to 1 / 1.15 = 0.87 of its
 * peak when a fastener breaks away, with the wrench's noise not below this.  What is lower is a
 * hand that eases off, or a torque_drop. */
static const double on_the_curve_share = 0.8;

/* A gyro at rest drifts by a tenth of this; no hand that means to turn is as slow. */
static const double standing_still_deg_per_s = 0.5;

/* A slope is taken over a sixth of the whole turn, never less than four degrees.  On the hardest
 * joint of ISO 5393 (27 degrees from a tenth of the torque to all of it) that is a rise of a
 * seventh of the torque, on any other a sixth: more than ten times the noise of a wrench that suits
 * the joint (1 %), so that slopes of one straight line do not differ by half. */
static const double window_share = 1.0 / 6.0;
static const double window_least_deg = 4.0;
enum { WINDOW_NODES = 3 };

/* A locking feature takes this share of the torque at most, and does so for turns on end. */
const double bw_curve_run_down_share = 0.25;

/* A steepest slope that raises the torque by less than this in a window is no stretch of a joint
 * on the way to its torque, but friction of a thread that runs down. */
static const double stretch_share = 0.05;

/* A fall is seen over so much turn: more than a fastener slips when it breaks away (15 % of 60 N.m
 * with 0.1 degree/N.m: 0.9 degree), less than the last turn of an angle stage. */
static const double fall_over_deg = 6.0;

void bw_curve_begin(bw_curve *curve, double threshold_Nm, double reference_Nm) {
    memset(curve, 0, sizeof *curve);
    curve->threshold_Nm = threshold_Nm;
    curve->reference_Nm = reference_Nm;
    curve->width_deg = width_least_deg;
}

/* ---- keeping ---- */

static bw_node open_node(const bw_curve *curve) {
    const bw_piece *piece = &curve->piece;
    double n = (double)piece->n;
    return (bw_node){piece->time_s, piece->sum_deg / n, piece->sum_Nm / n, curve->stroke};
}

static bw_node mean_of(const bw_node *a, const bw_node *b) {
    return (bw_node){a->time_s, (a->angle_deg + b->angle_deg) / 2,
                     (a->torque_Nm + b->torque_Nm) / 2, a->stroke};
}

/* Two pieces become one, where they are of one stroke. */
static void coarsen(bw_curve *curve) {
    size_t n = 0;
    for (size_t i = 0; i < curve->n; i++) {
        const bw_node *a = &curve->node[i];
        bool pair = i + 1 < curve->n && a[1].stroke == a->stroke;
        curve->node[n++] = pair ? mean_of(a, a + 1) : *a;
        i += pair ? 1 : 0;
    }
    curve->n = n;
    curve->width_deg *= 2;
}

/* Strokes without number, of one piece each, are no joint's: what is beyond the room is dropped. */
static void close_piece(bw_curve *curve) {
    if (curve->n == BW_CURVE_NODES) {
        coarsen(curve);
    }
    if (curve->n < BW_CURVE_NODES) {
        curve->node[curve->n++] = open_node(curve);
        curve->closed++;
    }
    curve->piece.n = 0;
}

static void add_to_piece(bw_curve *curve, const bw_sample *sample) {
    bw_piece *piece = &curve->piece;
    bool rose = curve->reference_Nm > 0 &&
                fabs(sample->torque_Nm - piece->first_Nm) >= piece_rise_share * curve->reference_Nm;
    if (piece->n > 0 && (rose || sample->angle_deg - piece->first_deg >= curve->width_deg)) {
        close_piece(curve);
    }
    if (piece->n == 0) {
        *piece = (bw_piece){.time_s = sample->time_s,
                            .first_deg = sample->angle_deg,
                            .first_Nm = sample->torque_Nm};
    }
    piece->n++;
    piece->sum_deg += sample->angle_deg;
    piece->sum_Nm += sample->torque_Nm;
}

static void run_down(bw_curve *curve, const bw_sample *sample) {
    if (curve->stroke > 0) {
        return;
    }
    curve->least_deg = curve->begun ? fmin(curve->least_deg, sample->angle_deg) : sample->angle_deg;
    curve->free_deg = sample->angle_deg - curve->least_deg;
}

static void begin_stroke(bw_curve *curve, const bw_sample *sample) {
    curve->loaded = true;
    curve->stroke++;
    curve->peak_Nm = sample->torque_Nm;
    curve->furthest_deg = sample->angle_deg;
    add_to_piece(curve, sample);
}

/* The hand does something: it turns on, or it pulls harder than ever in this stroke. */
static bool goes_on(const bw_curve *curve, const bw_sample *sample) {
    double forward_deg = sample->angle_deg - curve->furthest_deg;
    double still_deg = standing_still_deg_per_s * (sample->time_s - curve->last_s);
    return sample->torque_Nm > curve->peak_Nm ||
           (forward_deg > still_deg && sample->torque_Nm >= on_the_curve_share * curve->peak_Nm);
}

static void go_on(bw_curve *curve, const bw_sample *sample) {
    if (sample->torque_Nm < stroke_over_share * curve->threshold_Nm) {
        close_piece(curve);
        curve->loaded = false;
    } else if (goes_on(curve, sample)) {
        curve->peak_Nm = fmax(curve->peak_Nm, sample->torque_Nm);
        curve->furthest_deg = fmax(curve->furthest_deg, sample->angle_deg);
        add_to_piece(curve, sample);
    }
}

void bw_curve_take(bw_curve *curve, const bw_sample *sample) {
    if (!sample->has_angle) {
        return;
    }
    if (curve->loaded) {
        go_on(curve, sample);
    } else if (sample->torque_Nm >= curve->threshold_Nm) {
        begin_stroke(curve, sample);
    } else {
        run_down(curve, sample);
    }
    curve->begun = true;
    curve->last_s = sample->time_s;
}

/* ---- looking at it ---- */

size_t bw_curve_nodes(const bw_curve *curve) {
    return curve->n + (curve->piece.n > 0 ? 1 : 0);
}

bw_node bw_curve_node(const bw_curve *curve, size_t i) {
    return i < curve->n ? curve->node[i] : open_node(curve);
}

/* Keeps nodes by which the joint itself went on.  Where a fastener sticks, torque rises and falls
 * and all travel is wind-up: such nodes drop out. */
static void add_node(bw_joint_curve *joint, const bw_node *node, double turn_deg, double step_deg) {
    if (joint->n > 0 && turn_deg - joint->turn_deg[joint->n - 1] < step_deg) {
        return;
    }
    joint->time_s[joint->n] = node->time_s;
    joint->turn_deg[joint->n] = turn_deg;
    joint->torque_Nm[joint->n] = node->torque_Nm;
    joint->stroke[joint->n] = node->stroke;
    joint->n++;
}

/* A torque that was higher before than it is further on was friction at rest, or the curve falls:
 * both ways the lower one is what the stretch gives. */
static void level_bumps(bw_joint_curve *joint) {
    for (size_t i = joint->n; i-- > 1;) {
        joint->torque_Nm[i - 1] = fmin(joint->torque_Nm[i - 1], joint->torque_Nm[i]);
    }
}

/* Every stroke begins with a fastener that sticks; the piece in which it breaks away is a mean over
 * sticking and turning.  A degree and a piece further on it is on its curve. */
void bw_curve_joint(const bw_curve *curve, double windup_deg_per_Nm, bw_joint_curve *joint) {
    double begin_deg = width_least_deg + curve->width_deg;
    double base_deg = 0;
    double stroke_deg = 0; /* turn where this stroke began */
    uint32_t stroke = 0;
    joint->n = 0;
    for (size_t i = 0; i < bw_curve_nodes(curve); i++) {
        bw_node node = bw_curve_node(curve, i);
        double deg = node.angle_deg - windup_deg_per_Nm * node.torque_Nm;
        if (node.stroke != stroke) {
            stroke = node.stroke;
            stroke_deg = joint->n > 0 ? joint->turn_deg[joint->n - 1] : 0;
            base_deg = deg - stroke_deg;
        }
        if (deg - base_deg - stroke_deg >= begin_deg) {
            add_node(joint, &node, deg - base_deg, curve->width_deg / 2);
        }
    }
}

double bw_curve_seated_deg(const bw_joint_curve *joint) {
    double highest_Nm = 0;
    size_t first = 0;
    for (size_t i = 0; i < joint->n; i++) {
        highest_Nm = fmax(highest_Nm, joint->torque_Nm[i]);
    }
    while (joint->torque_Nm[first] < bw_curve_run_down_share * highest_Nm) {
        first++;
    }
    return joint->turn_deg[first];
}

/* Where the window that begins with node i ends; n or above where it does not fit any more. */
static size_t window_end(const bw_joint_curve *joint, size_t i, double width_deg) {
    size_t j = i + WINDOW_NODES - 1;
    while (j < joint->n && joint->turn_deg[j] - joint->turn_deg[i] < width_deg) {
        j++;
    }
    return j;
}

double bw_curve_slope(const bw_joint_curve *joint, size_t i, size_t j) {
    double n = (double)(j - i + 1);
    double mean_deg = 0;
    double mean_Nm = 0;
    double both = 0;
    double square = 0;
    for (size_t k = i; k <= j; k++) {
        mean_deg += joint->turn_deg[k] / n;
        mean_Nm += joint->torque_Nm[k] / n;
    }
    for (size_t k = i; k <= j; k++) {
        double off_deg = joint->turn_deg[k] - mean_deg;
        both += off_deg * (joint->torque_Nm[k] - mean_Nm);
        square += off_deg * off_deg;
    }
    return both / square; /* turns differ by a step at least */
}

/* Windows in the order of their beginnings; each is held against the steepest of those that were
 * over when it began. */
static bw_bend find_bend(const bw_joint_curve *joint, double width_deg, const bw_bend_rule *rule) {
    double steepest = rule->steepest;
    size_t over = 0; /* windows that begin before this one are over */
    for (size_t i = 0, end = 0; (end = window_end(joint, i, width_deg)) < joint->n; i++) {
        while (window_end(joint, over, width_deg) <= i) {
            steepest = fmax(steepest,
                            bw_curve_slope(joint, over, window_end(joint, over, width_deg)));
            over++;
        }
        bool there = joint->torque_Nm[i] >= rule->from_Nm && joint->torque_Nm[i] < rule->to_Nm;
        bool stretched = steepest >= rule->least_slope; /* which is above 0 */
        if (there && stretched && bw_curve_slope(joint, i, end) < rule->share * steepest) {
            size_t middle = i + (end - i) / 2;
            return (bw_bend){true, joint->time_s[middle], joint->torque_Nm[middle]};
        }
    }
    return (bw_bend){0};
}

bw_bend bw_curve_bend(const bw_curve *curve, double windup_deg_per_Nm, const bw_bend_rule *rule) {
    bw_joint_curve joint;
    bw_curve_joint(curve, windup_deg_per_Nm, &joint);
    if (joint.n < WINDOW_NODES || !(rule->reference_Nm > 0)) {
        return (bw_bend){0};
    }
    level_bumps(&joint);
    double whole_deg = joint.turn_deg[joint.n - 1] - bw_curve_seated_deg(&joint);
    double width_deg = rule->window_deg > 0 ? rule->window_deg
                                            : fmax(window_least_deg, window_share * whole_deg);
    bw_bend_rule own = *rule;
    own.least_slope = fmax(rule->least_slope, stretch_share * rule->reference_Nm / width_deg);
    return find_bend(&joint, width_deg, &own);
}

static double median_of_three(const double *value) {
    double least = fmin(value[0], fmin(value[1], value[2]));
    double most = fmax(value[0], fmax(value[1], value[2]));
    return value[0] + value[1] + value[2] - least - most;
}

/* Means of single pieces may hold a fastener that stuck and broke away again: of three in a row at
 * most one does. */
bw_bend bw_curve_fall(const bw_curve *curve, double windup_deg_per_Nm, double share,
                      double from_Nm) {
    bw_joint_curve joint;
    bw_curve_joint(curve, windup_deg_per_Nm, &joint);
    double highest_Nm = 0;
    double highest_s = 0;
    for (size_t i = 0, k = 0; k + WINDOW_NODES <= joint.n; k++) {
        if (joint.stroke[i] != joint.stroke[k + WINDOW_NODES - 1]) {
            i = k;
            highest_Nm = 0;
        }
        for (; i + WINDOW_NODES <= k && joint.turn_deg[k] - joint.turn_deg[i] >= fall_over_deg;
             i++) {
            double here_Nm = median_of_three(&joint.torque_Nm[i]);
            highest_s = here_Nm > highest_Nm ? joint.time_s[i] : highest_s;
            highest_Nm = fmax(highest_Nm, here_Nm);
        }
        if (highest_Nm >= from_Nm && median_of_three(&joint.torque_Nm[k]) < share * highest_Nm) {
            return (bw_bend){true, highest_s, highest_Nm};
        }
    }
    return (bw_bend){0};
}
