/* hear.c - which driver reads what comes out of a port.  See ports.h.
 *
 * Each driver is tried at its own speed first, then what can be set is tried at the usual speeds.
 * A driver fits where it reads nearly all of what came: a line of noise may pass for a number once,
 * hardly twice. */
#include "device/ports.h"

#include "base/clock.h"
#include "base/text.h"
#include "device/deliver.h"
#include "device/driver_link.h"
#include "device/port.h"

#include <poll.h>
#include <string.h>

enum { HEARD_MAX = 16 << 10, TRIES_MAX = 32, ASK_EVERY_MS = 20 };

/* A driver with settings, at a speed. */
typedef struct trial {
    const bw_driver_row *driver;
    const char *settings; /* "" or "unit=N.m,angle=yes" */
    const char *remark;   /* for the builder, "" */
    bw_line_settings line;
    bool other_speed;
} trial;

typedef struct heard {
    uint8_t bytes[HEARD_MAX];
    size_t n;
    bool quiet; /* when the port was opened */
} heard;

typedef struct score {
    size_t readings;
    uint64_t understood; /* frames */
    uint64_t unread;
} score;

/* ---- listening ---- */

static bw_status listen(const char *path, const trial *t, int listen_ms, heard *out, bw_err *err) {
    bw_port port;
    bw_port_init(&port, path);
    bw_status rc = bw_port_open(&port, &t->line, err);
    out->n = 0;
    out->quiet = port.quiet;
    int64_t end_ns = bw_clock_mono_ns() + (int64_t)listen_ms * 1000000;
    int64_t left_ns = end_ns - bw_clock_mono_ns();
    while (rc == BW_OK && left_ns > 0 && out->n < sizeof out->bytes) {
        struct pollfd ready = {.fd = port.fd, .events = POLLIN};
        (void)poll(&ready, 1, (int)(left_ns / 1000000) + 1);
        size_t n = 0;
        rc = bw_port_read(&port, out->bytes + out->n, sizeof out->bytes - out->n, &n, err);
        out->n += rc == BW_OK ? n : 0;
        left_ns = end_ns - bw_clock_mono_ns();
    }
    bw_port_close(&port);
    return rc;
}

/* ---- one driver's opinion ---- */

static void count(const bw_items *items, score *out) {
    out->readings += items->readings;
    bw_item item;
    for (size_t at = 0; bw_item_next(items->data, items->len, &at, &item);) {
        bw_item_counts counts;
        if (item.kind == BW_ITEM_UNREAD && bw_item_count(&item, &counts)) {
            out->unread += counts.unread;
            out->understood += counts.understood;
        }
    }
}

static bw_status play(bw_driver_link *link, const heard *h, score *out) {
    bw_items items;
    bw_status rc = bw_driver_link_event(link, BW_DEVICE_OPENED, &items, NULL);
    if (rc == BW_OK && h->quiet) {
        rc = bw_driver_link_event(link, BW_DEVICE_SILENT, &items, NULL);
    }
    for (size_t at = 0; rc == BW_OK && at < h->n;) {
        size_t part = h->n - at < BW_ASK_BYTES_MAX ? h->n - at : BW_ASK_BYTES_MAX;
        rc = bw_driver_link_bytes(link, h->bytes + at, part, &items, NULL);
        if (rc == BW_OK) {
            count(&items, out);
        }
        at += part;
    }
    return rc;
}

/* "PORT,driver=NAME,baud=N,bits=8N1,SETTINGS", what is the driver's own left out. */
static void spec_of(const char *path, const trial *t, char *out) {
    bw_text text = bw_text_on(out, BW_SPEC_MAX);
    bw_text_add(&text, "%s,driver=%s", path, t->driver->name);
    if (t->other_speed) {
        bw_text_add(&text, ",baud=%u", (unsigned)t->line.baud);
    }
    bw_text_add(&text, "%s%s", t->settings[0] != '\0' ? "," : "", t->settings);
}

static bool opinion(const trial *t, const heard *h, score *out) {
    char text[BW_SPEC_MAX];
    bw_spec spec;
    bw_driver_link *link = NULL;
    *out = (score){0};
    spec_of("port", t, text);
    if (bw_spec_parse(text, &spec, NULL) != BW_OK ||
        bw_driver_link_new(t->driver->path, &spec, &link, NULL) != BW_OK) {
        return false;
    }
    bw_status rc = play(link, h, out);
    bw_driver_link_free(link);
    return rc == BW_OK;
}

/* ---- asking ---- */

typedef struct asked {
    size_t readings;
} asked;

static void on_sample(void *ctx, const bw_sample *sample) {
    (void)sample;
    ((asked *)ctx)->readings++;
}

static void on_result(void *ctx, double time_s, double peak_Nm, bool has_turn, double turn_deg) {
    (void)time_s;
    (void)peak_Nm;
    (void)has_turn;
    (void)turn_deg;
    ((asked *)ctx)->readings++;
}

static void on_say(void *ctx, const char *line) {
    (void)ctx;
    (void)line;
}

/* Opens the device as a build would, and lets its driver ask. */
static bw_status ask_device(const char *path, const trial *t, int listen_ms, score *out,
                            bw_err *err) {
    char spec[BW_SPEC_MAX];
    bw_device *device = NULL;
    asked a = {0};
    const bw_device_sink sink = {
        .ctx = &a, .sample = on_sample, .result = on_result, .say = on_say};
    spec_of(path, t, spec);
    bw_status rc = bw_device_open(spec, &device, err);
    int64_t end_ns = bw_clock_mono_ns() + (int64_t)listen_ms * 1000000;
    while (rc == BW_OK && bw_clock_mono_ns() < end_ns) {
        struct pollfd ready = {.fd = bw_device_fd(device), .events = POLLIN};
        (void)poll(&ready, 1, ASK_EVERY_MS);
        rc = bw_device_pump(device, bw_clock_mono_ns(), &sink, err);
    }
    out->readings = a.readings;
    out->unread = device != NULL ? bw_device_unread(device) : 0;
    bw_device_free(device);
    return rc == BW_E_DATA ? BW_OK
                           : rc; /* a driver that wants settings is no fault of the port's */
}

/* ---- all of them ---- */

typedef struct trials {
    trial trial[TRIES_MAX];
    size_t n;
} trials;

static void add(trials *all, const trial *t) {
    if (all->n < TRIES_MAX) {
        all->trial[all->n++] = *t;
    }
}

/* What a builder would try by hand, in that order. */
static void plan(const bw_driver_row *driver, size_t n, trials *all) {
    static const uint32_t speeds[] = {115200, 57600, 38400, 19200, 4800, 2400};
    static const char bare[] = "unit=N.m,angle=yes";
    static const char which[] = "its lines carry no unit: give the one that the wrench shows";
    for (size_t i = 0; i < n; i++) {
        if (driver[i].fault[0] == '\0') {
            add(all, &(trial){&driver[i], "", "", driver[i].line, false});
        }
    }
    for (size_t s = 0; s <= sizeof speeds / sizeof speeds[0]; s++) {
        for (size_t i = 0; i < n; i++) {
            bw_line_settings line = driver[i].line;
            if (driver[i].fault[0] != '\0' || strcmp(driver[i].name, "line") != 0) {
                continue;
            }
            if (s > 0) {
                line.baud = speeds[s - 1];
                add(all, &(trial){&driver[i], "", "", line, true});
            }
            add(all, &(trial){&driver[i], bare, which, line, s > 0});
        }
    }
}

static bool same_line(const bw_line_settings *a, const bw_line_settings *b) {
    return a->baud == b->baud && a->bits == b->bits && a->parity == b->parity &&
           a->stops == b->stops;
}

/* Frames with a checksum are no chance, even where none of them is a reading yet. */
static bool fits(const trial *t, const score *s) {
    bool checked = (t->driver->can & BW_CAN_CHECKSUM) != 0;
    uint64_t worth = checked ? s->understood : s->readings;
    return worth > 0 && s->unread * 4 <= worth;
}

static void tell(bw_hearing *out, const char *path, const trial *t, const score *s,
                 bool was_asked) {
    bw_text text = bw_text_on(out->says, sizeof out->says);
    out->readings = s->readings;
    out->unread = s->unread;
    out->at_speed = t->other_speed;
    (void)bw_text_copy(out->driver, sizeof out->driver, t->driver->name);
    spec_of(path, t, out->spec);
    bw_text_add(&text, "%s %s%s%s", t->driver->name,
                was_asked ? "asks, and reads the answer" : "reads it",
                t->remark[0] != '\0' ? "; " : "", t->remark);
}

typedef struct search {
    const char *path;
    int listen_ms;
    bool ask;
    bw_hearing *out;
    heard heard;
    bool listened;
} search;

/* True where this trial fits. */
static bw_status try_one(search *s, const trial *t, const trial *before, bool *found, bw_err *err) {
    bool must_ask = (t->driver->can & BW_CAN_ASKED) != 0;
    score result = {0};
    bw_status rc = BW_OK;
    if (must_ask) {
        rc = s->ask ? ask_device(s->path, t, s->listen_ms, &result, err) : BW_OK;
    } else {
        if (before == NULL || !s->listened || !same_line(&before->line, &t->line)) {
            rc = listen(s->path, t, s->listen_ms, &s->heard, err);
            s->listened = true;
        }
        s->out->bytes = s->heard.n > s->out->bytes ? s->heard.n : s->out->bytes;
        if (rc != BW_OK || s->heard.n == 0 || !opinion(t, &s->heard, &result)) {
            return rc;
        }
    }
    *found = rc == BW_OK && fits(t, &result);
    if (*found) {
        tell(s->out, s->path, t, &result, must_ask);
    }
    return rc;
}

bw_status bw_port_hear(const char *path, const bw_driver_row *driver, size_t driver_n,
                       int listen_ms, bool ask, bw_hearing *out, bw_err *err) {
    trials all = {.n = 0};
    memset(out, 0, sizeof *out);
    search s = {.path = path, .listen_ms = listen_ms, .ask = ask, .out = out};
    plan(driver, driver_n, &all);
    bool found = false;
    bw_status rc = BW_OK;
    const trial *before = NULL;
    for (size_t i = 0; rc == BW_OK && !found && i < all.n; i++) {
        const trial *t = &all.trial[i];
        if (t->other_speed && out->bytes == 0) {
            break; /* it is silent at any speed */
        }
        rc = try_one(&s, t, before, &found, err);
        before = (t->driver->can & BW_CAN_ASKED) != 0 ? before : t;
    }
    if (rc == BW_OK && !found) {
        bw_text text = bw_text_on(out->says, sizeof out->says);
        bw_text_add(&text, "%s",
                    out->bytes == 0
                        ? "silent: pull the wrench while this listens, or ask with --ask"
                        : "it sends, but nothing that a driver here reads at the usual speeds");
    }
    return rc;
}
