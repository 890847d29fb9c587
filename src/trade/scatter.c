/* scatter.c - see scatter.h. */
#include "trade/scatter.h"

#include "base/text.h"
#include "trade/check.h"

#include <math.h>
#include <string.h>

/* alpha_A as its half-width, so that all rows compare. */
#define HALF(alpha) (((alpha)-1) / ((alpha) + 1))

static const char vdi_seen[] = "VDI 2230, tightening factor, seen in open copies of its table";
static const char vdi_memory[] = "VDI 2230, tightening factor, from memory, not seen";
static const char handbook[] = "handbook table of preload accuracy, seen as quoted";
static const char nasa[] = "NASA list of preload uncertainty, seen as quoted";

static const bw_scatter scatters[] = {
    {"elongation", HALF(1.05), HALF(1.2), vdi_memory},
    {"ultrasonic", HALF(1.05), HALF(1.2), vdi_memory},
    {"yield_controlled", HALF(1.2), HALF(1.4), vdi_seen},
    {"angle_controlled", HALF(1.2), HALF(1.4), vdi_seen},
    {"hydraulic", HALF(1.2), HALF(1.6), vdi_seen},
    {"torque_by_trials", HALF(1.4), HALF(1.6), vdi_seen},
    {"torque_estimated", HALF(1.6), HALF(2.0), vdi_seen},
    {"power_screwdriver", HALF(1.7), HALF(2.5), vdi_seen},
    {"impact_wrench", HALF(2.5), HALF(4.0), vdi_seen},
    {"handbook_feel", 0.35, 0.35, handbook},
    {"handbook_torque_wrench", 0.25, 0.25, handbook},
    {"handbook_turn_of_nut", 0.15, 0.15, handbook},
    {"handbook_indicating_washer", 0.10, 0.10, handbook},
    {"handbook_elongation", 0.03, 0.05, handbook},
    {"handbook_strain_gauge", 0.01, 0.01, handbook},
    {"handbook_below_yield", 0.15, 0.15, handbook},
    {"handbook_yield_sensing", 0.08, 0.08, handbook},
    {"handbook_ultrasonic", 0.01, 0.01, handbook},
    {"nasa_torque_unlubricated", 0.35, 0.35, nasa},
    {"nasa_torque_cadmium", 0.30, 0.30, nasa},
    {"nasa_torque_lubricated", 0.25, 0.25, nasa},
    {"nasa_hydraulic", 0.15, 0.15, nasa},
    {"nasa_washers", 0.10, 0.10, nasa},
    {"nasa_ultrasonic", 0.10, 0.10, nasa},
    {"nasa_elongation", 0.05, 0.05, nasa},
};

static const char vdi_class[] = "VDI 2230, friction classes at room temperature, seen as quoted";
static const char textbook[] = "machine design textbook, table of nut factors, seen";
static const char web[] = "open web table of nut factors, seen";
static const char army[] = "army technical manuals, torque appendix, seen: cut the dry torque";

static const bw_preset presets[] = {
    {"friction_class_a", BW_PRESET_FRICTION, 0.04, 0.10,
     "solid lubricants (MoS2, graphite, PTFE) in pastes or films, waxes", vdi_class},
    {"friction_class_b", BW_PRESET_FRICTION, 0.08, 0.16,
     "greases, oils, as delivered; hot-dip zinc with MoS2; light alloys", vdi_class},
    {"friction_class_c", BW_PRESET_FRICTION, 0.14, 0.24,
     "bare or phosphated, lightly oiled; zinc without lubricant; austenitic with paste", vdi_class},
    {"friction_class_d", BW_PRESET_FRICTION, 0.20, 0.35,
     "austenitic with oil; plain zinc; hot-dip zinc", vdi_class},
    {"friction_class_e", BW_PRESET_FRICTION, 0.30, 1.5,
     "austenitic, aluminium without lubricant: no upper end is given", vdi_class},
    {"textbook_black", BW_PRESET_NUT_FACTOR, 0.30, 0.30, "no plating, black", textbook},
    {"textbook_zinc", BW_PRESET_NUT_FACTOR, 0.20, 0.20, "zinc plated", textbook},
    {"textbook_lubricated", BW_PRESET_NUT_FACTOR, 0.18, 0.18, "lubricated", textbook},
    {"textbook_cadmium", BW_PRESET_NUT_FACTOR, 0.16, 0.16, "cadmium plated", textbook},
    {"textbook_antiseize", BW_PRESET_NUT_FACTOR, 0.09, 0.12, "anti-seize, two kinds", textbook},
    {"web_dry", BW_PRESET_NUT_FACTOR, 0.20, 0.25, "dry", web},
    {"web_engine_oil", BW_PRESET_NUT_FACTOR, 0.15, 0.20, "engine oil", web},
    {"web_antiseize", BW_PRESET_NUT_FACTOR, 0.12, 0.16, "anti-seize", web},
    {"web_moly", BW_PRESET_NUT_FACTOR, 0.11, 0.11, "anti-seize with molybdenum disulphide", web},
    {"survey", BW_PRESET_NUT_FACTOR, 0.086, 0.52, "means over many lubricants",
     "handbook on bolting, survey of published means, seen as quoted"},
    {"army_engine_oil", BW_PRESET_DRY_SHARE, 0.90, 0.90, "engine oil: 10 % less", army},
    {"army_new_plated", BW_PRESET_DRY_SHARE, 0.80, 0.80, "new plated screws: 20 % less", army},
    {"army_into_aluminium", BW_PRESET_DRY_SHARE, 0, 0.70,
     "into aluminium without inserts: 30 % less or more", army},
};

enum {
    SCATTER_N = sizeof scatters / sizeof scatters[0],
    PRESET_N = sizeof presets / sizeof presets[0]
};

const bw_scatter *bw_scatter_at(size_t index) {
    return index < SCATTER_N ? &scatters[index] : NULL;
}

bw_status bw_scatter_find(const char *name, const bw_scatter **out, bw_err *err) {
    char names[BW_ERR_TEXT_MAX];
    bw_text known = bw_text_on(names, sizeof names);
    for (size_t i = 0; i < SCATTER_N; i++) {
        if (strcmp(scatters[i].name, name) == 0) {
            *out = &scatters[i];
            return BW_OK;
        }
        bw_text_add(&known, " %s", scatters[i].name);
    }
    return bw_fail(err, BW_E_DATA, "no way to tighten is called '%s': one of%s is needed", name,
                   names);
}

bw_status bw_half_width_from_alpha(double alpha, double *half_width, bw_err *err) {
    bw_status s = BW_CHECK(err, {"alpha", alpha, 1, 10, ""});
    if (s == BW_OK) {
        *half_width = HALF(alpha);
    }
    return s;
}

bw_status bw_alpha_from_half_width(double half_width, double *alpha, bw_err *err) {
    bw_status s = BW_CHECK(err, {"half_width", half_width, 0, 0.8, ""});
    if (s == BW_OK) {
        *alpha = (1 + half_width) / (1 - half_width);
    }
    return s;
}

bw_status bw_scatter_band(const bw_scatter *scatter, double mean_N, bw_band *out, bw_err *err) {
    bw_status s = BW_CHECK(err, BW_RANGE_FORCE("preload", mean_N));
    if (s == BW_OK) {
        *out = (bw_band){mean_N * (1 - scatter->half_most), mean_N * (1 + scatter->half_most)};
    }
    return s;
}

bw_status bw_preload_limits_of(const bw_preload_range *r, bw_preload_limits *out, bw_err *err) {
    bw_status s = BW_CHECK(
        err, BW_RANGE_TORQUE("torque_least", r->torque_least_Nm),
        {"torque_most", r->torque_most_Nm, r->torque_least_Nm, 1000000, " N.m"},
        BW_RANGE_DIAMETER("d", r->d_mm), BW_RANGE_FACTOR("nut_factor", r->nut_factor),
        {"scatter", r->scatter, 0, 0.9, ""}, {"fasteners", r->fasteners, 1, 10000, ""},
        {"relaxation", r->relaxation, 0, 0.9, ""}, BW_RANGE_FORCE("thermal", r->thermal_N));
    if (s != BW_OK) {
        return s;
    }
    double per_Nm = 1000 / (r->nut_factor * r->d_mm);
    bw_band initial = {
        r->torque_least_Nm * (1 - r->scatter / sqrt(r->fasteners)) * per_Nm,
        r->torque_most_Nm * (1 + r->scatter) * per_Nm,
    };
    out->initial = initial;
    out->final = (bw_band){initial.least_N * (1 - r->relaxation) - r->thermal_N,
                           initial.most_N + r->thermal_N};
    return BW_OK;
}

const bw_preset *bw_preset_at(size_t index) {
    return index < PRESET_N ? &presets[index] : NULL;
}

bw_status bw_preset_find(const char *name, const bw_preset **out, bw_err *err) {
    char names[BW_ERR_TEXT_MAX];
    bw_text known = bw_text_on(names, sizeof names);
    for (size_t i = 0; i < PRESET_N; i++) {
        if (strcmp(presets[i].name, name) == 0) {
            *out = &presets[i];
            return BW_OK;
        }
        bw_text_add(&known, " %s", presets[i].name);
    }
    return bw_fail(err, BW_E_DATA, "no preset is called '%s': one of%s is needed", name, names);
}
