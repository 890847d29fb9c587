/* frame.c - frames to bytes and back. */
#include "frame.h"

void ad_put_u16(uint8_t *at, uint16_t value) {
    at[0] = (uint8_t)value;
    at[1] = (uint8_t)(value >> 8);
}

void ad_put_u32(uint8_t *at, uint32_t value) {
    ad_put_u16(at, (uint16_t)value);
    ad_put_u16(at + 2, (uint16_t)(value >> 16));
}

void ad_put_i32(uint8_t *at, int32_t value) {
    ad_put_u32(at, (uint32_t)value);
}

uint16_t ad_get_u16(const uint8_t *at) {
    return (uint16_t)(at[0] | (uint16_t)at[1] << 8);
}

uint32_t ad_get_u32(const uint8_t *at) {
    return ad_get_u16(at) | (uint32_t)ad_get_u16(at + 2) << 16;
}

int32_t ad_get_i32(const uint8_t *at) {
    return (int32_t)ad_get_u32(at);
}

/* Bit by bit, without a table: the frames of a second take about a fiftieth of the processor. */
static uint32_t crc_byte(uint32_t crc, uint8_t byte) {
    crc ^= byte;
    for (uint8_t bit = 0; bit < 8; bit++) {
        crc = crc & 1u ? crc >> 1 ^ ADAPTER_CRC_POLYNOMIAL : crc >> 1;
    }
    return crc;
}

uint32_t ad_crc(const uint8_t *bytes, uint8_t n) {
    uint32_t crc = ADAPTER_CRC_INITIAL;
    for (uint8_t i = 0; i < n; i++) {
        crc = crc_byte(crc, bytes[i]);
    }
    return (uint32_t)(crc ^ ADAPTER_CRC_FINAL_XOR);
}

static uint8_t code(const uint8_t *plain, uint8_t n, uint8_t *coded) {
    uint8_t piece = 0; /* where this piece's length stands */
    uint8_t out = 1;
    for (uint8_t i = 0; i < n; i++) {
        if (plain[i] == 0) {
            coded[piece] = (uint8_t)(out - piece);
            piece = out++;
        } else {
            coded[out++] = plain[i];
        }
    }
    coded[piece] = (uint8_t)(out - piece);
    coded[out++] = 0;
    return out;
}

uint8_t ad_frame_code(uint8_t *plain, uint8_t n, uint8_t type, uint16_t sequence, uint8_t *coded) {
    uint8_t covered = (uint8_t)(n - ADAPTER_CRC_BYTES);
    plain[ADAPTER_AT_VERSION] = ADAPTER_VERSION;
    plain[ADAPTER_AT_TYPE] = type;
    ad_put_u16(plain + ADAPTER_AT_SEQUENCE, sequence);
    ad_put_u32(plain + covered, ad_crc(plain, covered));
    return code(plain, n, coded);
}

static void keep(ad_reader *reader, uint8_t byte) {
    if (reader->n >= ADAPTER_PLAIN_MAX) {
        reader->unreadable = true;
        return;
    }
    reader->plain[reader->n++] = byte;
}

static bool is_whole(const ad_reader *reader) {
    if (reader->unreadable || reader->left != 0 ||
        reader->n < ADAPTER_HEAD_BYTES + ADAPTER_CRC_BYTES) {
        return false;
    }
    uint8_t covered = (uint8_t)(reader->n - ADAPTER_CRC_BYTES);
    return ad_crc(reader->plain, covered) == ad_get_u32(reader->plain + covered);
}

static void begin_piece(ad_reader *reader, uint8_t length) {
    if (reader->zero_due) {
        keep(reader, 0);
    }
    reader->begun = true;
    reader->zero_due = true;
    reader->left = (uint8_t)(length - 1);
}

ad_read ad_reader_take(ad_reader *reader, uint8_t byte) {
    if (byte != 0) {
        if (!reader->begun) {
            reader->n = 0;
        }
        if (reader->left == 0) {
            begin_piece(reader, byte);
        } else {
            keep(reader, byte);
            reader->left--;
        }
        return AD_READ_MORE;
    }
    ad_read said = AD_READ_MORE;
    if (reader->begun) {
        said = is_whole(reader) ? AD_READ_FRAME : AD_READ_BAD;
    }
    reader->begun = false;
    reader->zero_due = false;
    reader->unreadable = false;
    reader->left = 0;
    return said;
}
