/* store.h - what the adapter keeps without power: calibration (twice), overload latch, starts.
 *
 * Pure but for the board's store.  Tests: tests/unit/hardware/test_store.c. */
#ifndef ADAPTER_FIRMWARE_STORE_H
#define ADAPTER_FIRMWARE_STORE_H

#include <stdbool.h>
#include <stdint.h>

/* What CALIBRATE sets, and the zero that was there then: later zeros stay near it. */
typedef struct ad_calibration {
    uint32_t serial;
    uint32_t gain_tighten_pNm;
    uint32_t gain_loosen_pNm;
    uint32_t gyro_udps;
    int32_t shunt_counts;
    int32_t overload_counts;
    uint16_t rated_cNm;
    uint32_t date;
    uint8_t certificate[12];
    int32_t zero_counts;
} ad_calibration;

/* Where things lie.  Bytes at address 0 are those that a failing supply damages first: left free.
 */
enum {
    AD_STORE_BOOTS = 16,
    AD_STORE_LATCH = 20,
    AD_STORE_FIRST = 32,
    AD_STORE_SECOND = 128,
    AD_STORE_COPY_BYTES = 51 /* format, 46 of calibration, CRC */
};

/* Reads the calibration.  Returns the state that CALIBRATION tells (ADAPTER_CALIBRATION_...); where
 * none can be trusted *out is all zero. */
uint8_t ad_store_load(ad_calibration *out);

/* Writes both copies, the second only after the first reads back well.  False where one does
 * not. */
bool ad_store_save(const ad_calibration *calibration);

/* Whether it has been overloaded; a damaged mark counts as one. */
bool ad_store_overloaded(void);
void ad_store_mark_overload(bool overloaded);

/* Counts this start, and returns the number; after 65535 comes 0. */
uint16_t ad_store_count_boot(void);

#endif
