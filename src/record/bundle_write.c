/* bundle_write.c - see bundle.h: one pass that hashes the record, one that writes the build. */
#include "record/bundle.h"

#include "base/text.h"
#include "record/base64.h"
#include "record/database.h"
#include "record/hash.h"
#include "record/proof.h"
#include "record/rows.h"
#include "record/store_int.h"

#include <inttypes.h>
#include <jansson.h>
#include <stdlib.h>
#include <string.h>

enum { CHANGES_MAX = 64 };

typedef struct writer {
    bw_store *store;
    const char *build;
    FILE *out; /* NULL: nothing is written, only tried */
    bw_grove *grove;
    bw_hasher *hasher;
    bw_arena *arena;
    const char *note; /* the newest checkpoint */
    uint64_t size;    /* of it */
    uint64_t first;   /* entry of the build */
    uint64_t lines;
    uint64_t change[CHANGES_MAX]; /* entries that change the key */
    size_t change_n;
    bw_status status; /* of what happened inside a callback */
    bw_err *err;
} writer;

static bw_status no_memory(bw_err *err) {
    (void)bw_fail(err, BW_E_MEM, "no memory for a bundle");
    return BW_E_MEM;
}

/* Takes over line. */
static bw_status put_line(writer *w, json_t *line) {
    if (line == NULL) {
        return no_memory(w->err);
    }
    bool put = w->out == NULL || (json_dumpf(line, w->out, JSON_COMPACT | JSON_SORT_KEYS) == 0 &&
                                  fputc('\n', w->out) != EOF);
    json_decref(line);
    w->lines++;
    return put ? BW_OK : bw_fail(w->err, BW_E_IO, "the bundle cannot be written");
}

static json_t *proof_json(const bw_proof *proof) {
    json_t *list = json_array();
    for (size_t i = 0; i < proof->n; i++) {
        char hex[BW_HASH_HEX];
        bw_hex(proof->hash[i].byte, BW_HASH_BYTES, hex);
        (void)json_array_append_new(list, json_string(hex));
    }
    return list;
}

static bw_status hash_record(writer *w) {
    bw_rows rows;
    bool got = true;
    bw_status status = bw_rows_open(w->store->db, 1, (int64_t)w->size, &rows, w->err);
    while (status == BW_OK && got) {
        bw_row row;
        bw_hash leaf;
        status = bw_rows_next(&rows, &row, &got, w->err);
        if (status != BW_OK || !got) {
            break;
        }
        bw_store_tell(w->store, row.number);
        if (!row.readable || (uint64_t)row.number != bw_grove_size(w->grove) + 1) {
            status = bw_fail(w->err, BW_E_DATA, "entry %" PRIu64 " cannot be read: run audit",
                             bw_grove_size(w->grove) + 1);
        }
        if (status == BW_OK && (bw_hasher_leaf(w->hasher, row.data, row.len, &leaf) != BW_OK ||
                                bw_grove_append(w->grove, &leaf) != BW_OK)) {
            status = no_memory(w->err);
        }
    }
    bw_rows_close(&rows);
    return status;
}

static bw_status check_root(writer *w, const bw_hash *root, uint64_t size, const char *which) {
    bw_hash is;
    if (bw_grove_root(w->grove, size, &is) != BW_OK || memcmp(&is, root, sizeof is) != 0) {
        return bw_fail(w->err, BW_E_DATA,
                       "the record does not hold what %s checkpoint over %" PRIu64
                       " entries signs: run audit",
                       which, size);
    }
    return BW_OK;
}

static bw_status read_newest(writer *w) {
    bw_hash root;
    bw_signature signature = BW_SIGNATURE_NONE;
    bw_status status = bw_store_newest_checkpoint(w->store, w->arena, &w->note, w->err);
    if (status == BW_OK && w->note == NULL) {
        return bw_fail(w->err, BW_E_STATE,
                       "nothing of the record is signed yet: pause or close the build first");
    }
    if (status == BW_OK) {
        status = bw_checkpoint_read(w->note, strlen(w->note), NULL, &w->size, &root, &signature,
                                    w->err);
    }
    if (status == BW_OK) {
        status = hash_record(w);
    }
    return status == BW_OK ? check_root(w, &root, w->size, "the newest") : status;
}

static bw_status put_entry(writer *w, const bw_entry *entry, const char *json, size_t len) {
    bw_proof proof;
    if (bw_prove_inclusion(w->grove, entry->number, w->size, &proof) != BW_OK) {
        return no_memory(w->err);
    }
    return put_line(w, json_pack("{s:I,s:s%,s:o}", "entry", (json_int_t)entry->number, "data", json,
                                 len, "proof", proof_json(&proof)));
}

static bool take_entry(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    writer *w = ctx;
    w->status = put_entry(w, entry, json, len);
    return w->status == BW_OK;
}

static bool look_ahead(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    writer *w = ctx;
    (void)json;
    (void)len;
    if (entry->kind_name[0] == '\0') {
        w->status = bw_fail(w->err, BW_E_DATA, "entry %" PRIu64 " is damaged: run audit",
                            entry->number);
    } else if (entry->number > w->size) {
        w->status = bw_fail(w->err, BW_E_STATE,
                            "entry %" PRIu64
                            " of build %s is not signed yet: pause or close it first",
                            entry->number, w->build);
    }
    w->first = w->first == 0 ? entry->number : w->first;
    return w->status == BW_OK;
}

static bw_status find_build(writer *w) {
    bw_status status = bw_store_each(w->store, w->build, look_ahead, w, w->err);
    status = status == BW_OK ? w->status : status;
    if (status == BW_OK && w->first == 0) {
        status = bw_fail(w->err, BW_E_ABSENT, "the record has no build %s", w->build);
    }
    return status;
}

static bw_status put_trace(writer *w, const char *hex) {
    bw_arena *arena = bw_arena_new((size_t)256 << 20);
    const void *data = NULL;
    size_t len = 0;
    bw_status status = arena == NULL ? no_memory(w->err)
                                     : bw_store_blob(w->store, hex, arena, &data, &len, w->err);
    char *text = status == BW_OK ? bw_arena_alloc(arena, BW_BASE64_SIZE(len), 1) : NULL;
    if (status == BW_OK && text == NULL) {
        status = no_memory(w->err);
    }
    if (status == BW_OK) {
        bw_base64(data, len, text);
        status = put_line(w, json_pack("{s:s,s:s}", "trace", hex, "base64", text));
    }
    bw_arena_free(arena);
    return status;
}

static bool take_traces(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    writer *w = ctx;
    const char *hex[] = {bw_entry_text(entry, BW_M_TRACE, NULL),
                         bw_entry_text(entry, BW_M_RAW, NULL)};
    (void)json;
    (void)len;
    for (size_t i = 0; w->status == BW_OK && i < 2; i++) {
        bool twice = i == 1 && hex[0] != NULL && hex[1] != NULL && strcmp(hex[0], hex[1]) == 0;
        if (hex[i] != NULL && !twice) {
            w->status = put_trace(w, hex[i]);
        }
    }
    return w->status == BW_OK;
}

static bw_status put_checkpoint(writer *w, const char *note, const char *which) {
    bw_proof proof;
    bw_hash root;
    uint64_t size = 0;
    bw_signature signature = BW_SIGNATURE_NONE;
    bw_status status = bw_checkpoint_read(note, strlen(note), NULL, &size, &root, &signature,
                                          w->err);
    if (status != BW_OK) {
        return bw_fail_in(w->err, status, "a checkpoint");
    }
    if (size > w->size) {
        return bw_fail(w->err, BW_E_DATA,
                       "%s checkpoint covers %" PRIu64 " entries, the record's newest %" PRIu64
                       ": the record is an older copy",
                       which, size, w->size);
    }
    status = check_root(w, &root, size, which);
    if (status == BW_OK && bw_prove_consistency(w->grove, size, w->size, &proof) != BW_OK) {
        status = no_memory(w->err);
    }
    return status == BW_OK ? put_line(w, json_pack("{s:s,s:o}", "checkpoint", note, "consistency",
                                                   proof_json(&proof)))
                           : status;
}

static bw_status put_range(writer *w, const char *query, uint64_t first) {
    sqlite3_stmt *row = NULL;
    bw_status status = BW_OK;
    int rc = sqlite3_prepare_v2(w->store->db, query, -1, &row, NULL);
    if (rc == SQLITE_OK) {
        (void)sqlite3_bind_int64(row, 1, (sqlite3_int64)first);
        (void)sqlite3_bind_int64(row, 2, (sqlite3_int64)w->size);
    }
    while (status == BW_OK && (rc == SQLITE_OK || rc == SQLITE_ROW)) {
        rc = sqlite3_step(row);
        if (rc == SQLITE_ROW) {
            const char *note = (const char *)sqlite3_column_text(row, 0);
            status = put_checkpoint(w, note == NULL ? "" : note, "a");
        }
    }
    if (status == BW_OK && rc != SQLITE_DONE) {
        status = bw_database_fail(w->store->db, rc, "read", w->err);
    }
    (void)sqlite3_finalize(row);
    return status;
}

/* Those that hand over to another key, and those that were signed while the build was at work: its
 * sheets carry them. */
static bw_status put_checkpoints(writer *w, const char *outside) {
    bw_status status = outside == NULL ? BW_OK : put_checkpoint(w, outside, "the given");
    for (size_t i = 0; status == BW_OK && i < w->change_n && w->change[i] < w->first; i++) {
        status = put_range(w, "SELECT note FROM checkpoint WHERE size = ?1 AND size < ?2",
                           w->change[i]);
    }
    return status == BW_OK ? put_range(w,
                                       "SELECT note FROM checkpoint WHERE size >= ?1 AND size < ?2 "
                                       "ORDER BY size",
                                       w->first)
                           : status;
}

/* Key changes first: they say whose signatures count. */
static bool take_keys(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    writer *w = ctx;
    if (entry->kind == BW_KIND_KEY_CHANGED && entry->number <= w->size) {
        w->status = put_entry(w, entry, json, len);
        if (w->change_n < CHANGES_MAX) {
            w->change[w->change_n++] = entry->number;
        }
    }
    return w->status == BW_OK;
}

static bw_status put_build(writer *w, const char *outside) {
    static const struct {
        bool bench;
        bw_take_entry *take;
    } passes[] = {{true, take_keys}, {false, take_entry}, {false, take_traces}};
    bw_status status = put_line(w,
                                json_pack("{s:i,s:s,s:s}", "boltwright_bundle", BW_BUNDLE_VERSION,
                                          "build", w->build, "checkpoint", w->note));
    for (size_t i = 0; status == BW_OK && i < sizeof passes / sizeof passes[0]; i++) {
        status = bw_store_each(w->store, passes[i].bench ? BW_BUILD_NONE : w->build, passes[i].take,
                               w, w->err);
        status = status == BW_OK ? w->status : status;
    }
    if (status == BW_OK) {
        status = put_checkpoints(w, outside);
    }
    if (status == BW_OK) {
        status = put_line(w, json_pack("{s:I}", "end", (json_int_t)w->lines));
    }
    return status;
}

/* What cannot be written whole is not begun. */
static bw_status put_twice(writer *w, const char *outside, FILE *out) {
    bw_status status = put_build(w, outside);
    w->out = out;
    w->lines = 0;
    w->change_n = 0;
    if (status == BW_OK) {
        status = put_build(w, outside);
    }
    return status == BW_OK && fflush(out) != 0
               ? bw_fail(w->err, BW_E_IO, "the bundle cannot be written")
               : status;
}

bw_status bw_bundle_write(bw_store *store, const char *build, const char *outside, FILE *out,
                          bw_err *err) {
    bw_err own = {0};
    writer w = {.store = store,
                .build = build,
                .grove = bw_grove_new(),
                .hasher = bw_hasher_new(),
                .arena = bw_arena_new(0),
                .status = BW_OK,
                .err = err == NULL ? &own : err};
    bw_status status = bw_store_usable(store, false, w.err);
    if (status == BW_OK && (w.grove == NULL || w.hasher == NULL || w.arena == NULL)) {
        status = no_memory(w.err);
    }
    if (status == BW_OK) {
        status = read_newest(&w);
    }
    if (status == BW_OK) {
        status = find_build(&w);
    }
    if (status == BW_OK) {
        status = put_twice(&w, outside, out);
    }
    bw_arena_free(w.arena);
    bw_hasher_free(w.hasher);
    bw_grove_free(w.grove);
    return status;
}
