/* ports.h - the serial ports here, and which driver reads what comes out of one.
 *
 * Room: device. */
#ifndef BW_DEVICE_PORTS_H
#define BW_DEVICE_PORTS_H

#include "device/device.h"
#include "device/drivers.h"

enum { BW_PORT_WORD_MAX = 128 };

/* Every text is printable, "" where it is not known. */
typedef struct bw_port_row {
    char path[BW_PORT_PATH_MAX];  /* /dev/ttyUSB0 */
    char by_id[BW_PORT_PATH_MAX]; /* the name under /dev/serial/by-id that stays the same */
    char says[BW_PORT_WORD_MAX];
    char maker[BW_PORT_WORD_MAX];
    char product[BW_PORT_WORD_MAX];
    char serial[BW_PORT_WORD_MAX];
    int vendor_id, product_id; /* 0: no USB device */
} bw_port_row;

/* What is there, in the order of their paths.  *out is freed by the caller with free(). */
BW_MUST_USE bw_status bw_ports_list(bw_port_row **out, size_t *n, bw_err *err);

/* What was heard on a port. */
typedef struct bw_hearing {
    size_t bytes;                   /* heard at the setting that fits best */
    bool at_speed;                  /* `spec` names a speed that is not the driver's own */
    char spec[BW_SPEC_MAX];         /* what to give as --wrench; "" where nothing fits */
    char driver[17];                /* "" where nothing fits */
    size_t readings;                /* that the driver made of it */
    uint64_t unread;                /* and what it could not read */
    char says[BW_ERR_TEXT_MAX / 2]; /* one sentence for the builder */
} bw_hearing;

/* Opens the port at each driver's settings in turn, listens for listen_ms, and plays what came to
 * the drivers.  Nothing is sent, unless ask: then drivers whose devices have to be asked may.
 * BW_E_ABSENT, BW_E_BUSY, BW_E_DATA, BW_E_IO as bw_device_open. */
BW_MUST_USE bw_status bw_port_hear(const char *path, const bw_driver_row *driver, size_t driver_n,
                                   int listen_ms, bool ask, bw_hearing *out, bw_err *err);

#endif
