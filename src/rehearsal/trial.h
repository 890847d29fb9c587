/* trial.h - one pull on one fastener as a whole: what a wrench shows of it, and what was true.
 *
 * Room: rehearsal (pure, no allocation).  For tests and benchmarks of whoever reads traces.  Tests:
 * tests/unit/rehearsal/test_trial.c. */
#ifndef BW_REHEARSAL_TRIAL_H
#define BW_REHEARSAL_TRIAL_H

#include "rehearsal/hand.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* What is pulled, where it is not the first pull: what the earlier ones left. */
typedef struct bw_trial_before {
    unsigned pulls;  /* 0: this is the first, and nothing else here counts */
    double turn_deg; /* of the earlier pulls in this stage */
    bool snug_reached;
    bw_fastener fastener; /* of the last one's truth */
} bw_trial_before;

/* Every member counts; the same trial gives the same pull, bit for bit. */
typedef struct bw_trial {
    uint64_t seed;
    bw_joint_spec joint;   /* bw_joint_usual, and whatever else is wanted */
    double stands_Nm;      /* what earlier stages left; 0: it runs free */
    bw_stage stage;        /* what the hand aims for; of any kind */
    bw_fault_kind fault;   /* any that fits the kind */
    bw_hand_style style;   /* BW_HAND_ANY: drawn */
    bw_hand_wrench wrench; /* bw_hand_usual_wrench, and whatever else is wanted */
    bw_trial_before before;
} bw_trial;

/* What was true of it, whatever the wrench showed. */
typedef struct bw_truth {
    bool asked;           /* false: MISSED, WRONG, REHIT, another fastener than the one asked for */
    bool whole;           /* from rest to rest: the wrench did not go away */
    double peak_Nm;       /* the highest torque that was on it, no noise, no knock; no sign */
    double turned_deg;    /* by the fastener in all; no sign */
    double counted_deg;   /* of this, since the stage's count began: a snug torque, or at once */
    double before_N;      /* preload, clamping the parts */
    double preload_N;     /* after the pull, what it lets go of taken off */
    bool yielded;         /* stretched beyond yield, or stripped, in this pull */
    double yield_Nm;      /* where that began; 0 where it did not */
    double first_move_Nm; /* what sets it going from where it stood; INFINITY: nothing does */
    double mean_Nm;       /* while it turned, over the turn; 0 where it did not turn */
    double before_mm;     /* growth of the bolt against a new one, before ... */
    double growth_mm;     /* ... and after */
    bool slot_meets;      /* SLOT: a slot of the nut meets the hole */
    bool loose;           /* no preload is left */
    double windup_deg_per_Nm;
    double drift_deg_per_s;
    bool has_result; /* peak mode: no samples, but this */
    double result_Nm, result_deg;
    bw_fastener fastener; /* as it stands when the hand is off */
} bw_truth;

/* Makes the pull, the wrench's clock at 0.  MISSED pulls a neighbour that is as good as this one,
 * WRONG and REHIT one that had this stage already.  ROTATING turns a shaft that drags about
 * joint.drag_Nm; CREEP one whose sleeve was tightened by as many bits as pulls were made, and one
 * more.
 *
 * room   of sample; 200 s at the wrench's rate are more than enough.  False where it was not: then
 *        *n is room and truth is as far as that
 * n      samples given; 0 in peak mode */
bool bw_trial_run(const bw_trial *trial, bw_sample *sample, size_t room, size_t *n,
                  bw_truth *truth);

#endif
