/* device.c - see device.h.
 *
 * One turn: read the port, keep the bytes, ask the driver, deliver.  Nothing in it waits but for
 * the driver's worker, and for that no longer than its deadline. */
#include "device/device.h"

#include "base/clock.h"
#include "base/text.h"
#include "device/deliver.h"
#include "device/driver_link.h"
#include "device/driver_load.h"
#include "device/port.h"
#include "trade/units.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

/* A flood must not hold the caller's loop up, so one pump reads a bounded number of times.  Half a
 * second without a byte is silence: a line at the slowest common speed takes less. */
enum { READS_A_PUMP = 4, RESTARTS_MAX = 3, STRANGE_BYTES = 256 };
/* Longer than most frames: noise finds an empty frame here and there, and no more. */
enum { FRAME_BYTES = 64 };
static const int64_t silent_after_ns = 500000000;
static const int64_t mute_after_ns = 20000000000;
/* A driver that worked for so long may fail three times again. */
static const int64_t calm_after_ns = 600000000000;

struct bw_device {
    bw_spec spec;
    bool typed;   /* no port and no driver: lines come from the builder */
    bw_unit unit; /* of typed numbers without one; BW_UNIT_COUNT: they must say */
    char driver_path[PATH_MAX];
    bw_driver_link *link; /* NULL: failed too often, or while the device was gone */
    bw_line_settings line;
    bw_port port;
    bw_capture capture;
    bw_delivery delivery;
    int restarts; /* within calm_after_ns of each other */
    int64_t restarted_ns;
    bool greeted; /* the driver knows that the port was opened */
    bool silent;  /* ... and that nothing came for a while */
    bool mute;    /* nothing at all came since then */
    int64_t port_opened_ns;
    int64_t last_byte_ns;
    size_t strange; /* bytes since the last reading */
    bool hinted;    /* the builder knows of them */
    char name[BW_DRIVER_NAME_MAX + BW_PORT_PATH_MAX + 8];
    char driver[BW_DRIVER_NAME_MAX + 40];
};

/* ---- opening ---- */

static bw_status start_driver(bw_device *device, bw_err *err) {
    bw_status rc = bw_driver_link_new(device->driver_path, &device->spec, &device->link, err);
    if (rc != BW_OK) {
        return rc;
    }
    const bw_driver_info *info = bw_driver_link_info(device->link);
    device->line = bw_line_settings_over(info->line, &device->spec.line);
    bw_text text = bw_text_on(device->driver, sizeof device->driver);
    bw_text_add(&text, "%s %s", device->spec.driver, info->version);
    bw_delivery_set(&device->delivery, &device->spec, info);
    device->greeted = false;
    return BW_OK;
}

static bw_status open_port(bw_device *device, bw_err *err) {
    bw_status rc = bw_port_open(&device->port, &device->line, err);
    if (rc == BW_OK) {
        device->last_byte_ns = bw_clock_mono_ns();
        device->greeted = false;
        device->silent = false;
        device->mute = true;
        device->port_opened_ns = device->last_byte_ns;
        device->strange = 0;
        device->hinted = false;
    }
    return rc;
}

/* ---- a wrench that does not talk ---- */

static bool is_typed(const char *port) {
    return strcmp(port, "hand") == 0 || strcmp(port, "keys") == 0;
}

static bw_status open_typed(bw_device *device, bw_err *err) {
    const bw_spec *spec = &device->spec;
    device->typed = true;
    device->unit = BW_UNIT_COUNT;
    for (size_t i = 0; i < spec->settings; i++) {
        const char *value = spec->setting[i].value;
        if (strcmp(spec->setting[i].key, "unit") != 0 ||
            !bw_unit_find(value, strlen(value), &device->unit) ||
            bw_unit_of(device->unit)->dimension != BW_DIM_TORQUE) {
            return bw_fail(err, BW_E_DATA,
                           "%s=%s: %s has the setting unit, N.m or lbf.ft or the like",
                           spec->setting[i].key, value, spec->port);
        }
    }
    bw_text text = bw_text_on(device->driver, sizeof device->driver);
    bw_text_add(&text, "%s 1", spec->port);
    return BW_OK;
}

bool bw_device_is_typed(const bw_device *device) {
    return device->typed;
}

bw_status bw_device_type(bw_device *device, const char *line, int64_t now_ns,
                         const bw_device_sink *sink, bw_err *err) {
    bw_quantity q;
    size_t len = strlen(line);
    bw_status rc = bw_quantity_parse(line, len, BW_DIM_TORQUE, device->unit, &q, err);
    double torque_Nm = rc == BW_OK ? bw_to_base(q.value, q.unit) * device->spec.factor : 0;
    if (rc == BW_OK && (torque_Nm < 0 || torque_Nm > 100000)) {
        rc = bw_fail(err, BW_E_DATA, "a torque from 0 to 100 000 N.m is needed");
    }
    if (rc != BW_OK) {
        return rc;
    }
    bw_capture_add(&device->capture, now_ns, (const uint8_t *)line, len);
    sink->result(sink->ctx, bw_device_time_s(device, now_ns), torque_Nm, false, 0);
    return BW_OK;
}

/* ---- one that does ---- */

static bw_status open_all(bw_device *device, const char *spec, bw_err *err) {
    bw_status rc = bw_spec_parse(spec, &device->spec, err);
    if (rc == BW_OK && is_typed(device->spec.port)) {
        bw_port_init(&device->port, device->spec.port);
        return open_typed(device, err);
    }
    if (rc == BW_OK) {
        bw_port_init(&device->port, device->spec.port);
        rc = bw_driver_find(device->spec.driver, device->driver_path, err);
    }
    if (rc == BW_OK) {
        rc = start_driver(device, err);
    }
    return rc == BW_OK ? open_port(device, err) : rc;
}

bw_status bw_device_open(const char *spec, bw_device **out, bw_err *err) {
    bw_device *device = calloc(1, sizeof *device);
    if (device == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory");
    }
    bw_port_init(&device->port, "");
    bw_status rc = open_all(device, spec, err);
    if (rc != BW_OK) {
        bw_device_free(device);
        return rc;
    }
    bw_text text = bw_text_on(device->name, sizeof device->name);
    if (device->spec.tool[0] != '\0') {
        bw_text_add(&text, "%s", device->spec.tool);
    } else if (device->typed) {
        bw_text_add(&text, "%s", device->spec.port);
    } else {
        bw_text_add(&text, "%s on %s", device->spec.driver, device->spec.port);
    }
    device->delivery.timeline.opened_ns = bw_clock_mono_ns();
    *out = device;
    return BW_OK;
}

void bw_device_free(bw_device *device) {
    if (device != NULL) {
        bw_driver_link_free(device->link);
        bw_port_close(&device->port);
        bw_capture_fini(&device->capture);
        free(device);
    }
}

bw_status bw_device_reopen(bw_device *device, bw_err *err) {
    if (device->port.fd >= 0 || device->typed) {
        return BW_OK;
    }
    if (device->link == NULL) {
        bw_status rc = start_driver(device, err);
        if (rc != BW_OK) {
            return rc;
        }
        device->restarts = 0;
    }
    return open_port(device, err);
}

/* ---- one turn ---- */

/* For the time of one pump. */
typedef struct turn {
    bw_device *device;
    int64_t now_ns; /* in whole microseconds since the opening, as a capture has it */
    const bw_device_sink *sink;
    int64_t exact_ns;
} turn;

static void deliver(const turn *t, const bw_items *items) {
    bw_deliver(&t->device->delivery, items, t->now_ns, &t->device->port, t->sink);
}

static bw_status tell_event(const turn *t, bw_device_event event, bw_err *err) {
    bw_items items;
    const bw_capture_line line = {.kind = BW_CAPTURE_EVENT, .event = event};
    bw_tap_line(&t->device->delivery.tap, t->now_ns, line);
    bw_status rc = bw_driver_link_event(t->device->link, event, &items, err);
    if (rc == BW_OK) {
        deliver(t, &items);
    }
    return rc;
}

static bw_status greet(const turn *t, bw_err *err) {
    bw_device *device = t->device;
    device->greeted = true;
    bw_status rc = tell_event(t, BW_DEVICE_OPENED, err);
    if (rc == BW_OK && device->port.quiet) {
        rc = tell_event(t, BW_DEVICE_SILENT, err);
        device->silent = true;
    }
    return rc;
}

/* A nothing-understood stream is most often a wrong speed. */
static void hint(const turn *t, size_t n, bool understood) {
    bw_device *device = t->device;
    device->strange = understood ? 0 : device->strange + n;
    if (understood || device->hinted || device->strange < STRANGE_BYTES) {
        device->hinted = device->hinted && !understood;
        return;
    }
    device->hinted = true;
    char words[BW_LINE_TEXT_MAX];
    char line[BW_ERR_TEXT_MAX];
    bw_text text = bw_text_on(line, sizeof line);
    bw_text_add(&text,
                "the wrench on %s sends, but nothing that the driver %s reads at %s: are speed "
                "(baud=) and driver right?",
                device->spec.port, device->spec.driver,
                bw_line_settings_text(&device->line, words));
    t->sink->say(t->sink->ctx, line);
}

static bw_status take_bytes(const turn *t, const uint8_t *bytes, size_t n, bw_err *err) {
    bw_device *device = t->device;
    device->last_byte_ns = t->now_ns;
    device->silent = false;
    device->mute = false;
    bw_capture_add(&device->capture, t->exact_ns, bytes, n);
    const bw_capture_line line = {.kind = BW_CAPTURE_BYTES, .bytes = bytes, .n = n};
    bw_tap_line(&device->delivery.tap, t->now_ns, line);
    bw_items items;
    bw_status rc = bw_driver_link_bytes(device->link, bytes, n, &items, err);
    if (rc != BW_OK) {
        return rc;
    }
    deliver(t, &items);
    bool checked = (bw_driver_link_info(device->link)->can & BW_CAN_CHECKSUM) != 0;
    hint(t, n, items.readings > 0 || (checked && items.understood * FRAME_BYTES >= n));
    return BW_OK;
}

/* Once: a wrench that streams is off, or on another port. */
static void tell_mute(const turn *t) {
    bw_device *device = t->device;
    if (!device->mute || t->now_ns - device->port_opened_ns < mute_after_ns) {
        return;
    }
    char line[BW_ERR_TEXT_MAX];
    bw_text text = bw_text_on(line, sizeof line);
    bw_text_add(&text,
                "nothing has come from the wrench on %s so far: is it switched on, and is that its "
                "port? One that sends results only is silent until the first pull",
                device->spec.port);
    device->mute = false;
    t->sink->say(t->sink->ctx, line);
}

/* Silence must have been seen: a caller who came late finds the bytes that were not missing. */
static bw_status take_silence(const turn *t, bw_err *err) {
    bw_device *device = t->device;
    bw_status rc = BW_OK;
    tell_mute(t);
    if (!device->silent && t->now_ns - device->last_byte_ns >= silent_after_ns) {
        device->silent = true;
        rc = tell_event(t, BW_DEVICE_SILENT, err);
    }
    return rc;
}

/* After the reads, so that an answer is followed by the next question at once. */
static bw_status take_tick(const turn *t, bw_err *err) {
    bw_driver_link *link = t->device->link;
    if (bw_driver_link_info(link)->has_tick == 0) {
        return BW_OK;
    }
    bw_items items;
    bw_status rc = bw_driver_link_tick(link, t->now_ns, &items, err);
    if (rc == BW_OK) {
        deliver(t, &items);
    }
    return rc;
}

/* The driver failed, err says how. */
static bw_status restart(bw_device *device, int64_t now_ns, bw_err *err) {
    bw_driver_link_free(device->link);
    device->link = NULL;
    device->restarts = now_ns - device->restarted_ns > calm_after_ns ? 0 : device->restarts;
    device->restarted_ns = now_ns;
    const bw_err why = *err;
    if (device->restarts < RESTARTS_MAX && start_driver(device, err) == BW_OK) {
        device->restarts++;
        return bw_fail(err, BW_E_DATA, "%s; it was started again (%d of %d times)", why.text,
                       device->restarts, RESTARTS_MAX);
    }
    bw_port_close(&device->port);
    return bw_fail(err, BW_E_STATE, "%s; the wrench on %s is not read any more", why.text,
                   device->spec.port);
}

static bw_status lose(const turn *t, bw_status rc) {
    bw_device *device = t->device;
    bw_port_close(&device->port);
    if (tell_event(t, BW_DEVICE_LOST, NULL) != BW_OK) {
        bw_driver_link_free(device->link); /* reopen starts another */
        device->link = NULL;
    }
    return rc;
}

/* On a port that stayed open: a hub, a radio link, a cable that was put into another wrench. */
static bw_status tell_stranger(bw_device *device, bw_err *err) {
    char line[BW_ERR_TEXT_MAX];
    return bw_delivery_stranger(&device->delivery, device->spec.port, line)
               ? bw_fail(err, BW_E_DATA, "%s", line)
               : BW_OK;
}

/* err: not NULL. */
static bw_status take_turn(const turn *t, bw_err *err) {
    bw_device *device = t->device;
    bw_status rc = device->greeted ? BW_OK : greet(t, err);
    for (int reads = 0; rc == BW_OK && reads < READS_A_PUMP; reads++) {
        uint8_t bytes[BW_ASK_BYTES_MAX];
        size_t n = 0;
        bw_status port_rc = bw_port_read(&device->port, bytes, sizeof bytes, &n, err);
        if (port_rc != BW_OK) {
            return lose(t, port_rc);
        }
        if (n == 0) {
            rc = reads == 0 ? take_silence(t, err) : BW_OK;
            break;
        }
        rc = take_bytes(t, bytes, n, err);
    }
    rc = rc == BW_OK ? take_tick(t, err) : rc;
    return rc == BW_OK ? tell_stranger(device, err) : restart(device, t->exact_ns, err);
}

bw_status bw_device_pump(bw_device *device, int64_t now_ns, const bw_device_sink *sink,
                         bw_err *err) {
    if (device->typed) {
        return BW_OK;
    }
    if (device->link == NULL) {
        return bw_fail(err, BW_E_STATE, "the driver %s has failed: the wrench on %s is not read",
                       device->spec.driver, device->spec.port);
    }
    if (device->port.fd < 0) {
        return bw_fail(err, BW_E_ABSENT, "the wrench on %s is gone", device->spec.port);
    }
    bw_err told = {.code = BW_OK};
    /* Whole microseconds, as in captures: played back, every reading has its time again. */
    int64_t since_ns = now_ns - device->delivery.timeline.opened_ns;
    const turn t = {device, now_ns - since_ns % 1000, sink, now_ns};
    bw_status rc = take_turn(&t, &told);
    return rc == BW_OK ? BW_OK : bw_fail(err, rc, "%s", told.text);
}

bw_status bw_device_wish(bw_device *device, const bw_wish *wish, const bw_device_sink *sink,
                         bw_err *err) {
    if (device->link == NULL || device->port.fd < 0) {
        return bw_fail(err, BW_E_ABSENT, "the wrench on %s is gone", device->spec.port);
    }
    int64_t now_ns = bw_clock_mono_ns();
    const turn t = {device, now_ns, sink, now_ns};
    bw_err told = {.code = BW_OK};
    bw_items items;
    bw_status rc = bw_driver_link_wish(device->link, wish, &items, &told);
    if (rc == BW_OK) {
        deliver(&t, &items);
        return BW_OK;
    }
    rc = rc == BW_E_ABSENT ? rc : restart(device, now_ns, &told);
    return bw_fail(err, rc, "%s", told.text);
}

/* ---- what is known of it ---- */

int bw_device_fd(const bw_device *device) {
    return device->port.fd;
}

const char *bw_device_raw(bw_device *device, size_t *len, bool *cut) {
    const char *text = bw_capture_text(&device->capture, len);
    *cut = device->capture.cut;
    return text;
}

void bw_device_raw_reset(bw_device *device, int64_t now_ns) {
    bw_capture_reset(&device->capture, now_ns);
}

void bw_device_raw_forget(bw_device *device, int64_t before_ns) {
    bw_capture_forget(&device->capture, before_ns);
}

void bw_device_tap(bw_device *device, void (*take)(void *ctx, const char *line, size_t len),
                   void *ctx) {
    device->delivery.tap = (bw_tap){take, ctx, device->delivery.timeline.opened_ns};
}

const char *bw_device_name(const bw_device *device) {
    return device->name;
}

const char *bw_device_port(const bw_device *device) {
    return device->spec.port;
}

const char *bw_device_driver(const bw_device *device) {
    return device->driver;
}

const char *bw_device_settings(const bw_device *device) {
    return device->spec.rest;
}

const char *bw_device_serial(const bw_device *device) {
    const char *own = device->delivery.identity;
    const char *plug = device->port.usb.serial;
    bool plain = bw_text_printable(plug, strlen(plug), false);
    return own[0] != '\0' ? own : plain ? plug : "";
}

bw_tool_data bw_device_data(const bw_device *device) {
    return device->spec.known;
}

double bw_device_time_s(const bw_device *device, int64_t now_ns) {
    int64_t since_us = (now_ns - device->delivery.timeline.opened_ns) / 1000;
    return (double)since_us / 1e6;
}

int bw_device_every_ms(const bw_device *device) {
    enum { ASKING_MS = 10, LISTENING_MS = 100 };
    bool there = device->link != NULL && device->port.fd >= 0;
    bool asks = there && bw_driver_link_info(device->link)->has_tick != 0;
    return asks ? ASKING_MS : LISTENING_MS;
}

uint32_t bw_device_can(const bw_device *device) {
    return device->link != NULL ? bw_driver_link_info(device->link)->can : 0;
}

uint64_t bw_device_unread(const bw_device *device) {
    return device->delivery.unread;
}
