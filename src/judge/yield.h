/* yield.h - where the torque stops rising as it did: the onset of yield.
 *
 * Room: judge (pure, storage bounded).  Takes the curve's pieces in their order, and tells the
 * onset with the piece that shows it, so that the hand can stop. */
#ifndef BW_JUDGE_YIELD_H
#define BW_JUDGE_YIELD_H

#include "judge/curve.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { BW_YIELD_POINTS = 32 };

typedef struct bw_yield_point {
    double time_s;
    double turn_deg; /* of the joint, strokes put behind each other */
    double torque_Nm;
} bw_yield_point;

typedef struct bw_yield {
    double share;    /* of the steepest slope: there it yields */
    double from_Nm;  /* no onset below */
    double stood_Nm; /* under less torque than this nothing turns: highest before this stroke */
    uint32_t stroke;
    bool turning;     /* this stroke is past that */
    double base_deg;  /* handle angle, wind-up taken off, where the turn is 0 */
    double began_deg; /* the same, where this stroke began to turn */
    double highest_Nm;
    double steepest_Nm_per_deg; /* of all windows that were over before the newest began */
    size_t n;
    bw_yield_point point[BW_YIELD_POINTS]; /* the newest */
    bool found;
    double time_s, torque_Nm; /* of the onset */
} bw_yield;

/* stood_Nm: highest torque that was on the fastener before.  steepest_Nm_per_deg: of this attempt's
 * earlier pulls; 0: not known. */
void bw_yield_begin(bw_yield *yield, double share, double from_Nm, double stood_Nm,
                    double steepest_Nm_per_deg);

void bw_yield_take(bw_yield *yield, const bw_node *node, double windup_deg_per_Nm);

#endif
