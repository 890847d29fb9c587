/* capture.h - the raw bytes of a device, with their times, as text.
 *
 * Room: device, private to it.  An event a line, so that people can read and cut it: "@",
 * microseconds, a blank, and
 *   bytes in hex       what came in one read (blanks between bytes are let through)
 *   > bytes in hex     what was sent to the device
 *   opened, silent, lost   what the driver was told of the port
 * # begins a remark.  "# spec: /dev/ttyUSB0,driver=line" says how it was read. */
#ifndef BW_DEVICE_CAPTURE_H
#define BW_DEVICE_CAPTURE_H

#include "device/device.h"

enum { BW_CAPTURE_READ_MAX = 8192, BW_CAPTURE_TEXT_MAX = 2 * BW_CAPTURE_READ_MAX + 32 };

typedef enum bw_capture_kind {
    BW_CAPTURE_NOTHING = 0, /* a remark, an empty line */
    BW_CAPTURE_BYTES,
    BW_CAPTURE_SENT,
    BW_CAPTURE_EVENT
} bw_capture_kind;

typedef struct bw_capture_line {
    bw_capture_kind kind;
    int64_t time_us;
    bw_device_event event; /* of EVENT */
    const uint8_t *bytes;  /* of BYTES and SENT; borrowed */
    size_t n;
} bw_capture_line;

/* One line of a capture; CR before its end is let through.  store: BW_CAPTURE_READ_MAX bytes, to
 * which out->bytes points.  BW_E_DATA for anything else, out undefined then. */
BW_MUST_USE bw_status bw_capture_parse(const char *line, size_t len, uint8_t *store,
                                       bw_capture_line *out, bw_err *err);

/* Writes the line, with its end, into out of BW_CAPTURE_TEXT_MAX bytes; how many characters. */
size_t bw_capture_write(const bw_capture_line *line, char *out);

/* ---- what is kept for a pull ---- */

/* All zero is an empty capture that began at monotonic time 0.  Of reads only; a read is kept whole
 * or not at all.  Their text has at most BW_RAW_BYTES_MAX. */
typedef struct bw_capture {
    uint8_t *data; /* owned: reads one behind the other, the oldest at from */
    size_t from, end, size;
    size_t text_most; /* what the text of all reads takes at most */
    int64_t began_ns; /* from when their times count */
    bool cut;         /* what came last was not kept */
    char *text;       /* owned: as it was last asked for; NULL: never */
} bw_capture;

void bw_capture_fini(bw_capture *capture);

/* Forgets all; keeps the memory.  Times count from here on. */
void bw_capture_reset(bw_capture *capture, int64_t now_ns);

/* Forgets what came before this, from which times then count; and the oldest of what takes more
 * than half of the room, so that there is some for what follows. */
void bw_capture_forget(bw_capture *capture, int64_t before_ns);

/* One read of n >= 1 bytes at now_ns, at most BW_CAPTURE_READ_MAX. */
void bw_capture_add(bw_capture *capture, int64_t now_ns, const uint8_t *bytes, size_t n);

/* All of it as text, borrowed until the next call on the capture; never NULL, "" and cut set where
 * memory is out. */
const char *bw_capture_text(bw_capture *capture, size_t *len);

#endif
