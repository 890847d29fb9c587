/* seen.h - what the bench remembers of its record outside of it: the newest checkpoint.
 *
 * Room-private.  Two files beside the record.  home/seen is the newest checkpoint note; a record
 * that does not reach it, or holds another history, is an old copy and is not added to.  home/edge
 * is the right edge of the tree at that checkpoint, so that opening a long record need not hash
 * what is signed; it is believed only where its root is the signed one, and may be deleted. */
#ifndef BW_RECORD_SEEN_H
#define BW_RECORD_SEEN_H

#include "base/status.h"
#include "record/key.h"
#include "record/tree.h"

#include <stdbool.h>

typedef struct bw_seen {
    uint64_t size; /* 0: nothing is remembered */
    bw_hash root;
} bw_seen;

/* BW_E_DATA where the file is no checkpoint: then nothing can be told, and nothing is written. */
BW_MUST_USE bw_status bw_seen_read(const char *home, bw_seen *out, bw_err *err);

/* The tree at `size` with that root, out of home/edge.  False where there is none that fits. */
bool bw_edge_read(const char *home, uint64_t size, const bw_hash *root, bw_tree *out);

/* Remembers note, and the tree that it is about.  Each file whole and flushed, or as it was. */
BW_MUST_USE bw_status bw_seen_write(const char *home, const char *note, const bw_tree *tree,
                                    bw_err *err);

#endif
