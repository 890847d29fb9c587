/* turn.c - see turn.h.  One event, and the life of the loop. */
#include "session/turn_int.h"

#include "base/clock.h"

#include <signal.h>
#include <stdlib.h>
#include <unistd.h>

enum {
    TICK_MS = 100,
    CLOCK_STEP_MS = 2000 /* what a wall clock may wander against the monotonic one unnoticed */
};

uv_loop_t *bw_turn_loop(bw_turn *turn) {
    return &turn->loop;
}

/* ---- showing ---- */

void bw_turn_say(bw_turn *turn, bw_tone tone, const char *text) {
    for (size_t i = 0; i < turn->setup.face_n && text[0] != '\0'; i++) {
        const bw_face *face = &turn->setup.face[i];
        if (face->say != NULL) {
            face->say(face->ctx, tone, text);
        }
    }
}

static void show_prompt(bw_turn *turn) {
    bw_prompt prompt;
    bw_session_prompt(turn->setup.session, &prompt);
    if (prompt.state == BW_STATE_PULLING) {
        return; /* the hand is busy: nothing is asked */
    }
    bw_turn_show_target(turn, &prompt);
    for (size_t i = 0; i < turn->setup.face_n; i++) {
        const bw_face *face = &turn->setup.face[i];
        if (face->prompt != NULL) {
            face->prompt(face->ctx, &prompt);
        }
    }
}

void bw_turn_live(bw_turn *turn, const bw_live *live) {
    bw_prompt prompt;
    bw_session_prompt(turn->setup.session, &prompt);
    for (size_t i = 0; i < turn->setup.face_n; i++) {
        const bw_face *face = &turn->setup.face[i];
        if (face->live != NULL) {
            face->live(face->ctx, &prompt, live);
        }
    }
}

static void show_recorded(bw_turn *turn, const bw_entry *entry) {
    for (size_t i = 0; i < turn->setup.face_n; i++) {
        const bw_face *face = &turn->setup.face[i];
        if (face->recorded != NULL) {
            face->recorded(face->ctx, entry);
        }
    }
}

/* ---- one event ---- */

void bw_turn_stop(bw_turn *turn, bw_status status, const bw_err *err) {
    if (!turn->over) { /* the first failure is the one that counts */
        turn->status = status;
        if (err != NULL) {
            turn->err = *err;
        }
    }
    turn->over = true;
    uv_stop(&turn->loop);
}

/* Arms the collector for what is asked now; a pull that is on keeps what it began with. */
static void arm(bw_turn *turn) {
    bw_session *s = turn->setup.session;
    bool asked = bw_session_state(s) == BW_STATE_PULL;
    bw_standing standing = bw_session_standing(s);
    bw_terms terms = bw_session_terms(s);
    bw_collect_arm(&turn->collect, asked ? bw_session_stage(s) : NULL, asked ? &standing : NULL,
                   &terms);
}

static bw_status commit(bw_turn *turn, const bw_blob *blob, size_t blob_n, bw_err *err) {
    bw_actions *a = turn->actions;
    if (a->overflow) {
        return bw_fail(err, BW_E_LIMIT, "more than %d entries or %d bytes in one go",
                       BW_ACTIONS_ENTRIES_MAX, BW_POOL_BYTES);
    }
    if (a->entry_n > 0) {
        bw_status status = bw_store_append(turn->setup.store, a->entry, a->entry_n, blob, blob_n,
                                           err);
        if (status != BW_OK) {
            return status;
        }
    }
    for (size_t i = 0; i < a->entry_n; i++) {
        bw_session_apply(turn->setup.session, &a->entry[i]);
        show_recorded(turn, &a->entry[i]);
    }
    return BW_OK;
}

/* A pause and an end are signed, also where a sudden end left that undone before; and what the
 * builder asks for.  What cannot be signed ends the work. */
static bool sign(bw_turn *turn, bool stop) {
    bw_err err = {0};
    bw_status status = bw_store_checkpoint(turn->setup.store, turn->setup.key, &err);
    if (status != BW_OK) {
        (void)bw_fail_in(&err, status, "all is recorded, but the checkpoint is not signed");
    }
    if (stop || status != BW_OK) {
        bw_turn_stop(turn, status, &err);
    }
    return status == BW_OK;
}

/* What changes nothing that is asked is followed by no prompt: who answers each one would answer
 * twice. */
static bool asks_anew(bw_event_kind kind) {
    return kind != BW_EVENT_PULL_BEGUN && kind != BW_EVENT_CLOCK_STEP && kind != BW_EVENT_TOOL_ON;
}

static void carry_out(bw_turn *turn, bw_event *event, const bw_blob *blob, size_t blob_n) {
    bw_actions *a = turn->actions;
    bw_err err = {0};
    event->next_number = bw_store_size(turn->setup.store) + 1;
    bw_session_decide(turn->setup.session, event, a);
    bw_status status = commit(turn, blob, blob_n, &err);
    if (status != BW_OK) {
        (void)bw_fail_in(&err, status, "not recorded");
        bw_turn_say(
            turn, BW_TONE_BAD,
            "NOT RECORDED: the record could not be written. Work stops here; what was shown "
            "as recorded before is on the disk.");
        bw_turn_stop(turn, status, &err);
        return;
    }
    if (a->sign && !sign(turn, false)) {
        return;
    }
    bw_turn_say(turn, a->tone, a->say);
    arm(turn);
    if (a->pause || a->closed) {
        (void)sign(turn, true);
    } else if (!turn->opening && asks_anew(event->kind)) {
        show_prompt(turn);
    }
}

/* Entries keep their order and their times do not go back; where the wall clock was set, an entry
 * says by how much and time goes on from there. */
static void note_clock_step(bw_turn *turn, int64_t now_ms, int64_t step_ms) {
    turn->last_time_ms = now_ms;
    turn->wall_minus_mono_ms = now_ms - bw_clock_mono_ns() / 1000000;
    bw_event event = {.kind = BW_EVENT_CLOCK_STEP, .now_ms = now_ms, .by_s = (double)step_ms / 1e3};
    carry_out(turn, &event, NULL, 0);
}

void bw_turn_dispatch(bw_turn *turn, bw_event *event, const bw_blob *blob, size_t blob_n) {
    if (turn->over) {
        return;
    }
    int64_t now_ms = bw_clock_wall_ms();
    int64_t step_ms = now_ms - bw_clock_mono_ns() / 1000000 - turn->wall_minus_mono_ms;
    int64_t back_ms = turn->last_time_ms > now_ms ? now_ms - turn->last_time_ms : 0;
    bool stepped = step_ms > CLOCK_STEP_MS || step_ms < -CLOCK_STEP_MS || back_ms < -CLOCK_STEP_MS;
    bool opening = event->kind == BW_EVENT_OPEN;
    if (stepped && !opening) {
        note_clock_step(turn, now_ms, back_ms < -CLOCK_STEP_MS ? back_ms : step_ms);
    }
    if (turn->over) {
        return;
    }
    event->now_ms = now_ms > turn->last_time_ms ? now_ms : turn->last_time_ms;
    turn->last_time_ms = event->now_ms;
    carry_out(turn, event, blob, blob_n);
    if (stepped && opening && !turn->over) {
        note_clock_step(turn, now_ms, back_ms);
    }
}

/* ---- life ---- */

static void on_signal(uv_signal_t *handle, int number) {
    bw_turn *turn = handle->data;
    (void)number;
    bw_turn_end_work(turn);
}

static void watch_signals(bw_turn *turn) {
    static const int numbers[BW_TURN_SIGNALS] = {SIGINT, SIGTERM, SIGHUP};
    for (size_t i = 0; i < BW_TURN_SIGNALS; i++) {
        (void)uv_signal_init(&turn->loop, &turn->signal[i]);
        turn->signal[i].data = turn;
        (void)uv_signal_start(&turn->signal[i], on_signal, numbers[i]);
    }
}

bw_status bw_turn_new(const bw_turn_setup *setup, bw_turn **out, bw_err *err) {
    bw_turn *turn = calloc(1, sizeof *turn);
    if (turn == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory to begin");
    }
    turn->setup = *setup;
    turn->own_input_fd = -1;
    turn->actions = calloc(1, sizeof *turn->actions);
    turn->input = bw_input_new();
    if (turn->actions == NULL || turn->input == NULL || uv_loop_init(&turn->loop) != 0) {
        free(turn->actions);
        bw_input_free(turn->input);
        free(turn);
        return bw_fail(err, BW_E_MEM, "no memory to begin");
    }
    bw_collect_init(&turn->collect);
    turn->collect.terms.windup_deg_per_Nm = setup->device != NULL
                                                ? bw_device_data(setup->device).windup_deg_per_Nm
                                                : 0;
    turn->last_time_ms = setup->last_time_ms;
    turn->wall_minus_mono_ms = bw_clock_wall_ms() - bw_clock_mono_ns() / 1000000;
    (void)uv_timer_init(&turn->loop, &turn->tick);
    (void)uv_idle_init(&turn->loop, &turn->input_idle);
    turn->tick.data = turn;
    turn->input_idle.data = turn;
    watch_signals(turn);
    bw_turn_watch_input(turn);
    *out = turn;
    return BW_OK;
}

static void close_handle(uv_handle_t *handle, void *arg) {
    (void)arg;
    if (!uv_is_closing(handle)) {
        uv_close(handle, NULL);
    }
}

void bw_turn_free(bw_turn *turn) {
    if (turn == NULL) {
        return;
    }
    uv_walk(&turn->loop, close_handle, NULL);
    while (uv_run(&turn->loop, UV_RUN_DEFAULT) != 0) {
        /* the first round may still end by the stop that ended the work */
    }
    (void)uv_loop_close(&turn->loop);
    if (turn->own_input_fd >= 0) {
        (void)close(turn->own_input_fd);
    }
    bw_collect_free(&turn->collect);
    bw_input_free(turn->input);
    free(turn->actions);
    free(turn);
}

static bw_status outcome(const bw_turn *turn, bw_err *err) {
    if (turn->status != BW_OK && err != NULL) {
        *err = turn->err;
    }
    return turn->status;
}

bw_status bw_turn_open(bw_turn *turn, const bw_event *event, bw_err *err) {
    bw_event open = *event;
    turn->opening = true;
    bw_turn_dispatch(turn, &open, NULL, 0);
    if (turn->setup.device != NULL && !turn->over) {
        bw_turn_tool_on(turn);
        bw_turn_poll_tool(turn);
        if (bw_device_is_typed(turn->setup.device)) {
            bw_turn_say(turn, BW_TONE_PLAIN,
                        "After each pull type what the wrench was set to or showed, as in 60 Nm.");
        }
    }
    if (turn->setup.device == NULL && !turn->over && bw_session_is_free(turn->setup.session)) {
        bw_turn_say(turn, BW_TONE_BAD,
                    "No wrench: go on with --wrench PORT, or with --wrench hand to type what one "
                    "that does not talk was set to.");
    }
    turn->opening = false;
    if (!turn->over) {
        show_prompt(turn);
    }
    return outcome(turn, err);
}

/* Lines are taken only after whatever the loop's round brought: a script's answer waits for the
 * pull before it. */
bw_status bw_turn_run(bw_turn *turn, bw_err *err) {
    (void)uv_timer_start(&turn->tick, bw_turn_tick, TICK_MS, TICK_MS);
    while (!turn->over) {
        bw_turn_take_lines(turn);
        if (!turn->over) {
            (void)uv_run(&turn->loop, UV_RUN_ONCE);
        }
    }
    return outcome(turn, err);
}
