/* verdict.c - see judge.h: what the samples amount to.
 *
 * Comparison.  Limits are inclusive and are compared on values rounded to a millionth (N.m,
 * degree): far below what any wrench resolves, far above what a conversion between units can move.
 */
#include "judge/judge_int.h"

#include "base/decimal.h"
#include "judge/guard.h"
#include "judge/slope.h"

#include <math.h>

/* Beyond any second, torque or angle; sums and products of such numbers stay finite. */
static const double most_believable = 1e12;

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

/* A torque can simply be pulled again; a turn that nobody saw can't be known any more. */
static void judge_unseen(const bw_stage *stage, bw_verdict *verdict) {
    if (verdict->outcome == BW_VERDICT_PASS) {
        bw_judge_say(verdict, BW_VERDICT_SUSPECT, BW_REASON_GAP, !bw_judge_turn_decides(stage));
    }
}

/* What a trace shows beside its numbers: the number may be right, and the joint wrong.  Pulling
 * again would make it worse; only what is too high already outranks it. */
static const uint32_t troubles = (uint32_t)BW_REASON_EARLY_RISE | (uint32_t)BW_REASON_YIELDING |
                                 (uint32_t)BW_REASON_TORQUE_DROP | (uint32_t)BW_REASON_LOOSENED |
                                 (uint32_t)BW_REASON_NO_TURN;

static void judge_trouble(bw_verdict *verdict) {
    if (verdict->outcome != BW_VERDICT_HIGH) {
        verdict->outcome = BW_VERDICT_SUSPECT;
        verdict->more = false;
    }
}

static bw_verdict judge_facts(const bw_stage *stage, const bw_standing *standing, const bw_facts *f,
                              bw_verdict so_far) {
    bw_verdict verdict = so_far;
    verdict.outcome = BW_VERDICT_PASS;
    verdict.peak_Nm = f->peak_Nm;
    verdict.pull_peak_Nm = f->pull_peak_Nm;
    verdict.has_turn = f->turn_known;
    verdict.turn_deg = f->turn_known ? f->turn_deg : 0.0;
    verdict.pulls = standing->pulls + 1;
    bw_judge_by_kind(stage, standing, f, &verdict);
    if ((verdict.reasons & (uint32_t)BW_REASON_GAP) != 0) {
        judge_unseen(stage, &verdict);
    }
    if ((verdict.reasons & troubles) != 0) {
        judge_trouble(&verdict);
    }
    return verdict;
}

/* Where the earlier turn does not matter, that it was lost does not. */
static bool turn_was_known(const bw_stage *stage, const bw_standing *standing) {
    bool matters = !bw_stage_traits_of(stage->kind)->runs && !stage->until_loose;
    return !matters || standing->turn_known || standing->pulls == 0;
}

/* What needs an angle that is not there; and a turn of which an earlier pull lost a part. */
static uint32_t turn_reasons(const bw_stage *stage, const bw_standing *standing, bool has_angle) {
    bool needs_angle = bw_judge_counts_angle(stage) || stage->least_turn_deg > 0 ||
                       bw_stage_traits_of(stage->kind)->needs_trace;
    bool lost = bw_judge_turn_decides(stage) && !turn_was_known(stage, standing);
    return (uint32_t)(needs_angle && !has_angle ? BW_REASON_NO_TRACE : 0) |
           (uint32_t)(lost ? BW_REASON_GAP : 0);
}

static void add_onset(const bw_judge *judge, bw_facts *f) {
    bw_yield onset = bw_judge_onset(judge);
    f->has_own = onset.found;
    f->own_Nm = onset.torque_Nm;
}

static void add_moved(const bw_judge *judge, bw_facts *f) {
    bw_moved moved = bw_judge_moved(judge);
    f->moved = moved.found;
    f->has_own = true;
    f->own_Nm = moved.found ? moved.torque_Nm : f->pull_peak_Nm;
}

/* What only one kind asks for. */
static void add_own(const bw_judge *judge, bw_facts *f) {
    switch (judge->stage.kind) {
    case BW_STAGE_YIELD:
        add_onset(judge, f);
        break;
    case BW_STAGE_CHECK:
        add_moved(judge, f);
        break;
    case BW_STAGE_BACK_OFF:
        f->loose = judge->slack.loose;
        f->forward = judge->trouble.loosened;
        break;
    default:
        f->has_own = bw_judge_mean_Nm(judge, &f->own_Nm);
        break;
    }
}

/* Turn of this pull: a stroke that was still loaded when the trace ended is not counted, since
 * wind-up and turn can't be told apart in it. */
bw_verdict bw_judge_end(const bw_judge *judge, bool complete) {
    const bw_stage *stage = &judge->stage;
    const bw_standing *standing = &judge->standing;
    const bw_stroke *stroke = &judge->stroke;
    bool loaded = stroke->loaded || judge->trouble.backward;
    bool whole = complete && !loaded && judge->samples > 0;
    bw_verdict so_far = {.reasons = judge->reasons | bw_judge_troubles(judge) |
                                    turn_reasons(stage, standing, judge->has_angle) |
                                    (uint32_t)(whole ? 0 : BW_REASON_GAP),
                         .pull_turn_deg = judge->has_angle ? stroke->turn_deg : 0.0,
                         .snug_reached = stroke->snug_reached,
                         .loose = judge->slack.loose};
    bool unseen = (so_far.reasons & (uint32_t)BW_REASON_GAP) != 0;
    so_far.reasons |= (uint32_t)(!unseen && bw_judge_was_tight(judge) ? BW_REASON_NO_TURN : 0);
    bw_facts f = {.threshold_Nm = judge->threshold_Nm,
                  .pull_peak_Nm = fmax(judge->peak_Nm, judge->last[1].torque_Nm),
                  .turn_deg = bw_judge_turn_before_deg(stage, standing),
                  .turn_known = judge->has_angle && turn_was_known(stage, standing) && !unseen};
    f.peak_Nm = fmax(standing->peak_Nm, f.pull_peak_Nm);
    f.turn_deg += bw_judge_counts_yet(stage, stroke->snug_reached) ? stroke->turn_deg : 0.0;
    add_own(judge, &f);
    bw_verdict verdict = judge_facts(stage, standing, &f, so_far);
    bw_slope_judge(judge, &verdict);
    bw_guard_judge(stage, &judge->terms, &verdict);
    return verdict;
}

/* A kind that needs a trace says nothing of a bare result, and the same wrench will not mend it. */
static bw_verdict mute_verdict(const bw_verdict *numbers, uint32_t reasons) {
    bw_verdict verdict = *numbers;
    verdict.outcome = BW_VERDICT_SUSPECT;
    verdict.reasons = reasons;
    verdict.more = false;
    verdict.has_judged = false;
    verdict.judged_Nm = 0;
    return verdict;
}

bw_verdict bw_judge_result(const bw_stage *stage, const bw_standing *standing,
                           const bw_terms *terms, double peak_Nm, bool has_turn, double turn_deg) {
    bool mute = stage->needs_trace || bw_stage_traits_of(stage->kind)->needs_trace;
    bool peak_seen = bw_judge_believable(peak_Nm);
    bool turn_seen = has_turn && bw_judge_believable(turn_deg);
    bool reaches_it = !bw_judge_counts_yet(stage, false) && peak_seen &&
                      !bw_judge_under(peak_Nm, bw_judge_counted_from_Nm(stage));
    bool snug_reached = standing->snug_reached || reaches_it;
    bw_verdict so_far = {.reasons = (uint32_t)BW_REASON_NO_TRACE |
                                    turn_reasons(stage, standing, turn_seen) |
                                    (uint32_t)(peak_seen ? 0 : BW_REASON_GAP),
                         .pull_turn_deg = turn_seen ? turn_deg : 0.0,
                         .snug_reached = snug_reached};
    bw_facts f = {.threshold_Nm = bw_judge_threshold_Nm(stage, standing),
                  .pull_peak_Nm = peak_seen ? peak_Nm : 0.0,
                  .turn_deg = bw_judge_turn_before_deg(stage, standing),
                  .turn_known = turn_seen && turn_was_known(stage, standing)};
    f.peak_Nm = fmax(standing->peak_Nm, f.pull_peak_Nm);
    f.turn_deg += turn_seen && bw_judge_counts_yet(stage, snug_reached) ? turn_deg : 0.0;
    bw_verdict verdict = judge_facts(stage, standing, &f, so_far);
    verdict = mute ? mute_verdict(&verdict, so_far.reasons) : verdict;
    bw_guard_judge(stage, terms, &verdict);
    return verdict;
}
