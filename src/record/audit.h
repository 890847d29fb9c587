/* audit.h - proves a record: numbers, texts, tree, checkpoints, signatures, order, blobs.
 *
 * Room: record.  Reads only; trusts nothing in the file. */
#ifndef BW_RECORD_AUDIT_H
#define BW_RECORD_AUDIT_H

#include "base/arena.h"
#include "base/status.h"
#include "record/entry.h"
#include "record/key.h"
#include "record/store.h"

typedef struct bw_finding {
    uint64_t entry;   /* number; 0: not about one entry */
    const char *text; /* what was expected, what stands there */
} bw_finding;

typedef struct bw_audit {
    uint64_t entries;
    bw_hash root;
    uint64_t checkpoints;
    bw_signature signatures; /* over all checkpoints: BAD where one is bad, NONE without any */
    uint64_t rejudged;
    size_t finding_n;
    const bw_finding *finding;
} bw_audit;

/* For --rejudge: called for each entry of the audited builds in order; returns NULL where it has
 * nothing to say, else a finding's text (in the arena).  *rejudged is counted up by it. */
typedef const char *bw_rejudge(void *ctx, bw_store *store, const bw_entry *entry, bw_arena *arena,
                               uint64_t *rejudged);

/* verifier  the public key to believe; NULL: no signature can be judged, BW_SIGNATURE_NONE.
 * build     findings about entries of other builds are still reported: the tree is one; NULL: all
 *           builds are given to rejudge.
 * rejudge   may be NULL.
 * Returns BW_OK also where there are findings. */
BW_MUST_USE bw_status bw_audit_run(bw_store *store, const bw_verifier *verifier, const char *build,
                                   bw_rejudge *rejudge, void *ctx, bw_arena *arena, bw_audit *out,
                                   bw_err *err);

#endif
