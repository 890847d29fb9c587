/* audit_traces.c - every trace hashed once, and those that are what their names say remembered. */
#include "record/audit_int.h"

#include "base/text.h"
#include "record/database.h"
#include "record/store_int.h"

#include <stdlib.h>
#include <string.h>

enum { HEX = BW_HASH_HEX - 1 };

static bool grow(bw_traces *traces) {
    size_t room = traces->room == 0 ? 256 : traces->room * 2;
    bw_trace_name *moved = realloc(traces->name, room * sizeof *moved);
    if (moved != NULL) {
        traces->name = moved;
        traces->room = room;
    }
    return moved != NULL;
}

bool bw_traces_add(bw_traces *traces, const bw_hash *hash) {
    static const char digits[] = "0123456789abcdef";
    if (traces->n == traces->room && !grow(traces)) {
        return false;
    }
    char *hex = traces->name[traces->n++].hex;
    for (size_t i = 0; i < BW_HASH_BYTES; i++) {
        hex[2 * i] = digits[hash->byte[i] >> 4];
        hex[2 * i + 1] = digits[hash->byte[i] & 15];
    }
    return true;
}

/* A hash is as good a place as any other hash of it. */
static size_t place(const bw_traces *traces, const char *hex) {
    uint64_t start = 0;
    memcpy(&start, hex, sizeof start);
    /* Of the bytes of digits it is the low bits that differ; spread by the golden ratio. */
    size_t at = (size_t)((start * 0x9E3779B97F4A7C15u) >> 32) & (traces->slot_n - 1);
    while (traces->slot[at] != 0 && memcmp(traces->name[traces->slot[at] - 1].hex, hex, HEX) != 0) {
        at = (at + 1) & (traces->slot_n - 1);
    }
    return at;
}

bool bw_traces_index(bw_traces *traces) {
    size_t n = 256;
    while (n < traces->n * 2) {
        n *= 2;
    }
    free(traces->slot);
    traces->slot = calloc(n, sizeof *traces->slot);
    traces->slot_n = traces->slot == NULL ? 0 : n;
    traces->different = 0;
    for (size_t i = 0; traces->slot != NULL && i < traces->n; i++) {
        size_t at = place(traces, traces->name[i].hex);
        traces->different += traces->slot[at] == 0 ? 1 : 0;
        traces->slot[at] = i + 1;
    }
    traces->indexed = traces->n;
    return traces->slot != NULL;
}

/* Entries name traces in the order in which both were written: the next one, or the same again. */
static bool is_next(bw_traces *traces, const char *hex) {
    for (size_t i = traces->last; i < traces->n && i < traces->last + 3; i++) {
        if (memcmp(traces->name[i].hex, hex, HEX) == 0) {
            traces->last = i;
            return true;
        }
    }
    return false;
}

bool bw_traces_have(bw_traces *traces, const char *hex) {
    if (strlen(hex) != HEX) {
        return false;
    }
    if (is_next(traces, hex)) {
        return true;
    }
    if ((traces->slot == NULL || traces->indexed != traces->n) && !bw_traces_index(traces)) {
        return false; /* the caller looks into the record then */
    }
    size_t found = traces->slot[place(traces, hex)];
    traces->last = found != 0 ? found - 1 : traces->last;
    return found != 0;
}

void bw_traces_free(bw_traces *traces) {
    free(traces->name);
    free(traces->slot);
    *traces = (bw_traces){0};
}

static bw_status check_row(bw_traces *traces, sqlite3_stmt *row, bw_hasher *hasher,
                           bw_findings *findings, bw_err *err) {
    const uint8_t *name = sqlite3_column_blob(row, 0);
    bool named = sqlite3_column_type(row, 0) == SQLITE_BLOB &&
                 sqlite3_column_bytes(row, 0) == BW_HASH_BYTES;
    const bw_piece piece = {sqlite3_column_blob(row, 1), (size_t)sqlite3_column_bytes(row, 1)};
    bw_hash hash;
    bw_status status = bw_hasher_sum(hasher, &piece, 1, &hash);
    if (status != BW_OK) {
        return bw_fail(err, status, "cannot compute a hash");
    }
    if (!named) {
        bw_findings_add(findings, 0, "a trace must be named by 32 bytes");
    } else if (memcmp(name, &hash, sizeof hash) != 0) {
        char expected[BW_HASH_HEX];
        char is[BW_HASH_HEX];
        bw_hex(name, BW_HASH_BYTES, expected);
        bw_hex(hash.byte, BW_HASH_BYTES, is);
        bw_findings_add(findings, 0, "the trace %s has other bytes: their hash is %s", expected,
                        is);
    } else if (!bw_traces_add(traces, &hash)) {
        return bw_fail(err, BW_E_MEM, "no memory for the audit");
    }
    return BW_OK;
}

bw_status bw_traces_read(bw_traces *traces, bw_store *store, bw_hasher *hasher,
                         bw_findings *findings, bw_err *err) {
    sqlite3_stmt *row = NULL;
    bw_status status = BW_OK;
    int rc = sqlite3_prepare_v2(store->db, "SELECT hash, data FROM trace", -1, &row, NULL);
    while (status == BW_OK && (rc == SQLITE_OK || rc == SQLITE_ROW)) {
        rc = sqlite3_step(row);
        if (rc == SQLITE_ROW) {
            status = check_row(traces, row, hasher, findings, err);
        }
    }
    if (status == BW_OK && rc != SQLITE_DONE) {
        status = bw_database_fail(store->db, rc, "read", err);
        if (status == BW_E_DATA || status == BW_E_IO) {
            bw_findings_add(findings, 0, "not all traces can be read: the file is damaged");
            status = BW_OK;
        }
    }
    (void)sqlite3_finalize(row);
    return status;
}
