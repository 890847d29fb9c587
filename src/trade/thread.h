/* thread.h - geometry of screw threads, and where a head bears.
 *
 * Room: trade (pure).  Lengths in mm, areas in mm2, angles in degrees.  Sizes are the basic profile
 * of ISO 68-1 and ASME B1.1 (60 degrees); tolerances are not taken off. */
#ifndef BW_TRADE_THREAD_H
#define BW_TRADE_THREAD_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

/* A thread by nominal diameter and pitch.  inch: the stress area follows ASME B1.1, else
 * ISO 898-1. */
typedef struct bw_thread {
    double d_mm;
    double pitch_mm;
    bool inch;
} bw_thread;

typedef struct bw_thread_size {
    double d2_mm;           /* pitch diameter (D2 of the nut is the same) */
    double d3_mm;           /* minor diameter of the bolt, root rounded */
    double D1_mm;           /* minor diameter of the nut */
    double d0_mm;           /* diameter of the stress area */
    double stress_area_mm2; /* As */
    double lead_deg;        /* lead angle at d2 */
    bool standard;          /* d and pitch are a combination of ISO 261 or UNC/UNF */
} bw_thread_size;

/* Reads `M10x1.25`, `M10` (coarse pitch), `3/8-24`, `3/8-24 UNF`, `1 1/8-7`, `#10-32`, `10-32`.
 * Any diameter and pitch may be written.  BW_E_DATA with one line; out untouched then. */
BW_MUST_USE bw_status bw_thread_parse(const char *text, size_t len, bw_thread *out, bw_err *err);

/* d 0.3 to 500 mm, pitch at least 0.05 mm and at most half of d.  BW_E_DATA otherwise.
 * Source: d2 = d - 0.75 H, D1 = d - 1.25 H, d3 = d - 17/12 H with H = P sqrt(3)/2 (ISO 68-1, ISO
 * 724); As = pi/4 ((d2 + d3)/2)^2 (ISO 898-1); inch As = pi/4 (D - 0.9743/n)^2 (ASME B1.1). */
BW_MUST_USE bw_status bw_thread_size_of(const bw_thread *thread, bw_thread_size *out, bw_err *err);

/* The ring on which a head or nut bears. */
typedef struct bw_bearing {
    double mean_mm;     /* DKm: lever of the friction under the head, times two */
    double friction_mm; /* the same for evenly spread pressure, 2/3 (o^3 - i^3)/(o^2 - i^2) */
    double area_mm2;
} bw_bearing;

/* outer_mm: washer face, flange or washer; inner_mm: hole, with its chamfer.  inner below outer. */
BW_MUST_USE bw_status bw_bearing_of(double outer_mm, double inner_mm, bw_bearing *out, bw_err *err);

/* Washer face of a hexagon head (least, ISO 4014, product grade A) and clearance hole (ISO 273;
 * fit "fine", "medium", "coarse") for a nominal diameter.  From memory, not seen, but for M8 and
 * M10.  BW_E_DATA where the table has no such size or fit. */
BW_MUST_USE bw_status bw_hexagon_head(double d_mm, const char *fit, double *outer_mm,
                                      double *inner_mm, bw_err *err);

#endif
