/* movement.c - see movement.h. */
#include "judge/movement.h"

#include <math.h>
#include <string.h>

/* Movement is what is beyond all that only looks like it: a gyro that drifts by 0.05 degree a
 * second for the ten seconds of a slow pull, and the steps of two readings of 0.1 degree. */
static const double moved_deg = 1.0;

/* Where movement is certain, it began when the travel left the wind-up by more than its own error:
 * the steps of the four readings behind it. */
static const double began_deg = 0.3;

/* A hundredth of the torque in hand is what wrenches are good for. */
static const double level_share = 0.01;
static const double level_least_Nm = 0.05;

void bw_movement_begin(bw_movement *movement, double from_Nm, double reference_Nm) {
    memset(movement, 0, sizeof *movement);
    movement->from_Nm = from_Nm;
    movement->width_Nm = fmax(level_share * reference_Nm, level_least_Nm);
}

static void widen(bw_movement *movement) {
    size_t n = 0;
    for (size_t i = 0; i < movement->n; i += 2) {
        movement->level[n++] = movement->level[i];
    }
    movement->n = n;
    movement->width_Nm *= 2;
}

static bool above_next(const bw_movement *movement, double torque_Nm) {
    return torque_Nm >= movement->from_Nm + (double)movement->n * movement->width_Nm;
}

void bw_movement_take(bw_movement *movement, double time_s, double travel_deg, double torque_Nm) {
    while (above_next(movement, torque_Nm)) {
        if (movement->n == BW_MOVEMENT_LEVELS) {
            widen(movement);
            continue;
        }
        movement->level[movement->n++] = (bw_level){time_s, travel_deg, torque_Nm,
                                                    movement->highest_Nm};
    }
    movement->highest_Nm = fmax(movement->highest_Nm, torque_Nm);
}

static double beyond_deg(const bw_movement *movement, size_t i, double windup_deg_per_Nm) {
    const bw_level *level = &movement->level[i];
    return level->travel_deg - windup_deg_per_Nm * (level->torque_Nm - movement->from_Nm);
}

bw_moved bw_movement_first(const bw_movement *movement, double windup_deg_per_Nm) {
    size_t i = 0;
    while (i < movement->n && !bw_movement_is(beyond_deg(movement, i, windup_deg_per_Nm))) {
        i++;
    }
    if (i == movement->n) {
        return (bw_moved){0};
    }
    while (i > 0 && beyond_deg(movement, i - 1, windup_deg_per_Nm) > began_deg) {
        i--;
    }
    return (bw_moved){true, movement->level[i].time_s, movement->level[i].before_Nm};
}

bool bw_movement_is(double turn_deg) {
    return turn_deg > moved_deg;
}
