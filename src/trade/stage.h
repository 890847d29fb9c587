/* stage.h - what one round over a group must reach: shared by sequences, judge and record.
 *
 * Room: trade (pure).  Tests: tests/unit/trade/stage_test.c. */
#ifndef BW_TRADE_STAGE_H
#define BW_TRADE_STAGE_H

#include <stdbool.h>

typedef enum bw_stage_kind {
    BW_STAGE_TORQUE = 0,   /* to a torque */
    BW_STAGE_TORQUE_ANGLE, /* to a snug torque, then through an angle counted from there */
    BW_STAGE_ANGLE,        /* through an angle from where the last stage left it */
    BW_STAGE_BACK_OFF,     /* back through an angle, or until it is loose */
    BW_STAGE_YIELD,        /* on from a snug torque until it yields */
    BW_STAGE_STRETCH,      /* until a gauge shows that it has grown so much longer */
    BW_STAGE_SLOT,         /* castle nut: to a least torque, then on until a slot meets the hole */
    BW_STAGE_CHECK,        /* the torque at which a tightened one just moves; tightens nothing */
    BW_STAGE_PREVAILING,   /* the torque of a locking feature while it is run down */
    BW_STAGE_ROTATING,     /* the torque that keeps a shaft turning; tightens nothing */
    BW_STAGE_CREEP,        /* tightened bit by bit, never back, up to a rotating torque */
    BW_STAGE_KIND_COUNT
} bw_stage_kind;

/* Limits are inclusive.  A side that is not limited is -INFINITY or INFINITY, never NaN.  What a
 * kind does not use is 0, a limit that it does not use is infinite.
 *
 * The torque that is held against low_Nm and high_Nm, by kind: the peak (TORQUE, SLOT, and at the
 * end of the turn TORQUE_ANGLE, ANGLE; STRETCH has a ceiling only); where it yields (YIELD); where
 * it first moves (CHECK); the mean while it turns (PREVAILING, ROTATING, CREEP); none (BACK_OFF).
 */
typedef struct bw_stage {
    bw_stage_kind kind;
    bool adds_prevailing; /* all its torques come on top of the prevailing torque */
    bool until_loose;     /* BACK_OFF: until no torque is left, whatever the angle */
    double snug_Nm;       /* TORQUE_ANGLE, YIELD: where the turn is counted from */
    double target_Nm;     /* what to aim for; SLOT: its least torque; STRETCH: where to measure
                             first; 0 where the kind has none */
    double low_Nm, high_Nm;
    double target_deg;        /* TORQUE_ANGLE, ANGLE, BACK_OFF */
    double low_deg, high_deg; /* the turn, from where it is counted; BACK_OFF: backward, positive;
                                 YIELD: from snug to the end; SLOT: beyond the least torque;
                                 CHECK: how far it may be moved */
    double least_turn_deg;    /* TORQUE: a fresh fastener turns at least so far; PREVAILING,
                                 ROTATING, CREEP: the mean is taken over at least so much; 0: not
                                 judged */
    double slope_share;       /* YIELD: it yields where the slope falls to this share of its
                                 steepest; above 0, below 1 */
    double target_mm;         /* STRETCH: growth in length */
    double low_mm, high_mm;
    bool needs_trace; /* a bare result says nothing of it, whatever the kind */
} bw_stage;

/* What the kinds have in common and what tells them apart: one row each. */
typedef struct bw_stage_traits {
    const char *word; /* as in sequences: "torque_angle" */
    bool tightens;    /* leaves the fastener at another torque than before */
    bool loosens;     /* leaves it looser */
    bool limits_turn; /* low_deg and high_deg are judged: no verdict without an angle */
    bool needs_trace; /* a bare result says nothing */
    bool runs;        /* the mean torque while turning is what counts */
    bool is_answered; /* a pull decides nothing: what is then measured or seen at the fastener
                         does */
} bw_stage_traits;

/* Never NULL for a kind below BW_STAGE_KIND_COUNT. */
const bw_stage_traits *bw_stage_traits_of(bw_stage_kind kind);

/* The stage as it is for a fastener with that prevailing torque: its torques raised by it where it
 * adds_prevailing, else unchanged.  prevailing_Nm >= 0. */
bw_stage bw_stage_for(const bw_stage *stage, double prevailing_Nm);

#endif
