/* grip.c - see grip.h. */
#include "rehearsal/grip.h"

#include <math.h>

static const double windup_least = 0.001;

enum { HALVINGS = 50 };

bw_grip bw_grip_on(const bw_fastener *fastener, double windup_deg_per_Nm, bool loosens) {
    return (bw_grip){.fastener = *fastener,
                     .loosens = loosens,
                     .windup_deg_per_Nm = fmax(windup_deg_per_Nm, windup_least)};
}

static double needed_Nm(const bw_grip *grip, const bw_fastener *f) {
    return grip->loosens ? bw_fastener_loosening_Nm(f) : bw_fastener_turning_Nm(f);
}

double bw_grip_turning_Nm(const bw_grip *grip) {
    return needed_Nm(grip, &grip->fastener);
}

double bw_grip_breakaway_Nm(const bw_grip *grip) {
    return grip->loosens ? bw_fastener_back_breakaway_Nm(&grip->fastener)
                         : bw_fastener_breakaway_Nm(&grip->fastener);
}

static void turn(const bw_grip *grip, bw_fastener *f, double deg) {
    if (grip->loosens) {
        bw_fastener_back(f, deg);
    } else {
        bw_fastener_turn(f, deg);
    }
}

static double wound_Nm(const bw_grip *grip, double turned_deg) {
    return (grip->handle_deg - turned_deg) / grip->windup_deg_per_Nm;
}

/* Finds how far the fastener turns until the spring no longer turns it: the spring's torque falls
 * with the turn, the fastener's rises, or falls more slowly. */
static void slip(bw_grip *grip) {
    double least = 0;
    double most = grip->handle_deg - grip->turned_deg;
    for (int i = 0; i < HALVINGS; i++) {
        double deg = (least + most) / 2;
        bw_fastener there = grip->fastener;
        turn(grip, &there, deg);
        if (needed_Nm(grip, &there) < wound_Nm(grip, grip->turned_deg + deg)) {
            least = deg;
        } else {
            most = deg;
        }
    }
    turn(grip, &grip->fastener, most);
    grip->turned_deg += most;
}

void bw_grip_forward(bw_grip *grip, double deg) {
    grip->handle_deg += deg;
    double holds_Nm = grip->turning ? bw_grip_turning_Nm(grip) : bw_grip_breakaway_Nm(grip);
    bool slips = deg > 0 && wound_Nm(grip, grip->turned_deg) > holds_Nm;
    if (slips) {
        slip(grip);
    }
    grip->turning = slips;
    grip->torque_Nm = wound_Nm(grip, grip->turned_deg);
}

void bw_grip_ease(bw_grip *grip, double torque_Nm) {
    grip->torque_Nm = fmin(torque_Nm, grip->torque_Nm);
    grip->handle_deg = grip->turned_deg + grip->windup_deg_per_Nm * grip->torque_Nm;
    grip->turning = false;
}
