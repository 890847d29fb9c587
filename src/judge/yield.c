/* yield.c - see yield.h. */
#include "judge/yield.h"

#include <math.h>
#include <string.h>

/* A fastener that stood at a torque does not turn below it; 5 % is what it may have settled. */
static const double stands_share = 0.95;

/* Sticking at up to 15 % above 100 N.m with 0.1 degree/N.m winds up by one and a half degrees; what
 * comes behind it is the curve. */
static const double breakaway_deg = 2.0;

/* Friction at rest is 2 to 15 % above that of turning; the noise of a piece is a third of this. */
static const double stuck_share = 0.015;

/* Slopes are taken over so much turn that a straight line rises by a twentieth of the torque in
 * hand: half of that, by which a bolt that yields stays behind, is 2.5 % and more than four times
 * what the noise of a wrench that suits the joint (1 %, over the samples of a degree) does to a
 * slope.  No less than three degrees: pieces of the curve are one degree wide. */
static const double window_share = 0.05;
static const double window_least_deg = 3.0;
enum { WINDOW_LEAST = 4, WINDOW_MOST = BW_YIELD_POINTS / 2 };

/* A steepest slope that raises the torque by less than this in a window is no stretch. */
static const double stretch_share = 0.02;

/* Less turn between two pieces is noise of the angle: the handle wound up, the joint stood. */
static const double step_least_deg = 0.25;

void bw_yield_begin(bw_yield *yield, double share, double from_Nm, double stood_Nm,
                    double steepest_Nm_per_deg) {
    memset(yield, 0, sizeof *yield);
    yield->share = share;
    yield->from_Nm = from_Nm;
    yield->highest_Nm = stood_Nm;
    yield->steepest_Nm_per_deg = steepest_Nm_per_deg;
}

static double newest_deg(const bw_yield *yield) {
    return yield->n > 0 ? yield->point[yield->n - 1].turn_deg : 0;
}

/* False where this stroke has not yet got the fastener going. */
static bool turns(bw_yield *yield, const bw_node *node, double handle_deg) {
    if (node->stroke != yield->stroke) {
        yield->stroke = node->stroke;
        yield->stood_Nm = yield->highest_Nm;
        yield->turning = false;
    }
    if (!yield->turning && node->torque_Nm >= stands_share * yield->stood_Nm) {
        yield->turning = true;
        yield->began_deg = handle_deg;
        yield->base_deg = handle_deg - newest_deg(yield);
    }
    yield->highest_Nm = fmax(yield->highest_Nm, node->torque_Nm);
    return yield->turning && handle_deg - yield->began_deg >= breakaway_deg;
}

/* A hand that halts lets it stick.  Points that stand above the newest by as much as friction at
 * rest does were sticking, and the one before them is a mean over turning and sticking. */
static void leave_out_stuck(bw_yield *yield, double torque_Nm) {
    size_t n = yield->n;
    while (n > 0 && yield->point[n - 1].torque_Nm > (1 + stuck_share) * torque_Nm) {
        n--;
    }
    yield->n = n < yield->n && n > 0 ? n - 1 : n;
}

/* A torque that was a little higher before than it is now was noise, or it falls: the lower one is
 * what the stretch gives. */
static void keep(bw_yield *yield, const bw_yield_point *point) {
    leave_out_stuck(yield, point->torque_Nm);
    if (yield->n == BW_YIELD_POINTS) {
        yield->n--;
        memmove(yield->point, yield->point + 1, yield->n * sizeof *yield->point);
    }
    yield->point[yield->n++] = *point;
    for (size_t i = yield->n - 1; i-- > 0;) {
        yield->point[i].torque_Nm = fmin(yield->point[i].torque_Nm, point->torque_Nm);
    }
}

/* Where the window begins that ends with point `last`; false where there are too few before it. */
static bool window_from(const bw_yield *yield, size_t last, double width_deg, size_t *from) {
    for (size_t n = WINDOW_LEAST - 1; n <= last && n < WINDOW_MOST; n++) {
        *from = last - n;
        if (yield->point[last].turn_deg - yield->point[*from].turn_deg >= width_deg) {
            return true;
        }
    }
    return last + 1 >= WINDOW_MOST;
}

/* Least squares from point i to j, N.m per degree. */
static double slope(const bw_yield *yield, size_t i, size_t j) {
    double n = (double)(j - i + 1);
    double mean_deg = 0;
    double mean_Nm = 0;
    double both = 0;
    double square = 0;
    for (size_t k = i; k <= j; k++) {
        mean_deg += yield->point[k].turn_deg / n;
        mean_Nm += yield->point[k].torque_Nm / n;
    }
    for (size_t k = i; k <= j; k++) {
        double off_deg = yield->point[k].turn_deg - mean_deg;
        both += off_deg * (yield->point[k].torque_Nm - mean_Nm);
        square += off_deg * off_deg;
    }
    return both / square; /* turns differ by a step at least */
}

static double window_deg(const bw_yield *yield) {
    double steepest = yield->steepest_Nm_per_deg;
    return steepest > 0 ? fmax(window_least_deg, window_share * yield->highest_Nm / steepest)
                        : window_least_deg;
}

/* The newest window against the steepest before it, which is taken over twice as much: what is left
 * of sticking in one piece is less there.  Its later half must be as flat: a bump of
 * friction at its beginning makes a window flat, but not that half. */
static void look(bw_yield *yield) {
    size_t last = yield->n - 1;
    double width_deg = window_deg(yield);
    size_t from = 0;
    size_t before = 0;
    if (!window_from(yield, last, width_deg, &from)) {
        return;
    }
    if (window_from(yield, from, 2 * width_deg, &before)) {
        yield->steepest_Nm_per_deg = fmax(yield->steepest_Nm_per_deg, slope(yield, before, from));
    }
    size_t middle = from + (last - from) / 2;
    const bw_yield_point *at = &yield->point[middle];
    double flat = yield->share * yield->steepest_Nm_per_deg;
    bool stretched = yield->steepest_Nm_per_deg * width_deg > stretch_share * yield->highest_Nm;
    if (stretched && at->torque_Nm >= yield->from_Nm && slope(yield, from, last) <= flat &&
        slope(yield, middle, last) <= flat) {
        yield->found = true;
        yield->time_s = at->time_s;
        yield->torque_Nm = at->torque_Nm;
    }
}

void bw_yield_take(bw_yield *yield, const bw_node *node, double windup_deg_per_Nm) {
    double handle_deg = node->angle_deg - windup_deg_per_Nm * node->torque_Nm;
    if (yield->found || !turns(yield, node, handle_deg)) {
        return;
    }
    double turn_deg = handle_deg - yield->base_deg;
    if (turn_deg - newest_deg(yield) < step_least_deg) {
        return;
    }
    keep(yield, &(bw_yield_point){node->time_s, turn_deg, node->torque_Nm});
    look(yield);
}
