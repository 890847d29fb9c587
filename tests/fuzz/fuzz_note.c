/* fuzz_note.c - signed notes, checkpoints and verifier keys from anywhere. */
#include "fuzz/fuzz.h"

#include "record/key.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static const bw_verifier nobody = {.name = "boltwright/bench-00000000"};
    const char *text = (const char *)data;
    char *line = malloc(size + 1);
    bw_verifier verifier;
    bw_signature signature = BW_SIGNATURE_NONE;
    uint64_t tree_size = 0;
    bw_hash root;
    bw_status note = bw_note_verify(text, size, &nobody, &signature, NULL);
    FUZZ_CHECK(signature != BW_SIGNATURE_GOOD);
    bw_status checkpoint = bw_checkpoint_read(text, size, NULL, &tree_size, &root, &signature,
                                              NULL);
    FUZZ_CHECK(checkpoint != BW_OK || note == BW_OK);
    if (line != NULL) {
        memcpy(line, data, size);
        line[size] = '\0';
        if (bw_verifier_parse(line, &verifier, NULL) == BW_OK && verifier.name[0] != '\0') {
            char again[BW_VERIFIER_MAX];
            FUZZ_CHECK(bw_verifier_line(&verifier, again, NULL) == BW_OK);
            FUZZ_CHECK(strncmp(line, again, strlen(again)) == 0);
        }
    }
    free(line);
    return 0;
}
