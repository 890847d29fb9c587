/* display.h - the bench display: a page from the program itself, fed by its face.
 *
 * Room: face.  Whoever has the page sees what is asked, what the wrench does and how it was
 * judged; whoever has it at / may answer, whoever has it at /watch only sees.  An answer names the
 * step and the nonce of the prompt that it answers; one to a prompt that is gone is refused. */
#ifndef BW_FACE_DISPLAY_DISPLAY_H
#define BW_FACE_DISPLAY_DISPLAY_H

#include "session/replay.h"
#include "session/turn.h"

enum { BW_DISPLAY_ADDRESS_MAX = 64 };

typedef struct bw_display bw_display;

/* All borrowed for the life of the display. */
typedef struct bw_display_setup {
    const char *build;
    bool rehearsal;
    const bw_session *session;
    const bw_plan *plan;
    const bw_replay *replay; /* what is recorded so far */
    bw_store *store;         /* to read traces; NULL: no curves */
} bw_display_setup;

typedef struct bw_display_where {
    char address[BW_DISPLAY_ADDRESS_MAX];
    unsigned port;
} bw_display_where;

/* Reads "127.0.0.1:8080", "[::1]:8080", "localhost:8080"; with network also an address of this
 * machine in the shop's network.  BW_E_ARG with one line. */
BW_MUST_USE bw_status bw_display_where_read(const char *text, bool network, bw_display_where *out,
                                            bw_err *err);

/* For the shop's network: TLS, and each screen is paired first.  Texts are borrowed for the call.
 */
typedef struct bw_display_network {
    const char *certificate_pem, *key_pem;
    const char *host; /* a name that it is called by, too; "": none */
    void *ctx;
    /* A line for the bench's own terminal and nowhere else: the code to pair by stands in it. */
    void (*tell)(void *ctx, const char *line);
} bw_display_network;

BW_MUST_USE bw_status bw_display_new(const bw_display_setup *setup, bw_display **out, bw_err *err);

/* For the turn; before it is made. */
bw_face bw_display_face(bw_display *display);

/* Serves it in the turn's loop.  network NULL: plainly, on this machine only.
 * BW_E_ABSENT, BW_E_BUSY. */
BW_MUST_USE bw_status bw_display_serve(bw_display *display, bw_turn *turn,
                                       const bw_display_where *where,
                                       const bw_display_network *network, bw_err *err);

/* Says how the work ended, and stops; before the turn is freed.  outcome NULL: it failed. */
void bw_display_end(bw_display *display, const char *outcome);
void bw_display_free(bw_display *display);

#endif
