/* bundle_again.h - a bundle's entries and traces kept until its end, to be judged again there.
 *
 * Room-private.  Traces stand behind the entries that name them. */
#ifndef BW_RECORD_BUNDLE_AGAIN_H
#define BW_RECORD_BUNDLE_AGAIN_H

#include "record/audit_int.h"

typedef struct bw_again bw_again;

/* NULL where memory is out.  Freed by bw_again_free (NULL: no-op). */
bw_again *bw_again_new(void);
void bw_again_free(bw_again *again);

/* In the order of the build.  False where memory is out, as below. */
bool bw_again_entry(bw_again *again, uint64_t number, const char *json, size_t len);
bool bw_again_trace(bw_again *again, const bw_hash *name, const void *data, size_t len);

/* Hands each entry to setup->rejudge. */
BW_MUST_USE bw_status bw_again_judge(bw_again *again, const bw_audit_setup *setup,
                                     bw_findings *findings, uint64_t *rejudged, bw_err *err);

#endif
