/* pace.h - the times of the firmware.  Constants only. */
#ifndef ADAPTER_FIRMWARE_PACE_H
#define ADAPTER_FIRMWARE_PACE_H

/* The gyro is read at each tick of the board's timer; the converter comes with a clock of its own,
 * set to about so many conversions in a second, each the mean of the time since the one before. */
enum { AD_TICKS_Hz = 800, AD_TICK_us = 1250, AD_CONVERSIONS_Hz = 320, AD_CONVERSION_us = 3125 };

/* So long it must rest before bias and zero are taken: 0.32 s. */
enum { AD_REST_TICKS = 256 };

#endif
