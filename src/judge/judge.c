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

/* Near: the last tenth of the way. */
static const double near_share = 0.9;

/* The torque that the stage is about: what thresholds and rates are measured by. */
double bw_judge_reference_Nm(const bw_stage *stage, const bw_standing *standing) {
    switch (stage->kind) {
    case BW_STAGE_TORQUE:
        return stage->target_Nm;
    case BW_STAGE_TORQUE_ANGLE:
        return stage->snug_Nm;
    default:
        break;
    }
    return isfinite(stage->low_Nm) ? fmax(stage->low_Nm, standing->torque_Nm) : standing->torque_Nm;
}

double bw_judge_threshold_Nm(const bw_stage *stage, const bw_standing *standing) {
    return fmax(threshold_share * bw_judge_reference_Nm(stage, standing), threshold_least_Nm);
}

void bw_judge_begin(bw_judge *judge, const bw_stage *stage, const bw_standing *standing,
                    const bw_terms *terms) {
    memset(judge, 0, sizeof *judge);
    judge->stage = *stage;
    judge->standing = *standing;
    judge->terms = *terms;
    judge->threshold_Nm = bw_judge_threshold_Nm(stage, standing);
    bw_curve_begin(&judge->curve, judge->threshold_Nm, bw_judge_reference_Nm(stage, standing));
    bw_trouble_begin(&judge->trouble, judge->threshold_Nm, bw_judge_reference_Nm(stage, standing));
    judge->stroke.mark_Nm = judge->threshold_Nm;
    judge->stroke.snug_reached = standing->snug_reached;
    judge->has_angle = true;
}

bool bw_judge_counts_angle(const bw_stage *stage) {
    return stage->kind != BW_STAGE_TORQUE;
}

/* ---- strokes ---- */

/* A stage that begins at a snug torque has no turn before it is reached. */
bool bw_judge_counts_yet(const bw_stage *stage, bool snug_reached) {
    return stage->kind != BW_STAGE_TORQUE_ANGLE || snug_reached;
}

static double crossing_deg(const bw_sample *a, const bw_sample *b, double torque_Nm) {
    double rise_Nm = b->torque_Nm - a->torque_Nm;
    double share = rise_Nm == 0.0 ? 1.0 : (torque_Nm - a->torque_Nm) / rise_Nm;
    return a->angle_deg + share * (b->angle_deg - a->angle_deg);
}

/* A stroke begins where the torque rises through its mark. */
static void begin_stroke(bw_stroke *stroke, const bw_sample *before, const bw_sample *now) {
    stroke->loaded = true;
    stroke->start_deg = crossing_deg(before, now, stroke->mark_Nm);
    stroke->end_deg = stroke->start_deg;
}

double bw_judge_windup_deg_per_Nm(const bw_judge *judge) {
    return judge->has_angle ? judge->stroke.seen_windup_deg_per_Nm : 0.0;
}

static void see_windup(bw_stroke *stroke) {
    double eased_Nm = stroke->fall_Nm - stroke->mark_Nm;
    double back_deg = stroke->fall_deg - stroke->end_deg;
    if (eased_Nm > stroke->mark_Nm && back_deg >= 0) {
        stroke->seen_windup_deg_per_Nm = back_deg / eased_Nm;
    }
}

static void end_stroke(bw_stroke *stroke, double threshold_Nm) {
    see_windup(stroke);
    stroke->peak_Nm = 0;
    stroke->turn_deg += stroke->end_deg - stroke->start_deg;
    stroke->loaded = false;
    stroke->mark_Nm = threshold_Nm;
}

/* The stage's angle begins at the snug torque: what the stroke turned before does not count, and
 * the stroke's turn ends where it falls through the snug torque again. */
static void pass_snug(bw_judge *judge, const bw_sample *before, const bw_sample *now) {
    judge->stroke.snug_reached = true;
    judge->stroke.mark_Nm = judge->stage.snug_Nm;
    judge->stroke.turn_deg = 0;
    begin_stroke(&judge->stroke, before, now);
}

static bool rises_through(double mark_Nm, const bw_sample *before, const bw_sample *now) {
    return before->torque_Nm < mark_Nm && now->torque_Nm >= mark_Nm;
}

static void follow_stroke(bw_judge *judge, const bw_sample *before, const bw_sample *now) {
    bw_stroke *stroke = &judge->stroke;
    if (!stroke->loaded && rises_through(stroke->mark_Nm, before, now)) {
        begin_stroke(stroke, before, now);
    }
    if (!bw_judge_counts_yet(&judge->stage, stroke->snug_reached) &&
        rises_through(judge->stage.snug_Nm, before, now)) {
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
    }
    if (now->torque_Nm < stroke_over_share * judge->threshold_Nm) {
        end_stroke(stroke, judge->threshold_Nm);
    }
}

/* Whether a trace that begins with this sample lacks something that matters: a torque that was
 * there already may have been higher, and how far it had turned by then nobody knows. */
static bool begins_too_late(const bw_judge *judge, const bw_sample *first) {
    const bw_stage *stage = &judge->stage;
    switch (stage->kind) {
    case BW_STAGE_TORQUE:
        return first->torque_Nm >= near_share * stage->target_Nm;
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
    begin_stroke(&judge->stroke, first, first);
    if (begins_too_late(judge, first)) {
        note_gap(judge, first->time_s);
    }
}

/* ---- samples ---- */

/* Whether b, between a and c, is a knock.  Without a torque that the stage is about, or time
 * between the samples, no rate is beyond a hand: then everything counts. */
static bool is_spike(const bw_judge *judge, const bw_sample *a, const bw_sample *b,
                     const bw_sample *c) {
    double reference_Nm = bw_judge_reference_Nm(&judge->stage, &judge->standing);
    double rate = spike_targets_per_s * fmax(reference_Nm, judge->peak_Nm);
    double least_Nm = spike_thresholds * judge->threshold_Nm;
    double friction_Nm = spike_share * c->torque_Nm;
    double rise_s = b->time_s - a->time_s;
    double fall_s = c->time_s - b->time_s;
    return reference_Nm > 0 && rise_s > 0 && fall_s > 0 &&
           b->torque_Nm - a->torque_Nm > fmax(rate * rise_s, least_Nm) &&
           b->torque_Nm - c->torque_Nm > fmax(rate * fall_s, fmax(least_Nm, friction_Nm));
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
    bw_curve_take(&judge->curve, sample);
    bw_trouble_take(&judge->trouble, sample);
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

static double live_turn_deg(const bw_judge *judge, const bw_sample *now) {
    const bw_stroke *stroke = &judge->stroke;
    double turn_deg = judge->standing.turn_deg;
    if (!bw_judge_counts_yet(&judge->stage, stroke->snug_reached)) {
        return turn_deg;
    }
    turn_deg += stroke->turn_deg;
    if (!stroke->loaded) {
        return turn_deg;
    }
    double windup_deg = judge->terms.windup_deg_per_Nm * (now->torque_Nm - stroke->mark_Nm);
    return turn_deg + (now->torque_Nm >= stroke->mark_Nm
                           ? now->angle_deg - stroke->start_deg - windup_deg
                           : stroke->end_deg - stroke->start_deg);
}

static bw_live_word live_word(const bw_judge *judge, const bw_live *live) {
    const bw_stage *stage = &judge->stage;
    bool angle = bw_judge_counts_angle(stage);
    if (judge->stroke.over) {
        return BW_LIVE_OVER;
    }
    double at = angle ? live->turn_deg : live->torque_Nm;
    double low = angle ? stage->low_deg : stage->low_Nm;
    if (!bw_judge_under(at, low)) {
        return BW_LIVE_STOP;
    }
    return at >= near_share * low ? BW_LIVE_NEAR : BW_LIVE_FREE;
}

static void update_live(bw_judge *judge, const bw_sample *sample) {
    const bw_stage *stage = &judge->stage;
    bw_live *live = &judge->live;
    live->torque_Nm = sample->torque_Nm;
    live->has_turn = judge->has_angle;
    live->turn_deg = live->has_turn ? live_turn_deg(judge, sample) : 0.0;
    bool turned_over = bw_judge_counts_angle(stage) && live->has_turn &&
                       bw_judge_beyond(live->turn_deg, stage->high_deg);
    bool pulled_over = bw_judge_beyond(live->torque_Nm, stage->high_Nm);
    judge->stroke.over = judge->stroke.over || turned_over || pulled_over;
    live->word = live_word(judge, live);
}

static bool usable(const bw_judge *judge, const bw_sample *sample) {
    return bw_judge_believable(sample->time_s) && bw_judge_believable(sample->torque_Nm) &&
           (!sample->has_angle || bw_judge_believable(sample->angle_deg)) &&
           (judge->samples == 0 || sample->time_s >= judge->last[1].time_s);
}

bw_live bw_judge_sample(bw_judge *judge, const bw_sample *sample) {
    if (!usable(judge, sample)) {
        note_gap(judge, judge->last[1].time_s);
        return judge->live;
    }
    if (judge->samples > 0) {
        follow(judge, sample);
    } else {
        begin_trace(judge, sample);
    }
    judge->has_angle = judge->has_angle && sample->has_angle;
    update_live(judge, sample);
    judge->last[0] = judge->last[1];
    judge->last[1] = *sample;
    judge->samples++;
    return judge->live;
}
