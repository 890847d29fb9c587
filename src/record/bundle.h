/* bundle.h - one build out of a record, in one file that can be verified alone.
 *
 * Room: record.  JSON Lines (docs/record-format.md, "A bundle"): a checkpoint, the build's entries
 * each with its proof of inclusion in it, the traces that they name, and earlier checkpoints with
 * their proofs of consistency.  It tells nothing about other builds but how many entries there are.
 */
#ifndef BW_RECORD_BUNDLE_H
#define BW_RECORD_BUNDLE_H

#include "record/audit.h"
#include "record/store.h"

#include <stdio.h>

enum { BW_BUNDLE_VERSION = 1 };

/* Writes the build up to the newest checkpoint to out; nothing where it cannot be whole.
 * outside: a checkpoint note that somebody holds, to be proved consistent too; may be NULL.
 * BW_E_ABSENT no such build; BW_E_STATE entries of it are not signed yet; BW_E_DATA the record is
 * damaged, or does not hold `outside`; BW_E_IO out. */
BW_MUST_USE bw_status bw_bundle_write(bw_store *store, const char *build, const char *outside,
                                      FILE *out, bw_err *err);

typedef struct bw_bundle_audit {
    bw_audit audit;    /* entries: in the bundle; root: of its checkpoint; checkpoints: in it */
    uint64_t size;     /* of the checkpoint */
    const char *build; /* in the arena */
    bool closed;       /* it is closed, and not opened again */
    uint64_t traces;
} bw_bundle_audit;

/* setup->build is not used; setup->rejudge is handed the build's entries at the end.  A checkpoint
 * of setup->outside must be that of the bundle, or one that the bundle has a proof for. BW_OK also
 * where there are findings; BW_E_DATA where it is no bundle at all. */
BW_MUST_USE bw_status bw_bundle_check(FILE *in, const bw_audit_setup *setup, bw_arena *arena,
                                      bw_bundle_audit *out, bw_err *err);

#endif
