/* load.c - what a writer must know of the record before it adds to it. */
#include "record/store_int.h"

#include "record/database.h"
#include "record/rows.h"

#include <inttypes.h>
#include <string.h>

typedef struct newest {
    uint64_t size; /* 0: there is no checkpoint */
    bw_hash root;
} newest;

static bw_status read_newest(bw_store *store, newest *out, bw_err *err) {
    sqlite3_stmt *statement = NULL;
    bw_status status = bw_store_statement(store, BW_Q_NEWEST_CHECKPOINT, &statement, err);
    if (status != BW_OK) {
        return status;
    }
    int rc = sqlite3_step(statement);
    if (rc == SQLITE_ROW) {
        const char *note = (const char *)sqlite3_column_text(statement, 1);
        size_t len = (size_t)sqlite3_column_bytes(statement, 1);
        bw_signature signature = BW_SIGNATURE_NONE;
        status = bw_checkpoint_read(note == NULL ? "" : note, len, NULL, &out->size, &out->root,
                                    &signature, err);
        if (status != BW_OK) {
            status = bw_fail_in(err, status, "the newest checkpoint");
        } else if (out->size != (uint64_t)sqlite3_column_int64(statement, 0)) {
            status = bw_fail(err, BW_E_DATA,
                             "the newest checkpoint speaks of %" PRIu64 " entries, "
                             "its row of %lld",
                             out->size, (long long)sqlite3_column_int64(statement, 0));
        }
    } else if (rc != SQLITE_DONE) {
        status = bw_database_fail(store->db, rc, "read", err);
    }
    (void)sqlite3_reset(statement);
    return status;
}

static bw_status check_root(bw_store *store, const newest *checkpoint, bw_err *err) {
    bw_hash root;
    bw_status status = bw_hasher_root(store->hasher, &store->tree, &root);
    if (status != BW_OK) {
        return bw_fail(err, status, "cannot compute a hash");
    }
    if (memcmp(&root, &checkpoint->root, sizeof root) != 0) {
        return bw_fail(err, BW_E_DATA,
                       "the first %" PRIu64 " entries are not those that were signed; "
                       "`boltwright audit` tells more",
                       checkpoint->size);
    }
    return BW_OK;
}

static bw_status add_row(bw_store *store, const bw_row *row, const newest *checkpoint,
                         bw_err *err) {
    uint64_t expected = store->size + 1;
    if (!row->readable) {
        return bw_fail(err, BW_E_DATA, "entry %" PRIu64 " cannot be read: the file is damaged",
                       expected);
    }
    if (row->number < 1 || (uint64_t)row->number != expected) {
        return bw_fail(err, BW_E_DATA,
                       "entry %" PRIu64 " is missing: number %" PRId64 " stands in its place",
                       expected, row->number);
    }
    bw_hash leaf;
    bw_status status = bw_hasher_leaf(store->hasher, row->data, row->len, &leaf);
    if (status == BW_OK) {
        status = bw_hasher_append(store->hasher, &store->tree, &leaf);
    }
    if (status != BW_OK) {
        return bw_fail(err, status, "cannot compute a hash");
    }
    store->size = expected;
    return expected == checkpoint->size ? check_root(store, checkpoint, err) : BW_OK;
}

static bw_status build_tree(bw_store *store, const newest *checkpoint, bw_err *err) {
    bw_rows rows;
    bool got = true;
    bw_status status = bw_rows_open(store->db, INT64_MAX, &rows, err);
    while (status == BW_OK && got) {
        bw_row row;
        status = bw_rows_next(&rows, &row, &got, err);
        if (status == BW_OK && got) {
            status = add_row(store, &row, checkpoint, err);
        }
    }
    bw_rows_close(&rows);
    if (status == BW_OK && store->size < checkpoint->size) {
        return bw_fail(err, BW_E_DATA,
                       "%" PRIu64 " entries were signed, %" PRIu64 " are there: the end is missing",
                       checkpoint->size, store->size);
    }
    return status;
}

static bw_status read_entry(bw_store *store, uint64_t number, bw_arena *arena, bw_entry *out,
                            bw_err *err) {
    sqlite3_stmt *statement = NULL;
    bw_status status = bw_store_statement(store, BW_Q_ENTRY, &statement, err);
    if (status != BW_OK) {
        return status;
    }
    (void)sqlite3_bind_int64(statement, 1, (sqlite3_int64)number);
    int rc = sqlite3_step(statement);
    const char *data = rc == SQLITE_ROW ? sqlite3_column_blob(statement, 0) : NULL;
    status = data == NULL ? bw_database_fail(store->db, rc, "read", err)
                          : bw_entry_decode(data, (size_t)sqlite3_column_bytes(statement, 0), arena,
                                            out, err);
    (void)sqlite3_reset(statement);
    return status;
}

static bw_status find_newest_time(bw_store *store, bw_err *err) {
    if (store->size == 0) {
        return BW_OK;
    }
    bw_arena *arena = bw_arena_new(0);
    if (arena == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory to read an entry");
    }
    bw_entry entry = {0};
    bw_status status = read_entry(store, store->size, arena, &entry, err);
    store->newest_ms = entry.time_ms;
    bw_arena_free(arena);
    return status == BW_OK ? BW_OK : bw_fail_in(err, status, "the newest entry");
}

bw_status bw_store_load(bw_store *store, bw_err *err) {
    newest checkpoint = {0};
    bw_tree_init(&store->tree);
    bw_status status = read_newest(store, &checkpoint, err);
    if (status == BW_OK) {
        status = build_tree(store, &checkpoint, err);
    }
    store->signed_size = checkpoint.size;
    return status == BW_OK ? find_newest_time(store, err) : status;
}
