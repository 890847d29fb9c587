/* base64.h - RFC 4648 section 4, read strictly: padding must be there, its spare bits must be
 * zero, and nothing else may stand between.  One text for one run of bytes.
 *
 * Room-private. */
#ifndef BW_RECORD_BASE64_H
#define BW_RECORD_BASE64_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Room that n bytes take as text, with the NUL. */
#define BW_BASE64_SIZE(n) (((n) + 2) / 3 * 4 + 1)

/* out has BW_BASE64_SIZE(n) bytes. */
void bw_base64(const uint8_t *bytes, size_t n, char *out);

/* False where text is not base64 or its bytes do not fit into size; out may hold anything then. */
bool bw_unbase64(const char *text, size_t len, uint8_t *out, size_t size, size_t *n);

#endif
