/* fuzz_proof.c - proofs of trees of any shape hold, and what is changed in one does not. */
#include "fuzz/fuzz.h"

#include "record/proof.h"

#include <string.h>

enum { LEAVES_MAX = 80 };

/* One leaf a byte. */
static bw_grove *plant(const uint8_t *data, size_t n, bw_hash *leaf) {
    bw_grove *grove = bw_grove_new();
    for (size_t i = 0; grove != NULL && i < n; i++) {
        FUZZ_CHECK(bw_leaf_hash(data + i, 1, &leaf[i]) == BW_OK);
        FUZZ_CHECK(bw_grove_append(grove, &leaf[i]) == BW_OK);
    }
    return grove;
}

static void try_all(const bw_grove *grove, const bw_hash *leaf, uint64_t a, uint64_t b,
                    uint8_t bit) {
    bw_hash first;
    bw_hash second;
    bw_proof proof;
    bool holds = false;
    FUZZ_CHECK(bw_grove_root(grove, a, &first) == BW_OK);
    FUZZ_CHECK(bw_grove_root(grove, b, &second) == BW_OK);
    FUZZ_CHECK(bw_prove_consistency(grove, a, b, &proof) == BW_OK);
    FUZZ_CHECK(bw_check_consistency(a, &first, b, &second, &proof, &holds) == BW_OK && holds);
    if (proof.n > 0) {
        proof.hash[bit % proof.n].byte[bit % BW_HASH_BYTES] ^= (uint8_t)(1u << bit % 8);
        FUZZ_CHECK(bw_check_consistency(a, &first, b, &second, &proof, &holds) == BW_OK && !holds);
    }
    if (a == 0) {
        return;
    }
    FUZZ_CHECK(bw_prove_inclusion(grove, a, b, &proof) == BW_OK);
    FUZZ_CHECK(bw_check_inclusion(&leaf[a - 1], a, b, &second, &proof, &holds) == BW_OK && holds);
    second.byte[bit % BW_HASH_BYTES] ^= (uint8_t)(1u << bit % 8);
    FUZZ_CHECK(bw_check_inclusion(&leaf[a - 1], a, b, &second, &proof, &holds) == BW_OK && !holds);
}

/* A proof out of the bytes themselves must not hold, nor take more steps than it has hashes. */
static void try_forged(const uint8_t *data, size_t size) {
    bw_proof proof = {.n = data[0]};
    bw_hash root = {{0}};
    uint64_t number = 0;
    uint64_t total = 0;
    bool holds = true;
    size_t rest = size - 1;
    memcpy(&number, data + 1, rest < 8 ? rest : 8);
    memcpy(&total, data + size - (size < 8 ? size : 8), size < 8 ? size : 8);
    memcpy(proof.hash, data, size < sizeof proof.hash ? size : sizeof proof.hash);
    FUZZ_CHECK(bw_check_inclusion(&root, number, total, &root, &proof, &holds) == BW_OK);
    FUZZ_CHECK(!holds || (number == 1 && total == 1));
    FUZZ_CHECK(bw_check_consistency(number, &root, total, &root, &proof, &holds) == BW_OK);
    FUZZ_CHECK(!holds || number == 0 || number == total);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    bw_hash leaf[LEAVES_MAX];
    if (size < 4) {
        return 0;
    }
    size_t n = size - 3 < LEAVES_MAX ? size - 3 : LEAVES_MAX;
    bw_grove *grove = plant(data + 3, n, leaf);
    uint64_t b = data[0] % (n + 1);
    if (grove != NULL) {
        try_all(grove, leaf, data[1] % (b + 1), b, data[2]);
    }
    bw_grove_free(grove);
    try_forged(data, size);
    return 0;
}
