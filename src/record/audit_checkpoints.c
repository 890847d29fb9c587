/* audit_checkpoints.c - each checkpoint against the tree of its size, and its signature. */
#include "record/store_int.h"

#include "record/audit_int.h"
#include "record/database.h"

#include <inttypes.h>
#include <string.h>

/* Reads the row that the statement stands on; false where it is no checkpoint. */
static bw_status read_row(bw_checkpoints *checkpoints, bool *fits, bw_err *err) {
    sqlite3_int64 row_size = sqlite3_column_int64(checkpoints->statement, 0);
    const char *note = (const char *)sqlite3_column_text(checkpoints->statement, 1);
    size_t len = (size_t)sqlite3_column_bytes(checkpoints->statement, 1);
    bw_signature signature = BW_SIGNATURE_NONE;
    bw_err why = {0};
    bw_status status = bw_checkpoint_read(note == NULL ? "" : note, len, NULL, &checkpoints->size,
                                          &checkpoints->root, &signature, &why);
    *fits = false;
    if (status == BW_E_DATA) {
        checkpoints->bad_n++;
        bw_findings_add(checkpoints->findings, 0, "the checkpoint over %lld entries: %s",
                        (long long)row_size, why.text);
        return BW_OK;
    }
    if (status != BW_OK) {
        return bw_fail(err, status, "%s", why.text);
    }
    *fits = row_size >= 0 && (uint64_t)row_size == checkpoints->size;
    if (!*fits) {
        bw_findings_add(checkpoints->findings, 0,
                        "a checkpoint over %" PRIu64 " entries stands under size %lld",
                        checkpoints->size, (long long)row_size);
    }
    return BW_OK;
}

static bw_status advance(bw_checkpoints *checkpoints, bw_err *err) {
    checkpoints->waiting = false;
    bw_status status = BW_OK;
    while (status == BW_OK && !checkpoints->waiting) {
        int rc = sqlite3_step(checkpoints->statement);
        if (rc == SQLITE_DONE) {
            return BW_OK;
        }
        if (rc != SQLITE_ROW) {
            status = bw_database_fail(checkpoints->store->db, rc, "read", err);
            if (status != BW_E_DATA && status != BW_E_IO) {
                return status;
            }
            bw_findings_add(checkpoints->findings, 0,
                            "the checkpoints after the first %" PRIu64 " cannot be read: the file "
                            "is damaged",
                            checkpoints->n);
            return BW_OK;
        }
        checkpoints->n++;
        status = read_row(checkpoints, &checkpoints->waiting, err);
    }
    return status;
}

bw_status bw_checkpoints_open(bw_checkpoints *checkpoints, bw_err *err) {
    int rc = sqlite3_prepare_v2(checkpoints->store->db,
                                "SELECT size, note FROM checkpoint ORDER BY size", -1,
                                &checkpoints->statement, NULL);
    if (rc != SQLITE_OK) {
        return bw_database_fail(checkpoints->store->db, rc, "read", err);
    }
    return advance(checkpoints, err);
}

static void check_root(bw_checkpoints *checkpoints, const bw_hash *root) {
    if (memcmp(root, &checkpoints->root, sizeof *root) == 0) {
        checkpoints->fitting = checkpoints->size;
        return;
    }
    uint64_t first = checkpoints->fitting + 1;
    bool one = first == checkpoints->size;
    bw_findings_add(checkpoints->findings, one ? first : 0,
                    "the checkpoint over %" PRIu64
                    " entries signs another root: of the entries %" PRIu64 " to %" PRIu64
                    " at least one is not what it was",
                    checkpoints->size, first, checkpoints->size);
}

bw_status bw_checkpoints_meet(bw_checkpoints *checkpoints, bw_hasher *hasher, const bw_tree *tree,
                              bw_err *err) {
    bw_status status = BW_OK;
    while (status == BW_OK && checkpoints->waiting && checkpoints->size <= tree->size) {
        bw_hash root;
        if (checkpoints->size == tree->size) {
            status = bw_hasher_root(hasher, tree, &root);
            if (status != BW_OK) {
                return bw_fail(err, status, "cannot compute a hash");
            }
            check_root(checkpoints, &root);
        }
        status = advance(checkpoints, err);
    }
    return status;
}

bw_status bw_checkpoints_end(bw_checkpoints *checkpoints, uint64_t entries, bw_err *err) {
    bw_status status = BW_OK;
    while (status == BW_OK && checkpoints->waiting) {
        bw_findings_lack(checkpoints->findings, 0,
                         "a checkpoint covers %" PRIu64 " entries, the record has %" PRIu64
                         ": entries are missing",
                         checkpoints->size, entries);
        status = advance(checkpoints, err);
    }
    return status;
}

/* Where no key was given there is nothing to hold a signature against. */
static void count_signature(bw_checkpoints *checkpoints, uint64_t size, bw_signature signature,
                            bool given) {
    if (signature == BW_SIGNATURE_BAD) {
        checkpoints->bad_n++;
        bw_findings_add(checkpoints->findings, 0,
                        "the checkpoint over %" PRIu64 " entries has a bad signature", size);
    } else if (signature == BW_SIGNATURE_NONE) {
        checkpoints->unsigned_n++;
        if (given) {
            bw_findings_add(checkpoints->findings, 0,
                            "the checkpoint over %" PRIu64 " entries is not signed by the key "
                            "that was given",
                            size);
        }
    } else if (size <= checkpoints->fitting) {
        checkpoints->proved = size;
    }
}

static bw_status judge_row(bw_checkpoints *checkpoints, sqlite3_stmt *row, bw_signers *signers,
                           bool given, bw_err *err) {
    const char *note = (const char *)sqlite3_column_text(row, 0);
    size_t len = (size_t)sqlite3_column_bytes(row, 0);
    bw_signature signature = BW_SIGNATURE_NONE;
    uint64_t size = 0;
    bw_hash root;
    note = note == NULL ? "" : note;
    bw_status status = bw_checkpoint_read(note, len, NULL, &size, &root, &signature, NULL);
    if (status == BW_E_DATA) {
        return BW_OK; /* it has been named */
    }
    if (status == BW_OK) {
        status = bw_signers_judge(signers, note, len, &signature, checkpoints->findings, err);
    }
    if (status == BW_OK) {
        count_signature(checkpoints, size, signature, given);
    }
    return status;
}

bw_status bw_checkpoints_judge(bw_checkpoints *checkpoints, bw_signers *signers, bool given,
                               bw_err *err) {
    sqlite3_stmt *row = NULL;
    bw_status status = BW_OK;
    int rc = sqlite3_prepare_v2(checkpoints->store->db, "SELECT note FROM checkpoint ORDER BY size",
                                -1, &row, NULL);
    while (status == BW_OK && (rc == SQLITE_OK || rc == SQLITE_ROW)) {
        rc = sqlite3_step(row);
        if (rc == SQLITE_ROW) {
            status = judge_row(checkpoints, row, signers, given, err);
        }
    }
    (void)sqlite3_finalize(row); /* one that cannot be read has been named */
    return status;
}

bw_signature bw_checkpoints_verdict(const bw_checkpoints *checkpoints) {
    if (checkpoints->bad_n > 0) {
        return BW_SIGNATURE_BAD;
    }
    bool all = checkpoints->n > 0 && checkpoints->unsigned_n == 0;
    return all ? BW_SIGNATURE_GOOD : BW_SIGNATURE_NONE;
}

void bw_checkpoints_close(bw_checkpoints *checkpoints) {
    (void)sqlite3_finalize(checkpoints->statement);
    checkpoints->statement = NULL;
}
