/* drivers.h - the drivers that are installed, each one tried.
 *
 * Room: device. */
#ifndef BW_DEVICE_DRIVERS_H
#define BW_DEVICE_DRIVERS_H

#include "device/device.h"

enum { BW_DRIVER_PATH_MAX = 4096 };

typedef struct bw_driver_row {
    char name[17];
    char path[BW_DRIVER_PATH_MAX]; /* "" where even that failed */
    char fault[BW_ERR_TEXT_MAX];   /* why it can't be used; "" where it can */
    char version[33];              /* from here on: only without a fault */
    char says[201];
    char source[201];
    bw_line_settings line;
    uint32_t can; /* BW_CAN_* */
} bw_driver_row;

/* Loads every driver in the plugin folders in a worker of its own, in the order of their names.
 * *out is freed by the caller with free(); a driver with a fault is a row, no failure. */
BW_MUST_USE bw_status bw_drivers_list(bw_driver_row **out, size_t *n, bw_err *err);

/* The word for one bit of BW_CAN_*: by bit number, NULL behind the last. */
const char *bw_driver_can_word(size_t bit);

#endif
