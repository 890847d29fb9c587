/* progress.h - how far something has come that takes longer than a second.
 *
 * Room: command.  On standard error, and only where that is a terminal: a line that is written over
 * and taken away at the end.  Nothing at all for what is done within a second. */
#ifndef BW_COMMAND_PROGRESS_H
#define BW_COMMAND_PROGRESS_H

#include "record/store.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

typedef int64_t bw_meter_clock(void *ctx); /* nanoseconds, never back */

typedef struct bw_meter {
    const char *what; /* "entries judged again" */
    uint64_t of;      /* 0: not known */
    FILE *out;
    bw_meter_clock *clock;
    void *clock_ctx;
    int64_t began_ns, told_ns;
    bool watched; /* by somebody at a terminal */
    size_t shown; /* columns that stand there */
} bw_meter;

bw_meter bw_meter_begin(const char *what, uint64_t of);
/* For what prints on standard output while it is at work: silent where that is a terminal, too. */
bw_meter bw_meter_begin_beside(const char *what, uint64_t of);
/* With another terminal and another clock. */
bw_meter bw_meter_begin_on(FILE *out, bw_meter_clock *clock, void *clock_ctx, const char *what,
                           uint64_t of);

void bw_meter_at(bw_meter *meter, uint64_t done);
/* Goes on with something else; the time goes on, too. */
void bw_meter_next(bw_meter *meter, const char *what, uint64_t of);
/* Takes the line away, before something is printed and at the end. */
void bw_meter_end(bw_meter *meter);

/* Each entry that is read of this store moves the meter, which must outlive it. */
void bw_meter_watch(bw_meter *meter, bw_store *store);

#endif
