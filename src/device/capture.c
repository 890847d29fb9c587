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

typedef struct read_head {
    int64_t time_ns;
    size_t n;
} read_head;

static size_t text_most(size_t n) {
    return HEAD_MAX + 2 * n + 1;
}

/* The read at this place of the data. */
static read_head head_at(const bw_capture *capture, size_t at) {
    read_head head;
    memcpy(&head, capture->data + at, sizeof head);
    return head;
}

void bw_capture_fini(bw_capture *capture) {
    free(capture->data);
    free(capture->text);
    memset(capture, 0, sizeof *capture);
}

void bw_capture_reset(bw_capture *capture, int64_t now_ns) {
    capture->from = 0;
    capture->end = 0;
    capture->text_most = 0;
    capture->began_ns = now_ns;
    capture->cut = false;
}

void bw_capture_forget(bw_capture *capture, int64_t before_ns) {
    if (capture->cut) { /* what is kept after a hole must not look whole */
        bw_capture_reset(capture, before_ns);
    }
    while (capture->from < capture->end) {
        read_head head = head_at(capture, capture->from);
        if (head.time_ns >= before_ns && capture->text_most <= BW_RAW_BYTES_MAX / 2) {
            break;
        }
        capture->from += sizeof head + head.n;
        capture->text_most -= text_most(head.n);
    }
    capture->began_ns = before_ns;
}

/* Room for more bytes behind the newest. */
static bool make_room(bw_capture *capture, size_t more) {
    size_t kept = capture->end - capture->from;
    if (capture->from > 0 && capture->end + more > capture->size) {
        memmove(capture->data, capture->data + capture->from, kept);
        capture->from = 0;
        capture->end = kept;
    }
    size_t size = capture->size == 0 ? FIRST_SIZE : capture->size;
    while (size < capture->end + more) {
        size *= 2;
    }
    if (size == capture->size) {
        return true;
    }
    uint8_t *larger = realloc(capture->data, size);
    if (larger == NULL) {
        return false;
    }
    capture->data = larger;
    capture->size = size;
    return true;
}

/* Once something is missing, nothing that comes later is kept: a capture has no holes. */
void bw_capture_add(bw_capture *capture, int64_t now_ns, const uint8_t *bytes, size_t n) {
    const read_head head = {now_ns, n};
    if (capture->cut || capture->text_most + text_most(n) > BW_RAW_BYTES_MAX ||
        !make_room(capture, sizeof head + n)) {
        capture->cut = true;
        return;
    }
    memcpy(capture->data + capture->end, &head, sizeof head);
    memcpy(capture->data + capture->end + sizeof head, bytes, n);
    capture->end += sizeof head + n;
    capture->text_most += text_most(n);
}

const char *bw_capture_text(bw_capture *capture, size_t *len) {
    size_t room = capture->text_most + BW_CAPTURE_TEXT_MAX;
    free(capture->text);
    capture->text = malloc(room);
    *len = 0;
    if (capture->text == NULL) {
        capture->cut = true;
        return "";
    }
    capture->text[0] = '\0';
    for (size_t at = capture->from; at < capture->end;) {
        read_head head = head_at(capture, at);
        at += sizeof head;
        int64_t since_ns = head.time_ns - capture->began_ns;
        const bw_capture_line line = {.kind = BW_CAPTURE_BYTES,
                                      .time_us = since_ns > 0 ? since_ns / 1000 : 0,
                                      .bytes = capture->data + at,
                                      .n = head.n};
        *len += bw_capture_write(&line, capture->text + *len);
        at += head.n;
    }
    return capture->text;
}
