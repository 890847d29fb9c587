/* pairing.h - the two posts that pair a screen, and what a screen may.
 *
 * Room: face, this folder.  The rules are pair.h's; here they meet requests, the clock's time and
 * the bench's terminal. */
#ifndef BW_FACE_DISPLAY_PAIRING_H
#define BW_FACE_DISPLAY_PAIRING_H

#include "face/display/display.h"
#include "face/display/http.h"
#include "face/display/pair.h"

/* What a screen may: kinds of streams, too. */
enum {
    BW_SCREEN_UNPAIRED = 0,
    BW_SCREEN_ANSWERS = 1,
    BW_SCREEN_WATCHES = 2,
    BW_SCREEN_ANY = BW_SCREEN_ANSWERS | BW_SCREEN_WATCHES
};

enum { BW_PAIRING_NAME_MAX = 32, BW_PAIRING_COOKIE_MAX = 160 };

/* All zero: this machine only, where every screen may all. */
typedef struct bw_pairing {
    void *ctx;
    void (*tell)(void *ctx, const char *line); /* NULL: this machine only */
    bw_pair pair;
    char name[BW_PAIRING_NAME_MAX]; /* of the cookie */
    char cookie[BW_PAIRING_COOKIE_MAX];
} bw_pairing;

void bw_pairing_open(bw_pairing *pairing, const bw_display_network *network, unsigned port);

/* What the screen that asks may. */
unsigned bw_pairing_kind(const bw_pairing *pairing, const bw_http_request *request);

/* A screen wants a code; a code was typed.  The answer borrows from the pairing. */
void bw_pairing_ask(bw_pairing *pairing, const bw_http_request *request, int64_t now_ms,
                    bw_http_answer *answer);
void bw_pairing_enter(bw_pairing *pairing, const bw_http_request *request, int64_t now_ms,
                      bw_http_answer *answer);

#endif
