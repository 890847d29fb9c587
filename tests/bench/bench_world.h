/* bench_world.h - groups of simulated fasteners for bench_judge: any size, joint, wrench and kind
 * of stage, drawn widely from a seed. */
#ifndef BW_BENCH_WORLD_H
#define BW_BENCH_WORLD_H

#include "rehearsal/trial.h"

/* What a group does: the kinds of stages, and what they are used for. */
typedef enum situation {
    TO_TORQUE = 0,
    TORQUE_AGAIN, /* a pass once more on purpose */
    LOCK_NUT,     /* to a torque above the prevailing one */
    SNUG_THEN_ANGLE,
    THEN_ANGLE,
    BACK_BY_ANGLE,
    BACK_TO_LOOSE,
    TO_YIELD,
    TO_STRETCH,
    TO_SLOT,
    CHECK_ROUND,
    RUN_DOWN,
    TURN_SHAFT,
    CREEP_UP,
    SITUATIONS
} situation;

const char *situation_name(situation s);

/* A group: the trial of its first fastener; the others differ by their seed. */
typedef struct world {
    situation is;
    bw_trial trial;
    double Nm_per_N;    /* torque over preload of a usual one of them */
    double yield_Nm;    /* torque at which a usual one of them yields */
    double gauge_mm;    /* standard deviation of a measured length */
    double standing_Nm; /* what the judge is told that they stand at */
} world;

world world_of(uint64_t seed, situation is);

#endif
