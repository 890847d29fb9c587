/* look.h - is this file a record of this version?  Asked before anything is done with it.
 *
 * Room-private.  Takes no lock, makes no file. */
#ifndef BW_RECORD_LOOK_H
#define BW_RECORD_LOOK_H

#include "base/status.h"

#include <sqlite3.h>

/* A plain file, and not a link to one: -wal and -shm would lie beside the other end.
 * BW_E_ABSENT where there is nothing. */
BW_MUST_USE bw_status bw_look_at_name(const char *path, bw_err *err);

/* The first page's header: SQLite, ours, this version, and not cut off.  db was just opened on
 * path and has not yet run a statement. */
BW_MUST_USE bw_status bw_look_at_file(sqlite3 *db, const char *path, bw_err *err);

#endif
