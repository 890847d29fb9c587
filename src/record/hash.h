/* hash.h - SHA-256 with a context that is used again and again.
 *
 * Room-private.  A one-shot hash spends half of its time on fetching the algorithm; who hashes a
 * whole record keeps a hasher.  Where a hasher is asked for, NULL is not allowed. */
#ifndef BW_RECORD_HASH_H
#define BW_RECORD_HASH_H

#include "record/tree.h"

typedef struct bw_hasher bw_hasher;

/* NULL where memory is out or the library has no SHA-256.  Freed by bw_hasher_free (NULL: no-op).
 */
bw_hasher *bw_hasher_new(void);
void bw_hasher_free(bw_hasher *hasher);

typedef struct bw_piece {
    const void *data;
    size_t len;
} bw_piece;

/* SHA-256 over the n pieces one behind the other. */
BW_MUST_USE bw_status bw_hasher_sum(bw_hasher *hasher, const bw_piece *piece, size_t n,
                                    bw_hash *out);

/* As the functions of tree.h of nearly the same names. */
BW_MUST_USE bw_status bw_hasher_leaf(bw_hasher *hasher, const void *data, size_t len, bw_hash *out);
BW_MUST_USE bw_status bw_hasher_node(bw_hasher *hasher, const bw_hash *left, const bw_hash *right,
                                     bw_hash *out);
BW_MUST_USE bw_status bw_hasher_append(bw_hasher *hasher, bw_tree *tree, const bw_hash *leaf);
BW_MUST_USE bw_status bw_hasher_root(bw_hasher *hasher, const bw_tree *tree, bw_hash *out);

#endif
