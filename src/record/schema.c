/* schema.c - see schema.h. */
#include "record/schema.h"

#include "base/text.h"
#include "record/database.h"

#include <stdio.h>
#include <string.h>

static const struct {
    const char *name, *sql;
} schema[] = {
#define S(name, sql) {name, sql},
    BW_RECORD_SCHEMA(S)
#undef S
};
enum { SCHEMA_COUNT = sizeof schema / sizeof schema[0], TABLE_COUNT = 3, PRAGMA_MAX = 80 };

bw_status bw_schema_write(sqlite3 *db, bw_err *err) {
    char pragmas[PRAGMA_MAX];
    (void)snprintf(pragmas, sizeof pragmas, "PRAGMA application_id = %d; PRAGMA user_version = %d",
                   BW_RECORD_APPLICATION_ID, BW_RECORD_VERSION);
    bw_status status = bw_database_run(db, "BEGIN IMMEDIATE", "make", err);
    if (status == BW_OK) {
        status = bw_database_run(db, pragmas, "make", err);
    }
    for (size_t i = 0; status == BW_OK && i < SCHEMA_COUNT; i++) {
        status = bw_database_run(db, schema[i].sql, "make", err);
    }
    return status == BW_OK ? bw_database_run(db, "COMMIT", "make", err) : status;
}

bool bw_schema_is_table(const char *name) {
    for (size_t i = 0; i < TABLE_COUNT; i++) {
        if (strcmp(name, schema[i].name) == 0) {
            return true;
        }
    }
    return false;
}

typedef struct comparison {
    bool seen[SCHEMA_COUNT];
    char *difference;
} comparison;

static void differ(comparison *with, const char *text, const char *name) {
    if (with->difference[0] == '\0') {
        bw_text out = bw_text_on(with->difference, BW_DIFFERENCE_MAX);
        bool shown = bw_text_printable(name, strlen(name), false);
        bw_text_add(&out, "%s `%.40s`", text, shown ? name : "?");
    }
}

static void compare_one(comparison *with, const char *name, const char *sql) {
    for (size_t i = 0; i < SCHEMA_COUNT; i++) {
        if (strcmp(name, schema[i].name) == 0) {
            with->seen[i] = true;
            if (strcmp(sql, schema[i].sql) != 0) {
                differ(with, "it has another", name);
            }
            return;
        }
    }
    differ(with, "it has an unknown", name);
}

/* Into with->difference: the first of the file's objects that is not as it should be. */
static bw_status compare(sqlite3 *db, const char *query, size_t n, comparison *with, bw_err *err) {
    sqlite3_stmt *statement = NULL;
    int rc = sqlite3_prepare_v2(db, query, -1, &statement, NULL);
    while (rc == SQLITE_OK || rc == SQLITE_ROW) {
        rc = sqlite3_step(statement);
        if (rc == SQLITE_ROW) {
            const char *name = (const char *)sqlite3_column_text(statement, 0);
            const char *sql = (const char *)sqlite3_column_text(statement, 1);
            compare_one(with, name == NULL ? "" : name, sql == NULL ? "" : sql);
        }
    }
    bw_status status = rc == SQLITE_DONE ? BW_OK : bw_database_fail(db, rc, "read", err);
    (void)sqlite3_finalize(statement);
    for (size_t i = 0; status == BW_OK && i < n; i++) {
        if (!with->seen[i]) {
            differ(with, "it lacks", schema[i].name);
        }
    }
    return status;
}

/* The one object without sql is the index that goes with the hash of a trace. */
bw_status bw_schema_compare(sqlite3 *db, char *difference, bw_err *err) {
    comparison with = {.difference = difference};
    difference[0] = '\0';
    return compare(db,
                   "SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL "
                   "OR name IS NOT 'sqlite_autoindex_trace_1'",
                   SCHEMA_COUNT, &with, err);
}

bw_status bw_schema_compare_tables(sqlite3 *db, char *difference, bw_err *err) {
    comparison with = {.difference = difference};
    difference[0] = '\0';
    return compare(db,
                   "SELECT name, sql FROM sqlite_schema "
                   "WHERE name IN ('entry', 'checkpoint', 'trace')",
                   TABLE_COUNT, &with, err);
}
