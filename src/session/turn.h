/* turn.h - the one loop: read, judge, commit, and only then prompt (architecture rule 2).
 *
 * Room: session; libuv.  One thread, one loop.  The wrench's samples, lines of text, signals and
 * timers become events of the session; what it says is recorded, flushed, applied, shown. */
#ifndef BW_SESSION_TURN_H
#define BW_SESSION_TURN_H

#include "base/status.h"
#include "device/device.h"
#include "record/key.h"
#include "record/store.h"
#include "session/session.h"

#include <uv.h>

/* Who shows things.  Called after the commit only; must not call back into the turn except
 * bw_turn_push_line and bw_turn_answer. Members may be NULL. */
typedef struct bw_face {
    void *ctx;
    void (*prompt)(void *ctx, const bw_prompt *prompt);
    void (*live)(void *ctx, const bw_prompt *prompt, const bw_live *live);
    void (*say)(void *ctx, bw_tone tone, const char *text);
    void (*recorded)(void *ctx, const bw_entry *entry); /* each entry, once it is on the disk */
} bw_face;

enum { BW_FACES_MAX = 4 };

typedef struct bw_turn_setup {
    bw_session *session; /* all borrowed for the life of the turn */
    bw_store *store;
    const bw_key *key;
    bw_device *device; /* NULL: no wrench */
    bw_tool_card card; /* what the register knows of it; the rest is the device's to say */
    bw_face face[BW_FACES_MAX];
    size_t face_n;
    int input_fd;           /* lines of text; -1: none but bw_turn_push_line */
    bool input_is_terminal; /* lines are taken at once, not held for the prompt that wants them */
    bool outlives_input;    /* input that ends does not end the work: answers come elsewhere, too */
    int64_t last_time_ms;   /* of the newest entry in the record; INT64_MIN: none */
} bw_turn_setup;

typedef struct bw_turn bw_turn;

BW_MUST_USE bw_status bw_turn_new(const bw_turn_setup *setup, bw_turn **out, bw_err *err);
void bw_turn_free(bw_turn *turn);

uv_loop_t *bw_turn_loop(bw_turn *turn);

/* Opens or continues the build: event of kind OPEN without times. */
BW_MUST_USE bw_status bw_turn_open(bw_turn *turn, const bw_event *event, bw_err *err);

/* Runs until the build is paused or closed.  BW_E_IO (or what the store said) where recording
 * failed: nothing is shown as recorded that is not. */
BW_MUST_USE bw_status bw_turn_run(bw_turn *turn, bw_err *err);

/* A line as if it had been typed; taken when a prompt wants it. */
BW_MUST_USE bw_status bw_turn_push_line(bw_turn *turn, const char *line, bw_err *err);

/* The answer to the prompt that is shown: taken in this round of the loop, before any line that
 * waits.  BW_E_STATE where one is already on its way. */
BW_MUST_USE bw_status bw_turn_answer(bw_turn *turn, const char *line, bw_err *err);

#endif
