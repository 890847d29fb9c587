/* judge.c - see judge.h: samples as they come.  What they amount to stands in verdict.c. */
#include "judge/judge_int.h"

#include <math.h>
#include <string.h>

/* Pulls begin and end at this share of the torque in hand: above the noise and zero error of a
 * wrench that suits the joint, below anything that moves a fastener that was tightened before. */
static const double threshold_share = 0.05;
static const double threshold_least_Nm = 0.3;

/* A stroke that fell to this share of its mark is over; noise at the mark does not end it. */
static const double stroke_over_share = 0.6;

/* No hand takes a wrench from nothing to the target within a twentieth of a second and back: a
 * single sample that rose and fell faster is a knock.  (A setting tool is tested with the last
 * fifth applied over 0.5 to 4 s; this is more than an order of magnitude above that.)  An angle may
 * go far beyond the torque that its stage is about: then the peak so far counts. */
static const double spike_targets_per_s = 20.0;

/* At a thousand samples a second that rate is within the noise; twice the threshold, a tenth of the
 * torque in hand, is ten times the noise of a wrench that suits the joint. */
static const double spike_thresholds = 2.0;

/* A fastener that breaks away falls by its friction at rest, up to 15 %, as fast as the wrench can
 * tell: that peak is the joint's, not a knock. */
static const double spike_share = 0.2;

/* Three periods of the slowest wrench that is judged by its trace (10 Hz). */
static const double gap_s = 0.3;

/* A release is watched from this share of the stroke's peak down: nothing turns there any more. */
static const double near_peak_share = 0.8;

/* The torque that the stage is about: what thresholds and rates are measured by. */
double bw_judge_reference_Nm(const bw_stage *stage, const bw_standing *standing) {
    switch (stage->kind) {
    case BW_STAGE_TORQUE:
    case BW_STAGE_SLOT:
        return stage->target_Nm;
    case BW_STAGE_TORQUE_ANGLE:
    case BW_STAGE_YIELD:
        return stage->snug_Nm;
    case BW_STAGE_STRETCH:
        return stage->target_Nm > 0 ? stage->target_Nm
                                    : fmax(standing->torque_Nm, standing->peak_Nm);
    case BW_STAGE_PREVAILING:
    case BW_STAGE_ROTATING:
    case BW_STAGE_CREEP: /* how tight the fastener is has nothing to do with it */
        return fmax(stage->low_Nm, 0);
    default:
        break;
    }
    return isfinite(stage->low_Nm) ? fmax(stage->low_Nm, standing->torque_Nm) : standing->torque_Nm;
}

double bw_judge_threshold_Nm(const bw_stage *stage, const bw_standing *standing) {
    return fmax(threshold_share * bw_judge_reference_Nm(stage, standing), threshold_least_Nm);
}

/* The highest torque that was on the fastener before this pull. */
static double stood_Nm(const bw_standing *standing) {
    return fmax(standing->torque_Nm, standing->peak_Nm);
}

void bw_judge_begin(bw_judge *judge, const bw_stage *stage, const bw_standing *standing,
                    const bw_terms *terms) {
    double reference_Nm = bw_judge_reference_Nm(stage, standing);
    memset(judge, 0, sizeof *judge);
    judge->stage = *stage;
    judge->standing = *standing;
    judge->terms = *terms;
    judge->threshold_Nm = bw_judge_threshold_Nm(stage, standing);
    bw_curve_begin(&judge->curve, judge->threshold_Nm, reference_Nm);
    bw_trouble_begin(&judge->trouble, judge->threshold_Nm, reference_Nm);
    bw_movement_begin(&judge->movement, judge->threshold_Nm, reference_Nm);
    bw_slack_begin(&judge->slack, judge->threshold_Nm, standing->peak_Nm);
    bw_judge_begin_yield(judge, &judge->yield);
    judge->running.seats = stage->kind == BW_STAGE_PREVAILING;
    bw_peaks_begin(&judge->peaks, stage->target_Nm > 0 ? stage->low_Nm : 0);
    judge->stroke.mark_Nm = judge->threshold_Nm;
    judge->stroke.snug_reached = standing->snug_reached;
    judge->has_angle = true;
}

void bw_judge_begin_yield(const bw_judge *judge, bw_yield *yield) {
    bw_yield_begin(yield, judge->stage.slope_share, judge->stage.snug_Nm,
                   stood_Nm(&judge->standing), judge->standing.slope_Nm_per_deg);
}

bool bw_judge_counts_angle(const bw_stage *stage) {
    return bw_stage_traits_of(stage->kind)->limits_turn || stage->kind == BW_STAGE_SLOT ||
           stage->kind == BW_STAGE_CHECK;
}

double bw_judge_counted_from_Nm(const bw_stage *stage) {
    switch (stage->kind) {
    case BW_STAGE_TORQUE_ANGLE:
    case BW_STAGE_YIELD:
        return stage->snug_Nm;
    case BW_STAGE_SLOT:
        return stage->target_Nm;
    default:
        break;
    }
    return -INFINITY;
}

/* ---- strokes ---- */

bool bw_judge_counts_yet(const bw_stage *stage, bool snug_reached) {
    return snug_reached || isinf(bw_judge_counted_from_Nm(stage));
}

/* A mean that was complete decided something: the next pull begins a new one.  A turn that was lost
 * can simply be turned again. */
double bw_judge_turn_before_deg(const bw_stage *stage, const bw_standing *standing) {
    bool runs = bw_stage_traits_of(stage->kind)->runs;
    bool afresh = runs && (!standing->turn_known ||
                           !bw_judge_under(standing->turn_deg, stage->least_turn_deg));
    return afresh ? 0.0 : standing->turn_deg;
}

bool bw_judge_mean_Nm(const bw_judge *judge, double *mean_Nm) {
    const bw_standing *standing = &judge->standing;
    double before_deg = standing->judged_Nm > 0
                            ? fmax(bw_judge_turn_before_deg(&judge->stage, standing), 0.0)
                            : 0.0;
    return bw_running_mean(&judge->running, standing->judged_Nm, before_deg, mean_Nm);
}

/* Between two samples of different torque. */
static double crossing_deg(const bw_sample *a, const bw_sample *b, double torque_Nm) {
    double share = (torque_Nm - a->torque_Nm) / (b->torque_Nm - a->torque_Nm);
    return a->angle_deg + share * (b->angle_deg - a->angle_deg);
}

static void begin_stroke(bw_stroke *stroke, double start_deg) {
    stroke->loaded = true;
    stroke->start_deg = start_deg;
    stroke->end_deg = start_deg;
}

double bw_judge_windup_deg_per_Nm(const bw_judge *judge) {
    return judge->has_angle ? judge->stroke.seen_windup_deg_per_Nm : 0.0;
}

double bw_judge_peaks_apart_s(const bw_judge *judge) {
    return bw_peaks_apart_s(&judge->peaks);
}

/* A release tells the wind-up where it eased by more than least_Nm. */
static void see_windup(bw_stroke *stroke, double least_Nm) {
    double eased_Nm = stroke->fall_Nm - stroke->mark_Nm;
    double back_deg = stroke->fall_deg - stroke->end_deg;
    if (eased_Nm > least_Nm && back_deg >= 0) {
        stroke->seen_windup_deg_per_Nm = back_deg / eased_Nm;
    }
}

/* Yield is all about a slope: there a smaller release must do, from far above the snug torque. */
static void end_stroke(bw_judge *judge) {
    bw_stroke *stroke = &judge->stroke;
    bool yields = judge->stage.kind == BW_STAGE_YIELD;
    see_windup(stroke, yields ? judge->threshold_Nm : stroke->mark_Nm);
    stroke->peak_Nm = 0;
    stroke->turn_deg += stroke->end_deg - stroke->start_deg;
    stroke->loaded = false;
    stroke->mark_Nm = judge->threshold_Nm;
}

/* The stage's angle begins at the snug torque: what the stroke turned before does not count, and
 * the stroke's turn ends where it falls through the snug torque again. */
static void pass_snug(bw_judge *judge, const bw_sample *before, const bw_sample *now) {
    bw_stroke *stroke = &judge->stroke;
    stroke->snug_reached = true;
    double from_deg = stroke->start_deg - stroke->turn_deg;
    stroke->mark_Nm = bw_judge_counted_from_Nm(&judge->stage);
    stroke->turn_deg = 0;
    begin_stroke(stroke, crossing_deg(before, now, stroke->mark_Nm));
    stroke->below_deg = stroke->start_deg - from_deg;
}

static bool rises_through(double mark_Nm, const bw_sample *before, const bw_sample *now) {
    return before->torque_Nm < mark_Nm && now->torque_Nm >= mark_Nm;
}

static void follow_stroke(bw_judge *judge, const bw_sample *before, const bw_sample *now) {
    bw_stroke *stroke = &judge->stroke;
    if (!stroke->loaded && rises_through(stroke->mark_Nm, before, now)) {
        begin_stroke(stroke, crossing_deg(before, now, stroke->mark_Nm));
    }
    if (!bw_judge_counts_yet(&judge->stage, stroke->snug_reached) &&
        rises_through(bw_judge_counted_from_Nm(&judge->stage), before, now)) {
        pass_snug(judge, before, now);
    }
    if (!stroke->loaded) {
        return;
    }
    stroke->peak_Nm = fmax(stroke->peak_Nm, now->torque_Nm);
    if (now->torque_Nm >= near_peak_share * stroke->peak_Nm) {
        stroke->fall_Nm = now->torque_Nm;
        stroke->fall_deg = now->angle_deg;
    }
    if (before->torque_Nm >= stroke->mark_Nm && now->torque_Nm < stroke->mark_Nm) {
        stroke->end_deg = crossing_deg(before, now, stroke->mark_Nm);
    } else if (judge->stage.kind == BW_STAGE_BACK_OFF && now->torque_Nm < stroke->mark_Nm) {
        /* Backed off, the torque goes while it still turns; so little of it winds nothing up. */
        stroke->end_deg = fmax(stroke->end_deg, now->angle_deg);
    }
    if (now->torque_Nm < stroke_over_share * judge->threshold_Nm) {
        end_stroke(judge);
    }
}

/* Whether a trace that begins with this sample lacks something that matters: a torque that was
 * there already may have been higher, and how far it had turned by then nobody knows.  Below the
 * torque that it stands at nothing turns. */
static bool begins_too_late(const bw_judge *judge, const bw_sample *first) {
    const bw_stage *stage = &judge->stage;
    switch (stage->kind) {
    case BW_STAGE_TORQUE:
    case BW_STAGE_SLOT:
        return first->torque_Nm >= stood_Nm(&judge->standing);
    case BW_STAGE_TORQUE_ANGLE:
        return judge->stroke.snug_reached || first->torque_Nm >= stage->snug_Nm;
    default:
        break;
    }
    return true;
}

static void note_gap(bw_judge *judge, double time_s) {
    if ((judge->reasons & (uint32_t)BW_REASON_GAP) == 0) {
        judge->gap_s = time_s;
    }
    judge->reasons |= BW_REASON_GAP;
}

static void begin_trace(bw_judge *judge, const bw_sample *first) {
    if (first->torque_Nm < judge->stroke.mark_Nm) {
        return;
    }
    begin_stroke(&judge->stroke, first->angle_deg);
    if (begins_too_late(judge, first)) {
        note_gap(judge, first->time_s);
    }
}

/* ---- samples ---- */

/* Whether b, between a and c, is a knock, or a sample that fell out.  Without a torque that the
 * stage is about, or time between the samples, no rate is beyond a hand: then everything counts. */
static bool is_spike(const bw_judge *judge, const bw_sample *a, const bw_sample *b,
                     const bw_sample *c) {
    double reference_Nm = bw_judge_reference_Nm(&judge->stage, &judge->standing);
    double rate = spike_targets_per_s * fmax(reference_Nm, judge->peak_Nm);
    double least_Nm = spike_thresholds * judge->threshold_Nm;
    double friction_Nm = spike_share * c->torque_Nm;
    double there_s = b->time_s - a->time_s;
    double back_s = c->time_s - b->time_s;
    double there_Nm = b->torque_Nm - a->torque_Nm;
    double back_Nm = b->torque_Nm - c->torque_Nm;
    bool knock = there_Nm > fmax(rate * there_s, least_Nm) &&
                 back_Nm > fmax(rate * back_s, fmax(least_Nm, friction_Nm));
    bool hole = -there_Nm > fmax(rate * there_s, least_Nm) &&
                -back_Nm > fmax(rate * back_s, least_Nm);
    return reference_Nm > 0 && there_s > 0 && back_s > 0 && (knock || hole);
}

/* As if the newest sample had never come. */
static void leave_out_newest(bw_judge *judge) {
    if ((judge->reasons & (uint32_t)BW_REASON_SPIKE) == 0) {
        judge->spike_s = judge->last[1].time_s;
    }
    judge->reasons |= BW_REASON_SPIKE;
    judge->stroke = judge->stroke_before;
    judge->last[1] = judge->last[0];
    judge->samples--;
}

static void settle_curve(bw_judge *judge, size_t closed_before) {
    const bw_curve *curve = &judge->curve;
    double seen = judge->stroke.seen_windup_deg_per_Nm;
    if (curve->closed > closed_before) {
        bw_yield_take(&judge->yield, &curve->node[curve->n - 1],
                      seen > 0 ? seen : judge->terms.windup_deg_per_Nm);
    }
}

/* What one kind alone asks for.  The stroke stands where this sample left it. */
static void settle_kind(bw_judge *judge, const bw_sample *sample) {
    const bw_stroke *stroke = &judge->stroke;
    double travel_deg = sample->angle_deg - stroke->start_deg;
    if (bw_stage_traits_of(judge->stage.kind)->runs) {
        bw_running_take(&judge->running, stroke->loaded, travel_deg, sample->torque_Nm);
    } else if (judge->stage.kind == BW_STAGE_BACK_OFF) {
        bw_slack_take(&judge->slack, sample);
    } else if (stroke->loaded) {
        bw_movement_take(&judge->movement, sample->time_s,
                         stroke->below_deg + stroke->turn_deg + travel_deg, sample->torque_Nm);
    }
}

/* A sample that will stay: the one behind it has come. */
static void settle(bw_judge *judge, const bw_sample *sample) {
    if (sample->torque_Nm > judge->peak_Nm) {
        judge->peak_Nm = sample->torque_Nm;
        judge->peak_s = sample->time_s;
    }
    if (judge->stroke.over && !judge->over_seen) {
        judge->over_seen = true;
        judge->over_s = sample->time_s;
    }
    size_t closed = judge->curve.closed;
    bw_curve_take(&judge->curve, sample);
    bw_peaks_take(&judge->peaks, sample);
    bw_trouble_take(&judge->trouble, sample);
    if (judge->stage.kind == BW_STAGE_YIELD) {
        settle_curve(judge, closed);
    }
    settle_kind(judge, sample);
}

static void follow(bw_judge *judge, const bw_sample *sample) {
    if (judge->samples >= 2 && is_spike(judge, &judge->last[0], &judge->last[1], sample)) {
        leave_out_newest(judge);
    } else {
        settle(judge, &judge->last[1]);
    }
    const bw_sample *before = &judge->last[1];
    judge->stroke_before = judge->stroke;
    bool loaded = judge->stroke.loaded || sample->torque_Nm >= judge->stroke.mark_Nm;
    if (loaded && sample->time_s - before->time_s > gap_s) {
        note_gap(judge, before->time_s);
    }
    follow_stroke(judge, before, sample);
}

static bool usable(const bw_judge *judge, const bw_sample *sample) {
    return bw_judge_believable(sample->time_s) && bw_judge_believable(sample->torque_Nm) &&
           (!sample->has_angle || bw_judge_believable(sample->angle_deg)) &&
           (judge->samples == 0 || sample->time_s >= judge->last[1].time_s);
}

/* Backing off is seen in a mirror.  No torque stays 0 without a sign. */
static bw_sample faced(const bw_judge *judge, const bw_sample *sample) {
    bw_sample own = *sample;
    if (judge->stage.kind == BW_STAGE_BACK_OFF) {
        own.torque_Nm = 0.0 - sample->torque_Nm;
        own.angle_deg = -sample->angle_deg;
    }
    return own;
}

/* A wrench that gives angles may leave one out: within a gap's time the handle is where it was. */
static bw_sample bridged(bw_judge *judge, const bw_sample *sample) {
    bw_sample own = *sample;
    if (own.has_angle) {
        judge->angle_s = own.time_s;
    } else if (judge->samples > 0 && judge->has_angle) {
        own.has_angle = true;
        own.angle_deg = judge->last[1].angle_deg;
        if (own.time_s - judge->angle_s > gap_s) {
            note_gap(judge, judge->angle_s);
        }
    }
    return own;
}

bw_live bw_judge_sample(bw_judge *judge, const bw_sample *given) {
    bw_sample own = faced(judge, given);
    const bw_sample *sample = &own;
    if (!usable(judge, sample)) {
        note_gap(judge, judge->last[1].time_s);
        return judge->live;
    }
    own = bridged(judge, &own);
    if (judge->samples > 0) {
        follow(judge, sample);
    } else {
        begin_trace(judge, sample);
    }
    judge->has_angle = judge->has_angle && sample->has_angle;
    bw_judge_update_live(judge, sample);
    judge->last[0] = judge->last[1];
    judge->last[1] = *sample;
    judge->samples++;
    return judge->live;
}
