/* stretch.h - how bolts and joints give, and what an angle or a measured stretch says of preload.
 *
 * Room: trade (pure).  mm, N, MPa, degrees; stiffness in N/mm.  Straight lines only: below yield,
 * and from the snug point on (before it the joint is still closing).
 *
 * Every function returns BW_OK, or BW_E_DATA with one line that names the argument and its range;
 * out-parameters are untouched then. */
#ifndef BW_TRADE_STRETCH_H
#define BW_TRADE_STRETCH_H

#include "base/status.h"
#include "trade/thread.h"

#include <stddef.h>

enum { BW_SECTIONS_MAX = 64 };

/* One stretch of the bolt between head and nut: shank, neck, thread. */
typedef struct bw_section {
    double length_mm;
    double area_mm2;
} bw_section;

/* mm longer for each newton: sum of L / (E A).  n 1 to BW_SECTIONS_MAX. */
BW_MUST_USE bw_status bw_compliance_of(const bw_section *section, size_t n, double modulus_MPa,
                                       double *mm_per_N, bw_err *err);

/* The two sections of a plain bolt, shank and free thread, each 0.4 d longer for what gives inside
 * head and nut.  out has two places.  Source: machine design practice as in open design notes;
 * VDI 2230 takes 0.5 d and 0.4 d (from memory). */
BW_MUST_USE bw_status bw_plain_bolt(const bw_thread *thread, double shank_mm, double thread_mm,
                                    bw_section *out, bw_err *err);

/* Stiffness of the clamped parts as two cones of 30 degrees, N/mm: d the hole's or bolt's diameter,
 * bearing outer diameter above d, grip length.  Source: machine design textbooks (frustum method):
 * k = 0.5774 pi E d / (2 ln ...). */
BW_MUST_USE bw_status bw_cone_stiffness(double d_mm, double bearing_outer_mm, double grip_mm,
                                        double modulus_MPa, double *N_per_mm, bw_err *err);

/* C = kb/(kb + kc): the share of an outer load that the bolt feels. */
BW_MUST_USE bw_status bw_load_factor(double bolt_N_per_mm, double joint_N_per_mm, double *factor,
                                     bw_err *err);

/* dF = angle/360 P / (1/kb + 1/kc), and back. */
BW_MUST_USE bw_status bw_preload_from_angle(double angle_deg, double pitch_mm, double bolt_N_per_mm,
                                            double joint_N_per_mm, double *preload_N, bw_err *err);
BW_MUST_USE bw_status bw_angle_from_preload(double preload_N, double pitch_mm, double bolt_N_per_mm,
                                            double joint_N_per_mm, double *angle_deg, bw_err *err);

/* How much longer the bolt is under preload, and back. */
BW_MUST_USE bw_status bw_stretch_from_preload(const bw_section *section, size_t n,
                                              double modulus_MPa, double preload_N,
                                              double *stretch_mm, bw_err *err);
BW_MUST_USE bw_status bw_preload_from_stretch(const bw_section *section, size_t n,
                                              double modulus_MPa, double stretch_mm,
                                              double *preload_N, bw_err *err);

/* What bw_effective_length takes. */
typedef struct bw_end_corrections {
    double thread_d_mm; /* diameter of the thread's stress area, dts */
    double shank_d_mm;  /* d */
    double shank_mm;    /* Ls, at most joint_mm */
    double joint_mm;    /* Lj, the grip */
    double head_mm;     /* height of the head */
    double nut_mm;      /* height of the nut, or length of thread engaged */
} bw_end_corrections;

/* Length of a bolt of the thread's stress area that gives as much:
 * (dts/d)^2 (Ls + Hhead/2) + Lj - Ls + Hnut/2.  Source: MIL-HDBK-60, seen as quoted. */
BW_MUST_USE bw_status bw_effective_length(const bw_end_corrections *ends, double *length_mm,
                                          bw_err *err);

/* Longer after than before by what the metal keeps.  Both lengths above 0. */
BW_MUST_USE bw_status bw_length_gain(double before_mm, double after_mm, double *gain_mm,
                                     bw_err *err);

#endif
