/* nearest.c - see nearest.h. */
#include "base/nearest.h"

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

enum { NEAREST_MAX = 64 };

static size_t least(size_t a, size_t b) {
    return a < b ? a : b;
}

/* Optimal string alignment: changes, additions, omissions and swaps of neighbours. */
static size_t distance(const char *a, size_t a_len, const char *b, size_t b_len) {
    size_t row[3][NEAREST_MAX + 1];
    for (size_t j = 0; j <= b_len; j++) {
        row[0][j] = j;
        row[1][j] = 0;
        row[2][j] = 0;
    }
    size_t *before = row[2];
    size_t *last = row[0];
    size_t *now = row[1];
    for (size_t i = 1; i <= a_len; i++) {
        now[0] = i;
        for (size_t j = 1; j <= b_len; j++) {
            size_t change = last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
            now[j] = least(change, least(last[j], now[j - 1]) + 1);
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                now[j] = least(now[j], before[j - 2] + 1);
            }
        }
        size_t *oldest = before;
        before = last;
        last = now;
        now = oldest;
    }
    return last[b_len];
}

bw_nearest bw_nearest_to(const char *wanted) {
    return (bw_nearest){.wanted = wanted, .best = NULL, .best_len = 0, .best_distance = 0};
}

void bw_nearest_offer(bw_nearest *nearest, const char *candidate, size_t len) {
    size_t wanted_len = nearest->wanted == NULL ? SIZE_MAX : strlen(nearest->wanted);
    size_t allowed = least(2, (len + 1) / 3);
    bool long_enough = wanted_len + allowed >= len && len + allowed >= wanted_len;
    if (wanted_len > NEAREST_MAX || len > NEAREST_MAX || !long_enough) {
        return;
    }
    size_t d = distance(nearest->wanted, wanted_len, candidate, len);
    if (d <= allowed && (nearest->best == NULL || d < nearest->best_distance)) {
        nearest->best = candidate;
        nearest->best_len = len;
        nearest->best_distance = d;
    }
}
