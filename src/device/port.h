/* port.h - one serial port: found, opened for ourselves alone, set, read without waiting.
 *
 * Room: device, private to it; port.c and port_list.c know libserialport. */
#ifndef BW_DEVICE_PORT_H
#define BW_DEVICE_PORT_H

#include "base/status.h"
#include "boltwright/driver.h"
#include "device/device.h"

struct sp_port;

enum { BW_USB_SERIAL_MAX = 128 };

/* What a USB port says of itself; all zero where it is none. */
typedef struct bw_usb_id {
    int vendor;
    int product;
    char serial[BW_USB_SERIAL_MAX]; /* "" where it has none */
} bw_usb_id;

typedef struct bw_port {
    char path[BW_PORT_PATH_MAX]; /* as given */
    bw_usb_id usb;               /* of the device that was opened first; kept over a close */
    bool quiet;  /* nothing was under way when it was opened: what comes begins a frame */
    int fd;      /* to read; -1 while closed */
    int lock_fd; /* holds the lock; the same as fd where libserialport is not used */
    struct sp_port *serial; /* NULL where libserialport is not used */
} bw_port;

/* A closed port.  path: /dev/ttyUSB0, ttyUSB0, /dev/serial/by-id/..., usb:SERIAL (the
 * USB device with that serial number, wherever it is plugged in), a pseudo-terminal, a link. */
void bw_port_init(bw_port *port, const char *path);

/* Opens it, sets the line, and listens for a quarter of a second whether it is quiet (not on a
 * pseudo-terminal, where whoever feeds it began with a whole frame).  Once it was open, only the
 * same device will do: a USB one with a serial number also under another path.
 *
 * BW_E_ABSENT it is not there; BW_E_BUSY another program has it; BW_E_DATA it is no serial port or
 * cannot be set so; BW_E_IO anything else. */
BW_MUST_USE bw_status bw_port_open(bw_port *port, const bw_line_settings *line, bw_err *err);
void bw_port_close(bw_port *port); /* a closed one is a no-op */

/* What is there, at most size bytes; *n == 0 where nothing is.  BW_E_ABSENT hung up or unplugged;
 * BW_E_IO. */
BW_MUST_USE bw_status bw_port_read(bw_port *port, uint8_t *out, size_t size, size_t *n,
                                   bw_err *err);

/* All of it or BW_E_IO; never waits. */
BW_MUST_USE bw_status bw_port_write(bw_port *port, const uint8_t *bytes, size_t n, bw_err *err);

#endif
