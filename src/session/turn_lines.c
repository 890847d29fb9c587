/* turn_lines.c - lines of text on their way to the prompt that wants them. */
#include "session/turn_int.h"

#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

enum { INPUT_BYTES_MAX = 1 << 20 };

static bool no_wrench_can_come(const bw_turn *turn) {
    bool gone = bw_session_state(turn->setup.session) == BW_STATE_NO_TOOL;
    return gone && (turn->setup.device == NULL || turn->tool_dead);
}

static bool takes_line(bw_turn *turn, const char *line) {
    bw_state state = bw_session_state(turn->setup.session);
    return turn->setup.input_is_terminal || bw_state_wants_line(state) || bw_turn_types(turn) ||
           bw_session_is_word(line);
}

static bool input_is_needed(bw_turn *turn) {
    bw_state state = bw_session_state(turn->setup.session);
    return bw_state_wants_line(state) || bw_turn_types(turn) || no_wrench_can_come(turn) ||
           turn->setup.input_is_terminal;
}

/* What ends the work ends a pull that is on first: what it reached is judged and kept. */
void bw_turn_end_work(bw_turn *turn) {
    bw_turn_break_off(turn);
    bw_event event = {.kind = BW_EVENT_PAUSE};
    bw_turn_dispatch(turn, &event, NULL, 0);
}

/* Files are named by who sits at the bench's own machine, not through a display. */
static void take_line(bw_turn *turn, const char *line, bool at_bench) {
    if (bw_session_ends_work(line)) {
        bw_turn_break_off(turn);
    }
    bw_event event = {.kind = BW_EVENT_ANSWER,
                      .text = line,
                      .file_fault = at_bench ? NULL : "A file can be named at the bench alone"};
    bw_turn_file file;
    if (at_bench) {
        bw_turn_read_file(line, &file, &event);
    }
    if (!bw_turn_type(turn, line)) {
        bw_turn_dispatch(turn, &event, NULL, 0);
    }
}

static void take_answer(bw_turn *turn) {
    if (turn->answered) {
        char copy[BW_LINE_MAX + 1];
        (void)bw_text_copy(copy, sizeof copy, turn->answer);
        turn->answered = false;
        take_line(turn, copy, false);
    }
}

void bw_turn_take_lines(bw_turn *turn) {
    take_answer(turn);
    const char *line = bw_input_peek(turn->input);
    while (!turn->over && line != NULL && takes_line(turn, line)) {
        char copy[BW_LINE_MAX + 1];
        (void)bw_text_copy(copy, sizeof copy, line);
        bw_input_drop(turn->input);
        take_line(turn, copy, true);
        line = bw_input_peek(turn->input);
    }
    bool none_left = bw_input_peek(turn->input) == NULL || no_wrench_can_come(turn);
    bool dry = bw_input_ended(turn->input) && none_left && !turn->setup.outlives_input;
    if (dry && !turn->over && input_is_needed(turn)) {
        bw_turn_end_work(turn);
    }
}

bw_status bw_turn_answer(bw_turn *turn, const char *line, bw_err *err) {
    if (turn->answered || !bw_text_copy(turn->answer, sizeof turn->answer, line)) {
        return bw_fail(err, BW_E_STATE, "another answer is on its way");
    }
    turn->answered = true;
    return BW_OK;
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
    } else if (bw_input_waiting(turn->input) > INPUT_BYTES_MAX) {
        bw_turn_say(turn, BW_TONE_BAD, "Far too much waits to be answered; the rest is not read.");
        end_input(turn);
    } else if (bw_input_bytes(turn->input, bytes, (size_t)n, &err) != BW_OK) {
        bw_turn_stop(turn, BW_E_MEM, &err);
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

void bw_turn_watch_input(bw_turn *turn) {
    int fd = turn->setup.input_fd;
    if (fd < 0) {
        return;
    }
    /* A handle of its own: the loop makes it non-blocking, and a terminal's handle is shared with
     * standard output, which must go on waiting for slow readers. */
    int own = open("/proc/self/fd/0", O_RDONLY | O_NOCTTY | O_CLOEXEC);
    if (own >= 0 && fd == STDIN_FILENO) {
        turn->setup.input_fd = own;
        turn->own_input_fd = own;
        fd = own;
    } else if (own >= 0) {
        (void)close(own);
    }
    turn->input_poll.data = turn;
    if (uv_poll_init(&turn->loop, &turn->input_poll, fd) == 0) {
        turn->input_polled = true;
        (void)uv_poll_start(&turn->input_poll, UV_READABLE, on_input);
    } else {
        (void)uv_idle_start(&turn->input_idle, on_idle);
    }
}
