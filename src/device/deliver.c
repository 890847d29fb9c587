/* deliver.c - see deliver.h. */
#include "device/deliver.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

/* What is believed at most; a hundred times what any hand tool does. */
static const double torque_max_Nm = 100000;
static const double angle_max_deg = 1000000;
static const double time_max_s = 1e9;

enum { LINE_MAX = 400, SHOWN_BYTES = 80 };

/* Where a driver says that its wrench repeats itself, and nobody says for how long. */
static const double usual_resends_s = 3;

/* Everything a delivery needs, for one item. */
typedef struct desk {
    bw_delivery *delivery;
    bw_port *port;
    const bw_device_sink *sink;
    int64_t now_ns;
} desk;

/* ---- words ---- */

/* Bytes from outside, so that nothing in them can act on a terminal or a page. */
static void add_plain(bw_text *text, const uint8_t *bytes, size_t n) {
    bool plain = bw_text_printable((const char *)bytes, n, false);
    for (size_t i = 0; i < n; i++) {
        if (plain || (bytes[i] >= ' ' && bytes[i] <= '~')) {
            bw_text_add(text, "%c", bytes[i]);
        } else {
            bw_text_add(text, "\\x%02x", bytes[i]);
        }
    }
}

static void say_unread(const desk *d, const char *line) {
    void (*tell)(void *ctx, const char *line) = d->sink->unread != NULL ? d->sink->unread
                                                                        : d->sink->say;
    tell(d->sink->ctx, line);
}

static void say_quoted(const desk *d, const char *what, const uint8_t *bytes, size_t n) {
    char line[LINE_MAX];
    bw_text text = bw_text_on(line, sizeof line);
    while (n > 0 && (bytes[n - 1] == '\r' || bytes[n - 1] == '\n')) {
        n--;
    }
    size_t shown = n > SHOWN_BYTES ? bw_utf8_whole((const char *)bytes, SHOWN_BYTES) : n;
    bw_text_add(&text, "%s: \"", what);
    add_plain(&text, bytes, shown);
    bw_text_add(&text, "\"%s", shown < n ? " ..." : "");
    say_unread(d, line);
}

static void on_say(const desk *d, const bw_item *item) {
    char line[LINE_MAX];
    bw_text text = bw_text_on(line, sizeof line);
    add_plain(&text, item->data, bw_utf8_whole((const char *)item->data, item->len));
    if (text.len > 0) {
        d->sink->say(d->sink->ctx, line);
    }
}

/* ---- readings ---- */

static bool within(double value, double limit) {
    return isfinite(value) && fabs(value) <= limit;
}

static bool believable(const bw_reading *reading) {
    return (reading->has & BW_HAS_TORQUE) != 0 && within(reading->torque_Nm, torque_max_Nm) &&
           ((reading->has & BW_HAS_ANGLE) == 0 || within(reading->angle_deg, angle_max_deg)) &&
           ((reading->has & BW_HAS_TIME) == 0 || within(reading->time_s, time_max_s));
}

static double time_of(const desk *d, const bw_reading *reading) {
    bool restarted = false;
    bool timed = (reading->has & BW_HAS_TIME) != 0;
    double time_s = bw_timeline_next(&d->delivery->timeline, timed ? &reading->time_s : NULL,
                                     &restarted);
    if (restarted) {
        d->sink->say(d->sink->ctx, "the wrench's clock jumped: times go on by arrival");
    }
    return time_s;
}

/* The last result once more: by the wrench's own clock, or where it is known to send it again.
 * last: kept up to date. */
static bool is_resent(const desk *d, const bw_reading *reading) {
    bw_delivery *delivery = d->delivery;
    const bw_reading before = delivery->last;
    int64_t since_ns = d->now_ns - delivery->last_ns;
    delivery->last = *reading;
    delivery->last_ns = d->now_ns;
    bool timed = (reading->has & BW_HAS_TIME) != 0;
    bool same = before.has == reading->has && before.torque_Nm == reading->torque_Nm &&
                ((reading->has & BW_HAS_ANGLE) == 0 || before.angle_deg == reading->angle_deg);
    return timed ? same && before.time_s == reading->time_s
                 : same && (double)since_ns < delivery->resends_s * 1e9;
}

static void on_result(const desk *d, double time_s, const bw_reading *reading) {
    double torque_Nm = reading->torque_Nm * (d->delivery->factor > 0 ? d->delivery->factor : 1);
    if (is_resent(d, reading)) {
        char line[LINE_MAX];
        bw_text text = bw_text_on(line, sizeof line);
        bw_text_add(&text,
                    "the wrench sent its last result of %.1f N.m again: it counts once; if that "
                    "was another pull, pull again",
                    torque_Nm);
        d->sink->say(d->sink->ctx, line);
        return;
    }
    bool has_angle = (reading->has & BW_HAS_ANGLE) != 0;
    d->sink->result(d->sink->ctx, time_s, torque_Nm, has_angle, has_angle ? reading->angle_deg : 0);
}

static void on_reading(const desk *d, const bw_item *item) {
    bw_reading reading;
    if (!bw_item_reading(item, &reading) || !believable(&reading)) {
        d->delivery->unread++;
        say_unread(d, "a reading beyond all bounds was refused");
        return;
    }
    double time_s = time_of(d, &reading);
    if ((reading.has & BW_HAS_RESULT) != 0) {
        on_result(d, time_s, &reading);
        return;
    }
    bool has_angle = (reading.has & BW_HAS_ANGLE) != 0;
    double factor = d->delivery->factor > 0 ? d->delivery->factor : 1;
    const bw_sample sample = {.time_s = time_s,
                              .torque_Nm = reading.torque_Nm * factor,
                              .angle_deg = has_angle ? reading.angle_deg : 0,
                              .has_angle = has_angle};
    d->sink->sample(d->sink->ctx, &sample);
}

/* ---- the rest ---- */

static void on_send(const desk *d, const bw_item *item) {
    bw_err err;
    if (d->port == NULL || d->port->fd < 0) {
        return;
    }
    if (bw_port_write(d->port, item->data, item->len, &err) != BW_OK) {
        d->sink->say(d->sink->ctx, err.text);
        return;
    }
    const bw_capture_line line = {.kind = BW_CAPTURE_SENT, .bytes = item->data, .n = item->len};
    bw_tap_line(&d->delivery->tap, d->now_ns, line);
}

static void on_unknown(const desk *d, const bw_item *item) {
    say_quoted(d, "not understood", item->data, item->len);
}

static void on_identity(const desk *d, const bw_item *item) {
    char *known = d->delivery->identity;
    char serial[BW_IDENTITY_MAX];
    bw_text text = bw_text_on(serial, sizeof serial);
    add_plain(&text, item->data, bw_utf8_whole((const char *)item->data, item->len));
    if (known[0] != '\0' && strcmp(known, serial) != 0) {
        d->delivery->stranger = true;
        (void)bw_text_copy(d->delivery->before, sizeof d->delivery->before, known);
    }
    (void)bw_text_copy(known, sizeof d->delivery->identity, serial);
}

static void on_counts(const desk *d, const bw_item *item) {
    (void)d;
    (void)item;
}

void bw_delivery_set(bw_delivery *delivery, const bw_spec *spec, const bw_driver_info *info) {
    bool resends = (info->can & BW_CAN_RESENDS) != 0;
    delivery->factor = spec->factor;
    delivery->resends_s = spec->resends_s > 0 ? spec->resends_s : resends ? usual_resends_s : 0;
}

bool bw_delivery_stranger(bw_delivery *delivery, const char *port, char *out) {
    if (!delivery->stranger) {
        return false;
    }
    delivery->stranger = false;
    bw_text text = bw_text_on(out, BW_ERR_TEXT_MAX);
    bw_text_add(&text, "another device answers on %s: serial number %s, before it was %s", port,
                delivery->identity, delivery->before);
    return true;
}

void bw_deliver(bw_delivery *delivery, const bw_items *items, int64_t now_ns, bw_port *port,
                const bw_device_sink *sink) {
    static void (*const on[])(const desk *d, const bw_item *item) = {
        [BW_ITEM_READING] = on_reading,   [BW_ITEM_SEND] = on_send,
        [BW_ITEM_SAY] = on_say,           [BW_ITEM_UNKNOWN] = on_unknown,
        [BW_ITEM_IDENTITY] = on_identity, [BW_ITEM_UNREAD] = on_counts,
    };
    const desk d = {delivery, port, sink, now_ns};
    delivery->unread += items->unread; /* before a pull that ends in this read is told */
    if (items->readings > 0) {
        bw_timeline_read(&delivery->timeline, now_ns, items->readings - items->timed);
    }
    bw_item item;
    for (size_t at = 0; bw_item_next(items->data, items->len, &at, &item);) {
        on[item.kind](&d, &item);
    }
}
