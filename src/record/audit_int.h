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

/* As above, about something that is missing. */
void bw_findings_lack(bw_findings *findings, uint64_t entry, const char *format, ...)
    BW_PRINTF(3, 4);

/* What setup->rejudge has to say about the entry. */
void bw_findings_judge(bw_findings *findings, const bw_audit_setup *setup, const bw_origin *origin,
                       const bw_entry *entry, uint64_t *rejudged);

/* proved: the first so many entries, by a signature or from outside. */
bw_audit_outcome bw_findings_outcome(const bw_findings *findings, uint64_t proved);

typedef struct bw_trace_name {
    char hex[BW_HASH_HEX - 1]; /* no NUL */
} bw_trace_name;

/* Traces whose bytes have the hash that is their name, in the order in which they were met. */
typedef struct bw_traces {
    bw_trace_name *name;
    size_t n, room;
    size_t last;  /* the one that was asked for last */
    size_t *slot; /* 0: free; else one more than an index of name */
    size_t slot_n, indexed;
    size_t different; /* of those that are indexed */
} bw_traces;

/* Reads all of them; what is wrong with one goes to findings. */
BW_MUST_USE bw_status bw_traces_read(bw_traces *traces, bw_store *store, bw_hasher *hasher,
                                     bw_findings *findings, bw_err *err);
/* False where memory is out. */
bool bw_traces_add(bw_traces *traces, const bw_hash *hash);
/* Makes finding them quick in any order; false where memory is out. */
bool bw_traces_index(bw_traces *traces);
/* hex may be anything.  False also where memory is out, and they were not indexed before. */
bool bw_traces_have(bw_traces *traces, const char *hex);
void bw_traces_free(bw_traces *traces);

/* The keys that may have signed, and from which entry to which. */
enum { BW_SIGNERS_MAX = 64 };

typedef struct bw_signer {
    bw_verifier key;
    uint64_t from, to; /* sizes of trees that it may sign */
    bool trusted;
} bw_signer;

typedef struct bw_key_change {
    uint64_t entry;
    size_t before, after; /* of signer; before may be BW_SIGNERS_MAX: not named */
} bw_key_change;

typedef struct bw_signers {
    bw_signer item[BW_SIGNERS_MAX];
    size_t n;
    bw_key_change change[BW_SIGNERS_MAX];
    size_t change_n;
} bw_signers;

void bw_signers_begin(bw_signers *signers, const bw_verifier *given, size_t n);

/* For each entry in order. */
void bw_signers_take(bw_signers *signers, const bw_entry *entry, bw_findings *findings);

/* Behind the last entry, before the first judgement. */
void bw_signers_settle(bw_signers *signers);

/* In the order of sizes. */
BW_MUST_USE bw_status bw_signers_judge(bw_signers *signers, const char *note, size_t len,
                                       bw_signature *signature, bw_findings *findings, bw_err *err);

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
    bw_findings *findings;
    sqlite3_stmt *statement;
    bool waiting; /* size and root are those of one not yet met */
    uint64_t size;
    bw_hash root;
    uint64_t fitting; /* size of the last one that fitted the tree */
    uint64_t n;
    uint64_t unsigned_n; /* of the n: without a signature by a trusted key */
    uint64_t bad_n;      /* of the n: with a bad one */
    uint64_t proved;     /* size of the last one that fitted and is signed */
} bw_checkpoints;

BW_MUST_USE bw_status bw_checkpoints_open(bw_checkpoints *checkpoints, bw_err *err);

/* Holds those of the tree's size against it. */
BW_MUST_USE bw_status bw_checkpoints_meet(bw_checkpoints *checkpoints, bw_hasher *hasher,
                                          const bw_tree *tree, bw_err *err);

/* Names those that cover more than the tree holds. */
BW_MUST_USE bw_status bw_checkpoints_end(bw_checkpoints *checkpoints, uint64_t entries,
                                         bw_err *err);

/* Judges the signatures of all, once the keys are known. */
BW_MUST_USE bw_status bw_checkpoints_judge(bw_checkpoints *checkpoints, bw_signers *signers,
                                           bool given, bw_err *err);

bw_signature bw_checkpoints_verdict(const bw_checkpoints *checkpoints);

/* Also for those that never opened, if they were zeroed. */
void bw_checkpoints_close(bw_checkpoints *checkpoints);

#endif
