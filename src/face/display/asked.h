/* asked.h - what is asked now, and who may answer it: the page that knows the prompt's nonce, once.
 *
 * Room: face, this folder. */
#ifndef BW_FACE_DISPLAY_ASKED_H
#define BW_FACE_DISPLAY_ASKED_H

#include "face/display/http.h"
#include "session/turn.h"

enum { BW_NONCE_BYTES = 16, BW_NONCE_MAX = 2 * BW_NONCE_BYTES + 1, BW_ECHO_MAX = 1024 };

typedef struct bw_asked {
    char nonce[BW_NONCE_MAX];
    bool spent; /* it is answered, or nothing is asked */
    char step[BW_PLAN_ID_MAX + 1];
    bw_dimension echo_of;   /* of what is read now; BW_DIM_COUNT: no number is asked for */
    bw_unit echo_unit;      /* what a bare number means */
    double least, most;     /* plausible, in the base unit */
    char echo[BW_ECHO_MAX]; /* what is answered */
} bw_asked;

/* A new prompt, with a nonce of its own. */
void bw_asked_prompt(bw_asked *asked, const bw_prompt *prompt);

/* A line was posted: it goes to the turn where it answers this prompt. */
void bw_asked_answer(bw_asked *asked, bw_turn *turn, const bw_http_request *request,
                     bw_http_answer *answer);

/* A number is being typed: what it would be taken for.  The answer borrows from asked. */
void bw_asked_echo(bw_asked *asked, const bw_http_request *request, bw_http_answer *answer);

#endif
