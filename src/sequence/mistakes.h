/* mistakes.h - what is wrong with a sequence, collected in one go.
 *
 * Room: sequence, private to it. */
#ifndef BW_SEQUENCE_MISTAKES_H
#define BW_SEQUENCE_MISTAKES_H

#include "base/arena.h"
#include "base/status.h"
#include "sequence/sequence.h"
#include "sequence/wire.h"
#include "sequence/words.h"

#include <stdbool.h>
#include <stddef.h>

/* A stranger can make the same mistake in a loop.  So many times the nearest name is looked for,
 * and so many mistakes are looked at in all, most of which will have been known already. */
enum { BW_NEAREST_SEARCHES_MAX = 64, BW_MISTAKES_LOOKED_AT = 4096 };

/* So many lines of fields are remembered, and so much text is read to find them. */
enum { BW_LINES_KNOWN_MAX = 128, BW_LINES_KEY_MAX = 96, BW_LINES_READ_MAX = 8 << 20 };

typedef struct bw_known_line {
    bw_spot spot;
    char key[BW_LINES_KEY_MAX]; /* word, field and item */
    unsigned line;
} bw_known_line;

/* Texts live in the arena.  What comes after BW_MISTAKES_MAX is dropped, and that it was is told.
 */
typedef struct bw_mistakes {
    bw_arena *arena;
    const char *const *file; /* [file_n] names of the sources, for messages */
    size_t file_n;
    const bw_source *source; /* [file_n] their texts; NULL: not known */
    bw_known_line known[BW_LINES_KNOWN_MAX];
    size_t known_n;
    size_t read_bytes;
    size_t n;
    size_t searches;
    size_t looked_at;
    bool more;       /* at least one was dropped */
    bw_spot more_at; /* the first of these */
    bool memory_out;
    struct {
        bw_spot spot;
        const char *text;
    } list[BW_MISTAKES_MAX];
} bw_mistakes;

void bw_mistakes_init(bw_mistakes *mistakes, bw_arena *arena, const char *const *file,
                      size_t file_n);

/* No more will be kept: what is costly to put into words need not be. */
bool bw_mistakes_full(const bw_mistakes *mistakes);

/* A search for the name nearest to wanted, which finds nothing once too many were made. */
bw_nearest bw_mistakes_nearest(bw_mistakes *mistakes, const char *wanted);

/* The text is made printable; the same text at the same spot is noted once. */
void bw_mistake_add(bw_mistakes *mistakes, bw_spot spot, const char *format, ...) BW_PRINTF(3, 4);

/* Sorted by file as first met, then line, then as found; last, where there were more, that there
 * were. */
BW_MUST_USE bw_status bw_mistakes_take(bw_mistakes *mistakes, const bw_mistake **out, size_t *n,
                                       bw_err *err);

/* Where the field of `word{ ... }` at spot stands, or an item of it (see line_of.h); the spot
 * itself where the texts are not known or do not say. */
bw_spot bw_mistakes_at(bw_mistakes *mistakes, bw_spot spot, const char *word, const char *field,
                       size_t item);

/* A spot's file is one that there is, its line 1 or more. */
bw_where bw_mistakes_where(const bw_mistakes *mistakes, bw_spot spot);

#endif
