/* draw_list.c - a joint whose places have no positions: they stand in rows, each with its label;
 * and boxes to tick, of any number. */
#include "face/draw_int.h"

#include <math.h>
#include <string.h>

enum { COLUMNS_MAX = 8 };

static const double mark_room = 20, gap = 6, mark_radius = 8, row_pad = 8;

/* ---- boxes ---- */

double bw_boxes_height(size_t n, size_t across) {
    size_t lines = (n + across - 1) / across;
    return (double)lines * BW_BOX_SIDE;
}

void bw_draw_boxes(const bw_drawing *d, size_t n, size_t across, double x, double y) {
    for (size_t i = 0; i < n; i++) {
        size_t line = i / across;
        size_t column = i % across;
        bw_canvas_box(d->canvas, (bw_line){.width = 0.5}, NULL, x + (double)column * BW_BOX_SIDE,
                      y + (double)line * BW_BOX_SIDE, BW_BOX_SIDE, BW_BOX_SIDE);
    }
}

/* ---- the list ---- */

typedef struct list {
    size_t columns;
    double step; /* from one column to the next */
    size_t boxes_across;
} list;

/* "" where the label is the number in the mark. */
static const char *label_of(const bw_sheet_place *p) {
    char number[24];
    (void)snprintf(number, sizeof number, "%zu", p->number);
    return strcmp(number, p->label) == 0 ? "" : p->label;
}

/* As many columns as the longest label lets stand side by side; below two, labels are broken. */
static void lay(const bw_drawing *d, const bw_sheet_map *map, list *l) {
    double longest = 5 * BW_BOX_SIDE;
    for (size_t i = 0; i < map->n; i++) {
        longest = fmax(longest, bw_text_width(d, BW_TYPE_SMALL, label_of(&map->place[i])));
    }
    double columns = floor(d->width / (mark_room + longest + gap));
    l->columns = (size_t)fmin(fmax(columns, 2), COLUMNS_MAX);
    l->step = d->width / (double)l->columns;
    l->boxes_across = (size_t)floor((l->step - mark_room - gap) / BW_BOX_SIDE);
}

static double label_height(const bw_drawing *d, const list *l, const bw_sheet_place *p) {
    const char *label = label_of(p);
    return label[0] != '\0' ? bw_text_height(d, BW_TYPE_SMALL, label, l->step - mark_room - gap)
                            : 0;
}

static double row_height(const bw_drawing *d, const list *l, const bw_sheet_map *map,
                         size_t first) {
    double height = 2 * mark_radius;
    double boxes = map->boxes > 0 ? bw_boxes_height(map->boxes, l->boxes_across) + 2 : 0;
    for (size_t i = first; i < first + l->columns && i < map->n; i++) {
        height = fmax(height, label_height(d, l, &map->place[i]) + boxes);
    }
    return height + row_pad;
}

static void draw_row(const bw_drawing *d, const bw_strip *s, double y) {
    const bw_sheet_map *map = s->what;
    const list *l = s->with;
    double middle = y + (s->height - row_pad) / 2;
    for (size_t i = 0; i < l->columns && s->index + i < map->n; i++) {
        const bw_sheet_place *p = &map->place[s->index + i];
        double x = d->left + l->step * (double)i;
        double boxes = map->boxes > 0 ? bw_boxes_height(map->boxes, l->boxes_across) + 2 : 0;
        double height = label_height(d, l, p);
        double top = middle - (height + boxes) / 2;
        char number[24];
        (void)snprintf(number, sizeof number, "%zu", p->number);
        bw_draw_mark(d, p->mark, x + 9, middle, mark_radius, number);
        bw_canvas_text(d->canvas, BW_TYPE_SMALL, BW_ALIGN_LEFT, x + mark_room, top,
                       l->step - mark_room - gap, label_of(p));
        if (map->boxes > 0) {
            bw_draw_boxes(d, map->boxes, l->boxes_across, x + mark_room, top + height + 2);
        }
    }
}

void bw_add_list(bw_drawing *d, const bw_sheet_map *map) {
    list *l = bw_draw_room(d, 1, sizeof *l);
    if (l == NULL) {
        return;
    }
    lay(d, map, l);
    for (size_t i = 0; i < map->n; i += l->columns) {
        bw_strip *s = bw_add_strip(d, draw_row, map, row_height(d, l, map, i));
        s->with = l;
        s->index = i;
        s->above = i == 0 ? 6 : 0;
        s->keep = i + l->columns >= map->n;
    }
}
