/* schema.h - the tables of the record file, word for word; docs/record-format.md shows them.
 *
 * Room-private.  S(name, text), the tables first.  The triggers keep any program, also a stranger's
 * shell, from changing a record by mistake; whoever removes them on purpose is found by the audit.
 */
#ifndef BW_RECORD_SCHEMA_H
#define BW_RECORD_SCHEMA_H

#include "base/status.h"

#include <sqlite3.h>
#include <stdbool.h>

enum { BW_DIFFERENCE_MAX = 160 };

enum {
    BW_RECORD_APPLICATION_ID = 0x42577263, /* "BWrc" */
    BW_RECORD_VERSION = 1
};

#define BW_RECORD_SCHEMA(S)                                                                        \
    S("entry", "CREATE TABLE entry(number INTEGER PRIMARY KEY, data BLOB)")                        \
    S("checkpoint", "CREATE TABLE checkpoint(size INTEGER PRIMARY KEY, note TEXT)")                \
    S("trace", "CREATE TABLE trace(hash BLOB PRIMARY KEY, data BLOB)")                             \
    S("entry_next", "CREATE TRIGGER entry_next BEFORE INSERT ON entry WHEN NEW.number IS NOT "     \
                    "(SELECT coalesce(max(number), 0) + 1 FROM entry) BEGIN SELECT RAISE(ABORT, "  \
                    "'entries are numbered 1, 2, 3 without a gap'); END")                          \
    S("entry_same", "CREATE TRIGGER entry_same BEFORE UPDATE ON entry BEGIN SELECT RAISE(ABORT, "  \
                    "'an entry is never changed'); END")                                           \
    S("entry_kept", "CREATE TRIGGER entry_kept BEFORE DELETE ON entry BEGIN SELECT RAISE(ABORT, "  \
                    "'an entry is never removed'); END")                                           \
    S("checkpoint_next", "CREATE TRIGGER checkpoint_next BEFORE INSERT ON checkpoint WHEN EXISTS " \
                         "(SELECT 1 FROM checkpoint WHERE size >= NEW.size) BEGIN SELECT "         \
                         "RAISE(ABORT, 'a checkpoint covers more than the one before'); END")      \
    S("checkpoint_same", "CREATE TRIGGER checkpoint_same BEFORE UPDATE ON checkpoint BEGIN "       \
                         "SELECT RAISE(ABORT, 'a checkpoint is never changed'); END")              \
    S("checkpoint_kept", "CREATE TRIGGER checkpoint_kept BEFORE DELETE ON checkpoint BEGIN "       \
                         "SELECT RAISE(ABORT, 'a checkpoint is never removed'); END")              \
    S("trace_once", "CREATE TRIGGER trace_once BEFORE INSERT ON trace WHEN EXISTS (SELECT 1 FROM " \
                    "trace WHERE hash = NEW.hash) BEGIN SELECT RAISE(ABORT, 'a trace is there "    \
                    "once'); END")                                                                 \
    S("trace_same", "CREATE TRIGGER trace_same BEFORE UPDATE ON trace BEGIN SELECT RAISE(ABORT, "  \
                    "'a trace is never changed'); END")                                            \
    S("trace_kept", "CREATE TRIGGER trace_kept BEFORE DELETE ON trace BEGIN SELECT RAISE(ABORT, "  \
                    "'a trace is never removed'); END")

/* Makes them in an empty database, with the two ids, in one transaction. */
BW_MUST_USE bw_status bw_schema_write(sqlite3 *db, bw_err *err);

bool bw_schema_is_table(const char *name);

/* difference (BW_DIFFERENCE_MAX bytes): what is not as bw_schema_write makes it; empty where all
 * is.  The second looks at the three tables alone: all that a reader uses. */
BW_MUST_USE bw_status bw_schema_compare(sqlite3 *db, char *difference, bw_err *err);
BW_MUST_USE bw_status bw_schema_compare_tables(sqlite3 *db, char *difference, bw_err *err);

#endif
