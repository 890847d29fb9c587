/* movement.h - the torque at which a tightened fastener first moves.
 *
 * Room: judge (pure; storage is bounded).  Until it moves, all that the handle travels is wind-up,
 * and how much that is shows only when the hand lets go.  So the angle at which each level of
 * torque was first reached is kept, and looked at in the end. */
#ifndef BW_JUDGE_MOVEMENT_H
#define BW_JUDGE_MOVEMENT_H

#include <stdbool.h>
#include <stddef.h>

enum { BW_MOVEMENT_LEVELS = 128 };

/* A level when it was first reached. */
typedef struct bw_level {
    double time_s;
    double travel_deg; /* of the handle */
    double torque_Nm;  /* of the sample that reached it */
    double before_Nm;  /* highest before that sample */
} bw_level;

typedef struct bw_movement {
    double from_Nm;  /* of the lowest level */
    double width_Nm; /* between levels: doubles when there is no room */
    double highest_Nm;
    size_t n;
    bw_level level[BW_MOVEMENT_LEVELS];
} bw_movement;

/* reference_Nm: the torque that the stage is about; 0: not known. */
void bw_movement_begin(bw_movement *movement, double from_Nm, double reference_Nm);

/* A sample under load: travel_deg of the handle since from_Nm was first passed. */
void bw_movement_take(bw_movement *movement, double time_s, double travel_deg, double torque_Nm);

typedef struct bw_moved {
    bool found;
    double time_s;
    double torque_Nm; /* the highest before it moved */
} bw_moved;

/* Where the travel first went beyond the wind-up. */
bw_moved bw_movement_first(const bw_movement *movement, double windup_deg_per_Nm);

/* Whether so much turn is movement at all. */
bool bw_movement_is(double turn_deg);

#endif
