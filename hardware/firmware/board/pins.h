/* pins.h - which pin of the ATmega328P does what.  electronics.md and the netlist say the same. */
#ifndef ADAPTER_FIRMWARE_PINS_H
#define ADAPTER_FIRMWARE_PINS_H

#include <avr/io.h>

/* Port B; MOSI, MISO and SCK are PB3 to PB5. */
#define PIN_CONVERTER_SELECT PB1
#define PIN_GYRO_SELECT      PB2
#define PIN_MOSI             PB3
#define PIN_SCK              PB5

/* Port D; RXD and TXD are PD0 and PD1. */
#define PIN_CONVERTER_READY PD2
#define PIN_EXCITE          PD3
#define PIN_SHUNT           PD4
#define PIN_LAMP_GREEN      PD5
#define PIN_LAMP_RED        PD6
#define PIN_CALIBRATE       PD7 /* to ground through the jumper */

#endif
