/* pen.h - draws the trace of a pull as a curve of torque over turn.
 *
 * Room: face.  A curve begins where the wrench takes load and follows the turn forward under load:
 * ratchet strokes are put end to end, what comes back when the hand eases off is left out.  It is a
 * picture of the trace as the wrench gave it, wind-up included; the verdict's turn is the judge's
 * own. */
#ifndef BW_FACE_PEN_H
#define BW_FACE_PEN_H

#include "trade/trace.h"

typedef struct bw_pen {
    double forward; /* 1; -1 where the stage loosens: all is seen in a mirror */
    bool by_time;   /* the wrench gives no angle: over seconds, to the peak */
    size_t knots;   /* about so many are drawn of each pull; at least 1 */
    double turn;    /* how far it has come, under load; 0 to begin with */
    bool begun;     /* false to begin with */
    void *ctx;
    /* The next knot; torque_Nm NAN: the pen is lifted. */
    void (*knot)(void *ctx, double x, double torque_Nm);
} bw_pen;

/* False where a sample has no angle. */
bool bw_pen_has_angles(const bw_sample *sample, size_t n);

/* The next pull at the same fastener. */
void bw_pen_pull(bw_pen *pen, const bw_sample *sample, size_t n);

#endif
