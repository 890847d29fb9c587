/* collect.h - the pull in hand: its samples, its judge, its end.
 *
 * Room: session.  No I/O, no clock.  One collector for one wrench; it keeps the samples of one
 * pull at a time, with those of the last seconds before it: the judge sees the torque rise, and
 * what came while the fastener was run down. */
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
    bw_sample *before; /* owned ring of the newest at rest; NULL: none yet */
    size_t before_n, before_next;
    bool cut;        /* there were more samples than are kept */
    bool has_result; /* no trace: the wrench reported its peak */
    bw_verdict result;
    bw_terms terms;         /* of the pull that is on; its wind-up: as the last pull showed it */
    double peak_Nm, peak_s; /* of this pull */
    double loaded_s;        /* when it was last above the threshold */
    double last_peak_Nm;    /* of the pull before it, if that was asked for */
    double last_peak_s;     /* -INFINITY: none */
    double accepted_peak_s; /* of the pull before it, if that was accepted; -INFINITY: not */
} bw_collect;

/* So much of what came before a pull is kept with it, at most. */
#define BW_COLLECT_BEFORE_S 5

void bw_collect_init(bw_collect *collect);
void bw_collect_free(bw_collect *collect);

/* By what the next pull will be judged.  stage NULL: nothing is asked for; a pull is still
 * noticed.  terms NULL: nothing is known of the wrench.  Without effect on a pull that is on. */
void bw_collect_arm(bw_collect *collect, const bw_stage *stage, const bw_standing *standing,
                    const bw_terms *terms);

/* Takes a sample.  On BEGAN and ON *live is what to tell the hand. */
bw_pull_event bw_collect_sample(bw_collect *collect, const bw_sample *sample, bw_live *live);

/* True while a pull is on; *loaded where its newest sample is above the threshold. */
bool bw_collect_on(const bw_collect *collect, bool *loaded);

/* Ends a pull that the stream did not end. */
void bw_collect_stop(bw_collect *collect);

/* Takes a bare result instead of samples, judged by what is armed. */
void bw_collect_result(bw_collect *collect, double time_s, double peak_Nm, bool has_turn,
                       double turn_deg);

/* The verdict on the collected pull, after ENDED or bw_collect_stop. */
bw_verdict bw_collect_verdict(const bw_collect *collect, bool complete);

/* True where the pull began, and as far as it was seen was over, within a second of the accepted
 * peak before it, by the wrench's own clock: no hand gets to another fastener in that time. */
bool bw_collect_too_soon(const bw_collect *collect);

/* Between this pull's newest two peaks that reached its low limit, or the one before it and its
 * own, in seconds; INFINITY where there are not two. */
double bw_collect_peaks_apart_s(const bw_collect *collect);

/* After the verdict: whether the pull was asked for, and accepted (or will be, by what is seen). */
void bw_collect_judged(bw_collect *collect, bool asked, bool accepted);

/* The samples as text (trade/trace.h), owned by the caller (free).  BW_E_MEM. */
BW_MUST_USE bw_status bw_collect_text(const bw_collect *collect, char **text, size_t *len,
                                      bw_err *err);

#endif
