/* driver_feed.c - see driver_feed.h. */
#include "device/driver_feed.h"

#include <stdlib.h>
#include <string.h>

enum { READ_ROOM = 4096 };

struct bw_feed {
    bw_driver driver;
    void *state;
    uint8_t *buffer;
    size_t size;
    size_t len;
    uint64_t dropped;
    uint64_t understood;
    const char *lie; /* what the driver did that it must not; NULL so far */
};

bw_status bw_feed_new(const bw_driver *driver, bw_feed **out, bw_err *err) {
    bw_feed *feed = calloc(1, sizeof *feed);
    if (feed == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory");
    }
    feed->driver = *driver;
    feed->size = driver->frame_max + READ_ROOM;
    feed->buffer = malloc(feed->size);
    feed->state = calloc(1, driver->state_size > 0 ? driver->state_size : 1);
    if (feed->buffer == NULL || feed->state == NULL) {
        bw_feed_free(feed);
        return bw_fail(err, BW_E_MEM, "out of memory");
    }
    *out = feed;
    return BW_OK;
}

void bw_feed_free(bw_feed *feed) {
    if (feed != NULL) {
        free(feed->buffer);
        free(feed->state);
        free(feed);
    }
}

void bw_feed_put_self(bw_feed *feed, void *self) {
    memcpy(feed->state, &self, sizeof self);
}

uint64_t bw_feed_dropped(const bw_feed *feed) {
    return feed->dropped;
}

uint64_t bw_feed_understood(const bw_feed *feed) {
    return feed->understood;
}

bw_status bw_feed_set(bw_feed *feed, const char *key, const char *value, bw_err *err) {
    if (feed->driver.configure == NULL) {
        return bw_fail(err, BW_E_DATA, "%s=%s: the driver %s has no settings", key, value,
                       feed->driver.name);
    }
    const char *fault = feed->driver.configure(feed->state, key, value);
    return fault == NULL ? BW_OK : bw_fail(err, BW_E_DATA, "%s=%s: %s", key, value, fault);
}

/* ---- the driver's view of the host ---- */

/* For the time of one call into the driver. */
typedef struct call {
    bw_feed *feed;
    const bw_feed_out *out;
} call;

static void host_emit(void *ctx, const bw_reading *reading) {
    const call *c = ctx;
    if (reading == NULL || reading->size != sizeof *reading) {
        c->feed->lie = "emits a reading of another size";
        return;
    }
    c->out->reading(c->out->ctx, reading);
}

static int host_send(void *ctx, const uint8_t *bytes, size_t n) {
    const call *c = ctx;
    return bytes != NULL ? c->out->send(c->out->ctx, bytes, n) : -1;
}

static void host_say(void *ctx, const char *text) {
    const call *c = ctx;
    if (text != NULL) {
        c->out->say(c->out->ctx, text);
    }
}

static void host_identify(void *ctx, const char *serial) {
    const call *c = ctx;
    if (serial != NULL) {
        c->out->identify(c->out->ctx, serial);
    }
}

static bw_driver_host host_for(call *c) {
    return (bw_driver_host){.size = sizeof(bw_driver_host),
                            .ctx = c,
                            .emit = host_emit,
                            .send = host_send,
                            .say = host_say,
                            .identify = host_identify};
}

static bw_status verdict_on(const bw_feed *feed, bw_err *err) {
    return feed->lie == NULL
               ? BW_OK
               : bw_fail(err, BW_E_DATA, "the driver %s %s", feed->driver.name, feed->lie);
}

/* ---- frames ---- */

static void decode(bw_feed *feed, const bw_feed_out *out, const uint8_t *frame, size_t len) {
    call c = {feed, out};
    bw_driver_host host = host_for(&c);
    int said = (int)feed->driver.decode(feed->state, &host, frame, len);
    if (said == BW_DECODE_UNKNOWN) {
        out->unknown(out->ctx, frame, len);
    } else if (said != BW_DECODE_OK) {
        feed->lie = "answers decode with what is no answer";
    } else {
        feed->understood++;
    }
}

/* One step at the start of buf: how many bytes are done with; 0 to wait for more. */
static size_t step(bw_feed *feed, const bw_feed_out *out, const uint8_t *buf, size_t len) {
    size_t frame_len = 0;
    switch ((int)feed->driver.scan(feed->state, buf, len, &frame_len)) {
    case BW_SCAN_MORE:
        if (len < feed->driver.frame_max) {
            return 0;
        }
        feed->dropped++; /* no frame is longer: this is not the beginning of one */
        return 1;
    case BW_SCAN_BAD:
        feed->dropped++;
        return 1;
    case BW_SCAN_FRAME:
        if (frame_len < 1 || frame_len > len || frame_len > feed->driver.frame_max) {
            feed->lie = "finds a frame where there are no such bytes";
            return 0;
        }
        decode(feed, out, buf, frame_len);
        return frame_len;
    default:
        feed->lie = "answers scan with what is no answer";
        return 0;
    }
}

static void take_frames(bw_feed *feed, const bw_feed_out *out) {
    size_t done = 0;
    size_t n = 1;
    while (n > 0 && done < feed->len && feed->lie == NULL) {
        n = step(feed, out, feed->buffer + done, feed->len - done);
        done += n;
    }
    feed->len -= done;
    memmove(feed->buffer, feed->buffer + done, feed->len);
}

bw_status bw_feed_bytes(bw_feed *feed, const uint8_t *bytes, size_t n, const bw_feed_out *out,
                        bw_err *err) {
    while (n > 0 && feed->lie == NULL) {
        size_t room = feed->size - feed->len; /* > 0: what waits is shorter than frame_max */
        size_t part = n < room ? n : room;
        memcpy(feed->buffer + feed->len, bytes, part);
        feed->len += part;
        bytes += part;
        n -= part;
        take_frames(feed, out);
    }
    return verdict_on(feed, err);
}

/* ---- events ---- */

bw_status bw_feed_event(bw_feed *feed, bw_device_event event, const bw_feed_out *out, bw_err *err) {
    if (event == BW_DEVICE_SILENT && feed->len > 0) {
        event = BW_DEVICE_BROKEN;
    }
    feed->dropped += feed->len;
    feed->len = 0;
    if (feed->driver.event != NULL) {
        call c = {feed, out};
        bw_driver_host host = host_for(&c);
        feed->driver.event(feed->state, &host, event);
    }
    return verdict_on(feed, err);
}

bw_status bw_feed_tick(bw_feed *feed, uint64_t now_ns, const bw_feed_out *out, bw_err *err) {
    if (feed->driver.tick != NULL) {
        call c = {feed, out};
        bw_driver_host host = host_for(&c);
        feed->driver.tick(feed->state, &host, now_ns);
    }
    return verdict_on(feed, err);
}

bw_status bw_feed_wish(bw_feed *feed, const bw_wish *wish, const bw_feed_out *out, bool *granted,
                       bw_err *err) {
    *granted = false;
    if (feed->driver.wish != NULL) {
        call c = {feed, out};
        bw_driver_host host = host_for(&c);
        *granted = feed->driver.wish(feed->state, &host, wish) == 0;
    }
    return verdict_on(feed, err);
}
