/* preload.h - torque, preload and the stress that tightening leaves.
 *
 * Room: trade (pure).  N.m, N, mm, MPa.  Torque sets preload only through friction: every figure
 * here is as good as the friction that went in, and a person is shown a band (scatter.h), never
 * this one number alone.
 *
 * Every function returns BW_OK, or BW_E_DATA with one line that names the argument and its range;
 * out-parameters are untouched then. */
#ifndef BW_TRADE_PRELOAD_H
#define BW_TRADE_PRELOAD_H

#include "base/status.h"
#include "trade/thread.h"

#include <stdbool.h>

/* What turns torque into preload.  Coefficients of friction 0 to 1.5; bearing diameters as in
 * bw_bearing_of. */
typedef struct bw_tightening {
    bw_thread thread;
    double friction_thread;  /* muG */
    double friction_head;    /* muK */
    double bearing_outer_mm; /* of head or nut, whichever turns */
    double bearing_inner_mm;
} bw_tightening;

/* Torque for each newton of preload, as levers: T_Nm = F_N * total_mm / 1000. */
typedef struct bw_lever {
    double pitch_mm;   /* what stretches the fastener: P / 2 pi */
    double thread_mm;  /* friction in the thread */
    double head_mm;    /* friction under the head */
    double total_mm;   /* their sum, the tightening torque */
    double loosen_mm;  /* the torque that loosens; negative where the thread runs back by itself */
    double nut_factor; /* K in T = K d F */
} bw_lever;

/* T = F [d2/2 tan(phi + rho') + muK DKm/2], phi = atan(P/(pi d2)), rho' = atan(muG/cos 30 deg);
 * loosening with rho' - phi.  Source: VDI 2230 in its exact form; the same structure stands in
 * NASA-STD-5020B and machine design textbooks. */
BW_MUST_USE bw_status bw_lever_of(const bw_tightening *tightening, bw_lever *out, bw_err *err);

BW_MUST_USE bw_status bw_torque_from_preload(const bw_tightening *tightening, double preload_N,
                                             double *torque_Nm, bw_err *err);
BW_MUST_USE bw_status bw_preload_from_torque(const bw_tightening *tightening, double torque_Nm,
                                             double *preload_N, bw_err *err);

/* The short form T = K d F.  nut_factor 0.01 to 2. */
BW_MUST_USE bw_status bw_torque_from_nut_factor(double nut_factor, double d_mm, double preload_N,
                                                double *torque_Nm, bw_err *err);
BW_MUST_USE bw_status bw_preload_from_nut_factor(double nut_factor, double d_mm, double torque_Nm,
                                                 double *preload_N, bw_err *err);

/* Stress in the thread's stress area while the fastener is tightened. */
typedef struct bw_stress {
    double tension_MPa;
    double torsion_MPa;
    double reduced_MPa; /* von Mises: sqrt(tension^2 + 3 torsion^2) */
} bw_stress;

/* elastic: torsion by the elastic section modulus pi d0^3/16; else by the fully plastic pi d0^3/12
 * (VDI 2230).  friction_thread 0: a fastener pulled, not turned, still carries the pitch's part. */
BW_MUST_USE bw_status bw_stress_at(const bw_thread *thread, double friction_thread,
                                   double preload_N, bool elastic, bw_stress *out, bw_err *err);

/* The preload at which bw_stress_at reaches utilisation * yield_MPa.  utilisation 0.01 to 1. */
BW_MUST_USE bw_status bw_permissible_preload(const bw_thread *thread, double friction_thread,
                                             double yield_MPa, double utilisation, bool elastic,
                                             double *preload_N, bw_err *err);

/* The torque that gives the same preload when the friction is another: `from` names the friction
 * that torque_Nm was given for. */
BW_MUST_USE bw_status bw_torque_for_friction(const bw_tightening *from, double friction_thread_new,
                                             double friction_head_new, double torque_Nm,
                                             double *out_Nm, bw_err *err);

/* The same by nut factors. */
BW_MUST_USE bw_status bw_torque_for_nut_factor(double torque_Nm, double nut_factor,
                                               double nut_factor_new, double *out_Nm, bw_err *err);

/* The setting for a locking fastener: its running torque is added to the target (AC 43.13-1B; NASA-
 * STD-5020B), since it stretches nothing. */
BW_MUST_USE bw_status bw_torque_with_prevailing(double torque_Nm, double prevailing_Nm,
                                                double *out_Nm, bw_err *err);

/* One torque for all fasteners of a joint out of a range: its middle.  Mixing the ends overloads
 * the tighter ones (series rule; flange makers' practice).  least <= most. */
BW_MUST_USE bw_status bw_series_torque(double least_Nm, double most_Nm, double *out_Nm,
                                       bw_err *err);

#endif
