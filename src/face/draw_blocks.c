/* draw_blocks.c - titles, paragraphs, facts, frames, verbatim lines, codes, lines to sign on. */
#include "face/draw_int.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

static const double name_width = 72, frame = 6, code_side = 104, sign_height = 40;

/* ---- the title ---- */

static void draw_title(const bw_drawing *d, const bw_strip *s, double y) {
    (void)s;
    bw_canvas_text(d->canvas, BW_TYPE_TITLE, BW_ALIGN_LEFT, d->left, y, 0, d->sheet->title);
    bw_canvas_text(d->canvas, BW_TYPE_ABOUT, BW_ALIGN_LEFT, d->left, y + 28, d->width,
                   d->sheet->about);
}

void bw_add_title(bw_drawing *d) {
    double about = bw_text_height(d, BW_TYPE_ABOUT, d->sheet->about, d->width);
    bw_add_strip(d, draw_title, NULL, 28 + about + 8)->keep = true;
}

static void draw_section(const bw_drawing *d, const bw_strip *s, double y) {
    bw_canvas_text(d->canvas, BW_TYPE_SECTION, BW_ALIGN_LEFT, d->left, y, d->width, s->what);
    bw_canvas_line(d->canvas, BW_LINE_THIN, d->left, y + s->height - 4, d->left + d->width,
                   y + s->height - 4);
}

void bw_add_section(bw_drawing *d, const bw_sheet_section *section) {
    if (section->title != NULL) {
        double height = bw_text_height(d, BW_TYPE_SECTION, section->title, d->width);
        bw_strip *s = bw_add_strip(d, draw_section, section->title, height + 8);
        s->above = 20;
        s->keep = true;
    }
}

/* ---- paragraphs ---- */

static void draw_heading(const bw_drawing *d, const bw_strip *s, double y) {
    bw_canvas_text(d->canvas, BW_TYPE_HEADING, BW_ALIGN_LEFT, d->left, y, d->width, s->what);
}

static void draw_text(const bw_drawing *d, const bw_strip *s, double y) {
    bw_canvas_text(d->canvas, BW_TYPE_TEXT, BW_ALIGN_LEFT, d->left, y, d->width, s->what);
}

static void draw_notice(const bw_drawing *d, const bw_strip *s, double y) {
    bw_canvas_box(d->canvas, (bw_line){.width = 0.8}, NULL, d->left, y, d->width, s->height);
    bw_canvas_text(d->canvas, BW_TYPE_STRONG, BW_ALIGN_LEFT, d->left + frame, y + frame - 1,
                   d->width - 2 * frame, s->what);
}

static void add_heading(bw_drawing *d, const bw_sheet_block *block) {
    bw_strip *s = bw_add_strip(d, draw_heading, block->text,
                               bw_text_height(d, BW_TYPE_HEADING, block->text, d->width) + 3);
    s->above = 14;
    s->keep = true;
}

static void add_text(bw_drawing *d, const bw_sheet_block *block) {
    bw_strip *s = bw_add_strip(d, draw_text, block->text,
                               bw_text_height(d, BW_TYPE_TEXT, block->text, d->width));
    s->above = 5;
    s->keep = block->next != NULL &&
              (block->next->kind == BW_BLOCK_VERBATIM || block->next->kind == BW_BLOCK_HEADING ||
               block->next->kind == BW_BLOCK_TABLE);
}

static void add_notice(bw_drawing *d, const bw_sheet_block *block) {
    double inner = d->width - 2 * frame;
    bw_strip *s = bw_add_strip(d, draw_notice, block->text,
                               bw_text_height(d, BW_TYPE_STRONG, block->text, inner) + 2 * frame -
                                   2);
    s->above = 7;
}

/* ---- facts ---- */

static void draw_fact(const bw_drawing *d, const bw_strip *s, double y) {
    const bw_sheet_fact *fact = s->what;
    bw_canvas_text(d->canvas, BW_TYPE_NAME, BW_ALIGN_LEFT, d->left, y, name_width - 6, fact->name);
    bw_canvas_text(d->canvas, BW_TYPE_TEXT, BW_ALIGN_LEFT, d->left + name_width, y,
                   d->width - name_width, fact->text);
}

static void add_facts(bw_drawing *d, const bw_sheet_block *block) {
    for (const bw_sheet_fact *fact = block->fact; fact != NULL; fact = fact->next) {
        double text = bw_text_height(d, BW_TYPE_TEXT, fact->text, d->width - name_width);
        double name = bw_text_height(d, BW_TYPE_NAME, fact->name, name_width - 6);
        bw_strip *s = bw_add_strip(d, draw_fact, fact, fmax(text, name) + 2);
        s->above = fact == block->fact ? 2 : 0;
        s->keep = fact->next != NULL || (block->next != NULL && block->next->kind == BW_BLOCK_MAP);
    }
}

/* ---- verbatim: a strip a line, all in one size ---- */

/* The size in which the longest line fits. */
static double verbatim_size(const bw_drawing *d, const char *text) {
    static const double usual = 7, advance = 0.60205; /* of DejaVu Sans Mono, of its size */
    size_t longest = 1;
    for (const char *at = text; *at != '\0'; at += strspn(at, "\n")) {
        char line[2048];
        size_t len = strcspn(at, "\n");
        (void)snprintf(line, sizeof line, "%.*s", (int)len, at);
        size_t columns = bw_text_columns(line);
        longest = columns > longest ? columns : longest;
        at += len;
    }
    return fmin(usual, (d->width - 2) / (advance * (double)longest));
}

static void draw_verbatim(const bw_drawing *d, const bw_strip *s, double y) {
    const double *size = s->with;
    bw_canvas_text(d->canvas, (bw_type){.size = *size, .mono = true}, BW_ALIGN_LEFT, d->left, y, 0,
                   s->what);
}

static void add_verbatim(bw_drawing *d, const bw_sheet_block *block) {
    double *size = bw_draw_room(d, 1, sizeof *size);
    if (size == NULL) {
        return;
    }
    *size = verbatim_size(d, block->text);
    const char *at = block->text;
    for (bool first = true; *at != '\0'; first = false) {
        size_t len = strcspn(at, "\n");
        const char *line = bw_arena_copy(d->arena, at, len);
        if (line == NULL) {
            d->failed = true;
            return;
        }
        bw_strip *s = bw_add_strip(d, draw_verbatim, line, *size * 1.35);
        s->with = size;
        s->above = first ? 4 : 0;
        at += len + (at[len] == '\n' ? 1 : 0);
        s->keep = *at != '\0';
    }
}

/* ---- codes ---- */

void bw_draw_code(const bw_drawing *d, const bw_qr *code, double x, double y, double side) {
    static const double black = 0;
    static const double white = 1;
    double module = side / (double)code->side;
    double quiet = 4 * module;
    bw_canvas_box(d->canvas, (bw_line){0}, &white, x - quiet, y - quiet, side + 2 * quiet,
                  side + 2 * quiet);
    for (size_t row = 0; row < code->side; row++) {
        for (size_t column = 0; column < code->side;) {
            size_t run = 0;
            while (column + run < code->side && code->dark[row * code->side + column + run] != 0) {
                run++;
            }
            if (run > 0) {
                bw_canvas_box(d->canvas, (bw_line){0}, &black, x + (double)column * module,
                              y + (double)row * module, (double)run * module, module);
            }
            column += run > 0 ? run : 1;
        }
    }
}

static void draw_code(const bw_drawing *d, const bw_strip *s, double y) {
    const bw_sheet_block *block = s->what;
    double quiet = 4 * code_side / (double)block->code->side;
    bw_draw_code(d, block->code, d->left + quiet, y + quiet, code_side);
    bw_canvas_text(d->canvas, BW_TYPE_TEXT, BW_ALIGN_LEFT, d->left + code_side + 3 * quiet,
                   y + quiet, d->width - code_side - 3 * quiet, block->text);
}

/* ---- lines to sign on ---- */

static void draw_sign(const bw_drawing *d, const bw_strip *s, double y) {
    static const struct {
        double from, to;
        const char *says;
    } lines[] = {{0.17, 0.47, "name"}, {0.50, 0.80, "signature"}, {0.83, 1.0, "date"}};
    const bw_sheet_fact *fact = s->what;
    double base = y + sign_height - 12;
    bw_canvas_text(d->canvas, BW_TYPE_STRONG, BW_ALIGN_LEFT, d->left, base - 9, 0, fact->name);
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        double from = d->left + d->width * lines[i].from;
        bw_canvas_line(d->canvas, BW_LINE_THIN, from, base, d->left + d->width * lines[i].to, base);
        bw_canvas_text(d->canvas, BW_TYPE_SMALL, BW_ALIGN_LEFT, from, base + 2, 0, lines[i].says);
    }
    if (fact->text[0] != '\0') {
        bw_canvas_text(d->canvas, BW_TYPE_SMALL, BW_ALIGN_LEFT, d->left, base + 2,
                       d->width * (lines[0].from - 0.01), "by the record:");
        bw_canvas_text(d->canvas, BW_TYPE_TEXT, BW_ALIGN_LEFT, d->left + d->width * lines[0].from,
                       base - 10, 0, fact->text);
    }
}

static void add_sign(bw_drawing *d, const bw_sheet_block *block) {
    for (const bw_sheet_fact *fact = block->fact; fact != NULL; fact = fact->next) {
        bw_add_strip(d, draw_sign, fact, sign_height)->keep = fact->next != NULL;
    }
}

/* ---- all kinds ---- */

void bw_add_block(bw_drawing *d, const bw_sheet_block *block) {
    switch (block->kind) {
    case BW_BLOCK_HEADING:
        add_heading(d, block);
        break;
    case BW_BLOCK_TEXT:
        add_text(d, block);
        break;
    case BW_BLOCK_NOTICE:
        add_notice(d, block);
        break;
    case BW_BLOCK_FACTS:
        add_facts(d, block);
        break;
    case BW_BLOCK_TABLE:
        bw_add_table(d, block->table);
        break;
    case BW_BLOCK_MAP:
        bw_add_map(d, block->map);
        break;
    case BW_BLOCK_PLOTS:
        bw_add_plots(d, block->plot);
        break;
    case BW_BLOCK_VERBATIM:
        add_verbatim(d, block);
        break;
    case BW_BLOCK_CODE:
        bw_add_strip(d, draw_code, block, code_side * (1 + 8.0 / (double)block->code->side))
            ->above = 6;
        break;
    case BW_BLOCK_SIGN:
        add_sign(d, block);
        break;
    }
}
