/* pages.h - the display's files, inside the program.
 *
 * Room: face.  There is no file system behind them: what is not in the table is not there. */
#ifndef BW_FACE_DISPLAY_PAGES_H
#define BW_FACE_DISPLAY_PAGES_H

#include <stdbool.h>
#include <stddef.h>

typedef struct bw_page {
    const char *type;
    const unsigned char *data; /* static */
    size_t len;
    bool open; /* what a screen needs to pair; the others are for paired ones */
} bw_page;

/* The file served at a path, exactly as written; false where there is none. */
bool bw_page_at(const char *path, bw_page *out);

#endif
