/* proof.h - proofs of RFC 6962: that an entry is in a tree, and that a tree grew out of another.
 *
 * Room: record.  Sources: RFC 6962 sections 2.1.1 and 2.1.2 (making), RFC 9162 sections 2.1.3.2 and
 * 2.1.4.2 (checking).  A proof is a list of hashes, from the leaf upwards. */
#ifndef BW_RECORD_PROOF_H
#define BW_RECORD_PROOF_H

#include "record/tree.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A tree of less than 2^63 entries needs no more hashes than this for one proof. */
enum { BW_PROOF_MAX = 64 };

typedef struct bw_proof {
    size_t n;
    bw_hash hash[BW_PROOF_MAX];
} bw_proof;

/* The hashes of all perfect subtrees: 64 bytes an entry.  NULL where memory is out; freed by
 * bw_grove_free (NULL: no-op). */
typedef struct bw_grove bw_grove;
bw_grove *bw_grove_new(void);
void bw_grove_free(bw_grove *grove);

/* BW_E_MEM. */
BW_MUST_USE bw_status bw_grove_append(bw_grove *grove, const bw_hash *leaf);
uint64_t bw_grove_size(const bw_grove *grove);

/* Of the tree over the first size entries.  BW_E_ARG where it has fewer. */
BW_MUST_USE bw_status bw_grove_root(const bw_grove *grove, uint64_t size, bw_hash *out);

/* Proves that entry number (from 1, at most size) is in the tree of that size. */
BW_MUST_USE bw_status bw_prove_inclusion(const bw_grove *grove, uint64_t number, uint64_t size,
                                         bw_proof *out);

/* Proves that the tree of size second begins with that of size first. */
BW_MUST_USE bw_status bw_prove_consistency(const bw_grove *grove, uint64_t first, uint64_t second,
                                           bw_proof *out);

/* Checks need no tree.  *holds; BW_E_MEM, BW_E_BUG where it could not be tried. */
BW_MUST_USE bw_status bw_check_inclusion(const bw_hash *leaf, uint64_t number, uint64_t size,
                                         const bw_hash *root, const bw_proof *proof, bool *holds);
BW_MUST_USE bw_status bw_check_consistency(uint64_t first, const bw_hash *first_root,
                                           uint64_t second, const bw_hash *second_root,
                                           const bw_proof *proof, bool *holds);

#endif
