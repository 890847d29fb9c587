/* fuzz_framing.c - the framings of Lua drivers: what scan finds can be opened, and is inside. */
#include "fuzz/fuzz.h"

#include "sequence/framing.h"

/* Nine bytes describe the framing; what is no good description is passed over. */
enum { HEAD = 9 };

static bw_framing framing_of(const uint8_t *head) {
    return (bw_framing){.kind = (bw_framing_kind)(head[0] % BW_FRAMING_COUNT),
                        .check = (bw_check_kind)(head[1] % BW_CHECK_COUNT),
                        .max = (size_t)head[2] * 16,
                        .size = head[3],
                        .has_first = (head[8] & 1) != 0,
                        .first = head[4],
                        .last = head[5],
                        .at = head[6] % 65,
                        .bytes = 1 + (size_t)(head[8] >> 1 & 1),
                        .adds = head[7],
                        .big_endian = (head[8] & 4) != 0};
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static const size_t most = 1 << 14;
    if (size < HEAD || size > most) {
        return 0;
    }
    const bw_framing framing = framing_of(data);
    if (bw_framing_fault(&framing) != NULL) {
        return 0;
    }
    uint8_t opened[BW_FRAMED_MAX];
    for (size_t at = HEAD; at < size;) {
        size_t n = 0;
        size_t inside = 0;
        switch (bw_framing_scan(&framing, data + at, size - at, &n)) {
        case BW_SCAN_MORE:
            return 0;
        case BW_SCAN_BAD:
            n = 1;
            break;
        case BW_SCAN_FRAME:
            FUZZ_CHECK(n >= 1 && n <= size - at && n <= framing.max);
            if (bw_framing_open(&framing, data + at, n, opened, &inside)) {
                FUZZ_CHECK(inside <= n);
            }
            break;
        }
        at += n;
    }
    return 0;
}
