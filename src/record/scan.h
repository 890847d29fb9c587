/* scan.h - the parts of an entry's text, each expected in its one form.
 *
 * Room-private.  Where the form is not met the answer is just "not so", and where the scan stands
 * then is of no use. */
#ifndef BW_RECORD_SCAN_H
#define BW_RECORD_SCAN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct bw_scan {
    const char *at, *end;
    char *room, *room_end; /* for texts, which do not fit where they would go beyond it */
} bw_scan;

bool bw_scan_eat(bw_scan *s, char c);
bool bw_scan_word(bw_scan *s, const char *word, size_t len);

/* A text with its quotes, into the room, ended by a NUL.  lines: newlines and tabs may stand in it.
 */
bool bw_scan_text(bw_scan *s, bool lines, const char **out, size_t *len);

/* A list of words, into the room as one text. */
bool bw_scan_words(bw_scan *s, const char **out);

bool bw_scan_whole(bw_scan *s, int64_t *out);
bool bw_scan_number(bw_scan *s, double *out);
bool bw_scan_flag(bw_scan *s, bool *out);

#endif
