/* driver.h - what a C driver is: the only header it may include besides libc without I/O.
 *
 * A driver is a translator and nothing else: a device's bytes in, readings out.  It never opens a
 * port, never reads a clock, never allocates, keeps no static variables.  The host owns the port,
 * the buffer, the time and the state; it runs the driver in a process of its own whose rights were
 * given up.  So the same driver runs on a USB serial port, a pseudo-terminal, a capture, a fuzzer.
 *
 * Lifecycle: the host loads the shared object, calls bw_driver_entry once, checks every member,
 * and for each device sets aside state_size zeroed bytes and calls configure once.  Then, for all
 * bytes that come: scan until it says BAD (one byte is dropped and counted), MORE (wait) or FRAME
 * (decode gets exactly that many bytes, which are then dropped).  event and tick may be NULL.
 *
 * Numbers of enumerators are fixed; members are added at the end of a structure only, each with
 * the release that brought it. */
#ifndef BOLTWRIGHT_DRIVER_H
#define BOLTWRIGHT_DRIVER_H

#include <stddef.h>
#include <stdint.h>

#define BW_DRIVER_ABI 1u

/* Drivers are best built with hidden symbols; this one must be seen. */
#if defined(__GNUC__)
#define BW_DRIVER_EXPORT __attribute__((visibility("default")))
#else
#define BW_DRIVER_EXPORT
#endif

/* Bits of bw_reading.has. */
#define BW_HAS_TORQUE 1u
#define BW_HAS_ANGLE  2u
#define BW_HAS_TIME   4u /* time_s is the device's own clock */
#define BW_HAS_RESULT 8u /* a result after a pull (its peak), not a sample */

typedef struct bw_reading {
    uint32_t size; /* sizeof(bw_reading) of the driver's build */
    uint32_t has;  /* what is in it */
    double torque_Nm;
    double angle_deg;
    double time_s; /* device's clock, seconds */
} bw_reading;

typedef enum bw_scan { BW_SCAN_BAD = -1, BW_SCAN_FRAME = 0, BW_SCAN_MORE = 1 } bw_scan;

/* What decode says of a frame. */
typedef enum bw_decode {
    BW_DECODE_OK = 0,     /* emitted what was in it, perhaps nothing (a banner, an echo) */
    BW_DECODE_UNKNOWN = 1 /* not understood: kept, counted, told */
} bw_decode;

/* The host's side.  Borrowed by the driver for the time of one call. */
typedef struct bw_driver_host {
    uint32_t size;
    void *ctx;
    void (*emit)(void *ctx, const bw_reading *reading);
    int (*send)(void *ctx, const uint8_t *bytes, size_t n); /* to the device; 0 or -1 */
    void (*say)(void *ctx, const char *text);               /* one line for the builder */
} bw_driver_host;

/* With each of them the host drops what it held of an unfinished frame. */
typedef enum bw_device_event {
    BW_DEVICE_OPENED = 1, /* the first bytes to come may be the end of a frame */
    BW_DEVICE_SILENT = 2, /* nothing came for a while: the next byte begins a frame */
    BW_DEVICE_LOST = 3    /* unplugged or hung up; OPENED follows if it comes back */
} bw_device_event;

/* Line settings that the device wants unless the builder says otherwise. */
typedef struct bw_line_settings {
    uint32_t baud;
    uint8_t bits;  /* 7 or 8 */
    char parity;   /* 'N', 'E', 'O' */
    uint8_t stops; /* 1 or 2 */
} bw_line_settings;

typedef struct bw_driver {
    uint32_t abi;     /* BW_DRIVER_ABI */
    uint32_t size;    /* sizeof(bw_driver) of the driver's build */
    const char *name; /* [a-z0-9_]{1,16} */
    const char *version;
    const char *says;   /* one line */
    const char *source; /* document that the format was taken from */
    bw_line_settings line;
    size_t state_size; /* bytes of zeroed state for each device; 0 is fine */
    size_t frame_max;  /* longest frame, 1 to 65536 */

    /* Takes one setting (`unit`, `lbf.ft`) into the state, before any byte.  Returns NULL, or a
     * static line that says what would be right.  May be NULL: then no setting is known. */
    const char *(*configure)(void *state, const char *key, const char *value);

    /* Looks for a frame at the start of buf: a pure function of state's settings, bytes and
     * length.  *frame_len is set for FRAME only, 1 to len. */
    bw_scan (*scan)(const void *state, const uint8_t *buf, size_t len, size_t *frame_len);

    bw_decode (*decode)(void *state, const bw_driver_host *host, const uint8_t *frame, size_t len);

    void (*event)(void *state, const bw_driver_host *host, bw_device_event event); /* or NULL */
    void (*tick)(void *state, const bw_driver_host *host, uint64_t now_ns);        /* or NULL */
} bw_driver;

/* The one symbol that a driver exports: `const bw_driver *bw_driver_entry(void)`. */
typedef const bw_driver *bw_driver_entry_fn(void);
BW_DRIVER_EXPORT const bw_driver *bw_driver_entry(void);

#endif
