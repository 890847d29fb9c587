/* running.c - see running.h. */
#include "judge/running.h"

#include <math.h>

/* So far into a stroke handle and extension wind up and what stood still breaks away: 0.1 degree
 * per N.m under the 30 N.m of a large locking nut are three degrees, the slip behind breakaway is
 * below one (trouble.c), and one is what wrenches resolve. */
static const double breakaway_deg = 5.0;

/* Torque that is half as much again as the mean so far and stays so is the seat: a thread's locking
 * feature goes up and down by less, and rises over turns.  Beyond this turn no seat is without its
 * torque; it was the mean so far that said little. */
static const double seat_share = 1.5;
static const double seat_most_deg = 60.0;

static void add(bw_running *running, double step_deg, double torque_Nm) {
    running->work += step_deg * (running->last_Nm + torque_Nm) / 2;
    running->over_deg += step_deg;
    bool rises = running->seats &&
                 torque_Nm * running->kept_deg > seat_share * running->kept_work &&
                 running->over_deg - running->kept_deg < seat_most_deg;
    if (!rises) {
        running->kept_work = running->work;
        running->kept_deg = running->over_deg;
    }
}

void bw_running_take(bw_running *running, bool loaded, double travel_deg, double torque_Nm) {
    if (!loaded) {
        running->loaded = false;
        return;
    }
    if (!running->loaded) {
        running->loaded = true;
        running->furthest_deg = travel_deg;
    }
    double step_deg = travel_deg - fmax(running->furthest_deg, breakaway_deg);
    if (step_deg > 0) {
        add(running, step_deg, torque_Nm);
    }
    running->furthest_deg = fmax(running->furthest_deg, travel_deg);
    running->last_Nm = torque_Nm;
}

bool bw_running_mean(const bw_running *running, double before_Nm, double before_deg,
                     double *mean_Nm) {
    if (!(running->kept_deg > 0)) {
        return false;
    }
    *mean_Nm = (running->kept_work + before_Nm * before_deg) / (running->kept_deg + before_deg);
    return true;
}
