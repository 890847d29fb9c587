/* fuzz_plan.c - the answer of a sequence's worker: a plan, mistakes or a refusal, never a crash. */
#include "fuzz/fuzz.h"

#include "sequence/reader.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static const char *const file[] = {"fuzz.lua"};
    bw_arena *arena = bw_arena_new(0);
    bw_loaded loaded = {0};
    if (arena != NULL && bw_reader_plan(data, size, file, 1, NULL, arena, &loaded, NULL) == BW_OK) {
        FUZZ_CHECK((loaded.plan == NULL) != (loaded.mistake_n == 0));
    }
    bw_arena_free(arena);
    return 0;
}
