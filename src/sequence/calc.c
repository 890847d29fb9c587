/* calc.c - one expression, evaluated in the sequences' own sandbox, as one line of JSON.
 * See sequence.h. */
#include "sequence/sequence.h"

#include "base/decimal.h"
#include "base/text.h"
#include "sequence/load.h"
#include "sequence/reader.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { EXPRESSION_BYTES_MAX = 65536, DEPTH_MAX = 8 };

/* ---- JSON ---- */

static json_t *number_json(double value) {
    /* 2^53: every whole number up to here is exact */
    bool whole = fabs(value) <= 9007199254740992.0 && floor(value) == value;
    return whole ? json_integer((json_int_t)value) : json_real(value);
}

/* Takes over the reference to value. */
static json_t *member(json_t *value, const char *unit, const char *text) {
    json_t *object = json_object();
    bool done = json_object_set_new(object, "value", value) == 0 &&
                (unit == NULL || json_object_set_new(object, "unit", json_string(unit)) == 0) &&
                json_object_set_new(object, "text", json_string(text)) == 0;
    if (!done) {
        json_decref(object);
        return NULL;
    }
    return object;
}

static json_t *quantity_json(bw_quantity q) {
    char text[64];
    return member(number_json(q.value), bw_unit_of(q.unit)->name,
                  bw_quantity_text(q, text, sizeof text));
}

static json_t *value_json(const bw_value *value, int depth, const char **why);

static json_t *table_json(const bw_value *table, int depth, const char **why) {
    json_t *object = json_object();
    for (size_t i = 0; i < table->list_n + table->field_n && object != NULL; i++) {
        char digits[24];
        bw_text number = bw_text_on(digits, sizeof digits);
        bw_text_add(&number, "%zu", i + 1);
        bool in_list = i < table->list_n;
        const char *key = in_list ? digits : table->key[i - table->list_n];
        const bw_value *item = in_list ? &table->list[i] : &table->field[i - table->list_n];
        if (json_object_set_new(object, key, value_json(item, depth + 1, why)) != 0) {
            json_decref(object);
            object = NULL;
        }
    }
    return object;
}

static json_t *text_json(const bw_value *value) {
    return member(json_stringn(value->text, value->len), NULL, value->text);
}

/* NULL with *why where the value is none that can be shown. */
static json_t *value_json(const bw_value *value, int depth, const char **why) {
    switch (value->kind) {
    case BW_VALUE_FLAG:
        return member(json_boolean(value->flag), NULL, value->flag ? "true" : "false");
    case BW_VALUE_NUMBER:
        *why = "the expression gives no finite number";
        return isfinite(value->number)
                   ? quantity_json((bw_quantity){value->number, BW_UNIT_NUMBER, -1})
                   : NULL;
    case BW_VALUE_TEXT:
        *why = "the expression gives a text that is not well-formed";
        return text_json(value);
    case BW_VALUE_QUANTITY:
        *why = "the expression gives no finite number";
        return isfinite(value->quantity.value) ? quantity_json(value->quantity) : NULL;
    case BW_VALUE_TABLE:
        *why = "the expression gives a table that cannot be shown: words and numbers from 1 on "
               "are its keys";
        return value->odd == NULL && depth < DEPTH_MAX ? table_json(value, depth, why) : NULL;
    case BW_VALUE_NIL:
        *why = "the expression gives nothing";
        return NULL;
    default:
        *why = "the expression gives something that is no value";
        return NULL;
    }
}

/* With the fewest digits, 15 at least, that read back as the same numbers. */
static char *shortest_dump(const json_t *json) {
    for (size_t digits = 15;; digits++) {
        char *text = json_dumps(json, JSON_COMPACT | JSON_REAL_PRECISION(digits));
        json_t *back = text == NULL ? NULL : json_loads(text, 0, NULL);
        bool same = back != NULL && json_equal(json, back) != 0;
        json_decref(back);
        if (same || text == NULL || digits == 17) {
            return text;
        }
        free(text);
    }
}

static bw_status write_json(const bw_value *value, bw_arena *arena, const char **out, bw_err *err) {
    const char *why = "";
    json_t *json = value_json(value, 0, &why);
    if (json == NULL) {
        return bw_fail(err, BW_E_DATA, "%s", why);
    }
    char *dump = shortest_dump(json);
    json_decref(json);
    const char *text = dump == NULL ? NULL : bw_arena_text(arena, dump);
    free(dump);
    if (text == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory");
    }
    *out = text;
    return BW_OK;
}

/* ---- asking ---- */

/* Modules are for sequences. */
static bw_status converse(bw_worker *worker, const char *chunk, size_t len, bw_frame *reply,
                          bw_err *err) {
    static const char why[] = "an expression has no modules";
    bw_status rc = bw_worker_ask(worker, BW_FRAME_CALC, chunk, len, BW_RUN_KILL_MS, reply, err);
    while (rc == BW_OK && reply->type == BW_FRAME_NEED) {
        rc = bw_worker_ask(worker, BW_FRAME_NO_MODULE, why, sizeof why - 1, BW_RUN_KILL_MS, reply,
                           err);
    }
    return rc;
}

static bw_status understand(const bw_frame *reply, bw_arena *arena, const char **json,
                            bw_err *err) {
    bw_spot spot;
    if (reply->type == BW_FRAME_LIMIT) {
        return bw_fail(err, BW_E_DATA, "%s", bw_sequence_limit_text(reply, &spot));
    }
    if (reply->type != BW_FRAME_DONE) {
        return bw_fail(err, BW_E_DATA, "the worker's answer is not well-formed");
    }
    bw_arena *scratch = bw_arena_new(0);
    if (scratch == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory");
    }
    const bw_value *value = NULL;
    bw_status rc = bw_reader_result(reply->data, reply->len, scratch, &value, err);
    if (rc == BW_OK) {
        rc = write_json(value, arena, json, err);
    }
    bw_arena_free(scratch);
    return rc == BW_E_LIMIT ? BW_E_DATA : rc;
}

static char *make_chunk(bw_arena *arena, const char *expression, size_t len) {
    static const char front[] = "return ";
    char *chunk = bw_arena_alloc(arena, sizeof front + len, 1);
    if (chunk != NULL) {
        memcpy(chunk, front, sizeof front - 1);
        memcpy(chunk + sizeof front - 1, expression, len);
    }
    return chunk;
}

bw_status bw_sequence_calc(const char *expression, bw_arena *arena, const char **json,
                           bw_err *err) {
    size_t len = strlen(expression);
    if (len > EXPRESSION_BYTES_MAX || !bw_utf8_valid(expression, len)) {
        return bw_fail(err, BW_E_DATA, "an expression is a text of at most %d bytes",
                       EXPRESSION_BYTES_MAX);
    }
    char *chunk = make_chunk(arena, expression, len);
    if (chunk == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory");
    }
    bw_worker *worker = NULL;
    bw_status rc = bw_sequence_worker(&worker, err);
    if (rc != BW_OK) {
        return rc;
    }
    bw_frame reply = {0, NULL, 0};
    rc = converse(worker, chunk, strlen(chunk), &reply, err);
    char end[200];
    const char *text = rc == BW_OK ? NULL : bw_sequence_end_text(rc, worker, end, sizeof end);
    if (rc == BW_OK) {
        rc = understand(&reply, arena, json, err);
    } else if (text != NULL) {
        rc = bw_fail(err, BW_E_DATA, "%s", text);
    }
    bw_worker_free(worker);
    return rc;
}
