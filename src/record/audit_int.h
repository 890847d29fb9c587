/* audit_int.h - what the parts of the audit share.  Room-private. */
#ifndef BW_RECORD_AUDIT_INT_H
#define BW_RECORD_AUDIT_INT_H

#include "record/audit.h"
#include "record/hash.h"

#include <sqlite3.h>

#include <stdbool.h>

/* A record that is wrong from end to end needs no list as long as itself. */
enum { BW_FINDINGS_MAX = 1000 };

typedef struct bw_findings {
    bw_arena *arena;
    bw_finding *item;
    size_t n;
    size_t room;
    bool failed; /* out of memory */
} bw_findings;

void bw_findings_add(bw_findings *findings, uint64_t entry, const char *format, ...)
    BW_PRINTF(3, 4);

/* What the entries say about one another: builds, times, references. */
typedef struct bw_builds bw_builds;

/* NULL where memory is out.  Freed by bw_builds_free (NULL: no-op). */
bw_builds *bw_builds_new(void);
void bw_builds_free(bw_builds *builds);

/* Takes the next entry of the file, in order.  BW_E_MEM. */
BW_MUST_USE bw_status bw_builds_take(bw_builds *builds, const bw_entry *entry,
                                     bw_findings *findings);

/* The checkpoints of the file, met one after the other as the tree grows. */
typedef struct bw_checkpoints {
    bw_store *store;
    const bw_verifier *verifier; /* may be NULL */
    bw_findings *findings;
    sqlite3_stmt *statement;
    bool waiting; /* size, root and signature are those of one not yet met */
    uint64_t size;
    bw_hash root;
    uint64_t fitting; /* size of the last one that fitted the tree */
    uint64_t n;
    uint64_t unsigned_n; /* of the n: without a signature by the verifier */
    uint64_t bad_n;      /* of the n: with a bad one */
} bw_checkpoints;

BW_MUST_USE bw_status bw_checkpoints_open(bw_checkpoints *checkpoints, bw_err *err);

/* Holds those of the tree's size against it. */
BW_MUST_USE bw_status bw_checkpoints_meet(bw_checkpoints *checkpoints, bw_hasher *hasher,
                                          const bw_tree *tree, bw_err *err);

/* Names those that cover more than the tree holds. */
BW_MUST_USE bw_status bw_checkpoints_end(bw_checkpoints *checkpoints, uint64_t entries,
                                         bw_err *err);

bw_signature bw_checkpoints_verdict(const bw_checkpoints *checkpoints);

/* Also for those that never opened, if they were zeroed. */
void bw_checkpoints_close(bw_checkpoints *checkpoints);

#endif
