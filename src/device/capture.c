/* capture.c - see capture.h. */
#include "device/capture.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

enum { FIRST_SIZE = 16 << 10, HEAD_MAX = 24 /* "@", a 63-bit number, a blank */ };

static const struct {
    const char *word;
    bw_device_event event;
} events[] = {{"opened", BW_DEVICE_OPENED}, {"silent", BW_DEVICE_SILENT}, {"lost", BW_DEVICE_LOST}};
enum { EVENTS = sizeof events / sizeof events[0] };

/* ---- one line ---- */

static const char *event_word(bw_device_event event) {
    for (size_t i = 0; i < EVENTS; i++) {
        if (events[i].event == event) {
            return events[i].word;
        }
    }
    return "";
}

size_t bw_capture_write(const bw_capture_line *line, char *out) {
    bw_text text = bw_text_on(out, BW_CAPTURE_TEXT_MAX);
    bw_text_add(&text, "@%lld ", (long long)line->time_us);
    if (line->kind == BW_CAPTURE_EVENT) {
        bw_text_add(&text, "%s\n", event_word(line->event));
        return text.len;
    }
    bw_text_add(&text, "%s", line->kind == BW_CAPTURE_SENT ? "> " : "");
    size_t n = line->n < BW_CAPTURE_READ_MAX ? line->n : BW_CAPTURE_READ_MAX;
    bw_hex(line->bytes, n, text.data + text.len);
    text.len += 2 * n;
    text.data[text.len++] = '\n';
    text.data[text.len] = '\0';
    return text.len;
}

static bw_status not_a_line(bw_err *err) {
    return bw_fail(err, BW_E_DATA,
                   "a capture's line is needed: \"@\", microseconds, a blank, and bytes in hex "
                   "(\"> \" before what was sent), or opened, silent or lost");
}

/* The digits behind "@"; returns how many characters, 0 where they are no time. */
static size_t parse_time(const char *line, size_t len, int64_t *time_us) {
    size_t i = 1;
    int64_t time = 0;
    for (; i < len && i <= 18 && line[i] >= '0' && line[i] <= '9'; i++) {
        time = time * 10 + (line[i] - '0');
    }
    if (i == 1 || i == len || line[i] != ' ') {
        return 0;
    }
    *time_us = time;
    return i + 1;
}

static bool parse_event(const char *word, size_t len, bw_capture_line *out) {
    for (size_t i = 0; i < EVENTS; i++) {
        if (strlen(events[i].word) == len && memcmp(events[i].word, word, len) == 0) {
            out->kind = BW_CAPTURE_EVENT;
            out->event = events[i].event;
            return true;
        }
    }
    return false;
}

static bool parse_bytes(const char *hex, size_t len, uint8_t *store, bw_capture_line *out) {
    size_t count = 0;
    for (size_t i = 0; i < len;) {
        const char pair[] = {hex[i], i + 1 < len ? hex[i + 1] : '\0', '\0'};
        if (hex[i] == ' ') {
            i++;
        } else if (count < BW_CAPTURE_READ_MAX && bw_unhex(pair, store + count, 1)) {
            count++;
            i += 2;
        } else {
            return false;
        }
    }
    out->bytes = store;
    out->n = count;
    return count > 0;
}

bw_status bw_capture_parse(const char *line, size_t len, uint8_t *store, bw_capture_line *out,
                           bw_err *err) {
    *out = (bw_capture_line){.kind = BW_CAPTURE_NOTHING};
    while (len > 0 && (line[len - 1] == '\n' || line[len - 1] == '\r' || line[len - 1] == ' ')) {
        len--;
    }
    if (len == 0 || line[0] == '#') {
        return BW_OK;
    }
    size_t at = line[0] == '@' ? parse_time(line, len, &out->time_us) : 0;
    if (at == 0 || at == len) {
        return not_a_line(err);
    }
    if (parse_event(line + at, len - at, out)) {
        return BW_OK;
    }
    out->kind = line[at] == '>' ? BW_CAPTURE_SENT : BW_CAPTURE_BYTES;
    at += line[at] == '>' ? 1 : 0;
    return parse_bytes(line + at, len - at, store, out) ? BW_OK : not_a_line(err);
}

/* ---- what is kept for a pull ---- */

void bw_capture_fini(bw_capture *capture) {
    free(capture->text);
    memset(capture, 0, sizeof *capture);
}

void bw_capture_reset(bw_capture *capture, int64_t now_ns) {
    capture->len = 0;
    capture->began_ns = now_ns;
    capture->cut = false;
}

/* Room for more bytes of text and a NUL. */
static bool make_room(bw_capture *capture, size_t more) {
    size_t need = capture->len + more + 1;
    if (need > BW_RAW_BYTES_MAX) {
        return false;
    }
    if (need <= capture->size) {
        return true;
    }
    size_t size = capture->size == 0 ? FIRST_SIZE : capture->size;
    while (size < need) {
        size *= 2;
    }
    char *larger = realloc(capture->text, size);
    if (larger == NULL) {
        return false;
    }
    capture->text = larger;
    capture->size = size;
    return true;
}

/* Once something is missing, nothing that comes later is kept: a capture has no holes. */
void bw_capture_add(bw_capture *capture, int64_t now_ns, const uint8_t *bytes, size_t n) {
    if (capture->cut || !make_room(capture, HEAD_MAX + 2 * n + 1)) {
        capture->cut = true;
        return;
    }
    int64_t since_us = now_ns > capture->began_ns ? (now_ns - capture->began_ns) / 1000 : 0;
    const bw_capture_line line = {
        .kind = BW_CAPTURE_BYTES, .time_us = since_us, .bytes = bytes, .n = n};
    char text[BW_CAPTURE_TEXT_MAX];
    size_t len = bw_capture_write(&line, text);
    memcpy(capture->text + capture->len, text, len + 1);
    capture->len += len;
}
