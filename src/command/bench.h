/* bench.h - what run and rehearse have in common: open all, go, say how it ended.
 *
 * Room: command. */
#ifndef BW_COMMAND_BENCH_H
#define BW_COMMAND_BENCH_H

#include "command/bench_display.h"
#include "command/command.h"
#include "session/replay.h"
#include "session/turn.h"

typedef struct bw_bench_setup {
    const char *home;
    const char *sequence; /* path; NULL: none, pulls are only recorded */
    const char *build;
    const char *wrench;   /* SPEC, NULL: none */
    const char *by;       /* NULL: as before, or the login name */
    bool reopen;          /* a closed build, with second and why */
    const char *retorque; /* of a closed build: the group that was seen to; NULL: none */
    const char *second, *why;
    bool adopt; /* go on with the text of the file where it differs from the record's */
    bool rehearsal;
    bool json;
    bool plain;       /* lines one after the other, without colour, on a terminal too */
    bool reads_input; /* lines from standard input */
    bw_bench_display display;
    const bw_face *extra; /* one more face, or NULL */
    /* Called once the sequence is loaded and before anything is opened for writing; may be NULL.
     * BW_E_ARG where the command does not fit the plan. */
    bw_status (*check)(void *ctx, const bw_plan *plan, bw_err *err);
    /* Called once everything is open, before the build goes on; BW_OK to go on. */
    bw_status (*ready)(void *ctx, bw_turn *turn, const bw_replay *replay, const bw_plan *plan,
                       bw_err *err);
    void *ctx;
} bw_bench_setup;

/* Returns the exit code. */
int bw_bench_run(const bw_bench_setup *setup);

#endif
