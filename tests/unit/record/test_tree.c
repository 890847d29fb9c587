/* test_tree.c - the Merkle tree against published roots, and against its recursive definition. */
#include "cmocka_all.h"

#include "base/text.h"
#include "record/base64.h"
#include "record/hash.h"
#include "record/tree.h"

#include <string.h>

/* Leaves and roots of the test constants that public implementations of RFC 6962 share: project
 * transparency-dev/merkle, testonly/constants.go (LeafInputs, RootHashes), read at its commit
 * 582a6ad190b6848f1d26f8bf08ddef29955d9db1. */
static const struct {
    const char *leaf; /* hex; the tree of the next row holds it */
    const char *root; /* of the leaves above this row */
} published[] = {
    {"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
    {"00", "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d"},
    {"10", "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125"},
    {"2021", "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77"},
    {"3031", "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7"},
    {"40414243", "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4"},
    {"5051525354555657", "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef"},
    {"606162636465666768696a6b6c6d6e6f",
     "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c"},
    {NULL, "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328"},
};

static const char *hex_of(const bw_hash *hash, char *out) {
    bw_hex(hash->byte, BW_HASH_BYTES, out);
    return out;
}

static void roots_are_the_published_ones(void **state) {
    (void)state;
    bw_tree tree;
    bw_tree_init(&tree);
    for (size_t i = 0; i < sizeof published / sizeof published[0]; i++) {
        char hex[BW_HASH_HEX];
        bw_hash root;
        assert_int_equal(tree.size, i);
        assert_int_equal(bw_tree_root(&tree, &root), BW_OK);
        assert_string_equal(hex_of(&root, hex), published[i].root);
        if (published[i].leaf != NULL) {
            uint8_t data[16];
            size_t len = strlen(published[i].leaf) / 2;
            bw_hash leaf;
            assert_true(bw_unhex(published[i].leaf, data, len));
            assert_int_equal(bw_leaf_hash(data, len, &leaf), BW_OK);
            assert_int_equal(bw_tree_append(&tree, &leaf), BW_OK);
        }
    }
}

/* MTH of RFC 6962 section 2.1 as it is written there: split at the largest power of two below n. */
static bw_hash recursive_root(const bw_hash *leaf, size_t n) {
    bw_hash out;
    if (n == 0) {
        assert_int_equal(bw_sha256("", 0, &out), BW_OK);
        return out;
    }
    if (n == 1) {
        return leaf[0];
    }
    size_t k = 1;
    while (k * 2 < n) {
        k *= 2;
    }
    bw_hash left = recursive_root(leaf, k);
    bw_hash right = recursive_root(leaf + k, n - k);
    assert_int_equal(bw_node_hash(&left, &right, &out), BW_OK);
    return out;
}

static void growing_equals_the_definition(void **state) {
    (void)state;
    enum { LEAVES = 70 };
    bw_hash leaf[LEAVES];
    bw_tree tree;
    bw_tree_init(&tree);
    bw_hasher *hasher = bw_hasher_new();
    assert_non_null(hasher);
    for (size_t n = 0; n <= LEAVES; n++) {
        bw_hash root;
        bw_hash expected = recursive_root(leaf, n);
        assert_int_equal(bw_hasher_root(hasher, &tree, &root), BW_OK);
        assert_memory_equal(&root, &expected, sizeof root);
        if (n < LEAVES) {
            uint8_t data[2] = {(uint8_t)n, (uint8_t)(n * 7)};
            assert_int_equal(bw_hasher_leaf(hasher, data, 2, &leaf[n]), BW_OK);
            assert_int_equal(bw_hasher_append(hasher, &tree, &leaf[n]), BW_OK);
        }
    }
    bw_hasher_free(hasher);
}

/* FIPS 180-4, as its published examples have it: "" and "abc". */
static void sha256_of_known_texts(void **state) {
    (void)state;
    static const char *const rows[][2] = {
        {"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
        {"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"}};
    for (size_t i = 0; i < 2; i++) {
        char hex[BW_HASH_HEX];
        bw_hash hash;
        assert_int_equal(bw_sha256(rows[i][0], strlen(rows[i][0]), &hash), BW_OK);
        assert_string_equal(hex_of(&hash, hex), rows[i][1]);
    }
}

/* A leaf of 65 bytes that spells out a node must not have the node's hash. */
static void a_leaf_cannot_pass_for_a_node(void **state) {
    (void)state;
    bw_hash left;
    bw_hash right;
    bw_hash node;
    bw_hash forged;
    uint8_t spelled[1 + 2 * BW_HASH_BYTES] = {1};
    assert_int_equal(bw_leaf_hash("a", 1, &left), BW_OK);
    assert_int_equal(bw_leaf_hash("b", 1, &right), BW_OK);
    memcpy(spelled + 1, left.byte, BW_HASH_BYTES);
    memcpy(spelled + 1 + BW_HASH_BYTES, right.byte, BW_HASH_BYTES);
    assert_int_equal(bw_node_hash(&left, &right, &node), BW_OK);
    assert_int_equal(bw_sha256(spelled, sizeof spelled, &forged), BW_OK);
    assert_memory_equal(&node, &forged, sizeof node); /* the spelling is right … */
    assert_int_equal(bw_leaf_hash(spelled, sizeof spelled, &forged), BW_OK);
    assert_memory_not_equal(&node, &forged, sizeof node); /* … and does not help */
}

static void a_full_tree_takes_no_more(void **state) {
    (void)state;
    static bw_tree tree;
    bw_hash leaf = {{0}};
    tree.size = UINT64_MAX;
    assert_int_equal(bw_tree_append(&tree, &leaf), BW_E_LIMIT);
    assert_true(tree.size == UINT64_MAX);
}

/* RFC 4648 section 10. */
static void base64_of_known_texts(void **state) {
    (void)state;
    static const char *const rows[][2] = {{"", ""},
                                          {"f", "Zg=="},
                                          {"fo", "Zm8="},
                                          {"foo", "Zm9v"},
                                          {"foob", "Zm9vYg=="},
                                          {"fooba", "Zm9vYmE="},
                                          {"foobar", "Zm9vYmFy"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[BW_BASE64_SIZE(6)];
        uint8_t bytes[6];
        size_t n = 99;
        bw_base64((const uint8_t *)rows[i][0], strlen(rows[i][0]), text);
        assert_string_equal(text, rows[i][1]);
        assert_true(bw_unbase64(text, strlen(text), bytes, sizeof bytes, &n));
        assert_int_equal(n, strlen(rows[i][0]));
        assert_memory_equal(bytes, rows[i][0], n);
    }
}

static void base64_is_read_strictly(void **state) {
    (void)state;
    static const char *const bad[] = {
        "Zg",   "Zg=",   "Zh==",  "Zm9=",  "Zg==Zg==", "Z===", "====", "Zm_v",
        "Zm-v", "Zm9\n", "Zm 9v", " Zm9v", "Zg==\n",   "Z=g=", "=Zg="};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        uint8_t bytes[16];
        size_t n = 0;
        if (bw_unbase64(bad[i], strlen(bad[i]), bytes, sizeof bytes, &n)) {
            fail_msg("\"%s\" was read", bad[i]);
        }
    }
    uint8_t bytes[3];
    size_t n = 0;
    assert_false(bw_unbase64("Zm9vYg==", 8, bytes, sizeof bytes, &n));
    assert_true(bw_unbase64("Zm9v", 4, bytes, sizeof bytes, &n));
    assert_false(bw_unbase64("Zm\0v", 4, bytes, sizeof bytes, &n));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(roots_are_the_published_ones),
        cmocka_unit_test(growing_equals_the_definition),
        cmocka_unit_test(sha256_of_known_texts),
        cmocka_unit_test(a_leaf_cannot_pass_for_a_node),
        cmocka_unit_test(a_full_tree_takes_no_more),
        cmocka_unit_test(base64_of_known_texts),
        cmocka_unit_test(base64_is_read_strictly),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
