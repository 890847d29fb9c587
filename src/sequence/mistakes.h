/* mistakes.h - what is wrong with a sequence, collected in one go.
 *
 * Room: sequence, private to it. */
#ifndef BW_SEQUENCE_MISTAKES_H
#define BW_SEQUENCE_MISTAKES_H

#include "base/arena.h"
#include "base/status.h"
#include "sequence/sequence.h"
#include "sequence/wire.h"

#include <stdbool.h>
#include <stddef.h>

/* Texts live in the arena.  What comes after BW_MISTAKES_MAX is counted and dropped. */
typedef struct bw_mistakes {
    bw_arena *arena;
    const char *const *file; /* [file_n] names of the sources, for messages */
    size_t file_n;
    size_t n;
    size_t dropped;
    bool memory_out;
    struct {
        bw_spot spot;
        const char *text;
    } list[BW_MISTAKES_MAX];
} bw_mistakes;

void bw_mistakes_init(bw_mistakes *mistakes, bw_arena *arena, const char *const *file,
                      size_t file_n);

/* The text is made printable; the same text at the same spot is noted once. */
void bw_mistake_add(bw_mistakes *mistakes, bw_spot spot, const char *format, ...) BW_PRINTF(3, 4);

/* Sorted by file as first met, then line, then as found. */
BW_MUST_USE bw_status bw_mistakes_take(bw_mistakes *mistakes, const bw_mistake **out, size_t *n,
                                       bw_err *err);

/* A spot's file is one that there is, its line 1 or more. */
bw_where bw_mistakes_where(const bw_mistakes *mistakes, bw_spot spot);

#endif
