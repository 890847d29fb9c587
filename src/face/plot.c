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
    draw_ticks(p);
    (void)fprintf(p->out,
                  "<rect class=\"frame\" x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" height=\"%.2f\"/>\n"
                  "<text x=\"%.2f\" y=\"%.2f\" text-anchor=\"middle\">%s</text>\n",
                  p->left, p->top, p->width, p->height, p->left + p->width / 2,
                  p->top + p->height + 38, p->over_angle ? "angle in degrees" : "time in s");
}

/* A level line with its name; none where there is no such limit. */
static void draw_level(const panel *p, double torque_Nm, const char *class, const char *name) {
    if (!isfinite(torque_Nm) || torque_Nm < p->least_y || torque_Nm > p->most_y) {
        return;
    }
    double y = on_y(p, torque_Nm);
    (void)fprintf(p->out,
                  "<path class=\"%s\" d=\"M%.2f %.2fH%.2f\"/><text x=\"%.2f\" y=\"%.2f\">%s "
                  "%.6g N·m</text>\n",
                  class, p->left, y, p->left + p->width, p->left + 4, y - 3, name, torque_Nm);
}

static void draw_turn(const panel *p, double angle_deg, const char *name) {
    if (!isfinite(angle_deg) || angle_deg < p->least_x || angle_deg > p->most_x) {
        return;
    }
    double x = on_x(p, angle_deg);
    (void)fprintf(p->out,
                  "<path class=\"limit\" d=\"M%.2f %.2fV%.2f\"/><text x=\"%.2f\" y=\"%.2f\" "
                  "text-anchor=\"end\">%s</text>\n",
                  x, p->top, p->top + p->height, x - 3, p->top + p->height - 6, name);
}

static void draw_limits(const panel *p, const bw_plot *plot) {
    const bw_stage *stage = plot->stage;
    draw_level(p, plot->threshold_Nm, "threshold", "at rest below");
    draw_level(p, stage->kind == BW_STAGE_TORQUE_ANGLE ? stage->snug_Nm : NAN, "threshold", "snug");
    draw_level(p, stage->low_Nm, "limit", "at least");
    draw_level(p, stage->high_Nm, "limit", "at most");
    if (p->over_angle && plot->counted) {
        draw_turn(p, plot->counted_from_deg, "counted from here");
        draw_turn(p, plot->counted_from_deg + stage->low_deg, "at least");
        draw_turn(p, plot->counted_from_deg + stage->high_deg, "at most");
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

static void draw_points(const panel *p, const bw_plot *plot) {
    for (size_t i = 0; i < plot->point_n; i++) {
        const bw_sample *at = sample_at(plot, plot->point[i].time_s);
        double x = on_x(p, x_of(p, at));
        double y = on_y(p, at->torque_Nm);
        bool right = x > p->left + p->width * 0.7;
        (void)fprintf(p->out,
                      "<circle class=\"point\" cx=\"%.2f\" cy=\"%.2f\" r=\"5\"/><text "
                      "class=\"word\" x=\"%.2f\" y=\"%.2f\"%s>%s, %.3f s</text>\n",
                      x, y, x + (right ? -9 : 9), y + 16 + 14 * (double)i,
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
        widen(&p->least_x, &p->most_x, plot->counted_from_deg + plot->stage->low_deg);
        widen(&p->least_x, &p->most_x, plot->counted_from_deg + plot->stage->high_deg);
    }
    /* A trace that does not move still has two sides. */
    p->most_x += p->most_x > p->least_x ? 0 : 1;
    p->most_y += 0.06 * (p->most_y - p->least_y) + (p->most_y > p->least_y ? 0 : 1);
}

static void draw_panel(panel *p, const bw_plot *plot) {
    frame_all(p, plot);
    draw_pulls(p, plot);
    draw_frame(p);
    draw_limits(p, plot);
    draw_line(p, plot);
    draw_points(p, plot);
}

static const char head[] =
    "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%d\" height=\"%d\" viewBox=\"0 0 %d %d\">\n"
    "<style>text{font:12px sans-serif;fill:#222}.grid{stroke:#ddd}.frame{fill:none;stroke:#222}"
    ".trace{fill:none;stroke:#0b4f8a;stroke-width:1.6}.limit{stroke:#b00020;stroke-width:1.4;"
    "stroke-dasharray:7 4}.threshold{stroke:#777;stroke-dasharray:2 3}.pull{fill:#eaf1f8}"
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
    panel over_angle = {60, 60, width, 330, 0, 0, 0, 0, true, out};
    panel over_time = {has_angle ? 620 : 60, 60, width, 330, 0, 0, 0, 0, false, out};
    (void)fprintf(out, head, WIDTH, HEIGHT, WIDTH, HEIGHT);
    put_text(out, plot->title);
    (void)fputs("</text>\n<text x=\"60\" y=\"48\">torque in N·m</text>\n", out);
    if (has_angle) {
        draw_panel(&over_angle, plot);
    }
    draw_panel(&over_time, plot);
    (void)fputs("</svg>\n", out);
    return ferror(out) == 0;
}
