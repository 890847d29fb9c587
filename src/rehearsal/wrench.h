/* wrench.h - a simulated wrench on a real pseudo-terminal.
 *
 * Room: rehearsal.  Never waits, owns no loop.  The device room opens bw_wrench_path like any port;
 * samples given to bw_wrench_put come out of it as the lines of the driver `line`:
 *
 *     +0012.34 N.m +045.6 deg @12.345 CR LF
 *
 * Behind the path is a link in a private folder: pulling the plug removes it, plugging in again
 * points it to a new pseudo-terminal. */
#ifndef BW_REHEARSAL_WRENCH_H
#define BW_REHEARSAL_WRENCH_H

#include "base/status.h"
#include "trade/trace.h"

#include <stddef.h>

enum { BW_WRENCH_LINE_MAX = 96, BW_WRENCH_QUEUE_MAX = 64 << 20 };

typedef struct bw_wrench bw_wrench;

/* A plugged-in wrench; freed by bw_wrench_free.  BW_E_IO where the system gives no
 * pseudo-terminal or folder; BW_E_MEM. */
BW_MUST_USE bw_status bw_wrench_open(bw_wrench **out, bw_err *err);

/* Unplugs and removes link and folder.  NULL is a no-op. */
void bw_wrench_free(bw_wrench *wrench);

/* The port to open: the same for the wrench's whole life.  Borrowed. */
const char *bw_wrench_path(const bw_wrench *wrench);

/* The wrench's own end, for waiting until it can be written; -1 while unplugged. */
int bw_wrench_fd(const bw_wrench *wrench);

/* The device's end hangs up; what was not sent is lost.  A second time is a no-op. */
void bw_wrench_unplug(bw_wrench *wrench);

/* A new pseudo-terminal under the same path.  BW_E_STATE where it is plugged in; BW_E_IO. */
BW_MUST_USE bw_status bw_wrench_plug(bw_wrench *wrench, bw_err *err);

/* The line of one sample, with its NUL, into out; returns its length.  Finite values of at most
 * 1e9. */
size_t bw_wrench_line(const bw_sample *sample, char out[BW_WRENCH_LINE_MAX]);

/* Queues one sample's line.  Samples come in the order of their times.  BW_E_STATE while unplugged,
 * BW_E_LIMIT where more than BW_WRENCH_QUEUE_MAX bytes wait, BW_E_MEM. */
BW_MUST_USE bw_status bw_wrench_put(bw_wrench *wrench, const bw_sample *sample, bw_err *err);

/* Queues the result of a pull that ended at time_s, as a wrench in peak mode reports it:
 *
 *     PEAK +0060.20 N.m +045.0 deg @12.345 CR LF */
BW_MUST_USE bw_status bw_wrench_put_result(bw_wrench *wrench, const bw_sample *result, bw_err *err);

/* Bytes not sent yet that are due at until_s on the wrench's clock (the samples' own times);
 * INFINITY: all.  For speed x, until_s is the first sample's time plus x times the time passed. */
size_t bw_wrench_due(const bw_wrench *wrench, double until_s);

/* The time of the first sample whose line is not sent yet; INFINITY where there is none. */
double bw_wrench_next_s(const bw_wrench *wrench);

/* Sends of what is due as much as fits without waiting, and drops what the device's end sent.
 * Where bytes are still due after it, wait until the handle can be written.  BW_E_STATE while
 * unplugged, BW_E_IO. */
BW_MUST_USE bw_status bw_wrench_send(bw_wrench *wrench, double until_s, bw_err *err);

#endif
