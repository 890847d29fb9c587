/* playback.c - see playback.h. */
#define _POSIX_C_SOURCE 200809L /* getline */
#include "device/playback.h"

#include "base/text.h"
#include "device/capture.h"
#include "device/deliver.h"
#include "device/driver_link.h"
#include "device/driver_load.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

struct bw_playback {
    FILE *file;
    char *line;
    size_t line_size;
    size_t line_number;
    bool held; /* line was read ahead and is still to be played */
    bool begun;
    bw_driver_link *link;
    bw_delivery delivery;
    char driver[BW_DRIVER_NAME_MAX + 40];
    uint8_t bytes[BW_CAPTURE_READ_MAX];
};

void bw_playback_free(bw_playback *playback) {
    if (playback != NULL) {
        bw_driver_link_free(playback->link);
        free(playback->line);
        free(playback);
    }
}

const char *bw_playback_driver(const bw_playback *playback) {
    return playback->driver;
}

/* ---- opening ---- */

/* The next line into p->line; its length without the newline, -1 at the end. */
static ssize_t read_line(bw_playback *p) {
    if (p->held) {
        p->held = false;
        return (ssize_t)strlen(p->line);
    }
    ssize_t len = getline(&p->line, &p->line_size, p->file);
    if (len > 0 && p->line[len - 1] == '\n') {
        p->line[--len] = '\0';
    }
    p->line_number += len >= 0 ? 1 : 0;
    return len;
}

/* What "# spec:" in the capture's head says; false where it says nothing. */
static bool find_spec(bw_playback *p, char *out, size_t size) {
    static const char mark[] = "# spec: ";
    while (read_line(p) >= 0) {
        if (strncmp(p->line, mark, sizeof mark - 1) == 0) {
            p->line[strcspn(p->line, "\r")] = '\0';
            return bw_text_copy(out, size, p->line + sizeof mark - 1);
        }
        if (p->line[0] == '@') {
            p->held = true;
            return false;
        }
    }
    return false;
}

static bw_status start(bw_playback *p, const char *driver, bw_err *err) {
    char captured[BW_SPEC_MAX] = "capture";
    char text[BW_SPEC_MAX];
    bool found = find_spec(p, captured, sizeof captured);
    bw_text spec_text = bw_text_on(text, sizeof text);
    if (driver != NULL) {
        bw_text_add(&spec_text, "capture,driver=%s", driver);
    } else {
        bw_text_add(&spec_text, "%s", found ? captured : "capture");
    }
    bw_spec spec;
    char path[PATH_MAX];
    bw_status rc = bw_spec_parse(text, &spec, err);
    if (rc == BW_OK) {
        rc = bw_driver_find(spec.driver, path, err);
    }
    if (rc == BW_OK) {
        rc = bw_driver_link_new(path, &spec, &p->link, err);
    }
    if (rc == BW_OK) {
        bw_delivery_set(&p->delivery, &spec, bw_driver_link_info(p->link));
        bw_text name = bw_text_on(p->driver, sizeof p->driver);
        bw_text_add(&name, "%s %s", spec.driver, bw_driver_link_info(p->link)->version);
    }
    return rc;
}

bw_status bw_playback_new(FILE *file, const char *driver, bw_playback **out, bw_err *err) {
    bw_playback *p = calloc(1, sizeof *p);
    if (p == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory");
    }
    p->file = file;
    bw_status rc = start(p, driver, err);
    if (rc != BW_OK) {
        bw_playback_free(p);
        return rc;
    }
    *out = p;
    return BW_OK;
}

/* ---- playing ---- */

static void deliver(bw_playback *p, const bw_items *items, int64_t now_ns,
                    const bw_device_sink *sink) {
    char line[BW_ERR_TEXT_MAX];
    bw_deliver(&p->delivery, items, now_ns, NULL, sink);
    if (bw_delivery_stranger(&p->delivery, "the captured port", line)) {
        sink->say(sink->ctx, line);
    }
}

static bw_status play_event(bw_playback *p, bw_device_event event, int64_t now_ns,
                            const bw_device_sink *sink, bw_err *err) {
    bw_items items;
    p->begun = true;
    bw_status rc = bw_driver_link_event(p->link, event, &items, err);
    if (rc == BW_OK) {
        deliver(p, &items, now_ns, sink);
    }
    return rc;
}

/* The raw bytes of a pull, as the record keeps them, begin at rest and say nothing of the port. */
static bw_status begin(bw_playback *p, int64_t now_ns, const bw_device_sink *sink, bw_err *err) {
    bw_status rc = play_event(p, BW_DEVICE_OPENED, now_ns, sink, err);
    return rc == BW_OK ? play_event(p, BW_DEVICE_SILENT, now_ns, sink, err) : rc;
}

static bw_status play_bytes(bw_playback *p, const bw_capture_line *line, int64_t now_ns,
                            const bw_device_sink *sink, bw_err *err) {
    bw_status rc = p->begun ? BW_OK : begin(p, now_ns, sink, err);
    for (size_t at = 0; rc == BW_OK && at < line->n;) {
        size_t part = line->n - at < BW_ASK_BYTES_MAX ? line->n - at : BW_ASK_BYTES_MAX;
        bw_items items;
        rc = bw_driver_link_bytes(p->link, line->bytes + at, part, &items, err);
        if (rc == BW_OK) {
            deliver(p, &items, now_ns, sink);
        }
        at += part;
    }
    return rc;
}

bw_status bw_playback_next(bw_playback *playback, const bw_device_sink *sink, double *time_s,
                           bool *more, bw_err *err) {
    ssize_t len = read_line(playback);
    *more = len >= 0;
    if (len < 0) {
        return BW_OK;
    }
    bw_capture_line line;
    bw_err why = {.code = BW_OK};
    bw_status rc = bw_capture_parse(playback->line, (size_t)len, playback->bytes, &line, &why);
    if (rc != BW_OK) {
        return bw_fail(err, rc, "line %zu: %s", playback->line_number, why.text);
    }
    int64_t now_ns = line.time_us * 1000;
    *time_s = line.kind != BW_CAPTURE_NOTHING ? (double)line.time_us / 1e6 : *time_s;
    if (line.kind == BW_CAPTURE_EVENT) {
        return play_event(playback, line.event, now_ns, sink, err);
    }
    return line.kind == BW_CAPTURE_BYTES ? play_bytes(playback, &line, now_ns, sink, err) : BW_OK;
}
