/* preload.c - see preload.h. */
#include "trade/preload.h"

#include "trade/check.h"

#include <math.h>

static const double pi = 3.14159265358979323846;
static const double mm_in_m = 1000;

/* tan(phi + rho') and tan(rho' - phi) on the flanks of a 60 degree thread. */
static double flank_tangent(const bw_thread_size *size, double friction, double direction) {
    double phi = size->lead_deg * pi / 180;
    double rho = atan(friction / cos(pi / 6));
    return tan(rho + direction * phi);
}

bw_status bw_lever_of(const bw_tightening *t, bw_lever *out, bw_err *err) {
    bw_status s = BW_CHECK(err, BW_RANGE_FRICTION("friction_thread", t->friction_thread),
                           BW_RANGE_FRICTION("friction_head", t->friction_head));
    bw_bearing bearing = {0};
    bw_thread_size size = {0};
    if (s == BW_OK) {
        s = bw_bearing_of(t->bearing_outer_mm, t->bearing_inner_mm, &bearing, err);
    }
    if (s == BW_OK) {
        s = bw_thread_size_of(&t->thread, &size, err);
    }
    if (s != BW_OK) {
        return s;
    }
    double flanks = size.d2_mm / 2 * flank_tangent(&size, t->friction_thread, 1);
    double head = t->friction_head * bearing.mean_mm / 2;
    double pitch = t->thread.pitch_mm / (2 * pi);
    *out = (bw_lever){
        .pitch_mm = pitch,
        .thread_mm = flanks - pitch,
        .head_mm = head,
        .total_mm = flanks + head,
        .loosen_mm = size.d2_mm / 2 * flank_tangent(&size, t->friction_thread, -1) + head,
        .nut_factor = (flanks + head) / t->thread.d_mm,
    };
    return BW_OK;
}

bw_status bw_torque_from_preload(const bw_tightening *tightening, double preload_N,
                                 double *torque_Nm, bw_err *err) {
    bw_lever lever = {0};
    bw_status s = BW_CHECK(err, BW_RANGE_FORCE("preload", preload_N));
    if (s == BW_OK) {
        s = bw_lever_of(tightening, &lever, err);
    }
    if (s == BW_OK) {
        *torque_Nm = preload_N * lever.total_mm / mm_in_m;
    }
    return s;
}

bw_status bw_preload_from_torque(const bw_tightening *tightening, double torque_Nm,
                                 double *preload_N, bw_err *err) {
    bw_lever lever = {0};
    bw_status s = BW_CHECK(err, BW_RANGE_TORQUE("torque", torque_Nm));
    if (s == BW_OK) {
        s = bw_lever_of(tightening, &lever, err);
    }
    if (s == BW_OK) {
        *preload_N = torque_Nm * mm_in_m / lever.total_mm;
    }
    return s;
}

bw_status bw_torque_from_nut_factor(double nut_factor, double d_mm, double preload_N,
                                    double *torque_Nm, bw_err *err) {
    bw_status s = BW_CHECK(err, BW_RANGE_FACTOR("nut_factor", nut_factor),
                           BW_RANGE_DIAMETER("d", d_mm), BW_RANGE_FORCE("preload", preload_N));
    if (s == BW_OK) {
        *torque_Nm = nut_factor * d_mm * preload_N / mm_in_m;
    }
    return s;
}

bw_status bw_preload_from_nut_factor(double nut_factor, double d_mm, double torque_Nm,
                                     double *preload_N, bw_err *err) {
    bw_status s = BW_CHECK(err, BW_RANGE_FACTOR("nut_factor", nut_factor),
                           BW_RANGE_DIAMETER("d", d_mm), BW_RANGE_TORQUE("torque", torque_Nm));
    if (s == BW_OK) {
        *preload_N = torque_Nm * mm_in_m / (nut_factor * d_mm);
    }
    return s;
}

/* Torsion for each unit of tension: 1.5 (plastic) or 2 (elastic) times d2/d0 tan(phi + rho'). */
static double torsion_share(const bw_thread_size *size, double friction_thread, bool elastic) {
    double factor = elastic ? 2.0 : 1.5;
    return factor * size->d2_mm / size->d0_mm * flank_tangent(size, friction_thread, 1);
}

bw_status bw_stress_at(const bw_thread *thread, double friction_thread, double preload_N,
                       bool elastic, bw_stress *out, bw_err *err) {
    bw_thread_size size = {0};
    bw_status s = BW_CHECK(err, BW_RANGE_FRICTION("friction_thread", friction_thread),
                           BW_RANGE_FORCE("preload", preload_N));
    if (s == BW_OK) {
        s = bw_thread_size_of(thread, &size, err);
    }
    if (s == BW_OK) {
        double tension = preload_N / size.stress_area_mm2;
        double torsion = tension * torsion_share(&size, friction_thread, elastic);
        *out = (bw_stress){tension, torsion, sqrt(tension * tension + 3 * torsion * torsion)};
    }
    return s;
}

bw_status bw_permissible_preload(const bw_thread *thread, double friction_thread, double yield_MPa,
                                 double utilisation, bool elastic, double *preload_N, bw_err *err) {
    bw_thread_size size = {0};
    bw_status s = BW_CHECK(err, BW_RANGE_FRICTION("friction_thread", friction_thread),
                           BW_RANGE_STRESS("yield", yield_MPa),
                           {"utilisation", utilisation, 0.01, 1, ""});
    if (s == BW_OK) {
        s = bw_thread_size_of(thread, &size, err);
    }
    if (s == BW_OK) {
        double share = torsion_share(&size, friction_thread, elastic);
        *preload_N = size.stress_area_mm2 * utilisation * yield_MPa / sqrt(1 + 3 * share * share);
    }
    return s;
}

bw_status bw_torque_for_friction(const bw_tightening *from, double friction_thread_new,
                                 double friction_head_new, double torque_Nm, double *out_Nm,
                                 bw_err *err) {
    bw_tightening to = *from;
    to.friction_thread = friction_thread_new;
    to.friction_head = friction_head_new;
    double preload_N = 0;
    bw_status s = BW_CHECK(err, BW_RANGE_FRICTION("friction_thread_new", friction_thread_new),
                           BW_RANGE_FRICTION("friction_head_new", friction_head_new));
    if (s == BW_OK) {
        s = bw_preload_from_torque(from, torque_Nm, &preload_N, err);
    }
    if (s == BW_OK) {
        s = bw_torque_from_preload(&to, preload_N, out_Nm, err);
    }
    return s;
}

bw_status bw_torque_for_nut_factor(double torque_Nm, double nut_factor, double nut_factor_new,
                                   double *out_Nm, bw_err *err) {
    bw_status s = BW_CHECK(err, BW_RANGE_TORQUE("torque", torque_Nm),
                           BW_RANGE_FACTOR("nut_factor", nut_factor),
                           BW_RANGE_FACTOR("nut_factor_new", nut_factor_new));
    if (s == BW_OK) {
        *out_Nm = torque_Nm * nut_factor_new / nut_factor;
    }
    return s;
}

bw_status bw_torque_with_prevailing(double torque_Nm, double prevailing_Nm, double *out_Nm,
                                    bw_err *err) {
    bw_status s = BW_CHECK(err, BW_RANGE_TORQUE("torque", torque_Nm),
                           BW_RANGE_TORQUE("prevailing", prevailing_Nm));
    if (s == BW_OK) {
        *out_Nm = torque_Nm + prevailing_Nm;
    }
    return s;
}

bw_status bw_series_torque(double least_Nm, double most_Nm, double *out_Nm, bw_err *err) {
    bw_status s = BW_CHECK(err, BW_RANGE_TORQUE("least", least_Nm),
                           {"most", most_Nm, least_Nm, 1000000, " N.m"});
    if (s == BW_OK) {
        *out_Nm = (least_Nm + most_Nm) / 2;
    }
    return s;
}
