/* load.h - what loading and calculating share on the host's side.
 *
 * Room: sequence, private to it. */
#ifndef BW_SEQUENCE_LOAD_H
#define BW_SEQUENCE_LOAD_H

#include "base/status.h"
#include "sequence/wire.h"
#include "wall/worker.h"

#include <stddef.h>

/* A worker behind its wall, ready for one run.  BW_E_STATE where the wall does not stand; else as
 * bw_worker_new.  Owned by the caller. */
BW_MUST_USE bw_status bw_sequence_worker(bw_worker **out, bw_err *err);

/* What a BW_FRAME_LIMIT says, in the author's words; static.  *spot is always one that can be. */
const char *bw_sequence_limit_text(const bw_frame *frame, bw_spot *spot);

/* What to tell an author whose text ended the worker without an answer; NULL where rc says that
 * the machine failed and not the text. */
const char *bw_sequence_end_text(bw_status rc, const bw_worker *worker, char *out, size_t size);

#endif
