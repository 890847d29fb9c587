/* shaft.h - a simulated shaft in its bearings: the torque that keeps it turning.
 *
 * Room: rehearsal (pure).  Tests: tests/unit/rehearsal/test_shaft.c.
 *
 * From rest it takes more; while it turns the torque goes up and down about a mean.  Where a crush
 * sleeve sets its bearings, each bit that the nut is tightened presses them harder and the mean
 * rises; the sleeve stays crushed, so that only a new one ever brings it down again. */
#ifndef BW_REHEARSAL_SHAFT_H
#define BW_REHEARSAL_SHAFT_H

#include "rehearsal/fastener.h"
#include "trade/stage.h"

#include <stdbool.h>
#include <stdint.h>

typedef struct bw_shaft {
    double seal_Nm;    /* drag of seals and oil, whatever the preload */
    double drag_per_N; /* of the bearings, per N of their preload */
    double preload_N;
    double rest_share; /* at rest above that, a share */
    double rough;      /* how far it goes up and down in a turn, a share */
    double wave_deg;   /* within so much turn */
    double wave_at;    /* where in the turn it begins, 0 to 1 */
} bw_shaft;

/* Drawn from its key, its bearings set so that it drags about spec->drag_Nm: within 15 %, as two
 * shafts differ. */
bw_shaft bw_shaft_drawn(const bw_joint_spec *spec, uint64_t key);

/* The mean of its drag. */
double bw_shaft_drag_Nm(const bw_shaft *shaft);

/* Tightens the nut until it drags so much; what drags more already stays as it is. */
void bw_shaft_tighten(bw_shaft *shaft, double drag_Nm);

/* As a careful builder leaves it in a CREEP stage after so many bits, the sleeve new before the
 * first: first to a little below the stage's limits, then on by a part of the window between them;
 * never beyond the window's middle but by the last bit.  too_far: by one bit more than that.  The
 * stage's limits are finite. */
bw_shaft bw_shaft_crept(const bw_joint_spec *spec, uint64_t key, const bw_stage *stage,
                        unsigned bits, bool too_far);

/* The thing that a wrench turns: runs free without end. */
bw_fastener bw_shaft_turned(const bw_shaft *shaft);

#endif
