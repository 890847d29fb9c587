/* kinds.c - the verdict by the kind of the stage: what is held against which limit, and what comes
 * first where more than one is missed.  Too much outranks all else, then what was not seen. */
#include "judge/judge_int.h"

#include <math.h>

const double bw_judge_stuck_share = 1.3;

/* That, without a tenth of the turn, is a fastener that is stuck. */
static const double stuck_turn_share = 0.1;

/* One that stands near its torque already hardly turns once more.  A gasket that let go of a third
 * of it, on a joint that turns 90 degrees in all, takes 30 (common practice, no source). */
static const double again_share = 1 / 1.2;
static const double again_most_deg = 30.0;

void bw_judge_say(bw_verdict *verdict, bw_outcome outcome, bw_reason reason, bool more) {
    verdict->outcome = outcome;
    verdict->reasons |= (uint32_t)reason;
    verdict->more = more;
}

/* What was not seen cannot be passed; the reason is with the verdict already.  A gap that another
 * pull mends says so itself. */
static void leave_open(const bw_stage *stage, bw_verdict *verdict) {
    bool no_trace = (verdict->reasons & (uint32_t)BW_REASON_NO_TRACE) != 0;
    bool mends = !no_trace && !bw_judge_turn_decides(stage);
    if (verdict->outcome == BW_VERDICT_PASS && !mends) {
        verdict->outcome = BW_VERDICT_SUSPECT;
    }
}

static void hold_peak(const bw_stage *stage, const bw_facts *f, bw_verdict *verdict) {
    if (bw_judge_beyond(f->peak_Nm, stage->high_Nm)) {
        bw_judge_say(verdict, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
    }
}

static void hold_turn(const bw_stage *stage, const bw_facts *f, bw_verdict *verdict) {
    if (f->turn_known && bw_judge_beyond(f->turn_deg, stage->high_deg)) {
        bw_judge_say(verdict, BW_VERDICT_HIGH, BW_REASON_ANGLE_OVER, false);
    }
}

static bool turns_again(const bw_stage *stage, const bw_standing *standing, const bw_facts *f) {
    return f->turn_known && !(standing->joint_Nm_per_deg > 0) &&
           !bw_judge_under(standing->torque_Nm, again_share * stage->target_Nm) &&
           bw_judge_beyond(f->turn_deg, again_most_deg);
}

static void judge_torque(const bw_stage *stage, const bw_standing *standing, const bw_facts *f,
                         bw_verdict *verdict) {
    hold_peak(stage, f, verdict);
    if (verdict->outcome == BW_VERDICT_HIGH) {
        return;
    }
    if (bw_judge_under(f->pull_peak_Nm, stage->low_Nm)) {
        bw_judge_say(verdict, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, true);
    } else if (stage->least_turn_deg > 0 && f->turn_known &&
               bw_judge_under(f->turn_deg, stage->least_turn_deg)) {
        bw_judge_say(verdict, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
    } else if (stage->kind == BW_STAGE_TORQUE && turns_again(stage, standing, f)) {
        bw_judge_say(verdict, BW_VERDICT_SUSPECT, BW_REASON_YIELDING, false);
    }
}

static bool stuck(const bw_stage *stage, const bw_standing *standing, const bw_facts *f) {
    double stood_Nm = stage->kind == BW_STAGE_TORQUE_ANGLE ? stage->snug_Nm : standing->torque_Nm;
    return stood_Nm > 0 && f->peak_Nm > bw_judge_stuck_share * stood_Nm &&
           f->turn_deg < stuck_turn_share * stage->low_deg;
}

static void judge_angle(const bw_stage *stage, const bw_standing *standing, const bw_facts *f,
                        bw_verdict *verdict) {
    hold_peak(stage, f, verdict);
    hold_turn(stage, f, verdict);
    if (!f->turn_known) {
        leave_open(stage, verdict);
    } else if (verdict->outcome == BW_VERDICT_HIGH) {
        return;
    } else if (stuck(stage, standing, f)) {
        bw_judge_say(verdict, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
    } else if (bw_judge_under(f->turn_deg, stage->low_deg)) {
        bw_judge_say(verdict, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    } else if (bw_judge_under(f->peak_Nm, stage->low_Nm)) {
        bw_judge_say(verdict, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, false);
    }
}

/* Once it is loose, how far it turned until then does not matter.  Tightened on the way, it was not
 * backed off by what the turn says. */
static void judge_back_off(const bw_stage *stage, const bw_standing *standing, const bw_facts *f,
                           bw_verdict *verdict) {
    hold_turn(stage, f, verdict);
    if (!f->turn_known) {
        leave_open(stage, verdict);
    } else if (verdict->outcome == BW_VERDICT_HIGH) {
        return;
    } else if (f->loose) {
        if (f->forward) {
            bw_judge_say(verdict, BW_VERDICT_SUSPECT, BW_REASON_LOOSENED, false);
        }
    } else if (!stage->until_loose && stuck(stage, standing, f)) {
        bw_judge_say(verdict, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
    } else if (stage->until_loose || f->forward || bw_judge_under(f->turn_deg, stage->low_deg)) {
        bw_judge_say(verdict, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    }
}

/* A bolt that has not yielded is held by its torque; one that has, by the torque at which it did.
 */
static void judge_yield(const bw_stage *stage, const bw_standing *standing, const bw_facts *f,
                        bw_verdict *verdict) {
    (void)standing;
    double at_Nm = f->has_own ? f->own_Nm : f->peak_Nm;
    if (bw_judge_beyond(at_Nm, stage->high_Nm)) {
        bw_judge_say(verdict, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
    }
    hold_turn(stage, f, verdict);
    if (!f->turn_known) {
        leave_open(stage, verdict);
    } else if (verdict->outcome == BW_VERDICT_HIGH) {
        return;
    } else if (!f->has_own) {
        bw_judge_say(verdict, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    } else if (bw_judge_under(f->own_Nm, stage->low_Nm)) {
        bw_judge_say(verdict, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, false);
    }
}

/* Nothing speaks against a pull that stayed below the ceiling: the gauge decides. */
static void judge_stretch(const bw_stage *stage, const bw_standing *standing, const bw_facts *f,
                          bw_verdict *verdict) {
    (void)standing;
    hold_peak(stage, f, verdict);
    if (verdict->outcome != BW_VERDICT_HIGH && f->pull_peak_Nm < f->threshold_Nm) {
        bw_judge_say(verdict, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, true);
    }
}

static void judge_slot(const bw_stage *stage, const bw_standing *standing, const bw_facts *f,
                       bw_verdict *verdict) {
    hold_turn(stage, f, verdict);
    judge_torque(stage, standing, f, verdict);
}

/* One that did not move was not pulled hard enough to say anything, or it holds. */
static void judge_check(const bw_stage *stage, const bw_standing *standing, const bw_facts *f,
                        bw_verdict *verdict) {
    (void)standing;
    hold_peak(stage, f, verdict);
    hold_turn(stage, f, verdict);
    if (!f->turn_known) {
        leave_open(stage, verdict);
    } else if (verdict->outcome != BW_VERDICT_HIGH && bw_judge_under(f->own_Nm, stage->low_Nm)) {
        bw_judge_say(verdict, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, !f->moved);
    }
}

/* A sleeve that is crept up to its torque can be tightened on; what else runs too easily is worn.
 */
static void judge_running(const bw_stage *stage, const bw_standing *standing, const bw_facts *f,
                          bw_verdict *verdict) {
    (void)standing;
    if (!f->turn_known) {
        leave_open(stage, verdict);
    } else if (!f->has_own || bw_judge_under(f->turn_deg, stage->least_turn_deg)) {
        bw_judge_say(verdict, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    } else if (bw_judge_beyond(f->own_Nm, stage->high_Nm)) {
        bw_judge_say(verdict, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
    } else if (bw_judge_under(f->own_Nm, stage->low_Nm)) {
        bw_judge_say(verdict, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, stage->kind == BW_STAGE_CREEP);
    }
}

typedef void kind_judge(const bw_stage *stage, const bw_standing *standing, const bw_facts *f,
                        bw_verdict *verdict);

static const struct {
    kind_judge *judge;
    bool holds_peak; /* the torque that is judged is the peak, where it has a limit */
    bool of_attempt; /* of all pulls, not of this one */
    bool turn_decides;
} kinds[BW_STAGE_KIND_COUNT] = {
    [BW_STAGE_TORQUE] = {judge_torque, .holds_peak = true},
    [BW_STAGE_TORQUE_ANGLE] = {judge_angle, true, true, true},
    [BW_STAGE_ANGLE] = {judge_angle, true, true, true},
    [BW_STAGE_BACK_OFF] = {judge_back_off, .turn_decides = true},
    [BW_STAGE_YIELD] = {judge_yield, .turn_decides = true},
    [BW_STAGE_STRETCH] = {judge_stretch, .holds_peak = true},
    [BW_STAGE_SLOT] = {judge_slot, .holds_peak = true},
    [BW_STAGE_CHECK] = {judge_check, .turn_decides = true},
    [BW_STAGE_PREVAILING] = {.judge = judge_running},
    [BW_STAGE_ROTATING] = {.judge = judge_running},
    [BW_STAGE_CREEP] = {.judge = judge_running},
};

bool bw_judge_turn_decides(const bw_stage *stage) {
    return kinds[stage->kind].turn_decides && !stage->until_loose;
}

/* A torque above its limit is the one that was judged, whichever pull it came with. */
static void note_judged(const bw_stage *stage, const bw_facts *f, bw_verdict *verdict) {
    bool of_attempt = kinds[stage->kind].of_attempt ||
                      (verdict->reasons & (uint32_t)BW_REASON_ABOVE_LIMIT) != 0;
    double peak_Nm = of_attempt ? f->peak_Nm : f->pull_peak_Nm;
    bool limited = isfinite(stage->low_Nm) || isfinite(stage->high_Nm);
    bool peak = kinds[stage->kind].holds_peak;
    verdict->has_judged = peak ? limited && peak_Nm > 0 : f->has_own;
    verdict->judged_Nm = !verdict->has_judged ? 0 : peak ? peak_Nm : f->own_Nm;
}

void bw_judge_by_kind(const bw_stage *stage, const bw_standing *standing, const bw_facts *facts,
                      bw_verdict *verdict) {
    kinds[stage->kind].judge(stage, standing, facts, verdict);
    note_judged(stage, facts, verdict);
}
