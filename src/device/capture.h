/* capture.h - the raw bytes of a device, with their times, as text.
 *
 * Room: device, private to it.  A line a read: "@", microseconds since the reset, a blank, the
 * bytes in hex.  What is beyond BW_RAW_BYTES_MAX (of text) is not kept; a line is kept whole or
 * not at all. */
#ifndef BW_DEVICE_CAPTURE_H
#define BW_DEVICE_CAPTURE_H

#include "device/device.h"

/* All zero is an empty capture that began at monotonic time 0. */
typedef struct bw_capture {
    char *text;
    size_t len;
    size_t size;
    int64_t began_ns;
    bool cut;
} bw_capture;

void bw_capture_fini(bw_capture *capture);

/* Keeps the memory for the next pull. */
void bw_capture_reset(bw_capture *capture, int64_t now_ns);

/* One read of n >= 1 bytes at now_ns. */
void bw_capture_add(bw_capture *capture, int64_t now_ns, const uint8_t *bytes, size_t n);

enum { BW_CAPTURE_READ_MAX = 8192 };

/* One line of a capture: its time and bytes.  Blanks between bytes, CR before the line's end, empty
 * lines and lines that begin with # (both n == 0) are let through.  out has BW_CAPTURE_READ_MAX
 * bytes.  BW_E_DATA for anything else. */
BW_MUST_USE bw_status bw_capture_parse(const char *line, size_t len, int64_t *time_us, uint8_t *out,
                                       size_t *n, bw_err *err);

#endif
