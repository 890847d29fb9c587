/* worker_main.c - the driver worker: rights given up, one driver loaded, then asked and answering.
 * A driver is a shared object, or a text of which the maker makes one.
 *
 * Runs in a process of its own.  A driver can overwrite any of its memory; nothing here guards
 * against that, for the host checks every answer and the wall stands either way. */
#include "device/device.h"

#include "base/text.h"
#include "device/driver_feed.h"
#include "device/driver_load.h"
#include "device/driver_wire.h"
#include "wall/worker.h"

#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

typedef struct worker {
    bw_driver_maker *maker; /* NULL: no texts */
    char *text;             /* what a driver is made of; as long as the process */
    bw_feed *feed;          /* NULL until a driver is loaded and the wall stands */
    uint8_t request[BW_ASK_BYTES_MAX];
    size_t request_len;
    uint8_t items[BW_ITEMS_BYTES_MAX];
    size_t items_len;
    int readings;
    int texts;
    size_t sent;
    uint64_t unknown;
    bool flooded;
    bool granted; /* the wish */
} worker;

/* ---- items ---- */

static void put_item(worker *w, bw_item_kind kind, const void *data, size_t len) {
    enum { LAST_ITEM = BW_ITEM_HEAD + sizeof(bw_item_counts) };
    size_t kept = kind == BW_ITEM_UNREAD ? 0 : LAST_ITEM;
    if (w->items_len + BW_ITEM_HEAD + len + kept > sizeof w->items) {
        w->flooded = true;
        return;
    }
    uint8_t *at = w->items + w->items_len;
    uint32_t len32 = (uint32_t)len;
    at[0] = (uint8_t)kind;
    memcpy(at + 1, &len32, sizeof len32);
    memcpy(at + BW_ITEM_HEAD, data, len);
    w->items_len += BW_ITEM_HEAD + len;
}

static void take_reading(void *ctx, const bw_reading *reading) {
    worker *w = ctx;
    if (++w->readings > BW_ITEM_READINGS_MAX) {
        w->flooded = true;
        return;
    }
    put_item(w, BW_ITEM_READING, reading, sizeof *reading);
}

static int take_send(void *ctx, const uint8_t *bytes, size_t n) {
    worker *w = ctx;
    if (n > BW_ITEM_SEND_BYTES - w->sent) {
        return -1;
    }
    put_item(w, BW_ITEM_SEND, bytes, n);
    w->sent += n;
    return 0;
}

static void put_text(worker *w, bw_item_kind kind, const void *text, size_t len) {
    if (++w->texts <= BW_ITEM_TEXTS_MAX) {
        put_item(w, kind, text, len < BW_ITEM_TEXT_BYTES ? len : BW_ITEM_TEXT_BYTES);
    }
}

static void take_say(void *ctx, const char *text) {
    put_text(ctx, BW_ITEM_SAY, text, strnlen(text, BW_ITEM_TEXT_BYTES));
}

static void take_identity(void *ctx, const char *serial) {
    put_text(ctx, BW_ITEM_IDENTITY, serial, strnlen(serial, BW_ITEM_TEXT_BYTES));
}

static void take_unknown(void *ctx, const uint8_t *frame, size_t len) {
    worker *w = ctx;
    w->unknown++;
    put_text(w, BW_ITEM_UNKNOWN, frame, len);
}

/* ---- answers ---- */

static bw_status answer_fault(const bw_err *fault) {
    return bw_frame_write(BW_ANSWER_FAULT, fault->text, strlen(fault->text), NULL);
}

/* Two words, each ended by NUL, that fill the request. */
static bool two_words(const worker *w, const char **first, const char **second) {
    const char *text = (const char *)w->request;
    const char *end = memchr(text, '\0', w->request_len);
    if (end == NULL || w->request[w->request_len - 1] != '\0' || end + 1 == text + w->request_len) {
        return false;
    }
    *first = text;
    *second = end + 1;
    return true;
}

static bool is_text(const char *path) {
    size_t len = strlen(path);
    return len > 4 && strcmp(path + len - 4, ".lua") == 0;
}

/* The whole file into w->text. */
static bw_status read_text(worker *w, const char *path, size_t *len, bw_err *err) {
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    size_t n = 0;
    ssize_t got = -1;
    w->text = malloc(BW_DRIVER_TEXT_MAX + 1);
    while (fd >= 0 && w->text != NULL && n <= BW_DRIVER_TEXT_MAX &&
           (got = read(fd, w->text + n, BW_DRIVER_TEXT_MAX + 1 - n)) > 0) {
        n += (size_t)got;
    }
    if (fd >= 0) {
        (void)close(fd);
    }
    if (got != 0) {
        return bw_fail(err, BW_E_DATA, "the driver %s cannot be read, or has more than %d bytes",
                       path, BW_DRIVER_TEXT_MAX);
    }
    *len = n;
    return BW_OK;
}

/* The wall closes before the first of the text's own lines runs. */
static bw_status make_of_text(worker *w, const char *path, const char *name, bw_driver *driver,
                              void **self, bw_err *err) {
    size_t len = 0;
    if (w->maker == NULL) {
        return bw_fail(err, BW_E_DATA, "the driver %s is a text, and nobody here reads it", name);
    }
    bw_status rc = read_text(w, path, &len, err);
    if (rc == BW_OK) {
        rc = bw_wall_lock(err);
    }
    if (rc == BW_OK) {
        rc = w->maker(name, w->text, len, driver, self, err);
    }
    return rc == BW_OK ? bw_driver_check(driver, name, err) : rc;
}

static bw_status load(worker *w, bw_driver *driver, bw_err *err) {
    const char *path = NULL;
    const char *name = NULL;
    void *self = NULL;
    if (w->feed != NULL || !two_words(w, &path, &name)) {
        return bw_fail(err, BW_E_BUG, "a driver is loaded once, by path and name");
    }
    bw_status rc = BW_OK;
    if (is_text(path)) {
        rc = make_of_text(w, path, name, driver, &self, err);
    } else {
        rc = bw_driver_load(path, name, driver, err);
        rc = rc == BW_OK ? bw_wall_lock(err) : rc;
    }
    rc = rc == BW_OK ? bw_feed_new(driver, &w->feed, err) : rc;
    if (rc == BW_OK && self != NULL) {
        bw_feed_put_self(w->feed, self);
    }
    return rc;
}

static bw_status on_load(worker *w, bw_err *err) {
    bw_driver driver = {0};
    bw_status rc = load(w, &driver, err);
    if (rc != BW_OK) {
        return rc;
    }
    bw_driver_info info;
    memset(&info, 0, sizeof info);
    (void)bw_text_copy(info.version, sizeof info.version, driver.version);
    (void)bw_text_copy(info.says, sizeof info.says, driver.says);
    (void)bw_text_copy(info.source, sizeof info.source, driver.source);
    info.line = driver.line;
    info.can = driver.can;
    info.has_tick = driver.tick != NULL ? 1 : 0;
    return bw_frame_write(BW_ANSWER_INFO, &info, sizeof info, err);
}

static bw_status on_set(worker *w, bw_err *err) {
    const char *key = NULL;
    const char *value = NULL;
    if (!two_words(w, &key, &value)) {
        return bw_fail(err, BW_E_BUG, "a setting is a key and a value");
    }
    bw_status rc = bw_feed_set(w->feed, key, value, err);
    return rc == BW_OK ? bw_frame_write(BW_ANSWER_DONE, "", 0, err) : rc;
}

static bw_status ask_wish(worker *w, const bw_feed_out *out, bw_err *err) {
    bw_wish wish;
    if (w->request_len != sizeof wish) {
        return bw_fail(err, BW_E_BUG, "a wish has another length");
    }
    memcpy(&wish, w->request, sizeof wish);
    return bw_feed_wish(w->feed, &wish, out, &w->granted, err);
}

/* Asks the driver in the way of the request's type. */
static bw_status ask_driver(worker *w, uint8_t type, bw_err *err) {
    const bw_feed_out out = {.ctx = w,
                             .reading = take_reading,
                             .send = take_send,
                             .say = take_say,
                             .unknown = take_unknown,
                             .identify = take_identity};
    uint64_t now_ns = 0;
    if (type == BW_ASK_BYTES) {
        return bw_feed_bytes(w->feed, w->request, w->request_len, &out, err);
    }
    if (type == BW_ASK_EVENT && w->request_len == 1) {
        return bw_feed_event(w->feed, (bw_device_event)w->request[0], &out, err);
    }
    if (type == BW_ASK_TICK && w->request_len == sizeof now_ns) {
        memcpy(&now_ns, w->request, sizeof now_ns);
        return bw_feed_tick(w->feed, now_ns, &out, err);
    }
    if (type == BW_ASK_WISH) {
        return ask_wish(w, &out, err);
    }
    return bw_fail(err, BW_E_BUG, "a driver worker is not asked so");
}

static bw_status on_items(worker *w, uint8_t type, bw_err *err) {
    w->items_len = 0;
    w->readings = 0;
    w->texts = 0;
    w->sent = 0;
    w->unknown = 0;
    w->granted = true;
    uint64_t dropped = bw_feed_dropped(w->feed);
    uint64_t understood = bw_feed_understood(w->feed);
    bw_status rc = ask_driver(w, type, err);
    if (rc == BW_OK && w->flooded) {
        rc = bw_fail(err, BW_E_DATA, "the driver gives more readings than a device can send");
    }
    if (rc != BW_OK) {
        return rc;
    }
    if (!w->granted) {
        return bw_frame_write(BW_ANSWER_REFUSED, "", 0, err);
    }
    const bw_item_counts counts = {.unread = bw_feed_dropped(w->feed) - dropped + w->unknown,
                                   .understood = bw_feed_understood(w->feed) - understood};
    put_item(w, BW_ITEM_UNREAD, &counts, sizeof counts);
    return bw_frame_write(BW_ANSWER_ITEMS, w->items, w->items_len, err);
}

static bw_status answer(worker *w, uint8_t type, bw_err *err) {
    if (type == BW_ASK_LOAD) {
        return on_load(w, err);
    }
    if (w->feed == NULL) {
        return bw_fail(err, BW_E_STATE, "a driver is loaded first");
    }
    return type == BW_ASK_SET ? on_set(w, err) : on_items(w, type, err);
}

/* A wall that does not stand is told as the answer to the first request. */
static bw_status serve(worker *w, bw_err *err) {
    bw_status wall = bw_wall_lock_loading(err);
    uint8_t type = 0;
    while (bw_frame_read(w->request, sizeof w->request, &type, &w->request_len, NULL) == BW_OK) {
        bw_status rc = wall == BW_OK ? answer(w, type, err) : wall;
        if (rc != BW_OK && answer_fault(err) != BW_OK) {
            return rc;
        }
        if (wall != BW_OK) {
            return wall;
        }
    }
    return BW_OK;
}

int bw_driver_worker_main(bw_driver_maker *maker) {
    worker *w = calloc(1, sizeof *w);
    if (w == NULL) {
        return 1;
    }
    w->maker = maker;
    bw_err err = {.code = BW_OK};
    bw_status rc = serve(w, &err);
    bw_feed_free(w->feed);
    free(w->text);
    free(w);
    return rc == BW_OK ? 0 : 1;
}
