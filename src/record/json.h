/* json.h - the one JSON text of an entry, and what a text in the record may hold.
 *
 * Room-private.  Members sorted by the bytes of their names, no spaces, numbers by bw_number_text
 * (whole numbers by their digits), only the escapes that JSON demands. */
#ifndef BW_RECORD_JSON_H
#define BW_RECORD_JSON_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

/* Writes at most size bytes to out (which may be NULL where size is 0) and sets *len to what the
 * whole text takes.  No NUL at the end.  object holds texts, numbers, flags and lists of texts.
 * False where memory ran out. */
bool bw_json_text(json_t *object, char *out, size_t size, size_t *len);

/* True where a person can read text as it stands: bw_text_printable; lines lets newlines and tabs
 * through. */
bool bw_json_readable(const char *text, size_t len, bool lines);

#endif
