/* pattern.c - see pattern.h. */
#include "trade/pattern.h"

#include <math.h>
#include <string.h>

/* The two banks of one casting are drawn, not measured: counterparts lie within this (mm). */
static const double counterpart_mm = 0.5;

void bw_order_reverse(const size_t *order, size_t n, size_t *out) {
    for (size_t i = 0, j = n; i < j--; i++) {
        size_t first = order[i];
        out[i] = order[j];
        out[j] = first;
    }
}

/* The place at (x, y); n where there is none. */
static size_t place_at(const bw_point *point, size_t n, double x_mm, double y_mm) {
    size_t i = 0;
    while (i < n && hypot(point[i].x_mm - x_mm, point[i].y_mm - y_mm) > counterpart_mm) {
        i++;
    }
    return i;
}

bw_status bw_order_mirror(const bw_point *point, size_t n, const size_t *order, size_t *out,
                          bw_err *err) {
    double least = point[0].x_mm;
    double most = least;
    for (size_t i = 1; i < n; i++) {
        least = fmin(least, point[i].x_mm);
        most = fmax(most, point[i].x_mm);
    }
    for (size_t k = 0; k < n; k++) {
        bw_point p = point[order[k]];
        size_t other = place_at(point, n, least + most - p.x_mm, p.y_mm);
        if (other == n) {
            return bw_fail(
                err, BW_E_DATA,
                "place %zu has no counterpart in the mirror: list the order of this bank",
                order[k] + 1);
        }
        out[k] = other;
    }
    return BW_OK;
}

bw_status bw_order_in_groups(bw_order_kind kind, const bw_point *point, size_t n, size_t group_n,
                             size_t *out, bw_err *err) {
    if (group_n == 0 || n == 0 || n > BW_ORDER_MAX) {
        return bw_fail(err, BW_E_ARG, "groups need 1 to %d places and one or more in a group",
                       BW_ORDER_MAX);
    }
    bw_point middle[BW_ORDER_MAX];
    size_t groups = 0;
    for (size_t first = 0; first < n; first += group_n) {
        size_t end = n - first < group_n ? n : first + group_n;
        bw_point sum = {0, 0};
        for (size_t i = first; i < end; i++) {
            sum.x_mm += point[i].x_mm / (double)(end - first);
            sum.y_mm += point[i].y_mm / (double)(end - first);
        }
        middle[groups++] = sum;
    }
    size_t group[BW_ORDER_MAX];
    bw_status s = bw_order_make(kind, middle, groups, group, err);
    size_t k = 0;
    for (size_t g = 0; s == BW_OK && g < groups; g++) {
        size_t first = group[g] * group_n;
        for (size_t i = first; i < n && i < first + group_n; i++) {
            out[k++] = i;
        }
    }
    return s;
}

static const bw_flange_pattern patterns[] = {
    {"legacy",
     4,
     {{20, 30, true, false},
      {50, 70, true, false},
      {100, 100, true, false},
      {100, 100, false, true}},
     "ASME PCC-1, legacy cross pattern, from memory, not seen"},
    {"three_rounds",
     4,
     {{30, 30, true, false},
      {60, 60, true, false},
      {100, 100, true, false},
      {100, 100, true, true}},
     "flange maker's instruction, seen: 30, 60, 100 %, again until no nut turns"},
    {"five_rounds",
     5,
     {{25, 25, true, false},
      {50, 50, true, false},
      {75, 75, true, false},
      {100, 100, true, false},
      {100, 100, true, false}},
     "flange procedure, seen: 25, 50, 75, 100, 100 %"},
};

enum { PATTERN_N = sizeof patterns / sizeof patterns[0] };

const bw_flange_pattern *bw_flange_pattern_at(size_t index) {
    return index < PATTERN_N ? &patterns[index] : NULL;
}

bw_status bw_flange_pattern_find(const char *name, const bw_flange_pattern **out, bw_err *err) {
    for (size_t i = 0; i < PATTERN_N; i++) {
        if (strcmp(patterns[i].name, name) == 0) {
            *out = &patterns[i];
            return BW_OK;
        }
    }
    return bw_fail(
        err, BW_E_DATA,
        "no flange pattern is called '%s': legacy, three_rounds or five_rounds is needed", name);
}
