/* driver_feed.h - a driver at work: bytes in, readings out.
 *
 * Room: device, private to it (and for tests and fuzz targets, which need no process).  The feed
 * owns the buffer and the driver's state, and proves every length itself. */
#ifndef BW_DEVICE_DRIVER_FEED_H
#define BW_DEVICE_DRIVER_FEED_H

#include "base/status.h"
#include "boltwright/driver.h"

#include <stdbool.h>

typedef struct bw_feed bw_feed;

/* Where things go; all set.  What is pointed to is valid during the call only. */
typedef struct bw_feed_out {
    void *ctx;
    void (*reading)(void *ctx, const bw_reading *reading);
    int (*send)(void *ctx, const uint8_t *bytes, size_t n);
    void (*say)(void *ctx, const char *text);
    void (*unknown)(void *ctx, const uint8_t *frame, size_t len);
    void (*identify)(void *ctx, const char *serial);
} bw_feed_out;

/* driver: checked (bw_driver_check); copied.  Owned by the caller. */
BW_MUST_USE bw_status bw_feed_new(const bw_driver *driver, bw_feed **out, bw_err *err);
void bw_feed_free(bw_feed *feed);

/* Puts what the driver is made of (see bw_driver_maker) at the beginning of its state. */
void bw_feed_put_self(bw_feed *feed, void *self);

/* One setting, before any byte.  BW_E_DATA with what would be right. */
BW_MUST_USE bw_status bw_feed_set(bw_feed *feed, const char *key, const char *value, bw_err *err);

/* The calls below return BW_OK, or BW_E_DATA where the driver did what driver.h forbids; the feed
 * must not be used any more then. */
BW_MUST_USE bw_status bw_feed_bytes(bw_feed *feed, const uint8_t *bytes, size_t n,
                                    const bw_feed_out *out, bw_err *err);
/* SILENT in the middle of a frame becomes BROKEN. */
BW_MUST_USE bw_status bw_feed_event(bw_feed *feed, bw_device_event event, const bw_feed_out *out,
                                    bw_err *err);
BW_MUST_USE bw_status bw_feed_tick(bw_feed *feed, uint64_t now_ns, const bw_feed_out *out,
                                   bw_err *err);

/* *granted: false where the driver cannot do that. */
BW_MUST_USE bw_status bw_feed_wish(bw_feed *feed, const bw_wish *wish, const bw_feed_out *out,
                                   bool *granted, bw_err *err);

/* Bytes dropped because no frame began with them or was finished, since bw_feed_new. */
uint64_t bw_feed_dropped(const bw_feed *feed);

/* Frames that decode understood, likewise. */
uint64_t bw_feed_understood(const bw_feed *feed);

#endif
