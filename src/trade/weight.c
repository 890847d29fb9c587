/* weight.c - see weight.h. */
#include "trade/weight.h"

#include "trade/check.h"

#include <math.h>
#include <stdbool.h>

static const double pi = 3.14159265358979323846;

/* An ellipsoid's normal gravity: at the equator, Somigliana's k and e^2, and what its change with
 * height takes (a, f, m). */
typedef struct ellipsoid {
    double equator_m_per_s2, k, e2;
    double a_m, f, m;
} ellipsoid;

static const ellipsoid ellipsoids[] = {
    [BW_GRAVITY_WGS84] = {9.7803253359, 0.00193185265241, 0.00669437999013, 6378137,
                          1 / 298.257223563, 0.00344978650684},
    [BW_GRAVITY_GRS80] = {9.7803267715, 0.001931851353, 0.0066943800229, 6378137, 1 / 298.257222101,
                          0.00344978600308},
};

static double on_ellipsoid(const ellipsoid *e, double sin2, double height_m) {
    double ground = e->equator_m_per_s2 * (1 + e->k * sin2) / sqrt(1 - e->e2 * sin2);
    double slope = 2 / e->a_m * (1 + e->f + e->m - 2 * e->f * sin2);
    double relative = height_m / e->a_m;
    return ground * (1 - slope * height_m + 3 * relative * relative);
}

static double by_cfr(double s) {
    return 9.7803267715 * (1 + s * (5.2790414e-3 + s * (2.32718e-5 + s * (1.262e-7 + s * 7e-10))));
}

static double by_welmec(double latitude_rad, double sin2, double height_m) {
    double sin_twice = sin(2 * latitude_rad);
    return 9.780318 * (1 + 0.0053024 * sin2 - 0.0000058 * sin_twice * sin_twice) -
           3.085e-6 * height_m;
}

static const char *const words[BW_GRAVITY_COUNT] = {
    [BW_GRAVITY_WGS84] = "wgs84",
    [BW_GRAVITY_GRS80] = "grs80",
    [BW_GRAVITY_CFR1065] = "cfr1065",
    [BW_GRAVITY_WELMEC] = "welmec",
};

const char *bw_gravity_word(bw_gravity_model model) {
    return (unsigned)model < BW_GRAVITY_COUNT ? words[model] : NULL;
}

bw_status bw_gravity(bw_gravity_model model, double latitude_deg, double height_m, double *m_per_s2,
                     bw_err *err) {
    bool flat = model == BW_GRAVITY_CFR1065;
    bw_status s = BW_CHECK(err, {"latitude", latitude_deg, -90, 90, " deg"},
                           {"height", height_m, flat ? 0 : -500, flat ? 0 : 9000, " m"},
                           {"model", (double)model, 0, BW_GRAVITY_COUNT - 1, ""});
    if (s != BW_OK) {
        return s;
    }
    double latitude_rad = latitude_deg * pi / 180;
    double sin2 = sin(latitude_rad) * sin(latitude_rad);
    if (flat) {
        *m_per_s2 = by_cfr(sin2);
    } else if (model == BW_GRAVITY_WELMEC) {
        *m_per_s2 = by_welmec(latitude_rad, sin2, height_m);
    } else {
        *m_per_s2 = on_ellipsoid(&ellipsoids[model], sin2, height_m);
    }
    return BW_OK;
}

bw_status bw_air_density(double pressure_hPa, double humidity_percent, double temperature_degC,
                         double *kg_per_m3, bw_err *err) {
    double t = temperature_degC;
    bw_status s = BW_CHECK(err, {"pressure", pressure_hPa, 500, 1100, " hPa"},
                           {"humidity", humidity_percent, 0, 100, " %"},
                           {"temperature", t, -20, 50, " degC"});
    if (s == BW_OK) {
        *kg_per_m3 = (0.34848 * pressure_hPa - 0.009 * humidity_percent * exp(0.061 * t)) /
                     (273.15 + t);
    }
    return s;
}

/* N.m for each kilogram. */
static bw_status torque_per_kg(const bw_dead_weight *w, double *Nm_per_kg, bw_err *err) {
    bw_status s = BW_CHECK(err, {"lever", w->lever_mm, 1, 20000, " mm"},
                           {"gravity", w->gravity_m_per_s2, 9.7, 9.9, " m/s2"},
                           {"air_density", w->air_kg_per_m3, 0, 1.5, " kg/m3"},
                           {"weight_density", w->weight_kg_per_m3, 1000, 22000, " kg/m3"});
    if (s == BW_OK) {
        *Nm_per_kg = w->gravity_m_per_s2 * w->lever_mm / 1000 *
                     (1 - w->air_kg_per_m3 / w->weight_kg_per_m3);
    }
    return s;
}

bw_status bw_dead_weight_torque(const bw_dead_weight *weight, double *torque_Nm, bw_err *err) {
    double Nm_per_kg = 0;
    bw_status s = BW_CHECK(err, {"mass", weight->mass_kg, 0, 100000, " kg"});
    if (s == BW_OK) {
        s = torque_per_kg(weight, &Nm_per_kg, err);
    }
    if (s == BW_OK) {
        *torque_Nm = weight->mass_kg * Nm_per_kg;
    }
    return s;
}

bw_status bw_dead_weight_mass(const bw_dead_weight *weight, double torque_Nm, double *mass_kg,
                              bw_err *err) {
    double Nm_per_kg = 0;
    bw_status s = BW_CHECK(err, BW_RANGE_TORQUE("torque", torque_Nm));
    if (s == BW_OK) {
        s = torque_per_kg(weight, &Nm_per_kg, err);
    }
    if (s == BW_OK) {
        *mass_kg = torque_Nm / Nm_per_kg;
    }
    return s;
}

/* (L + E cos a)/L */
static bw_status lever_ratio(const bw_adapter *a, double *ratio, bw_err *err) {
    bw_status s = BW_CHECK(err, {"lever", a->lever_mm, 10, 10000, " mm"},
                           {"extension", a->extension_mm, 0, 10000, " mm"},
                           {"angle", a->angle_deg, -360, 360, " deg"});
    if (s != BW_OK) {
        return s;
    }
    double along_mm = a->extension_mm * cos(a->angle_deg * pi / 180);
    if (a->lever_mm + along_mm < 0.1 * a->lever_mm) {
        return bw_fail(err, BW_E_DATA,
                       "extension reaches back %.9g mm over a lever of %.9g mm: less than nine "
                       "tenths of the lever is needed",
                       -along_mm, a->lever_mm);
    }
    *ratio = (a->lever_mm + along_mm) / a->lever_mm;
    return BW_OK;
}

bw_status bw_adapter_setting(const bw_adapter *adapter, double torque_Nm, double *setting_Nm,
                             bw_err *err) {
    double ratio = 1;
    bw_status s = BW_CHECK(err, BW_RANGE_TORQUE("torque", torque_Nm));
    if (s == BW_OK) {
        s = lever_ratio(adapter, &ratio, err);
    }
    if (s == BW_OK) {
        *setting_Nm = torque_Nm / ratio;
    }
    return s;
}

bw_status bw_adapter_torque(const bw_adapter *adapter, double setting_Nm, double *torque_Nm,
                            bw_err *err) {
    double ratio = 1;
    bw_status s = BW_CHECK(err, BW_RANGE_TORQUE("setting", setting_Nm));
    if (s == BW_OK) {
        s = lever_ratio(adapter, &ratio, err);
    }
    if (s == BW_OK) {
        *torque_Nm = setting_Nm * ratio;
    }
    return s;
}

bw_status bw_tool_error(double indicated_Nm, const double *reference_Nm, size_t n, double *percent,
                        bw_err *err) {
    bw_status s = BW_CHECK(err, {"indicated", indicated_Nm, 0.001, 1000000, " N.m"});
    if (s == BW_OK) {
        s = bw_check_list("references", reference_Nm, n, 1, 0.001, 1000000, " N.m", err);
    }
    if (s == BW_OK) {
        double sum = 0;
        for (size_t i = 0; i < n; i++) {
            sum += (indicated_Nm - reference_Nm[i]) / reference_Nm[i] * 100;
        }
        *percent = sum / (double)n;
    }
    return s;
}
