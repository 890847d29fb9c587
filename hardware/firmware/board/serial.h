/* serial.h - the UART.  board_send of board.h is here too. */
#ifndef ADAPTER_FIRMWARE_SERIAL_H
#define ADAPTER_FIRMWARE_SERIAL_H

#include <stdbool.h>
#include <stdint.h>

void serial_begin(void);
bool serial_byte(uint8_t *byte);

#endif
