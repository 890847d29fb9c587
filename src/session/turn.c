/* turn.c - see turn.h. */
#include "session/turn.h"

#include "base/clock.h"
#include "base/text.h"
#include "session/collect.h"
#include "session/input.h"

#include <errno.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    TICK_MS = 100,
    CLOCK_STEP_MS = 2000, /* what a wall clock may wander against the monotonic one unnoticed */
    SIGNALS = 3
};

/* A wrench that sends only while it is loaded falls silent at rest; one that falls silent under
 * load is waited for a little longer. */
static const int64_t silent_at_rest_ns = 600000000;
static const int64_t silent_loaded_ns = 2000000000;

struct bw_turn {
    bw_turn_setup setup;
    bw_actions *actions;
    bw_input *input;
    bw_collect collect;
    uv_loop_t loop;
    uv_timer_t tick;
    uv_poll_t port_poll;
    uv_poll_t input_poll;
    uv_idle_t input_idle; /* a regular file is always ready and can't be polled */
    uv_signal_t signal[SIGNALS];
    bool port_polled;
    bool port_closing; /* the poll handle is on its way out */
    bool input_polled;
    bool tool_gone;   /* lost; reopened by the tick */
    bool tool_dead;   /* its driver failed for good */
    int64_t heard_ns; /* when the newest sample came */
    int64_t last_time_ms;
    int64_t wall_minus_mono_ms;
    bool opening; /* one prompt for opening and tool together */
    bool over;    /* paused, closed or failed */
    bw_status status;
    bw_err err;
};

static void dispatch(bw_turn *turn, bw_event *event, const bw_blob *blob, size_t blob_n);

uv_loop_t *bw_turn_loop(bw_turn *turn) {
    return &turn->loop;
}

/* ---- showing ---- */

static void show_say(bw_turn *turn, bw_tone tone, const char *text) {
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
    for (size_t i = 0; i < turn->setup.face_n; i++) {
        const bw_face *face = &turn->setup.face[i];
        if (face->prompt != NULL) {
            face->prompt(face->ctx, &prompt);
        }
    }
}

static void show_live(bw_turn *turn, const bw_live *live) {
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

static void stop(bw_turn *turn, bw_status status, const bw_err *err) {
    turn->over = true;
    turn->status = status;
    if (err != NULL) {
        turn->err = *err;
    }
    uv_stop(&turn->loop);
}

/* Arms the collector for what is asked now; a pull that is on keeps what it began with. */
static void arm(bw_turn *turn) {
    bw_session *s = turn->setup.session;
    bool asked = bw_session_state(s) == BW_STATE_PULL;
    bw_standing standing = bw_session_standing(s);
    bw_collect_arm(&turn->collect, asked ? bw_session_stage(s) : NULL, asked ? &standing : NULL);
}

static bw_status commit(bw_turn *turn, const bw_blob *blob, size_t blob_n, bw_err *err) {
    bw_actions *a = turn->actions;
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
    if ((a->pause || a->closed) && a->entry_n > 0) {
        return bw_store_checkpoint(turn->setup.store, turn->setup.key, err);
    }
    return BW_OK;
}

static void carry_out(bw_turn *turn, bw_event *event, const bw_blob *blob, size_t blob_n) {
    bw_actions *a = turn->actions;
    bw_err err = {0};
    event->next_number = bw_store_size(turn->setup.store) + 1;
    bw_session_decide(turn->setup.session, event, a);
    bw_status status = commit(turn, blob, blob_n, &err);
    if (status != BW_OK) {
        (void)bw_fail_in(&err, status, "not recorded");
        show_say(turn, BW_TONE_BAD,
                 "NOT RECORDED: the record could not be written. Work stops here; what was shown "
                 "as recorded before is on the disk.");
        stop(turn, status, &err);
        return;
    }
    show_say(turn, a->tone, a->say);
    arm(turn);
    if (a->pause || a->closed) {
        stop(turn, BW_OK, NULL);
    } else if (!turn->opening && event->kind != BW_EVENT_PULL_BEGUN &&
               event->kind != BW_EVENT_CLOCK_STEP) {
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

static void dispatch(bw_turn *turn, bw_event *event, const bw_blob *blob, size_t blob_n) {
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
    event->now_ms = now_ms > turn->last_time_ms ? now_ms : turn->last_time_ms;
    turn->last_time_ms = event->now_ms;
    carry_out(turn, event, blob, blob_n);
    if (stepped && opening && !turn->over) {
        note_clock_step(turn, now_ms, back_ms);
    }
}

/* ---- lines ---- */

static bool takes_line(bw_turn *turn, const char *line) {
    bw_state state = bw_session_state(turn->setup.session);
    return turn->setup.input_is_terminal || bw_state_wants_line(state) || bw_session_is_word(line);
}

static bool input_is_needed(bw_turn *turn) {
    bw_state state = bw_session_state(turn->setup.session);
    bool no_wrench = state == BW_STATE_NO_TOOL && (turn->setup.device == NULL || turn->tool_dead);
    return bw_state_wants_line(state) || no_wrench || turn->setup.input_is_terminal;
}

static void broken_off(bw_turn *turn);

/* What ends the work ends a pull that is on first: what it reached is judged and kept. */
static void end_work(bw_turn *turn) {
    broken_off(turn);
    bw_event event = {.kind = BW_EVENT_PAUSE};
    dispatch(turn, &event, NULL, 0);
}

static bool ends_work(const char *line) {
    return strncmp(line, "pause", strlen("pause")) == 0 ||
           strncmp(line, "reject", strlen("reject")) == 0;
}

static void take_lines(bw_turn *turn) {
    const char *line = bw_input_peek(turn->input);
    while (!turn->over && line != NULL && takes_line(turn, line)) {
        char copy[BW_LINE_MAX + 1];
        (void)bw_text_copy(copy, sizeof copy, line);
        bw_input_drop(turn->input);
        if (ends_work(copy)) {
            broken_off(turn);
        }
        bw_event event = {.kind = BW_EVENT_ANSWER, .text = copy};
        dispatch(turn, &event, NULL, 0);
        line = bw_input_peek(turn->input);
    }
    bool dry = bw_input_ended(turn->input) && bw_input_peek(turn->input) == NULL;
    if (dry && !turn->over && input_is_needed(turn)) {
        end_work(turn);
    }
}

bw_status bw_turn_push_line(bw_turn *turn, const char *line, bw_err *err) {
    bw_status status = bw_input_bytes(turn->input, line, strlen(line), err);
    return status == BW_OK ? bw_input_bytes(turn->input, "\n", 1, err) : status;
}

static void end_input(bw_turn *turn) {
    bw_input_end(turn->input);
    if (turn->input_polled) {
        (void)uv_poll_stop(&turn->input_poll);
    } else {
        (void)uv_idle_stop(&turn->input_idle);
    }
}

static void read_input(bw_turn *turn) {
    char bytes[4096];
    ssize_t n = read(turn->setup.input_fd, bytes, sizeof bytes);
    if (n < 0 && (errno == EAGAIN || errno == EINTR)) {
        return;
    }
    bw_err err = {0};
    if (n <= 0) {
        end_input(turn);
    } else if (bw_input_bytes(turn->input, bytes, (size_t)n, &err) != BW_OK) {
        stop(turn, BW_E_MEM, &err);
    }
}

static void on_input(uv_poll_t *handle, int status, int events) {
    (void)status;
    (void)events;
    read_input(handle->data);
}

static void on_idle(uv_idle_t *handle) {
    read_input(handle->data);
}

/* ---- the wrench ---- */

static void end_pull(bw_turn *turn, bool complete) {
    complete = complete && !turn->collect.cut;
    bw_verdict verdict = bw_collect_verdict(&turn->collect, complete);
    char *trace = NULL;
    size_t trace_len = 0;
    size_t raw_len = 0;
    bool raw_cut = false;
    bw_err err = {0};
    bw_hash hash;
    char trace_hex[BW_HASH_HEX];
    char raw_hex[BW_HASH_HEX];
    bw_device *device = turn->setup.device;
    const char *raw = bw_device_raw(device, &raw_len, &raw_cut);
    bw_status status = bw_collect_text(&turn->collect, &trace, &trace_len, &err);
    if (status == BW_OK) {
        status = bw_sha256(trace, trace_len, &hash);
        bw_hex(hash.byte, BW_HASH_BYTES, trace_hex);
    }
    if (status == BW_OK) {
        status = bw_sha256(raw, raw_len, &hash);
        bw_hex(hash.byte, BW_HASH_BYTES, raw_hex);
    }
    if (status != BW_OK) {
        stop(turn, status, &err);
        free(trace);
        return;
    }
    bw_blob blob[] = {{trace, trace_len}, {raw, raw_len}};
    bw_event event = {.kind = BW_EVENT_PULL_ENDED,
                      .verdict = &verdict,
                      .complete = complete,
                      .samples = turn->collect.n,
                      .trace_hex = trace_hex,
                      .raw_hex = raw_hex,
                      .tool = bw_device_name(device)};
    dispatch(turn, &event, blob, 2);
    free(trace);
}

static void on_sample(void *ctx, const bw_sample *sample) {
    bw_turn *turn = ctx;
    bw_live live = {0};
    turn->heard_ns = bw_clock_mono_ns();
    switch (bw_collect_sample(&turn->collect, sample, &live)) {
    case BW_PULL_REST:
        break;
    case BW_PULL_BEGAN: {
        bw_event event = {.kind = BW_EVENT_PULL_BEGUN};
        dispatch(turn, &event, NULL, 0);
        show_live(turn, &live);
        break;
    }
    case BW_PULL_ON:
        show_live(turn, &live);
        break;
    case BW_PULL_ENDED:
        end_pull(turn, true);
        break;
    }
}

/* A wrench that reports only the peak: the pull is over when we hear of it. */
static void on_result(void *ctx, double time_s, double peak_Nm, bool has_turn, double turn_deg) {
    bw_turn *turn = ctx;
    (void)time_s;
    bw_collect_result(&turn->collect, peak_Nm, has_turn, turn_deg);
    bw_event begun = {.kind = BW_EVENT_PULL_BEGUN};
    dispatch(turn, &begun, NULL, 0);
    end_pull(turn, true);
}

static void on_device_say(void *ctx, const char *line) {
    show_say(ctx, BW_TONE_PLAIN, line);
}

static void broken_off(bw_turn *turn) {
    bool loaded = false;
    if (bw_collect_on(&turn->collect, &loaded)) {
        bw_collect_stop(&turn->collect);
        end_pull(turn, false);
    }
}

static void on_port(uv_poll_t *handle, int status, int events);

static void on_port_closed(uv_handle_t *handle) {
    bw_turn *turn = handle->data;
    turn->port_closing = false;
}

static void unpoll_port(bw_turn *turn) {
    if (turn->port_polled) {
        turn->port_polled = false;
        turn->port_closing = true;
        (void)uv_poll_stop(&turn->port_poll);
        uv_close((uv_handle_t *)&turn->port_poll, on_port_closed);
    }
}

static void poll_port(bw_turn *turn) {
    int fd = bw_device_fd(turn->setup.device);
    if (fd >= 0 && !turn->port_closing && uv_poll_init(&turn->loop, &turn->port_poll, fd) == 0) {
        turn->port_poll.data = turn;
        turn->port_polled = true;
        (void)uv_poll_start(&turn->port_poll, UV_READABLE | UV_DISCONNECT, on_port);
    }
}

static bw_event tool_event(bw_turn *turn, bw_event_kind kind) {
    bw_device *device = turn->setup.device;
    return (bw_event){.kind = kind,
                      .tool = bw_device_name(device),
                      .port = bw_device_port(device),
                      .driver = bw_device_driver(device),
                      .settings = bw_device_settings(device)};
}

/* The loss first: the pull that it broke off then ends in front of a missing wrench, and is not
 * asked for again before the wrench is back. */
static void lose_tool(bw_turn *turn, const bw_err *err) {
    unpoll_port(turn);
    turn->tool_gone = true;
    bw_event event = tool_event(turn, BW_EVENT_TOOL_LOST);
    event.text = err->text;
    dispatch(turn, &event, NULL, 0);
    broken_off(turn);
}

/* The raw bytes that are kept are those of a pull: at rest each read begins them anew. */
static void pump(bw_turn *turn) {
    static const bw_err ended = {.code = BW_E_STATE, .text = ""};
    bw_device_sink sink = {
        .ctx = turn, .sample = on_sample, .result = on_result, .say = on_device_say};
    int64_t now_ns = bw_clock_mono_ns();
    bool loaded = false;
    bw_err err = ended;
    if (!bw_collect_on(&turn->collect, &loaded)) {
        bw_device_raw_reset(turn->setup.device, now_ns);
    }
    switch (bw_device_pump(turn->setup.device, now_ns, &sink, &err)) {
    case BW_OK:
        break;
    case BW_E_DATA:
        broken_off(turn);
        show_say(turn, BW_TONE_BAD, err.text);
        break;
    case BW_E_STATE:
        turn->tool_dead = true;
        lose_tool(turn, &err);
        break;
    default:
        lose_tool(turn, &err);
        break;
    }
}

static void on_port(uv_poll_t *handle, int status, int events) {
    bw_turn *turn = handle->data;
    (void)status;
    (void)events;
    if (turn->port_polled && !turn->over) {
        pump(turn);
        take_lines(turn);
    }
}

static void seek_tool(bw_turn *turn) {
    bw_err err = {0};
    if (turn->port_closing || bw_device_reopen(turn->setup.device, &err) != BW_OK) {
        return;
    }
    turn->tool_gone = false;
    turn->heard_ns = bw_clock_mono_ns();
    poll_port(turn);
    bw_event event = tool_event(turn, BW_EVENT_TOOL_BACK);
    dispatch(turn, &event, NULL, 0);
}

static void watch_silence(bw_turn *turn) {
    bool loaded = false;
    if (!bw_collect_on(&turn->collect, &loaded)) {
        return;
    }
    int64_t silent_ns = bw_clock_mono_ns() - turn->heard_ns;
    if (silent_ns > (loaded ? silent_loaded_ns : silent_at_rest_ns)) {
        bw_collect_stop(&turn->collect);
        end_pull(turn, !loaded);
    }
}

static void on_tick(uv_timer_t *handle) {
    bw_turn *turn = handle->data;
    if (turn->over) {
        return;
    }
    if (turn->tool_gone && !turn->tool_dead) {
        seek_tool(turn);
    }
    if (turn->port_polled) {
        pump(turn); /* a driver that asks its device has to be called though nothing came */
    }
    watch_silence(turn);
    take_lines(turn);
}

static void on_signal(uv_signal_t *handle, int number) {
    bw_turn *turn = handle->data;
    (void)number;
    end_work(turn);
}

/* ---- life ---- */

static void watch_input(bw_turn *turn) {
    int fd = turn->setup.input_fd;
    if (fd < 0) {
        return;
    }
    turn->input_poll.data = turn;
    if (uv_poll_init(&turn->loop, &turn->input_poll, fd) == 0) {
        turn->input_polled = true;
        (void)uv_poll_start(&turn->input_poll, UV_READABLE, on_input);
    } else {
        (void)uv_idle_start(&turn->input_idle, on_idle);
    }
}

static void watch_signals(bw_turn *turn) {
    static const int numbers[SIGNALS] = {SIGINT, SIGTERM, SIGHUP};
    for (size_t i = 0; i < SIGNALS; i++) {
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
    turn->actions = calloc(1, sizeof *turn->actions);
    turn->input = bw_input_new();
    if (turn->actions == NULL || turn->input == NULL || uv_loop_init(&turn->loop) != 0) {
        free(turn->actions);
        bw_input_free(turn->input);
        free(turn);
        return bw_fail(err, BW_E_MEM, "no memory to begin");
    }
    bw_collect_init(&turn->collect);
    turn->last_time_ms = setup->last_time_ms;
    turn->wall_minus_mono_ms = bw_clock_wall_ms() - bw_clock_mono_ns() / 1000000;
    (void)uv_timer_init(&turn->loop, &turn->tick);
    (void)uv_idle_init(&turn->loop, &turn->input_idle);
    turn->tick.data = turn;
    turn->input_idle.data = turn;
    watch_signals(turn);
    watch_input(turn);
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
    (void)uv_run(&turn->loop, UV_RUN_DEFAULT);
    (void)uv_loop_close(&turn->loop);
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
    dispatch(turn, &open, NULL, 0);
    if (turn->setup.device != NULL && !turn->over) {
        bw_event on = tool_event(turn, BW_EVENT_TOOL_ON);
        dispatch(turn, &on, NULL, 0);
        poll_port(turn);
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
    (void)uv_timer_start(&turn->tick, on_tick, TICK_MS, TICK_MS);
    while (!turn->over) {
        take_lines(turn);
        if (!turn->over) {
            (void)uv_run(&turn->loop, UV_RUN_ONCE);
        }
    }
    return outcome(turn, err);
}
