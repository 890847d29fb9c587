/* pen.c - see pen.h. */
#include "face/pen.h"

#include <math.h>

static const double load_share = 0.1; /* of the pull's peak: where a curve begins */

bool bw_pen_has_angles(const bw_sample *sample, size_t n) {
    for (size_t i = 0; i < n; i++) {
        if (!sample[i].has_angle) {
            return false;
        }
    }
    return true;
}

static double torque_of(const bw_pen *pen, const bw_sample *s) {
    return pen->forward * s->torque_Nm;
}

static size_t peak_of(const bw_pen *pen, const bw_sample *sample, size_t n) {
    size_t peak = 0;
    for (size_t i = 1; i < n; i++) {
        peak = torque_of(pen, &sample[i]) > torque_of(pen, &sample[peak]) ? i : peak;
    }
    return peak;
}

static double along(const bw_pen *pen, const bw_sample *s) {
    return pen->by_time ? s->time_s : pen->forward * s->angle_deg;
}

void bw_pen_pull(bw_pen *pen, const bw_sample *sample, size_t n) {
    if (n == 0) {
        return;
    }
    size_t peak = peak_of(pen, sample, n);
    double load_Nm = load_share * torque_of(pen, &sample[peak]);
    size_t every = n / pen->knots + 1;
    double at = pen->turn;
    double reached = pen->begun ? pen->turn : -INFINITY;
    size_t kept = 0;
    if (pen->begun) {
        pen->knot(pen->ctx, at, NAN);
    }
    for (size_t i = 0; i < n; i++) {
        double torque_Nm = torque_of(pen, &sample[i]);
        bool loaded = torque_Nm >= load_Nm && torque_Nm > 0;
        bool goes_on = i > 0 && torque_of(pen, &sample[i - 1]) >= load_Nm;
        at += loaded && goes_on ? along(pen, &sample[i]) - along(pen, &sample[i - 1]) : 0;
        if (!loaded || at < reached || (pen->by_time && i > peak)) {
            continue;
        }
        reached = at;
        pen->begun = true;
        if (kept % every == 0 || i == peak) {
            pen->knot(pen->ctx, at, torque_Nm);
        }
        kept++;
    }
    pen->turn = isfinite(reached) ? reached : pen->turn;
}
