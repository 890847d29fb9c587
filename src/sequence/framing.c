/* framing.c - see framing.h. */
#include "sequence/framing.h"

#include "base/text.h"

#include <string.h>

const char *bw_framing_word(bw_framing_kind kind) {
    static const char *const words[] = {"lines", "fixed", "between", "counted", "cobs"};
    return (size_t)kind < BW_FRAMING_COUNT ? words[kind] : NULL;
}

/* ---- checks ---- */

static uint32_t sum8(const uint8_t *byte, size_t n) {
    uint32_t sum = 0;
    for (size_t i = 0; i < n; i++) {
        sum += byte[i];
    }
    return sum & 0xFF;
}

static uint32_t xor8(const uint8_t *byte, size_t n) {
    uint32_t sum = 0;
    for (size_t i = 0; i < n; i++) {
        sum ^= byte[i];
    }
    return sum;
}

static uint32_t reflected(const uint8_t *byte, size_t n, uint32_t polynomial, uint32_t crc) {
    for (size_t i = 0; i < n; i++) {
        crc ^= byte[i];
        for (int bit = 0; bit < 8; bit++) {
            crc = (crc >> 1) ^ ((crc & 1) != 0 ? polynomial : 0);
        }
    }
    return crc;
}

static uint32_t crc16_modbus(const uint8_t *byte, size_t n) {
    return reflected(byte, n, 0xA001, 0xFFFF);
}

static uint32_t crc32(const uint8_t *byte, size_t n) {
    return reflected(byte, n, 0xEDB88320u, 0xFFFFFFFFu) ^ 0xFFFFFFFFu;
}

static uint32_t crc16_ccitt(const uint8_t *byte, size_t n) {
    uint32_t crc = 0xFFFF;
    for (size_t i = 0; i < n; i++) {
        crc ^= (uint32_t)byte[i] << 8;
        for (int bit = 0; bit < 8; bit++) {
            crc = (crc << 1) ^ ((crc & 0x8000) != 0 ? 0x1021u : 0u);
        }
    }
    return crc & 0xFFFF;
}

static const struct {
    const char *word;
    size_t bytes;
    uint32_t (*of)(const uint8_t *byte, size_t n);
    bool high_first;
} checks[BW_CHECK_COUNT] = {
    [BW_CHECK_NONE] = {"none", 0, NULL, false},
    [BW_CHECK_SUM8] = {"sum8", 1, sum8, false},
    [BW_CHECK_XOR8] = {"xor8", 1, xor8, false},
    [BW_CHECK_CRC16_MODBUS] = {"crc16_modbus", 2, crc16_modbus, false},
    [BW_CHECK_CRC16_CCITT] = {"crc16_ccitt", 2, crc16_ccitt, true},
    [BW_CHECK_CRC32] = {"crc32", 4, crc32, false},
};

const char *bw_check_word(bw_check_kind check) {
    return (size_t)check < BW_CHECK_COUNT ? checks[check].word : NULL;
}

/* How long the check is: a line carries it in hex digits, high byte first. */
static size_t check_len(const bw_framing *f) {
    return checks[f->check].bytes * (f->kind == BW_FRAMING_LINES ? 2 : 1);
}

static bool holds(const bw_framing *f, const uint8_t *byte, size_t n) {
    size_t bytes = checks[f->check].bytes;
    if (bytes == 0) {
        return true;
    }
    uint8_t sent[4];
    char hex[9] = {0};
    if (n <= check_len(f) + f->check_from + f->check_gap) {
        return false;
    }
    size_t body = n - check_len(f);
    bool high_first = checks[f->check].high_first || f->kind == BW_FRAMING_LINES;
    if (f->kind == BW_FRAMING_LINES) {
        memcpy(hex, byte + body, 2 * bytes);
        if (!bw_unhex(hex, sent, bytes)) {
            return false;
        }
    } else {
        memcpy(sent, byte + body, bytes);
    }
    uint32_t value = 0;
    for (size_t i = 0; i < bytes; i++) {
        value = value << 8 | sent[high_first ? i : bytes - 1 - i];
    }
    return value == checks[f->check].of(byte + f->check_from, body - f->check_from - f->check_gap);
}

/* ---- scanning ---- */

static bw_scan found(size_t n, size_t *out) {
    *out = n;
    return BW_SCAN_FRAME;
}

static bool is_line_end(uint8_t byte) {
    return byte == '\r' || byte == '\n';
}

static bw_scan scan_lines(const bw_framing *f, const uint8_t *buf, size_t len, size_t *n) {
    for (size_t i = 0; i < len && i < f->max; i++) {
        if (is_line_end(buf[i])) {
            return found(i + 1, n);
        }
    }
    return len < f->max ? BW_SCAN_MORE : found(f->max, n);
}

/* A frame whose length is known and which is all there. */
static bw_scan checked(const bw_framing *f, const uint8_t *buf, size_t len, size_t whole,
                       size_t *n) {
    if (whole > f->max || whole <= check_len(f)) {
        return BW_SCAN_BAD;
    }
    if (len < whole) {
        return BW_SCAN_MORE;
    }
    return holds(f, buf, whole) ? found(whole, n) : BW_SCAN_BAD;
}

static bw_scan scan_fixed(const bw_framing *f, const uint8_t *buf, size_t len, size_t *n) {
    return checked(f, buf, len, f->size, n);
}

static bw_scan scan_between(const bw_framing *f, const uint8_t *buf, size_t len, size_t *n) {
    size_t room = len < f->max ? len : f->max;
    const uint8_t *end = room > 1 ? memchr(buf + 1, f->last, room - 1) : NULL;
    if (end == NULL) {
        return len < f->max ? BW_SCAN_MORE : BW_SCAN_BAD;
    }
    size_t whole = (size_t)(end - buf) + 1;
    return holds(f, buf, whole - 1) ? found(whole, n) : BW_SCAN_BAD;
}

static bw_scan scan_counted(const bw_framing *f, const uint8_t *buf, size_t len, size_t *n) {
    if (len < f->at + f->bytes) {
        return BW_SCAN_MORE;
    }
    size_t count = buf[f->at];
    if (f->bytes == 2) {
        count = f->big_endian ? count << 8 | buf[f->at + 1] : count | (size_t)buf[f->at + 1] << 8;
    }
    size_t whole = count + f->adds;
    return whole < f->at + f->bytes ? BW_SCAN_BAD : checked(f, buf, len, whole, n);
}

static bw_scan scan_cobs(const bw_framing *f, const uint8_t *buf, size_t len, size_t *n) {
    size_t room = len < f->max ? len : f->max;
    const uint8_t *end = memchr(buf, 0, room);
    if (end == NULL) {
        return len < f->max ? BW_SCAN_MORE : BW_SCAN_BAD;
    }
    return found((size_t)(end - buf) + 1, n);
}

bw_scan bw_framing_scan(const bw_framing *framing, const uint8_t *buf, size_t len, size_t *n) {
    static bw_scan (*const scans[])(const bw_framing *f, const uint8_t *buf, size_t len,
                                    size_t *n) = {
        [BW_FRAMING_LINES] = scan_lines,     [BW_FRAMING_FIXED] = scan_fixed,
        [BW_FRAMING_BETWEEN] = scan_between, [BW_FRAMING_COUNTED] = scan_counted,
        [BW_FRAMING_COBS] = scan_cobs,
    };
    bool must_begin = framing->kind == BW_FRAMING_BETWEEN || framing->has_first;
    if (must_begin && buf[0] != framing->first) {
        return BW_SCAN_BAD;
    }
    return scans[framing->kind](framing, buf, len, n);
}

/* ---- opening ---- */

static bool uncob(const uint8_t *coded, size_t n, uint8_t *out, size_t *out_n) {
    size_t len = 0;
    for (size_t at = 0; at < n;) {
        size_t code = coded[at];
        if (code == 0 || at + code > n) {
            return false;
        }
        memcpy(out + len, coded + at + 1, code - 1);
        len += code - 1;
        at += code;
        if (code < 255 && at < n) {
            out[len++] = 0;
        }
    }
    *out_n = len;
    return true;
}

bool bw_framing_open(const bw_framing *framing, const uint8_t *frame, size_t len, uint8_t *out,
                     size_t *n) {
    size_t body = len;
    if (framing->kind == BW_FRAMING_LINES) {
        body -= is_line_end(frame[len - 1]) ? 1 : 0;
    } else if (framing->kind == BW_FRAMING_BETWEEN) {
        body -= 1;
    }
    if (framing->kind != BW_FRAMING_COBS) {
        memcpy(out, frame, body);
    } else if (!uncob(frame, len - 1, out, &body)) {
        return false;
    }
    if (!holds(framing, out, body)) {
        return false;
    }
    *n = body - check_len(framing);
    return true;
}

/* ---- settings ---- */

const char *bw_framing_fault(const bw_framing *f) {
    size_t least = check_len(f) + f->check_from + f->check_gap + 1;
    if (f->max < least || f->max > BW_FRAMED_MAX) {
        return "max is a number of bytes up to 4096, and more than the check has";
    }
    if (f->kind == BW_FRAMING_FIXED && (f->size < least || f->size > f->max)) {
        return "fixed needs its size in bytes, the check counted too: fixed(8)";
    }
    if (f->kind == BW_FRAMING_BETWEEN && !f->has_first) {
        return "between needs first and last, as in between { first = 2, last = 3 }";
    }
    if (f->kind == BW_FRAMING_COUNTED &&
        (f->bytes < 1 || f->bytes > 2 || f->at + f->bytes > 64 || f->adds > f->max)) {
        return "counted needs at (from 0) and bytes (1 or 2) of the length, and what it adds";
    }
    return NULL;
}
