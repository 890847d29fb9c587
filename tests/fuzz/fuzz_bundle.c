/* fuzz_bundle.c - a bundle that somebody else made: never intact without a key. */
#include "fuzz/fuzz.h"

#include "record/bundle.h"

#include <stdio.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    bw_arena *arena = bw_arena_new(0);
    FILE *in = size > 0 ? fmemopen((void *)(uintptr_t)data, size, "r") : NULL;
    bw_bundle_audit result;
    if (arena != NULL && in != NULL &&
        bw_bundle_check(in, &(bw_audit_setup){0}, arena, &result, NULL) == BW_OK) {
        FUZZ_CHECK(result.audit.outcome != BW_AUDIT_INTACT);
        FUZZ_CHECK((result.audit.finding_n > 0) == (result.audit.outcome != BW_AUDIT_CANNOT_TELL));
    }
    if (in != NULL) {
        (void)fclose(in);
    }
    bw_arena_free(arena);
    return 0;
}
