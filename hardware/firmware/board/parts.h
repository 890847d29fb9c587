/* parts.h - what the data sheets of your converter and gyro say.
 *
 * The figures here are those of the simulated parts, which follow what most such parts have in
 * common.  Put in those of the parts that you have bought: electronics.md says what they must be
 * able to do, and which of their settings each line wants. */
#ifndef ADAPTER_FIRMWARE_PARTS_H
#define ADAPTER_FIRMWARE_PARTS_H

#include <stdint.h>

/* The converter: 24 bits, two's complement, most significant byte first, behind one command byte.
 * Its data-ready line falls when a conversion is done. */
#define CONVERTER_SPI_MODE     1
#define CONVERTER_READ         0x10
#define CONVERTER_SETUP_LENGTH 4

/* Reset; write settings; gain 128, reference from the excitation, 320 conversions a second settled
 * within one, burn-out currents on; go on converting. */
static const uint8_t converter_setup[CONVERTER_SETUP_LENGTH] = {0x06, 0x40, 0x8E, 0x08};

/* The gyro: 16 bits, two's complement, in two registers, the low byte at the lower address; a read
 * sets the address's top bit. */
#define GYRO_SPI_MODE     3
#define GYRO_READ         0x80
#define GYRO_WHO          0x0F
#define GYRO_WHO_ANSWER   0x6A
#define GYRO_RATE         0x26 /* of the axis along the square drive */
#define GYRO_SETUP_LENGTH 2

/* Register, value: more than 800 readings a second within +-1000 degree/s; low-pass above 100 Hz.
 */
static const uint8_t gyro_setup[GYRO_SETUP_LENGTH][2] = {{0x11, 0x78}, {0x15, 0x02}};

#endif
