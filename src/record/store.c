/* store.c - see store.h: opening, closing, reading.  Writing is in append.c. */
#include "record/store.h"

#include "base/text.h"
#include "record/database.h"
#include "record/files.h"
#include "record/lock.h"
#include "record/reader.h"
#include "record/rows.h"
#include "record/store_int.h"

#include <stdlib.h>
#include <string.h>

static const char *const statements[] = {
#define Q(name, sql) sql,
    BW_STATEMENTS(Q)
#undef Q
};

bw_status bw_store_usable(const bw_store *store, bool writing, bw_err *err) {
    if (store->dead) {
        return bw_fail(err, BW_E_STATE, "the record was given up after a failure: %s",
                       store->why.text);
    }
    if (writing && store->lock < 0) {
        return bw_fail(err, BW_E_STATE, "the record is open for reading only");
    }
    return BW_OK;
}

bw_status bw_store_statement(bw_store *store, bw_statement which, sqlite3_stmt **out, bw_err *err) {
    sqlite3_stmt **kept = &store->statement[which];
    if (*kept == NULL) {
        int rc = sqlite3_prepare_v3(store->db, statements[which], -1, SQLITE_PREPARE_PERSISTENT,
                                    kept, NULL);
        if (rc != SQLITE_OK) {
            return bw_database_fail(store->db, rc, "use", err);
        }
    }
    (void)sqlite3_reset(*kept);
    (void)sqlite3_clear_bindings(*kept);
    *out = *kept;
    return BW_OK;
}

bw_status bw_store_run(bw_store *store, bw_statement which, bw_err *err) {
    sqlite3_stmt *statement = NULL;
    bw_status status = bw_store_statement(store, which, &statement, err);
    if (status != BW_OK) {
        return status;
    }
    int rc = sqlite3_step(statement);
    if (rc != SQLITE_DONE) {
        const char *doing = which == BW_Q_BEGIN_READ ? "read" : "write";
        status = bw_database_fail(store->db, rc, doing, err);
    }
    (void)sqlite3_reset(statement);
    return status;
}

/* The open transaction keeps the reader at one size. */
static bw_status begin_reading(bw_store *store, bw_err *err) {
    sqlite3_stmt *statement = NULL;
    bw_status status = bw_store_run(store, BW_Q_BEGIN_READ, err);
    if (status == BW_OK) {
        status = bw_store_statement(store, BW_Q_SIZE, &statement, err);
    }
    if (status != BW_OK) {
        return status;
    }
    int rc = sqlite3_step(statement);
    sqlite3_int64 size = rc == SQLITE_ROW ? sqlite3_column_int64(statement, 0) : 0;
    store->size = size > 0 ? (uint64_t)size : 0;
    status = rc == SQLITE_ROW ? BW_OK : bw_database_fail(store->db, rc, "read", err);
    (void)sqlite3_reset(statement);
    return status;
}

static bw_status open_reader(bw_store *store, const char *path, bw_err *err) {
    bw_status status = bw_database_open(path, BW_STORE_READ, &store->db, err);
    if (status == BW_OK) {
        status = begin_reading(store, err);
    }
    return status == BW_OK ? bw_store_find_elsewhere(store, err) : status;
}

static bw_status open_writer(bw_store *store, const char *home, const char *path, bw_err *err) {
    store->hasher = bw_hasher_new();
    if (store->hasher == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory to open the record");
    }
    /* A look before the lock is made: beside a file that is not ours nothing is written. */
    bw_status status = bw_database_look(path, err);
    if (status == BW_OK || status == BW_E_ABSENT) {
        status = bw_files_make_folder(home, err);
    }
    if (status == BW_OK) {
        status = bw_lock_take(home, &store->lock, err);
    }
    if (status != BW_OK) {
        return status;
    }
    bw_database_tidy(path);
    bw_files_tidy(home);
    status = bw_database_open(path, BW_STORE_WRITE, &store->db, err);
    if (status == BW_E_ABSENT) {
        status = bw_store_check_new(home, err);
        if (status == BW_OK) {
            status = bw_database_make(path, err);
        }
        if (status == BW_OK) {
            status = bw_database_open(path, BW_STORE_WRITE, &store->db, err);
        }
    }
    return status == BW_OK ? bw_store_load(store, err) : status;
}

static void shut(bw_store *store, bool untouched) {
    for (size_t i = 0; i < BW_Q_COUNT; i++) {
        (void)sqlite3_finalize(store->statement[i]);
    }
    bw_database_close(store->db, untouched);
    bw_lock_drop(store->lock); /* last: the file is at rest when the next writer may come */
    bw_hasher_free(store->hasher);
    free(store->home);
    free(store->state);
    free(store);
}

/* False where memory is out. */
static bool keep_folders(bw_store *store, const char *home, const char *state) {
    store->home = strdup(home);
    store->state = state == NULL ? NULL : strdup(state);
    return store->home != NULL && (state == NULL || store->state != NULL);
}

bw_status bw_store_open_with(const char *home, const char *state, bw_store_mode mode,
                             bw_store **out, bw_err *err) {
    char path[BW_PATH_MAX];
    bw_status status = bw_files_path(home, "record.db", path, err);
    if (status == BW_OK) {
        status = bw_files_guard_standard(err);
    }
    if (status != BW_OK) {
        return status;
    }
    bw_store *store = calloc(1, sizeof *store);
    if (store == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory to open the record");
    }
    store->lock = -1;
    store->newest_ms = INT64_MIN;
    status = !keep_folders(store, home, state)
                 ? bw_fail(err, BW_E_MEM, "no memory to open the record")
             : mode == BW_STORE_WRITE ? open_writer(store, home, path, err)
                                      : open_reader(store, path, err);
    if (status != BW_OK) {
        shut(store, true);
        return status;
    }
    *out = store;
    return BW_OK;
}

bw_status bw_store_open(const char *home, bw_store_mode mode, bw_store **out, bw_err *err) {
    return bw_store_open_with(home, NULL, mode, out, err);
}

const char *bw_store_elsewhere(const bw_store *store) {
    return store->elsewhere;
}

void bw_store_close(bw_store *store) {
    if (store != NULL) {
        shut(store, store->dead);
    }
}

uint64_t bw_store_size(const bw_store *store) {
    return store->size;
}

int64_t bw_store_newest_ms(const bw_store *store) {
    return store->newest_ms;
}

bw_status bw_store_newest_checkpoint(bw_store *store, bw_arena *arena, const char **note,
                                     bw_err *err) {
    sqlite3_stmt *statement = NULL;
    bw_status status = bw_store_usable(store, false, err);
    if (status == BW_OK) {
        status = bw_store_statement(store, BW_Q_NEWEST_CHECKPOINT, &statement, err);
    }
    if (status != BW_OK) {
        return status;
    }
    int rc = sqlite3_step(statement);
    const char *text = NULL;
    if (rc == SQLITE_ROW) {
        const char *stored = (const char *)sqlite3_column_text(statement, 1);
        text = bw_arena_text(arena, stored == NULL ? "" : stored);
        status = text == NULL ? bw_fail(err, BW_E_MEM, "no memory for a checkpoint") : BW_OK;
    } else if (rc != SQLITE_DONE) {
        status = bw_database_fail(store->db, rc, "read", err);
    }
    (void)sqlite3_reset(statement);
    if (status == BW_OK) {
        *note = text;
    }
    return status;
}

static const char *find(const char *hay, size_t hay_len, const char *needle, size_t needle_len) {
    const char *end = hay + hay_len;
    while ((size_t)(end - hay) >= needle_len) {
        hay = memchr(hay, needle[0], (size_t)(end - hay) - needle_len + 1);
        if (hay == NULL || memcmp(hay, needle, needle_len) == 0) {
            return hay;
        }
        hay++;
    }
    return NULL;
}

/* Whether the entry certainly belongs to another build, told without decoding it.  The marker can
 * stand nowhere else in an entry: inside a text its quotes would carry a backslash, and values are
 * not nested. */
static bool of_other_build(const bw_row *row, const char *build) {
    static const char marker[] = "\"build\":\"";
    const char *at = find(row->data, row->len, marker, sizeof marker - 1);
    if (at == NULL || strpbrk(build, "\"\\") != NULL) {
        return false;
    }
    at += sizeof marker - 1;
    size_t n = strlen(build);
    size_t rest = (size_t)(row->data + row->len - at);
    return rest <= n || memcmp(at, build, n) != 0 || at[n] != '"';
}

typedef struct visit {
    const char *build;
    bw_take_entry *take;
    void *ctx;
    bw_reader *reader;
    bool go_on;
} visit;

static bw_status give(visit *to, const bw_row *row, bw_err *err) {
    if (row->number < 1 || (row->readable && to->build != NULL && of_other_build(row, to->build))) {
        return BW_OK;
    }
    bw_entry unknown = {
        .kind = BW_KIND_UNKNOWN, .kind_name = "", .build = "", .by = "", .bench = ""};
    bw_entry *entry = NULL;
    bw_status status = row->readable && row->blob
                           ? bw_reader_decode(to->reader, row->data, row->len, &entry, err)
                           : BW_E_DATA;
    if (status == BW_E_DATA) { /* it may be of any build */
        entry = &unknown;
        status = BW_OK;
    } else if (status == BW_OK && to->build != NULL && strcmp(entry->build, to->build) != 0) {
        return BW_OK;
    }
    if (status == BW_OK) {
        entry->number = (uint64_t)row->number;
        to->go_on = to->take(to->ctx, entry, row->readable ? row->data : "", row->len);
    }
    return status;
}

void bw_store_watch(bw_store *store, bw_store_told *told, void *ctx) {
    store->told = told;
    store->told_ctx = ctx;
}

void bw_store_tell(const bw_store *store, int64_t number) {
    if (store->told != NULL && number > 0) {
        store->told(store->told_ctx, (uint64_t)number);
    }
}

bw_status bw_store_each(bw_store *store, const char *build, bw_take_entry *take, void *ctx,
                        bw_err *err) {
    bw_status status = bw_store_usable(store, false, err);
    if (status != BW_OK) {
        return status;
    }
    bw_rows rows;
    visit to = {.build = build, .take = take, .ctx = ctx, .reader = bw_reader_new(), .go_on = true};
    bool got = true;
    if (to.reader == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory to read an entry");
    }
    status = bw_rows_open(store->db, INT64_MIN, (int64_t)store->size, &rows, err);
    while (status == BW_OK && got && to.go_on) {
        bw_row row;
        status = bw_rows_next(&rows, &row, &got, err);
        if (status == BW_OK && got) {
            bw_store_tell(store, row.number);
            status = give(&to, &row, err);
        }
    }
    bw_rows_close(&rows);
    bw_reader_free(to.reader);
    return status;
}

bw_status bw_store_has_trace(bw_store *store, const bw_hash *hash, bool *has, bw_err *err) {
    sqlite3_stmt *statement = NULL;
    bw_status status = bw_store_statement(store, BW_Q_HAS_TRACE, &statement, err);
    if (status != BW_OK) {
        return status;
    }
    (void)sqlite3_bind_blob(statement, 1, hash->byte, BW_HASH_BYTES, SQLITE_TRANSIENT);
    int rc = sqlite3_step(statement);
    if (rc != SQLITE_ROW && rc != SQLITE_DONE) {
        status = bw_database_fail(store->db, rc, "read", err);
    }
    *has = rc == SQLITE_ROW;
    (void)sqlite3_reset(statement);
    return status;
}

static bw_status copy_trace(sqlite3_stmt *row, const bw_hash *name, bw_arena *arena,
                            const void **data, size_t *len, bw_err *err) {
    const void *stored = sqlite3_column_blob(row, 0);
    size_t n = (size_t)sqlite3_column_bytes(row, 0);
    bw_hash hash;
    bw_status status = bw_sha256(stored, n, &hash);
    if (status != BW_OK) {
        return bw_fail(err, status, "cannot compute a hash");
    }
    if (memcmp(&hash, name, sizeof hash) != 0) {
        return bw_fail(err, BW_E_DATA, "the trace is not the one that its name says");
    }
    const char *copy = bw_arena_copy(arena, stored, n);
    if (copy == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory for a trace");
    }
    *data = copy;
    *len = n;
    return BW_OK;
}

bw_status bw_store_blob(bw_store *store, const char *hex, bw_arena *arena, const void **data,
                        size_t *len, bw_err *err) {
    bw_hash name;
    sqlite3_stmt *statement = NULL;
    bw_status status = bw_store_usable(store, false, err);
    if (status == BW_OK && !bw_unhex(hex, name.byte, BW_HASH_BYTES)) {
        status = bw_fail(err, BW_E_DATA, "a trace is named by 64 hex digits");
    }
    if (status == BW_OK) {
        status = bw_store_statement(store, BW_Q_TRACE, &statement, err);
    }
    if (status != BW_OK) {
        return status;
    }
    (void)sqlite3_bind_blob(statement, 1, name.byte, BW_HASH_BYTES, SQLITE_TRANSIENT);
    int rc = sqlite3_step(statement);
    if (rc == SQLITE_ROW) {
        status = copy_trace(statement, &name, arena, data, len, err);
    } else if (rc == SQLITE_DONE) {
        status = bw_fail(err, BW_E_ABSENT, "the record has no trace of that name");
    } else {
        status = bw_database_fail(store->db, rc, "read", err);
    }
    (void)sqlite3_reset(statement);
    return status;
}
