/* plot.c - see plot.h. */
#include "face/plot.h"

#include <math.h>
#include <string.h>

enum { WIDTH = 1120, HEIGHT = 460, LINE_POINTS_MAX = 2000, TICKS = 6 };

/* One of the two drawings: where it stands, and what of the world it shows. */
typedef struct panel {
    double left, top, width, height; /* of the paper */
    double least_x, most_x, least_y, most_y;
    bool over_angle; /* else over time */
    FILE *out;
} panel;

static double on_x(const panel *p, double x) {
    return p->left + (x - p->least_x) / (p->most_x - p->least_x) * p->width;
}

static double on_y(const panel *p, double y) {
    return p->top + p->height - (y - p->least_y) / (p->most_y - p->least_y) * p->height;
}

static double x_of(const panel *p, const bw_sample *sample) {
    return p->over_angle ? sample->angle_deg : sample->time_s;
}

static void put_text(FILE *out, const char *text) {
    for (; *text != '\0'; text++) {
        const char *as = *text == '<' ? "&lt;" : *text == '&' ? "&amp;" : NULL;
        if (as != NULL) {
            (void)fputs(as, out);
        } else {
            (void)fputc(*text, out);
        }
    }
}

/* 1, 2 or 5 times a power of ten, about a sixth of the range. */
static double tick_step(double range) {
    double rough = range / TICKS;
    double power = pow(10, floor(log10(rough)));
    double lead = rough / power;
    return power * (lead > 5 ? 10 : lead > 2 ? 5 : lead > 1 ? 2 : 1);
}

static void draw_ticks(const panel *p) {
    double step = tick_step(p->most_x - p->least_x);
    double bottom = p->top + p->height;
    for (double x = ceil(p->least_x / step) * step; x <= p->most_x; x += step) {
        (void)fprintf(p->out,
                      "<path class=\"grid\" d=\"M%.2f %.2fV%.2f\"/>"
                      "<text x=\"%.2f\" y=\"%.2f\" text-anchor=\"middle\">%.6g</text>\n",
                      on_x(p, x), p->top, bottom, on_x(p, x), bottom + 18,
                      fabs(x) < step / 2 ? 0.0 : x);
    }
    step = tick_step(p->most_y - p->least_y);
    for (double y = ceil(p->least_y / step) * step; y <= p->most_y; y += step) {
        (void)fprintf(p->out,
                      "<path class=\"grid\" d=\"M%.2f %.2fH%.2f\"/>"
                      "<text x=\"%.2f\" y=\"%.2f\" text-anchor=\"end\">%.6g</text>\n",
                      p->left, on_y(p, y), p->left + p->width, p->left - 6, on_y(p, y) + 4,
                      fabs(y) < step / 2 ? 0.0 : y);
    }
}

static void draw_frame(const panel *p) {
    double middle = p->top + p->height / 2;
    draw_ticks(p);
    (void)fprintf(
        p->out,
        "<rect class=\"frame\" x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" height=\"%.2f\"/>\n"
        "<text x=\"%.2f\" y=\"%.2f\" text-anchor=\"middle\">%s</text>\n"
        "<text transform=\"translate(%.2f %.2f) rotate(-90)\" text-anchor=\"middle\">"
        "torque in N·m</text>\n",
        p->left, p->top, p->width, p->height, p->left + p->width / 2, p->top + p->height + 38,
        p->over_angle ? "angle of the handle in degrees" : "time in s", p->left - 42, middle);
}

/* Which way tightening is in the samples: backed off, both torque and angle are below 0. */
static double forward(const bw_plot *plot) {
    return bw_stage_traits_of(plot->stage->kind)->loosens ? -1 : 1;
}

/* How a level line looks, and where its name stands. */
typedef struct level {
    const char *class, *name;
    bool at_right, below;
} level;

/* A level line with its name; none where there is no such limit. */
static void draw_level(const panel *p, double torque_Nm, const level *look) {
    if (!isfinite(torque_Nm) || torque_Nm < p->least_y || torque_Nm > p->most_y) {
        return;
    }
    double y = on_y(p, torque_Nm);
    (void)fprintf(p->out,
                  "<path class=\"%s\" d=\"M%.2f %.2fH%.2f\"/><text x=\"%.2f\" y=\"%.2f\"%s>%s "
                  "%.6g N·m</text>\n",
                  look->class, p->left, y, p->left + p->width,
                  look->at_right ? p->left + p->width - 5 : p->left + 5,
                  y + (look->below ? 14 : -4), look->at_right ? " text-anchor=\"end\"" : "",
                  look->name, fabs(torque_Nm));
}

/* The name runs up along the line, behind it. */
static void draw_turn(const panel *p, double angle_deg, const char *class, const char *name) {
    if (!isfinite(angle_deg) || angle_deg < p->least_x || angle_deg > p->most_x) {
        return;
    }
    double x = on_x(p, angle_deg);
    (void)fprintf(p->out,
                  "<path class=\"%s\" d=\"M%.2f %.2fV%.2f\"/><text transform=\"translate(%.2f "
                  "%.2f) rotate(-90)\" text-anchor=\"end\">%s</text>\n",
                  class, x, p->top, p->top + p->height, x - 4, p->top + 6, name);
}

static double inside(double value, double least, double most) {
    return fmax(least, fmin(most, value));
}

/* What is allowed between two limits, as far as the drawing goes; nothing where there are none. */
static void draw_allowed(const panel *p, bool of_turn, double low, double high) {
    if (!isfinite(low) && !isfinite(high)) {
        return;
    }
    double x = p->left;
    double y = p->top;
    double width = p->width;
    double height = p->height;
    if (of_turn) {
        x = on_x(p, inside(low, p->least_x, p->most_x));
        width = on_x(p, inside(high, p->least_x, p->most_x)) - x;
    } else {
        y = on_y(p, inside(high, p->least_y, p->most_y));
        height = on_y(p, inside(low, p->least_y, p->most_y)) - y;
    }
    (void)fprintf(p->out,
                  "<rect class=\"allowed\" x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" "
                  "height=\"%.2f\"/>\n",
                  x, y, width, height);
}

static void draw_bands(const panel *p, const bw_plot *plot) {
    const bw_stage *stage = plot->stage;
    draw_allowed(p, false, stage->low_Nm, stage->high_Nm);
    if (p->over_angle && plot->counted) {
        double low = fmax(stage->low_deg, 0);
        bool mirrored = forward(plot) < 0;
        draw_allowed(p, true, plot->counted_from_deg + (mirrored ? -stage->high_deg : low),
                     plot->counted_from_deg + (mirrored ? -low : stage->high_deg));
    }
}

static void draw_turns(const panel *p, const bw_plot *plot) {
    const bw_stage *stage = plot->stage;
    double sign = forward(plot);
    char name[64];
    draw_turn(p, plot->counted_from_deg, "threshold", "counted from here");
    (void)snprintf(name, sizeof name, "at least %.6g°", stage->low_deg);
    draw_turn(p, plot->counted_from_deg + sign * stage->low_deg, "limit", name);
    (void)snprintf(name, sizeof name, "at most %.6g°", stage->high_deg);
    draw_turn(p, plot->counted_from_deg + sign * stage->high_deg, "limit", name);
}

static void draw_limits(const panel *p, const bw_plot *plot) {
    static const level at_rest = {"threshold", "at rest below", .at_right = true};
    static const level snug = {"threshold", "counted from", .at_right = false};
    static const level least = {"limit", "at least", .below = true};
    static const level most = {"limit", "at most", .below = false};
    const bw_stage *stage = plot->stage;
    draw_level(p, forward(plot) * plot->threshold_Nm, &at_rest);
    draw_level(p, stage->snug_Nm > 0 ? stage->snug_Nm : NAN, &snug);
    draw_level(p, stage->low_Nm, &least);
    draw_level(p, stage->high_Nm, &most);
    if (p->over_angle && plot->counted) {
        draw_turns(p, plot);
    }
}

static void draw_pulls(const panel *p, const bw_plot *plot) {
    for (size_t i = 0; i < plot->pull_n && !p->over_angle; i++) {
        double from = on_x(p, plot->pull[i].from_s);
        (void)fprintf(p->out,
                      "<rect class=\"pull\" x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" "
                      "height=\"%.2f\"/><text x=\"%.2f\" y=\"%.2f\">pull %zu</text>\n",
                      from, p->top, fmax(1, on_x(p, plot->pull[i].to_s) - from), p->height,
                      from + 4, p->top + 14, i + 1);
    }
}

static void draw_sample(const panel *p, const bw_sample *sample) {
    (void)fprintf(p->out, "%.2f,%.2f\n", on_x(p, x_of(p, sample)), on_y(p, sample->torque_Nm));
}

/* Of each handful of samples the lowest and the highest torque, in their order: no peak is lost. */
static void draw_line(const panel *p, const bw_plot *plot) {
    size_t handful = plot->n / (LINE_POINTS_MAX / 2) + 1;
    (void)fputs("<polyline class=\"trace\" points=\"", p->out);
    for (size_t i = 0; i < plot->n; i += handful) {
        size_t low = i;
        size_t high = i;
        for (size_t k = i; k < i + handful && k < plot->n; k++) {
            low = plot->sample[k].torque_Nm < plot->sample[low].torque_Nm ? k : low;
            high = plot->sample[k].torque_Nm > plot->sample[high].torque_Nm ? k : high;
        }
        draw_sample(p, &plot->sample[low < high ? low : high]);
        if (low != high) {
            draw_sample(p, &plot->sample[low < high ? high : low]);
        }
    }
    (void)fputs("\"/>\n", p->out);
}

static const bw_sample *sample_at(const bw_plot *plot, double time_s) {
    size_t i = 0;
    while (i + 1 < plot->n && plot->sample[i].time_s < time_s) {
        i++;
    }
    return &plot->sample[i];
}

/* Words stand beside their points, below each other, on the side where there is room. */
static void draw_points(const panel *p, const bw_plot *plot) {
    double lowest = p->top + p->height - 8;
    for (size_t i = 0; i < plot->point_n; i++) {
        const bw_sample *at = sample_at(plot, plot->point[i].time_s);
        double x = on_x(p, x_of(p, at));
        double y = on_y(p, at->torque_Nm);
        bool right = x > p->left + p->width * 0.6;
        double line = 14 * (double)(plot->point_n - 1 - i);
        (void)fprintf(p->out,
                      "<circle class=\"point\" cx=\"%.2f\" cy=\"%.2f\" r=\"5\"/><text "
                      "class=\"word\" x=\"%.2f\" y=\"%.2f\"%s>%s, %.3f s</text>\n",
                      x, y, x + (right ? -11 : 11), fmin(y + 18 + 14 * (double)i, lowest - line),
                      right ? " text-anchor=\"end\"" : "", plot->point[i].word,
                      plot->point[i].time_s);
    }
}

static void widen(double *least, double *most, double value) {
    if (isfinite(value)) {
        *least = fmin(*least, value);
        *most = fmax(*most, value);
    }
}

static void frame_all(panel *p, const bw_plot *plot) {
    p->least_x = p->most_x = plot->n > 0 ? x_of(p, &plot->sample[0]) : 0;
    for (size_t i = 0; i < plot->n; i++) {
        widen(&p->least_x, &p->most_x, x_of(p, &plot->sample[i]));
        widen(&p->least_y, &p->most_y, plot->sample[i].torque_Nm);
    }
    widen(&p->least_y, &p->most_y, plot->stage->low_Nm);
    widen(&p->least_y, &p->most_y, plot->stage->high_Nm);
    if (p->over_angle && plot->counted) {
        double sign = forward(plot);
        widen(&p->least_x, &p->most_x, plot->counted_from_deg + sign * plot->stage->low_deg);
        widen(&p->least_x, &p->most_x, plot->counted_from_deg + sign * plot->stage->high_deg);
    }
    /* A trace that does not move still has two sides. */
    double beside = 0.03 * (p->most_x - p->least_x) + (p->most_x > p->least_x ? 0 : 1);
    double above = 0.06 * (p->most_y - p->least_y) + (p->most_y > p->least_y ? 0 : 1);
    p->least_x -= beside;
    p->most_x += beside;
    p->least_y -= p->least_y < 0 ? above : 0;
    p->most_y += above;
}

static void draw_panel(panel *p, const bw_plot *plot) {
    frame_all(p, plot);
    draw_pulls(p, plot);
    draw_bands(p, plot);
    draw_frame(p);
    draw_limits(p, plot);
    draw_line(p, plot);
    draw_points(p, plot);
}

static const char head[] =
    "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%d\" height=\"%d\" viewBox=\"0 0 %d %d\">\n"
    "<style>text{font:12px sans-serif;fill:#222;stroke:#fff;stroke-width:3px;"
    "stroke-linejoin:round;paint-order:stroke}.grid{stroke:#ddd}.frame{fill:none;stroke:#222}"
    ".trace{fill:none;stroke:#0b4f8a;stroke-width:1.6}.limit{stroke:#b00020;stroke-width:1.4;"
    "stroke-dasharray:7 4}.threshold{stroke:#777;stroke-dasharray:2 3}.pull{fill:#eaf1f8}"
    ".allowed{fill:#2e7d32;fill-opacity:0.1}"
    ".point{fill:none;stroke:#b00020;stroke-width:2}.word{font-weight:bold;fill:#b00020}"
    ".title{font-size:15px;font-weight:bold}</style>\n"
    "<rect width=\"100%%\" height=\"100%%\" fill=\"#fff\"/>\n<text class=\"title\" x=\"60\" "
    "y=\"26\">";

bool bw_plot_svg(const bw_plot *plot, FILE *out) {
    bool has_angle = plot->n > 0;
    for (size_t i = 0; i < plot->n && has_angle; i++) {
        has_angle = plot->sample[i].has_angle;
    }
    double width = has_angle ? 470 : 1020;
    panel over_angle = {60, 44, width, 346, 0, 0, 0, 0, true, out};
    panel over_time = {has_angle ? 620 : 60, 44, width, 346, 0, 0, 0, 0, false, out};
    (void)fprintf(out, head, WIDTH, HEIGHT, WIDTH, HEIGHT);
    put_text(out, plot->title);
    (void)fputs("</text>\n", out);
    if (has_angle) {
        draw_panel(&over_angle, plot);
    }
    draw_panel(&over_time, plot);
    (void)fputs("</svg>\n", out);
    return ferror(out) == 0;
}
