/* weight.h - torque from weights on a lever, the gravity there, and adapters on a wrench.
 *
 * Room: trade (pure).  N.m, mm, kg, kg/m3, m/s2, degrees.
 *
 * Every function returns BW_OK, or BW_E_DATA with one line that names the argument and its range;
 * out-parameters are untouched then. */
#ifndef BW_TRADE_WEIGHT_H
#define BW_TRADE_WEIGHT_H

#include "base/status.h"

#include <stddef.h>

typedef enum bw_gravity_model {
    BW_GRAVITY_WGS84 = 0, /* normal gravity, with height */
    BW_GRAVITY_GRS80,     /* the same by the older ellipsoid */
    BW_GRAVITY_CFR1065,   /* 40 CFR 1065.630; no height term: height must be 0 */
    BW_GRAVITY_WELMEC,    /* for weighing instruments, with height */
    BW_GRAVITY_COUNT
} bw_gravity_model;

/* "wgs84", "grs80", "cfr1065", "welmec".  Static; NULL outside of the enum. */
const char *bw_gravity_word(bw_gravity_model model);

/* latitude -90 to 90, height -500 to 9000 m above the sea.  Real gravity differs from this by up to
 * 5e-5 of it, far below any wrench's error.  Sources: WGS 84 constants and height formula (NIMA
 * TR8350.2, formula from memory); 40 CFR 1065.630; WELMEC as quoted in open software. */
BW_MUST_USE bw_status bw_gravity(bw_gravity_model model, double latitude_deg, double height_m,
                                 double *m_per_s2, bw_err *err);

/* kg/m3 from pressure (hPa), relative humidity (%), temperature: (0.34848 p - 0.009 h exp(0.061
 * t))/ (273.15 + t).  Source: simplified CIPM formula, from memory, not seen. */
BW_MUST_USE bw_status bw_air_density(double pressure_hPa, double humidity_percent,
                                     double temperature_degC, double *kg_per_m3, bw_err *err);

/* A weight on a level lever. */
typedef struct bw_dead_weight {
    double mass_kg; /* conventional mass, as its certificate says; 0 where it is asked for */
    double lever_mm;
    double gravity_m_per_s2; /* 9.7 to 9.9 */
    double air_kg_per_m3;    /* 0 (no buoyancy) to 1.5; certificates: 1.2 */
    double weight_kg_per_m3; /* 1000 to 22000; certificates: 8000 */
} bw_dead_weight;

/* T = m g L (1 - rho_air/rho_weight), and the mass for a torque. */
BW_MUST_USE bw_status bw_dead_weight_torque(const bw_dead_weight *weight, double *torque_Nm,
                                            bw_err *err);
BW_MUST_USE bw_status bw_dead_weight_mass(const bw_dead_weight *weight, double torque_Nm,
                                          double *mass_kg, bw_err *err);

/* An adapter on the square drive, crowfoot or extension. */
typedef struct bw_adapter {
    double lever_mm;     /* where the hand is, to the centre of the drive */
    double extension_mm; /* centre of the drive to centre of the fastener */
    double angle_deg;    /* 0: straight on; 90: no change; 180: pointing back */
} bw_adapter;

/* What to set for a torque at the fastener: Ts = T L/(L + E cos a); and what a reading means there.
 * An extension along the drive's axis needs no correction.  Source: army and navy technical
 * manuals.  Refused where less than a tenth of the lever would be left. */
BW_MUST_USE bw_status bw_adapter_setting(const bw_adapter *adapter, double torque_Nm,
                                         double *setting_Nm, bw_err *err);
BW_MUST_USE bw_status bw_adapter_torque(const bw_adapter *adapter, double setting_Nm,
                                        double *torque_Nm, bw_err *err);

/* Mean of (indicated - reference)/reference in per cent over n >= 1 reference readings.  Source:
 * ISO 6789, from memory: the reference is the divisor. */
BW_MUST_USE bw_status bw_tool_error(double indicated_Nm, const double *reference_Nm, size_t n,
                                    double *percent, bw_err *err);

#endif
