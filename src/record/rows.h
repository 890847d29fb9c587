/* rows.h - the entries of the file one after the other, also where the file is damaged.
 *
 * Room-private. */
#ifndef BW_RECORD_ROWS_H
#define BW_RECORD_ROWS_H

#include "base/status.h"

#include <sqlite3.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct bw_rows {
    sqlite3 *db;
    sqlite3_stmt *statement;
    int64_t from;      /* the next number at the least */
    int64_t last;      /* the highest that is asked for */
    int64_t damaged_n; /* unreadable ones in a run */
} bw_rows;

typedef struct bw_row {
    int64_t number;
    bool readable; /* false: a page that holds it is damaged; the rest is unset */
    bool blob;     /* stored as a blob, as it should be */
    const char *data;
    size_t len; /* data is valid until the next call */
} bw_row;

/* From first to last; INT64_MIN: from the lowest number in the file, which may be below 1. */
BW_MUST_USE bw_status bw_rows_open(sqlite3 *db, int64_t first, int64_t last, bw_rows *rows,
                                   bw_err *err);

/* *got: false behind the last one. */
BW_MUST_USE bw_status bw_rows_next(bw_rows *rows, bw_row *row, bool *got, bw_err *err);

/* Also for rows that never opened, if they were zeroed. */
void bw_rows_close(bw_rows *rows);

#endif
