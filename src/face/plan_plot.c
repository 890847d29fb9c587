/* plan_plot.c - see plan_plot.h. */
#include "face/plan_plot.h"

#include <math.h>

enum { WIDTH = 800, MARGIN = 60, HEAD = 40, RADIUS = 14, HEIGHT_LEAST = 60, HEIGHT_MOST = 700 };

/* The drawing's units, y downward. */
typedef struct frame {
    double scale;
    double left_mm, top_mm;
    double y;      /* of the map's upper edge */
    double height; /* of the map, its margins left aside */
    bool points;
    size_t n;
} frame;

static void put_text(const char *text, FILE *out) {
    for (; *text != '\0'; text++) {
        switch (*text) {
        case '&':
            (void)fputs("&amp;", out);
            break;
        case '<':
            (void)fputs("&lt;", out);
            break;
        case '>':
            (void)fputs("&gt;", out);
            break;
        case '"':
            (void)fputs("&quot;", out);
            break;
        default:
            (void)fputc(*text, out);
        }
    }
}

static frame frame_of(const bw_group *group, double y) {
    frame f = {.y = y, .n = group->place_n, .points = group->has_points, .height = HEIGHT_LEAST};
    double right_mm = 0;
    double foot_mm = 0;
    for (size_t i = 0; group->has_points && i < group->place_n; i++) {
        bw_point p = group->place[i].point;
        f.left_mm = i == 0 ? p.x_mm : fmin(f.left_mm, p.x_mm);
        right_mm = i == 0 ? p.x_mm : fmax(right_mm, p.x_mm);
        f.top_mm = i == 0 ? p.y_mm : fmax(f.top_mm, p.y_mm);
        foot_mm = i == 0 ? p.y_mm : fmin(foot_mm, p.y_mm);
    }
    double across_mm = fmax(right_mm - f.left_mm, 1);
    double down_mm = fmax(f.top_mm - foot_mm, 1);
    f.scale = fmin((WIDTH - 2.0 * MARGIN) / across_mm, HEIGHT_MOST / down_mm);
    if (group->has_points) {
        f.height = fmax((f.top_mm - foot_mm) * f.scale, HEIGHT_LEAST);
    }
    return f;
}

static bw_point spot(const frame *f, const bw_group *group, size_t place) {
    if (!f->points) {
        double gap = (WIDTH - 2.0 * MARGIN) / (double)f->n;
        return (bw_point){MARGIN + gap * ((double)place + 0.5), f->y + HEAD + MARGIN};
    }
    bw_point p = group->place[place].point;
    return (bw_point){MARGIN + (p.x_mm - f->left_mm) * f->scale,
                      f->y + HEAD + MARGIN + (f->top_mm - p.y_mm) * f->scale};
}

/* From rim to rim. */
static void put_arrow(bw_point from, bw_point to, FILE *out) {
    double far = hypot(to.x_mm - from.x_mm, to.y_mm - from.y_mm);
    if (far <= 2.0 * RADIUS) {
        return;
    }
    double x = (to.x_mm - from.x_mm) / far * (RADIUS + 1);
    double y = (to.y_mm - from.y_mm) / far * (RADIUS + 1);
    (void)fprintf(out,
                  "<line x1=\"%.1f\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\" "
                  "marker-end=\"url(#head)\"/>\n",
                  from.x_mm + x, from.y_mm + y, to.x_mm - x, to.y_mm - y);
}

static void put_place(const bw_group *group, size_t place, size_t turn, bw_point at, FILE *out) {
    (void)fprintf(out,
                  "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"%d\"/>\n"
                  "<text x=\"%.1f\" y=\"%.1f\" class=\"turn\">%zu</text>\n"
                  "<text x=\"%.1f\" y=\"%.1f\" class=\"label\">",
                  at.x_mm, at.y_mm, RADIUS, at.x_mm, at.y_mm + 5, turn, at.x_mm,
                  at.y_mm + RADIUS + 13);
    put_text(group->place[place].label, out);
    (void)fputs("</text>\n", out);
}

/* Arrows first: the circles cover their ends. */
static double put_map(const bw_plan *plan, const bw_step *step, double y, FILE *out) {
    const bw_group *group = &plan->group[step->group];
    const size_t *order = bw_step_order(plan, step);
    frame f = frame_of(group, y);
    (void)fprintf(out, "<text x=\"%d\" y=\"%.1f\" class=\"head\">", MARGIN / 2, y + HEAD / 2.0 + 5);
    put_text(step->id, out);
    (void)fputs(": ", out);
    put_text(group->say, out);
    (void)fputs("</text>\n", out);
    for (size_t i = 0; i + 1 < group->place_n; i++) {
        put_arrow(spot(&f, group, order[i]), spot(&f, group, order[i + 1]), out);
    }
    for (size_t i = 0; i < group->place_n; i++) {
        put_place(group, order[i], i + 1, spot(&f, group, order[i]), out);
    }
    return y + HEAD + f.height + 2.0 * MARGIN;
}

static double height_of(const bw_plan *plan) {
    double y = HEAD;
    for (size_t i = 0; i < plan->step_n; i++) {
        if (plan->step[i].kind == BW_STEP_TIGHTEN) {
            y += HEAD + frame_of(&plan->group[plan->step[i].group], 0).height + 2.0 * MARGIN;
        }
    }
    return y;
}

void bw_plan_plot(const bw_plan *plan, FILE *out) {
    double y = HEAD;
    (void)fprintf(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%d\" height=\"%.0f\" "
        "font-family=\"sans-serif\" font-size=\"13\">\n"
        "<style>circle{fill:#fff;stroke:#000;stroke-width:1.5}"
        "line{stroke:#555;stroke-width:1.2}text{text-anchor:middle}"
        ".head,.title{text-anchor:start;font-weight:bold}.label{font-size:11px;paint-order:stroke;stroke:#fff;stroke-width:4px}</style>\n"
        "<defs><marker id=\"head\" markerWidth=\"8\" markerHeight=\"6\" refX=\"8\" "
        "refY=\"3\" orient=\"auto\"><path d=\"M0,0 L8,3 L0,6 z\" fill=\"#555\"/></marker>"
        "</defs>\n<rect width=\"100%%\" height=\"100%%\" fill=\"#fff\"/>\n"
        "<text x=\"%d\" y=\"25\" class=\"title\">",
        WIDTH, height_of(plan), MARGIN / 2);
    put_text(plan->title, out);
    (void)fprintf(out, "%s</text>\n", plan->invented ? " (figures invented)" : "");
    for (size_t i = 0; i < plan->step_n; i++) {
        if (plan->step[i].kind == BW_STEP_TIGHTEN) {
            y = put_map(plan, &plan->step[i], y, out);
        }
    }
    (void)fputs("</svg>\n", out);
}
