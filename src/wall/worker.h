/* worker.h - strangers in their own process: start, ask with a deadline, kill.
 *
 * Room: wall (base only; the one user of libseccomp).  A worker is this same program started
 * again with `--worker ROLE` as its first arguments; it talks frames over one socket (descriptor
 * 3), has no standard input, its rights are given up before the first stranger's byte is read, and
 * the host kills it when a request misses its wall-clock deadline.
 *
 * A frame is a 4-byte little-endian length (of what follows), a 1-byte type and the bytes. */
#ifndef BW_WALL_WORKER_H
#define BW_WALL_WORKER_H

#include "base/status.h"

#include <stddef.h>
#include <stdint.h>

enum { BW_FRAME_BYTES_MAX = 16 << 20, BW_WORKER_FD = 3 };

typedef struct bw_worker bw_worker; /* host side */

typedef struct bw_frame {
    uint8_t type;        /* meaning belongs to the role */
    const uint8_t *data; /* borrowed from the worker, valid until the next call on it */
    size_t len;
} bw_frame;

typedef struct bw_worker_limits {
    size_t memory_bytes; /* address space above what the program itself maps */
    int cpu_s;           /* RLIMIT_CPU, a backstop behind the host's deadline */
} bw_worker_limits;

/* Starts a worker.  role: "sequence", "driver".  Owned by the caller, ended by
 * bw_worker_free.  BW_E_IO where no process could be made. */
BW_MUST_USE bw_status bw_worker_new(const char *role, bw_worker_limits limits, bw_worker **out,
                                    bw_err *err);

/* Kills (SIGKILL), reaps and frees.  NULL is a no-op. */
void bw_worker_free(bw_worker *worker);

/* Sends one frame and waits for one frame, deadline_ms of wall-clock time for both together.
 *
 * Returns BW_OK; BW_E_TIMEOUT the worker was killed for missing the deadline; BW_E_IO it ended or
 * broke the framing (killed); BW_E_LIMIT a frame too long.  After any failure the worker is dead:
 * only bw_worker_free is left. */
BW_MUST_USE bw_status bw_worker_ask(bw_worker *worker, uint8_t type, const void *data, size_t len,
                                    int deadline_ms, bw_frame *reply, bw_err *err);

/* Waits for a further frame of a reply that has several.  As above. */
BW_MUST_USE bw_status bw_worker_more(bw_worker *worker, int deadline_ms, bw_frame *reply,
                                     bw_err *err);

/* How the worker ended, in words, after a failure: "ended by signal 9 (killed)".  Borrowed. */
const char *bw_worker_end(const bw_worker *worker);

/* ---- worker side ---- */

/* Gives up rights for good: rlimits, no-new-privileges, seccomp allow-list (read, write on open
 * descriptors, memory, exit; nothing that opens, connects, starts or signals).  Then tries a
 * forbidden act and fails if it went through.  may_map_code: the driver role, which still has to
 * dlopen one file, calls bw_wall_lock_loading first and this afterwards.
 *
 * BW_E_STATE where the wall does not stand: the worker must end, and the host then refuses
 * strangers' code. */
BW_MUST_USE bw_status bw_wall_lock(bw_err *err);

/* The first, wider wall for a worker that must still load one shared object: opening for reading
 * and mapping are let through, writing, sockets, processes and signals are not. */
BW_MUST_USE bw_status bw_wall_lock_loading(bw_err *err);

/* Blocking; on the worker's descriptor.  BW_E_IO at the end of the host. */
BW_MUST_USE bw_status bw_frame_read(uint8_t *buffer, size_t size, uint8_t *type, size_t *len,
                                    bw_err *err);
BW_MUST_USE bw_status bw_frame_write(uint8_t type, const void *data, size_t len, bw_err *err);

#endif
