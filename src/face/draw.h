/* draw.h - a sheet drawn on pages, as PDF or SVG.
 *
 * Room: face.  What draws is a shared object of its own, loaded when the first sheet is drawn: it
 * and the libraries behind it cost every other command nothing. */
#ifndef BW_FACE_DRAW_H
#define BW_FACE_DRAW_H

#include "face/sheet.h"

#include <stdio.h>

typedef enum bw_paper { BW_PAPER_A4 = 0, BW_PAPER_LETTER, BW_PAPER_COUNT } bw_paper;

/* "a4", "letter"; NULL outside of the enum. */
const char *bw_paper_word(bw_paper paper);

typedef struct bw_draw_job {
    const bw_sheet *sheet;
    bw_paper paper; /* a tag has its own size */
    bool svg;
    FILE *out;
    void (*told)(void *ctx, size_t page, size_t pages); /* before each page; NULL: nobody asks */
    void *told_ctx;
    size_t pages;   /* out: how many there are */
    size_t missing; /* out: characters that no font here has; they are drawn as boxes */
} bw_draw_job;

/* What the shared object exports. */
typedef bw_status bw_draw_fn(bw_draw_job *job, bw_err *err);
__attribute__((visibility("default"))) BW_MUST_USE bw_status bw_draw_sheet(bw_draw_job *job,
                                                                           bw_err *err);
#define BW_DRAW_NAME "bw_draw_sheet"

/* draw_load.c, in the program itself: loads the shared object and draws.  BW_E_ABSENT where it or
 * the font is not installed; BW_E_IO where not all could be written. */
BW_MUST_USE bw_status bw_draw(bw_draw_job *job, bw_err *err);

#endif
