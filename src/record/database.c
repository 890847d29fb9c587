/* database.c - see database.h. */
#include "record/database.h"

#include "base/text.h"
#include "record/files.h"
#include "record/look.h"
#include "record/schema.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { BUSY_MS = 5000, CELL_BYTES_MAX = 64 << 20, PRAGMA_MAX = 80 };

static bw_status blame(int rc) {
    static const struct {
        int rc;
        bw_status status;
    } rows[] = {
        {SQLITE_FULL, BW_E_IO},     {SQLITE_IOERR, BW_E_IO},    {SQLITE_READONLY, BW_E_IO},
        {SQLITE_CANTOPEN, BW_E_IO}, {SQLITE_PERM, BW_E_IO},     {SQLITE_CORRUPT, BW_E_DATA},
        {SQLITE_NOTADB, BW_E_DATA}, {SQLITE_TOOBIG, BW_E_DATA}, {SQLITE_CONSTRAINT, BW_E_DATA},
        {SQLITE_BUSY, BW_E_BUSY},   {SQLITE_LOCKED, BW_E_BUSY}, {SQLITE_NOMEM, BW_E_MEM}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (rows[i].rc == (rc & 0xFF)) {
            return rows[i].status;
        }
    }
    return BW_E_BUG;
}

bw_status bw_database_fail(sqlite3 *db, int rc, const char *doing, bw_err *err) {
    const char *why = db != NULL ? sqlite3_errmsg(db) : sqlite3_errstr(rc);
    int reason = db != NULL ? sqlite3_system_errno(db) : 0;
    bool system = (rc & 0xFF) == SQLITE_IOERR || (rc & 0xFF) == SQLITE_CANTOPEN;
    if (system && reason != 0) {
        return bw_fail(err, blame(rc), "cannot %s the record: %s (%s)", doing, why,
                       strerror(reason));
    }
    return bw_fail(err, blame(rc), "cannot %s the record: %s", doing, why);
}

bw_status bw_database_run(sqlite3 *db, const char *sql, const char *doing, bw_err *err) {
    int rc = sqlite3_exec(db, sql, NULL, NULL, NULL);
    return rc == SQLITE_OK ? BW_OK : bw_database_fail(db, rc, doing, err);
}

static bw_status open_plain(const char *path, int flags, sqlite3 **out, bw_err *err) {
    sqlite3 *db = NULL;
    int rc = sqlite3_open_v2(path, &db, flags | SQLITE_OPEN_NOMUTEX, NULL);
    if (rc != SQLITE_OK) {
        bw_status status = bw_database_fail(db, rc, "open", err);
        (void)sqlite3_close(db);
        return status;
    }
    (void)sqlite3_extended_result_codes(db, 1);
    *out = db;
    return BW_OK;
}

static bw_status name_temp(const char *path, const char *suffix, char *out, bw_err *err) {
    bw_text temp = bw_text_on(out, BW_PATH_MAX);
    bw_text_add(&temp, "%s.new%s", path, suffix);
    return temp.cut ? bw_fail(err, BW_E_ARG, "the name of the home folder is too long") : BW_OK;
}

void bw_database_tidy(const char *path) {
    static const char *const suffixes[] = {"", "-journal", "-wal", "-shm"};
    for (size_t i = 0; i < sizeof suffixes / sizeof suffixes[0]; i++) {
        char temp[BW_PATH_MAX];
        if (name_temp(path, suffixes[i], temp, NULL) == BW_OK) {
            (void)unlink(temp);
        }
    }
}

bw_status bw_database_make(const char *path, bw_err *err) {
    char temp[BW_PATH_MAX];
    bw_status status = name_temp(path, "", temp, err);
    if (status != BW_OK) {
        return status;
    }
    bw_database_tidy(path);
    /* Made here, not by the library, for its mode; -wal and -shm then take it over. */
    int fd = open(temp, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
    if (fd < 0) {
        return bw_fail(err, BW_E_IO, "cannot make %s: %s", path, strerror(errno));
    }
    (void)close(fd);
    sqlite3 *db = NULL;
    status = open_plain(temp, SQLITE_OPEN_READWRITE, &db, err);
    if (status == BW_OK) {
        status = bw_schema_write(db, err);
        if (status == BW_OK) {
            status = bw_database_run(db, "PRAGMA journal_mode = WAL", "make", err);
        }
        int rc = sqlite3_close(db);
        if (status == BW_OK && rc != SQLITE_OK) {
            status = bw_database_fail(NULL, rc, "make", err);
        }
    }
    if (status == BW_OK) {
        status = bw_files_publish(temp, path, err);
    }
    bw_database_tidy(path);
    return status;
}

static bw_status configure(sqlite3 *db, bw_err *err) {
    static const struct {
        int option, value;
    } rows[] = {{SQLITE_DBCONFIG_DEFENSIVE, 1},       {SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0},
                {SQLITE_DBCONFIG_WRITABLE_SCHEMA, 0}, {SQLITE_DBCONFIG_ENABLE_VIEW, 0},
                {SQLITE_DBCONFIG_ENABLE_TRIGGER, 1},  {SQLITE_DBCONFIG_ENABLE_LOAD_EXTENSION, 0},
                {SQLITE_DBCONFIG_DQS_DML, 0},         {SQLITE_DBCONFIG_DQS_DDL, 0}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        int is = -1;
        int rc = sqlite3_db_config(db, rows[i].option, rows[i].value, &is);
        if (rc != SQLITE_OK || is != rows[i].value) {
            return bw_fail(err, BW_E_BUG, "SQLite %s refuses the setting %d", sqlite3_libversion(),
                           rows[i].option);
        }
    }
    (void)sqlite3_limit(db, SQLITE_LIMIT_LENGTH, CELL_BYTES_MAX);
    (void)sqlite3_limit(db, SQLITE_LIMIT_ATTACHED, 0);
    (void)sqlite3_busy_timeout(db, BUSY_MS);
    return BW_OK;
}

/* The first column of the first row, as text. */
static bw_status ask(sqlite3 *db, const char *sql, char *out, size_t size, bw_err *err) {
    sqlite3_stmt *statement = NULL;
    int rc = sqlite3_prepare_v2(db, sql, -1, &statement, NULL);
    rc = rc == SQLITE_OK ? sqlite3_step(statement) : rc;
    bw_status status = BW_OK;
    if (rc == SQLITE_ROW) {
        (void)bw_text_copy(out, size, (const char *)sqlite3_column_text(statement, 0));
    } else {
        status = bw_database_fail(db, rc, "open", err);
    }
    (void)sqlite3_finalize(statement);
    return status;
}

/* A pragma that cannot be obeyed fails in silence: each is read back. */
static bw_status set_pragmas(sqlite3 *db, bw_store_mode mode, bw_err *err) {
    static const struct {
        const char *set, *ask, *expected;
        bw_store_mode least;
    } rows[] = {
        {"PRAGMA cell_size_check = ON", "PRAGMA cell_size_check", "1", BW_STORE_READ},
        {"PRAGMA temp_store = MEMORY", "PRAGMA temp_store", "2", BW_STORE_READ},
        {"PRAGMA mmap_size = 0", "PRAGMA mmap_size", "0", BW_STORE_READ},
        {"PRAGMA journal_mode = WAL", "PRAGMA journal_mode", "wal", BW_STORE_WRITE},
        {"PRAGMA synchronous = FULL", "PRAGMA synchronous", "2", BW_STORE_WRITE},
        {"PRAGMA journal_size_limit = 16777216", "PRAGMA journal_size_limit", "16777216",
         BW_STORE_WRITE},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char is[PRAGMA_MAX] = "";
        bw_status status = BW_OK;
        if (mode >= rows[i].least) {
            status = bw_database_run(db, rows[i].set, "open", err);
            if (status == BW_OK) {
                status = ask(db, rows[i].ask, is, sizeof is, err);
            }
            if (status == BW_OK && strcmp(is, rows[i].expected) != 0) {
                status = bw_fail(err, BW_E_IO, "cannot open the record: after \"%s\" it is %s",
                                 rows[i].set, is);
            }
        }
        if (status != BW_OK) {
            return status;
        }
    }
    return BW_OK;
}

/* What a statement of this program may do. */
static int authorize(void *ctx, int action, const char *first, const char *second,
                     const char *database, const char *trigger) {
    (void)ctx;
    (void)second;
    (void)database;
    (void)trigger;
    switch (action) {
    case SQLITE_SELECT:
    case SQLITE_READ:
    case SQLITE_FUNCTION:
    case SQLITE_TRANSACTION:
        return SQLITE_OK;
    case SQLITE_INSERT:
        return bw_schema_is_table(first) ? SQLITE_OK : SQLITE_DENY;
    default:
        return SQLITE_DENY;
    }
}

static bw_status check_tables(sqlite3 *db, bw_store_mode mode, const char *path, bw_err *err) {
    char difference[BW_DIFFERENCE_MAX];
    bw_status status = mode == BW_STORE_WRITE ? bw_schema_compare(db, difference, err)
                                              : bw_schema_compare_tables(db, difference, err);
    if (status == BW_OK && difference[0] != '\0') {
        status = bw_fail(err, BW_E_DATA, "%s is not as this program made it: %s", path, difference);
    }
    return status;
}

static bw_status prepare(sqlite3 *db, bw_store_mode mode, const char *path, bw_err *err) {
    if (mode == BW_STORE_WRITE && sqlite3_db_readonly(db, "main") != 0) {
        return bw_fail(err, BW_E_IO, "%s cannot be written: you have no permission", path);
    }
    bw_status status = configure(db, err);
    if (status == BW_OK) {
        status = set_pragmas(db, mode, err);
    }
    if (status == BW_OK && sqlite3_set_authorizer(db, authorize, NULL) != SQLITE_OK) {
        status = bw_database_fail(db, SQLITE_MISUSE, "open", err);
    }
    if (status == BW_OK) {
        status = check_tables(db, mode, path, err);
    }
    return status;
}

/* A reader needs -wal and -shm beside the file, or must be able to make them. */
static bw_status explain_reader(sqlite3 *db, const char *path, bw_err *err) {
    int rc = sqlite3_errcode(db) & 0xFF;
    if (rc != SQLITE_READONLY && rc != SQLITE_CANTOPEN) {
        return err == NULL ? BW_E_IO : err->code;
    }
    return bw_fail(err, BW_E_IO,
                   "%s cannot be read in a folder that you may not write; copy it to one of yours",
                   path);
}

/* *out is set also where the look fails, if the file could be opened. */
static bw_status open_and_look(const char *path, int flags, sqlite3 **out, bw_err *err) {
    bw_status status = bw_look_at_name(path, err);
    if (status == BW_OK) {
        status = open_plain(path, flags, out, err);
    }
    return status == BW_OK ? bw_look_at_file(*out, path, err) : status;
}

bw_status bw_database_look(const char *path, bw_err *err) {
    sqlite3 *db = NULL;
    bw_status status = open_and_look(path, SQLITE_OPEN_READONLY, &db, err);
    bw_database_close(db, true);
    return status;
}

bw_status bw_database_open(const char *path, bw_store_mode mode, sqlite3 **out, bw_err *err) {
    sqlite3 *db = NULL;
    int flags = mode == BW_STORE_WRITE ? SQLITE_OPEN_READWRITE : SQLITE_OPEN_READONLY;
    bw_status status = open_and_look(path, flags, &db, err);
    if (status == BW_OK) {
        status = prepare(db, mode, path, err);
        if (status == BW_E_IO && mode == BW_STORE_READ) {
            status = explain_reader(db, path, err);
        }
    }
    if (status != BW_OK) {
        bw_database_close(db, true);
        return status;
    }
    /* -wal and -shm stay, emptied, when the last connection closes: a reader who may not write
     * the folder needs them. */
    int on = 1;
    (void)sqlite3_file_control(db, "main", SQLITE_FCNTL_PERSIST_WAL, &on);
    *out = db;
    return BW_OK;
}

void bw_database_close(sqlite3 *db, bool untouched) {
    if (db != NULL && untouched) {
        (void)sqlite3_db_config(db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, NULL);
    }
    (void)sqlite3_close(db);
}
