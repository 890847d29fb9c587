/* frame.c - see frame.h. */
#include "frame.h"

#include <string.h>

/* ---- numbers ---- */

uint16_t frame_u16(const uint8_t *byte, size_t at) {
    return (uint16_t)(byte[at] | byte[at + 1] << 8);
}

uint32_t frame_u32(const uint8_t *byte, size_t at) {
    return (uint32_t)frame_u16(byte, at) | (uint32_t)frame_u16(byte, at + 2) << 16;
}

int32_t frame_i32(const uint8_t *byte, size_t at) {
    uint32_t value = frame_u32(byte, at);
    return value < 0x80000000u ? (int32_t)value : (int32_t)(value - 0x80000000u) + INT32_MIN;
}

void frame_put_u32(uint8_t *byte, size_t at, uint32_t value) {
    for (size_t i = 0; i < 4; i++) {
        byte[at + i] = (uint8_t)(value >> (8 * i));
    }
}

static uint32_t crc_of(const uint8_t *byte, size_t n) {
    uint32_t crc = ADAPTER_CRC_INITIAL;
    for (size_t i = 0; i < n; i++) {
        crc ^= byte[i];
        for (int bit = 0; bit < 8; bit++) {
            crc = (crc >> 1) ^ ((crc & 1) != 0 ? ADAPTER_CRC_POLYNOMIAL : 0);
        }
    }
    return crc ^ ADAPTER_CRC_FINAL_XOR;
}

/* ---- COBS ---- */

/* A frame is shorter than 254 bytes, so every piece but the last stands for a zero byte. */
static bool uncob(const uint8_t *coded, size_t n, frame *out) {
    out->len = 0;
    for (size_t at = 0; at < n;) {
        size_t piece = coded[at] - (size_t)1;
        bool last = at + piece + 1 == n;
        if (coded[at] == 0 || at + piece + 1 > n ||
            out->len + piece + (last ? 0 : 1) > sizeof out->byte) {
            return false;
        }
        memcpy(out->byte + out->len, coded + at + 1, piece);
        out->len += piece;
        if (!last) {
            out->byte[out->len++] = 0;
        }
        at += piece + 1;
    }
    return true;
}

static size_t cob(const uint8_t *plain, size_t n, uint8_t *coded) {
    size_t head = 0; /* where the piece in hand has its length */
    size_t out = 1;
    for (size_t i = 0; i < n; i++) {
        if (plain[i] == 0) {
            coded[head] = (uint8_t)(out - head);
            head = out++;
        } else {
            coded[out++] = plain[i];
        }
    }
    coded[head] = (uint8_t)(out - head);
    coded[out++] = 0;
    return out;
}

/* ---- frames ---- */

/* The whole length of each type; 0: not known, so of any length. */
static size_t length_of(uint8_t type) {
    static const struct {
        uint8_t type;
        uint8_t bytes;
    } rows[] = {{ADAPTER_SAMPLE, ADAPTER_SAMPLE_BYTES},
                {ADAPTER_IDENTITY, ADAPTER_IDENTITY_BYTES},
                {ADAPTER_CALIBRATION, ADAPTER_CALIBRATION_BYTES},
                {ADAPTER_RESULT, ADAPTER_RESULT_BYTES},
                {ADAPTER_STATUS, ADAPTER_STATUS_BYTES}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (rows[i].type == type) {
            return rows[i].bytes;
        }
    }
    return 0;
}

bool frame_read(const uint8_t *coded, size_t n, frame *out) {
    if (!uncob(coded, n, out) || out->len < ADAPTER_HEAD_BYTES + ADAPTER_CRC_BYTES) {
        return false;
    }
    size_t body_end = out->len - ADAPTER_CRC_BYTES;
    size_t wanted = length_of(out->byte[ADAPTER_AT_TYPE]);
    return out->byte[ADAPTER_AT_VERSION] == ADAPTER_VERSION &&
           (wanted == 0 || wanted == out->len) &&
           crc_of(out->byte, body_end) == frame_u32(out->byte, body_end);
}

size_t frame_write(uint8_t type, uint16_t sequence, const uint8_t *body, size_t n, uint8_t *coded) {
    uint8_t plain[ADAPTER_PLAIN_MAX] = {ADAPTER_VERSION, type, (uint8_t)sequence,
                                        (uint8_t)(sequence >> 8)};
    if (n > 0) {
        memcpy(plain + ADAPTER_AT_BODY, body, n);
    }
    frame_put_u32(plain, ADAPTER_AT_BODY + n, crc_of(plain, ADAPTER_AT_BODY + n));
    return cob(plain, ADAPTER_AT_BODY + n + ADAPTER_CRC_BYTES, coded);
}
