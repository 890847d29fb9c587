/* shape.c - what the curve and the run of a pull show beside its numbers, as far as it means
 * something for the kind of the stage; and when in the trace it shows. */
#include "judge/judge_int.h"

#include <math.h>

/* A stage that must stay elastic is suspect where its slope falls below half of its steepest: on
 * the way to a torque below yield the slope does not fall at all, and where a bolt yields it falls
 * to a tenth and less within a few degrees.  (The same half is the usual sign at which tightening
 * to yield stops; common practice, no source.) */
static const double elastic_share = 0.5;

/* Below this share of its torque a fastener still runs down or beds in; a bend there is something
 * in the way, a bend above it is the bolt. */
static const double seated_share = 0.5;

/* No good fastener gives back a fourteenth of its torque while it is turned on: beyond yield too it
 * rises, or stays (common practice, no source); noise and a lubricant that settles are below. */
static const double falling_share = 0.93;
static const double curve_thresholds = 4.0;

/* So far it must have run free in the trace before a rise can be called early. */
static const double run_down_deg = 30.0;

/* A crossed thread or a chip wedges: it rises as fast as if the whole torque were to come within a
 * turn, and then drags on.  A thread that forms itself takes many turns to rise. */
static const double wedged_within_deg = 360.0;
static const double wedging_deg = 30.0;

enum {
    GIVES_WAY = (int)BW_REASON_TORQUE_DROP | (int)BW_REASON_LOOSENED,
    GETS_STUCK = GIVES_WAY | (int)BW_REASON_EARLY_RISE,
    STRETCHES = GETS_STUCK | (int)BW_REASON_YIELDING
};

/* What would be trouble in a kind.  An angle may well go beyond yield.  Backed off, the torque
 * falls by itself, and turning on is what its own verdict looks for.  While a thread or a shaft
 * only runs, torque comes and goes, and neither way is the wrong one. */
static const uint32_t minded[BW_STAGE_KIND_COUNT] = {
    [BW_STAGE_TORQUE] = STRETCHES, [BW_STAGE_STRETCH] = STRETCHES,
    [BW_STAGE_SLOT] = STRETCHES,   [BW_STAGE_TORQUE_ANGLE] = GETS_STUCK,
    [BW_STAGE_YIELD] = GETS_STUCK, [BW_STAGE_ANGLE] = GIVES_WAY,
    [BW_STAGE_CHECK] = GIVES_WAY,
};

static bool minds(const bw_judge *judge, bw_reason reason) {
    return (minded[judge->stage.kind] & (uint32_t)reason) != 0;
}

/* Only a fastener that nothing has tightened yet can have been run down in this trace.  A locking
 * feature rises early by itself. */
static bw_bend early_rise(const bw_judge *judge) {
    const bw_curve *curve = &judge->curve;
    bool fresh = judge->standing.torque_Nm <= 0 && judge->standing.pulls == 0 &&
                 !judge->stage.adds_prevailing;
    if (!fresh || !minds(judge, BW_REASON_EARLY_RISE) || curve->free_deg < run_down_deg) {
        return (bw_bend){0};
    }
    bw_bend_rule rule = {.reference_Nm = curve->reference_Nm,
                         .window_deg = wedging_deg,
                         .share = elastic_share,
                         .least_slope = curve->reference_Nm / wedged_within_deg,
                         .from_Nm = 0,
                         .to_Nm = seated_share * curve->reference_Nm};
    return bw_curve_bend(curve, judge->stroke.seen_windup_deg_per_Nm, &rule);
}

static bw_bend yielding(const bw_judge *judge) {
    const bw_curve *curve = &judge->curve;
    if (!minds(judge, BW_REASON_YIELDING)) {
        return (bw_bend){0};
    }
    const bw_standing *standing = &judge->standing;
    double reference_Nm = curve->reference_Nm > 0 ? curve->reference_Nm : judge->peak_Nm;
    bw_bend_rule rule = {.reference_Nm = reference_Nm,
                         .share = elastic_share,
                         .steepest = fmax(standing->slope_Nm_per_deg, standing->joint_Nm_per_deg),
                         .from_Nm = seated_share * reference_Nm,
                         .to_Nm = INFINITY};
    return bw_curve_bend(curve, judge->stroke.seen_windup_deg_per_Nm, &rule);
}

/* Torque that falls slowly: a thread that strips bit by bit, or a bolt that necks. */
static bw_bend falling(const bw_judge *judge) {
    const bw_curve *curve = &judge->curve;
    double from_Nm = fmax(seated_share * curve->reference_Nm,
                          curve_thresholds * judge->threshold_Nm);
    return bw_curve_fall(curve, judge->stroke.seen_windup_deg_per_Nm, falling_share, from_Nm);
}

double bw_judge_stands_Nm(const bw_stage *stage, const bw_standing *standing) {
    return fmax(standing->torque_Nm, fmax(bw_judge_counted_from_Nm(stage), 0.0));
}

bool bw_judge_was_tight(const bw_judge *judge) {
    const bw_standing *standing = &judge->standing;
    double stands_Nm = bw_judge_stands_Nm(&judge->stage, standing);
    bool first = standing->pulls == 0;
    if (!bw_stage_traits_of(judge->stage.kind)->tightens || !first || stands_Nm <= 0) {
        return false;
    }
    bw_moved moved = bw_judge_moved(judge);
    return moved.found && moved.torque_Nm > bw_judge_stuck_share * stands_Nm;
}

uint32_t bw_judge_troubles(const bw_judge *judge) {
    uint32_t found = 0;
    if (early_rise(judge).found) {
        found |= (uint32_t)BW_REASON_EARLY_RISE;
    }
    if (yielding(judge).found) {
        found |= (uint32_t)BW_REASON_YIELDING;
    }
    if (judge->trouble.dropped || falling(judge).found) {
        found |= (uint32_t)BW_REASON_TORQUE_DROP;
    }
    if (judge->trouble.loosened) {
        found |= (uint32_t)BW_REASON_LOOSENED;
    }
    return found & minded[judge->stage.kind];
}

bw_yield bw_judge_onset(const bw_judge *judge) {
    const bw_curve *curve = &judge->curve;
    double windup_deg_per_Nm = judge->stroke.seen_windup_deg_per_Nm;
    bw_yield yield;
    bw_judge_begin_yield(judge, &yield);
    for (size_t i = 0; i < bw_curve_nodes(curve); i++) {
        bw_node node = bw_curve_node(curve, i);
        bw_yield_take(&yield, &node, windup_deg_per_Nm);
    }
    return yield;
}

/* Where the torque that broke it away was never passed again, no level shows the turn behind it. */
bw_moved bw_judge_moved(const bw_judge *judge) {
    bw_moved moved = bw_movement_first(&judge->movement, judge->stroke.seen_windup_deg_per_Nm);
    if (!moved.found && bw_movement_is(judge->stroke.turn_deg)) {
        moved = (bw_moved){true, judge->peak_s, judge->peak_Nm};
    }
    return moved;
}

/* ---- when ---- */

static bool seen_at(bool seen, double at_s, double *time_s) {
    *time_s = at_s;
    return seen;
}

/* What decided about a torque: for most kinds the peak. */
static double decided_s(const bw_judge *judge) {
    bw_yield onset = {0};
    bw_moved moved = {0};
    if (judge->stage.kind == BW_STAGE_YIELD) {
        onset = bw_judge_onset(judge);
    } else if (judge->stage.kind == BW_STAGE_CHECK) {
        moved = bw_judge_moved(judge);
    }
    return onset.found ? onset.time_s : moved.found ? moved.time_s : judge->peak_s;
}

static bool has_limit_for_good(const bw_stage *stage) {
    return !bw_stage_traits_of(stage->kind)->runs && stage->kind != BW_STAGE_YIELD;
}

bool bw_judge_when(const bw_judge *judge, bw_reason reason, double *time_s) {
    bw_bend bend = {0};
    switch (reason) {
    case BW_REASON_ABOVE_LIMIT:
        if (!has_limit_for_good(&judge->stage)) {
            return seen_at(judge->peak_Nm > 0, decided_s(judge), time_s);
        }
        return seen_at(judge->over_seen, judge->over_s, time_s);
    case BW_REASON_ANGLE_OVER:
        return seen_at(judge->over_seen, judge->over_s, time_s);
    case BW_REASON_BELOW_LIMIT:
    case BW_REASON_OUT_OF_RANGE:
    case BW_REASON_INSIDE_GUARD:
        return seen_at(judge->peak_Nm > 0, decided_s(judge), time_s);
    case BW_REASON_ANGLE_SHORT:
    case BW_REASON_NO_TURN:
        return seen_at(judge->peak_Nm > 0, judge->peak_s, time_s);
    case BW_REASON_SPIKE:
        return seen_at((judge->reasons & (uint32_t)reason) != 0, judge->spike_s, time_s);
    case BW_REASON_GAP:
        return seen_at((judge->reasons & (uint32_t)reason) != 0, judge->gap_s, time_s);
    case BW_REASON_EARLY_RISE:
    case BW_REASON_YIELDING:
        bend = reason == BW_REASON_YIELDING ? yielding(judge) : early_rise(judge);
        return seen_at(bend.found, bend.time_s, time_s);
    case BW_REASON_TORQUE_DROP:
        bend = falling(judge);
        return judge->trouble.dropped ? seen_at(true, judge->trouble.dropped_s, time_s)
                                      : seen_at(bend.found, bend.time_s, time_s);
    case BW_REASON_LOOSENED:
        return seen_at(judge->trouble.loosened, judge->trouble.loosened_s, time_s);
    default:
        break;
    }
    return false;
}
