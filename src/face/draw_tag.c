/* draw_tag.c - a label for the engine: one small page. */
#include "face/draw_int.h"

#include <math.h>

static const double edge = 12, code_side = 86, name_width = 46;

static const bw_qr *code_of(const bw_sheet *sheet) {
    for (const bw_sheet_block *b = sheet->section->block; b != NULL; b = b->next) {
        if (b->kind == BW_BLOCK_CODE) {
            return b->code;
        }
    }
    return NULL;
}

/* Longer texts are set smaller, so that nothing is cut. */
static double draw_facts(const bw_drawing *d, const bw_sheet_fact *fact, double y, double width,
                         double size, bool draws) {
    for (; fact != NULL; fact = fact->next) {
        bw_type type = {.size = size};
        bw_type name = {.size = size, .grey = 0.35};
        if (draws) {
            bw_canvas_text(d->canvas, name, BW_ALIGN_LEFT, edge, y, 0, fact->name);
            bw_canvas_text(d->canvas, type, BW_ALIGN_LEFT, edge + name_width, y, width - name_width,
                           fact->text);
        }
        y += bw_text_height(d, type, fact->text, width - name_width) + 2;
    }
    return y;
}

void bw_draw_tag(const bw_drawing *d) {
    const bw_sheet *sheet = d->sheet;
    const bw_qr *code = code_of(sheet);
    double width = d->page_width - 2 * edge - (code != NULL ? code_side + 8 : 0);
    double top = edge + 26;
    double bottom = d->page_height - edge - 8;
    double size = 7.5;
    double about = 15;
    const bw_type warns = {.size = 6.5, .bold = true};
    double head = d->page_width - 2 * edge;
    if (sheet->warning != NULL) {
        bw_canvas_across(d->canvas, d->page_width, d->page_height, "REHEARSAL");
        bw_canvas_text(d->canvas, warns, BW_ALIGN_RIGHT, d->page_width - edge, edge + 8, 0,
                       sheet->warning);
        head -= bw_text_width(d, warns, sheet->warning) + 8;
    }
    while (about > 4 &&
           bw_text_width(d, (bw_type){.size = about, .bold = true}, sheet->about) > head) {
        about -= 0.5;
    }
    bw_canvas_text(d->canvas, (bw_type){.size = about, .bold = true}, BW_ALIGN_LEFT, edge, edge, 0,
                   sheet->about);
    bw_canvas_line(d->canvas, BW_LINE_THIN, edge, edge + 21, d->page_width - edge, edge + 21);
    const bw_sheet_fact *fact = sheet->section->block->fact;
    while (size > 3 && draw_facts(d, fact, top, width, size, false) > bottom) {
        size -= 0.25;
    }
    (void)draw_facts(d, fact, top, width, size, true);
    if (code != NULL) {
        bw_draw_code(d, code, d->page_width - edge - code_side, top + 6, code_side);
    }
    bw_canvas_text(d->canvas, (bw_type){.size = 5.5, .grey = 0.25}, BW_ALIGN_LEFT, edge, bottom, 0,
                   sheet->foot);
}
