/* collect.h - the pull in hand: its samples, its judge, its end.
 *
 * Room: session.  No I/O, no clock.  One collector for one wrench; it keeps the samples of one
 * pull at a time, with the last one before it, so that the judge sees the torque rise. */
#ifndef BW_SESSION_COLLECT_H
#define BW_SESSION_COLLECT_H

#include "base/status.h"
#include "judge/judge.h"
#include "judge/pull.h"
#include "trade/trace.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct bw_collect {
    bw_pull_watch watch;
    bw_judge judge;
    bw_stage stage; /* of the pull that is on */
    bw_standing standing;
    bw_sample *sample; /* owned */
    size_t n, room;
    bw_sample before; /* the last one at rest */
    bool has_before;
    bool cut;        /* there were more samples than are kept */
    bool has_result; /* no trace: the wrench reported its peak */
    bw_verdict result;
    bw_terms terms; /* its wind-up: as the last pull showed it */
} bw_collect;

void bw_collect_init(bw_collect *collect);
void bw_collect_free(bw_collect *collect);

/* By what the next pull will be judged.  stage NULL: nothing is asked for; a pull is still
 * noticed. Without effect on a pull that is on. */
void bw_collect_arm(bw_collect *collect, const bw_stage *stage, const bw_standing *standing);

/* Takes a sample.  On BEGAN and ON *live is what to tell the hand. */
bw_pull_event bw_collect_sample(bw_collect *collect, const bw_sample *sample, bw_live *live);

/* True while a pull is on; *loaded where its newest sample is above the threshold. */
bool bw_collect_on(const bw_collect *collect, bool *loaded);

/* Ends a pull that the stream did not end. */
void bw_collect_stop(bw_collect *collect);

/* Takes a bare result instead of samples, judged by what is armed. */
void bw_collect_result(bw_collect *collect, double peak_Nm, bool has_turn, double turn_deg);

/* The verdict on the collected pull, after ENDED or bw_collect_stop. */
bw_verdict bw_collect_verdict(const bw_collect *collect, bool complete);

/* The samples as text (trade/trace.h), owned by the caller (free).  BW_E_MEM. */
BW_MUST_USE bw_status bw_collect_text(const bw_collect *collect, char **text, size_t *len,
                                      bw_err *err);

#endif
