/* answer.h - what the simulated builder reads off a gauge.
 *
 * Room: rehearsal (pure). */
#ifndef BW_REHEARSAL_ANSWER_H
#define BW_REHEARSAL_ANSWER_H

#include "base/status.h"
#include "trade/units.h"

#include <stddef.h>
#include <stdint.h>

/* The readings of one set. */
typedef struct bw_answer_set {
    const char *step, *set; /* names, for the key */
    bw_unit unit;           /* read in */
    int decimals;           /* what the gauge shows, 0 to 12 */
    double least, most;     /* plausible, in the base unit, least <= most */
} bw_answer_set;

/* A reading near the middle of the plausible range: within 5 % of the range's width, of which 4 %
 * are common to the set (another part) and 1 % the point's own (taper, out of round), so that
 * differences within a part stay small.  Rounded as the gauge shows it, never outside of the range
 * for that unless no such number is inside.
 *
 * at    where it was taken: a name, for the key
 * out   the number in the set's unit, without the unit, with a point; returned.  size >= 40 */
const char *bw_answer_reading(uint64_t seed, const bw_answer_set *set, const char *at, char *out,
                              size_t size);

/* A length of length_mm as a micrometer for bolts shows it: to 0.001 mm or 0.0001 in, within 0.0015
 * mm of the truth.  unit is one of length.
 *
 * key   what the error of the reading is drawn from
 * out   the number in that unit, without the unit, with a point; returned.  size >= 40 */
const char *bw_answer_length(uint64_t key, double length_mm, bw_unit unit, char *out, size_t size);

#endif
