/* draw_load.c - from the program to the shared object that draws.  See draw.h. */
#include "face/draw.h"

#include "base/object.h"

const char *bw_paper_word(bw_paper paper) {
    static const char *const words[BW_PAPER_COUNT] = {
        [BW_PAPER_A4] = "a4", [BW_PAPER_LETTER] = "letter"};
    return (size_t)paper < BW_PAPER_COUNT ? words[paper] : NULL;
}

bw_status bw_draw(bw_draw_job *job, bw_err *err) {
    bw_draw_fn *draw = NULL;
    bw_status status = bw_object_find("boltwright-draw.so", BW_DRAW_NAME, &draw, err);
    return status == BW_OK ? draw(job, err) : status;
}
