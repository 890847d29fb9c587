/* board.h - all that the logic asks of the hardware.
 *
 * board/ implements it for the ATmega328P, the unit tests for themselves.  Nothing here waits,
 * except writing of the store. */
#ifndef ADAPTER_FIRMWARE_BOARD_H
#define ADAPTER_FIRMWARE_BOARD_H

#include <stdbool.h>
#include <stdint.h>

/* The whole frame is sent, or nothing of it where there is no room. */
void board_send(const uint8_t *bytes, uint8_t n);

/* The bridge's excitation, and the resistor across one arm. */
void board_excite(bool on);
void board_shunt(bool on);

void board_lamp(bool green, bool red);

/* The jumper that allows a calibration. */
bool board_may_calibrate(void);

uint16_t board_supply_mV(void);

/* The memory that keeps without power; address below BOARD_STORE_BYTES. */
enum { BOARD_STORE_BYTES = 1024 };
uint8_t board_store_read(uint16_t address);
void board_store_write(uint16_t address, uint8_t byte); /* takes up to 4 ms */

#endif
