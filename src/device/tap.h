/* tap.h - one who sees everything that passes a device's port, as lines of a capture.
 *
 * Room: device, private to it. */
#ifndef BW_DEVICE_TAP_H
#define BW_DEVICE_TAP_H

#include "device/capture.h"

/* All zero: nobody. */
typedef struct bw_tap {
    void (*take)(void *ctx, const char *line, size_t len);
    void *ctx;
    int64_t began_ns;
} bw_tap;

static inline void bw_tap_line(const bw_tap *tap, int64_t now_ns, bw_capture_line line) {
    if (tap->take != NULL) {
        char text[BW_CAPTURE_TEXT_MAX];
        line.time_us = now_ns > tap->began_ns ? (now_ns - tap->began_ns) / 1000 : 0;
        size_t len = bw_capture_write(&line, text);
        tap->take(tap->ctx, text, len);
    }
}

#endif
