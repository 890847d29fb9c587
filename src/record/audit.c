/* audit.c - see audit.h: one pass over the traces, then one over the entries and checkpoints. */
#include "record/audit_int.h"

#include "base/text.h"
#include "record/database.h"
#include "record/rows.h"
#include "record/schema.h"
#include "record/store_int.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

static void add(bw_findings *findings, uint64_t entry, const char *text) {
    if (findings->n == findings->room) {
        size_t room = findings->room == 0 ? 16 : findings->room * 2;
        bw_finding *moved = bw_arena_alloc(findings->arena, room, sizeof *moved);
        if (moved == NULL) {
            findings->failed = true;
            return;
        }
        if (findings->n > 0) {
            memcpy(moved, findings->item, findings->n * sizeof *moved);
        }
        findings->item = moved;
        findings->room = room;
    }
    char *kept = bw_arena_text(findings->arena, text);
    if (kept == NULL) {
        findings->failed = true;
        return;
    }
    findings->item[findings->n++] = (bw_finding){.entry = entry, .text = kept};
}

void bw_findings_add(bw_findings *findings, uint64_t entry, const char *format, ...) {
    char line[BW_ERR_TEXT_MAX];
    bw_text text = bw_text_on(line, sizeof line);
    va_list args;
    va_start(args, format);
    bw_text_add_v(&text, format, args);
    va_end(args);
    if (findings->n < BW_FINDINGS_MAX) {
        add(findings, entry, line);
    } else if (findings->n == BW_FINDINGS_MAX) {
        add(findings, 0, "there are more findings than this list takes");
    }
}

typedef struct audit {
    bw_store *store;
    const char *build;
    bw_rejudge *rejudge;
    void *ctx;
    bw_hasher *hasher;
    bw_builds *builds;
    bw_checkpoints checkpoints;
    bw_findings findings;
    bw_tree tree;
    uint64_t expected; /* number of the next entry */
    uint64_t rejudged;
    bw_err *err;
} audit;

static bw_status check_schema(audit *a) {
    char difference[BW_DIFFERENCE_MAX];
    bw_status status = bw_schema_compare(a->store->db, difference, a->err);
    if (status == BW_OK && difference[0] != '\0') {
        bw_findings_add(&a->findings, 0, "the file is not as this program made it: %s", difference);
    }
    return status;
}

/* A trace whose bytes do not have the hash that is its name. */
static bw_status check_trace_row(audit *a, sqlite3_stmt *row) {
    const uint8_t *name = sqlite3_column_blob(row, 0);
    bool named = sqlite3_column_type(row, 0) == SQLITE_BLOB &&
                 sqlite3_column_bytes(row, 0) == BW_HASH_BYTES;
    const bw_piece piece = {sqlite3_column_blob(row, 1), (size_t)sqlite3_column_bytes(row, 1)};
    bw_hash hash;
    bw_status status = bw_hasher_sum(a->hasher, &piece, 1, &hash);
    if (status != BW_OK) {
        return bw_fail(a->err, status, "cannot compute a hash");
    }
    if (!named) {
        bw_findings_add(&a->findings, 0, "a trace must be named by 32 bytes");
    } else if (memcmp(name, &hash, sizeof hash) != 0) {
        char expected[BW_HASH_HEX];
        char is[BW_HASH_HEX];
        bw_hex(name, BW_HASH_BYTES, expected);
        bw_hex(hash.byte, BW_HASH_BYTES, is);
        bw_findings_add(&a->findings, 0, "the trace %s has other bytes: their hash is %s", expected,
                        is);
    }
    return BW_OK;
}

static bw_status check_traces(audit *a) {
    sqlite3_stmt *row = NULL;
    bw_status status = BW_OK;
    int rc = sqlite3_prepare_v2(a->store->db, "SELECT hash, data FROM trace", -1, &row, NULL);
    while (status == BW_OK && (rc == SQLITE_OK || rc == SQLITE_ROW)) {
        rc = sqlite3_step(row);
        if (rc == SQLITE_ROW) {
            status = check_trace_row(a, row);
        }
    }
    if (status == BW_OK && rc != SQLITE_DONE) {
        status = bw_database_fail(a->store->db, rc, "read", a->err);
        if (status == BW_E_DATA || status == BW_E_IO) {
            bw_findings_add(&a->findings, 0, "not all traces can be read: the file is damaged");
            status = BW_OK;
        }
    }
    (void)sqlite3_finalize(row);
    return status;
}

/* The trace that the entry names is there and has the right bytes. */
static bw_status check_trace(audit *a, const bw_entry *entry, bw_member member) {
    const char *hex = bw_entry_text(entry, member, NULL);
    if (hex == NULL) {
        return BW_OK;
    }
    bw_arena *arena = bw_arena_new(0);
    if (arena == NULL) {
        return bw_fail(a->err, BW_E_MEM, "no memory for a trace");
    }
    const void *data = NULL;
    size_t len = 0;
    bw_err why = {0};
    bw_status status = bw_store_blob(a->store, hex, arena, &data, &len, &why);
    bw_arena_free(arena);
    if (status == BW_E_MEM || status == BW_E_BUG) {
        return bw_fail(a->err, status, "%s", why.text);
    }
    if (status != BW_OK) {
        bw_findings_add(&a->findings, entry->number, "its `%s` %.64s: %s", bw_member_name(member),
                        hex, why.text);
    }
    return BW_OK;
}

static void judge_again(audit *a, const bw_entry *entry) {
    if (a->rejudge == NULL || (a->build != NULL && strcmp(entry->build, a->build) != 0)) {
        return;
    }
    const char *text = a->rejudge(a->ctx, a->store, entry, a->findings.arena, &a->rejudged);
    if (text != NULL) {
        bw_findings_add(&a->findings, entry->number, "%s", text);
    }
}

static bw_status check_entry(audit *a, const bw_entry *entry) {
    bw_status status = bw_builds_take(a->builds, entry, &a->findings);
    if (status != BW_OK) {
        return bw_fail(a->err, status, "no memory for the audit");
    }
    status = check_trace(a, entry, BW_M_TRACE);
    if (status == BW_OK) {
        status = check_trace(a, entry, BW_M_RAW);
    }
    if (status == BW_OK) {
        judge_again(a, entry);
    }
    return status;
}

static bw_status check_text(audit *a, const bw_row *row) {
    bw_arena *arena = bw_arena_new(0);
    if (arena == NULL) {
        return bw_fail(a->err, BW_E_MEM, "no memory to read an entry");
    }
    bw_entry entry;
    bw_err why = {0};
    bw_status status = bw_entry_decode(row->data, row->len, arena, &entry, &why);
    if (status == BW_OK) {
        entry.number = (uint64_t)row->number;
        status = check_entry(a, &entry);
    } else if (status == BW_E_DATA) {
        bw_findings_add(&a->findings, (uint64_t)row->number, "it is damaged: %s", why.text);
        status = BW_OK;
    } else {
        status = bw_fail(a->err, status, "%s", why.text);
    }
    bw_arena_free(arena);
    return status;
}

/* Numbers run 1, 2, 3 …  A row below 1 belongs to nothing. */
static bool check_number(audit *a, const bw_row *row) {
    if (row->number < 1) {
        bw_findings_add(&a->findings, 0, "there is an entry with number %" PRId64 ", below 1",
                        row->number);
        return false;
    }
    uint64_t number = (uint64_t)row->number;
    if (number == a->expected + 1) {
        bw_findings_add(&a->findings, a->expected, "it is missing");
    } else if (number != a->expected) {
        bw_findings_add(&a->findings, a->expected,
                        "the entries %" PRIu64 " to %" PRIu64 " are missing", a->expected,
                        number - 1);
    }
    a->expected = number + 1;
    return true;
}

static bw_status grow_tree(audit *a, const bw_row *row) {
    bw_hash leaf;
    bw_status status = bw_hasher_leaf(a->hasher, row->data, row->len, &leaf);
    if (status == BW_OK) {
        status = bw_hasher_append(a->hasher, &a->tree, &leaf);
    }
    if (status != BW_OK) {
        return bw_fail(a->err, status, "cannot compute a hash");
    }
    return bw_checkpoints_meet(&a->checkpoints, a->hasher, &a->tree, a->err);
}

static bw_status check_row(audit *a, const bw_row *row) {
    if (!check_number(a, row)) {
        return BW_OK;
    }
    if (!row->readable) {
        bw_findings_add(&a->findings, (uint64_t)row->number,
                        "it cannot be read: the file is damaged");
        return BW_OK;
    }
    if (!row->blob) {
        bw_findings_add(&a->findings, (uint64_t)row->number, "it is not stored as a blob");
    }
    bw_status status = check_text(a, row);
    return status == BW_OK ? grow_tree(a, row) : status;
}

static bw_status check_rows(audit *a) {
    bw_rows rows;
    bool got = true;
    bw_status status = bw_rows_open(a->store->db, INT64_MIN, (int64_t)a->store->size, &rows,
                                    a->err);
    while (status == BW_OK && got) {
        bw_row row;
        status = bw_rows_next(&rows, &row, &got, a->err);
        if (status == BW_OK && got) {
            status = check_row(a, &row);
        }
    }
    bw_rows_close(&rows);
    return status;
}

typedef bw_status part(audit *);

static bw_status run(audit *a) {
    static part *const parts[] = {check_schema, check_traces, check_rows};
    bw_status status = bw_checkpoints_open(&a->checkpoints, a->err);
    for (size_t i = 0; status == BW_OK && i < sizeof parts / sizeof parts[0]; i++) {
        status = parts[i](a);
    }
    if (status == BW_OK) {
        status = bw_checkpoints_end(&a->checkpoints, a->tree.size, a->err);
    }
    if (status == BW_OK && a->findings.failed) {
        status = bw_fail(a->err, BW_E_MEM, "no memory for the audit");
    }
    return status;
}

static bw_status report(const audit *a, bw_audit *out) {
    bw_hash root;
    bw_status status = bw_hasher_root(a->hasher, &a->tree, &root);
    if (status != BW_OK) {
        return bw_fail(a->err, status, "cannot compute a hash");
    }
    *out = (bw_audit){.entries = a->tree.size,
                      .root = root,
                      .checkpoints = a->checkpoints.n,
                      .signatures = bw_checkpoints_verdict(&a->checkpoints),
                      .rejudged = a->rejudged,
                      .finding_n = a->findings.n,
                      .finding = a->findings.item};
    return BW_OK;
}

bw_status bw_audit_run(bw_store *store, const bw_verifier *verifier, const char *build,
                       bw_rejudge *rejudge, void *ctx, bw_arena *arena, bw_audit *out,
                       bw_err *err) {
    bw_status status = bw_store_usable(store, false, err);
    if (status != BW_OK) {
        return status;
    }
    audit a = {.store = store,
               .build = build,
               .rejudge = rejudge,
               .ctx = ctx,
               .hasher = bw_hasher_new(),
               .builds = bw_builds_new(),
               .checkpoints = {.store = store, .verifier = verifier},
               .findings = {.arena = arena},
               .expected = 1,
               .err = err};
    a.checkpoints.findings = &a.findings;
    bw_tree_init(&a.tree);
    status = a.hasher == NULL || a.builds == NULL
                 ? bw_fail(err, BW_E_MEM, "no memory for the audit")
                 : run(&a);
    if (status == BW_OK) {
        status = report(&a, out);
    }
    bw_checkpoints_close(&a.checkpoints);
    bw_builds_free(a.builds);
    bw_hasher_free(a.hasher);
    return status;
}
