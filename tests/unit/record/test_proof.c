/* test_proof.c - proofs against published ones, against every pair of sizes, and damaged ones. */
#include "cmocka_all.h"

#include "base/text.h"
#include "record/proof.h"

#include <string.h>

enum { LEAVES = 70 };

static bw_hash root_of[LEAVES + 1];
static bw_hash leaf_of[LEAVES + 1]; /* by number, from 1 */
static bw_grove *grove;

/* The first eight leaves are those of the published vectors. */
static const char *const published_leaf[] = {"",
                                             "00",
                                             "10",
                                             "2021",
                                             "3031",
                                             "40414243",
                                             "5051525354555657",
                                             "606162636465666768696a6b6c6d6e6f"};

static int plant(void **state) {
    (void)state;
    grove = bw_grove_new();
    bw_status status = grove == NULL ? BW_E_MEM : bw_grove_root(grove, 0, &root_of[0]);
    for (uint8_t n = 1; status == BW_OK && n <= LEAVES; n++) {
        uint8_t data[16] = {n, (uint8_t)(n * 7)};
        size_t len = 2;
        if (n <= 8) {
            len = strlen(published_leaf[n - 1]) / 2;
            assert_true(bw_unhex(published_leaf[n - 1], data, len));
        }
        status = bw_leaf_hash(data, len, &leaf_of[n]);
        if (status == BW_OK) {
            status = bw_grove_append(grove, &leaf_of[n]);
        }
        if (status == BW_OK) {
            status = bw_grove_root(grove, n, &root_of[n]);
        }
    }
    return status == BW_OK ? 0 : -1;
}

static int fell(void **state) {
    (void)state;
    bw_grove_free(grove);
    return 0;
}

static bool included(uint64_t number, uint64_t size, const bw_hash *root, const bw_proof *proof) {
    bool holds = true;
    assert_int_equal(bw_check_inclusion(&leaf_of[number <= LEAVES ? number : 1], number, size, root,
                                        proof, &holds),
                     BW_OK);
    return holds;
}

static bool consistent(uint64_t first, uint64_t second, const bw_proof *proof) {
    bool holds = true;
    assert_int_equal(
        bw_check_consistency(first, &root_of[first], second, &root_of[second], proof, &holds),
        BW_OK);
    return holds;
}

/* Proofs of the test vectors that public implementations of RFC 6962 share: project
 * transparency-dev/merkle, proof/verify_test.go (inclusionProofs, consistencyProofs), read at its
 * commit 02194e9afb6c1d95b5381350007963aa70fff472. */
static const struct {
    bool inclusion;
    uint64_t a, b; /* number and size; both sizes */
    const char *hash[4];
} published[] = {
    {true, 1, 1, {NULL}},
    {true,
     1,
     8,
     {"96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
      "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
      "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"}},
    {true,
     6,
     8,
     {"bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
      "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
      "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7"}},
    {true, 3, 3, {"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125"}},
    {true,
     2,
     5,
     {"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
      "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
      "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"}},
    {false, 1, 1, {NULL}},
    {false,
     1,
     8,
     {"96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
      "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
      "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"}},
    {false,
     6,
     8,
     {"0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
      "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
      "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7"}},
    {false,
     2,
     5,
     {"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
      "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"}},
    {false,
     6,
     7,
     {"0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
      "b08693ec2e721597130641e8211e7eedccb4c26413963eee6c1e2ed16ffb1a5f",
      "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7"}},
};

static void proofs_are_the_published_ones(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof published / sizeof published[0]; i++) {
        bw_proof proof;
        uint64_t a = published[i].a;
        uint64_t b = published[i].b;
        assert_int_equal(published[i].inclusion ? bw_prove_inclusion(grove, a, b, &proof)
                                                : bw_prove_consistency(grove, a, b, &proof),
                         BW_OK);
        for (size_t k = 0; k < proof.n; k++) {
            char hex[BW_HASH_HEX];
            bw_hex(proof.hash[k].byte, BW_HASH_BYTES, hex);
            assert_non_null(published[i].hash[k]);
            assert_string_equal(hex, published[i].hash[k]);
        }
        assert_null(published[i].hash[proof.n]);
        assert_true(published[i].inclusion ? included(a, b, &root_of[b], &proof)
                                           : consistent(a, b, &proof));
    }
}

/* One bit, one hash too many or too few, at the front or the end. */
typedef bool check_proof(uint64_t a, uint64_t b, const bw_proof *proof);

static bool check_included(uint64_t a, uint64_t b, const bw_proof *proof) {
    return included(a, b, &root_of[b], proof);
}

static void damaged_ones_fail(check_proof *check, uint64_t a, uint64_t b, const bw_proof *whole) {
    for (size_t k = 0; k < whole->n; k++) {
        bw_proof one = *whole;
        one.hash[k].byte[k % BW_HASH_BYTES] ^= 8;
        assert_false(check(a, b, &one));
    }
    bw_proof one = *whole;
    one.hash[one.n++] = root_of[b];
    assert_false(check(a, b, &one));
    for (size_t k = one.n - 1; k > 0; k--) {
        one.hash[k] = one.hash[k - 1];
    }
    assert_false(check(a, b, &one));
    if (whole->n > 0) {
        one = *whole;
        one.n--;
        assert_false(check(a, b, &one));
        one.n = BW_PROOF_MAX + 1;
        assert_false(check(a, b, &one));
    }
}

static void every_entry_in_every_tree(void **state) {
    (void)state;
    for (uint64_t size = 1; size <= LEAVES; size++) {
        for (uint64_t number = 1; number <= size; number++) {
            bw_proof proof;
            assert_int_equal(bw_prove_inclusion(grove, number, size, &proof), BW_OK);
            assert_true(included(number, size, &root_of[size], &proof));
            assert_false(included(number, size, &root_of[size - 1], &proof));
            damaged_ones_fail(check_included, number, size, &proof);
            bool holds = true;
            uint64_t other = number < size ? number + 1 : number - 1;
            assert_int_equal(
                bw_check_inclusion(&leaf_of[number], other, size, &root_of[size], &proof, &holds),
                BW_OK);
            assert_false(holds);
        }
    }
}

static void every_pair_of_sizes(void **state) {
    (void)state;
    for (uint64_t second = 0; second <= LEAVES; second++) {
        for (uint64_t first = 0; first <= second; first++) {
            bw_proof proof;
            assert_int_equal(bw_prove_consistency(grove, first, second, &proof), BW_OK);
            assert_true(consistent(first, second, &proof));
            damaged_ones_fail(consistent, first, second, &proof);
            if (first > 0 && first < second) {
                bool holds = true;
                assert_int_equal(bw_check_consistency(first, &root_of[first - 1], second,
                                                      &root_of[second], &proof, &holds),
                                 BW_OK);
                assert_false(holds);
                assert_int_equal(bw_check_consistency(second, &root_of[second], first,
                                                      &root_of[first], &proof, &holds),
                                 BW_OK);
                assert_false(holds);
            }
        }
    }
}

static void what_is_not_there_cannot_be_proved(void **state) {
    (void)state;
    bw_proof proof = {0};
    bw_hash root;
    bool holds = true;
    assert_int_equal(bw_prove_inclusion(grove, 0, 5, &proof), BW_E_ARG);
    assert_int_equal(bw_prove_inclusion(grove, 6, 5, &proof), BW_E_ARG);
    assert_int_equal(bw_prove_inclusion(grove, 1, LEAVES + 1, &proof), BW_E_ARG);
    assert_int_equal(bw_prove_consistency(grove, 6, 5, &proof), BW_E_ARG);
    assert_int_equal(bw_prove_consistency(grove, 6, LEAVES + 1, &proof), BW_E_ARG);
    assert_int_equal(bw_grove_root(grove, LEAVES + 1, &root), BW_E_ARG);
    assert_int_equal(bw_check_inclusion(&leaf_of[1], 0, 0, &root_of[0], &proof, &holds), BW_OK);
    assert_false(holds);
    assert_int_equal(
        bw_check_inclusion(&leaf_of[1], UINT64_MAX, UINT64_MAX, &root_of[1], &proof, &holds),
        BW_OK);
    assert_false(holds);
    assert_int_equal(bw_grove_size(grove), LEAVES);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(proofs_are_the_published_ones),
        cmocka_unit_test(every_entry_in_every_tree),
        cmocka_unit_test(every_pair_of_sizes),
        cmocka_unit_test(what_is_not_there_cannot_be_proved),
    };
    return cmocka_run_group_tests(tests, plant, fell);
}
