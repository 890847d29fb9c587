/* database.h - the record file as a database: its tables, how it is made and opened, its errors.
 *
 * Room-private.  A connection that was opened here can select from the record and insert into its
 * three tables; everything else is refused to it. */
#ifndef BW_RECORD_DATABASE_H
#define BW_RECORD_DATABASE_H

#include "base/status.h"
#include "record/store.h"

#include <sqlite3.h>
#include <stdbool.h>

/* Says in err what went wrong while `doing`; the status tells who is to blame. */
bw_status bw_database_fail(sqlite3 *db, int rc, const char *doing, bw_err *err);

/* Makes an empty record under the name path, whole or not at all.  The caller holds the lock. */
BW_MUST_USE bw_status bw_database_make(const char *path, bw_err *err);

/* Removes what an interrupted bw_database_make left.  The caller holds the lock. */
void bw_database_tidy(const char *path);

/* A look alone, which writes nothing: BW_OK where path is a record of this version. */
BW_MUST_USE bw_status bw_database_look(const char *path, bw_err *err);

/* Opens path after a look at its first page; a file that is not a record of this version is not
 * touched.  BW_E_ABSENT, BW_E_DATA, BW_E_IO.  The caller closes with
 * bw_database_close. */
BW_MUST_USE bw_status bw_database_open(const char *path, bw_store_mode mode, sqlite3 **out,
                                       bw_err *err);

/* untouched: nothing more is written, not even what waits in -wal.  NULL is a no-op. */
void bw_database_close(sqlite3 *db, bool untouched);

/* Runs sql that returns no rows of interest. */
BW_MUST_USE bw_status bw_database_run(sqlite3 *db, const char *sql, const char *doing, bw_err *err);

#endif
