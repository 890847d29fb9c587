/* wire.c - see wire.h. */
#include "sequence/wire.h"

#include "base/text.h"

#include <limits.h>
#include <string.h>

enum { DEPTH_MAX = 12 };

typedef struct cursor {
    const uint8_t *at;
    size_t left;
    bw_arena *arena;
    bw_status failed; /* the first failure; then nothing more is read */
} cursor;

static void fail(cursor *c, bw_status code) {
    if (c->failed == BW_OK) {
        c->failed = code;
        c->left = 0;
    }
}

/* The next n bytes; NULL, and failed, where they are not there. */
static const uint8_t *take(cursor *c, size_t n) {
    if (n > c->left) {
        fail(c, BW_E_DATA);
    }
    if (c->failed != BW_OK) {
        return NULL;
    }
    const uint8_t *bytes = c->at;
    c->at += n;
    c->left -= n;
    return bytes;
}

static uint64_t take_number(cursor *c, size_t bytes) {
    const uint8_t *p = take(c, bytes);
    uint64_t value = 0;
    for (size_t i = 0; p != NULL && i < bytes; i++) {
        value |= (uint64_t)p[i] << (8 * i);
    }
    return value;
}

static double take_double(cursor *c) {
    uint64_t bits = take_number(c, 8);
    double value = 0;
    memcpy(&value, &bits, sizeof value);
    return value;
}

static void *take_memory(cursor *c, size_t n, size_t size) {
    void *memory = c->failed == BW_OK ? bw_arena_alloc(c->arena, n, size) : NULL;
    if (memory == NULL) {
        fail(c, BW_E_LIMIT);
    }
    return memory;
}

/* A text with its length in front, as a NUL-ended copy. */
static const char *take_text(cursor *c, size_t length_bytes, size_t *len) {
    size_t n = (size_t)take_number(c, length_bytes);
    const uint8_t *bytes = take(c, n);
    char *copy = bytes == NULL ? NULL : bw_arena_copy(c->arena, (const char *)bytes, n);
    if (bytes != NULL && copy == NULL) {
        fail(c, BW_E_LIMIT);
    }
    *len = copy == NULL ? 0 : n;
    return copy == NULL ? "" : copy;
}

/* As take_text, for names: without a NUL inside. */
static const char *take_name(cursor *c, size_t length_bytes) {
    size_t len = 0;
    const char *name = take_text(c, length_bytes, &len);
    if (strlen(name) != len) {
        fail(c, BW_E_DATA);
    }
    return name;
}

static bw_spot take_spot(cursor *c) {
    bw_spot spot = {.source = (unsigned)take_number(c, 2), .line = (unsigned)take_number(c, 4)};
    if (spot.line > INT_MAX) {
        fail(c, BW_E_DATA);
    }
    return spot;
}

static bw_quantity take_quantity(cursor *c) {
    double value = take_double(c);
    unsigned unit = (unsigned)take_number(c, 1);
    int byte = (int)take_number(c, 1);
    int decimals = byte < 128 ? byte : byte - 256;
    if (unit >= BW_UNIT_COUNT || decimals < -1 || decimals > 15) {
        fail(c, BW_E_DATA);
        return (bw_quantity){0, BW_UNIT_NUMBER, 0};
    }
    return (bw_quantity){.value = value, .unit = (bw_unit)unit, .decimals = decimals};
}

static void take_value(cursor *c, int depth, bw_value *out);

static void take_list(cursor *c, int depth, bw_value *out) {
    size_t n = (size_t)take_number(c, 4);
    if (n > c->left) { /* a value has one byte at least */
        fail(c, BW_E_DATA);
    }
    bw_value *list = take_memory(c, n, sizeof *list);
    for (size_t i = 0; list != NULL && i < n; i++) {
        take_value(c, depth, &list[i]);
    }
    out->list = list;
    out->list_n = n;
}

static void take_fields(cursor *c, int depth, bw_value *out) {
    size_t n = (size_t)take_number(c, 4);
    if (n > c->left) {
        fail(c, BW_E_DATA);
    }
    const char **key = take_memory(c, n, sizeof *key);
    bw_value *field = take_memory(c, n, sizeof *field);
    for (size_t i = 0; key != NULL && field != NULL && i < n; i++) {
        key[i] = take_name(c, 4);
        if (i > 0 && strcmp(key[i - 1], key[i]) >= 0) {
            fail(c, BW_E_DATA); /* out of order, or there twice */
        }
        take_value(c, depth, &field[i]);
    }
    out->key = key;
    out->field = field;
    out->field_n = n;
}

static void take_body(cursor *c, int depth, bw_value *out) {
    if (depth == DEPTH_MAX) {
        fail(c, BW_E_DATA);
        return;
    }
    take_list(c, depth + 1, out);
    take_fields(c, depth + 1, out);
    const char *odd = take_name(c, 1);
    out->odd = odd[0] == '\0' ? NULL : odd;
}

static void take_flag(cursor *c, int depth, bw_value *out) {
    (void)depth;
    out->flag = c->at[-1] == 't';
}

static void take_nothing(cursor *c, int depth, bw_value *out) {
    (void)c;
    (void)depth;
    (void)out;
}

static void take_plain_number(cursor *c, int depth, bw_value *out) {
    (void)depth;
    out->number = take_double(c);
}

static void take_string(cursor *c, int depth, bw_value *out) {
    (void)depth;
    out->text = take_text(c, 4, &out->len);
}

static void take_written_quantity(cursor *c, int depth, bw_value *out) {
    (void)depth;
    out->quantity = take_quantity(c);
    out->spot = take_spot(c);
}

static void take_node(cursor *c, int depth, bw_value *out) {
    out->text = take_name(c, 1);
    out->len = strlen(out->text);
    out->spot = take_spot(c);
    take_body(c, depth, out);
}

static void take_other(cursor *c, int depth, bw_value *out) {
    (void)depth;
    out->text = take_name(c, 1);
    out->len = strlen(out->text);
}

static const struct {
    char tag;
    bw_value_kind kind;
    void (*take)(cursor *c, int depth, bw_value *out);
} tags[] = {
    {'z', BW_VALUE_NIL, take_nothing},      {'t', BW_VALUE_FLAG, take_flag},
    {'f', BW_VALUE_FLAG, take_flag},        {'d', BW_VALUE_NUMBER, take_plain_number},
    {'s', BW_VALUE_TEXT, take_string},      {'q', BW_VALUE_QUANTITY, take_written_quantity},
    {'T', BW_VALUE_TABLE, take_body},       {'N', BW_VALUE_NODE, take_node},
    {'u', BW_VALUE_REPORTED, take_nothing}, {'o', BW_VALUE_OTHER, take_other},
};

static void take_value(cursor *c, int depth, bw_value *out) {
    char tag = (char)take_number(c, 1);
    for (size_t i = 0; i < sizeof tags / sizeof tags[0]; i++) {
        if (tags[i].tag == tag && c->failed == BW_OK) {
            out->kind = tags[i].kind;
            tags[i].take(c, depth, out);
            return;
        }
    }
    fail(c, BW_E_DATA);
}

/* Nodes are kept in an array that doubles: how many there are is known at the end only. */
static bw_value *grow(cursor *c, bw_value *old, size_t n, size_t *room) {
    size_t larger = *room == 0 ? 64 : *room * 2;
    bw_value *fresh = take_memory(c, larger, sizeof *fresh);
    if (fresh != NULL && n > 0) {
        memcpy(fresh, old, n * sizeof *fresh);
    }
    *room = larger;
    return fresh;
}

bw_status bw_wire_read(const uint8_t *data, size_t len, bw_arena *arena, const bw_value **node,
                       size_t *node_n, bw_err *err) {
    cursor c = {.at = data, .left = len, .arena = arena, .failed = BW_OK};
    bw_value *nodes = NULL;
    size_t n = 0;
    size_t room = 0;
    while (c.left > 0) {
        if (n == room) {
            nodes = grow(&c, nodes, n, &room);
        }
        if (c.failed == BW_OK) {
            take_value(&c, 0, &nodes[n]);
            if (nodes[n].kind != BW_VALUE_NODE) {
                fail(&c, BW_E_DATA);
            }
            n++;
        }
    }
    if (c.failed == BW_E_LIMIT) {
        return bw_fail(err, BW_E_LIMIT, "declares more than fits into memory");
    }
    if (c.failed != BW_OK) {
        return bw_fail(err, BW_E_DATA, "the worker's answer is not well-formed");
    }
    *node = nodes;
    *node_n = n;
    return BW_OK;
}

const bw_value *bw_value_field(const bw_value *value, const char *key) {
    for (size_t i = 0; i < value->field_n; i++) {
        if (strcmp(value->key[i], key) == 0) {
            return &value->field[i];
        }
    }
    return NULL;
}

static bool is_module_letter(char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
}

bool bw_module_name_valid(const char *name, size_t len) {
    if (len == 0 || len > BW_MODULE_NAME_MAX || !is_module_letter(name[0]) ||
        !is_module_letter(name[len - 1])) {
        return false;
    }
    for (size_t i = 1; i < len; i++) {
        bool joint = (name[i] == '.' || name[i] == '/') && is_module_letter(name[i - 1]);
        if (!joint && !is_module_letter(name[i])) {
            return false;
        }
    }
    return true;
}
