/* json.c - see json.h. */
#include "record/json.h"

#include "base/decimal.h"
#include "base/text.h"

#include <inttypes.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NUMBER_MAX = 32 };

typedef struct sink {
    char *out;
    size_t size;
    size_t len; /* also counts what no longer fits */
    bool failed;
} sink;

static void put(sink *to, const char *bytes, size_t n) {
    if (to->len < to->size) {
        size_t room = to->size - to->len;
        memcpy(to->out + to->len, bytes, n < room ? n : room);
    }
    to->len += n;
}

static void put_text(sink *to, const char *text) {
    put(to, text, strlen(text));
}

static const char *escape_of(unsigned char c, char *room, size_t size) {
    static const struct {
        unsigned char c;
        const char *escape;
    } rows[] = {{'"', "\\\""}, {'\\', "\\\\"}, {'\b', "\\b"}, {'\f', "\\f"},
                {'\n', "\\n"}, {'\r', "\\r"},  {'\t', "\\t"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (rows[i].c == c) {
            return rows[i].escape;
        }
    }
    if (c >= 0x20) {
        return NULL;
    }
    (void)snprintf(room, size, "\\u%04x", (unsigned)c);
    return room;
}

static void put_string(sink *to, const char *text, size_t len) {
    put_text(to, "\"");
    size_t plain = 0; /* where the run of bytes that need no escape begins */
    for (size_t i = 0; i < len; i++) {
        char room[8];
        const char *escape = escape_of((unsigned char)text[i], room, sizeof room);
        if (escape != NULL) {
            put(to, text + plain, i - plain);
            put_text(to, escape);
            plain = i + 1;
        }
    }
    put(to, text + plain, len - plain);
    put_text(to, "\"");
}

static void put_texts(sink *to, const json_t *array) {
    put_text(to, "[");
    for (size_t i = 0; i < json_array_size(array); i++) {
        put_text(to, i > 0 ? "," : "");
        const json_t *text = json_array_get(array, i);
        put_string(to, json_string_value(text), json_string_length(text));
    }
    put_text(to, "]");
}

static void put_number(sink *to, const json_t *value) {
    char text[NUMBER_MAX];
    if (json_is_real(value)) {
        put_text(to, bw_number_text(json_real_value(value), text, sizeof text));
    } else {
        (void)snprintf(text, sizeof text, "%" PRId64, (int64_t)json_integer_value(value));
        put_text(to, text);
    }
}

static void put_value(sink *to, const json_t *value) {
    switch (json_typeof(value)) {
    case JSON_STRING:
        put_string(to, json_string_value(value), json_string_length(value));
        break;
    case JSON_ARRAY:
        put_texts(to, value);
        break;
    case JSON_INTEGER:
    case JSON_REAL:
        put_number(to, value);
        break;
    case JSON_TRUE:
    case JSON_FALSE:
        put_text(to, json_is_true(value) ? "true" : "false");
        break;
    case JSON_OBJECT:
    case JSON_NULL:
        to->failed = true; /* no entry holds such */
        break;
    }
}

static int by_bytes(const void *a, const void *b) {
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static void put_object(sink *to, json_t *object) {
    size_t n = json_object_size(object);
    const char **name = calloc(n + 1, sizeof *name);
    if (name == NULL) {
        to->failed = true;
        return;
    }
    size_t i = 0;
    for (void *at = json_object_iter(object); at != NULL && i < n;
         at = json_object_iter_next(object, at)) {
        name[i++] = json_object_iter_key(at);
    }
    qsort(name, n, sizeof *name, by_bytes);
    put_text(to, "{");
    for (i = 0; i < n; i++) {
        put_text(to, i > 0 ? "," : "");
        put_string(to, name[i], strlen(name[i]));
        put_text(to, ":");
        put_value(to, json_object_get(object, name[i]));
    }
    put_text(to, "}");
    free(name);
}

bool bw_json_text(json_t *object, char *out, size_t size, size_t *len) {
    sink to = {.out = out, .size = size};
    put_object(&to, object);
    *len = to.len;
    return !to.failed;
}

bool bw_json_readable(const char *text, size_t len, bool lines) {
    size_t begin = 0;
    for (size_t i = 0; lines && i < len; i++) {
        if (text[i] == '\t') {
            if (!bw_text_printable(text + begin, i - begin, true)) {
                return false;
            }
            begin = i + 1;
        }
    }
    return bw_text_printable(text + begin, len - begin, lines);
}
