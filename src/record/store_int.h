/* store_int.h - the store from inside: what store.c, append.c, load.c and the audit share.
 *
 * Room-private. */
#ifndef BW_RECORD_STORE_INT_H
#define BW_RECORD_STORE_INT_H

#include "record/files.h"
#include "record/hash.h"
#include "record/store.h"

#include <sqlite3.h>

/* Every statement that the program runs on an open record. */
#define BW_STATEMENTS(Q)                                                                           \
    Q(BEGIN_READ, "BEGIN")                                                                         \
    Q(BEGIN_WRITE, "BEGIN IMMEDIATE")                                                              \
    Q(COMMIT, "COMMIT")                                                                            \
    Q(ROLLBACK, "ROLLBACK")                                                                        \
    Q(SIZE, "SELECT coalesce(max(number), 0) FROM entry")                                          \
    Q(ENTRY, "SELECT data FROM entry WHERE number = ?1")                                           \
    Q(TRACE, "SELECT data FROM trace WHERE hash = ?1")                                             \
    Q(HAS_TRACE, "SELECT 1 FROM trace WHERE hash = ?1")                                            \
    Q(NEWEST_CHECKPOINT, "SELECT size, note FROM checkpoint ORDER BY size DESC LIMIT 1")           \
    Q(ADD_ENTRY, "INSERT INTO entry(number, data) VALUES (?1, ?2)")                                \
    Q(ADD_TRACE, "INSERT INTO trace(hash, data) VALUES (?1, ?2)")                                  \
    Q(ADD_CHECKPOINT, "INSERT INTO checkpoint(size, note) VALUES (?1, ?2)")

typedef enum bw_statement {
#define Q(name, sql) BW_Q_##name,
    BW_STATEMENTS(Q)
#undef Q
        BW_Q_COUNT
} bw_statement;

struct bw_store {
    sqlite3 *db;
    sqlite3_stmt *statement[BW_Q_COUNT]; /* prepared when first used */
    int lock;                            /* of the writer; -1: opened for reading */
    bool dead;
    bw_err why; /* it is dead */
    uint64_t size;
    uint64_t signed_size; /* of the newest checkpoint, 0: none */
    int64_t newest_ms;    /* time of the newest entry; INT64_MIN: none */
    char *home;
    char *state;                 /* NULL: nothing is remembered outside of home */
    char elsewhere[BW_PATH_MAX]; /* the file there; "": not known yet */
    bw_hasher *hasher;           /* writer only, as the next */
    bw_tree tree;
    bw_store_told *told; /* NULL: nobody watches */
    void *told_ctx;
};

/* An entry was read. */
void bw_store_tell(const bw_store *store, int64_t number);

/* BW_E_STATE for a dead store, or one opened for reading where writing is true. */
BW_MUST_USE bw_status bw_store_usable(const bw_store *store, bool writing, bw_err *err);

/* The statement, reset and with nothing bound.  It is the store's; reset it when done, so that it
 * holds no read lock. */
BW_MUST_USE bw_status bw_store_statement(bw_store *store, bw_statement which, sqlite3_stmt **out,
                                         bw_err *err);

/* Runs a statement that gives no rows. */
BW_MUST_USE bw_status bw_store_run(bw_store *store, bw_statement which, bw_err *err);

/* Whether a record may be made where there is none: not where one was signed before. */
BW_MUST_USE bw_status bw_store_check_new(const char *home, bw_err *err);

/* Builds the tree, from what is remembered of it (seen.h) or from all entries, checks numbers, and
 * holds the newest checkpoint, and the newest that was ever seen, against it.  BW_E_DATA where
 * something does not fit. */
BW_MUST_USE bw_status bw_store_load(bw_store *store, bw_err *err);

/* Finds out the file outside of home, where there is an entry to name it by. */
BW_MUST_USE bw_status bw_store_find_elsewhere(bw_store *store, bw_err *err);

/* Remembers the note and the tree that it is about.  BW_E_IO: not in the home folder. */
BW_MUST_USE bw_status bw_store_remember(bw_store *store, const char *note, const bw_tree *tree,
                                        bw_err *err);

/* Whether a trace of that hash is in the record. */
BW_MUST_USE bw_status bw_store_has_trace(bw_store *store, const bw_hash *hash, bool *has,
                                         bw_err *err);

#endif
