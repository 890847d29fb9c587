/* trace.h - samples of a wrench, and the one text in which they are kept.
 *
 * Room: trade (pure).  The text is the CSV of the `judge` command: a heading line
 * `time_s,torque_Nm,angle_deg`, then a line a sample, angle empty where the wrench has none.
 * Numbers are written so that they read back as the same double, bit for bit: a stored trace is
 * judged again exactly as it was. */
#ifndef BW_TRADE_TRACE_H
#define BW_TRADE_TRACE_H

#include "base/arena.h"
#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

enum { BW_TRACE_SAMPLES_MAX = 2000000 };

/* Torque and angle at one moment.  time_s is seconds on the wrench's or the host's monotonic
 * clock, not going back.  Tightening is positive. */
typedef struct bw_sample {
    double time_s;
    double torque_Nm;
    double angle_deg; /* 0 where has_angle is false */
    bool has_angle;
} bw_sample;

/* Bytes that bw_trace_write needs at most for n samples, the NUL included. */
size_t bw_trace_text_size(size_t n);

/* Writes n samples into out of size bytes; *len without the NUL.  BW_E_LIMIT where it does not
 * fit; BW_E_ARG for a sample that is not finite. */
BW_MUST_USE bw_status bw_trace_write(const bw_sample *sample, size_t n, char *out, size_t size,
                                     size_t *len, bw_err *err);

/* Reads such a text.  *sample is in the arena.  Lines may end in LF or CRLF; other columns are
 * refused.  BW_E_DATA with the line number. */
BW_MUST_USE bw_status bw_trace_read(const char *text, size_t len, bw_arena *arena,
                                    const bw_sample **sample, size_t *n, bw_err *err);

#endif
