/* bench_display.h - the bench display as run and rehearse offer it: where, and to whom.
 *
 * Room: command. */
#ifndef BW_COMMAND_BENCH_DISPLAY_H
#define BW_COMMAND_BENCH_DISPLAY_H

#include "face/display/display.h"
#include "record/certificate.h"

/* As given on the command line; borrowed.  NULL: not given. */
typedef struct bw_bench_display {
    const char *where;             /* ADDRESS:PORT; without it there is no display */
    bool network;                  /* open to the shop's network */
    const char *certificate, *key; /* files; the bench's own where there are none */
} bw_bench_display;

typedef struct bw_bench_display_ready {
    bw_display_where where;
    bw_certificate certificate; /* of a network's display; secret */
} bw_bench_display_ready;

/* Before anything is written: BW_E_ARG where the options do not fit each other, the address or
 * their files.  out stays as it is where there is no display. */
BW_MUST_USE bw_status bw_bench_display_read(const bw_bench_display *options,
                                            bw_bench_display_ready *out, bw_err *err);

/* Serves it and says where, on standard error.  home: whose lock is held. */
BW_MUST_USE bw_status bw_bench_display_serve(const bw_bench_display *options, const char *home,
                                             bw_bench_display_ready *ready, bw_display *display,
                                             bw_turn *turn, bw_err *err);

#endif
