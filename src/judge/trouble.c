/* trouble.c - see trouble.h. */
#include "judge/trouble.h"

#include <math.h>
#include <string.h>

static const double stroke_over_share = 0.6; /* as in judge.c */

/* When a fastener breaks away, the torque falls by its friction at rest: to 1 / 1.15 = 0.87 of the
 * peak, and noise.  What is below this is not friction. */
static const double fallen_share = 0.8;

/* A hand that lets go does not turn on, and what it gives back is wind-up.  Turned on by so much
 * with the torque gone is neither drift (half a degree in ten seconds) nor the slip behind
 * breakaway (15 % of 60 N.m with 0.1 degree/N.m: 0.9).  Between two samples of a slow wrench a hand
 * goes on as fast as it went before, so much comes on top. */
static const double turned_on_deg = 3.0;

/* A bolt that breaks is at rest at once, and the handle goes on without load; a hand that lets go
 * gives back the wind-up, or stands still for as long as a hand takes to turn round. */
static const double flies_on_s = 0.5;
static const double given_back_deg = 0.5;

/* Where a thread is run down, torque comes and goes; what is stripped, slips or breaks has been
 * under at least half of its torque. */
static const double drop_from_share = 0.5;
static const double drop_from_thresholds = 4.0;

/* A ratchet's pawl drags with less than this while it swings back, and a tight fastener needs more
 * than half of its torque to come loose. */
static const double back_share = 0.2;
static const double back_least_Nm = 2.0;

/* What wrenches resolve, twice: the turn back is taken between equal torques, as in judge.h. */
static const double turned_back_deg = 2.0;

void bw_trouble_begin(bw_trouble *trouble, double threshold_Nm, double reference_Nm) {
    memset(trouble, 0, sizeof *trouble);
    trouble->threshold_Nm = threshold_Nm;
    trouble->reference_Nm = reference_Nm;
}

/* ---- falling ---- */

static void hold(bw_trouble *t, const bw_sample *now) {
    double passed_s = now->time_s - t->last.time_s;
    if (t->begun && !t->fallen && passed_s > 0) {
        t->fastest_deg_per_s = fmax(t->fastest_deg_per_s,
                                    (now->angle_deg - t->last.angle_deg) / passed_s);
    }
    t->held_s = now->time_s;
    t->held_deg = now->angle_deg;
    t->fallen = false;
}

static void fall(bw_trouble *t, const bw_sample *now) {
    double from_Nm = fmax(drop_from_share * t->reference_Nm,
                          drop_from_thresholds * t->threshold_Nm);
    if (!t->fallen) {
        t->fallen = true;
        t->hand_deg = t->fastest_deg_per_s * (now->time_s - t->held_s);
    }
    if (!t->dropped && t->peak_Nm >= from_Nm &&
        now->angle_deg - t->held_deg > turned_on_deg + t->hand_deg) {
        t->dropped = true;
        t->dropped_s = t->held_s;
    }
}

static void watch_fall(bw_trouble *t, const bw_sample *now) {
    t->peak_Nm = fmax(t->peak_Nm, fmin(t->last.torque_Nm, now->torque_Nm));
    if (now->torque_Nm >= fallen_share * t->peak_Nm) {
        hold(t, now);
    } else {
        fall(t, now);
    }
    bool flies_on = t->fallen && now->time_s - t->held_s <= flies_on_s &&
                    now->angle_deg >= t->held_deg - given_back_deg;
    if (now->torque_Nm < stroke_over_share * t->threshold_Nm && !flies_on) {
        t->peak_Nm = 0;
        t->fastest_deg_per_s = 0;
        t->fallen = false;
    }
}

/* ---- backward ---- */

static double crossing_deg(const bw_sample *a, const bw_sample *b, double torque_Nm) {
    double rise_Nm = b->torque_Nm - a->torque_Nm;
    double share = rise_Nm == 0.0 ? 1.0 : (torque_Nm - a->torque_Nm) / rise_Nm;
    return a->angle_deg + share * (b->angle_deg - a->angle_deg);
}

static void end_backward(bw_trouble *t, double mark_Nm, const bw_sample *now) {
    t->backward = now->torque_Nm <= stroke_over_share * mark_Nm;
    if (!t->backward && !t->loosened && t->back_from_deg - t->back_to_deg >= turned_back_deg) {
        t->loosened = true;
        t->loosened_s = t->last.time_s;
    }
}

static void watch_backward(bw_trouble *t, const bw_sample *now) {
    const bw_sample *before = t->begun ? &t->last : now;
    double mark_Nm = -fmax(back_share * t->reference_Nm, back_least_Nm);
    if (!t->backward && now->torque_Nm <= mark_Nm) {
        t->backward = true;
        t->back_from_deg = crossing_deg(before, now, mark_Nm);
        t->back_to_deg = t->back_from_deg;
    }
    if (!t->backward) {
        return;
    }
    if (before->torque_Nm <= mark_Nm && now->torque_Nm > mark_Nm) {
        t->back_to_deg = crossing_deg(before, now, mark_Nm);
    }
    end_backward(t, mark_Nm, now);
}

void bw_trouble_take(bw_trouble *trouble, const bw_sample *sample) {
    if (!sample->has_angle) {
        return;
    }
    watch_fall(trouble, sample);
    watch_backward(trouble, sample);
    trouble->begun = true;
    trouble->last = *sample;
}
