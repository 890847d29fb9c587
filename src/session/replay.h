/* replay.h - a build as the record has it: its sequence, its entries, its folded session.
 *
 * Room: session.  Resume, sheet, export and tally all begin here. */
#ifndef BW_SESSION_REPLAY_H
#define BW_SESSION_REPLAY_H

#include "record/store.h"
#include "sequence/sequence.h"
#include "session/session.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct bw_replay {
    size_t entry_n;        /* 0: the record has no such build */
    const bw_entry *entry; /* of this build, in order */
    int64_t last_time_ms;  /* of the newest entry of any build; INT64_MIN: none */
    bool rehearsal;
    size_t source_n;
    const bw_source *source; /* the sequence that it goes on with, and its modules */
    const bw_plan *plan;     /* NULL where there is no entry, or no sequence in them */
    bw_session *session;     /* folded; NULL as above */
} bw_replay;

/* Everything lives in the arena.  BW_OK also where the build is not there (entry_n 0).
 * BW_E_DATA where its recorded sequence can't be loaded any more. */
BW_MUST_USE bw_status bw_replay_build(bw_store *store, const char *build, bw_arena *arena,
                                      bw_replay *out, bw_err *err);

#endif
