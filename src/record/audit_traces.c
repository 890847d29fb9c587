/* audit_traces.c - every trace hashed once, and those that are what their names say remembered. */
#include "record/audit_int.h"

#include "base/text.h"
#include "record/database.h"
#include "record/store_int.h"

#include <stdlib.h>
#include <string.h>

/* A hash is as good a place as any other hash of it. */
static size_t place(const bw_traces *traces, const bw_hash *hash) {
    uint64_t start = 0;
    memcpy(&start, hash->byte, sizeof start);
    size_t at = (size_t)start & (traces->room - 1);
    while (traces->taken[at] && memcmp(&traces->slot[at], hash, sizeof *hash) != 0) {
        at = (at + 1) & (traces->room - 1);
    }
    return at;
}

static bool widen(bw_traces *traces) {
    bw_traces wider = {.n = traces->n, .room = traces->room == 0 ? 256 : traces->room * 2};
    wider.slot = calloc(wider.room, sizeof *wider.slot);
    wider.taken = calloc(wider.room, sizeof *wider.taken);
    if (wider.slot == NULL || wider.taken == NULL) {
        free(wider.slot);
        free(wider.taken);
        return false;
    }
    for (size_t i = 0; i < traces->room; i++) {
        if (traces->taken[i]) {
            size_t at = place(&wider, &traces->slot[i]);
            wider.slot[at] = traces->slot[i];
            wider.taken[at] = true;
        }
    }
    bw_traces old = *traces;
    *traces = wider;
    free(old.slot);
    free(old.taken);
    return true;
}

bool bw_traces_add(bw_traces *traces, const bw_hash *hash) {
    if (traces->n * 2 >= traces->room && !widen(traces)) {
        return false;
    }
    size_t at = place(traces, hash);
    traces->n += traces->taken[at] ? 0 : 1;
    traces->slot[at] = *hash;
    traces->taken[at] = true;
    return true;
}

bool bw_traces_have(const bw_traces *traces, const bw_hash *hash) {
    return traces->room > 0 && traces->taken[place(traces, hash)];
}

/* Without a branch for each digit, which nobody can predict; whether they were digits at all is
 * seen by writing them again. */
bool bw_traces_have_hex(const bw_traces *traces, const char *hex) {
    static const char digits[] = "0123456789abcdef";
    bw_hash hash;
    char again[BW_HASH_HEX];
    if (strlen(hex) != BW_HASH_HEX - 1) {
        return false;
    }
    for (size_t i = 0; i < BW_HASH_BYTES; i++) {
        unsigned high = (unsigned char)hex[2 * i];
        unsigned low = (unsigned char)hex[2 * i + 1];
        high = ((high & 15) + (high >> 6) * 9) & 15;
        low = ((low & 15) + (low >> 6) * 9) & 15;
        hash.byte[i] = (uint8_t)(high << 4 | low);
        again[2 * i] = digits[high];
        again[2 * i + 1] = digits[low];
    }
    return memcmp(hex, again, BW_HASH_HEX - 1) == 0 && bw_traces_have(traces, &hash);
}

void bw_traces_free(bw_traces *traces) {
    free(traces->slot);
    free(traces->taken);
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
