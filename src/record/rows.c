/* rows.c - see rows.h.
 *
 * A scan ends at the first damaged page.  It is then begun anew behind the number that it could
 * not give, one by one, until the page is passed. */
#include "record/rows.h"

#include "record/database.h"

#include <inttypes.h>

/* More than one page of the file can hold, an inner one included. */
enum { DAMAGED_MAX = 1 << 22 };

static bw_status start(bw_rows *rows, bw_err *err) {
    (void)sqlite3_reset(rows->statement);
    int rc = sqlite3_bind_int64(rows->statement, 1, rows->from);
    return rc == SQLITE_OK ? BW_OK : bw_database_fail(rows->db, rc, "read", err);
}

bw_status bw_rows_open(sqlite3 *db, int64_t first, int64_t last, bw_rows *rows, bw_err *err) {
    *rows = (bw_rows){.db = db, .from = first, .last = last};
    int rc = sqlite3_prepare_v2(db,
                                "SELECT number, data FROM entry WHERE number >= ?1 ORDER BY number",
                                -1, &rows->statement, NULL);
    return rc == SQLITE_OK ? start(rows, err) : bw_database_fail(db, rc, "read", err);
}

static bool damage(int rc) {
    int primary = rc & 0xFF;
    return primary == SQLITE_CORRUPT || primary == SQLITE_NOTADB || primary == SQLITE_TOOBIG ||
           (primary == SQLITE_IOERR && rc != SQLITE_IOERR_NOMEM);
}

static void take(bw_rows *rows, bw_row *row) {
    row->number = sqlite3_column_int64(rows->statement, 0);
    row->readable = true;
    row->blob = sqlite3_column_type(rows->statement, 1) == SQLITE_BLOB;
    row->data = sqlite3_column_blob(rows->statement, 1);
    row->len = (size_t)sqlite3_column_bytes(rows->statement, 1);
    if (row->data == NULL) {
        row->data = "";
        row->len = 0;
    }
    rows->from = row->number < INT64_MAX ? row->number + 1 : row->number;
    rows->damaged_n = 0;
}

bw_status bw_rows_next(bw_rows *rows, bw_row *row, bool *got, bw_err *err) {
    *row = (bw_row){0};
    int rc = sqlite3_step(rows->statement);
    if (rc == SQLITE_ROW) {
        take(rows, row);
        *got = row->number <= rows->last;
        return BW_OK;
    }
    if (rc == SQLITE_DONE) {
        *got = false;
        return BW_OK;
    }
    if (!damage(rc)) {
        return bw_database_fail(rows->db, rc, "read", err);
    }
    if (++rows->damaged_n > DAMAGED_MAX) {
        return bw_fail(err, BW_E_DATA, "from entry %" PRId64 " on the record is damaged too far",
                       rows->from - DAMAGED_MAX);
    }
    row->number = rows->from > 1 ? rows->from : 1;
    rows->from = row->number + 1;
    *got = row->number <= rows->last;
    return *got ? start(rows, err) : BW_OK;
}

void bw_rows_close(bw_rows *rows) {
    (void)sqlite3_finalize(rows->statement);
    rows->statement = NULL;
}
