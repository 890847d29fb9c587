/* decode.c - an entry's JSON text to an entry.  The text may come from anywhere: nothing of it is
 * put into a message before it is known to be readable. */
#include "record/entry.h"

#include "base/clock.h"
#include "base/decimal.h"
#include "record/json.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NUMBER_MAX = 32 };

typedef struct reader {
    bw_arena *arena;
    bw_entry entry;
    bw_err *err;
} reader;

static bw_status no_memory(bw_err *err) {
    (void)bw_fail(err, BW_E_MEM, "no memory to read an entry");
    return BW_E_MEM;
}

static bool text_readable(const json_t *value) {
    return json_is_string(value) &&
           bw_json_readable(json_string_value(value), json_string_length(value), true);
}

/* Also of members that this program does not know it is asked that they can be shown. */
static bool value_fits(const json_t *value) {
    if (json_is_array(value)) {
        size_t i = 0;
        while (i < json_array_size(value) && text_readable(json_array_get(value, i))) {
            i++;
        }
        return i == json_array_size(value);
    }
    return json_is_string(value) ? text_readable(value)
                                 : json_is_number(value) || json_is_boolean(value);
}

static bw_status check_values(json_t *object, bw_err *err) {
    const char *name = NULL;
    json_t *value = NULL;
    json_object_foreach(object, name, value) {
        if (!bw_json_readable(name, strlen(name), false)) {
            return bw_fail(err, BW_E_DATA, "the entry has a member whose name cannot be shown");
        }
        if (!value_fits(value)) {
            return bw_fail(err, BW_E_DATA,
                           "`%.60s` must be a printable text, a number, true or false, or a list "
                           "of texts",
                           name);
        }
    }
    return BW_OK;
}

static bw_status check_canonical(json_t *object, const char *json, size_t len, bw_err *err) {
    char *text = malloc(len + 1);
    size_t need = 0;
    if (text == NULL || !bw_json_text(object, text, len, &need)) {
        free(text);
        return no_memory(err);
    }
    bool same = need == len && memcmp(text, json, len) == 0;
    free(text);
    if (!same) {
        return bw_fail(err, BW_E_DATA,
                       "the entry is not written in its one form: members sorted, no spaces, "
                       "shortest numbers");
    }
    return BW_OK;
}

static bw_status wrong(reader *r, const char *name, const char *needed) {
    (void)bw_fail(r->err, BW_E_DATA, "`%.60s` must be %s", name, needed);
    return BW_E_DATA;
}

static bw_status take_text(reader *r, const char *name, json_t *value, const char **out) {
    if (!json_is_string(value)) {
        return wrong(r, name, "a text");
    }
    size_t len = json_string_length(value);
    if (!bw_json_readable(json_string_value(value), len, strcmp(name, "text") == 0)) {
        return wrong(r, name, "one line of printable text");
    }
    *out = bw_arena_copy(r->arena, json_string_value(value), len);
    return *out == NULL ? no_memory(r->err) : BW_OK;
}

static bw_status take_words(reader *r, const char *name, json_t *value, const char **out) {
    size_t room = 1;
    for (size_t i = 0; i < json_array_size(value); i++) {
        room += json_string_length(json_array_get(value, i)) + 1;
    }
    char *text = bw_arena_alloc(r->arena, room, 1);
    if (text == NULL) {
        return no_memory(r->err);
    }
    size_t at = 0;
    for (size_t i = 0; i < json_array_size(value); i++) {
        const char *word = json_string_value(json_array_get(value, i));
        size_t len = json_string_length(json_array_get(value, i));
        if (word == NULL || len == 0 || strchr(word, ' ') != NULL ||
            !bw_json_readable(word, len, false)) {
            return wrong(r, name, "a list of words");
        }
        if (i > 0) {
            text[at++] = ' ';
        }
        memcpy(text + at, word, len);
        at += len;
    }
    *out = text;
    return json_is_array(value) ? BW_OK : wrong(r, name, "a list of words");
}

/* A number is written by bw_number_text also where JSON takes it for a whole one. */
static bw_status take_number(reader *r, const char *name, json_t *value, double *out) {
    if (!json_is_number(value)) {
        return wrong(r, name, "a number");
    }
    double number = json_number_value(value);
    if (json_is_integer(value)) {
        char text[NUMBER_MAX];
        char digits[NUMBER_MAX];
        (void)snprintf(digits, sizeof digits, "%" PRId64, (int64_t)json_integer_value(value));
        if (strcmp(bw_number_text(number, text, sizeof text), digits) != 0) {
            return wrong(r, name, "a number in its shortest form");
        }
    }
    *out = number;
    return BW_OK;
}

static bw_status take_member(reader *r, bw_member member, json_t *value) {
    const char *name = bw_member_name(member);
    bw_value *out = &r->entry.value[member];
    out->type = bw_member_type(member);
    switch (out->type) {
    case BW_VALUE_TEXT:
        return take_text(r, name, value, &out->as.text);
    case BW_VALUE_WORDS:
        return take_words(r, name, value, &out->as.text);
    case BW_VALUE_NUMBER:
        return take_number(r, name, value, &out->as.number);
    case BW_VALUE_WHOLE:
        out->as.whole = json_integer_value(value);
        return json_is_integer(value) ? BW_OK : wrong(r, name, "a whole number");
    case BW_VALUE_FLAG:
        out->as.flag = json_is_true(value);
        return json_is_boolean(value) ? BW_OK : wrong(r, name, "true or false");
    case BW_VALUE_NONE:
        break;
    }
    return bw_fail(r->err, BW_E_BUG, "the member `%s` has no type", name);
}

enum { COMMON = 6 };

static const char *const common_names[COMMON] = {"kind", "time",  "build",
                                                 "by",   "bench", "rehearsal"};

static bw_status take_common(reader *r, json_t *object) {
    const char *time = NULL;
    const struct {
        const char *name;
        const char **out;
    } rows[] = {{"kind", &r->entry.kind_name},
                {"time", &time},
                {"build", &r->entry.build},
                {"by", &r->entry.by},
                {"bench", &r->entry.bench}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        json_t *value = json_object_get(object, rows[i].name);
        if (value == NULL) {
            return bw_fail(r->err, BW_E_DATA, "the entry has no `%s`", rows[i].name);
        }
        bw_status status = take_text(r, rows[i].name, value, rows[i].out);
        if (status != BW_OK) {
            return status;
        }
        if ((*rows[i].out)[0] == '\0') {
            return wrong(r, rows[i].name, "given");
        }
    }
    json_t *rehearsal = json_object_get(object, "rehearsal");
    if (rehearsal != NULL && !json_is_true(rehearsal)) {
        return wrong(r, "rehearsal", "true where it stands at all");
    }
    r->entry.rehearsal = rehearsal != NULL;
    return bw_time_parse(time, &r->entry.time_ms, r->err);
}

static size_t count_common(const json_t *object) {
    size_t n = 0;
    for (size_t i = 0; i < COMMON; i++) {
        n += json_object_get(object, common_names[i]) != NULL ? 1 : 0;
    }
    return n;
}

static bw_status take_members(reader *r, json_t *object) {
    size_t known = count_common(object);
    for (bw_member m = 0; m < BW_M_COUNT; m++) {
        json_t *value = json_object_get(object, bw_member_name(m));
        bw_status status = value == NULL ? BW_OK : take_member(r, m, value);
        if (status != BW_OK) {
            return status;
        }
        known += value != NULL ? 1 : 0;
        bw_membership membership = bw_kind_member(r->entry.kind, m);
        if (r->entry.kind != BW_KIND_UNKNOWN &&
            (value != NULL ? membership == BW_MEMBER_NEVER : membership == BW_MEMBER_MUST)) {
            return bw_fail(r->err, BW_E_DATA, "an entry of kind `%s` %s `%s`", r->entry.kind_name,
                           value != NULL ? "cannot have" : "needs", bw_member_name(m));
        }
    }
    r->entry.has_more = json_object_size(object) > known;
    return BW_OK;
}

static bw_kind kind_of(const char *name) {
    bw_kind kind = 0;
    while (kind < BW_KIND_COUNT && strcmp(bw_kind_name(kind), name) != 0) {
        kind++;
    }
    return kind;
}

static bw_status take_entry(reader *r, json_t *object, const char *json, size_t len) {
    bw_status status = check_values(object, r->err);
    if (status == BW_OK) {
        status = check_canonical(object, json, len, r->err);
    }
    if (status == BW_OK) {
        status = take_common(r, object);
    }
    if (status != BW_OK) {
        return status;
    }
    r->entry.kind = kind_of(r->entry.kind_name);
    return take_members(r, object);
}

bw_status bw_entry_decode(const char *json, size_t len, bw_arena *arena, bw_entry *out,
                          bw_err *err) {
    if (len > BW_ENTRY_BYTES_MAX) {
        return bw_fail(err, BW_E_DATA, "an entry may take %d bytes, this one takes %zu",
                       BW_ENTRY_BYTES_MAX, len);
    }
    json_error_t where = {0};
    json_t *object = json_loadb(json, len, JSON_REJECT_DUPLICATES, &where);
    if (object == NULL) {
        return bw_fail(err, BW_E_DATA, "the entry is not a JSON object: mistake near byte %d",
                       where.position);
    }
    reader r = {.arena = arena, .entry = {.kind_name = ""}, .err = err};
    bw_status status = json_is_object(object)
                           ? take_entry(&r, object, json, len)
                           : bw_fail(err, BW_E_DATA, "the entry is not a JSON object");
    json_decref(object);
    if (status == BW_OK) {
        *out = r.entry;
    }
    return status;
}

bw_status bw_entry_more(const char *json, size_t len, bw_arena *arena, const char **more,
                        bw_err *err) {
    json_t *object = json_loadb(json, len, JSON_REJECT_DUPLICATES, NULL);
    char *text = bw_arena_alloc(arena, len + 1, 1);
    size_t need = 0;
    if (!json_is_object(object)) {
        json_decref(object);
        return bw_fail(err, BW_E_DATA, "the entry is not a JSON object");
    }
    for (size_t i = 0; i < COMMON; i++) {
        (void)json_object_del(object, common_names[i]);
    }
    for (bw_member m = 0; m < BW_M_COUNT; m++) {
        (void)json_object_del(object, bw_member_name(m));
    }
    bool written = text != NULL && bw_json_text(object, text, len, &need) && need <= len;
    json_decref(object);
    if (!written) {
        return no_memory(err);
    }
    text[need] = '\0';
    *more = text;
    return BW_OK;
}
