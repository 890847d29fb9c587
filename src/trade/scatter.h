/* scatter.h - how far preload strays, and friction and nut factors by name with their sources.
 *
 * Room: trade (pure).  The sources disagree with each other; so every row says where it is from,
 * nothing is a default, and a result is a band. */
#ifndef BW_TRADE_SCATTER_H
#define BW_TRADE_SCATTER_H

#include "base/status.h"

#include <stddef.h>

/* A way to tighten.  half_*: preload lies within +- that share of its mean, from the best to the
 * worst practice of this way. */
typedef struct bw_scatter {
    const char *name;
    double half_least, half_most; /* 0 to 1 */
    const char *source;
} bw_scatter;

/* Static rows; NULL behind the last. */
const bw_scatter *bw_scatter_at(size_t index);
BW_MUST_USE bw_status bw_scatter_find(const char *name, const bw_scatter **out, bw_err *err);

/* Half-width from the tightening factor alpha_A = F_max / F_min (1 to 10), and back (0 to 0.8):
 * (alpha - 1)/(alpha + 1).  Source: VDI 2230. */
BW_MUST_USE bw_status bw_half_width_from_alpha(double alpha, double *half_width, bw_err *err);
BW_MUST_USE bw_status bw_alpha_from_half_width(double half_width, double *alpha, bw_err *err);

typedef struct bw_band {
    double least_N, most_N;
} bw_band;

/* The band around a mean preload, by the worst practice of the way. */
BW_MUST_USE bw_status bw_scatter_band(const bw_scatter *scatter, double mean_N, bw_band *out,
                                      bw_err *err);

/* Preload of a joint from a range of torque, after relaxation and heat.  Source: NASA-STD-5020B:
 * F = T (1 +- G)/(K d), the least with G/sqrt(fasteners) where the fasteners share the load. */
typedef struct bw_preload_range {
    double torque_least_Nm, torque_most_Nm; /* above running torque, tool's error included */
    double d_mm;
    double nut_factor;
    double scatter;    /* G, 0 to 0.9 */
    double fasteners;  /* nf: 1 where one that is loose is too many */
    double relaxation; /* share lost, 0 to 0.9 */
    double thermal_N;  /* what heat adds and takes, >= 0 */
} bw_preload_range;

typedef struct bw_preload_limits {
    bw_band initial, final;
} bw_preload_limits;

BW_MUST_USE bw_status bw_preload_limits_of(const bw_preload_range *range, bw_preload_limits *out,
                                           bw_err *err);

typedef enum bw_preset_kind {
    BW_PRESET_FRICTION = 0, /* coefficient of friction, thread and head */
    BW_PRESET_NUT_FACTOR,   /* K */
    BW_PRESET_DRY_SHARE     /* torque with this lubricant as a share of the dry torque */
} bw_preset_kind;

typedef struct bw_preset {
    const char *name;
    bw_preset_kind kind;
    double least, most;
    const char *says;
    const char *source;
} bw_preset;

/* Static rows; NULL behind the last. */
const bw_preset *bw_preset_at(size_t index);
BW_MUST_USE bw_status bw_preset_find(const char *name, const bw_preset **out, bw_err *err);

#endif
