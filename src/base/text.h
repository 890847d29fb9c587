/* text.h - bounded text.
 *
 * Room: base.  A bw_text writes into the caller's buffer, always keeps a NUL at the end and never
 * writes past it; what does not fit is cut at a whole UTF-8 character and `cut` is set. */
#ifndef BW_BASE_TEXT_H
#define BW_BASE_TEXT_H

#include "base/status.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct bw_text {
    char *data;
    size_t size; /* of data, with the NUL */
    size_t len;
    bool cut;
} bw_text;

/* data: caller's storage of size >= 1 bytes. */
bw_text bw_text_on(char *data, size_t size);
void bw_text_add(bw_text *text, const char *format, ...) BW_PRINTF(2, 3);
void bw_text_add_v(bw_text *text, const char *format, va_list args) BW_PRINTF(2, 0);

/* Copies src (NUL-ended, may be NULL: then empty) into dst of size >= 1 bytes, cut at a whole
 * character.  Returns false where it was cut. */
bool bw_text_copy(char *dst, size_t size, const char *src);

/* True where the len bytes are well-formed UTF-8 (RFC 3629). */
bool bw_utf8_valid(const char *text, size_t len);

/* True where text is well-formed UTF-8 and carries nothing that can lie to a reader: no control
 * characters (C0, DEL, C1), no bidirectional controls, no zero-width or line-separator characters.
 * allow_newline lets 0A through. */
bool bw_text_printable(const char *text, size_t len, bool allow_newline);

/* Characters (code points) in text; for aligning columns. */
size_t bw_text_columns(const char *text);

/* How many of the first len bytes of text are whole characters, where the last one may have been
 * cut: len, or a few less.  text[len] is not read. */
size_t bw_utf8_whole(const char *text, size_t len);

/* Lower-case hex of n bytes into out, which has room for 2 n + 1. */
void bw_hex(const uint8_t *bytes, size_t n, char *out);

/* The other way: exactly 2 n hex digits of either case.  False, and out undefined, for anything
 * else. */
bool bw_unhex(const char *hex, uint8_t *out, size_t n);

#endif
