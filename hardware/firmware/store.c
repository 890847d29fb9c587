/* store.c - what the adapter keeps without power.
 *
 * The first copy is written first, so where both are good and differ (the supply went between the
 * two), the first is the newer one. */
#include "store.h"

#include "adapter_frame.h"
#include "board.h"
#include "frame.h"

#include <string.h>

enum {
    FORMAT = 1,
    COVERED = AD_STORE_COPY_BYTES - ADAPTER_CRC_BYTES,
    NOT_OVERLOADED = 0xFF, /* as it comes erased */
    OVERLOADED = 0x55
};

/* Offsets in a copy. */
enum {
    AT_FORMAT = 0,
    AT_SERIAL = 1,
    AT_GAIN_TIGHTEN = 5,
    AT_GAIN_LOOSEN = 9,
    AT_GYRO = 13,
    AT_SHUNT = 17,
    AT_OVERLOAD = 21,
    AT_RATED = 25,
    AT_DATE = 27,
    AT_CERTIFICATE = 31,
    AT_ZERO = 43
};

static void pack(const ad_calibration *from, uint8_t *to) {
    to[AT_FORMAT] = FORMAT;
    ad_put_u32(to + AT_SERIAL, from->serial);
    ad_put_u32(to + AT_GAIN_TIGHTEN, from->gain_tighten_pNm);
    ad_put_u32(to + AT_GAIN_LOOSEN, from->gain_loosen_pNm);
    ad_put_u32(to + AT_GYRO, from->gyro_udps);
    ad_put_i32(to + AT_SHUNT, from->shunt_counts);
    ad_put_i32(to + AT_OVERLOAD, from->overload_counts);
    ad_put_u16(to + AT_RATED, from->rated_cNm);
    ad_put_u32(to + AT_DATE, from->date);
    memcpy(to + AT_CERTIFICATE, from->certificate, sizeof from->certificate);
    ad_put_i32(to + AT_ZERO, from->zero_counts);
    ad_put_u32(to + COVERED, ad_crc(to, COVERED));
}

static void unpack(const uint8_t *from, ad_calibration *to) {
    to->serial = ad_get_u32(from + AT_SERIAL);
    to->gain_tighten_pNm = ad_get_u32(from + AT_GAIN_TIGHTEN);
    to->gain_loosen_pNm = ad_get_u32(from + AT_GAIN_LOOSEN);
    to->gyro_udps = ad_get_u32(from + AT_GYRO);
    to->shunt_counts = ad_get_i32(from + AT_SHUNT);
    to->overload_counts = ad_get_i32(from + AT_OVERLOAD);
    to->rated_cNm = ad_get_u16(from + AT_RATED);
    to->date = ad_get_u32(from + AT_DATE);
    memcpy(to->certificate, from + AT_CERTIFICATE, sizeof to->certificate);
    to->zero_counts = ad_get_i32(from + AT_ZERO);
}

/* True where the copy is whole. */
static bool read_copy(uint16_t address, uint8_t *copy) {
    for (int i = 0; i < AD_STORE_COPY_BYTES; i++) {
        copy[i] = board_store_read((uint16_t)(address + (uint16_t)i));
    }
    return copy[AT_FORMAT] == FORMAT && ad_crc(copy, COVERED) == ad_get_u32(copy + COVERED);
}

static bool write_copy(uint16_t address, const uint8_t *copy) {
    uint8_t back[AD_STORE_COPY_BYTES];
    for (int i = 0; i < AD_STORE_COPY_BYTES; i++) {
        board_store_write((uint16_t)(address + (uint16_t)i), copy[i]);
    }
    return read_copy(address, back) && memcmp(back, copy, sizeof back) == 0;
}

uint8_t ad_store_load(ad_calibration *out) {
    uint8_t first[AD_STORE_COPY_BYTES];
    uint8_t second[AD_STORE_COPY_BYTES];
    bool first_good = read_copy(AD_STORE_FIRST, first);
    bool second_good = read_copy(AD_STORE_SECOND, second);
    memset(out, 0, sizeof *out);
    if (!first_good && !second_good) {
        return ADAPTER_CALIBRATION_NONE;
    }
    unpack(first_good ? first : second, out);
    if (!first_good) {
        return ADAPTER_CALIBRATION_SECOND;
    }
    return second_good && memcmp(first, second, sizeof first) == 0 ? ADAPTER_CALIBRATION_BOTH
                                                                   : ADAPTER_CALIBRATION_FIRST;
}

bool ad_store_save(const ad_calibration *calibration) {
    uint8_t copy[AD_STORE_COPY_BYTES];
    pack(calibration, copy);
    return write_copy(AD_STORE_FIRST, copy) && write_copy(AD_STORE_SECOND, copy);
}

bool ad_store_overloaded(void) {
    return board_store_read(AD_STORE_LATCH) != NOT_OVERLOADED;
}

void ad_store_mark_overload(bool overloaded) {
    board_store_write(AD_STORE_LATCH, overloaded ? OVERLOADED : NOT_OVERLOADED);
}

uint16_t ad_store_count_boot(void) {
    uint16_t boots = (uint16_t)(board_store_read(AD_STORE_BOOTS) |
                                (uint16_t)board_store_read(AD_STORE_BOOTS + 1) << 8);
    boots++;
    board_store_write(AD_STORE_BOOTS, (uint8_t)boots);
    board_store_write(AD_STORE_BOOTS + 1, (uint8_t)(boots >> 8));
    return boots;
}
