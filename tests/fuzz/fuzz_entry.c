/* fuzz_entry.c - entries and notes of a record that somebody else wrote. */
#include "fuzz/fuzz.h"

#include "record/entry.h"
#include "record/key.h"
#include "record/reader.h"

#include <string.h>

/* The quick reader takes nothing that the thorough one refuses, and reads the same out of it. */
static void compare_readers(const char *text, size_t size, bw_arena *arena) {
    bw_entry *quick = NULL;
    bw_entry thorough;
    const char *a = NULL;
    const char *b = NULL;
    size_t a_len = 0;
    size_t b_len = 0;
    static bw_reader *reader; /* one for all runs: making it takes longer than reading an entry */
    reader = reader == NULL ? bw_reader_new() : reader;
    if (reader != NULL && bw_reader_quick(reader, text, size, &quick)) {
        FUZZ_CHECK(bw_entry_decode(text, size, arena, &thorough, NULL) == BW_OK);
        FUZZ_CHECK(quick->kind == thorough.kind && quick->time_ms == thorough.time_ms);
        FUZZ_CHECK(bw_entry_encode(quick, arena, &a, &a_len, NULL) == BW_OK);
        FUZZ_CHECK(bw_entry_encode(&thorough, arena, &b, &b_len, NULL) == BW_OK);
        FUZZ_CHECK(a_len == size && memcmp(a, text, size) == 0);
        FUZZ_CHECK(b_len == size && memcmp(b, text, size) == 0);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    bw_arena *arena = bw_arena_new(0);
    const char *text = (const char *)data;
    bw_entry entry;
    const char *again = NULL;
    size_t len = 0;
    uint64_t tree_size = 0;
    bw_hash root;
    bw_signature signature = BW_SIGNATURE_NONE;
    if (arena != NULL && bw_entry_decode(text, size, arena, &entry, NULL) == BW_OK &&
        entry.kind != BW_KIND_UNKNOWN &&
        bw_entry_encode(&entry, arena, &again, &len, NULL) == BW_OK) {
        /* One entry has one text; members of a newer program are let through and not written. */
        FUZZ_CHECK(len <= size);
        FUZZ_CHECK(len != size || memcmp(again, text, len) == 0);
    }
    if (arena != NULL) {
        compare_readers(text, size, arena);
    }
    if (bw_checkpoint_read(text, size, NULL, &tree_size, &root, &signature, NULL) == BW_OK) {
        FUZZ_CHECK(signature == BW_SIGNATURE_NONE);
    }
    bw_arena_free(arena);
    return 0;
}
