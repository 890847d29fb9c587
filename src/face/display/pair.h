/* pair.h - which screens of the shop's network have the bench display: pairing by a code that
 * stands at the bench.
 *
 * Room: face.  Pure: time and random bytes are arguments.  A screen asks for a code, a person reads
 * it off the bench and types it there; the screen has a token from then on.  A code is good for one
 * screen, a short time and a few tries.  Wrong ones are counted until a right one comes, over all
 * codes: from the third on each makes the next code wait, twice as long every time, so that who
 * guesses on has about one try an hour at a million codes. */
#ifndef BW_FACE_DISPLAY_PAIR_H
#define BW_FACE_DISPLAY_PAIR_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
    BW_PAIR_DIGITS = 6,
    BW_PAIR_TRIES = 3,
    BW_PAIR_CODE_S = 120,
    BW_PAIR_SHOW_S = 20, /* the bench shows a code at most so often */
    BW_PAIR_WAIT_S = 30,
    BW_PAIR_WAIT_MAX_S = 3600,
    BW_PAIR_SCREENS_MAX = 16,
    BW_PAIR_TOKEN_BYTES = 16,
    BW_PAIR_TOKEN_MAX = 2 * BW_PAIR_TOKEN_BYTES + 1
};

typedef struct bw_pair_screen {
    char token[BW_PAIR_TOKEN_MAX];
    unsigned kind; /* what it may: not 0, for the caller to name */
} bw_pair_screen;

/* All zero: nobody is paired. */
typedef struct bw_pair {
    char code[BW_PAIR_DIGITS + 1]; /* "": none */
    unsigned kind;                 /* of the screen that the code is for */
    int64_t code_until_ms;
    int64_t show_from_ms;
    unsigned wrong; /* codes in a row */
    int64_t shut_until_ms;
    bw_pair_screen screen[BW_PAIR_SCREENS_MAX];
    size_t screen_n;
} bw_pair;

typedef enum bw_pair_result {
    BW_PAIR_OK,
    BW_PAIR_MALFORMED, /* not six digits; counts as no try */
    BW_PAIR_WRONG,
    BW_PAIR_OVER,  /* there is no code, or no longer */
    BW_PAIR_SHUT,  /* too many wrong ones: later */
    BW_PAIR_OTHER, /* the code that stands is for the other kind of screen */
    BW_PAIR_FULL
} bw_pair_result;

/* A screen of this kind wants a code.  OK: pair->code is it; *show where the bench is to show it
 * now.  random: 64 random bits.  Times are of one steady clock. */
bw_pair_result bw_pair_ask(bw_pair *pair, unsigned kind, int64_t now_ms, uint64_t random,
                           bool *show);

/* A code was typed.  OK: pair->code is gone, and token (BW_PAIR_TOKEN_MAX bytes) is the screen's,
 * made of BW_PAIR_TOKEN_BYTES random bytes.  before: the token that the screen had, which is good
 * for nothing then; NULL: none. */
bw_pair_result bw_pair_enter(bw_pair *pair, const char *code, const char *before, int64_t now_ms,
                             const uint8_t *random, char *token);

/* What the screen with this token may; 0: it is not paired.  token may be NULL. */
unsigned bw_pair_kind(const bw_pair *pair, const char *token);

/* The token in a Cookie header (NULL: there is none) under this name.  False where it is not there,
 * is there twice or is no token. */
bool bw_pair_cookie(const char *header, const char *name, char *token);

/* Compares without a branch on where they differ. */
bool bw_same_secret(const char *given, const char *secret);

#endif
