/* engine.h - volumes of a cylinder, valves against pistons, where a cam stands.
 *
 * Room: trade (pure).  mm, mm3, degrees of the crank.
 *
 * Every function returns BW_OK, or BW_E_DATA with one line that names the argument and its range;
 * out-parameters are untouched then. */
#ifndef BW_TRADE_ENGINE_H
#define BW_TRADE_ENGINE_H

#include "base/status.h"

#include <stddef.h>

typedef struct bw_cylinder {
    double bore_mm, stroke_mm;
    double chamber_mm3;    /* in the head, poured */
    double gasket_bore_mm; /* hole of the gasket */
    double gasket_mm;      /* its thickness once tightened */
    double deck_mm;        /* piston below the deck at its top; negative: above */
    double crown_mm3;      /* dish and valve pockets; negative: a dome */
} bw_cylinder;

typedef struct bw_compression {
    double swept_mm3;
    double gasket_mm3;
    double deck_mm3;
    double closed_mm3; /* all that is left at the top */
    double ratio;      /* (swept + closed)/closed */
} bw_compression;

/* Source: geometry; service texts write bore^2 x 0.7854 x depth. */
BW_MUST_USE bw_status bw_compression_of(const bw_cylinder *cylinder, bw_compression *out,
                                        bw_err *err);

/* Least clearance between valve and piston over n crank positions: at each, how far the valve can
 * be pushed from its seat until it meets the piston (travel_mm), less what cam and rocker push it
 * (lift at the cam times rocker ratio).  *index from 0.  Source: makers' cam instructions. */
BW_MUST_USE bw_status bw_valve_clearance(const double *travel_mm, const double *cam_lift_mm,
                                         size_t n, double ratio, double *clearance_mm,
                                         size_t *index, bw_err *err);

/* Crank angle of the lobe's middle from the two angles of equal lift, both counted after the same
 * top dead centre (before it: negative): their mean.  closing above opening by less than 720. */
BW_MUST_USE bw_status bw_cam_centreline(double opening_deg, double closing_deg,
                                        double *centreline_deg, bw_err *err);

#endif
