/* fuzz_lines.c - a stranger's text, looked through for the line of a field. */
#include "fuzz/fuzz.h"

#include "sequence/line_of.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static const char *const fields[] = {"say", "at", NULL};
    const char *text = (const char *)data;
    unsigned lines = 1;
    for (size_t i = 0; i < size; i++) {
        lines += text[i] == '\n' || text[i] == '\r' ? 1 : 0;
    }
    for (unsigned line = 1; line <= 4; line++) {
        for (size_t i = 0; i < sizeof fields / sizeof fields[0]; i++) {
            unsigned found = bw_line_of(text, size, line, "note", fields[i], i);
            FUZZ_CHECK(found >= line && (found == line || found <= lines));
        }
    }
    return 0;
}
