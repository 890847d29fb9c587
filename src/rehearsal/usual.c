/* usual.c - a usual joint: see bw_joint_usual in fastener.h.
 *
 * Sources, where a figure is not given by the caller:
 * - friction classes of VDI 2230 (room temperature), the middle of each: A 0.04 to 0.10 (solid
 *   lubricants, pastes), B 0.08 to 0.16 (greases, oils, as delivered), C 0.14 to 0.24 (bare or
 *   phosphated, hardly oiled);
 * - spread: VDI 2230 gives preloads of a torque wrench set by trials on the joint as F_max / F_min
 *   of 1.4 to 1.6, a half-width of 17 to 23 %; the lower end, taken as three standard deviations;
 * - yield strength: ISO 898-1, the class's least;
 * - head: ISO 4014 with holes of ISO 273, medium row: 1.46 d and 1.1 d to within 3 % from M8 to
 *   M12;
 * - elastic interaction: tests on flanges found up to 35 % of the preload lost to neighbours; an
 *   engine's joints are stiffer, so much less is taken (our choice, no source);
 * - prevailing torque, where there is one: between fasteners and in a turn within a tenth (our
 *   choice, no source);
 * - grip of four diameters, half of it thread; parts of grey cast iron: common practice, no
 *   source; free turn, soft start and the slope beyond yield likewise. */
#include "rehearsal/fastener.h"

#include <math.h>
#include <string.h>

static const double pi = 3.14159265358979323846;

static const double steel_MPa = 205000.0;
static const double cast_iron_MPa = 100000.0;

static const struct {
    double d_mm, pitch_mm;
} coarse[] = {{5, 0.8}, {6, 1}, {8, 1.25}, {10, 1.5}, {12, 1.75}, {14, 2}, {16, 2}};

static const struct {
    const char *name;
    double yield_MPa;
} classes[] = {{"10.9", 940}, {"8.8", 640}, {"12.9", 1100}};

static const struct {
    const char *word;
    double friction;
} lubricants[] = {{"moly", 0.07}, {"paste", 0.07}, {"oil", 0.12}, {"grease", 0.12}, {"dry", 0.19}};

static const double oiled_friction = 0.12;

/* ISO 261; between its sizes by the usual proportion. */
static double coarse_pitch_mm(double d_mm) {
    for (size_t i = 0; i < sizeof coarse / sizeof coarse[0]; i++) {
        if (fabs(coarse[i].d_mm - d_mm) < 0.01) {
            return coarse[i].pitch_mm;
        }
    }
    return 0.15 * d_mm;
}

static double class_yield_MPa(const char *property_class) {
    for (size_t i = 0; property_class != NULL && i < sizeof classes / sizeof classes[0]; i++) {
        if (strcmp(classes[i].name, property_class) == 0) {
            return classes[i].yield_MPa;
        }
    }
    return classes[0].yield_MPa;
}

static double lubricant_friction(const char *lubricant) {
    for (size_t i = 0; lubricant != NULL && i < sizeof lubricants / sizeof lubricants[0]; i++) {
        if (strstr(lubricant, lubricants[i].word) != NULL) {
            return lubricants[i].friction;
        }
    }
    return oiled_friction;
}

double bw_joint_stress_area_mm2(const bw_joint_spec *spec) {
    double d = spec->thread_d_mm - 0.9382 * spec->thread_pitch_mm;
    return pi / 4 * d * d;
}

/* Shank and thread in a row, each longer by 0.4 d for head and nut; parts as a cone of 30 degrees
 * under the head.  Both from texts on machine elements. */
static void usual_stiffness(bw_joint_spec *spec) {
    double d = spec->thread_d_mm;
    double grip = 4 * d;
    double shank = (grip / 2 + 0.4 * d) / (pi / 4 * d * d);
    double thread = (grip / 2 + 0.4 * d) / bw_joint_stress_area_mm2(spec);
    spec->bolt_N_per_mm = steel_MPa / (shank + thread);
    double face = spec->head_outer_mm;
    double cone = (0.5774 * grip + face - d) * (face + d) /
                  ((0.5774 * grip + face + d) * (face - d));
    spec->parts_N_per_mm = 1.81 * cast_iron_MPa * d / (2 * log(cone));
}

bw_joint_spec bw_joint_usual(double d_mm, double pitch_mm, const char *property_class,
                             const char *lubricant) {
    double d = d_mm > 0 ? d_mm : 10;
    double friction = lubricant_friction(lubricant);
    bw_joint_spec spec = {
        .thread_d_mm = d,
        .thread_pitch_mm = pitch_mm > 0 ? pitch_mm : coarse_pitch_mm(d),
        .head_outer_mm = 1.46 * d,
        .head_inner_mm = 1.1 * d,
        .friction_thread = friction,
        .friction_head = friction,
        .friction_spread = 0.17 / 3,
        .rest_least = 0.02,
        .rest_most = 0.15,
        .free_least_deg = 20,
        .free_most_deg = 90,
        .soft_least_deg = 8,
        .soft_most_deg = 20,
        .yield_MPa = class_yield_MPa(property_class),
        .yielded_slope = 0.05,
        .prevailing_spread = 0.08,
        .prevailing_rough = 0.08,
        .neighbour_share = 0.04,
    };
    usual_stiffness(&spec);
    return spec;
}

/* ---- for a stage ---- */

/* A bolt that is measured stays well below yield. */
static const double stretched_share = 0.65;

static double middle(double low, double high) {
    return isfinite(low) && isfinite(high) ? (low + high) / 2 : isfinite(low) ? 1.3 * low : 0;
}

static bw_fastener mean_one(const bw_joint_spec *spec) {
    bw_joint_spec mean = *spec;
    mean.friction_spread = 0;
    return bw_fastener_drawn(&mean, 0);
}

static void suit_stretch(bw_joint_spec *spec, const bw_stage *stage) {
    if (stage->target_mm > 0) {
        spec->bolt_N_per_mm = stretched_share * mean_one(spec).yield_N / stage->target_mm;
    }
}

static void suit_yield(bw_joint_spec *spec, const bw_stage *stage) {
    bw_fastener f = mean_one(spec);
    double at_Nm = middle(stage->low_Nm, stage->high_Nm);
    if (at_Nm > 0) {
        spec->yield_MPa *= at_Nm / (f.yield_N * f.torque_per_N);
    }
}

static void suit_lock(bw_joint_spec *spec, const bw_stage *stage) {
    spec->prevailing_Nm = middle(stage->low_Nm, stage->high_Nm);
    spec->free_least_deg = 1.5 * stage->least_turn_deg + 180;
    spec->free_most_deg = spec->free_least_deg + 180;
}

static void suit_shaft(bw_joint_spec *spec, const bw_stage *stage) {
    spec->drag_Nm = middle(stage->low_Nm, stage->high_Nm);
}

void bw_joint_suit(bw_joint_spec *spec, const bw_stage *stage) {
    switch (stage->kind) {
    case BW_STAGE_STRETCH:
        suit_stretch(spec, stage);
        break;
    case BW_STAGE_YIELD:
        suit_yield(spec, stage);
        break;
    case BW_STAGE_PREVAILING:
        suit_lock(spec, stage);
        break;
    case BW_STAGE_ROTATING:
    case BW_STAGE_CREEP:
        suit_shaft(spec, stage);
        break;
    default:
        break;
    }
}
