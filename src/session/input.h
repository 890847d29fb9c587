/* input.h - lines of text that wait for the prompt that wants them.
 *
 * Room: session.  A script may write all its answers at once: lines wait here until a prompt takes
 * them.  Bytes come from a descriptor in the turn's loop, or are pushed by the program. */
#ifndef BW_SESSION_INPUT_H
#define BW_SESSION_INPUT_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

enum { BW_LINE_MAX = 4096 };

typedef struct bw_input bw_input;

bw_input *bw_input_new(void); /* NULL: no memory; freed by bw_input_free */
void bw_input_free(bw_input *input);

/* Takes bytes; lines end in LF (CR before it is dropped).  A line over BW_LINE_MAX bytes is cut
 * there and ends as a line that no prompt accepts.  BW_E_MEM. */
BW_MUST_USE bw_status bw_input_bytes(bw_input *input, const char *bytes, size_t n, bw_err *err);

/* Bytes that wait. */
size_t bw_input_waiting(const bw_input *input);

/* No more will come; a last line without LF counts as a line. */
void bw_input_end(bw_input *input);
bool bw_input_ended(const bw_input *input);

/* The oldest line, borrowed until the next call; NULL where none waits. */
const char *bw_input_peek(bw_input *input);
void bw_input_drop(bw_input *input);

#endif
