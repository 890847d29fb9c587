/* input.c - see input.h. */
#include "session/input.h"

#include <stdlib.h>
#include <string.h>

struct bw_input {
    char *data;
    size_t start; /* of the oldest line */
    size_t end;
    size_t room;
    bool ended;
    char line[BW_LINE_MAX + 1];
};

bw_input *bw_input_new(void) {
    return calloc(1, sizeof(bw_input));
}

void bw_input_free(bw_input *input) {
    if (input != NULL) {
        free(input->data);
        free(input);
    }
}

bw_status bw_input_bytes(bw_input *input, const char *bytes, size_t n, bw_err *err) {
    if (n == 0) {
        return BW_OK;
    }
    if (input->start > 0) {
        memmove(input->data, input->data + input->start, input->end - input->start);
        input->end -= input->start;
        input->start = 0;
    }
    if (input->end + n > input->room) {
        size_t room = 2 * (input->end + n);
        char *more = realloc(input->data, room);
        if (more == NULL) {
            return bw_fail(err, BW_E_MEM, "no memory for what was typed");
        }
        input->data = more;
        input->room = room;
    }
    memcpy(input->data + input->end, bytes, n);
    input->end += n;
    return BW_OK;
}

size_t bw_input_waiting(const bw_input *input) {
    return input->end - input->start;
}

void bw_input_end(bw_input *input) {
    input->ended = true;
}

bool bw_input_ended(const bw_input *input) {
    return input->ended;
}

/* Length of the oldest line with its LF; 0 where it is not whole yet. */
static size_t line_span(const bw_input *input) {
    size_t n = input->end - input->start;
    if (n == 0) {
        return 0; /* there may be no data at all */
    }
    const char *from = input->data + input->start;
    const char *lf = memchr(from, '\n', n);
    if (lf != NULL) {
        return (size_t)(lf - from) + 1;
    }
    return input->ended ? n : 0;
}

const char *bw_input_peek(bw_input *input) {
    size_t span = line_span(input);
    if (span == 0) {
        return NULL;
    }
    const char *from = input->data + input->start;
    size_t len = span;
    while (len > 0 && (from[len - 1] == '\n' || from[len - 1] == '\r')) {
        len--;
    }
    len = len > BW_LINE_MAX ? BW_LINE_MAX : len;
    memcpy(input->line, from, len);
    input->line[len] = '\0';
    if (memchr(input->line, '\0', len) != NULL) {
        /* A NUL would hide the rest of the line: make it a character that no prompt accepts. */
        input->line[strlen(input->line)] = '\x01';
    }
    return input->line;
}

void bw_input_drop(bw_input *input) {
    input->start += line_span(input);
}
