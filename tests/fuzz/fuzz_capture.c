/* fuzz_capture.c - a line of a capture, as a stranger sent it; what is read is written and read
 * again.
 */
#include "fuzz/fuzz.h"

#include "device/capture.h"

#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static uint8_t store[2][BW_CAPTURE_READ_MAX];
    static char text[BW_CAPTURE_TEXT_MAX];
    bw_capture_line line;
    bw_capture_line again;
    if (bw_capture_parse((const char *)data, size, store[0], &line, NULL) != BW_OK ||
        line.kind == BW_CAPTURE_NOTHING) {
        return 0;
    }
    FUZZ_CHECK(line.time_us >= 0 && line.n <= BW_CAPTURE_READ_MAX);
    size_t len = bw_capture_write(&line, text);
    FUZZ_CHECK(len > 0 && len < BW_CAPTURE_TEXT_MAX && strlen(text) == len);
    FUZZ_CHECK(bw_capture_parse(text, len, store[1], &again, NULL) == BW_OK);
    FUZZ_CHECK(again.kind == line.kind && again.time_us == line.time_us && again.n == line.n);
    FUZZ_CHECK(line.n == 0 || memcmp(again.bytes, line.bytes, line.n) == 0);
    return 0;
}
