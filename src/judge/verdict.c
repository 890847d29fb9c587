/* verdict.c - see judge.h: what the samples amount to.
 *
 * Comparison.  Limits are inclusive and are compared on values rounded to a millionth (N.m,
 * degree): far below what any wrench resolves, far above what a conversion between units can move.
 */
#include "judge/judge_int.h"

#include "base/decimal.h"

#include <math.h>

/* A fastener that stands at a torque moves again once its friction at rest is passed: 2 to 15 %
 * above.  Twice that without a tenth of the turn is no longer friction. */
static const double stuck_share = 1.3;
static const double stuck_turn_share = 0.1;

/* Beyond any second, torque or angle; sums and products of such numbers stay finite. */
static const double most_believable = 1e12;

/* A stage that must stay elastic is suspect where its slope falls below half of its steepest: on
 * the way to a torque below yield the slope does not fall at all, and where a bolt yields it falls
 * to a tenth and less within a few degrees.  (The same half is the usual sign at which tightening
 * to yield stops; common practice, no source.) */
static const double elastic_share = 0.5;

/* Below this share of its torque a fastener still runs down or beds in; a bend there is something
 * in the way, a bend above it is the bolt. */
static const double seated_share = 0.5;

/* So far it must have run free in the trace before a rise can be called early. */
static const double run_down_deg = 30.0;

/* A crossed thread or a chip wedges: it rises as fast as if the whole torque were to come within a
 * turn, and then drags on.  A thread that forms itself takes many turns to rise. */
static const double wedged_within_deg = 360.0;
static const double wedging_deg = 30.0;

enum { COMPARE_DECIMALS = 6 };

static double rounded(double value) {
    return isfinite(value) ? bw_round_decimals(value, COMPARE_DECIMALS) : value;
}

bool bw_judge_under(double value, double limit) {
    return rounded(value) < rounded(limit);
}

bool bw_judge_beyond(double value, double limit) {
    return rounded(value) > rounded(limit);
}

bool bw_judge_believable(double value) {
    return fabs(value) <= most_believable; /* false for what is not a number */
}

/* What torque and turn amount to, apart from what was not seen. */
typedef struct facts {
    double pull_peak_Nm;
    double peak_Nm;  /* of the attempt */
    double turn_deg; /* of the attempt */
    bool turn_known;
} facts;

static void add(bw_verdict *verdict, bw_outcome outcome, bw_reason reason, bool more) {
    verdict->outcome = outcome;
    verdict->reasons |= (uint32_t)reason;
    verdict->more = more;
}

static void judge_torque(const bw_stage *stage, const facts *f, bw_verdict *verdict) {
    if (bw_judge_beyond(f->peak_Nm, stage->high_Nm)) {
        add(verdict, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
    } else if (bw_judge_under(f->pull_peak_Nm, stage->low_Nm)) {
        add(verdict, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, true);
    } else if (f->turn_known && bw_judge_under(f->turn_deg, stage->least_turn_deg)) {
        add(verdict, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
    }
}

static bool stuck(const bw_stage *stage, const bw_standing *standing, const facts *f) {
    double stood_Nm = stage->kind == BW_STAGE_TORQUE_ANGLE ? stage->snug_Nm : standing->torque_Nm;
    return stood_Nm > 0 && f->peak_Nm > stuck_share * stood_Nm &&
           f->turn_deg < stuck_turn_share * stage->low_deg;
}

static void judge_angle(const bw_stage *stage, const bw_standing *standing, const facts *f,
                        bw_verdict *verdict) {
    if (bw_judge_beyond(f->peak_Nm, stage->high_Nm)) {
        add(verdict, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
    }
    if (!f->turn_known) {
        if (verdict->outcome == BW_VERDICT_PASS) {
            verdict->outcome = BW_VERDICT_SUSPECT;
        }
        return;
    }
    if (bw_judge_beyond(f->turn_deg, stage->high_deg)) {
        add(verdict, BW_VERDICT_HIGH, BW_REASON_ANGLE_OVER, false);
    }
    if (verdict->outcome == BW_VERDICT_HIGH) {
        return;
    }
    if (stuck(stage, standing, f)) {
        add(verdict, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
    } else if (bw_judge_under(f->turn_deg, stage->low_deg)) {
        add(verdict, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    } else if (bw_judge_under(f->peak_Nm, stage->low_Nm)) {
        add(verdict, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, false);
    }
}

/* A torque can simply be pulled again; a turn that nobody saw can't be known any more. */
static void judge_unseen(const bw_stage *stage, bw_verdict *verdict) {
    if (verdict->outcome == BW_VERDICT_PASS) {
        add(verdict, BW_VERDICT_SUSPECT, BW_REASON_GAP, !bw_judge_counts_angle(stage));
    }
}

/* What a trace shows beside its numbers: the number may be right, and the joint wrong.  Pulling
 * again would make it worse; only what is too high already outranks it. */
static const uint32_t troubles = (uint32_t)BW_REASON_EARLY_RISE | (uint32_t)BW_REASON_YIELDING |
                                 (uint32_t)BW_REASON_TORQUE_DROP | (uint32_t)BW_REASON_LOOSENED;

static void judge_trouble(bw_verdict *verdict) {
    if (verdict->outcome != BW_VERDICT_HIGH) {
        verdict->outcome = BW_VERDICT_SUSPECT;
        verdict->more = false;
    }
}

static bw_verdict judge_facts(const bw_stage *stage, const bw_standing *standing, const facts *f,
                              bw_verdict so_far) {
    bw_verdict verdict = so_far;
    verdict.outcome = BW_VERDICT_PASS;
    verdict.peak_Nm = f->peak_Nm;
    verdict.pull_peak_Nm = f->pull_peak_Nm;
    verdict.has_turn = f->turn_known;
    verdict.turn_deg = f->turn_known ? f->turn_deg : 0.0;
    verdict.pulls = standing->pulls + 1;
    if (stage->kind == BW_STAGE_TORQUE) {
        judge_torque(stage, f, &verdict);
    } else {
        judge_angle(stage, standing, f, &verdict);
    }
    if ((verdict.reasons & (uint32_t)BW_REASON_GAP) != 0) {
        judge_unseen(stage, &verdict);
    }
    if ((verdict.reasons & troubles) != 0) {
        judge_trouble(&verdict);
    }
    return verdict;
}

static bool turn_was_known(const bw_standing *standing) {
    return standing->turn_known || standing->pulls == 0;
}

/* What needs an angle that is not there; and a turn of which an earlier pull lost a part. */
static uint32_t turn_reasons(const bw_stage *stage, const bw_standing *standing, bool has_angle) {
    bool needs_angle = bw_judge_counts_angle(stage) || stage->least_turn_deg > 0;
    bool lost = bw_judge_counts_angle(stage) && !turn_was_known(standing);
    return (uint32_t)(needs_angle && !has_angle ? BW_REASON_NO_TRACE : 0) |
           (uint32_t)(lost ? BW_REASON_GAP : 0);
}

/* Only a fastener that nothing has tightened yet can have been run down in this trace. */
static bw_bend early_rise(const bw_judge *judge) {
    const bw_curve *curve = &judge->curve;
    bool fresh = judge->standing.torque_Nm <= 0 && judge->standing.pulls == 0;
    if (!fresh || judge->stage.kind == BW_STAGE_ANGLE || curve->free_deg < run_down_deg) {
        return (bw_bend){0};
    }
    bw_bend_rule rule = {.window_deg = wedging_deg,
                         .share = elastic_share,
                         .least_slope = curve->reference_Nm / wedged_within_deg,
                         .from_Nm = 0,
                         .to_Nm = seated_share * curve->reference_Nm};
    return bw_curve_bend(curve, judge->stroke.seen_windup_deg_per_Nm, &rule);
}

/* An angle stage may well go beyond yield. */
static bw_bend yielding(const bw_judge *judge) {
    const bw_curve *curve = &judge->curve;
    if (judge->stage.kind != BW_STAGE_TORQUE) {
        return (bw_bend){0};
    }
    bw_bend_rule rule = {
        .share = elastic_share, .from_Nm = seated_share * curve->reference_Nm, .to_Nm = INFINITY};
    return bw_curve_bend(curve, judge->stroke.seen_windup_deg_per_Nm, &rule);
}

static uint32_t trouble_reasons(const bw_judge *judge) {
    return (uint32_t)(early_rise(judge).found ? BW_REASON_EARLY_RISE : 0) |
           (uint32_t)(yielding(judge).found ? BW_REASON_YIELDING : 0) |
           (uint32_t)(judge->trouble.dropped ? BW_REASON_TORQUE_DROP : 0) |
           (uint32_t)(judge->trouble.loosened ? BW_REASON_LOOSENED : 0);
}

/* Turn of this pull: a stroke that was still loaded when the trace ended is not counted, since
 * wind-up and turn can't be told apart in it. */
bw_verdict bw_judge_end(const bw_judge *judge, bool complete) {
    const bw_stage *stage = &judge->stage;
    const bw_standing *standing = &judge->standing;
    const bw_stroke *stroke = &judge->stroke;
    double newest_Nm = judge->samples > 0 ? judge->last[1].torque_Nm : 0.0;
    bool loaded = stroke->loaded || judge->trouble.backward;
    bool whole = complete && !loaded && judge->samples > 0;
    bw_verdict so_far = {.reasons = judge->reasons | trouble_reasons(judge) |
                                    turn_reasons(stage, standing, judge->has_angle) |
                                    (uint32_t)(whole ? 0 : BW_REASON_GAP),
                         .pull_turn_deg = judge->has_angle ? stroke->turn_deg : 0.0,
                         .snug_reached = stroke->snug_reached};
    bool unseen = (so_far.reasons & (uint32_t)BW_REASON_GAP) != 0;
    facts f = {.pull_peak_Nm = fmax(judge->peak_Nm, newest_Nm),
               .turn_deg = standing->turn_deg,
               .turn_known = judge->has_angle && turn_was_known(standing) && !unseen};
    f.peak_Nm = fmax(standing->peak_Nm, f.pull_peak_Nm);
    f.turn_deg += bw_judge_counts_yet(stage, stroke->snug_reached) ? stroke->turn_deg : 0.0;
    return judge_facts(stage, standing, &f, so_far);
}

bw_verdict bw_judge_result(const bw_stage *stage, const bw_standing *standing,
                           const bw_terms *terms, double peak_Nm, bool has_turn, double turn_deg) {
    (void)terms;
    bool peak_seen = bw_judge_believable(peak_Nm);
    bool turn_seen = has_turn && bw_judge_believable(turn_deg);
    bool snug_reached = standing->snug_reached ||
                        (stage->kind == BW_STAGE_TORQUE_ANGLE && peak_seen &&
                         !bw_judge_under(peak_Nm, stage->snug_Nm));
    bw_verdict so_far = {.reasons = (uint32_t)BW_REASON_NO_TRACE |
                                    turn_reasons(stage, standing, turn_seen) |
                                    (uint32_t)(peak_seen ? 0 : BW_REASON_GAP),
                         .pull_turn_deg = turn_seen ? turn_deg : 0.0,
                         .snug_reached = snug_reached};
    facts f = {.pull_peak_Nm = peak_seen ? peak_Nm : 0.0,
               .turn_deg = standing->turn_deg,
               .turn_known = turn_seen && turn_was_known(standing)};
    f.peak_Nm = fmax(standing->peak_Nm, f.pull_peak_Nm);
    f.turn_deg += turn_seen && bw_judge_counts_yet(stage, snug_reached) ? turn_deg : 0.0;
    return judge_facts(stage, standing, &f, so_far);
}

static bool seen_at(bool seen, double at_s, double *time_s) {
    *time_s = at_s;
    return seen;
}

bool bw_judge_when(const bw_judge *judge, bw_reason reason, double *time_s) {
    bw_bend bend = {0};
    switch (reason) {
    case BW_REASON_ABOVE_LIMIT:
    case BW_REASON_ANGLE_OVER:
        return seen_at(judge->over_seen, judge->over_s, time_s);
    case BW_REASON_BELOW_LIMIT:
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
        return seen_at(judge->trouble.dropped, judge->trouble.dropped_s, time_s);
    case BW_REASON_LOOSENED:
        return seen_at(judge->trouble.loosened, judge->trouble.loosened_s, time_s);
    default:
        break;
    }
    return false;
}

bw_verdict bw_judge_seen(const bw_stage *stage, const bw_verdict *pull, const bw_seen *seen) {
    (void)stage;
    (void)seen;
    return *pull;
}
