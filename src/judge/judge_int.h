/* judge_int.h - what judge.c and verdict.c share; nobody else's. */
#ifndef BW_JUDGE_JUDGE_INT_H
#define BW_JUDGE_JUDGE_INT_H

#include "judge/judge.h"

/* Below, or above, a limit: as the comparison rule of verdict.c has it. */
bool bw_judge_under(double value, double limit);
bool bw_judge_beyond(double value, double limit);

/* A finite number that a wrench could mean. */
bool bw_judge_believable(double value);

/* The torque that the stage is about: what thresholds and rates are measured by. */
double bw_judge_reference_Nm(const bw_stage *stage, const bw_standing *standing);

/* The turn is held against low_deg or high_deg. */
bool bw_judge_counts_angle(const bw_stage *stage);

/* The torque from which the turn is counted; -INFINITY: from where it stood. */
double bw_judge_counted_from_Nm(const bw_stage *stage);

/* A stage that begins at a snug torque has no turn before it is reached. */
bool bw_judge_counts_yet(const bw_stage *stage, bool snug_reached);

/* A turn that was not seen is lost for good; where not, another pull mends it. */
bool bw_judge_turn_decides(const bw_stage *stage);

/* What it may stand at before it moves: what earlier stages left, or where its turn is counted
 * from; 0: it may stand at anything. */
double bw_judge_stands_Nm(const bw_stage *stage, const bw_standing *standing);

/* A fastener that stands at a torque moves again once its friction at rest is passed: 2 to 15 %
 * above.  Twice that is no longer friction. */
extern const double bw_judge_stuck_share;

/* Turn of the attempt's earlier pulls that goes with this one's. */
double bw_judge_turn_before_deg(const bw_stage *stage, const bw_standing *standing);

/* Kinds that run: the mean over this pull and what goes with it.  False where nothing turned. */
bool bw_judge_mean_Nm(const bw_judge *judge, double *mean_Nm);

/* What torque and turn amount to, apart from what was not seen. */
typedef struct bw_facts {
    double threshold_Nm;
    double pull_peak_Nm;
    double peak_Nm;  /* of the attempt */
    double turn_deg; /* of the attempt */
    bool turn_known;
    bool has_own; /* the kind's own torque: mean, onset of yield, first movement */
    double own_Nm;
    bool moved;   /* CHECK */
    bool loose;   /* BACK_OFF */
    bool forward; /* BACK_OFF: it was tightened on the way */
} bw_facts;

void bw_judge_say(bw_verdict *verdict, bw_outcome outcome, bw_reason reason, bool more);

/* kinds.c: outcome, reasons, more and the judged torque, by the kind of the stage.  The verdict
 * begins as a pass. */
void bw_judge_by_kind(const bw_stage *stage, const bw_standing *standing, const bw_facts *facts,
                      bw_verdict *verdict);

/* ---- shape.c ---- */

/* Reasons that the curve and the run of the trace give, of those that the kind minds. */
uint32_t bw_judge_troubles(const bw_judge *judge);

/* It took far more to set it going than what it stands at, or than what its turn is counted from:
 * it was tighter than anybody knows. */
bool bw_judge_was_tight(const bw_judge *judge);

void bw_judge_begin_yield(const bw_judge *judge, bw_yield *yield);

/* The onset of yield and the first movement, with the wind-up that the pull's releases showed. */
bw_yield bw_judge_onset(const bw_judge *judge);
bw_moved bw_judge_moved(const bw_judge *judge);

/* ---- live.c: what to tell the hand at this sample. ---- */

void bw_judge_update_live(bw_judge *judge, const bw_sample *sample);

#endif
