/* turn_int.h - what the turn's own files share.  Not for other rooms. */
#ifndef BW_SESSION_TURN_INT_H
#define BW_SESSION_TURN_INT_H

#include "session/collect.h"
#include "session/input.h"
#include "session/turn.h"

enum { BW_TURN_SIGNALS = 3, BW_TOOL_SERIAL_MAX = 128 };

struct bw_turn {
    bw_turn_setup setup;
    bw_actions *actions;
    bw_input *input;
    char answer[BW_LINE_MAX + 1]; /* given by bw_turn_answer, not taken yet */
    bool answered;
    bw_collect collect;
    uv_loop_t loop;
    uv_timer_t tick;
    uv_poll_t port_poll;
    uv_poll_t input_poll;
    uv_idle_t input_idle; /* a regular file is always ready and can't be polled */
    uv_signal_t signal[BW_TURN_SIGNALS];
    bool port_polled;
    bool port_closing; /* the poll handle is on its way out */
    bool input_polled;
    int own_input_fd;                     /* opened by the turn; -1: none */
    bool tool_gone;                       /* lost; reopened by the tick */
    bool tool_dead;                       /* its driver failed for good */
    char tool_serial[BW_TOOL_SERIAL_MAX]; /* as it was last recorded */
    int64_t heard_ns;                     /* when the newest sample came */
    int64_t pump_ns;                      /* when the device was read last */
    int64_t ended_ns;                     /* ... so that a pull ended */
    uint64_t unread;                      /* by then, see bw_device_unread */
    int64_t last_time_ms;
    int64_t wall_minus_mono_ms;
    const char *typed; /* the line, while a torque that was typed is taken; NULL */
    bool held;         /* a pull is on that may be a second click on the accepted fastener */
    bool opening;      /* one prompt for opening and tool together */
    bool over;         /* paused, closed or failed */
    bw_status status;
    bw_err err;
};

/* ---- turn.c ---- */
/* One event: decided, recorded, applied, shown.  Without effect once the turn is over. */
void bw_turn_dispatch(bw_turn *turn, bw_event *event, const bw_blob *blob, size_t blob_n);
void bw_turn_stop(bw_turn *turn, bw_status status, const bw_err *err);
void bw_turn_say(bw_turn *turn, bw_tone tone, const char *text);
void bw_turn_live(bw_turn *turn, const bw_live *live);

/* ---- turn_lines.c ---- */
void bw_turn_take_lines(bw_turn *turn);
void bw_turn_watch_input(bw_turn *turn);
/* A pause that nobody typed. */
void bw_turn_end_work(bw_turn *turn);

/* ---- turn_file.c ---- */
typedef struct bw_turn_file {
    char name[256];
    char sha256[BW_HASH_HEX];
    char fault[BW_ERR_TEXT_MAX];
} bw_turn_file;

/* Where the line is `file PATH...`: what the event says of that file; file keeps the texts. */
void bw_turn_read_file(const char *line, bw_turn_file *file, bw_event *event);

/* ---- turn_tool.c ---- */
void bw_turn_poll_tool(bw_turn *turn);
/* Records that this wrench is used, and what is known of it. */
void bw_turn_tool_on(bw_turn *turn);
bw_event bw_turn_tool_event(bw_turn *turn, bw_event_kind kind);
/* True where the wrench is one whose torque is typed and a pull is asked for: the line is its
 * business then, and taken where it is a torque. */
bool bw_turn_types(const bw_turn *turn);
bool bw_turn_type(bw_turn *turn, const char *line);
/* Tells a wrench that can show it what the prompt asks for. */
void bw_turn_show_target(bw_turn *turn, const bw_prompt *prompt);
/* Ends a pull that is on as one that was not seen to its end. */
void bw_turn_break_off(bw_turn *turn);
void bw_turn_tick(uv_timer_t *handle);

#endif
