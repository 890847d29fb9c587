/* run.c - feeds a fuzz target its seeds and many damaged copies of them, the same ones each time.
 *
 * Arguments: files.  Damage: bytes changed, cut out, doubled, the end cut off. */
#include "fuzz/fuzz.h"

#include <string.h>

enum { COPIES = 4000, SEED_BYTES_MAX = 1 << 16 };

static uint64_t next(uint64_t *state) {
    *state = *state * 6364136223846793005u + 1442695040888963407u; /* Knuth's MMIX constants */
    return *state >> 33;
}

static size_t damage(uint8_t *data, size_t size, uint64_t *state) {
    size_t at = size > 0 ? next(state) % size : 0;
    switch (size > 0 ? next(state) % 4 : 0) {
    case 1:
        memmove(data + at, data + at + 1, size - at - 1);
        return size - 1;
    case 2:
        memmove(data + at + 1, data + at, size - at);
        return size + 1;
    case 3:
        return at;
    default:
        data[at] = (uint8_t)next(state);
        return size > 0 ? size : 1;
    }
}

/* The target gets exactly its bytes on the heap, so that a sanitizer sees a step beyond them. */
static void feed(const uint8_t *data, size_t size) {
    uint8_t *copy = malloc(size > 0 ? size : 1);
    if (copy == NULL) {
        exit(1);
    }
    memcpy(copy, data, size);
    (void)LLVMFuzzerTestOneInput(copy, size);
    free(copy);
}

static void run(const uint8_t *seed, size_t size, uint64_t *state) {
    static uint8_t data[SEED_BYTES_MAX + 64];
    feed(seed, size);
    for (int i = 0; i < COPIES; i++) {
        size_t n = size;
        memcpy(data, seed, size);
        for (uint64_t k = 1 + next(state) % 8; k > 0; k--) {
            n = damage(data, n, state);
        }
        feed(data, n);
    }
}

int main(int argc, char **argv) {
    static uint8_t seed[SEED_BYTES_MAX];
    uint64_t state = 20261125;
    for (int i = 1; i < argc; i++) {
        FILE *in = fopen(argv[i], "rb");
        if (in == NULL) {
            (void)fprintf(stderr, "%s can't be read\n", argv[i]);
            return 1;
        }
        size_t size = fread(seed, 1, sizeof seed, in);
        (void)fclose(in);
        run(seed, size, &state);
    }
    (void)printf("%d passed, 0 failed\n", argc - 1);
    return argc > 1 ? 0 : 1;
}
