/* capture.c - see capture.h. */
#include "device/capture.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

enum { FIRST_SIZE = 16 << 10, HEAD_MAX = 24 /* "@", a 63-bit number, a blank */ };

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
    bw_text text = bw_text_on(capture->text + capture->len, capture->size - capture->len);
    bw_text_add(&text, "@%lld ", (long long)since_us);
    bw_hex(bytes, n, text.data + text.len);
    text.len += 2 * n;
    text.data[text.len++] = '\n';
    text.data[text.len] = '\0';
    capture->len += text.len;
}

/* ---- reading one back ---- */

static bw_status not_a_line(bw_err *err) {
    return bw_fail(err, BW_E_DATA,
                   "a capture's line is needed: \"@\", microseconds, a blank, bytes in hex");
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
    return i;
}

bw_status bw_capture_parse(const char *line, size_t len, int64_t *time_us, uint8_t *out, size_t *n,
                           bw_err *err) {
    while (len > 0 && (line[len - 1] == '\n' || line[len - 1] == '\r' || line[len - 1] == ' ')) {
        len--;
    }
    if (len == 0 || line[0] == '#') {
        *n = 0;
        return BW_OK;
    }
    int64_t time = 0;
    size_t i = line[0] == '@' ? parse_time(line, len, &time) : 0;
    if (i == 0) {
        return not_a_line(err);
    }
    size_t count = 0;
    while (i < len) {
        const char pair[] = {line[i], i + 1 < len ? line[i + 1] : '\0', '\0'};
        if (line[i] == ' ') {
            i++;
        } else if (count < BW_CAPTURE_READ_MAX && bw_unhex(pair, out + count, 1)) {
            count++;
            i += 2;
        } else {
            return not_a_line(err);
        }
    }
    *time_us = time;
    *n = count;
    return BW_OK;
}
