/* chip.h - the rest of the board: what only main.c asks for.  See board.h for the logic's part. */
#ifndef ADAPTER_FIRMWARE_CHIP_H
#define ADAPTER_FIRMWARE_CHIP_H

#include <stdbool.h>
#include <stdint.h>

/* Why it started: ADAPTER_RESET_...  Also stops what was left of the watchdog. */
uint8_t chip_reset_cause(void);

void chip_begin(void);

/* The next byte from the host, if there is one. */
bool chip_byte(uint8_t *byte);

/* Ticks since the last call, at most 200; *now_us: the time of the last one. */
uint8_t chip_ticks(uint32_t *now_us);

/* True where a conversion has finished since the last call; *time_us: when. */
bool chip_conversion(int32_t *counts, uint32_t *time_us);

/* False where the gyro does not answer. */
bool chip_gyro(int16_t *rate);

/* Until the next interrupt. */
void chip_wait(void);

#endif
