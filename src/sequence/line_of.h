/* line_of.h - in which line of a sequence's text a field stands.
 *
 * Room: sequence, private to it.  Lua keeps the line of a call and not those of the fields in its
 * braces, so the text itself is looked at: only to name a line in a message. */
#ifndef BW_SEQUENCE_LINE_OF_H
#define BW_SEQUENCE_LINE_OF_H

#include <stddef.h>

/* The field of the one `word{ ... }` that begins in the given line; with item from 1 on that item
 * of the list in its braces, and with field NULL of the list in the word's own.  The given line
 * where the text does not say, or says it more than once. */
unsigned bw_line_of(const char *text, size_t len, unsigned line, const char *word,
                    const char *field, size_t item);

#endif
