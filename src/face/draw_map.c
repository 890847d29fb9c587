/* draw_map.c - the joint as the builder sees it: places to scale, each with the shape of how it
 * stands, and a legend that puts the shapes into words. */
#include "face/draw_int.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

static const double radius_most = 10, radius_least = 1.2, number_least = 4.2, height_most = 250,
                    pad = 6, bar_most = 110, figures_two = 1.05,
                    figures_three = 0.85; /* of a mark's radius */

/* ---- marks ---- */

static void triangle(const bw_drawing *d, bw_line line, double x, double y, double r, double way) {
    static const double white = 1;
    const double xs[] = {x - 1.15 * r, x + 1.15 * r, x};
    const double ys[] = {y + way * 0.75 * r, y + way * 0.75 * r, y - way * 1.2 * r};
    bw_canvas_shape(d->canvas, line, &white, xs, ys, 3);
}

static void diamond(const bw_drawing *d, bw_line line, double x, double y, double r) {
    static const double white = 1;
    const double xs[] = {x - 1.25 * r, x, x + 1.25 * r, x};
    const double ys[] = {y, y - 1.25 * r, y, y + 1.25 * r};
    bw_canvas_shape(d->canvas, line, &white, xs, ys, 4);
}

/* Filled: it holds.  A circle by its verdict, a square by decision; open shapes: it does not. */
static void shape(const bw_drawing *d, bw_mark mark, double x, double y, double r) {
    static const double black = 0, white = 1;
    const bw_line line = {.width = fmin(0.9, 0.22 * r + 0.2)};
    switch (mark) {
    case BW_MARK_ACCEPTED:
        bw_canvas_circle(d->canvas, (bw_line){0}, &black, x, y, r);
        break;
    case BW_MARK_DECIDED:
        bw_canvas_box(d->canvas, (bw_line){0}, &black, x - r, y - r, 2 * r, 2 * r);
        break;
    case BW_MARK_LOW:
        triangle(d, line, x, y, r, -1);
        break;
    case BW_MARK_HIGH:
        triangle(d, line, x, y, r, 1);
        break;
    case BW_MARK_SUSPECT:
        diamond(d, line, x, y, r);
        break;
    case BW_MARK_PART:
        bw_canvas_circle(d->canvas, (bw_line){.width = 2 * line.width}, &white, x, y, r);
        break;
    case BW_MARK_OPEN:
    case BW_MARK_NONE:
    case BW_MARK_COUNT:
        bw_canvas_circle(d->canvas,
                         (bw_line){.width = 0.5, .dash = mark == BW_MARK_OPEN ? 0.35 * r : 0},
                         &white, x, y, r);
        break;
    }
}

void bw_draw_mark(const bw_drawing *d, bw_mark mark, double x, double y, double radius,
                  const char *text) {
    bool dark = mark == BW_MARK_ACCEPTED || mark == BW_MARK_DECIDED;
    shape(d, mark, x, y, radius);
    if (text != NULL) {
        bw_type type = {.size = radius * (strlen(text) > 2 ? figures_three : figures_two),
                        .bold = true,
                        .grey = dark ? 1 : 0};
        bw_canvas_text(d->canvas, type, BW_ALIGN_MIDDLE, x, y - 0.59 * type.size, 0, text);
    }
}

/* ---- to scale ---- */

/* How a map lies on the page. */
typedef struct lie {
    const bw_sheet_map *map;
    double scale; /* points for 1 mm of the joint */
    double left_mm, top_mm;
    double radius;
    double x, height; /* left edge; of the places' part */
    bool turns;       /* there is room for them */
    bool numbers;     /* fit into the marks; else beside every `every`th */
    size_t every;
    size_t boxes_across; /* in a line at each place; 0: no room for them */
} lie;

static double nearest_mm(const bw_sheet_map *map) {
    double nearest = INFINITY;
    for (size_t i = 0; i < map->n; i++) {
        for (size_t k = i + 1; k < map->n; k++) {
            nearest = fmin(nearest, hypot(map->place[i].point.x_mm - map->place[k].point.x_mm,
                                          map->place[i].point.y_mm - map->place[k].point.y_mm));
        }
    }
    return nearest;
}

static void span(const bw_sheet_map *map, double *x0, double *y0, double *x1, double *y1) {
    *x0 = *y0 = INFINITY;
    *x1 = *y1 = -INFINITY;
    for (size_t i = 0; i < map->n; i++) {
        *x0 = fmin(*x0, map->place[i].point.x_mm);
        *x1 = fmax(*x1, map->place[i].point.x_mm);
        *y0 = fmin(*y0, map->place[i].point.y_mm);
        *y1 = fmax(*y1, map->place[i].point.y_mm);
    }
}

enum { ACROSS_MAX = 4 /* no wider than the map's edge has room for */ };

/* As many in a line as fit between two places, and the lines as well. */
static size_t boxes_across(const bw_sheet_map *map, double apart, double radius) {
    double room = floor((apart - 2) / BW_BOX_SIDE);
    size_t most = map->boxes < ACROSS_MAX ? map->boxes : ACROSS_MAX;
    size_t across = room < (double)most ? (size_t)fmax(room, 0) : most;
    size_t lines = across > 0 ? (map->boxes + across - 1) / across : 0;
    bool fit = lines == 1 || 2 * radius + (double)lines * BW_BOX_SIDE + 5 <= apart;
    return fit ? across : 0;
}

static void lay(const bw_drawing *d, const bw_sheet_map *map, lie *l) {
    double x0 = 0;
    double y0 = 0;
    double x1 = 0;
    double y1 = 0;
    double edge = radius_most + pad;
    bool dense = map->n > 60;
    double most = (dense ? 2 : 1) * height_most;
    span(map, &x0, &y0, &x1, &y1);
    double across = (d->width - 2 * edge) / fmax(x1 - x0, 1e-9);
    double down = (most - 2 * edge) / fmax(y1 - y0, 1e-9);
    double nearest = nearest_mm(map);
    /* closer together than this no map needs to be drawn larger */
    double enough = (map->boxes > 0 ? 84 : 62) / fmax(nearest, 1e-9);
    l->map = map;
    l->scale = fmin(fmin(across, down), isfinite(nearest) ? enough : 1);
    l->left_mm = x0;
    l->top_mm = y1;
    double apart = isfinite(nearest) ? nearest * l->scale : 4 * radius_most;
    l->radius = fmax(radius_least, fmin(radius_most, 0.4 * apart));
    l->numbers = figures_three * l->radius >= number_least;
    l->turns = apart >= 2 * l->radius + 18;
    l->every = l->numbers ? 1 : (size_t)ceil(26 / fmax(apart, 1));
    l->height = (y1 - y0) * l->scale + 2 * edge;
    l->x = d->left + edge;
    l->boxes_across = boxes_across(map, apart, l->radius);
    if (l->boxes_across > 0) {
        l->height += bw_boxes_height(map->boxes, l->boxes_across) + 4;
    }
}

static double place_x(const lie *l, const bw_sheet_place *p) {
    return l->x + (p->point.x_mm - l->left_mm) * l->scale;
}

static double place_y(const lie *l, const bw_sheet_place *p, double y) {
    return y + radius_most + pad + (l->top_mm - p->point.y_mm) * l->scale;
}

static void draw_outside_number(const bw_drawing *d, const lie *l, size_t i, double y) {
    const bw_sheet_place *p = &l->map->place[i];
    double middle_x = 0;
    double middle_y = 0;
    char number[24];
    for (size_t k = 0; k < l->map->n; k++) {
        middle_x += place_x(l, &l->map->place[k]) / (double)l->map->n;
        middle_y += place_y(l, &l->map->place[k], y) / (double)l->map->n;
    }
    double dx = place_x(l, p) - middle_x;
    double dy = place_y(l, p, y) - middle_y;
    double far = fmax(hypot(dx, dy), 1e-9);
    (void)snprintf(number, sizeof number, "%zu", p->number);
    bw_canvas_text(d->canvas, (bw_type){.size = 5}, BW_ALIGN_MIDDLE,
                   place_x(l, p) + dx / far * (l->radius + 7),
                   place_y(l, p, y) + dy / far * (l->radius + 6) - 3, 0, number);
}

static void draw_map(const bw_drawing *d, const bw_strip *s, double y) {
    const lie *l = s->with;
    for (size_t i = 0; i < l->map->n; i++) {
        const bw_sheet_place *p = &l->map->place[i];
        double px = place_x(l, p);
        double py = place_y(l, p, y);
        char text[24];
        (void)snprintf(text, sizeof text, "%zu", p->number);
        bw_draw_mark(d, p->mark, px, py, l->radius, l->numbers ? text : NULL);
        if (!l->numbers && i % l->every == 0) {
            draw_outside_number(d, l, i, y);
        }
        if (l->turns && l->map->n > 1) {
            (void)snprintf(text, sizeof text, "%zu", p->turn);
            bw_canvas_text(d->canvas, (bw_type){.size = 6, .grey = 0.2}, BW_ALIGN_LEFT,
                           px + l->radius * 0.85 + 1, py - l->radius - 2, 0, text);
        }
        if (l->boxes_across > 0) {
            bw_draw_boxes(d, l->map->boxes, l->boxes_across,
                          px - (double)l->boxes_across * BW_BOX_SIDE / 2, py + l->radius + 2.5);
        }
    }
}

/* The largest of 1, 2, 5 times a power of ten that is not too long. */
static double round_length(double most) {
    static const double steps[] = {5, 2, 1};
    double power = pow(10, floor(log10(most)));
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        if (steps[i] * power <= most) {
            return steps[i] * power;
        }
    }
    return power;
}

static double draw_bar(const bw_drawing *d, const lie *l, double x, double y) {
    char text[40];
    double bar_mm = round_length(bar_most / l->scale);
    double end = x + bar_mm * l->scale;
    bw_canvas_line(d->canvas, BW_LINE_THIN, x, y + 5, end, y + 5);
    bw_canvas_line(d->canvas, BW_LINE_THIN, x, y + 2.5, x, y + 7.5);
    bw_canvas_line(d->canvas, BW_LINE_THIN, end, y + 2.5, end, y + 7.5);
    (void)snprintf(text, sizeof text, "%g mm", bar_mm);
    bw_canvas_text(d->canvas, BW_TYPE_SMALL, BW_ALIGN_LEFT, end + 4, y + 1, 0, text);
    return end + 4 + bw_text_width(d, BW_TYPE_SMALL, text) + 18;
}

/* ---- legend ---- */

static void draw_legend(const bw_drawing *d, const bw_strip *s, double y) {
    const bw_sheet_map *map = s->what;
    const lie *l = s->with;
    double x = l != NULL ? draw_bar(d, l, d->left, y) : d->left;
    char text[80];
    for (int mark = BW_MARK_ACCEPTED; mark < BW_MARK_COUNT; mark++) {
        size_t n = 0;
        for (size_t i = 0; i < map->n; i++) {
            n += map->place[i].mark == (bw_mark)mark ? 1 : 0;
        }
        if (n == 0) {
            continue;
        }
        (void)snprintf(text, sizeof text, "%zu %s", n, bw_mark_word((bw_mark)mark));
        bw_draw_mark(d, (bw_mark)mark, x + 4, y + 5, 3.4, NULL);
        bw_canvas_text(d->canvas, BW_TYPE_SMALL, BW_ALIGN_LEFT, x + 11, y + 1, 0, text);
        x += 11 + bw_text_width(d, BW_TYPE_SMALL, text) + 14;
    }
    if (l != NULL && l->turns && map->n > 1) {
        bw_canvas_text(d->canvas, BW_TYPE_SMALL, BW_ALIGN_RIGHT, d->left + d->width, y + 1, 0,
                       "in the shape: place; beside it: its turn in the order");
    }
}

static void add_legend(bw_drawing *d, const bw_sheet_map *map, const lie *l) {
    bw_strip *s = bw_add_strip(d, draw_legend, map, 12);
    s->with = l;
    s->above = 2;
}

void bw_add_map(bw_drawing *d, const bw_sheet_map *map) {
    lie *l = map->to_scale ? bw_draw_room(d, 1, sizeof *l) : NULL;
    if (l != NULL) {
        lay(d, map, l);
        bw_strip *s = bw_add_strip(d, draw_map, map, l->height);
        s->with = l;
        s->above = 4;
        s->keep = true;
    }
    if (!map->to_scale) {
        bw_add_list(d, map);
    }
    add_legend(d, map, l);
}
