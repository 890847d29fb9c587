/* audit.h - proves a record: numbers, texts, tree, checkpoints, signatures, order, origin.
 *
 * Room: record.  Reads only; trusts nothing in the file. */
#ifndef BW_RECORD_AUDIT_H
#define BW_RECORD_AUDIT_H

#include "base/arena.h"
#include "base/status.h"
#include "record/entry.h"
#include "record/key.h"
#include "record/store.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct bw_finding {
    uint64_t entry;   /* number; 0: not about one entry */
    bool incomplete;  /* something is missing; false: something is not what it was */
    const char *text; /* what was expected, what stands there */
} bw_finding;

typedef enum bw_audit_outcome {
    BW_AUDIT_INTACT = 0,
    BW_AUDIT_DAMAGED,    /* at least one thing is not what it was */
    BW_AUDIT_INCOMPLETE, /* nothing is damaged, but something is missing */
    BW_AUDIT_CANNOT_TELL /* nothing is wrong, but there is no signature or checkpoint to judge by */
} bw_audit_outcome;

typedef struct bw_audit {
    uint64_t entries;
    bw_hash root;
    uint64_t checkpoints;
    bw_signature signatures; /* over all checkpoints: BAD where one is bad, NONE without any */
    uint64_t proved;         /* the first so many entries: by a good signature, or from outside */
    uint64_t rejudged;
    bw_audit_outcome outcome;
    size_t finding_n;
    const bw_finding *finding;
} bw_audit;

/* intact, damaged, incomplete, cannot_tell. */
const char *bw_audit_word(bw_audit_outcome outcome);

/* A checkpoint that did not come with the record: from a build sheet, or remembered. */
typedef struct bw_outside {
    uint64_t size;
    bw_hash root;
    const char *from; /* in words, behind "the checkpoint": "that was given" */
} bw_outside;

/* Where entries and traces are: as bw_store_blob and bw_store_each, of a record or of a bundle. */
typedef struct bw_origin {
    void *ctx;
    bw_status (*read)(void *ctx, const char *hex, bw_arena *arena, const void **data, size_t *len,
                      bw_err *err);
    bw_status (*each)(void *ctx, const char *build, bw_take_entry *take, void *take_ctx,
                      bw_err *err);
} bw_origin;

/* For --rejudge: called for each entry of the audited builds in order; returns NULL where it has
 * nothing to say, else a finding's text (in the arena).  *rejudged is counted up by it.  A text
 * that begins with BW_FINDING_INCOMPLETE says that something is missing, not wrong. */
#define BW_FINDING_INCOMPLETE "not complete: "
typedef const char *bw_rejudge(void *ctx, const bw_origin *origin, const bw_entry *entry,
                               bw_arena *arena, uint64_t *rejudged);

typedef struct bw_audit_setup {
    const bw_verifier *verifier; /* the public keys to believe; none: no signature can be judged */
    size_t verifier_n;
    const bw_outside *outside; /* the record must be consistent with each */
    size_t outside_n;
    const char *build;   /* the one that is given to rejudge; NULL: all.  The rest is about all */
    bw_rejudge *rejudge; /* may be NULL */
    void *ctx;
} bw_audit_setup;

/* A key that an entry `key_changed` names is believed where a believed key has signed that entry,
 * or where it is the one before a believed key.
 * Returns BW_OK also where there are findings. */
BW_MUST_USE bw_status bw_audit_run(bw_store *store, const bw_audit_setup *setup, bw_arena *arena,
                                   bw_audit *out, bw_err *err);

#endif
