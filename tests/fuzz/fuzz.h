/* fuzz.h - what a fuzz target is: bytes in, invariants checked, nothing out.
 *
 * With the preset `fuzz` each target is a libFuzzer program; otherwise a small driver (run.c) feeds
 * it damaged copies of its seeds, the same ones each time. */
#ifndef BW_TESTS_FUZZ_FUZZ_H
#define BW_TESTS_FUZZ_FUZZ_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* Stays on in every build, unlike assert; it also keeps results from being optimised away. */
#define FUZZ_CHECK(condition)                                                                      \
    do {                                                                                           \
        if (!(condition)) {                                                                        \
            (void)fprintf(stderr, "%s:%d: %s does not hold\n", __FILE__, __LINE__, #condition);    \
            abort();                                                                               \
        }                                                                                          \
    } while (0)

#endif
