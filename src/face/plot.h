/* plot.h - a judged trace as a drawing: torque over angle and torque over time, as SVG.
 *
 * Room: face.  One file without script, font or link, so that any browser shows it. */
#ifndef BW_FACE_PLOT_H
#define BW_FACE_PLOT_H

#include "trade/stage.h"
#include "trade/trace.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/* Something that shows at a moment: the samples nearest to it get a mark with this word. */
typedef struct bw_plot_point {
    double time_s;
    const char *word;
} bw_plot_point;

/* From one moment to another: a pull. */
typedef struct bw_plot_span {
    double from_s, to_s;
} bw_plot_span;

/* All borrowed.  Samples as bw_trace_read gives them; torque is drawn in N.m. */
typedef struct bw_plot {
    const char *title;
    const bw_sample *sample;
    size_t n;
    const bw_stage *stage;
    double threshold_Nm;
    bool counted; /* the turn limits can be drawn: all turn is in one stroke */
    double counted_from_deg;
    const bw_plot_span *pull;
    size_t pull_n;
    const bw_plot_point *point;
    size_t point_n;
} bw_plot;

/* False where writing failed. */
bool bw_plot_svg(const bw_plot *plot, FILE *out);

#endif
