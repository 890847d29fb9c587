/* judge.c - see judge.h.
 *
 * Comparison.  Limits are inclusive and are compared on values rounded to a millionth (N.m,
 * degree): far below what any wrench resolves, far above what a conversion between units can move.
 */
#include "judge/judge.h"

#include "base/decimal.h"

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
 * fifth applied over 0.5 to 4 s; this is more than an order of magnitude above that.) */
static const double spike_targets_per_s = 20.0;

/* Three periods of the slowest wrench that is judged by its trace (10 Hz). */
static const double gap_s = 0.3;

/* A fastener that stands at a torque moves again once its friction at rest is passed: 2 to 15 %
 * above.  Twice that without a tenth of the turn is no longer friction. */
static const double stuck_share = 1.3;
static const double stuck_turn_share = 0.1;

/* A release is watched from this share of the stroke's peak down: nothing turns there any more. */
static const double near_peak_share = 0.8;

/* Near: the last tenth of the way. */
static const double near_share = 0.9;

enum { COMPARE_DECIMALS = 6 };

static double rounded(double value) {
    return isfinite(value) ? bw_round_decimals(value, COMPARE_DECIMALS) : value;
}

static bool under(double value, double limit) {
    return rounded(value) < rounded(limit);
}

static bool beyond(double value, double limit) {
    return rounded(value) > rounded(limit);
}

/* The torque that the stage is about: what thresholds and rates are measured by. */
static double reference_Nm(const bw_stage *stage, const bw_standing *standing) {
    switch (stage->kind) {
    case BW_STAGE_TORQUE:
        return stage->target_Nm;
    case BW_STAGE_TORQUE_ANGLE:
        return stage->snug_Nm;
    case BW_STAGE_ANGLE:
    case BW_STAGE_KIND_COUNT:
        break;
    }
    return isfinite(stage->low_Nm) ? fmax(stage->low_Nm, standing->torque_Nm) : standing->torque_Nm;
}

double bw_judge_threshold_Nm(const bw_stage *stage, const bw_standing *standing) {
    return fmax(threshold_share * reference_Nm(stage, standing), threshold_least_Nm);
}

void bw_judge_begin(bw_judge *judge, const bw_stage *stage, const bw_standing *standing,
                    double windup_deg_per_Nm) {
    memset(judge, 0, sizeof *judge);
    judge->stage = *stage;
    judge->standing = *standing;
    judge->windup_deg_per_Nm = windup_deg_per_Nm;
    judge->threshold_Nm = bw_judge_threshold_Nm(stage, standing);
    judge->mark_Nm = judge->threshold_Nm;
    judge->snug_reached = standing->snug_reached;
    judge->has_angle = true;
}

static double crossing_deg(const bw_sample *a, const bw_sample *b, double torque_Nm) {
    double rise_Nm = b->torque_Nm - a->torque_Nm;
    double share = rise_Nm == 0.0 ? 1.0 : (torque_Nm - a->torque_Nm) / rise_Nm;
    return a->angle_deg + share * (b->angle_deg - a->angle_deg);
}

/* A stroke begins where the torque rises through its mark. */
static void begin_stroke(bw_judge *judge, const bw_sample *before, const bw_sample *now) {
    judge->loaded = true;
    judge->stroke_start_deg = crossing_deg(before, now, judge->mark_Nm);
    judge->stroke_end_deg = judge->stroke_start_deg;
}

double bw_judge_windup_deg_per_Nm(const bw_judge *judge) {
    return judge->seen_windup_deg_per_Nm;
}

static void see_windup(bw_judge *judge) {
    double eased_Nm = judge->fall_Nm - judge->mark_Nm;
    double back_deg = judge->fall_deg - judge->stroke_end_deg;
    if (judge->has_angle && eased_Nm > judge->mark_Nm && back_deg >= 0) {
        judge->seen_windup_deg_per_Nm = back_deg / eased_Nm;
    }
}

static void end_stroke(bw_judge *judge) {
    see_windup(judge);
    judge->stroke_peak_Nm = 0;
    judge->turn_deg += judge->stroke_end_deg - judge->stroke_start_deg;
    judge->loaded = false;
    judge->mark_Nm = judge->threshold_Nm;
}

/* The stage's angle begins at the snug torque: what the stroke turned before does not count, and
 * the stroke's turn ends where it falls through the snug torque again. */
static void pass_snug(bw_judge *judge, const bw_sample *before, const bw_sample *now) {
    judge->snug_reached = true;
    judge->mark_Nm = judge->stage.snug_Nm;
    judge->turn_deg = 0;
    begin_stroke(judge, before, now);
}

static bool rises_through(double mark_Nm, const bw_sample *before, const bw_sample *now) {
    return before->torque_Nm < mark_Nm && now->torque_Nm >= mark_Nm;
}

static void follow_stroke(bw_judge *judge, const bw_sample *before, const bw_sample *now) {
    if (!judge->loaded && rises_through(judge->mark_Nm, before, now)) {
        begin_stroke(judge, before, now);
    }
    bool counts_from_snug = judge->stage.kind == BW_STAGE_TORQUE_ANGLE && !judge->snug_reached;
    if (counts_from_snug && rises_through(judge->stage.snug_Nm, before, now)) {
        pass_snug(judge, before, now);
    }
    if (!judge->loaded) {
        return;
    }
    judge->stroke_peak_Nm = fmax(judge->stroke_peak_Nm, now->torque_Nm);
    if (now->torque_Nm >= near_peak_share * judge->stroke_peak_Nm) {
        judge->fall_Nm = now->torque_Nm;
        judge->fall_deg = now->angle_deg;
    }
    if (before->torque_Nm >= judge->mark_Nm && now->torque_Nm < judge->mark_Nm) {
        judge->stroke_end_deg = crossing_deg(before, now, judge->mark_Nm);
    }
    if (now->torque_Nm < stroke_over_share * judge->mark_Nm) {
        end_stroke(judge);
    }
}

static bool is_spike(const bw_judge *judge, const bw_sample *a, const bw_sample *b,
                     const bw_sample *c) {
    double rate = spike_targets_per_s * reference_Nm(&judge->stage, &judge->standing);
    double least_Nm = judge->threshold_Nm;
    double rise_Nm = b->torque_Nm - a->torque_Nm;
    double fall_Nm = b->torque_Nm - c->torque_Nm;
    return rise_Nm > fmax(rate * (b->time_s - a->time_s), least_Nm) &&
           fall_Nm > fmax(rate * (c->time_s - b->time_s), least_Nm);
}

/* The newest sample settles whether the one before it was a peak or a knock. */
static void follow_peak(bw_judge *judge, const bw_sample *now) {
    if (judge->samples == 1) {
        judge->peak_Nm = fmax(judge->peak_Nm, judge->last[1].torque_Nm);
    } else if (is_spike(judge, &judge->last[0], &judge->last[1], now)) {
        judge->reasons |= BW_REASON_SPIKE;
    } else {
        judge->peak_Nm = fmax(judge->peak_Nm, judge->last[1].torque_Nm);
    }
}

static double live_turn_deg(const bw_judge *judge, const bw_sample *now) {
    double turn_deg = judge->standing.turn_deg + judge->turn_deg;
    if (judge->loaded && now->torque_Nm >= judge->mark_Nm) {
        turn_deg += now->angle_deg - judge->stroke_start_deg -
                    judge->windup_deg_per_Nm * (now->torque_Nm - judge->mark_Nm);
    }
    return turn_deg;
}

static bool counts_angle(const bw_judge *judge) {
    return judge->stage.kind != BW_STAGE_TORQUE;
}

static bw_live_word live_word(const bw_judge *judge, const bw_live *live) {
    const bw_stage *stage = &judge->stage;
    bool angle = counts_angle(judge);
    if (judge->over) {
        return BW_LIVE_OVER;
    }
    double at = angle ? live->turn_deg : live->torque_Nm;
    double low = angle ? stage->low_deg : stage->low_Nm;
    if (!under(at, low)) {
        return BW_LIVE_STOP;
    }
    return at >= near_share * low ? BW_LIVE_NEAR : BW_LIVE_FREE;
}

static void keep(bw_judge *judge, const bw_sample *sample) {
    judge->last[0] = judge->last[1];
    judge->last[1] = *sample;
    judge->samples++;
    judge->has_angle = judge->has_angle && sample->has_angle;
}

static bool usable(const bw_judge *judge, const bw_sample *sample) {
    bool finite = isfinite(sample->time_s) && isfinite(sample->torque_Nm) &&
                  (!sample->has_angle || isfinite(sample->angle_deg));
    return finite && (judge->samples == 0 || sample->time_s >= judge->last[1].time_s);
}

bw_live bw_judge_sample(bw_judge *judge, const bw_sample *sample) {
    if (!usable(judge, sample)) {
        judge->reasons |= BW_REASON_GAP;
        return judge->live;
    }
    if (judge->samples > 0) {
        const bw_sample *before = &judge->last[1];
        if (judge->loaded && sample->time_s - before->time_s > gap_s) {
            judge->reasons |= BW_REASON_GAP;
        }
        follow_peak(judge, sample);
        follow_stroke(judge, before, sample);
    } else if (sample->torque_Nm >= judge->mark_Nm) {
        begin_stroke(judge, sample, sample);
    }
    bw_live *live = &judge->live;
    live->torque_Nm = sample->torque_Nm;
    live->has_turn = judge->has_angle && sample->has_angle;
    live->turn_deg = live->has_turn ? live_turn_deg(judge, sample) : 0.0;
    bool turned_over = counts_angle(judge) && live->has_turn &&
                       beyond(live->turn_deg, judge->stage.high_deg);
    judge->over = judge->over || turned_over || beyond(live->torque_Nm, judge->stage.high_Nm);
    live->word = live_word(judge, live);
    keep(judge, sample);
    return *live;
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
    if (beyond(f->peak_Nm, stage->high_Nm)) {
        add(verdict, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
    } else if (under(f->pull_peak_Nm, stage->low_Nm)) {
        add(verdict, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, true);
    } else if (f->turn_known && under(f->turn_deg, stage->least_turn_deg)) {
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
    if (beyond(f->peak_Nm, stage->high_Nm)) {
        add(verdict, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
    }
    if (!f->turn_known) {
        if (verdict->outcome == BW_VERDICT_PASS) {
            verdict->outcome = BW_VERDICT_SUSPECT;
        }
        return;
    }
    if (beyond(f->turn_deg, stage->high_deg)) {
        add(verdict, BW_VERDICT_HIGH, BW_REASON_ANGLE_OVER, false);
    }
    if (verdict->outcome == BW_VERDICT_HIGH) {
        return;
    }
    if (stuck(stage, standing, f)) {
        add(verdict, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
    } else if (under(f->turn_deg, stage->low_deg)) {
        add(verdict, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    } else if (under(f->peak_Nm, stage->low_Nm)) {
        add(verdict, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, false);
    }
}

static void judge_facts(const bw_stage *stage, const bw_standing *standing, const facts *f,
                        bw_verdict *verdict) {
    if (stage->kind == BW_STAGE_TORQUE) {
        judge_torque(stage, f, verdict);
    } else {
        judge_angle(stage, standing, f, verdict);
    }
}

/* Turn of this pull: a stroke that was still loaded when the trace ended is not counted, since
 * wind-up and turn can't be told apart in it. */
bw_verdict bw_judge_end(const bw_judge *judge, bool complete) {
    const bw_standing *standing = &judge->standing;
    double newest_Nm = judge->samples > 0 ? judge->last[1].torque_Nm : 0.0;
    bool whole = complete && !judge->loaded && judge->samples > 0;
    facts f = {.pull_peak_Nm = fmax(judge->peak_Nm, newest_Nm)};
    f.peak_Nm = fmax(standing->peak_Nm, f.pull_peak_Nm);
    f.turn_deg = standing->turn_deg + judge->turn_deg;
    f.turn_known = whole && judge->has_angle && (standing->turn_known || standing->pulls == 0);
    bw_verdict verdict = {.outcome = BW_VERDICT_PASS,
                          .reasons = judge->reasons,
                          .peak_Nm = f.peak_Nm,
                          .pull_peak_Nm = f.pull_peak_Nm,
                          .has_turn = f.turn_known,
                          .turn_deg = f.turn_known ? f.turn_deg : 0.0,
                          .pull_turn_deg = judge->has_angle ? judge->turn_deg : 0.0,
                          .snug_reached = judge->snug_reached,
                          .pulls = standing->pulls + 1};
    bool needs_angle = judge->stage.kind != BW_STAGE_TORQUE;
    if (!whole) {
        verdict.reasons |= BW_REASON_GAP;
    } else if (needs_angle && !judge->has_angle) {
        verdict.reasons |= BW_REASON_NO_TRACE;
    }
    judge_facts(&judge->stage, standing, &f, &verdict);
    bool unseen = (verdict.reasons & (uint32_t)BW_REASON_GAP) != 0;
    if (unseen && verdict.outcome == BW_VERDICT_PASS) {
        /* A torque can simply be pulled again; a turn that nobody saw can't be known any more. */
        add(&verdict, BW_VERDICT_SUSPECT, BW_REASON_GAP, !needs_angle);
    }
    return verdict;
}

bw_verdict bw_judge_result(const bw_stage *stage, const bw_standing *standing, double peak_Nm,
                           bool has_turn, double turn_deg) {
    facts f = {.pull_peak_Nm = peak_Nm, .peak_Nm = fmax(standing->peak_Nm, peak_Nm)};
    f.turn_known = has_turn && (standing->turn_known || standing->pulls == 0);
    f.turn_deg = f.turn_known ? standing->turn_deg + turn_deg : 0.0;
    bw_verdict verdict = {.outcome = BW_VERDICT_PASS,
                          .reasons = BW_REASON_NO_TRACE,
                          .peak_Nm = f.peak_Nm,
                          .pull_peak_Nm = f.pull_peak_Nm,
                          .has_turn = f.turn_known,
                          .turn_deg = f.turn_deg,
                          .pull_turn_deg = f.turn_known ? turn_deg : 0.0,
                          .snug_reached = standing->snug_reached,
                          .pulls = standing->pulls + 1};
    judge_facts(stage, standing, &f, &verdict);
    return verdict;
}
