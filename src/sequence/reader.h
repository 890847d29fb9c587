/* reader.h - from the worker's answer to a plan, believing none of it.
 *
 * Room: sequence, private to it.  Pure but for the arena: bytes in, a plan or mistakes out. */
#ifndef BW_SEQUENCE_READER_H
#define BW_SEQUENCE_READER_H

#include "base/arena.h"
#include "base/status.h"
#include "sequence/sequence.h"
#include "sequence/wire.h"

#include <stddef.h>
#include <stdint.h>

/* data    the body of a BW_FRAME_DONE.
 * file    [file_n >= 1], names of the sources for messages; borrowed for as long as the arena.
 * source  [file_n], their texts, to find the lines of fields; NULL where they are not known.
 *
 * Fills in out->plan and out->mistake*, one of which is empty; the rest of out is left alone.
 * BW_E_DATA where the bytes are none of wire.h's; BW_E_LIMIT, BW_E_MEM where the arena is full. */
BW_MUST_USE bw_status bw_reader_plan(const uint8_t *data, size_t len, const char *const *file,
                                     size_t file_n, const bw_source *source, bw_arena *arena,
                                     bw_loaded *out, bw_err *err);

/* The value of a calculation, in the arena.  BW_E_DATA with the first mistake's text. */
BW_MUST_USE bw_status bw_reader_result(const uint8_t *data, size_t len, bw_arena *arena,
                                       const bw_value **out, bw_err *err);

#endif
