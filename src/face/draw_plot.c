/* draw_plot.c - torque over turn, the fasteners of a group laid over each other. */
#include "face/draw_int.h"

#include <math.h>
#include <string.h>

enum { PLOTS_ACROSS = 2, KNOTS_MAX = 512 };

static const double plot_height = 128, between = 22, left_room = 30, foot = 24, head = 14,
                    right_room = 16, headroom = 1.06;

/* Where a plot's values lie on the page. */
typedef struct field {
    const bw_sheet_plot *plot;
    double x, y, width, height; /* of the field, y its top */
    double x_end, y_end;        /* values at its right and upper edge */
} field;

static double at_x(const field *f, double value) {
    return f->x + f->width * value / f->x_end;
}

static double at_y(const field *f, double value) {
    return f->y + f->height - f->height * value / f->y_end;
}

/* 1, 2 or 5 times a power of ten, so that there are three to seven of them. */
static double tick_step(double most) {
    double power = pow(10, floor(log10(most / 3)));
    double times = most / 3 / power;
    return power * (times >= 5 ? 5 : times >= 2 ? 2 : 1);
}

static void tick_text(const bw_drawing *d, bw_align align, double x, double y, double value) {
    char text[32];
    (void)snprintf(text, sizeof text, "%g", value);
    bw_canvas_text(d->canvas, (bw_type){.size = 5.5, .grey = 0.25}, align, x, y, 0, text);
}

static void draw_axes(const bw_drawing *d, const field *f) {
    const bw_type name = {.size = 5.5, .grey = 0.25};
    double step = tick_step(f->x_end);
    bw_canvas_line(d->canvas, BW_LINE_THIN, f->x, f->y + f->height, f->x + f->width,
                   f->y + f->height);
    bw_canvas_line(d->canvas, BW_LINE_THIN, f->x, f->y, f->x, f->y + f->height);
    for (int i = 0; i * step <= f->x_end; i++) {
        double x = at_x(f, i * step);
        bw_canvas_line(d->canvas, BW_LINE_THIN, x, f->y + f->height, x, f->y + f->height + 2);
        tick_text(d, BW_ALIGN_MIDDLE, x, f->y + f->height + 3, i * step);
    }
    step = tick_step(f->y_end);
    for (int i = 0; i * step <= f->y_end; i++) {
        double y = at_y(f, i * step);
        bw_canvas_line(d->canvas, BW_LINE_THIN, f->x - 2, y, f->x, y);
        tick_text(d, BW_ALIGN_RIGHT, f->x - 3.5, y - 3.3, i * step);
    }
    bw_canvas_text(d->canvas, name, BW_ALIGN_RIGHT, f->x + f->width, f->y + f->height + 10, 0,
                   f->plot->x_name);
    bw_canvas_text(d->canvas, name, BW_ALIGN_LEFT, f->x - left_room + 2, f->y - 10, 0,
                   f->plot->y_name);
}

static void draw_limits(const bw_drawing *d, const field *f) {
    for (size_t i = 0; i < f->plot->limit_n; i++) {
        const bw_sheet_limit *limit = &f->plot->limit[i];
        double y = at_y(f, limit->y);
        bw_canvas_line(d->canvas, (bw_line){.width = 0.5, .dash = 1.2}, f->x, y, f->x + f->width,
                       y);
        bw_canvas_text(d->canvas, (bw_type){.size = 5.5}, BW_ALIGN_LEFT, f->x + f->width + 2,
                       y - 3.3, 0, limit->word);
    }
}

static void draw_curve(const bw_drawing *d, const field *f, const bw_sheet_curve *curve) {
    double x[KNOTS_MAX];
    double y[KNOTS_MAX];
    size_t n = curve->n < KNOTS_MAX ? curve->n : KNOTS_MAX;
    bool many = f->plot->curve_n > 40;
    for (size_t i = 0; i < n; i++) {
        x[i] = at_x(f, fmax(curve->x[i], 0));
        y[i] = at_y(f, curve->y[i]);
    }
    bw_line line = {.width = many ? 0.2 : 0.4, .grey = many ? 0.45 : 0.3};
    if (curve->odd) {
        line = (bw_line){.width = 1.1, .dash = 3};
    }
    for (size_t from = 0; from < n;) {
        size_t to = from;
        while (to < n && !isnan(curve->y[to])) {
            to++;
        }
        bw_canvas_path(d->canvas, line, x + from, y + from, to - from);
        from = to + 1;
    }
    if (curve->odd && n > 0) {
        bw_canvas_text(d->canvas, (bw_type){.size = 5.5, .bold = true}, BW_ALIGN_LEFT,
                       x[n - 1] + 1.5, y[n - 1] - 6, 0, curve->label);
    }
}

static void draw_plot(const bw_drawing *d, const bw_sheet_plot *plot, double x, double y,
                      double width) {
    const field f = {.plot = plot,
                     .x = x + left_room,
                     .y = y + head + 6,
                     .width = width - left_room - right_room,
                     .height = plot_height - head - foot - 6,
                     .x_end = plot->x_most * headroom,
                     .y_end = plot->y_most * headroom};
    bw_canvas_text(d->canvas, (bw_type){.size = 6.5, .bold = true}, BW_ALIGN_LEFT, x, y, 0,
                   plot->title);
    draw_axes(d, &f);
    for (const bw_sheet_curve *c = plot->curve; c != NULL; c = c->next) {
        if (!c->odd) {
            draw_curve(d, &f, c);
        }
    }
    for (const bw_sheet_curve *c = plot->curve; c != NULL; c = c->next) {
        if (c->odd) {
            draw_curve(d, &f, c);
        }
    }
    draw_limits(d, &f);
}

static void draw_plots(const bw_drawing *d, const bw_strip *s, double y) {
    const bw_sheet_plot *plot = s->what;
    double width = (d->width - between) / PLOTS_ACROSS;
    for (int i = 0; i < PLOTS_ACROSS && plot != NULL; i++, plot = plot->next) {
        draw_plot(d, plot, d->left + (width + between) * i, y, width);
    }
}

static void draw_caption(const bw_drawing *d, const bw_strip *s, double y) {
    bw_canvas_text(d->canvas, BW_TYPE_SMALL, BW_ALIGN_LEFT, d->left, y, d->width, s->what);
}

void bw_add_plots(bw_drawing *d, const bw_sheet_plot *plot) {
    static const char caption[] =
        "Each line is one fastener, as the wrench gave it, wind-up included. A heavy broken line "
        "with its place: not accepted, accepted by decision, or questioned.";
    while (plot != NULL) {
        bw_strip *s = bw_add_strip(d, draw_plots, plot, plot_height);
        s->above = 6;
        for (int i = 0; i < PLOTS_ACROSS && plot != NULL; i++) {
            plot = plot->next;
        }
        s->keep = plot == NULL;
    }
    bw_add_strip(d, draw_caption, caption, bw_text_height(d, BW_TYPE_SMALL, caption, d->width));
}
