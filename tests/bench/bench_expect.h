/* bench_expect.h - what may be said of a simulated fastener, by what was true of it. */
#ifndef BW_BENCH_EXPECT_H
#define BW_BENCH_EXPECT_H

#include "bench_world.h"

/* What a fault amounts to in a situation. */
typedef enum shows {
    SHOWS_NOT_MADE = 0, /* there is no such thing there */
    SHOWS_NUMBERS,      /* the true numbers against the limits decide */
    SHOWS_ALWAYS,       /* never to be passed */
    SHOWS_YIELDED,      /* never to be passed where it yielded or stripped for some way; open where
                           that had just begun; else numbers */
    SHOWS_LATE,         /* never to be passed where it moved far above what it was to stand at */
    SHOWS_SIBLINGS,     /* never to be passed beside four siblings or more, else open */
    SHOWS_KNOCK,  /* the true numbers decide where the knock is faster than a hand, else open */
    SHOWS_SAFE,   /* never to be passed where the numbers are bad, else open */
    SHOWS_NOTHING /* nothing that a wrench could feel: see why_unseen */
} shows;

shows how_it_shows(bw_fault_kind fault, situation s);

/* Why the trace of this fault is that of a sound one; NULL unless SHOWS_NOTHING. */
const char *why_unseen(bw_fault_kind fault, situation s);

/* Where the true numbers stand. */
typedef enum truth_is { TRUE_GOOD = 0, TRUE_BAD, TRUE_EDGE } truth_is;

/* What was true over all pulls of a fastener in its stage. */
typedef struct whole_truth {
    bw_truth last;
    double peak_Nm;
    double counted_deg; /* since the count began, all pulls */
    double growth_mm;   /* since before the first */
    double began_Nm;    /* what set it going in the first pull */
    bool yielded;
    double yield_Nm;
    double lost_deg; /* turn that went into yield, or into a thread that gives way */
} whole_truth;

/* It shows that it was never to be passed, by what the fault amounts to and what was true. */
bool is_plain(shows how, const world *w, const whole_truth *t, bool siblings);

/* A knock that no hand makes. */
bool is_knock_plain(const world *w, const whole_truth *t);

/* Within the limits, beyond them, or so near to one that a wrench and gauge like these may say
 * either. */
truth_is true_numbers(const world *w, const bw_stage *stage, const whole_truth *t);

#endif
