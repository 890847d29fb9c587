/* qr.h - QR codes (ISO/IEC 18004), for keys and checkpoints that travel on paper.
 *
 * Room: face; the one user of libqrencode. */
#ifndef BW_FACE_QR_H
#define BW_FACE_QR_H

#include "base/arena.h"
#include "base/status.h"

#include <stdint.h>
#include <stdio.h>

typedef struct bw_qr {
    size_t side;         /* modules along one side, without the quiet zone of 4 */
    const uint8_t *dark; /* side * side, row by row: 1 dark, 0 light */
} bw_qr;

/* The bytes of text in the smallest code that corrects a quarter of its modules (level Q, or less
 * where the text is long).  BW_E_LIMIT where it is too long for any; BW_E_MEM. */
BW_MUST_USE bw_status bw_qr_make(const char *text, bw_arena *arena, bw_qr *out, bw_err *err);

/* Prints it in half blocks (U+2580), light on dark as on a terminal with light letters, quiet zone
 * included. */
BW_MUST_USE bw_status bw_qr_print(const char *text, FILE *out, bw_err *err);

#endif
