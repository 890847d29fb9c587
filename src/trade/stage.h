/* stage.h - what one round over a group must reach: shared by sequences, judge and record.
 *
 * Room: trade (a plain value, no code of its own). */
#ifndef BW_TRADE_STAGE_H
#define BW_TRADE_STAGE_H

#include <stdbool.h>

typedef enum bw_stage_kind {
    BW_STAGE_TORQUE = 0,   /* to a torque */
    BW_STAGE_TORQUE_ANGLE, /* to a snug torque, then through an angle counted from there */
    BW_STAGE_ANGLE,        /* through an angle from where the last stage left it */
    BW_STAGE_KIND_COUNT
} bw_stage_kind;

/* Limits are inclusive.  A side that is not limited is -INFINITY or INFINITY, never NaN. */
typedef struct bw_stage {
    bw_stage_kind kind;
    double snug_Nm;           /* TORQUE_ANGLE: where the angle begins; else 0 */
    double target_Nm;         /* TORQUE: the figure to aim for; angle kinds: NaN-free 0 */
    double low_Nm, high_Nm;   /* TORQUE: the peak; angle kinds: the torque at the end */
    double target_deg;        /* angle kinds; else 0 */
    double low_deg, high_deg; /* angle kinds: the turn; TORQUE: -INFINITY, INFINITY */
    double least_turn_deg;    /* TORQUE: a fresh fastener turns at least so far; 0: not judged */
} bw_stage;

#endif
