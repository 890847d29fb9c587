/* order.c - see order.h.
 *
 * Every order here is built by asking, place after place, which of those left comes next; a place
 * once taken is marked, so each is taken exactly once.  n is at most 512: n squared is cheap. */
#include "trade/order.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

static const double pi = 3.14159265358979323846;

/* Positions are typed from a drawing: closer than this they are the same (mm). */
static const double same_mm = 1e-3;
/* A row's places are in line within this (mm). */
static const double row_mm = 1.0;
/* A circle's places are on it within this share of its radius. */
static const double circle_share = 0.01;
/* Angles closer than this are the same (rad): a third of a degree. */
static const double same_rad = 6e-3;

/* The places seen from a middle. */
typedef struct field {
    size_t n;
    const bw_point *point;
    bw_point middle;
    double distance_mm[BW_ORDER_MAX];
    double angle_rad[BW_ORDER_MAX];
    double nearest_rad[BW_ORDER_MAX]; /* the smallest angle to a place done on this ring */
    bool taken[BW_ORDER_MAX];
} field;

static const char *const words[BW_ORDER_KIND_COUNT] = {
    [BW_ORDER_LISTED] = "listed", [BW_ORDER_SPIRAL] = "spiral", [BW_ORDER_CROSSWISE] = "crosswise",
    [BW_ORDER_ROWS] = "rows",     [BW_ORDER_RINGS] = "rings",
};

const char *bw_order_word(bw_order_kind kind) {
    return (unsigned)kind < BW_ORDER_KIND_COUNT ? words[kind] : NULL;
}

static double apart_mm(bw_point a, bw_point b) {
    return hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm);
}

/* The smaller angle between two directions, 0 to pi. */
static double apart_rad(double a, double b) {
    double d = fabs(fmod(a - b, 2 * pi));
    return d > pi ? 2 * pi - d : d;
}

static void look_from(field *f, const bw_point *point, size_t n, bw_point middle) {
    f->n = n;
    f->point = point;
    f->middle = middle;
    for (size_t i = 0; i < n; i++) {
        f->distance_mm[i] = apart_mm(point[i], middle);
        f->angle_rad[i] = atan2(point[i].y_mm - middle.y_mm, point[i].x_mm - middle.x_mm);
        f->taken[i] = false;
    }
}

/* The middle of the box around all places: the same however the places crowd on one side. */
static bw_point box_middle(const bw_point *point, size_t n) {
    bw_point least = point[0];
    bw_point most = point[0];
    for (size_t i = 1; i < n; i++) {
        least.x_mm = fmin(least.x_mm, point[i].x_mm);
        least.y_mm = fmin(least.y_mm, point[i].y_mm);
        most.x_mm = fmax(most.x_mm, point[i].x_mm);
        most.y_mm = fmax(most.y_mm, point[i].y_mm);
    }
    return (bw_point){(least.x_mm + most.x_mm) / 2, (least.y_mm + most.y_mm) / 2};
}

/* The innermost circle with places left on it: everything nearer than *outer_mm. */
static bool next_ring(const field *f, double *outer_mm) {
    double inner = (double)INFINITY;
    for (size_t i = 0; i < f->n; i++) {
        inner = !f->taken[i] && f->distance_mm[i] < inner ? f->distance_mm[i] : inner;
    }
    *outer_mm = inner + same_mm;
    return inner < (double)INFINITY;
}

static bool in_ring(const field *f, size_t i, double outer_mm) {
    return !f->taken[i] && f->distance_mm[i] <= outer_mm;
}

/* The first listed place left in the ring; n where there is none. */
static size_t first_in_ring(const field *f, double outer_mm) {
    size_t i = 0;
    while (i < f->n && !in_ring(f, i, outer_mm)) {
        i++;
    }
    return i;
}

/* The place left in the ring that is nearest to opposite `last`; n where there is none. */
static size_t opposite_in_ring(const field *f, size_t last, double outer_mm) {
    size_t best = f->n;
    double best_rad = (double)INFINITY;
    for (size_t i = 0; i < f->n; i++) {
        double off = apart_rad(f->angle_rad[i], f->angle_rad[last] + pi);
        if (in_ring(f, i, outer_mm) && off < best_rad - same_rad) {
            best = i;
            best_rad = off;
        }
    }
    return best;
}

static size_t take(field *f, size_t i, size_t *out, size_t k) {
    f->taken[i] = true;
    out[k] = i;
    return k + 1;
}

/* Pairs of opposite places, ring by ring. */
static void spiral(field *f, size_t *out) {
    size_t k = 0;
    double outer_mm = 0;
    while (next_ring(f, &outer_mm)) {
        for (size_t i = first_in_ring(f, outer_mm); i < f->n; i = first_in_ring(f, outer_mm)) {
            k = take(f, i, out, k);
            size_t other = opposite_in_ring(f, i, outer_mm);
            if (other < f->n) {
                k = take(f, other, out, k);
            }
        }
    }
}

/* The smallest angle between place i and those of out[from..to). */
static double nearest_rad(const field *f, size_t i, const size_t *out, size_t from, size_t to) {
    double nearest = (double)INFINITY;
    for (size_t k = from; k < to; k++) {
        nearest = fmin(nearest, apart_rad(f->angle_rad[i], f->angle_rad[out[k]]));
    }
    return nearest;
}

/* Each place's smallest angle to those done on the ring, once place `done` is. */
static void come_nearer(field *f, size_t done) {
    for (size_t i = 0; i < f->n; i++) {
        f->nearest_rad[i] = fmin(f->nearest_rad[i], apart_rad(f->angle_rad[i], f->angle_rad[done]));
    }
}

/* The place left in the ring that is farthest from all done on it; among equals the farthest from
 * the last pair, out[to - 2] and out[to - 1], then the first listed. */
static size_t farthest_in_ring(const field *f, double outer_mm, const size_t *out, size_t to) {
    size_t best = f->n;
    double best_all = -1;
    double best_pair = -1;
    for (size_t i = 0; i < f->n; i++) {
        if (!in_ring(f, i, outer_mm)) {
            continue;
        }
        double all = f->nearest_rad[i];
        double pair = nearest_rad(f, i, out, to - 2, to);
        bool as_far = fabs(all - best_all) <= same_rad;
        if (all > best_all + same_rad || (as_far && pair > best_pair + same_rad)) {
            best = i;
            best_all = all;
            best_pair = pair;
        }
    }
    return best;
}

/* One circle's places from out[from] on: pairs of opposites, each pair as far from the others as
 * can be.  Where nothing lies opposite (an odd number), always the place nearest to opposite: the
 * five-pointed star.  Returns the new count. */
static size_t cross_ring(field *f, double outer_mm, size_t *out, size_t from) {
    size_t k = from;
    bool paired = false; /* out[k - 1] closes a pair of opposites */
    size_t next = first_in_ring(f, outer_mm);
    for (size_t i = 0; i < f->n; i++) {
        f->nearest_rad[i] = (double)INFINITY;
    }
    while (next < f->n) {
        size_t last = k > from ? out[k - 1] : next;
        double apart = apart_rad(f->angle_rad[next], f->angle_rad[last]);
        paired = !paired && apart > pi - same_rad;
        k = take(f, next, out, k);
        come_nearer(f, next);
        next = paired ? farthest_in_ring(f, outer_mm, out, k) : opposite_in_ring(f, next, outer_mm);
    }
    return k;
}

static void rings(field *f, size_t *out) {
    size_t k = 0;
    double outer_mm = 0;
    while (next_ring(f, &outer_mm)) {
        k = cross_ring(f, outer_mm, out, k);
    }
}

/* Least squares circle through n >= 3 places, linear in (2a, 2b, r^2 - a^2 - b^2), about their
 * mean. False where they lie on a line. */
static bool circle_middle(const bw_point *point, size_t n, bw_point *middle) {
    bw_point mean = {0, 0};
    for (size_t i = 0; i < n; i++) {
        mean.x_mm += point[i].x_mm / (double)n;
        mean.y_mm += point[i].y_mm / (double)n;
    }
    double xx = 0;
    double xy = 0;
    double yy = 0;
    double xz = 0;
    double yz = 0;
    for (size_t i = 0; i < n; i++) {
        double x = point[i].x_mm - mean.x_mm;
        double y = point[i].y_mm - mean.y_mm;
        double z = x * x + y * y;
        xx += x * x;
        xy += x * y;
        yy += y * y;
        xz += x * z;
        yz += y * z;
    }
    double determinant = xx * yy - xy * xy;
    if (determinant <= 1e-9 * (xx + yy) * (xx + yy)) {
        return false;
    }
    middle->x_mm = mean.x_mm + (xz * yy - yz * xy) / (2 * determinant);
    middle->y_mm = mean.y_mm + (yz * xx - xz * xy) / (2 * determinant);
    return true;
}

static bool on_one_circle(const field *f) {
    double mean = 0;
    for (size_t i = 0; i < f->n; i++) {
        mean += f->distance_mm[i] / (double)f->n;
    }
    for (size_t i = 0; i < f->n; i++) {
        if (fabs(f->distance_mm[i] - mean) > circle_share * mean) {
            return false;
        }
    }
    return true;
}

static bw_status crosswise(field *f, const bw_point *point, size_t n, size_t *out, bw_err *err) {
    bw_point middle = box_middle(point, n);
    bool circle = n < 3 || circle_middle(point, n, &middle);
    look_from(f, point, n, middle);
    if (!circle || !on_one_circle(f)) {
        return bw_fail(err, BW_E_DATA,
                       "crosswise needs places on one circle: use spiral, rows or listed here");
    }
    (void)cross_ring(f, (double)INFINITY, out, 0);
    return BW_OK;
}

/* True where a place left is in line with one already marked in row. */
static bool joins_row(const field *f, const bool *row, size_t i) {
    for (size_t j = 0; j < f->n; j++) {
        if (row[j] && fabs(f->point[i].y_mm - f->point[j].y_mm) <= row_mm) {
            return true;
        }
    }
    return false;
}

/* Marks the row of the first place left: what is in line with it, or with one that is. */
static void mark_row(const field *f, bool *row) {
    memset(row, 0, BW_ORDER_MAX * sizeof *row);
    row[first_in_ring(f, (double)INFINITY)] = true;
    for (bool grown = true; grown;) {
        grown = false;
        for (size_t i = 0; i < f->n; i++) {
            if (!f->taken[i] && !row[i] && joins_row(f, row, i)) {
                row[i] = true;
                grown = true;
            }
        }
    }
}

/* The leftmost place left of the row; n where there is none. */
static size_t leftmost(const field *f, const bool *row) {
    size_t best = f->n;
    for (size_t i = 0; i < f->n; i++) {
        bool left = row[i] && !f->taken[i];
        if (left && (best == f->n || f->point[i].x_mm < f->point[best].x_mm)) {
            best = i;
        }
    }
    return best;
}

static void by_rows(field *f, size_t *out) {
    bool row[BW_ORDER_MAX];
    for (size_t k = 0; k < f->n;) {
        mark_row(f, row);
        for (size_t i = leftmost(f, row); i < f->n; i = leftmost(f, row)) {
            k = take(f, i, out, k);
        }
    }
}

static bw_status check_points(const bw_point *point, size_t n, bw_err *err) {
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(point[i].x_mm) || !isfinite(point[i].y_mm)) {
            return bw_fail(err, BW_E_DATA, "the position of place %zu is not finite", i + 1);
        }
        for (size_t j = 0; j < i; j++) {
            if (apart_mm(point[i], point[j]) <= same_mm) {
                return bw_fail(err, BW_E_DATA, "places %zu and %zu are at one spot", j + 1, i + 1);
            }
        }
    }
    return BW_OK;
}

bw_status bw_order_make(bw_order_kind kind, const bw_point *point, size_t n, size_t *out,
                        bw_err *err) {
    const char *word = bw_order_word(kind);
    if (word == NULL || n == 0 || n > BW_ORDER_MAX) {
        return bw_fail(err, BW_E_ARG, "an order needs 1 to %d places, not %zu", BW_ORDER_MAX, n);
    }
    if (kind == BW_ORDER_LISTED) {
        for (size_t i = 0; i < n; i++) {
            out[i] = i;
        }
        return BW_OK;
    }
    if (point == NULL) {
        return bw_fail(err, BW_E_ARG, "the order %s needs positions", word);
    }
    bw_status s = check_points(point, n, err);
    if (s != BW_OK) {
        return s;
    }
    field f;
    if (kind == BW_ORDER_CROSSWISE) {
        return crosswise(&f, point, n, out, err);
    }
    look_from(&f, point, n, box_middle(point, n));
    if (kind == BW_ORDER_SPIRAL) {
        spiral(&f, out);
    } else if (kind == BW_ORDER_RINGS) {
        rings(&f, out);
    } else {
        by_rows(&f, out);
    }
    return BW_OK;
}
