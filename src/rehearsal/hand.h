/* hand.h - a hand with a wrench that makes one pull.
 *
 * Room: rehearsal (pure).  Tests: tests/unit/rehearsal/test_hand.c.
 *
 * From rest to rest: rest, load, perhaps a halt or several ratchet strokes, hold, release, rest.
 * The hand aims for the stage's target and lands on it as a careful person does; it is given what
 * the record says and draws everything else from the fastener's key, step, stage, attempt and
 * number of the pull.  The same pull of the same joint is the same in every process. */
#ifndef BW_REHEARSAL_HAND_H
#define BW_REHEARSAL_HAND_H

#include "rehearsal/chance.h"
#include "rehearsal/fault.h"
#include "rehearsal/grip.h"
#include "rehearsal/joint.h"
#include "trade/stage.h"
#include "trade/trace.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* The wrench in the hand.  Its angle is set to zero at rest before each pull. */
typedef struct bw_hand_wrench {
    double rate_Hz;
    double noise_Nm; /* standard deviation */
    double step_Nm;  /* resolution */
    double windup_deg_per_Nm;
    double drift_deg_per_s; /* of the angle: at most so much, either way */
    double step_deg;        /* resolution */
    double lost_share;      /* of its samples, any of them, that never arrive; below 1 */
    bool has_angle;
    bool peak_only; /* shows no samples; bw_hand_result is all there is */
} bw_hand_wrench;

/* 100 Hz, 0.02 N.m noise, 0.01 N.m and 0.1 degree steps, 0.05 degree per N.m, 0.05 degree/s. */
bw_hand_wrench bw_hand_usual_wrench(void);

typedef enum bw_hand_style {
    BW_HAND_ANY = 0, /* one of the others, drawn */
    BW_HAND_SMOOTH,
    BW_HAND_RATCHET, /* strokes with a back-swing between them */
    BW_HAND_HALT,    /* stops on the way, then goes on */
    BW_HAND_BEYOND,  /* goes a little beyond its aim, within the limits */
    BW_HAND_STYLE_COUNT
} bw_hand_style;

/* What is to be done.  Texts are borrowed for the time of bw_hand_begin. */
typedef struct bw_hand_task {
    bw_stage stage;
    size_t fastener; /* index */
    const char *step;
    int stage_number; /* from 1 */
    int attempt;      /* from 1 */
    unsigned pulls;   /* this attempt and stage have had; 0: the first */
    double turn_deg;  /* of this attempt and stage so far */
    bool snug_reached;
    bw_hand_style style;
    bw_fault_kind fault; /* of the hand or the wrench; the fastener's own are the joint's */
} bw_hand_task;

typedef enum bw_hand_phase {
    BW_HAND_BEFORE = 0,
    BW_HAND_LOAD,
    BW_HAND_HALTED,
    BW_HAND_HOLD,
    BW_HAND_RELEASE,
    BW_HAND_SWING_BACK,
    BW_HAND_AFTER,
    BW_HAND_DONE
} bw_hand_phase;

/* Where the hand wants to get: a torque, or a turn counted from counted_from_Nm on; a hand that
 * wants a turn stops at most_Nm, too. */
typedef struct bw_hand_aim {
    bool angle;
    double torque_Nm;
    double turn_deg;
    double counted_from_Nm; /* 0: from the first moment on */
    double most_Nm;         /* INFINITY: whatever it takes */
} bw_hand_aim;

/* A pull in progress.  Caller's storage; the members are the hand's own, `phase` may be read. */
typedef struct bw_hand {
    bw_hand_phase phase;
    bw_hand_wrench wrench;
    bw_hand_aim aim;
    bw_hand_style style;
    bw_fault_kind fault;
    bw_chance chance;
    bw_grip grip;
    double start_s;
    unsigned long ticks;  /* samples given */
    unsigned long left;   /* samples left in a phase of fixed length */
    unsigned long length; /* of that phase */
    double fall_Nm;       /* by how much the torque falls in that phase */
    double swung_deg;     /* back-swings and free play: handle angle that is not the grip's */
    double counted_deg;   /* turn of the fastener where counting began */
    bool counting;
    double drift_deg_per_s;
    double slow_deg_per_s;
    double ramp_s;          /* while nothing turns: from nothing to the torque in hand */
    bool runs;              /* it is turned on and on, with little torque */
    double ran_deg;         /* turn of the fastener, and ... */
    double ran_Nm_deg;      /* ... torque that it took, summed up over that */
    double stroke_deg;      /* RATCHET: how far one stroke goes */
    double stroke_from_deg; /* handle angle where this stroke began */
    double play_deg;        /* left to take up before the ratchet bites */
    double swing_left_deg;
    double halt_at;       /* HALT: share of the way */
    bool stroke_ends;     /* the release is the end of a stroke, not of the pull */
    bool gone;            /* the pull ended because the wrench is gone, or silent */
    double highest_Nm;    /* of this stroke */
    double peak_Nm;       /* of all that was on the fastener */
    double lose_at;       /* LOST: share of the way; above 1: not, or no more */
    unsigned long losing; /* samples still to be lost */
    bool result_counts;   /* the wrench has seen enough torque to count its own angle */
    double result_from_deg, result_deg, result_Nm;
    bool spike_is_due;
    double spike_Nm;
    double scale_Nm; /* the torque that the stage is about */
} bw_hand;

/* Begins a pull at start_s on the wrench's clock.
 *
 * joint  read only; the pull changes nothing in it: give it what was recorded (bw_joint_pulled).
 * task   fastener < the joint's number; stage as sequences give it. */
void bw_hand_begin(bw_hand *hand, const bw_joint *joint, const bw_hand_task *task,
                   const bw_hand_wrench *wrench, double start_s);

/* The same on a fastener that is in no joint, or on what bw_shaft_turned gives; key: what is drawn
 * from.  task->fastener is not looked at. */
void bw_hand_begin_on(bw_hand *hand, const bw_fastener *fastener, uint64_t key,
                      const bw_hand_task *task, const bw_hand_wrench *wrench, double start_s);

/* The next sample; false where the pull is over (out untouched).  Samples are 1 / rate_Hz apart,
 * those that are lost left out; the torque rests for at least 0.4 s before and after, except behind
 * a wrench that goes away.  A turn back shows torque and angle below 0. */
bool bw_hand_next(bw_hand *hand, bw_sample *out);

/* True where the pull ended because the wrench went away (BW_FAULT_UNPLUG). */
bool bw_hand_unplugged(const bw_hand *hand);

/* True where it ended because the wrench fell silent (BW_FAULT_BATTERY). */
bool bw_hand_fell_silent(const bw_hand *hand);

/* What a wrench in peak mode reports once the pull is over, BW_FAULT_PEAK or peak_only: the highest
 * torque that it showed, and how far the handle had gone at most since 2 N.m, wind-up and all: it
 * knows no better.  False where it is not in that mode, or went away. */
bool bw_hand_result(const bw_hand *hand, double *peak_Nm, double *turn_deg);

/* The mean torque while it turned, over the turn; 0 where it did not. */
double bw_hand_mean_Nm(const bw_hand *hand);

/* How far the fastener turned since the aim's counting began; 0 where it did not. */
double bw_hand_counted_deg(const bw_hand *hand);

#endif
