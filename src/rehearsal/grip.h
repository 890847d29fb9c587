/* grip.h - a wrench on a fastener: a spring between the handle and a thing that sticks and slips.
 *
 * Room: rehearsal (pure).  The handle goes forward by so many degrees; while the fastener sticks,
 * wrench and extension wind up and only the torque rises; past its breakaway torque the fastener
 * slips on until the torque that is left just keeps it turning. */
#ifndef BW_REHEARSAL_GRIP_H
#define BW_REHEARSAL_GRIP_H

#include "rehearsal/joint.h"

#include <stdbool.h>

typedef struct bw_grip {
    bw_fastener fastener;
    bool loosens; /* it is turned back: all that follows counts that way */
    double windup_deg_per_Nm;
    double handle_deg; /* forward, since the socket was put on; back-swing is not the grip's */
    double turned_deg; /* of this, the fastener's part */
    double torque_Nm;
    bool turning;
} bw_grip;

/* windup_deg_per_Nm >= 0; a wrench that does not wind up at all is taken as 0.001. */
bw_grip bw_grip_on(const bw_fastener *fastener, double windup_deg_per_Nm, bool loosens);

/* The torque that keeps the fastener turning the way the grip goes, and that sets it going. */
double bw_grip_turning_Nm(const bw_grip *grip);
double bw_grip_breakaway_Nm(const bw_grip *grip);

/* The handle goes forward by deg >= 0; 0: it stops, and so does the fastener. */
void bw_grip_forward(bw_grip *grip, double deg);

/* The hand eases to torque_Nm, at most what is on; the fastener stays where it is. */
void bw_grip_ease(bw_grip *grip, double torque_Nm);

#endif
