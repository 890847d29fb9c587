/* guard.c - see guard.h. */
#include "judge/guard.h"

#include "judge/judge_int.h"

#include <math.h>

/* U is 2 u. */
static const double coverage = 2.0;

/* Whether another pull can still raise the torque that is held against the limits.  In a check: as
 * long as it holds. */
static bool torque_mends(const bw_stage *stage, const bw_verdict *v) {
    switch (stage->kind) {
    case BW_STAGE_TORQUE:
    case BW_STAGE_SLOT:
    case BW_STAGE_CREEP:
        return true;
    case BW_STAGE_CHECK:
        return !bw_movement_is(v->turn_deg);
    default:
        break;
    }
    return false;
}

/* A value inside its limits. */
typedef struct place {
    double value, low, high;
    double expanded; /* uncertainty; 0: not known */
    bool mends;      /* another pull can raise it */
} place;

static void be_suspect(bw_verdict *v, bw_reason reason, bool more) {
    v->more = more && v->outcome == BW_VERDICT_PASS;
    v->outcome = BW_VERDICT_SUSPECT;
    v->reasons |= (uint32_t)reason;
}

static void guard(bw_rule rule, const place *p, bw_verdict *v) {
    double guard = bw_rule_guard(rule) * p->expanded / coverage;
    if (rule == BW_RULE_SIMPLE || !(isfinite(p->low) || isfinite(p->high))) {
        return;
    }
    double low = p->low + guard;
    double high = p->high - guard;
    if (!(p->expanded > 0) || bw_judge_beyond(low, high) || bw_judge_beyond(p->value, high)) {
        be_suspect(v, BW_REASON_INSIDE_GUARD, false);
    } else if (bw_judge_under(p->value, low)) {
        be_suspect(v, BW_REASON_INSIDE_GUARD, p->mends);
    }
}

static void guard_all(const bw_stage *stage, const bw_terms *terms, bw_verdict *v) {
    if (v->has_judged) {
        place torque = {v->judged_Nm, stage->low_Nm, stage->high_Nm, v->uncertainty_Nm,
                        torque_mends(stage, v)};
        guard(terms->rule, &torque, v);
    }
    if (v->has_turn && bw_stage_traits_of(stage->kind)->limits_turn && !v->loose) {
        place turn = {v->turn_deg, stage->low_deg, stage->high_deg, terms->uncertainty_deg, true};
        guard(terms->rule, &turn, v);
    }
}

/* Below the range and too low is simply too low: the hand pulls on. */
static void hold_against_range(const bw_terms *terms, bw_verdict *v) {
    bool above = bw_judge_beyond(v->judged_Nm, terms->range_high_Nm);
    bool below = bw_judge_under(v->judged_Nm, terms->range_low_Nm) && v->outcome != BW_VERDICT_LOW;
    if (!v->has_judged || !(terms->range_high_Nm > 0) || !(above || below)) {
        return;
    }
    v->outcome = v->outcome == BW_VERDICT_PASS ? BW_VERDICT_SUSPECT : v->outcome;
    v->reasons |= (uint32_t)BW_REASON_OUT_OF_RANGE;
    v->more = false;
}

/* Sound but for its slope: what the wrench is worth is then still to be said. */
static bool inside_limits(const bw_verdict *v) {
    uint32_t slopes = (uint32_t)BW_REASON_STEEP | (uint32_t)BW_REASON_SHALLOW;
    return v->outcome == BW_VERDICT_PASS || (v->reasons & slopes) != 0;
}

void bw_guard_judge(const bw_stage *stage, const bw_terms *terms, bw_verdict *verdict) {
    verdict->rule = terms->rule;
    verdict->uncertainty_Nm = verdict->has_judged
                                  ? terms->uncertainty_share * fabs(verdict->judged_Nm)
                                  : 0;
    bool inside = inside_limits(verdict);
    hold_against_range(terms, verdict);
    if (inside) {
        guard_all(stage, terms, verdict);
    }
}
