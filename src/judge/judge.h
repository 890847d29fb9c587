/* judge.h - from the samples of a fastener's pulls to a verdict.
 *
 * Room: judge (pure: no I/O, clock, locale, global, allocation).  Fed the same samples it gives
 * the same verdict bit for bit; the audit relies on it.
 *
 * How the turn of the joint is measured.  A wrench and its extensions wind up under load, and a
 * gyro drifts while it rests.  So turn is taken between two moments of EQUAL torque: where a
 * stroke's torque rises through the threshold, and where it falls through it again.  Wind-up is the
 * same at both and drops out whatever its size; the back-swing of a ratchet lies below the
 * threshold and is not seen; drift counts only while the wrench is loaded.  Strokes add up.
 *
 * BACK_OFF is the same seen in a mirror: its samples have torque below 0 and an angle that falls,
 * its verdicts and live words have both the other way round.  Torque forward is none there. */
#ifndef BW_JUDGE_JUDGE_H
#define BW_JUDGE_JUDGE_H

#include "base/text.h"
#include "judge/curve.h"
#include "judge/movement.h"
#include "judge/peaks.h"
#include "judge/running.h"
#include "judge/slack.h"
#include "judge/trouble.h"
#include "judge/yield.h"
#include "trade/stage.h"
#include "trade/trace.h"
#include "trade/uncertainty.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum bw_outcome {
    BW_VERDICT_PASS = 0,
    BW_VERDICT_LOW,
    BW_VERDICT_HIGH,
    BW_VERDICT_SUSPECT,
    BW_VERDICT_COUNT
} bw_outcome;

/* Reasons are a set of bits; words in the order of the table in judge/reason.c. */
typedef enum bw_reason {
    BW_REASON_BELOW_LIMIT = 1u << 0,
    BW_REASON_ABOVE_LIMIT = 1u << 1,
    BW_REASON_ANGLE_SHORT = 1u << 2,
    BW_REASON_ANGLE_OVER = 1u << 3,
    BW_REASON_NO_TURN = 1u << 4,
    BW_REASON_SPIKE = 1u << 5,
    BW_REASON_GAP = 1u << 6,
    BW_REASON_NO_TRACE = 1u << 7,
    BW_REASON_EARLY_RISE = 1u << 8,
    BW_REASON_YIELDING = 1u << 9,
    BW_REASON_TORQUE_DROP = 1u << 10,
    BW_REASON_LOOSENED = 1u << 11,
    BW_REASON_STEEP = 1u << 12,
    BW_REASON_SHALLOW = 1u << 13,
    BW_REASON_OUT_OF_RANGE = 1u << 14,
    BW_REASON_INSIDE_GUARD = 1u << 15,
    BW_REASON_STRETCH_SHORT = 1u << 16,
    BW_REASON_STRETCH_OVER = 1u << 17
} bw_reason;

enum { BW_REASON_COUNT = 18 };

/* On what terms is judged: what is known of the wrench, and the decision rule.  All zero: nothing
 * is known, simple acceptance. */
typedef struct bw_terms {
    bw_rule rule;
    double range_low_Nm;      /* calibrated from here */
    double range_high_Nm;     /* to here; 0: range not known */
    double uncertainty_share; /* expanded (k = 2), of the torque; 0: not known */
    double uncertainty_deg;   /* expanded, of a turn; 0: not known */
    double windup_deg_per_Nm; /* >= 0; 0: not known.  For the live help only */
} bw_terms;

/* The slopes of those of its group that had this stage before it. */
typedef struct bw_siblings {
    size_t n; /* how many; below BW_SIBLINGS_LEAST nothing is compared */
    double median_Nm_per_deg;
    double mad_Nm_per_deg; /* median of the absolute deviations from the median */
} bw_siblings;

enum { BW_SIBLINGS_LEAST = 4 };

/* What the earlier stages and pulls left: the fold of the record, given anew at each pull. */
typedef struct bw_standing {
    double torque_Nm;  /* peak of the last accepted stage of this step; 0: not tightened yet */
    double turn_deg;   /* turn of this attempt's earlier pulls in this stage */
    bool turn_known;   /* false where an earlier pull was lost or had no angle */
    bool snug_reached; /* an earlier pull of this attempt reached the torque from which the turn
                          is counted (TORQUE_ANGLE, YIELD, SLOT) */
    double peak_Nm;    /* highest peak of this attempt's earlier pulls in this stage; 0: none */
    uint32_t pulls;    /* how many they were */
    /* Of the last of those pulls' verdicts. */
    double judged_Nm;        /* kinds that run: the mean so far; 0: none */
    double slope_Nm_per_deg; /* the steepest so far; 0: not known */
    double joint_Nm_per_deg; /* the slope that earlier stages of this step showed; 0: none did */
    bw_siblings siblings;
} bw_standing;

typedef struct bw_verdict {
    bw_outcome outcome;
    uint32_t reasons;     /* bits of bw_reason */
    bool more;            /* another pull can mend it; nothing to decide */
    double peak_Nm;       /* of this attempt and stage */
    double pull_peak_Nm;  /* of this pull alone */
    bool has_turn;        /* the wrench gave angles throughout */
    double turn_deg;      /* of this attempt and stage, all pulls */
    double pull_turn_deg; /* of this pull alone */
    bool snug_reached;
    uint32_t pulls;        /* with this one */
    bool has_judged;       /* a torque was held against the limits */
    double judged_Nm;      /* which: see trade/stage.h */
    double uncertainty_Nm; /* expanded, of judged_Nm; 0: not known */
    bw_rule rule;
    bool loose;              /* BACK_OFF: no torque was left */
    double slope_Nm_per_deg; /* of the joint, wind-up taken off; 0: not seen */
    bool has_stretch;
    double stretch_mm; /* as measured */
} bw_verdict;

/* What was measured or seen at the fastener after the pull (kinds that are answered). */
typedef struct bw_seen {
    double before_mm, after_mm; /* STRETCH: length free, and now */
    bool slot_meets;            /* SLOT */
} bw_seen;

/* What to tell the hand while it pulls. */
typedef enum bw_live_word {
    BW_LIVE_FREE = 0, /* go on */
    BW_LIVE_NEAR,     /* slowly now */
    BW_LIVE_STOP,     /* inside the limits: stop here */
    BW_LIVE_OVER      /* past the upper limit: this sample crossed it, or an earlier one */
} bw_live_word;

typedef struct bw_live {
    bw_live_word word;
    double torque_Nm;
    double turn_deg; /* of the stage so far, wind-up taken off as far as it is known */
    bool has_turn;
} bw_live;

/* The stroke in hand, and what the strokes of this pull came to so far.  The judge's own. */
typedef struct bw_stroke {
    double start_deg;         /* angle where the torque rose through the mark */
    double end_deg;           /* angle where it last fell through it */
    double peak_Nm;           /* highest torque of this stroke */
    double fall_Nm, fall_deg; /* where its release begins: the last sample near its peak */
    double mark_Nm;           /* the torque at which this stroke's turn begins and ends */
    double turn_deg;          /* finished strokes of this pull */
    double below_deg;         /* travel before the torque was passed that turn is counted from */
    double seen_windup_deg_per_Nm; /* of the last release that was seen; 0: none yet */
    bool loaded;                   /* rose through the mark, and was not at rest since */
    bool snug_reached;
    bool over; /* past an upper limit */
} bw_stroke;

/* A judge at work on one pull.  Caller's storage; the members are the judge's own. */
typedef struct bw_judge {
    bw_stage stage;
    bw_standing standing;
    bw_terms terms;
    double threshold_Nm;
    bw_sample last[2]; /* the newest sample but one, and the newest; spikes left out */
    size_t samples;
    double peak_Nm; /* of all but the newest, which may still prove a spike */
    bw_stroke stroke;
    bw_stroke stroke_before; /* ahead of the newest sample, for the same reason */
    double angle_s;          /* when the newest angle came */
    bool has_angle;          /* every sample so far had one */
    uint32_t reasons;        /* found on the way: spike, gap */
    double spike_s, gap_s;   /* the first of each */
    double peak_s;           /* when the peak was */
    double over_s;           /* when a limit was passed; where `over_seen` */
    bool over_seen;
    bw_curve curve;     /* of all but the newest */
    bw_trouble trouble; /* likewise, and all below */
    bw_running running;
    bw_movement movement;
    bw_slack slack;
    bw_yield yield;
    bw_peaks peaks;
    bw_live live; /* what was said last */
} bw_judge;

/* The torque below which the wrench is at rest for this stage: pulls begin and end there. */
double bw_judge_threshold_Nm(const bw_stage *stage, const bw_standing *standing);

/* Begins a pull.  stage: as it is for this fastener (bw_stage_for). */
void bw_judge_begin(bw_judge *judge, const bw_stage *stage, const bw_standing *standing,
                    const bw_terms *terms);

/* Wind-up of wrench and extension as this pull's releases show it: while the hand eases off nothing
 * turns, so what the angle gives back is wind-up.  0 where no release was seen.  For the live help
 * of the next pull. */
double bw_judge_windup_deg_per_Nm(const bw_judge *judge);

/* Between the newest two peaks of this pull that reached the low limit of a torque, in seconds;
 * INFINITY where there are not two.  For judge/question.h. */
double bw_judge_peaks_apart_s(const bw_judge *judge);

/* Takes one sample; never fails: a sample that is not finite, beyond 10^12 or goes back in time is
 * left out and counted as a gap.  A spike is known for one with the sample behind it: until then
 * the word may be BW_LIVE_OVER, and is taken back. */
bw_live bw_judge_sample(bw_judge *judge, const bw_sample *given);

/* The verdict over everything so far.  complete: the pull was seen from rest to rest; where it was
 * not (unplugged, cut), the verdict is never a pass. */
bw_verdict bw_judge_end(const bw_judge *judge, bool complete);

/* When in the trace a reason shows: the sample that crossed the limit, the peak that stayed below
 * one, the beginning of a gap, bend or fall.  False for a reason that no moment of the trace shows,
 * or that the verdict does not give. */
bool bw_judge_when(const bw_judge *judge, bw_reason reason, double *time_s);

/* The verdict on a bare result: a peak (and a turn where has_turn), no trace.  A peak that is not
 * finite was not seen; a turn that is not is none. */
bw_verdict bw_judge_result(const bw_stage *stage, const bw_standing *standing,
                           const bw_terms *terms, double peak_Nm, bool has_turn, double turn_deg);

/* For kinds that are answered: the verdict on a pull that passed, once its fastener was looked at.
 * Any other verdict, and any other kind, is given back as it is. */
bw_verdict bw_judge_seen(const bw_stage *stage, const bw_verdict *pull, const bw_seen *seen);

/* Words.  Static; NULL outside of the table. */
const char *bw_outcome_word(bw_outcome outcome);
const char *bw_reason_word(size_t index); /* by bit number, NULL behind the last */
/* What the reason means, in a sentence for the bench. */
const char *bw_reason_says(size_t index);
/* What to look at then. */
const char *bw_reason_look(size_t index);
/* The reasons' words, parted by a space, into out. */
const char *bw_reasons_text(uint32_t reasons, char *out, size_t size);

#endif
