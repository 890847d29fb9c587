/* append.c - writing: entries with their traces, and checkpoints, each in one flushed transaction.
 *
 * Everything that the caller can have done wrong is found before the transaction begins.  What
 * fails after that is the disk or the file, and ends the store (architecture rule 7): no second
 * try, since a flush that succeeds after one that failed proves nothing. */
#include "record/store.h"

#include "base/text.h"
#include "record/database.h"
#include "record/hash.h"
#include "record/store_int.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

static const size_t draft_limit_bytes = (size_t)256 << 20;

/* What is about to be written. */
typedef struct draft {
    bw_arena *arena;
    const bw_entry *entry;
    const char **json;
    size_t *len;
    size_t n;
    const bw_blob *blob;
    bw_hash *blob_hash;
    size_t blob_n;
    bw_tree tree;
    int64_t newest_ms;
} draft;

static bw_status no_memory(bw_err *err) {
    (void)bw_fail(err, BW_E_MEM, "no memory to write to the record");
    return BW_E_MEM;
}

static bool among_blobs(const draft *from, const bw_hash *hash) {
    for (size_t i = 0; i < from->blob_n; i++) {
        if (memcmp(&from->blob_hash[i], hash, sizeof *hash) == 0) {
            return true;
        }
    }
    return false;
}

/* A trace that an entry names comes with it or is there already. */
static bw_status check_trace(bw_store *store, const draft *from, const bw_entry *entry,
                             bw_member member, bw_err *err) {
    const char *hex = bw_entry_text(entry, member, NULL);
    bw_hash hash;
    if (hex == NULL) {
        return BW_OK;
    }
    if (!bw_unhex(hex, hash.byte, BW_HASH_BYTES) || strpbrk(hex, "ABCDEF") != NULL) {
        return bw_fail(err, BW_E_ARG, "`%s` must be 64 lower-case hex digits",
                       bw_member_name(member));
    }
    bool has = among_blobs(from, &hash);
    bw_status status = has ? BW_OK : bw_store_has_trace(store, &hash, &has, err);
    if (status == BW_OK && !has) {
        return bw_fail(err, BW_E_ARG, "`%s` names a trace that is not in the record",
                       bw_member_name(member));
    }
    return status;
}

static bw_status check_earlier(const bw_entry *entry, bw_member member, uint64_t number,
                               bw_err *err) {
    int64_t other = bw_entry_whole(entry, member, 1);
    if (entry->value[member].type != BW_VALUE_NONE && (other < 1 || (uint64_t)other >= number)) {
        return bw_fail(err, BW_E_ARG,
                       "`%s` of entry %" PRIu64 " must name an earlier entry, not %" PRId64,
                       bw_member_name(member), number, other);
    }
    return BW_OK;
}

/* What a record must never say, since it could not be taken back. */
static bw_status check_place(bw_store *store, draft *from, const bw_entry *entry, uint64_t number,
                             bw_err *err) {
    bw_status status = check_trace(store, from, entry, BW_M_TRACE, err);
    if (status == BW_OK) {
        status = check_trace(store, from, entry, BW_M_RAW, err);
    }
    if (status == BW_OK) {
        status = check_earlier(entry, BW_M_OF, number, err);
    }
    if (status == BW_OK) {
        status = check_earlier(entry, BW_M_CORRECTS, number, err);
    }
    if (status != BW_OK) {
        return status;
    }
    if (entry->time_ms < from->newest_ms && entry->kind != BW_KIND_CLOCK_STEP) {
        return bw_fail(err, BW_E_ARG,
                       "the clock went back by %" PRId64 " ms since the newest entry: "
                       "a `clock_step` entry must say so first",
                       from->newest_ms - entry->time_ms);
    }
    from->newest_ms = entry->time_ms;
    return BW_OK;
}

static bw_status draft_blobs(bw_store *store, draft *out, bw_err *err) {
    out->blob_hash = bw_arena_alloc(out->arena, out->blob_n, sizeof *out->blob_hash);
    if (out->blob_hash == NULL) {
        return no_memory(err);
    }
    for (size_t i = 0; i < out->blob_n; i++) {
        const bw_piece piece = {out->blob[i].data, out->blob[i].len};
        bw_status status = bw_hasher_sum(store->hasher, &piece, 1, &out->blob_hash[i]);
        if (status != BW_OK) {
            return bw_fail(err, status, "cannot compute a hash");
        }
    }
    return BW_OK;
}

static bw_status draft_entries(bw_store *store, draft *out, bw_err *err) {
    out->json = bw_arena_alloc(out->arena, out->n, sizeof *out->json);
    out->len = bw_arena_alloc(out->arena, out->n, sizeof *out->len);
    if (out->json == NULL || out->len == NULL) {
        return no_memory(err);
    }
    for (size_t i = 0; i < out->n; i++) {
        bw_status status = bw_entry_encode(&out->entry[i], out->arena, &out->json[i], &out->len[i],
                                           err);
        if (status == BW_OK) {
            status = check_place(store, out, &out->entry[i], store->size + i + 1, err);
        }
        bw_hash leaf;
        if (status == BW_OK) {
            status = bw_hasher_leaf(store->hasher, out->json[i], out->len[i], &leaf);
            if (status == BW_OK) {
                status = bw_hasher_append(store->hasher, &out->tree, &leaf);
            }
            if (status != BW_OK) {
                (void)bw_fail(err, status, "cannot compute a hash");
            }
        }
        if (status != BW_OK) {
            return status;
        }
    }
    return BW_OK;
}

static bw_status insert(bw_store *store, sqlite3_stmt *statement, bw_err *err) {
    int rc = sqlite3_step(statement);
    bw_status status = rc == SQLITE_DONE ? BW_OK : bw_database_fail(store->db, rc, "write", err);
    (void)sqlite3_reset(statement);
    (void)sqlite3_clear_bindings(statement);
    return status;
}

static bw_status insert_blob(bw_store *store, const bw_blob *blob, const bw_hash *hash,
                             bw_err *err) {
    bool has = false;
    bw_status status = bw_store_has_trace(store, hash, &has, err);
    if (status != BW_OK || has) {
        return status;
    }
    sqlite3_stmt *statement = NULL;
    status = bw_store_statement(store, BW_Q_ADD_TRACE, &statement, err);
    if (status != BW_OK) {
        return status;
    }
    const void *data = blob->len > 0 ? blob->data : "";
    (void)sqlite3_bind_blob(statement, 1, hash->byte, BW_HASH_BYTES, SQLITE_STATIC);
    (void)sqlite3_bind_blob64(statement, 2, data, blob->len, SQLITE_STATIC);
    return insert(store, statement, err);
}

static bw_status insert_entry(bw_store *store, uint64_t number, const char *json, size_t len,
                              bw_err *err) {
    sqlite3_stmt *statement = NULL;
    bw_status status = bw_store_statement(store, BW_Q_ADD_ENTRY, &statement, err);
    if (status != BW_OK) {
        return status;
    }
    (void)sqlite3_bind_int64(statement, 1, (sqlite3_int64)number);
    (void)sqlite3_bind_blob64(statement, 2, json, len, SQLITE_STATIC);
    return insert(store, statement, err);
}

/* SQLite would go on writing to a file that no longer has a name. */
static bw_status check_in_place(bw_store *store, bw_err *err) {
    int moved = 0;
    int rc = sqlite3_file_control(store->db, "main", SQLITE_FCNTL_HAS_MOVED, &moved);
    if (rc != SQLITE_OK || moved != 0) {
        return bw_fail(err, BW_E_IO, "the record file was moved, removed or replaced while in use");
    }
    return BW_OK;
}

static bw_status insert_all(bw_store *store, const draft *from, bw_err *err) {
    bw_status status = check_in_place(store, err);
    for (size_t i = 0; status == BW_OK && i < from->blob_n; i++) {
        status = insert_blob(store, &from->blob[i], &from->blob_hash[i], err);
    }
    for (size_t i = 0; status == BW_OK && i < from->n; i++) {
        status = insert_entry(store, store->size + i + 1, from->json[i], from->len[i], err);
    }
    return status;
}

/* Ends the transaction that `status` came out of: commits, or rolls back and gives the store up.
 * err is not NULL. */
static bw_status finish(bw_store *store, bw_status status, bw_err *err) {
    if (status == BW_OK) {
        status = bw_store_run(store, BW_Q_COMMIT, err);
    }
    if (status != BW_OK) {
        bw_status undone = bw_store_run(store, BW_Q_ROLLBACK, NULL);
        (void)undone; /* fails where the library has rolled back itself */
        store->dead = true;
        store->why = *err;
    }
    return status;
}

/* Nothing is written yet: another program that holds the file for a moment is no reason to die. */
static bw_status begin(bw_store *store, bw_err *err) {
    bw_status status = bw_store_run(store, BW_Q_BEGIN_WRITE, err);
    return status == BW_OK || status == BW_E_BUSY ? status : finish(store, status, err);
}

static bw_status write_draft(bw_store *store, const draft *from, bw_err *err) {
    bw_status status = begin(store, err);
    if (status != BW_OK) {
        return status;
    }
    return finish(store, insert_all(store, from, err), err);
}

bw_status bw_store_append(bw_store *store, bw_entry *entry, size_t n, const bw_blob *blob,
                          size_t blob_n, bw_err *err) {
    bw_err own = {0};
    err = err == NULL ? &own : err;
    bw_status status = bw_store_usable(store, true, err);
    if (status != BW_OK || n + blob_n == 0) {
        return status;
    }
    draft it = {.arena = bw_arena_new(draft_limit_bytes),
                .entry = entry,
                .n = n,
                .blob = blob,
                .blob_n = blob_n,
                .tree = store->tree,
                .newest_ms = store->newest_ms};
    if (it.arena == NULL) {
        return no_memory(err);
    }
    status = draft_blobs(store, &it, err);
    if (status == BW_OK) {
        status = draft_entries(store, &it, err);
    }
    if (status == BW_OK) {
        status = write_draft(store, &it, err);
    }
    bw_arena_free(it.arena);
    if (status != BW_OK) {
        return status;
    }
    for (size_t i = 0; i < n; i++) {
        entry[i].number = store->size + i + 1;
    }
    store->size += n;
    store->tree = it.tree;
    store->newest_ms = it.newest_ms;
    return BW_OK;
}

static bw_status write_checkpoint(bw_store *store, const char *note, bw_err *err) {
    bw_status status = begin(store, err);
    if (status != BW_OK) {
        return status;
    }
    sqlite3_stmt *statement = NULL;
    status = check_in_place(store, err);
    if (status == BW_OK) {
        status = bw_store_statement(store, BW_Q_ADD_CHECKPOINT, &statement, err);
    }
    if (status == BW_OK) {
        (void)sqlite3_bind_int64(statement, 1, (sqlite3_int64)store->size);
        (void)sqlite3_bind_text(statement, 2, note, -1, SQLITE_STATIC);
        status = insert(store, statement, err);
    }
    return finish(store, status, err);
}

bw_status bw_store_checkpoint(bw_store *store, const bw_key *key, bw_err *err) {
    bw_err own = {0};
    err = err == NULL ? &own : err;
    bw_status status = bw_store_usable(store, true, err);
    if (status != BW_OK || store->size == store->signed_size) {
        return status;
    }
    bw_hash root;
    char note[BW_NOTE_MAX];
    status = bw_hasher_root(store->hasher, &store->tree, &root);
    if (status != BW_OK) {
        return bw_fail(err, status, "cannot compute a hash");
    }
    status = bw_checkpoint_sign(key, store->size, &root, note, err);
    if (status == BW_OK) {
        status = write_checkpoint(store, note, err);
    }
    if (status != BW_OK) {
        return status;
    }
    store->signed_size = store->size;
    return bw_store_remember(store, note, &store->tree, err);
}
