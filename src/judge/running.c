/* running.c - see running.h. */
#include "judge/running.h"

#include <math.h>

/* So far into a stroke handle and extension wind up and what stood still breaks away: 0.1 degree
 * per N.m under the 30 N.m of a large locking nut are three degrees, the slip behind breakaway is
 * below one (trouble.c), and one is what wrenches resolve. */
static const double breakaway_deg = 5.0;

void bw_running_take(bw_running *running, bool loaded, double travel_deg, double torque_Nm) {
    if (!loaded) {
        running->loaded = false;
        return;
    }
    if (!running->loaded) {
        running->loaded = true;
        running->furthest_deg = travel_deg;
    } else if (travel_deg > running->furthest_deg) {
        double step_deg = travel_deg - fmax(running->furthest_deg, breakaway_deg);
        if (step_deg > 0) {
            running->work += step_deg * (running->last_Nm + torque_Nm) / 2;
            running->over_deg += step_deg;
        }
        running->furthest_deg = travel_deg;
    }
    running->last_Nm = torque_Nm;
}

bool bw_running_mean(const bw_running *running, double before_Nm, double before_deg,
                     double *mean_Nm) {
    if (!(running->over_deg > 0)) {
        return false;
    }
    *mean_Nm = (running->work + before_Nm * before_deg) / (running->over_deg + before_deg);
    return true;
}
