/* encode.c - an entry to its one JSON text, checked against the registry. */
#include "record/entry.h"

#include "base/clock.h"
#include "record/json.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The members that every entry has. */
static bw_status check_common(const bw_entry *entry, bw_err *err) {
    const struct {
        const char *name, *text;
    } rows[] = {{"build", entry->build}, {"by", entry->by}, {"bench", entry->bench}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const char *text = rows[i].text;
        if (text == NULL || text[0] == '\0') {
            return bw_fail(err, BW_E_ARG, "an entry needs `%s`", rows[i].name);
        }
        if (!bw_json_readable(text, strlen(text), false)) {
            return bw_fail(err, BW_E_ARG, "`%s` of an entry must be one line of printable text",
                           rows[i].name);
        }
    }
    char time[BW_TIME_TEXT_MAX];
    int64_t back_ms = 0;
    if (bw_time_parse(bw_time_text(entry->time_ms, time), &back_ms, NULL) != BW_OK ||
        back_ms != entry->time_ms) {
        return bw_fail(err, BW_E_ARG, "the time of an entry must lie in the years 0000 to 9999");
    }
    return BW_OK;
}

/* Words are parted by exactly one space. */
static bool words_shaped(const char *text) {
    size_t len = strlen(text);
    bool edges = len == 0 || (text[0] != ' ' && text[len - 1] != ' ');
    return edges && strstr(text, "  ") == NULL;
}

static bw_status check_value(bw_member member, const bw_value *value, bw_err *err) {
    const char *name = bw_member_name(member);
    if (value->type != bw_member_type(member)) {
        return bw_fail(err, BW_E_ARG, "`%s` was set as another type than it has", name);
    }
    if (value->type == BW_VALUE_NUMBER && !isfinite(value->as.number)) {
        return bw_fail(err, BW_E_ARG, "`%s` must be a finite number", name);
    }
    if (value->type == BW_VALUE_TEXT || value->type == BW_VALUE_WORDS) {
        const char *text = value->as.text;
        if (!bw_json_readable(text, strlen(text), member == BW_M_TEXT)) {
            return bw_fail(err, BW_E_ARG, "`%s` must be printable UTF-8%s", name,
                           member == BW_M_TEXT ? "" : " on one line");
        }
        if (value->type == BW_VALUE_WORDS && !words_shaped(text)) {
            return bw_fail(err, BW_E_ARG, "the words of `%s` must be parted by one space", name);
        }
    }
    return BW_OK;
}

static bw_status check_members(const bw_entry *entry, bw_err *err) {
    for (bw_member m = 0; m < BW_M_COUNT; m++) {
        bw_membership membership = bw_kind_member(entry->kind, m);
        bool there = entry->value[m].type != BW_VALUE_NONE;
        if (there ? membership == BW_MEMBER_NEVER : membership == BW_MEMBER_MUST) {
            return bw_fail(err, BW_E_ARG, "an entry of kind `%s` %s `%s`",
                           bw_kind_name(entry->kind), there ? "cannot have" : "needs",
                           bw_member_name(m));
        }
        bw_status status = there ? check_value(m, &entry->value[m], err) : BW_OK;
        if (status != BW_OK) {
            return status;
        }
    }
    return BW_OK;
}

static json_t *words_json(const char *text) {
    json_t *list = json_array();
    while (*text != '\0') {
        size_t len = strcspn(text, " ");
        if (json_array_append_new(list, json_stringn(text, len)) != 0) {
            json_decref(list);
            return NULL;
        }
        text += len + (text[len] == ' ' ? 1 : 0);
    }
    return list;
}

static json_t *value_json(const bw_value *value) {
    switch (value->type) {
    case BW_VALUE_TEXT:
        return json_string(value->as.text);
    case BW_VALUE_WORDS:
        return words_json(value->as.text);
    case BW_VALUE_NUMBER:
        return json_real(value->as.number);
    case BW_VALUE_WHOLE:
        return json_integer(value->as.whole);
    case BW_VALUE_FLAG:
        return json_boolean(value->as.flag);
    case BW_VALUE_NONE:
        break;
    }
    return NULL;
}

/* NULL where memory is out.  jansson takes NULL for a value as a failure of its own. */
static json_t *entry_json(const bw_entry *entry) {
    char time[BW_TIME_TEXT_MAX];
    json_t *object = json_object();
    int bad = json_object_set_new(object, "kind", json_string(bw_kind_name(entry->kind)));
    bad |= json_object_set_new(object, "time", json_string(bw_time_text(entry->time_ms, time)));
    bad |= json_object_set_new(object, "build", json_string(entry->build));
    bad |= json_object_set_new(object, "by", json_string(entry->by));
    bad |= json_object_set_new(object, "bench", json_string(entry->bench));
    if (entry->rehearsal) {
        bad |= json_object_set_new(object, "rehearsal", json_true());
    }
    for (bw_member m = 0; m < BW_M_COUNT; m++) {
        if (entry->value[m].type != BW_VALUE_NONE) {
            bad |= json_object_set_new(object, bw_member_name(m), value_json(&entry->value[m]));
        }
    }
    if (bad != 0) {
        json_decref(object);
        return NULL;
    }
    return object;
}

static bw_status write_text(json_t *object, bw_arena *arena, const char **json, size_t *len,
                            bw_err *err) {
    size_t need = 0;
    if (!bw_json_text(object, NULL, 0, &need)) {
        return bw_fail(err, BW_E_MEM, "no memory for an entry");
    }
    if (need > BW_ENTRY_BYTES_MAX) {
        return bw_fail(err, BW_E_ARG, "an entry may take %d bytes, this one takes %zu",
                       BW_ENTRY_BYTES_MAX, need);
    }
    char *text = bw_arena_alloc(arena, need + 1, 1);
    if (text == NULL || !bw_json_text(object, text, need, &need)) {
        return bw_fail(err, BW_E_MEM, "no memory for an entry");
    }
    *json = text;
    *len = need;
    return BW_OK;
}

bw_status bw_entry_encode(const bw_entry *entry, bw_arena *arena, const char **json, size_t *len,
                          bw_err *err) {
    if (bw_kind_name(entry->kind) == NULL) {
        return bw_fail(err, BW_E_ARG, "an entry of an unknown kind cannot be written");
    }
    bw_status status = check_common(entry, err);
    if (status == BW_OK) {
        status = check_members(entry, err);
    }
    if (status != BW_OK) {
        return status;
    }
    json_t *object = entry_json(entry);
    if (object == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory for an entry");
    }
    status = write_text(object, arena, json, len, err);
    json_decref(object);
    return status;
}
