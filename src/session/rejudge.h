/* rejudge.h - every verdict of a record computed again from what the record itself holds.
 *
 * Room: session.  For `audit --rejudge`: the sequence's text is loaded from the record, entries are
 * folded as at the bench, each pull's trace is judged anew, each derived value computed anew, and
 * what differs is named. */
#ifndef BW_SESSION_REJUDGE_H
#define BW_SESSION_REJUDGE_H

#include "record/audit.h"

typedef struct bw_rejudger bw_rejudger;

/* judges: every verdict and value is computed again; else it is only looked whether a build
 * that was closed as complete is so.  NULL: no memory. */
bw_rejudger *bw_rejudger_new(bool judges);
void bw_rejudger_free(bw_rejudger *rejudger);

/* A bw_rejudge (record/audit.h) whose ctx is a bw_rejudger. */
const char *bw_rejudge_entry(void *ctx, const bw_origin *origin, const bw_entry *entry,
                             bw_arena *arena, uint64_t *rejudged);

#endif
