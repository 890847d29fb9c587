/* words.h - the words of the sequence language, known on both sides of the wall.
 *
 * Room: sequence, private to it.  The worker makes a Lua function of each word; the host knows
 * which fields each one takes, and which known word is nearest to an unknown one. */
#ifndef BW_SEQUENCE_WORDS_H
#define BW_SEQUENCE_WORDS_H

#include "base/nearest.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct bw_word {
    const char *word;
    bool declares;      /* a declaration of its own; else it stands inside of one */
    const char *fields; /* what it takes, space-separated, as in the reference */
    const char *list;   /* what stands in it without a name; NULL: nothing may */
} bw_word;

/* Static rows; NULL behind the last. */
const bw_word *bw_word_at(size_t index);
const bw_word *bw_word_find(const char *word);

/* Lua's own names that sequences keep: "pairs", "math" ...; NULL behind the last. */
const char *bw_lua_name_at(size_t index);

/* True where name is the i-th of the space-separated names; *len its length. */
const char *bw_name_in(const char *names, size_t index, size_t *len);
bool bw_name_among(const char *names, const char *name);

/* ---- the nearest known name ---- */

void bw_nearest_offer_names(bw_nearest *nearest, const char *names); /* space-separated */
void bw_nearest_offer_words(bw_nearest *nearest); /* all that a sequence may write */

#endif
