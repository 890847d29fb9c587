/* qr.c - see qr.h. */
#include "face/qr.h"

#include <errno.h>
#include <qrencode.h>
#include <stdbool.h>
#include <string.h>

enum { QUIET = 4, ARENA_BYTES = 1 << 20 };

bw_status bw_qr_make(const char *text, bw_arena *arena, bw_qr *out, bw_err *err) {
    static const QRecLevel levels[] = {QR_ECLEVEL_Q, QR_ECLEVEL_M, QR_ECLEVEL_L};
    QRcode *code = NULL;
    for (size_t i = 0; code == NULL && i < sizeof levels / sizeof levels[0]; i++) {
        code = QRcode_encodeData((int)strlen(text), (const unsigned char *)text, 0, levels[i]);
    }
    if (code == NULL) {
        return errno == ERANGE ? bw_fail(err, BW_E_LIMIT, "the text is too long for a QR code")
                               : bw_fail(err, BW_E_MEM, "no memory for a QR code");
    }
    size_t side = (size_t)code->width;
    uint8_t *dark = bw_arena_alloc(arena, side * side, 1);
    for (size_t i = 0; dark != NULL && i < side * side; i++) {
        dark[i] = code->data[i] & 1;
    }
    QRcode_free(code);
    if (dark == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory for a QR code");
    }
    *out = (bw_qr){.side = side, .dark = dark};
    return BW_OK;
}

/* Of the code with its quiet zone, which is light. */
static bool light(const bw_qr *qr, size_t row, size_t column) {
    bool inside = row >= QUIET && column >= QUIET && row < qr->side + QUIET &&
                  column < qr->side + QUIET;
    return !inside || qr->dark[(row - QUIET) * qr->side + column - QUIET] == 0;
}

static void print(const bw_qr *qr, FILE *out) {
    /* Upper module light, lower module light. */
    static const char *const blocks[2][2] = {{" ", "\xE2\x96\x84"},
                                             {"\xE2\x96\x80", "\xE2\x96\x88"}};
    size_t side = qr->side + 2 * (size_t)QUIET;
    for (size_t row = 0; row < side; row += 2) {
        for (size_t column = 0; column < side; column++) {
            bool below = row + 1 < side && light(qr, row + 1, column);
            (void)fputs(blocks[light(qr, row, column)][below], out);
        }
        (void)fputc('\n', out);
    }
}

bw_status bw_qr_print(const char *text, FILE *out, bw_err *err) {
    bw_arena *arena = bw_arena_new(ARENA_BYTES);
    bw_qr qr = {0};
    bw_status status = arena == NULL ? bw_fail(err, BW_E_MEM, "no memory for a QR code")
                                     : bw_qr_make(text, arena, &qr, err);
    if (status == BW_OK) {
        print(&qr, out);
    }
    bw_arena_free(arena);
    return status;
}
