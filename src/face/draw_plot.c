/* draw_plot.c - torque over turn, the fasteners of a group laid over each other. */
#include "face/draw_int.h"

#include <math.h>
#include <string.h>

enum { PLOTS_ACROSS = 2, KNOTS_MAX = 512 };

static const double plot_height = 143, between = 18, left_room = 30, foot = 25, head = 30,
                    right_room = 30, headroom = 1.06, hatch = 4;

static const bw_type small = {.size = 6, .grey = 0.2};

/* Where a plot's values lie on the page. */
typedef struct field {
    const bw_sheet_plot *plot;
    double x, y, width, height; /* of the field, y its top */
    double x_begin, x_end;      /* values at its left and right edge */
    double y_end;               /* at its upper edge; 0 at its lower one */
} field;

static double at_x(const field *f, double value) {
    return f->x + f->width * (value - f->x_begin) / (f->x_end - f->x_begin);
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
    bw_canvas_text(d->canvas, small, align, x, y, 0, text);
}

static void draw_axes(const bw_drawing *d, const field *f) {
    double bottom = f->y + f->height;
    double step = tick_step(f->x_end - f->x_begin);
    bw_canvas_line(d->canvas, BW_LINE_THIN, f->x, bottom, f->x + f->width, bottom);
    bw_canvas_line(d->canvas, BW_LINE_THIN, f->x, f->y, f->x, bottom);
    for (double i = ceil(f->x_begin / step); i * step <= f->x_end; i++) {
        double x = at_x(f, i * step);
        bw_canvas_line(d->canvas, BW_LINE_THIN, x, bottom, x, bottom + 2);
        tick_text(d, BW_ALIGN_MIDDLE, x, bottom + 3, i == 0 ? 0 : i * step); /* no -0 */
    }
    step = tick_step(f->y_end);
    for (int i = 0; i * step <= f->y_end; i++) {
        double y = at_y(f, i * step);
        bw_canvas_line(d->canvas, BW_LINE_THIN, f->x - 2, y, f->x, y);
        tick_text(d, BW_ALIGN_RIGHT, f->x - 3.5, y - 3.6, i * step);
    }
    bw_canvas_text(d->canvas, small, BW_ALIGN_RIGHT, f->x + f->width, bottom + 11, 0,
                   f->plot->x_name);
    bw_canvas_text(d->canvas, small, BW_ALIGN_LEFT, f->x - left_room + 2, f->y - 19, 0,
                   f->plot->y_name);
}

/* ---- what is allowed ---- */

static bool is_limited(const bw_sheet_window *w) {
    return isfinite(w->low_x) || isfinite(w->high_x) || isfinite(w->low_y) || isfinite(w->high_y);
}

/* Lines from the lower left to the upper right, over the whole page, so that the hatches of plots
 * side by side are alike. */
static void draw_hatch(const bw_drawing *d, const field *f) {
    const bw_sheet_window *w = &f->plot->window;
    double left = at_x(f, fmax(w->low_x, f->x_begin));
    double right = at_x(f, fmin(w->high_x, f->x_end));
    double top = at_y(f, fmin(w->high_y, f->y_end));
    double bottom = at_y(f, fmax(w->low_y, 0));
    double tall = bottom - top;
    bw_canvas_within(d->canvas, left, top, right - left, tall);
    for (double x = floor((left - tall) / hatch) * hatch; x < right; x += hatch) {
        bw_canvas_line(d->canvas, (bw_line){.width = 0.3, .grey = 0.6}, x, bottom, x + tall, top);
    }
    bw_canvas_whole(d->canvas);
}

static void limit_of_torque(const bw_drawing *d, const field *f, double value, bool low) {
    if (!isfinite(value)) {
        return;
    }
    char text[32];
    double y = at_y(f, value);
    bw_canvas_line(d->canvas, (bw_line){.width = 0.5, .dash = 1.2}, f->x, y, f->x + f->width, y);
    (void)snprintf(text, sizeof text, "%s %.4g", low ? "\u2265" : "\u2264", value);
    bw_canvas_text(d->canvas, small, BW_ALIGN_LEFT, f->x + f->width + 2, low ? y - 1.2 : y - 6.4, 0,
                   text);
}

/* The lower one stands before its line, the upper one behind it, within the plot. */
static void limit_of_turn(const bw_drawing *d, const field *f, double value, bool low) {
    if (!isfinite(value)) {
        return;
    }
    char text[32];
    double x = at_x(f, value);
    bw_canvas_line(d->canvas, (bw_line){.width = 0.5, .dash = 1.2}, x, f->y, x, f->y + f->height);
    (void)snprintf(text, sizeof text, "%s %.4g", low ? "\u2265" : "\u2264", value);
    bw_canvas_text(d->canvas, small, low ? BW_ALIGN_RIGHT : BW_ALIGN_LEFT, low ? x + 4 : x - 4,
                   f->y - 9, 0, text);
}

static void draw_limits(const bw_drawing *d, const field *f) {
    const bw_sheet_window *w = &f->plot->window;
    limit_of_torque(d, f, w->low_y, true);
    limit_of_torque(d, f, w->high_y, false);
    limit_of_turn(d, f, w->low_x, true);
    limit_of_turn(d, f, w->high_x, false);
}

/* ---- the curves ---- */

static void draw_curve(const bw_drawing *d, const field *f, const bw_sheet_curve *curve) {
    double x[KNOTS_MAX];
    double y[KNOTS_MAX];
    size_t n = curve->n < KNOTS_MAX ? curve->n : KNOTS_MAX;
    bool many = f->plot->curve_n > 40;
    for (size_t i = 0; i < n; i++) {
        x[i] = at_x(f, curve->x[i]);
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
        bw_canvas_text(d->canvas, (bw_type){.size = 6, .bold = true}, BW_ALIGN_LEFT, x[n - 1] + 1.5,
                       y[n - 1] - 6, 0, curve->label);
    }
}

static void draw_curves(const bw_drawing *d, const field *f, bool odd) {
    for (const bw_sheet_curve *c = f->plot->curve; c != NULL; c = c->next) {
        if (c->odd == odd) {
            draw_curve(d, f, c);
        }
    }
}

static void draw_title(const bw_drawing *d, const bw_sheet_plot *plot, double x, double y,
                       double width) {
    char text[80];
    bw_canvas_text(d->canvas, (bw_type){.size = 7, .bold = true}, BW_ALIGN_LEFT, x, y, width,
                   plot->title);
    if (is_limited(&plot->window)) {
        (void)snprintf(text, sizeof text, "hatched: limits of %s", plot->window.what);
        bw_canvas_text(d->canvas, small, BW_ALIGN_RIGHT, x + width, y + 1, 0, text);
    }
}

static void draw_plot(const bw_drawing *d, const bw_sheet_plot *plot, double x, double y,
                      double width) {
    double range = plot->x_most - plot->x_least;
    const field f = {.plot = plot,
                     .x = x + left_room,
                     .y = y + head,
                     .width = width - left_room - right_room,
                     .height = plot_height - head - foot,
                     .x_begin = plot->x_least,
                     .x_end = plot->x_least + range * headroom,
                     .y_end = plot->y_most * headroom};
    draw_title(d, plot, x, y, width);
    if (is_limited(&plot->window)) {
        draw_hatch(d, &f);
    }
    draw_axes(d, &f);
    draw_curves(d, &f, false);
    draw_curves(d, &f, true);
    draw_limits(d, &f);
}

static void draw_plots(const bw_drawing *d, const bw_strip *s, double y) {
    const bw_sheet_plot *plot = s->what;
    double width = (d->width - between) / PLOTS_ACROSS;
    for (int i = 0; i < PLOTS_ACROSS && plot != NULL; i++, plot = plot->next) {
        draw_plot(d, plot, d->left + (width + between) * i, y, width);
    }
}

void bw_add_plots(bw_drawing *d, const bw_sheet_plot *plot) {
    while (plot != NULL) {
        bw_strip *s = bw_add_strip(d, draw_plots, plot, plot_height);
        s->above = 6;
        for (int i = 0; i < PLOTS_ACROSS && plot != NULL; i++) {
            plot = plot->next;
        }
    }
}
