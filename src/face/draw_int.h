/* draw_int.h - what the files that draw share.
 *
 * Room-private, in the shared object.  A sheet becomes strips: pieces that are never broken over
 * pages, as wide as the page.  Strips are placed on pages, then drawn. */
#ifndef BW_FACE_DRAW_INT_H
#define BW_FACE_DRAW_INT_H

#include "face/canvas.h"
#include "face/draw.h"

typedef struct bw_strip bw_strip;
typedef struct bw_drawing bw_drawing;

/* Draws a strip whose top is at y. */
typedef void bw_strip_draw(const bw_drawing *d, const bw_strip *strip, double y);

struct bw_strip {
    double above; /* space before it, but not at the top of a page */
    double height;
    bool keep;     /* on one page with the next */
    bool new_page; /* begins one */
    size_t head;   /* 1 + index of the strip to repeat where a page begins with this one; 0 */
    bw_strip_draw *draw;
    const void *what, *with;
    size_t index;
};

typedef struct bw_placed {
    size_t strip, page;
    double y;
} bw_placed;

struct bw_drawing {
    bw_canvas *canvas;
    const bw_sheet *sheet;
    bw_arena *arena;
    double page_width, page_height;
    double left, width; /* of what is printed */
    double top, bottom; /* where strips may be */
    bw_strip *strip;
    size_t strip_n, strip_room;
    bw_placed *placed;
    size_t placed_n, placed_room;
    size_t pages;
    bw_strip spare;
    bool failed; /* no memory: what is drawn goes to spare, and is thrown away */
};

/* The sheet's types: few sizes, two weights. */
#define BW_TYPE_TITLE   ((bw_type){.size = 20})
#define BW_TYPE_ABOUT   ((bw_type){.size = 12, .bold = true})
#define BW_TYPE_SECTION ((bw_type){.size = 11, .bold = true})
#define BW_TYPE_HEADING ((bw_type){.size = 8.5, .bold = true})
#define BW_TYPE_TEXT    ((bw_type){.size = 7.5})
#define BW_TYPE_STRONG  ((bw_type){.size = 7.5, .bold = true})
#define BW_TYPE_NAME    ((bw_type){.size = 7.5, .grey = 0.35})
#define BW_TYPE_CELL    ((bw_type){.size = 7})
#define BW_TYPE_SMALL   ((bw_type){.size = 6.5, .grey = 0.25})
#define BW_LINE_HAIR    ((bw_line){.width = 0.25, .grey = 0.6})
#define BW_LINE_THIN    ((bw_line){.width = 0.5, .grey = 0})

/* Memory of the drawing; NULL, and remembered, when it is out. */
void *bw_draw_room(bw_drawing *d, size_t n, size_t size);
/* A new strip at the end, all zero but draw, what and height. */
bw_strip *bw_add_strip(bw_drawing *d, bw_strip_draw *draw, const void *what, double height);
double bw_text_height(const bw_drawing *d, bw_type type, const char *text, double width);
double bw_text_width(const bw_drawing *d, bw_type type, const char *text);

/* A mark of that radius about x, y; with a number in it where text is not NULL and it fits. */
void bw_draw_mark(const bw_drawing *d, bw_mark mark, double x, double y, double radius,
                  const char *text);

/* Boxes to be filled in by hand, of any number, `across` (above 0) in a line. */
#define BW_BOX_SIDE 7.5
double bw_boxes_height(size_t n, size_t across);
void bw_draw_boxes(const bw_drawing *d, size_t n, size_t across, double x, double y);

/* Each adds the strips of one block. */
void bw_add_block(bw_drawing *d, const bw_sheet_block *block);
void bw_add_title(bw_drawing *d);
void bw_add_section(bw_drawing *d, const bw_sheet_section *section);
void bw_add_table(bw_drawing *d, const bw_sheet_table *table);
void bw_add_map(bw_drawing *d, const bw_sheet_map *map);
/* The places of a map that is not to scale. */
void bw_add_list(bw_drawing *d, const bw_sheet_map *map);
void bw_add_plots(bw_drawing *d, const bw_sheet_plot *plot);

void bw_draw_code(const bw_drawing *d, const bw_qr *code, double x, double y, double side);
/* A tag is one small page, drawn as a whole. */
void bw_draw_tag(const bw_drawing *d);

#endif
