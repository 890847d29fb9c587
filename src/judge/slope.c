/* slope.c - see slope.h.
 *
 * Which slope.  An angle stage may end far beyond yield, and how far depends on friction; a soft
 * start is as long as the parts are rough.  What is the joint's own is the straight part between
 * them, and it is the steepest.  So slopes are taken over short windows, and the median of those
 * near the steepest is the joint's.  Windows lie within one stroke: where a stroke ends, the turn
 * is known to a piece of the curve only. */
#include "judge/slope.h"

#include "judge/judge_int.h"

#include <math.h>
#include <stdlib.h>

/* A twelfth of the whole turn, so that the straight part of one far beyond yield holds a few; four
 * degrees at least, for noise, or a quarter of a short turn; but two fit into a stroke. */
static const double window_share = 1.0 / 12.0;
static const double window_least_deg = 4.0;
static const double short_share = 0.25;
static const double stroke_share = 0.5;
static const double piece_deg = 1.0; /* the curve's own pieces, as in curve.c */

/* A straight line's windows differ by noise, a tenth at most; a soft start is at three quarters of
 * its end's slope for its last quarter only. */
static const double near_steepest = 0.75;

/* What raises the torque by less than this in a window is friction of a thread that runs down. */
static const double stretch_share = 0.05;

/* Torque wrench, torque set by trials on the joint: F_max / F_min is up to 1.6 (VDI 2230,
 * tightening factor, as seen in open copies of its table; row torque_by_trials in trade/scatter.c).
 * That much is granted to sound fasteners of one lot.  At one torque the slope goes as 1/F, so
 * their slopes lie within the root of it to either side of the middle.  Friction of a dry thread is
 * 0.19 where that of an oiled one is 0.12 (middles of VDI 2230's classes): its slope is half as
 * high again. */
static const double lot_alpha = 1.6;

/* A rise that is too short for a window still says how steep it was at least: over so little turn,
 * with the friction at rest that may be in it (2 to 15 % above that of turning), and the degree
 * that is missed of a turn at most. */
static const double steep_within_deg = 10.0;
static const double rest_most = 1.15;
static const double missed_deg = 1.0;

/* Where a lot scatters more, it is judged by its own scatter: three standard deviations, which for
 * normal values is 1.4826 times the MAD. */
static const double deviations = 3.0;
static const double mad_to_s = 1.4826;

/* ---- the slope ---- */

static double window_deg(const bw_joint_curve *joint) {
    double whole_deg = joint->turn_deg[joint->n - 1] - bw_curve_seated_deg(joint);
    double longest_deg = 0;
    double from_deg = joint->turn_deg[0];
    for (size_t i = 1; i < joint->n; i++) {
        from_deg = joint->stroke[i] == joint->stroke[i - 1] ? from_deg : joint->turn_deg[i];
        longest_deg = fmax(longest_deg, joint->turn_deg[i] - from_deg);
    }
    double least_deg = fmax(piece_deg, fmin(window_least_deg, short_share * whole_deg));
    return fmax(least_deg, fmin(window_share * whole_deg, stroke_share * longest_deg));
}

/* The last node of the window that begins with node i; false where its stroke is too short. */
static bool window_end(const bw_joint_curve *joint, size_t i, double width_deg, size_t *end) {
    size_t j = i + 1;
    while (j < joint->n && joint->turn_deg[j] - joint->turn_deg[i] < width_deg) {
        j++;
    }
    *end = j;
    return j < joint->n && joint->stroke[j] == joint->stroke[i];
}

static int by_size(const void *a, const void *b) {
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Median of the n >= 1 values near the highest. */
static double median_near_highest(double *value, size_t n) {
    qsort(value, n, sizeof *value, by_size);
    size_t first = 0;
    while (value[first] < near_steepest * value[n - 1]) {
        first++;
    }
    size_t middle = first + (n - first) / 2;
    return (n - first) % 2 == 1 ? value[middle] : (value[middle - 1] + value[middle]) / 2;
}

double bw_slope_of(const bw_curve *curve, double windup_deg_per_Nm) {
    bw_joint_curve joint;
    double slope[BW_CURVE_NODES];
    size_t n = 0;
    bw_curve_joint(curve, windup_deg_per_Nm, &joint);
    if (joint.n == 0) {
        return 0;
    }
    double width_deg = window_deg(&joint);
    for (size_t i = 0; i < joint.n; i++) {
        size_t end = 0;
        if (window_end(&joint, i, width_deg, &end)) {
            slope[n++] = bw_curve_slope(&joint, i, end);
        }
    }
    if (n == 0) {
        return 0;
    }
    double found = median_near_highest(slope, n);
    return found * width_deg >= stretch_share * curve->reference_Nm ? found : 0;
}

/* ---- beside the others ---- */

uint32_t bw_slope_reason(double slope_Nm_per_deg, const bw_siblings *siblings) {
    double median = siblings->median_Nm_per_deg;
    if (siblings->n < BW_SIBLINGS_LEAST || !(median > 0) || !(slope_Nm_per_deg > 0)) {
        return 0;
    }
    double own = 1 + deviations * mad_to_s * siblings->mad_Nm_per_deg / median;
    double apart = fmax(sqrt(lot_alpha), own);
    if (slope_Nm_per_deg > median * apart) {
        return BW_REASON_STEEP;
    }
    return slope_Nm_per_deg < median / apart ? BW_REASON_SHALLOW : 0;
}

/* A pull that goes on from another one, in a stage that may yield, may show nothing but yield. */
static bool shows_slope(const bw_judge *judge) {
    const bw_stage_traits *traits = bw_stage_traits_of(judge->stage.kind);
    bool elastic = !traits->limits_turn || judge->standing.pulls == 0 ||
                   judge->standing.slope_Nm_per_deg > 0;
    return traits->tightens && judge->has_angle && elastic;
}

/* The one before the first stands where the run down ended. */
static bw_node node_before(const bw_curve *curve, size_t i) {
    if (i == 0) {
        return (bw_node){.angle_deg = curve->least_deg + curve->free_deg, .stroke = 1};
    }
    return bw_curve_node(curve, i - 1);
}

/* From the node before i on, within its stroke.  It does not move below what it stood at. */
static double rises_at_least(const bw_curve *curve, size_t i, double windup_deg_per_Nm,
                             double stood_Nm) {
    bw_node from = node_before(curve, i);
    double most = 0;
    for (size_t j = i; j < bw_curve_nodes(curve); j++) {
        bw_node to = bw_curve_node(curve, j);
        double turned_deg = to.angle_deg - from.angle_deg -
                            windup_deg_per_Nm * (to.torque_Nm - from.torque_Nm);
        if (to.stroke != from.stroke || turned_deg > steep_within_deg) {
            break;
        }
        double rise_Nm = to.torque_Nm / rest_most - fmax(from.torque_Nm, stood_Nm);
        most = fmax(most, rise_Nm / (fmax(turned_deg, 0) + missed_deg));
    }
    return most;
}

double bw_slope_at_least(const bw_curve *curve, double windup_deg_per_Nm, double stood_Nm) {
    double most = 0;
    double most_Nm = 0;
    for (size_t i = 0; i < bw_curve_nodes(curve); i++) {
        most_Nm = fmax(most_Nm, bw_curve_node(curve, i).torque_Nm);
    }
    double highest_Nm = fmax(stood_Nm, bw_curve_run_down_share * most_Nm);
    uint32_t stroke = 0;
    for (size_t i = 0; i < bw_curve_nodes(curve); i++) {
        bw_node node = node_before(curve, i);
        if (node.stroke != stroke) {
            stroke = node.stroke;
            stood_Nm = highest_Nm;
        }
        most = fmax(most, rises_at_least(curve, i, windup_deg_per_Nm, stood_Nm));
        highest_Nm = fmax(highest_Nm, node.torque_Nm);
    }
    return most;
}

void bw_slope_judge(const bw_judge *judge, bw_verdict *verdict) {
    if (!shows_slope(judge)) {
        return;
    }
    const bw_standing *standing = &judge->standing;
    const bw_siblings *siblings = &standing->siblings;
    double windup_deg_per_Nm = bw_judge_windup_deg_per_Nm(judge);
    double slope = fmax(standing->slope_Nm_per_deg, bw_slope_of(&judge->curve, windup_deg_per_Nm));
    uint32_t reason = bw_slope_reason(slope, siblings);
    if (reason == 0 && verdict->has_turn) { /* else an unseen pull may have left it tight already */
        double stood_Nm = fmax(standing->torque_Nm, standing->peak_Nm);
        double least = bw_slope_at_least(&judge->curve, windup_deg_per_Nm, stood_Nm);
        reason = bw_slope_reason(least, siblings) & (uint32_t)BW_REASON_STEEP;
        slope = reason != 0 ? least : slope;
    }
    verdict->slope_Nm_per_deg = slope;
    if (verdict->outcome == BW_VERDICT_PASS && reason != 0) {
        verdict->outcome = BW_VERDICT_SUSPECT;
        verdict->reasons |= reason;
        verdict->more = false;
    }
}
