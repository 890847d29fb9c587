/* nearest.h - the known name that is nearest to one that was written.
 *
 * Room: base. */
#ifndef BW_BASE_NEAREST_H
#define BW_BASE_NEAREST_H

#include <stddef.h>

/* Keeps the best of the candidates that are offered.  A candidate counts where at most a third of
 * its letters, and no more than two, would have to be changed, added, left out or swapped. */
typedef struct bw_nearest {
    const char *wanted;
    const char *best; /* borrowed from the candidates; NULL: none is near */
    size_t best_len;
    size_t best_distance;
} bw_nearest;

/* wanted NULL: nothing is near to it. */
bw_nearest bw_nearest_to(const char *wanted);
void bw_nearest_offer(bw_nearest *nearest, const char *candidate, size_t len);

#endif
