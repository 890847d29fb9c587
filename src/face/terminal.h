/* terminal.h - prompts, live help and sentences on a terminal or a pipe.
 *
 * Room: face.  One thing at a time: what, which fastener, stage, target and limits in the manual's
 * unit with the other one beside it, lubricant.  On a terminal each prompt has the screen to itself
 * and the live line is redrawn in place; on a pipe lines follow each other, of the live line only
 * its changes.  Colour only where asked for, and never alone. */
#ifndef BW_FACE_TERMINAL_H
#define BW_FACE_TERMINAL_H

#include "session/turn.h"

#include <stdbool.h>
#include <stdio.h>

enum { BW_TERMINAL_SAID_MAX = 2 * BW_SAY_MAX };

typedef struct bw_terminal {
    FILE *out;
    bool is_terminal;
    bool redraws; /* each prompt clears the screen */
    bool colour;
    bool rehearsal;
    bool live_open; /* a live line stands unfinished */
    bw_live_word live_word;
    size_t (*columns)(void); /* of the terminal as it is now, 0: not known; NULL: nobody knows */
    size_t width;            /* columns, when it was asked last; 0: not known, 80 */
    size_t live_columns;     /* of the live line as it stands */
    double live_most_Nm;     /* highest torque of the pull */
    double live_most; /* furthest of the pull, N.m or degrees: the line stays there on release */
    size_t live_rest; /* samples until it is drawn again */
    char said[BW_TERMINAL_SAID_MAX]; /* since the last prompt, as printed */
    size_t headed_step;              /* whose heading was printed last, from 1 */
} bw_terminal;

/* A face over caller's storage; terminal must outlive it. */
bw_face bw_terminal_face(bw_terminal *terminal);

/* The opening lines: engine, edition, source, that figures are invented, rehearsal. */
void bw_terminal_heading(bw_terminal *terminal, const bw_plan *plan, const char *build);

#endif
