/* driver.h - what a C driver is: the only header it may include besides libc without I/O.
 *
 * A driver is a translator and nothing else: a device's bytes in, readings out; a wish in, bytes
 * out.  It never opens a port, never reads a clock, never allocates, keeps no writable static
 * variables.  The host owns the port, the buffer, the time and the state, and runs the driver in a
 * process of its own whose rights were given up: a call that opens, connects, starts or signals
 * fails there, and a driver that crashes, hangs or floods ends its device, not the build.  So the
 * same driver runs on a USB serial port, a pseudo-terminal, a capture, a fuzzer.
 *
 * Lifecycle.  The host loads the shared object, calls bw_driver_entry once, and checks every member
 * (all faults are told in one line).  For each device it sets aside state_size zeroed bytes and
 * calls configure once for each setting, in the order given.  Then event(OPENED), and for all bytes
 * that come: scan until it says BAD (one byte is dropped and counted), MORE (wait) or FRAME (decode
 * gets exactly that many bytes, which are then dropped).  tick comes after each read and at least
 * ten times a second besides; wish when somebody asks for something.  There is no farewell: the
 * state is memory that the host takes back.
 *
 * Calls never overlap, and no call is made from within another.  Each must come back within
 * milliseconds; the host kills what takes half a second.
 *
 * Numbers.  Torque is N.m and angle degrees, whatever the device sends; tightening is positive.
 * A number that cannot be read with certainty is not read: the host keeps every raw byte, so an
 * unknown line is never lost, and a wrong number is worse than none.
 *
 * Versions.  Enumerators and bits have fixed numbers, and members are added at the end of a
 * structure only, each with the release that brought it.  `size` tells how much of it the other
 * side knows; what lies behind reads as zero.  A change of meaning is another BW_DRIVER_ABI, and
 * the host loads only its own.
 *
 * plugins/skeleton is a whole driver to begin with; docs/drivers-in-c.md walks through it. */
#ifndef BOLTWRIGHT_DRIVER_H
#define BOLTWRIGHT_DRIVER_H

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define BW_DRIVER_ABI 1u

/* Drivers are best built with hidden symbols; this one must be seen. */
#if defined(__GNUC__)
#define BW_DRIVER_EXPORT __attribute__((visibility("default")))
#else
#define BW_DRIVER_EXPORT
#endif

/* ---- readings ---- */

/* Bits of bw_reading.has. */
#define BW_HAS_TORQUE 1u /* every reading has one; the host refuses it otherwise */
#define BW_HAS_ANGLE  2u
#define BW_HAS_TIME   4u /* time_s is the device's own clock */
#define BW_HAS_RESULT 8u /* a result after a pull (its peak), not a sample */

/* One reading, by value.  Members whose bit is not set are ignored.  The host refuses, counts and
 * tells what is not finite or out of bounds: |torque| <= 100 000 N.m, |angle| <= 1 000 000 degrees,
 * |time| <= 10^9 s. */
typedef struct bw_reading {
    uint32_t size;    /* sizeof(bw_reading) of the driver's build */
    uint32_t has;     /* BW_HAS_* */
    double torque_Nm; /* a sample's torque, or a result's peak */
    double angle_deg; /* counted from wherever the device counts from */
    double time_s;    /* device's clock, seconds from anywhere; a step back restarts it.  A result
                       * like the one before it in all members and with the same time is that one,
                       * sent again, and counts once */
} bw_reading;

/* ---- answers ---- */

typedef enum bw_scan {
    BW_SCAN_BAD = -1, /* no frame begins at this byte */
    BW_SCAN_FRAME = 0,
    BW_SCAN_MORE = 1 /* what is here may become a frame */
} bw_scan;

/* What decode says of a frame. */
typedef enum bw_decode {
    BW_DECODE_OK = 0,     /* emitted what was in it, perhaps nothing (a banner, an echo) */
    BW_DECODE_UNKNOWN = 1 /* not understood: kept, counted, told */
} bw_decode;

/* ---- the host's side ---- */

/* Borrowed by the driver for the time of one call; never kept. */
typedef struct bw_driver_host {
    uint32_t size; /* sizeof(bw_driver_host) of the host's build */
    void *ctx;     /* handed back in each call below */

    /* Takes a copy of *reading.  At most 4096 in one read; more is a flood and ends the driver. */
    void (*emit)(void *ctx, const bw_reading *reading);

    /* Bytes for the device, copied, sent once the call is over.  At most 1024 in one call.
     * 0, or -1 where there is no room: nothing of it is sent then. */
    int (*send)(void *ctx, const uint8_t *bytes, size_t n);

    /* One line for the builder, NUL-ended, cut at 200 bytes; characters that could act on a
     * terminal are shown as \xNN.  At most 64 lines in one call are kept. */
    void (*say)(void *ctx, const char *text);

    /* The device's own serial number, NUL-ended, 1 to 60 bytes.  Another one than before on the
     * same port means another device: the builder is told.  Since 0.1.0. */
    void (*identify)(void *ctx, const char *serial);
} bw_driver_host;

/* With each of them the host drops what it held of an unfinished frame. */
typedef enum bw_device_event {
    BW_DEVICE_OPENED = 1, /* the first bytes to come may be the end of a frame */
    BW_DEVICE_SILENT = 2, /* nothing came for half a second: the next byte begins a frame */
    BW_DEVICE_LOST = 3,   /* unplugged or hung up; OPENED follows if it comes back */
    BW_DEVICE_BROKEN =
        4 /* as SILENT, but a frame was begun: what comes next may be the rest of it */
} bw_device_event;

/* What somebody asks of a device. */
typedef enum bw_wish_kind {
    BW_WISH_READ = 1,   /* one reading now */
    BW_WISH_ZERO = 2,   /* take what is there for zero; asked only while nothing pulls */
    BW_WISH_TARGET = 3, /* show or signal this target */
    BW_WISH_SHUNT = 4   /* one reading with the shunt resistor across the bridge */
} bw_wish_kind;

typedef struct bw_wish {
    uint32_t size;    /* sizeof(bw_wish) of the host's build */
    uint32_t kind;    /* bw_wish_kind; refuse what you do not know */
    double torque_Nm; /* of TARGET, greater than 0; 0 otherwise, as the two below */
    double low_Nm;    /* its limits, low_Nm <= torque_Nm <= high_Nm */
    double high_Nm;
} bw_wish;

/* Line settings that the device wants unless the builder says otherwise. */
typedef struct bw_line_settings {
    uint32_t baud; /* 50 to 4 000 000 */
    uint8_t bits;  /* 7 or 8 */
    char parity;   /* 'N', 'E', 'O' */
    uint8_t stops; /* 1 or 2 */
} bw_line_settings;

/* ---- the driver's side ---- */

/* Bits of bw_driver.can: what devices of this kind do, for lists and for the record. */
#define BW_CAN_STREAM   1u  /* samples */
#define BW_CAN_RESULT   2u  /* results */
#define BW_CAN_ANGLE    4u  /* turn besides torque */
#define BW_CAN_CHECKSUM 8u  /* every frame carries one and the driver proves it */
#define BW_CAN_SERIAL   16u /* calls identify */
#define BW_CAN_READ     32u /* grants BW_WISH_READ, and so on */
#define BW_CAN_ZERO     64u
#define BW_CAN_TARGET   128u
#define BW_CAN_SHUNT    256u
#define BW_CAN_ASKED    512u /* sends nothing unless asked: tick or wish send first */
/* Sends its last result again, until it is acknowledged or because a key was pressed: the same one
 * within three seconds of itself counts once, and the builder is told.  Since 0.1.0 */
#define BW_CAN_RESENDS 1024u

/* Static storage of the driver; constant from bw_driver_entry on. */
typedef struct bw_driver {
    uint32_t abi;        /* BW_DRIVER_ABI */
    uint32_t size;       /* sizeof(bw_driver) of the driver's build */
    const char *name;    /* [a-z0-9_]{1,16}, and that of its file: NAME.so */
    const char *version; /* 1 to 32 printable characters */
    const char *says;    /* one line, 1 to 200 bytes */
    const char *source;  /* document that the format was taken from, likewise */
    bw_line_settings line;
    size_t state_size; /* bytes of zeroed state for each device, at most 1 MiB; 0 is fine */
    size_t frame_max;  /* longest frame, 1 to 65536 */

    /* Takes one setting (`unit`, `lbf.ft`) into the state, before any byte.  key and value:
     * NUL-ended, borrowed for the call, not empty.  Returns NULL, or a static line that says what
     * would be right.  May be NULL: then no setting is known. */
    const char *(*configure)(void *state, const char *key, const char *value);

    /* Looks for a frame at the start of buf: a pure function of state's settings, the bytes and
     * the length (1 or more), with the same answer however the bytes were divided into reads: MORE
     * may turn into anything, FRAME and BAD are final.  *frame_len is set for FRAME only, 1 to
     * len.  A buffer of frame_max bytes with no FRAME is BAD. */
    bw_scan (*scan)(const void *state, const uint8_t *buf, size_t len, size_t *frame_len);

    /* Reads one frame as scan found it, emits what is in it.  A frame whose checksum is wrong is
     * best refused by scan (BAD), so that a frame inside of it can still be found. */
    bw_decode (*decode)(void *state, const bw_driver_host *host, const uint8_t *frame, size_t len);

    /* May be NULL. */
    void (*event)(void *state, const bw_driver_host *host, bw_device_event event);

    /* now_ns: monotonic, from anywhere, never going back; for devices that have to be asked.  May
     * be NULL.  What decode makes of an answer must not hang on it: a capture is played back
     * without ticks. */
    void (*tick)(void *state, const bw_driver_host *host, uint64_t now_ns);

    uint32_t can; /* BW_CAN_*; for lists and the record, never for judging.  Since 0.1.0 */

    /* Sends what the wish needs.  0, or -1 where the device cannot do that.  May be NULL: then it
     * cannot do anything.  Since 0.1.0. */
    int (*wish)(void *state, const bw_driver_host *host, const bw_wish *wish);
} bw_driver;

/* The one symbol that a driver exports: `const bw_driver *bw_driver_entry(void)`.  Called once;
 * never NULL; valid for the life of the process. */
typedef const bw_driver *bw_driver_entry_fn(void);
BW_DRIVER_EXPORT const bw_driver *bw_driver_entry(void);

#ifdef __cplusplus
}
#endif

#endif
