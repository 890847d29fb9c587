/* ahead.h - the entries of the file one after the other, as rows.h gives them, with their leaves.
 *
 * Room-private.  Rows are read some hundred at a time, and while the caller works on those of one
 * batch a second thread hashes those of the next.  That thread sees bytes in memory alone: the
 * database stays with the caller, who may use it in between. */
#ifndef BW_RECORD_AHEAD_H
#define BW_RECORD_AHEAD_H

#include "record/hash.h"
#include "record/rows.h"

typedef struct bw_ahead bw_ahead;

/* As bw_rows_open; also BW_E_MEM.  Closed by bw_ahead_close (NULL: no-op). */
BW_MUST_USE bw_status bw_ahead_open(sqlite3 *db, int64_t first, int64_t last, bw_ahead **out,
                                    bw_err *err);

/* As bw_rows_next.  *leaf is set where the row is readable. */
BW_MUST_USE bw_status bw_ahead_next(bw_ahead *ahead, bw_row *row, bw_hash *leaf, bool *got,
                                    bw_err *err);

void bw_ahead_close(bw_ahead *ahead);

#endif
