/* draw_pages.c - strips onto pages, and the pages into a file.  See draw.h and draw_int.h. */
#include "face/draw_int.h"

#include "base/clock.h"
#include "base/text.h"

#include <string.h>

enum { ARENA_BYTES = 256 << 20, LINE_BYTES = 400 };

static const double points_of_mm = 72 / 25.4;

/* ISO 216 and ANSI sizes, in points. */
static const struct {
    double width, height;
} papers[BW_PAPER_COUNT] = {[BW_PAPER_A4] = {595.276, 841.89}, [BW_PAPER_LETTER] = {612, 792}};

static const double margin = 48, head_room = 66, foot_room = 52;
static const double tag_width_mm = 100, tag_height_mm = 62;

void *bw_draw_room(bw_drawing *d, size_t n, size_t size) {
    void *room = bw_arena_alloc(d->arena, n, size);
    d->failed = d->failed || room == NULL;
    return room;
}

/* An array twice as large, with what it had; *room is untouched when memory is out. */
static void *larger(bw_drawing *d, const void *old, size_t n, size_t size, size_t *room) {
    size_t more = *room == 0 ? 256 : 2 * *room;
    void *grown = bw_draw_room(d, more, size);
    if (grown != NULL && n > 0) {
        memcpy(grown, old, n * size);
    }
    *room = grown != NULL ? more : *room;
    return grown;
}

bw_strip *bw_add_strip(bw_drawing *d, bw_strip_draw *draw, const void *what, double height) {
    if (d->strip_n == d->strip_room) {
        bw_strip *grown = larger(d, d->strip, d->strip_n, sizeof *grown, &d->strip_room);
        if (grown == NULL) {
            return &d->spare;
        }
        d->strip = grown;
    }
    bw_strip *strip = &d->strip[d->strip_n++];
    *strip = (bw_strip){.draw = draw, .what = what, .height = height};
    return strip;
}

double bw_text_height(const bw_drawing *d, bw_type type, const char *text, double width) {
    double w = 0;
    double h = 0;
    bw_canvas_measure(d->canvas, type, text, width, &w, &h);
    return h;
}

double bw_text_width(const bw_drawing *d, bw_type type, const char *text) {
    double w = 0;
    double h = 0;
    bw_canvas_measure(d->canvas, type, text, 0, &w, &h);
    return w;
}

/* ---- onto pages ---- */

static void place(bw_drawing *d, size_t strip, double *y) {
    if (d->placed_n == d->placed_room) {
        bw_placed *grown = larger(d, d->placed, d->placed_n, sizeof *grown, &d->placed_room);
        if (grown == NULL) {
            return;
        }
        d->placed = grown;
    }
    d->placed[d->placed_n++] = (bw_placed){.strip = strip, .page = d->pages - 1, .y = *y};
    *y += d->strip[strip].height;
}

/* How high this strip is with those that must stay with it; alone where no page has so much room.
 */
static double chain_height(const bw_drawing *d, size_t first) {
    double height = d->strip[first].height;
    for (size_t i = first; d->strip[i].keep && i + 1 < d->strip_n; i++) {
        height += d->strip[i + 1].above + d->strip[i + 1].height;
    }
    return height <= d->bottom - d->top ? height : d->strip[first].height;
}

static void place_all(bw_drawing *d) {
    double y = d->top;
    d->pages = 1;
    for (size_t i = 0; i < d->strip_n; i++) {
        const bw_strip *s = &d->strip[i];
        double above = y > d->top ? s->above : 0;
        bool full = y + above + chain_height(d, i) > d->bottom;
        if (y > d->top && (full || s->new_page)) {
            d->pages++;
            y = d->top;
            above = 0;
            if (s->head > 0) {
                place(d, s->head - 1, &y);
            }
        }
        y += above;
        place(d, i, &y);
    }
}

/* ---- what is on every page ---- */

static void draw_frame(const bw_drawing *d, size_t page) {
    const bw_sheet *sheet = d->sheet;
    char number[LINE_BYTES];
    double right = d->left + d->width;
    double foot = d->page_height - foot_room + 16;
    if (sheet->warning != NULL) {
        bw_canvas_across(d->canvas, d->page_width, d->page_height, "REHEARSAL");
        bw_canvas_text(d->canvas, BW_TYPE_STRONG, BW_ALIGN_MIDDLE, d->page_width / 2, 20, 0,
                       sheet->warning);
    }
    double title = bw_text_width(d, BW_TYPE_NAME, sheet->title);
    double about = bw_text_width(d, BW_TYPE_STRONG, sheet->about);
    bw_canvas_within(d->canvas, d->left, 30, d->width - title - 12, 18);
    bw_canvas_text(d->canvas, BW_TYPE_STRONG, BW_ALIGN_LEFT, d->left, 34, 0, sheet->about);
    bw_canvas_text(d->canvas, BW_TYPE_NAME, BW_ALIGN_LEFT, d->left + about + 8, 34, 0,
                   sheet->subject);
    bw_canvas_whole(d->canvas);
    bw_canvas_text(d->canvas, BW_TYPE_NAME, BW_ALIGN_RIGHT, right, 34, 0, sheet->title);
    bw_canvas_line(d->canvas, BW_LINE_THIN, d->left, 48, right, 48);
    bw_canvas_line(d->canvas, BW_LINE_HAIR, d->left, foot - 5, right, foot - 5);
    bw_canvas_text(d->canvas, BW_TYPE_SMALL, BW_ALIGN_LEFT, d->left, foot, 0, sheet->foot);
    (void)snprintf(number, sizeof number, "page %zu of %zu", page + 1, d->pages);
    bw_canvas_text(d->canvas, BW_TYPE_SMALL, BW_ALIGN_RIGHT, right, foot, 0, number);
}

static void draw_pages(const bw_drawing *d, const bw_draw_job *job) {
    size_t at = 0;
    for (size_t page = 0; page < d->pages; page++) {
        if (job->told != NULL) {
            job->told(job->told_ctx, page, d->pages);
        }
        if (page > 0) {
            bw_canvas_next_page(d->canvas);
        }
        draw_frame(d, page);
        for (; at < d->placed_n && d->placed[at].page == page; at++) {
            const bw_strip *s = &d->strip[d->placed[at].strip];
            s->draw(d, s, d->placed[at].y);
        }
    }
}

/* ---- the whole ---- */

static void lay_out(bw_drawing *d) {
    bw_add_title(d);
    for (const bw_sheet_section *s = d->sheet->section; s != NULL && !d->failed; s = s->next) {
        size_t first = d->strip_n;
        bw_add_section(d, s);
        for (const bw_sheet_block *b = s->block; b != NULL && !d->failed; b = b->next) {
            bw_add_block(d, b);
        }
        if (s->own_page && first < d->strip_n) {
            d->strip[first].new_page = true;
        }
    }
    if (!d->failed) {
        place_all(d);
    }
}

static void set_paper(bw_drawing *d, const bw_draw_job *job) {
    d->page_width = job->sheet->is_tag ? tag_width_mm * points_of_mm : papers[job->paper].width;
    d->page_height = job->sheet->is_tag ? tag_height_mm * points_of_mm : papers[job->paper].height;
    d->left = margin;
    d->width = d->page_width - 2 * margin;
    d->top = head_room;
    d->bottom = d->page_height - foot_room;
}

static bw_status draw(bw_drawing *d, bw_draw_job *job, bw_err *err) {
    char title[LINE_BYTES];
    bw_text text = bw_text_on(title, sizeof title);
    bw_text_add(&text, "%s %s%s%s", job->sheet->title, job->sheet->about,
                job->sheet->warning != NULL ? ", " : "",
                job->sheet->warning != NULL ? job->sheet->warning : "");
    set_paper(d, job);
    d->pages = 1;
    if (!job->sheet->is_tag) {
        lay_out(d);
    }
    if (d->failed) {
        return bw_fail(err, BW_E_MEM, "no memory to draw the sheet");
    }
    const bw_canvas_paper paper = {.svg = job->svg,
                                   .width = d->page_width,
                                   .height = d->page_height,
                                   .pages = d->pages,
                                   .title = title,
                                   .made_ms = job->sheet->made_ms};
    bw_status status = bw_canvas_begin(d->canvas, &paper, job->out, err);
    if (status != BW_OK) {
        return status;
    }
    if (job->sheet->is_tag) {
        bw_draw_tag(d);
    } else {
        draw_pages(d, job);
    }
    job->pages = d->pages;
    return bw_canvas_end(d->canvas, &job->missing, err);
}

bw_status bw_draw_sheet(bw_draw_job *job, bw_err *err) {
    bw_drawing d = {.sheet = job->sheet, .arena = bw_arena_new(ARENA_BYTES)};
    bw_status status = d.arena == NULL ? bw_fail(err, BW_E_MEM, "no memory to draw the sheet")
                                       : bw_canvas_new(&d.canvas, err);
    if (status == BW_OK) {
        status = draw(&d, job, err);
    }
    bw_canvas_free(d.canvas);
    bw_arena_free(d.arena);
    return status;
}
