/* audit.c - see audit.h: one pass over the traces, then one over the entries and checkpoints. */
#include "record/audit_int.h"

#include "base/text.h"
#include "record/ahead.h"
#include "record/database.h"
#include "record/reader.h"
#include "record/schema.h"
#include "record/store_int.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

static void add(bw_findings *findings, uint64_t entry, bool incomplete, const char *text) {
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
    findings->item[findings->n++] = (bw_finding){
        .entry = entry, .incomplete = incomplete, .text = kept};
}

static void add_v(bw_findings *findings, uint64_t entry, bool incomplete, const char *format,
                  va_list args) BW_PRINTF(4, 0);

static void add_v(bw_findings *findings, uint64_t entry, bool incomplete, const char *format,
                  va_list args) {
    char line[BW_ERR_TEXT_MAX];
    bw_text text = bw_text_on(line, sizeof line);
    bw_text_add_v(&text, format, args);
    if (findings->n < BW_FINDINGS_MAX) {
        add(findings, entry, incomplete, line);
    } else if (findings->n == BW_FINDINGS_MAX) {
        add(findings, 0, incomplete, "there are more findings than this list takes");
    }
}

void bw_findings_add(bw_findings *findings, uint64_t entry, const char *format, ...) {
    va_list args;
    va_start(args, format);
    add_v(findings, entry, false, format, args);
    va_end(args);
}

void bw_findings_lack(bw_findings *findings, uint64_t entry, const char *format, ...) {
    va_list args;
    va_start(args, format);
    add_v(findings, entry, true, format, args);
    va_end(args);
}

void bw_findings_judge(bw_findings *findings, const bw_audit_setup *setup, const bw_origin *origin,
                       const bw_entry *entry, uint64_t *rejudged) {
    const char *text = setup->rejudge(setup->ctx, origin, entry, findings->arena, rejudged);
    if (text == NULL) {
        return;
    }
    if (strncmp(text, BW_FINDING_INCOMPLETE, strlen(BW_FINDING_INCOMPLETE)) == 0) {
        bw_findings_lack(findings, entry->number, "%s", text);
    } else {
        bw_findings_add(findings, entry->number, "%s", text);
    }
}

static bw_status read_blob(void *ctx, const char *hex, bw_arena *arena, const void **data,
                           size_t *len, bw_err *err) {
    return bw_store_blob(ctx, hex, arena, data, len, err);
}

static bw_status each_entry(void *ctx, const char *build, bw_take_entry *take, void *take_ctx,
                            bw_err *err) {
    return bw_store_each(ctx, build, take, take_ctx, err);
}

typedef struct audit {
    bw_store *store;
    const bw_audit_setup *setup;
    bw_traces traces;
    bw_signers signers;
    uint64_t held; /* size of the largest checkpoint from outside that fits */
    bw_hasher *hasher;
    bw_reader *reader;
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

/* The trace that the entry names is there and has the right bytes. */
static bw_status check_trace(audit *a, const bw_entry *entry, bw_member member) {
    const char *hex = bw_entry_text(entry, member, NULL);
    if (hex == NULL || bw_traces_have(&a->traces, hex)) {
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
    if (status == BW_E_ABSENT) {
        bw_findings_lack(&a->findings, entry->number, "its `%s` %.64s: %s", bw_member_name(member),
                         hex, why.text);
    } else if (status != BW_OK) {
        bw_findings_add(&a->findings, entry->number, "its `%s` %.64s: %s", bw_member_name(member),
                        hex, why.text);
    }
    return BW_OK;
}

static bw_status check_entry(audit *a, const bw_entry *entry) {
    bw_status status = bw_builds_take(a->builds, entry, &a->findings);
    if (status != BW_OK) {
        return bw_fail(a->err, status, "no memory for the audit");
    }
    bw_signers_take(&a->signers, entry, &a->findings);
    status = check_trace(a, entry, BW_M_TRACE);
    if (status == BW_OK) {
        status = check_trace(a, entry, BW_M_RAW);
    }
    if (status == BW_OK) {
        const char *build = a->setup->build;
        const bw_origin origin = {a->store, read_blob, each_entry};
        if (a->setup->rejudge != NULL && (build == NULL || strcmp(entry->build, build) == 0)) {
            bw_findings_judge(&a->findings, a->setup, &origin, entry, &a->rejudged);
        }
    }
    return status;
}

static bw_status check_text(audit *a, const bw_row *row) {
    bw_err why = {0};
    bw_entry *entry = NULL;
    bw_status status = bw_reader_decode(a->reader, row->data, row->len, &entry, &why);
    if (status == BW_OK) {
        entry->number = (uint64_t)row->number;
        status = check_entry(a, entry);
    } else if (status == BW_E_DATA) {
        bw_findings_add(&a->findings, (uint64_t)row->number, "it is damaged: %s", why.text);
        status = BW_OK;
    } else {
        status = bw_fail(a->err, status, "%s", why.text);
    }
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
        bw_findings_lack(&a->findings, a->expected, "it is missing");
    } else if (number != a->expected) {
        bw_findings_lack(&a->findings, a->expected,
                         "the entries %" PRIu64 " to %" PRIu64 " are missing", a->expected,
                         number - 1);
    }
    a->expected = number + 1;
    return true;
}

/* The tree has the size of a checkpoint from outside. */
static bw_status meet_outside(audit *a) {
    bw_status status = BW_OK;
    for (size_t i = 0; status == BW_OK && i < a->setup->outside_n; i++) {
        const bw_outside *outside = &a->setup->outside[i];
        bw_hash root;
        if (outside->size != a->tree.size) {
            continue;
        }
        status = bw_hasher_root(a->hasher, &a->tree, &root);
        if (status != BW_OK) {
            return bw_fail(a->err, status, "cannot compute a hash");
        }
        if (memcmp(&root, &outside->root, sizeof root) == 0) {
            a->held = outside->size;
        } else {
            bw_findings_add(&a->findings, 0,
                            "the checkpoint %s covers %" PRIu64
                            " entries with another root: of the "
                            "entries 1 to %" PRIu64 " at least one is not what it was, or this is "
                            "another history",
                            outside->from, outside->size, outside->size);
        }
    }
    return status;
}

static void miss_outside(audit *a) {
    for (size_t i = 0; i < a->setup->outside_n; i++) {
        const bw_outside *outside = &a->setup->outside[i];
        if (outside->size > a->tree.size) {
            bw_findings_lack(&a->findings, 0,
                             "the checkpoint %s covers %" PRIu64 " entries, the record has %" PRIu64
                             ": it is an older copy, or its end was cut off",
                             outside->from, outside->size, a->tree.size);
        }
    }
}

static bw_status grow_tree(audit *a, const bw_hash *leaf) {
    bw_status status = bw_hasher_append(a->hasher, &a->tree, leaf);
    if (status != BW_OK) {
        return bw_fail(a->err, status, "cannot compute a hash");
    }
    status = bw_checkpoints_meet(&a->checkpoints, a->hasher, &a->tree, a->err);
    return status == BW_OK ? meet_outside(a) : status;
}

static bw_status check_row(audit *a, const bw_row *row, const bw_hash *leaf) {
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
    return status == BW_OK ? grow_tree(a, leaf) : status;
}

static bw_status check_rows(audit *a) {
    bw_ahead *ahead = NULL;
    bool got = true;
    bw_status status = bw_ahead_open(a->store->db, INT64_MIN, (int64_t)a->store->size, &ahead,
                                     a->err);
    while (status == BW_OK && got) {
        bw_row row;
        bw_hash leaf;
        status = bw_ahead_next(ahead, &row, &leaf, &got, a->err);
        if (status == BW_OK && got) {
            status = check_row(a, &row, &leaf);
        }
    }
    bw_ahead_close(ahead);
    return status;
}

static bw_status check_traces(audit *a) {
    return bw_traces_read(&a->traces, a->store, a->hasher, &a->findings, a->err);
}

static bw_status check_signatures(audit *a) {
    bw_status status = bw_checkpoints_end(&a->checkpoints, a->tree.size, a->err);
    miss_outside(a);
    bw_signers_settle(&a->signers);
    return status == BW_OK ? bw_checkpoints_judge(&a->checkpoints, &a->signers,
                                                  a->setup->verifier_n > 0, a->err)
                           : status;
}

typedef bw_status part(audit *);

static bw_status run(audit *a) {
    static part *const parts[] = {check_schema, check_traces, check_rows, check_signatures};
    bw_status status = bw_checkpoints_open(&a->checkpoints, a->err);
    for (size_t i = 0; status == BW_OK && i < sizeof parts / sizeof parts[0]; i++) {
        status = parts[i](a);
    }
    if (status == BW_OK && a->findings.failed) {
        status = bw_fail(a->err, BW_E_MEM, "no memory for the audit");
    }
    return status;
}

bw_audit_outcome bw_findings_outcome(const bw_findings *findings, uint64_t proved) {
    bool incomplete = false;
    for (size_t i = 0; i < findings->n; i++) {
        if (!findings->item[i].incomplete) {
            return BW_AUDIT_DAMAGED;
        }
        incomplete = true;
    }
    return incomplete ? BW_AUDIT_INCOMPLETE : proved == 0 ? BW_AUDIT_CANNOT_TELL : BW_AUDIT_INTACT;
}

const char *bw_audit_word(bw_audit_outcome outcome) {
    static const char *const words[] = {[BW_AUDIT_INTACT] = "intact",
                                        [BW_AUDIT_DAMAGED] = "damaged",
                                        [BW_AUDIT_INCOMPLETE] = "incomplete",
                                        [BW_AUDIT_CANNOT_TELL] = "cannot_tell"};
    return words[outcome];
}

static bw_status report(const audit *a, bw_audit *out) {
    bw_hash root;
    bw_status status = bw_hasher_root(a->hasher, &a->tree, &root);
    if (status != BW_OK) {
        return bw_fail(a->err, status, "cannot compute a hash");
    }
    uint64_t proved = a->checkpoints.proved > a->held ? a->checkpoints.proved : a->held;
    *out = (bw_audit){.entries = a->tree.size,
                      .root = root,
                      .checkpoints = a->checkpoints.n,
                      .signatures = bw_checkpoints_verdict(&a->checkpoints),
                      .proved = proved,
                      .rejudged = a->rejudged,
                      .outcome = bw_findings_outcome(&a->findings, proved),
                      .finding_n = a->findings.n,
                      .finding = a->findings.item};
    return BW_OK;
}

bw_status bw_audit_run(bw_store *store, const bw_audit_setup *setup, bw_arena *arena, bw_audit *out,
                       bw_err *err) {
    bw_status status = bw_store_usable(store, false, err);
    if (status != BW_OK) {
        return status;
    }
    audit *a = calloc(1, sizeof *a);
    if (a == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory for the audit");
    }
    *a = (audit){.store = store,
                 .setup = setup,
                 .hasher = bw_hasher_new(),
                 .reader = bw_reader_new(),
                 .builds = bw_builds_new(),
                 .checkpoints = {.store = store},
                 .findings = {.arena = arena},
                 .expected = 1,
                 .err = err};
    a->checkpoints.findings = &a->findings;
    bw_signers_begin(&a->signers, setup->verifier, setup->verifier_n);
    bw_tree_init(&a->tree);
    status = a->hasher == NULL || a->reader == NULL || a->builds == NULL
                 ? bw_fail(err, BW_E_MEM, "no memory for the audit")
                 : run(a);
    if (status == BW_OK) {
        status = report(a, out);
    }
    bw_checkpoints_close(&a->checkpoints);
    bw_traces_free(&a->traces);
    bw_builds_free(a->builds);
    bw_reader_free(a->reader);
    bw_hasher_free(a->hasher);
    free(a);
    return status;
}
