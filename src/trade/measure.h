/* measure.h - from readings of a gauge to sizes, form and clearances.
 *
 * Room: trade (pure).  mm, degC, N.m; expansion in 1e-6 for each kelvin.  Measuring across a
 * diameter cannot see forms with an odd number of lobes; a record says so.
 *
 * Every function returns BW_OK, or BW_E_DATA with one line that names the argument and its range;
 * out-parameters are untouched then.  Results are rounded as in formula.h. */
#ifndef BW_TRADE_MEASURE_H
#define BW_TRADE_MEASURE_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

/* One bore or journal, measured in planes across the axis, in directions around it. */
typedef struct bw_form {
    double least_mm, most_mm, mean_mm;
    double out_of_round_mm; /* of the worst plane: largest minus smallest diameter in it */
    size_t worst_plane;     /* from 1 */
    double taper_mm;        /* of the worst direction: largest minus smallest along the axis */
    size_t worst_direction; /* from 1 */
} bw_form;

/* reading_mm: planes x directions values, plane after plane; at least two of each, for a form not
 * looked at is not a form of 0.  Source: makers' service manuals (roundness is the worst plane,
 * cylindricity the worst direction). */
BW_MUST_USE bw_status bw_form_of(const double *reading_mm, size_t planes, size_t directions,
                                 bw_form *out, bw_err *err);

/* A part as it was measured. */
typedef struct bw_part {
    double size_mm;
    double temperature_degC; /* of the part, not of the room */
    double expansion_1e6;    /* of its material */
} bw_part;

/* L20 = L/(1 + alpha (t - 20)).  Source: ISO 1, reference temperature 20 degC. */
BW_MUST_USE bw_status bw_size_at_20(const bw_part *part, double *size_mm, bw_err *err);

/* Bore minus shaft, each taken to 20 degC by its own material. */
BW_MUST_USE bw_status bw_clearance_at_20(const bw_part *bore, const bw_part *shaft,
                                         double *clearance_mm, bw_err *err);

typedef struct bw_material {
    const char *name;
    double expansion_least_1e6, expansion_most_1e6; /* near room temperature */
    const char *source;
} bw_material;

/* Static rows; NULL behind the last. */
const bw_material *bw_material_at(size_t index);
BW_MUST_USE bw_status bw_material_find(const char *name, const bw_material **out, bw_err *err);

/* Clearance from the width of a squeezed plastic strip by the card that came with it: width_mm
 * rising, clearance_mm falling, n >= 2.  Between two marks a straight line is taken; beyond the
 * card's ends the strip is the wrong one. */
BW_MUST_USE bw_status bw_plastic_gauge(double width_mm, const double *card_width_mm,
                                       const double *card_clearance_mm, size_t n,
                                       double *clearance_mm, bw_err *err);

/* Gap by a rule that the sequence names: factor times bore.  factor 0.0005 to 0.02.  No handbook
 * gives one rule, so none is built in. */
BW_MUST_USE bw_status bw_ring_gap(double bore_mm, double factor, double *gap_mm, bw_err *err);

/* What is left to file; `too_big` where the gap is beyond most_mm: that ring is scrap. */
BW_MUST_USE bw_status bw_ring_filing(double gap_mm, double least_mm, double most_mm,
                                     double *left_mm, bool *too_big, bw_err *err);

/* pi times what the bore grew. */
BW_MUST_USE bw_status bw_ring_gap_growth(double bore_growth_mm, double *gap_growth_mm, bw_err *err);

/* Torque of something turning, its start left out. */
typedef struct bw_running_torque {
    double mean_Nm;
    double start_Nm;   /* the peak at the start, left out of the mean */
    size_t left_out_n; /* samples of the start */
} bw_running_torque;

/* torque_Nm: n >= 8 samples in the order of time.  The start ends where the torque, after its peak
 * in the first half, comes down to the largest of the second half.  Common practice, no source. */
BW_MUST_USE bw_status bw_running_torque_of(const double *torque_Nm, size_t n,
                                           bw_running_torque *out, bw_err *err);

#endif
