/* turn_tool.c - the wrench in the turn: its samples, its pulls, its coming and going. */
#include "session/turn_int.h"

#include "base/clock.h"
#include "base/text.h"

#include <stdlib.h>
#include <string.h>

/* A wrench that sends only while it is loaded falls silent at rest; one that falls silent under
 * load is waited for a little longer. */
static const int64_t silent_at_rest_ns = 600000000;
static const int64_t silent_loaded_ns = 2000000000;

/* A second more than the samples: these have the wrench's own time. */
static const int64_t raw_before_ns = (BW_COLLECT_BEFORE_S + 1) * INT64_C(1000000000);

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
    bool asked = bw_session_state(turn->setup.session) == BW_STATE_PULLING;
    bool too_soon = turn->held;
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
        bw_turn_stop(turn, status, &err);
        free(trace);
        return;
    }
    bw_blob blob[] = {{trace, trace_len}, {raw, raw_len}};
    bw_event event = {.kind = BW_EVENT_PULL_ENDED,
                      .verdict = &verdict,
                      .complete = complete,
                      .too_soon = too_soon,
                      .peaks_apart_s = bw_collect_peaks_apart_s(&turn->collect),
                      .samples = turn->collect.n,
                      .unread = bw_device_unread(device) - turn->unread,
                      .trace_hex = trace_hex,
                      .raw_hex = raw_hex,
                      .typed = turn->typed,
                      .tool = bw_device_name(device)};
    turn->held = false;
    turn->ended_ns = turn->pump_ns;
    turn->unread = bw_device_unread(device);
    if (!too_soon) {
        bw_collect_judged(&turn->collect, asked, verdict.outcome == BW_VERDICT_PASS);
    }
    bw_turn_dispatch(turn, &event, blob, 2);
    free(trace);
}

static void tell_begun(bw_turn *turn) {
    bw_event event = {.kind = BW_EVENT_PULL_BEGUN};
    turn->held = false;
    bw_turn_dispatch(turn, &event, NULL, 0);
}

static void on_sample(void *ctx, const bw_sample *sample) {
    bw_turn *turn = ctx;
    bw_live live = {0};
    turn->heard_ns = bw_clock_mono_ns();
    switch (bw_collect_sample(&turn->collect, sample, &live)) {
    case BW_PULL_REST:
        break;
    case BW_PULL_BEGAN:
        turn->held = bw_collect_too_soon(&turn->collect);
        if (!turn->held) {
            tell_begun(turn);
        }
        bw_turn_live(turn, &live);
        break;
    case BW_PULL_ON:
        if (turn->held && !bw_collect_too_soon(&turn->collect)) {
            tell_begun(turn); /* it goes on: no second click, but the next fastener */
        }
        bw_turn_live(turn, &live);
        break;
    case BW_PULL_ENDED:
        end_pull(turn, true);
        break;
    }
}

/* A wrench that reports only the peak: the pull is over when we hear of it. */
static void on_result(void *ctx, double time_s, double peak_Nm, bool has_turn, double turn_deg) {
    bw_turn *turn = ctx;
    bw_collect_result(&turn->collect, time_s, peak_Nm, has_turn, turn_deg);
    turn->held = bw_collect_too_soon(&turn->collect);
    if (!turn->held) {
        tell_begun(turn);
    }
    end_pull(turn, true);
}

/* What is typed is an answer to what is asked: lines that waited may come at once. */
static void on_typed(void *ctx, double time_s, double peak_Nm, bool has_turn, double turn_deg) {
    bw_turn *turn = ctx;
    bw_collect_result(&turn->collect, time_s, peak_Nm, has_turn, turn_deg);
    tell_begun(turn);
    end_pull(turn, true);
}

static void on_device_say(void *ctx, const char *line) {
    bw_turn_say(ctx, BW_TONE_PLAIN, line);
}

void bw_turn_show_target(bw_turn *turn, const bw_prompt *prompt) {
    bw_device *device = turn->setup.device;
    const bw_stage *stage = &prompt->aim;
    if (device == NULL || turn->tool_gone || prompt->state != BW_STATE_PULL ||
        (bw_device_can(device) & BW_CAN_TARGET) == 0 || !(stage->low_Nm > 0) ||
        !(stage->high_Nm < 100000)) {
        return;
    }
    const bw_device_sink sink = {
        .ctx = turn, .sample = on_sample, .result = on_result, .say = on_device_say};
    const bw_wish wish = {.size = sizeof wish,
                          .kind = BW_WISH_TARGET,
                          .torque_Nm = (stage->low_Nm + stage->high_Nm) / 2,
                          .low_Nm = stage->low_Nm,
                          .high_Nm = stage->high_Nm};
    bw_err err = {0};
    if (bw_device_wish(device, &wish, &sink, &err) != BW_OK) {
        bw_turn_say(turn, BW_TONE_PLAIN, err.text); /* a lamp that stays dark is no fault */
    }
}

bool bw_turn_types(const bw_turn *turn) {
    return turn->setup.device != NULL && bw_device_is_typed(turn->setup.device) &&
           bw_session_state(turn->setup.session) == BW_STATE_PULL;
}

bool bw_turn_type(bw_turn *turn, const char *line) {
    const bw_device_sink sink = {
        .ctx = turn, .sample = on_sample, .result = on_typed, .say = on_device_say};
    int64_t now_ns = bw_clock_mono_ns();
    bw_err err = {0};
    bw_device *device = turn->setup.device;
    if (device == NULL || !bw_device_is_typed(device) ||
        !bw_session_takes_torque(turn->setup.session, line)) {
        return false;
    }
    if (!bw_text_printable(line, strlen(line), false)) {
        bw_turn_say(turn, BW_TONE_BAD, "That line holds characters that can't be shown.");
        return true;
    }
    bw_device_raw_reset(device, now_ns);
    turn->typed = line;
    if (bw_device_type(device, line, now_ns, &sink, &err) != BW_OK) {
        bw_turn_say(turn, BW_TONE_BAD, err.text);
    }
    turn->typed = NULL;
    return true;
}

void bw_turn_break_off(bw_turn *turn) {
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

void bw_turn_poll_tool(bw_turn *turn) {
    int fd = bw_device_fd(turn->setup.device);
    if (fd >= 0 && !turn->port_closing && uv_poll_init(&turn->loop, &turn->port_poll, fd) == 0) {
        turn->port_poll.data = turn;
        turn->port_polled = true;
        (void)uv_poll_start(&turn->port_poll, UV_READABLE | UV_DISCONNECT, on_port);
    }
}

bw_event bw_turn_tool_event(bw_turn *turn, bw_event_kind kind) {
    bw_device *device = turn->setup.device;
    bw_tool_data known = bw_device_data(device);
    bw_tool_card card = turn->setup.card;
    card.device_serial = bw_device_serial(device);
    card.unchecked = (bw_device_can(device) & BW_CAN_CHECKSUM) == 0;
    return (bw_event){.kind = kind,
                      .tool_card = card,
                      .tool_terms = {.range_low_Nm = known.range_low_Nm,
                                     .range_high_Nm = known.range_high_Nm,
                                     .uncertainty_share = known.uncertainty_share,
                                     .uncertainty_deg = known.uncertainty_deg},
                      .tool = bw_device_name(device),
                      .port = bw_device_port(device),
                      .driver = bw_device_driver(device),
                      .settings = bw_device_settings(device)};
}

void bw_turn_tool_on(bw_turn *turn) {
    bw_event event = bw_turn_tool_event(turn, BW_EVENT_TOOL_ON);
    (void)bw_text_copy(turn->tool_serial, sizeof turn->tool_serial, event.tool_card.device_serial);
    bw_turn_dispatch(turn, &event, NULL, 0);
}

/* Some devices say who they are only when they have been asked; between pulls it is recorded. */
static void tell_serial(bw_turn *turn) {
    bool loaded = false;
    const char *serial = bw_device_serial(turn->setup.device);
    if (!bw_collect_on(&turn->collect, &loaded) && strcmp(serial, turn->tool_serial) != 0) {
        bw_turn_tool_on(turn);
    }
}

/* The loss first: the pull that it broke off then ends in front of a missing wrench, and is not
 * asked for again before the wrench is back. */
static void lose_tool(bw_turn *turn, const bw_err *err) {
    unpoll_port(turn);
    turn->tool_gone = true;
    bw_event event = bw_turn_tool_event(turn, BW_EVENT_TOOL_LOST);
    event.text = err->text;
    bw_turn_dispatch(turn, &event, NULL, 0);
    bw_turn_break_off(turn);
}

/* The raw bytes that are kept are those of a pull and of the samples before it, back to the read in
 * which the pull before it ended. */
static void pump(bw_turn *turn) {
    static const bw_err ended = {.code = BW_E_STATE, .text = ""};
    bw_device_sink sink = {
        .ctx = turn, .sample = on_sample, .result = on_result, .say = on_device_say};
    int64_t now_ns = bw_clock_mono_ns();
    bool loaded = false;
    bw_err err = ended;
    turn->pump_ns = now_ns;
    if (!bw_collect_on(&turn->collect, &loaded)) {
        int64_t since_ns = now_ns - raw_before_ns;
        since_ns = since_ns > turn->ended_ns ? since_ns : turn->ended_ns;
        bw_device_raw_forget(turn->setup.device, since_ns);
    }
    switch (bw_device_pump(turn->setup.device, now_ns, &sink, &err)) {
    case BW_OK:
        tell_serial(turn);
        break;
    case BW_E_DATA:
        bw_turn_break_off(turn);
        bw_turn_say(turn, BW_TONE_BAD, err.text);
        tell_serial(turn);
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
        bw_turn_take_lines(turn);
    }
}

static void seek_tool(bw_turn *turn) {
    bw_err err = {0};
    if (turn->port_closing || bw_device_reopen(turn->setup.device, &err) != BW_OK) {
        return;
    }
    turn->tool_gone = false;
    turn->heard_ns = bw_clock_mono_ns();
    bw_turn_poll_tool(turn);
    bw_event event = bw_turn_tool_event(turn, BW_EVENT_TOOL_BACK);
    bw_turn_dispatch(turn, &event, NULL, 0);
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

void bw_turn_tick(uv_timer_t *handle) {
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
    if (turn->setup.device != NULL) {
        uv_timer_set_repeat(handle, (uint64_t)bw_device_every_ms(turn->setup.device));
    }
    bw_turn_take_lines(turn);
}
