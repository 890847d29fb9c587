/* proof.c - see proof.h.
 *
 * Level k of a grove holds the roots of the perfect subtrees of 2^k entries, from the left.  Every
 * subtree that a proof speaks of is made of such ones, largest first. */
#include "record/proof.h"

#include "record/hash.h"

#include <stdlib.h>
#include <string.h>

typedef struct level {
    bw_hash *hash;
    size_t n, room;
} level;

struct bw_grove {
    bw_hasher *hasher;
    level level[BW_TREE_DEPTH];
};

bw_grove *bw_grove_new(void) {
    bw_grove *grove = calloc(1, sizeof *grove);
    if (grove != NULL) {
        grove->hasher = bw_hasher_new();
    }
    if (grove != NULL && grove->hasher == NULL) {
        free(grove);
        return NULL;
    }
    return grove;
}

void bw_grove_free(bw_grove *grove) {
    if (grove != NULL) {
        for (size_t k = 0; k < BW_TREE_DEPTH; k++) {
            free(grove->level[k].hash);
        }
        bw_hasher_free(grove->hasher);
        free(grove);
    }
}

static bw_status push(level *to, const bw_hash *hash) {
    if (to->n == to->room) {
        size_t room = to->room == 0 ? 64 : to->room * 2;
        bw_hash *moved = realloc(to->hash, room * sizeof *moved);
        if (moved == NULL) {
            return BW_E_MEM;
        }
        to->hash = moved;
        to->room = room;
    }
    to->hash[to->n++] = *hash;
    return BW_OK;
}

/* gcc's analyser takes the old array for lost where realloc moved it: it does not follow the member
 * through an index that it does not know. */
#if defined(__GNUC__) && !defined(__clang__)
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wanalyzer-malloc-leak"
#endif
bw_status bw_grove_append(bw_grove *grove, const bw_hash *leaf) {
    bw_hash grown = *leaf;
    for (size_t k = 0; k < BW_TREE_DEPTH; k++) {
        level *at = &grove->level[k];
        bw_status status = push(at, &grown);
        if (status != BW_OK || at->n % 2 != 0) {
            return status;
        }
        status = bw_hasher_node(grove->hasher, &at->hash[at->n - 2], &at->hash[at->n - 1], &grown);
        if (status != BW_OK) {
            return status;
        }
    }
    return BW_E_LIMIT;
}
#if defined(__GNUC__) && !defined(__clang__)
#pragma GCC diagnostic pop
#endif

uint64_t bw_grove_size(const bw_grove *grove) {
    return grove->level[0].n;
}

static size_t log2_of(uint64_t n) {
    size_t k = 0;
    while (n >> k > 1) {
        k++;
    }
    return k;
}

/* MTH of the entries from begin to before end, where begin is a multiple of a power of two that is
 * not less than their count. */
static bw_status range_root(const bw_grove *grove, uint64_t begin, uint64_t end, bw_hash *out) {
    bw_hash piece[BW_TREE_DEPTH];
    size_t n = 0;
    while (begin < end) {
        size_t k = log2_of(end - begin);
        piece[n++] = grove->level[k].hash[begin >> k];
        begin += (uint64_t)1 << k;
    }
    bw_status status = BW_OK;
    for (n--; status == BW_OK && n > 0; n--) {
        status = bw_hasher_node(grove->hasher, &piece[n - 1], &piece[n], &piece[n - 1]);
    }
    *out = piece[0];
    return status;
}

bw_status bw_grove_root(const bw_grove *grove, uint64_t size, bw_hash *out) {
    if (size > bw_grove_size(grove)) {
        return BW_E_ARG;
    }
    return size == 0 ? bw_hasher_sum(grove->hasher, NULL, 0, out) : range_root(grove, 0, size, out);
}

/* The largest power of two below n, which is more than 1. */
static uint64_t split_of(uint64_t n) {
    return (uint64_t)1 << log2_of(n - 1);
}

static bw_status add_range(const bw_grove *grove, uint64_t begin, uint64_t end, bw_proof *out) {
    return range_root(grove, begin, end, &out->hash[out->n++]);
}

/* Proofs are gathered from the root downwards. */
static void turn_round(bw_proof *proof) {
    for (size_t i = 0; i < proof->n / 2; i++) {
        bw_hash first = proof->hash[i];
        proof->hash[i] = proof->hash[proof->n - 1 - i];
        proof->hash[proof->n - 1 - i] = first;
    }
}

bw_status bw_prove_inclusion(const bw_grove *grove, uint64_t number, uint64_t size, bw_proof *out) {
    if (number < 1 || number > size || size > bw_grove_size(grove)) {
        return BW_E_ARG;
    }
    uint64_t begin = 0;
    uint64_t end = size;
    bw_status status = BW_OK;
    out->n = 0;
    while (status == BW_OK && end - begin > 1) {
        uint64_t middle = begin + split_of(end - begin);
        if (number <= middle) {
            status = add_range(grove, middle, end, out);
            end = middle;
        } else {
            status = add_range(grove, begin, middle, out);
            begin = middle;
        }
    }
    turn_round(out);
    return status;
}

bw_status bw_prove_consistency(const bw_grove *grove, uint64_t first, uint64_t second,
                               bw_proof *out) {
    if (first > second || second > bw_grove_size(grove)) {
        return BW_E_ARG;
    }
    uint64_t begin = 0;
    uint64_t end = second;
    bool known = true; /* who checks knows the root of what is left: it is that of first */
    bw_status status = BW_OK;
    out->n = 0;
    while (status == BW_OK && first != 0 && first != end) {
        uint64_t middle = begin + split_of(end - begin);
        if (first <= middle) {
            status = add_range(grove, middle, end, out);
            end = middle;
        } else {
            status = add_range(grove, begin, middle, out);
            begin = middle;
            known = false;
        }
    }
    if (status == BW_OK && !known) {
        status = add_range(grove, begin, end, out);
    }
    turn_round(out);
    return status;
}

/* Upwards until the node is a right child, or the leftmost. */
static void climb(uint64_t *node, uint64_t *last) {
    while ((*node & 1) == 0 && *node != 0) {
        *node >>= 1;
        *last >>= 1;
    }
}

static bool same(const bw_hash *a, const bw_hash *b) {
    return memcmp(a, b, sizeof *a) == 0;
}

bw_status bw_check_inclusion(const bw_hash *leaf, uint64_t number, uint64_t size,
                             const bw_hash *root, const bw_proof *proof, bool *holds) {
    *holds = false;
    if (number < 1 || number > size || proof->n > BW_PROOF_MAX) {
        return BW_OK;
    }
    bw_hasher *hasher = bw_hasher_new();
    bw_status status = hasher == NULL ? BW_E_MEM : BW_OK;
    uint64_t node = number - 1;
    uint64_t last = size - 1;
    bool fits = true;
    bw_hash grown = *leaf;
    for (size_t i = 0; status == BW_OK && fits && i < proof->n; i++) {
        const bw_hash *next = &proof->hash[i];
        fits = last != 0;
        if ((node & 1) == 1 || node == last) {
            status = bw_hasher_node(hasher, next, &grown, &grown);
            climb(&node, &last);
        } else {
            status = bw_hasher_node(hasher, &grown, next, &grown);
        }
        node >>= 1;
        last >>= 1;
    }
    bw_hasher_free(hasher);
    *holds = status == BW_OK && fits && last == 0 && same(&grown, root);
    return status;
}

/* Both roots climb together; what stands right of the first tree belongs to the second alone. */
typedef struct pair {
    bw_hash first, second;
    uint64_t node, last;
} pair;

static bw_status climb_pair(pair *at, bw_hasher *hasher, const bw_hash *next) {
    bw_status status = BW_OK;
    if ((at->node & 1) == 1 || at->node == at->last) {
        status = bw_hasher_node(hasher, next, &at->first, &at->first);
        if (status == BW_OK) {
            status = bw_hasher_node(hasher, next, &at->second, &at->second);
        }
        climb(&at->node, &at->last);
    } else {
        status = bw_hasher_node(hasher, &at->second, next, &at->second);
    }
    at->node >>= 1;
    at->last >>= 1;
    return status;
}

bw_status bw_check_consistency(uint64_t first, const bw_hash *first_root, uint64_t second,
                               const bw_hash *second_root, const bw_proof *proof, bool *holds) {
    bool trivial = first == 0 || first == second;
    *holds = false;
    if (first > second || proof->n > BW_PROOF_MAX || trivial != (proof->n == 0)) {
        return BW_OK;
    }
    if (trivial) {
        *holds = first == 0 || same(first_root, second_root);
        return BW_OK;
    }
    bw_hasher *hasher = bw_hasher_new();
    bw_status status = hasher == NULL ? BW_E_MEM : BW_OK;
    pair at = {.node = first - 1, .last = second - 1};
    while ((at.node & 1) == 1) {
        at.node >>= 1;
        at.last >>= 1;
    }
    /* The proof leaves out the root of a perfect first tree. */
    bool perfect = (first & (first - 1)) == 0;
    at.first = perfect ? *first_root : proof->hash[0];
    at.second = at.first;
    bool fits = true;
    for (size_t i = perfect ? 0 : 1; status == BW_OK && fits && i < proof->n; i++) {
        fits = at.last != 0;
        status = climb_pair(&at, hasher, &proof->hash[i]);
    }
    bw_hasher_free(hasher);
    *holds = status == BW_OK && fits && at.last == 0 && same(&at.first, first_root) &&
             same(&at.second, second_root);
    return status;
}
