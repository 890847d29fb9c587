/* plan_plot.h - the groups of a plan as an SVG drawing: each place with its label, its number in
 * the order, and arrows along the order.
 *
 * Room: face. */
#ifndef BW_FACE_PLAN_PLOT_H
#define BW_FACE_PLAN_PLOT_H

#include "sequence/plan.h"

#include <stdio.h>

/* One map a tightening step, below each other; places without positions stand in a row.  The same
 * plan gives the same bytes. */
void bw_plan_plot(const bw_plan *plan, FILE *out);

#endif
