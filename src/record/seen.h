/* seen.h - what the bench remembers of its record outside of it: the newest checkpoint.
 *
 * Room-private.  Two files beside the record, and one elsewhere.  home/seen is the newest
 * checkpoint note; a record that does not reach it, or holds another history, is an old copy and is
 * not added to.  home/edge is the right edge of the tree at that checkpoint, so that opening a long
 * record need not hash what is signed; it is believed only where its root is the signed one, and
 * may be deleted.  A third file has the same checkpoint outside of the home folder, so that a whole
 * folder that is put back is noticed too; its name stands for this home and this record, so that a
 * copy of the folder at another place is another bench. */
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

/* The third file's path in out of BW_PATH_MAX bytes: in folder `state`, by the home's real path and
 * the leaf hash of the record's first entry.  BW_E_IO where home has no real path. */
BW_MUST_USE bw_status bw_seen_elsewhere(const char *state, const char *home, const bw_hash *first,
                                        char *out, bw_err *err);

/* One that is not there: nothing is remembered.
 * BW_E_DATA where the file is no checkpoint: then nothing can be told, and nothing is written. */
BW_MUST_USE bw_status bw_seen_read(const char *path, bw_seen *out, bw_err *err);

/* The tree at `size` with that root, out of home/edge.  False where there is none that fits. */
bool bw_edge_read(const char *home, uint64_t size, const bw_hash *root, bw_tree *out);

/* Remembers note at such a path; the folder is made where it is missing. */
BW_MUST_USE bw_status bw_seen_write_at(const char *path, const char *note, bw_err *err);

/* Remembers note, and the tree that it is about.  Each file whole and flushed, or as it was. */
BW_MUST_USE bw_status bw_seen_write(const char *home, const char *note, const bw_tree *tree,
                                    bw_err *err);

#endif
