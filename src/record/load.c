/* load.c - what a writer must know of the record before it adds to it. */
#include "record/store_int.h"

#include "record/database.h"
#include "record/files.h"
#include "record/rows.h"
#include "record/seen.h"

#include <inttypes.h>
#include <stdlib.h>
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

/* What is remembered beside the record, and outside of the home folder. */
enum { BESIDE = 0, ELSEWHERE, MEMORIES };

/* What the tree has to agree with on its way up. */
typedef struct load {
    bw_store *store;
    newest checkpoint;
    bw_seen seen[MEMORIES];
    bw_tree at_checkpoint;
    bw_err *err;
} load;

static bw_status older_copy(const load *l, uint64_t there) {
    bool outside = l->seen[ELSEWHERE].size > l->seen[BESIDE].size;
    return bw_fail(l->err, BW_E_DATA,
                   "the record is an older copy: %" PRIu64 " entries were signed on this bench, it "
                   "has %" PRIu64 "; put the newer %s back (docs/verify.md)%s%s",
                   l->seen[outside ? ELSEWHERE : BESIDE].size, there,
                   outside ? "home folder" : "file", outside ? "; this is remembered in " : "",
                   outside ? bw_store_elsewhere(l->store) : "");
}

static bw_status check_root(const load *l, uint64_t size, const bw_hash *signed_root,
                            const char *otherwise) {
    bw_hash root;
    bw_status status = bw_hasher_root(l->store->hasher, &l->store->tree, &root);
    if (status != BW_OK) {
        return bw_fail(l->err, status, "cannot compute a hash");
    }
    if (memcmp(&root, signed_root, sizeof root) != 0) {
        return bw_fail(l->err, BW_E_DATA, "the first %" PRIu64 " entries are not those that %s",
                       size, otherwise);
    }
    return BW_OK;
}

static bw_status check_roots(load *l) {
    bw_status status = BW_OK;
    if (l->store->size == l->checkpoint.size) {
        l->at_checkpoint = l->store->tree;
        status = check_root(l, l->checkpoint.size, &l->checkpoint.root,
                            "were signed; `boltwright audit` tells more");
    }
    for (size_t i = 0; status == BW_OK && i < MEMORIES; i++) {
        if (l->store->size == l->seen[i].size) {
            status = check_root(l, l->seen[i].size, &l->seen[i].root,
                                "this bench has signed: the record is a copy that went another "
                                "way; put the right file back (docs/verify.md)");
        }
    }
    return status;
}

static bw_status add_row(load *l, const bw_row *row) {
    bw_store *store = l->store;
    uint64_t expected = store->size + 1;
    if (!row->readable) {
        return bw_fail(l->err, BW_E_DATA, "entry %" PRIu64 " cannot be read: the file is damaged",
                       expected);
    }
    if (row->number < 1 || (uint64_t)row->number != expected) {
        return bw_fail(l->err, BW_E_DATA,
                       "entry %" PRIu64 " is missing: number %" PRId64 " stands in its place",
                       expected, row->number);
    }
    bw_hash leaf;
    bw_status status = bw_hasher_leaf(store->hasher, row->data, row->len, &leaf);
    if (status == BW_OK) {
        status = bw_hasher_append(store->hasher, &store->tree, &leaf);
    }
    if (status != BW_OK) {
        return bw_fail(l->err, status, "cannot compute a hash");
    }
    store->size = expected;
    return check_roots(l);
}

static bw_status build_tree(load *l, int64_t first) {
    bw_store *store = l->store;
    bw_rows rows;
    bool got = true;
    bw_status status = bw_rows_open(store->db, first, INT64_MAX, &rows, l->err);
    while (status == BW_OK && got) {
        bw_row row;
        status = bw_rows_next(&rows, &row, &got, l->err);
        if (status == BW_OK && got) {
            status = add_row(l, &row);
        }
    }
    bw_rows_close(&rows);
    if (status == BW_OK && store->size < l->checkpoint.size) {
        return bw_fail(l->err, BW_E_DATA,
                       "%" PRIu64 " entries were signed, %" PRIu64 " are there: the end is missing",
                       l->checkpoint.size, store->size);
    }
    return status;
}

/* So many take a fifth of a second to hash. */
enum { HASH_AGAIN_MAX = 200000 };

static bool is_checkpoint(const load *l, const bw_seen *seen) {
    return seen->size == l->checkpoint.size &&
           memcmp(&seen->root, &l->checkpoint.root, sizeof seen->root) == 0;
}

/* Of a long record the signed entries are not read again: their root is known, and so is the
 * tree's edge.  Whether they still are what was signed is the audit's question; if not, what is
 * signed next still covers what they were. */
static bool skip_signed(load *l, bw_err *err) {
    const bw_seen *beside = &l->seen[BESIDE];
    bw_store *store = l->store;
    bw_tree tree;
    sqlite3_stmt *statement = NULL;
    if (l->checkpoint.size <= HASH_AGAIN_MAX || !is_checkpoint(l, beside) ||
        (l->seen[ELSEWHERE].size > 0 && !is_checkpoint(l, &l->seen[ELSEWHERE])) ||
        !bw_edge_read(store->home, beside->size, &beside->root, &tree) ||
        bw_store_statement(store, BW_Q_ENTRY, &statement, err) != BW_OK) {
        return false;
    }
    (void)sqlite3_bind_int64(statement, 1, (sqlite3_int64)beside->size);
    bool there = sqlite3_step(statement) == SQLITE_ROW;
    (void)sqlite3_reset(statement);
    if (there) {
        store->tree = tree;
        store->size = tree.size;
    }
    return there;
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

bw_status bw_store_find_elsewhere(bw_store *store, bw_err *err) {
    bw_hash first;
    sqlite3_stmt *statement = NULL;
    if (store->state == NULL || store->elsewhere[0] != '\0') {
        return BW_OK;
    }
    bw_status status = bw_store_statement(store, BW_Q_ENTRY, &statement, err);
    if (status != BW_OK) {
        return status;
    }
    (void)sqlite3_bind_int64(statement, 1, 1);
    bool there = sqlite3_step(statement) == SQLITE_ROW; /* if not, there is nothing to name it by */
    if (there) {
        status = bw_leaf_hash(sqlite3_column_blob(statement, 0),
                              (size_t)sqlite3_column_bytes(statement, 0), &first);
    }
    (void)sqlite3_reset(statement);
    if (status == BW_OK && there) {
        status = bw_seen_elsewhere(store->state, store->home, &first, store->elsewhere, err);
    }
    return status;
}

bw_status bw_store_remember(bw_store *store, const char *note, const bw_tree *tree, bw_err *err) {
    if (bw_store_find_elsewhere(store, NULL) == BW_OK && store->elsewhere[0] != '\0') {
        bw_status outside = bw_seen_write_at(store->elsewhere, note, NULL);
        (void)outside; /* a help more, which not every home can have */
    }
    return bw_seen_write(store->home, note, tree, err);
}

/* A record that comes from elsewhere, or was signed just before a power cut, is seen from now on.
 */
static bw_status remember(load *l) {
    bool new_beside = l->checkpoint.size > l->seen[BESIDE].size;
    bool new_elsewhere = l->store->state != NULL && l->checkpoint.size > l->seen[ELSEWHERE].size;
    const char *note = NULL;
    if (!new_beside && !new_elsewhere) {
        return BW_OK;
    }
    bw_arena *arena = bw_arena_new(0);
    bw_status status = arena == NULL ? bw_fail(l->err, BW_E_MEM, "no memory for a checkpoint")
                                     : bw_store_newest_checkpoint(l->store, arena, &note, l->err);
    if (status == BW_OK && note != NULL && new_beside) {
        status = bw_store_remember(l->store, note, &l->at_checkpoint, l->err);
    } else if (status == BW_OK && note != NULL && l->store->elsewhere[0] != '\0') {
        bw_status outside = bw_seen_write_at(l->store->elsewhere, note, NULL);
        (void)outside;
    }
    bw_arena_free(arena);
    return status;
}

static bw_status read_memories(load *l) {
    char path[BW_PATH_MAX];
    bw_status status = bw_files_path(l->store->home, "seen", path, l->err);
    if (status == BW_OK) {
        status = bw_seen_read(path, &l->seen[BESIDE], l->err);
    }
    if (status == BW_OK) {
        status = bw_store_find_elsewhere(l->store, l->err);
    }
    return status == BW_OK && l->store->elsewhere[0] != '\0'
               ? bw_seen_read(l->store->elsewhere, &l->seen[ELSEWHERE], l->err)
               : status;
}

bw_status bw_store_check_new(const char *home, bw_err *err) {
    char path[BW_PATH_MAX];
    bw_seen seen;
    bw_status status = bw_files_path(home, "seen", path, err);
    if (status == BW_OK) {
        status = bw_seen_read(path, &seen, err);
    }
    if (status == BW_OK && seen.size > 0) {
        return bw_fail(err, BW_E_DATA,
                       "the record of this bench is gone: %" PRIu64 " entries were signed; put "
                       "%s/record.db back, or remove %s/seen to begin a new one",
                       seen.size, home, home);
    }
    return status;
}

bw_status bw_store_load(bw_store *store, bw_err *err) {
    load l = {.store = store, .err = err};
    bw_tree_init(&store->tree);
    bw_status status = read_newest(store, &l.checkpoint, err);
    if (status == BW_OK) {
        status = read_memories(&l);
    }
    for (size_t i = 0; status == BW_OK && i < MEMORIES; i++) {
        if (l.seen[i].size > l.checkpoint.size) {
            return older_copy(&l, l.checkpoint.size);
        }
    }
    if (status == BW_OK) {
        bool skipped = skip_signed(&l, err);
        status = build_tree(&l, skipped ? (int64_t)store->size + 1 : INT64_MIN);
    }
    store->signed_size = l.checkpoint.size;
    if (status == BW_OK) {
        status = find_newest_time(store, err);
    }
    return status == BW_OK ? remember(&l) : status;
}
