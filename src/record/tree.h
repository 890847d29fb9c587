/* tree.h - the Merkle tree of RFC 6962 section 2.1 over the entries' exact bytes.
 *
 * Room: record.  Incremental: appending costs O(log n) and keeps O(log n) hashes. */
#ifndef BW_RECORD_TREE_H
#define BW_RECORD_TREE_H

#include "base/status.h"

#include <stddef.h>
#include <stdint.h>

enum { BW_HASH_BYTES = 32, BW_HASH_HEX = 65, BW_TREE_DEPTH = 64 };

typedef struct bw_hash {
    uint8_t byte[BW_HASH_BYTES];
} bw_hash;

/* The right edge of a tree: roots of its perfect subtrees, largest first. */
typedef struct bw_tree {
    uint64_t size;
    bw_hash edge[BW_TREE_DEPTH];
} bw_tree;

/* SHA-256 of data.  BW_E_MEM / BW_E_BUG where the library fails. */
BW_MUST_USE bw_status bw_sha256(const void *data, size_t len, bw_hash *out);

/* Of a plain file of at most that many bytes.  BW_E_ABSENT, BW_E_IO, BW_E_LIMIT. */
BW_MUST_USE bw_status bw_sha256_file(const char *path, uint64_t most, bw_hash *out, bw_err *err);

/* SHA-256(0x00 || data) and SHA-256(0x01 || left || right). */
BW_MUST_USE bw_status bw_leaf_hash(const void *data, size_t len, bw_hash *out);
BW_MUST_USE bw_status bw_node_hash(const bw_hash *left, const bw_hash *right, bw_hash *out);

void bw_tree_init(bw_tree *tree);
BW_MUST_USE bw_status bw_tree_append(bw_tree *tree, const bw_hash *leaf);

/* The root; of the empty tree SHA-256 of nothing. */
BW_MUST_USE bw_status bw_tree_root(const bw_tree *tree, bw_hash *out);

#endif
