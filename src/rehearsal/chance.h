/* chance.h - numbers that look random and are the same every time.
 *
 * Room: rehearsal (no clock, no global).  The generator is SplitMix64 (Steele, Lea and Flood,
 * "Fast splittable pseudorandom number generators", OOPSLA 2014): a counter that goes on by an odd
 * constant, and a mixing of its bits.  Texts enter a key by FNV-1a with 64 bits.
 *
 * A rehearsal that was killed goes on in another process.  So nothing draws from a stream that
 * runs on over the whole rehearsal: each thing makes its own key from the seed and its name
 * (group, fastener, step, attempt ...), and draws from there. */
#ifndef BW_REHEARSAL_CHANCE_H
#define BW_REHEARSAL_CHANCE_H

#include <stdint.h>

typedef struct bw_chance {
    uint64_t state;
} bw_chance;

/* A key that depends on every bit of the old one and of what is added.  text NULL is as "". */
uint64_t bw_chance_key_text(uint64_t key, const char *text);
uint64_t bw_chance_key_number(uint64_t key, uint64_t number);

uint64_t bw_chance_next(bw_chance *chance);

/* In [least, most): 53 bits of it. */
double bw_chance_between(bw_chance *chance, double least, double most);

/* Mean 0, standard deviation 1, never beyond +-6: the sum of twelve uniform numbers, less 6.  Plain
 * additions, so that it is the same on every machine. */
double bw_chance_normal(bw_chance *chance);

#endif
