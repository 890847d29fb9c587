/* reader.h - many entries read one after the other.
 *
 * Room-private.  As bw_entry_decode, some twenty times quicker for entries in their usual form:
 * that is, of a known kind, with known members and numbers between a thousandth and 10^15; and
 * quicker still where they are like the one before of their kind.
 * Everything else, and everything that is wrong, goes to bw_entry_decode, which tells what. */
#ifndef BW_RECORD_READER_H
#define BW_RECORD_READER_H

#include "record/entry.h"

typedef struct bw_reader bw_reader;

/* NULL where memory is out.  Freed by bw_reader_free (NULL: no-op). */
bw_reader *bw_reader_new(void);
void bw_reader_free(bw_reader *reader);

/* As bw_entry_decode; *out is the reader's, and valid until the next call.  Its number is whatever
 * the caller makes it. */
BW_MUST_USE bw_status bw_reader_decode(bw_reader *reader, const char *json, size_t len,
                                       bw_entry **out, bw_err *err);

/* The quick way alone, for its tests: false where the entry is not in its usual form. */
bool bw_reader_quick(bw_reader *reader, const char *json, size_t len, bw_entry **out);

#endif
