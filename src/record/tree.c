/* tree.c - see tree.h.
 *
 * The edge holds one root for each bit set in size.  A new leaf is one more perfect subtree; like
 * the carry of an addition, two of the same height become one of the next. */
#include "record/tree.h"

#include "record/hash.h"

#include <string.h>

static size_t edge_length(uint64_t size) {
    size_t n = 0;
    for (; size != 0; size &= size - 1) {
        n++;
    }
    return n;
}

bw_status bw_hasher_append(bw_hasher *hasher, bw_tree *tree, const bw_hash *leaf) {
    if (tree->size == UINT64_MAX) {
        return BW_E_LIMIT;
    }
    size_t n = edge_length(tree->size);
    bw_hash grown = *leaf;
    for (uint64_t carry = tree->size; (carry & 1) != 0; carry >>= 1) {
        bw_status status = bw_hasher_node(hasher, &tree->edge[n - 1], &grown, &grown);
        if (status != BW_OK) {
            return status;
        }
        n--;
    }
    tree->edge[n] = grown;
    tree->size++;
    return BW_OK;
}

bw_status bw_hasher_root(bw_hasher *hasher, const bw_tree *tree, bw_hash *out) {
    size_t n = edge_length(tree->size);
    if (n == 0) {
        return bw_hasher_sum(hasher, NULL, 0, out);
    }
    bw_hash root = tree->edge[n - 1];
    for (size_t i = n - 1; i > 0; i--) {
        bw_status status = bw_hasher_node(hasher, &tree->edge[i - 1], &root, &root);
        if (status != BW_OK) {
            return status;
        }
    }
    *out = root;
    return BW_OK;
}

void bw_tree_init(bw_tree *tree) {
    memset(tree, 0, sizeof *tree);
}

bw_status bw_sha256(const void *data, size_t len, bw_hash *out) {
    bw_hasher *hasher = bw_hasher_new();
    const bw_piece piece = {data, len};
    bw_status status = hasher == NULL ? BW_E_MEM : bw_hasher_sum(hasher, &piece, 1, out);
    bw_hasher_free(hasher);
    return status;
}

bw_status bw_leaf_hash(const void *data, size_t len, bw_hash *out) {
    bw_hasher *hasher = bw_hasher_new();
    bw_status status = hasher == NULL ? BW_E_MEM : bw_hasher_leaf(hasher, data, len, out);
    bw_hasher_free(hasher);
    return status;
}

bw_status bw_node_hash(const bw_hash *left, const bw_hash *right, bw_hash *out) {
    bw_hasher *hasher = bw_hasher_new();
    bw_status status = hasher == NULL ? BW_E_MEM : bw_hasher_node(hasher, left, right, out);
    bw_hasher_free(hasher);
    return status;
}

bw_status bw_tree_append(bw_tree *tree, const bw_hash *leaf) {
    bw_hasher *hasher = bw_hasher_new();
    bw_status status = hasher == NULL ? BW_E_MEM : bw_hasher_append(hasher, tree, leaf);
    bw_hasher_free(hasher);
    return status;
}

bw_status bw_tree_root(const bw_tree *tree, bw_hash *out) {
    bw_hasher *hasher = bw_hasher_new();
    bw_status status = hasher == NULL ? BW_E_MEM : bw_hasher_root(hasher, tree, out);
    bw_hasher_free(hasher);
    return status;
}
