/* joint.c - see joint.h.
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
 * - grip of four diameters, half of it thread; parts of grey cast iron: common practice, no
 *   source; free turn, soft start and the slope beyond yield likewise. */
#include "rehearsal/joint.h"

#include "rehearsal/chance.h"

#include <math.h>
#include <string.h>

static const double pi = 3.14159265358979323846;

static const double steel_MPa = 205000.0;
static const double cast_iron_MPa = 100000.0;

/* Torque that a wrench shows without this much turn has moved nothing: a wrench's angle is no
 * better than that. */
static const double moved_deg = 0.5;

/* A neighbour twice as far loses a quarter. */
static const double farther_share = 0.25;

struct bw_joint {
    uint64_t key;
    size_t n;
    double nearest;        /* mm, or places of the list */
    const bw_point *point; /* NULL: by index */
    bw_joint_spec spec;
    struct place {
        bw_fastener fastener;
        uint64_t begun; /* key of step and attempt of the last pull; 0: never pulled */
    } place[];
};

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

static const double dry_friction = 0.19;
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

static double pitch_diameter_mm(const bw_joint_spec *spec) {
    return spec->thread_d_mm - 0.649519 * spec->thread_pitch_mm; /* ISO 724 */
}

/* Diameter of the circle of the stress area, ISO 898-1. */
static double stress_diameter_mm(const bw_joint_spec *spec) {
    return spec->thread_d_mm - 0.9382 * spec->thread_pitch_mm;
}

static double stress_area_mm2(const bw_joint_spec *spec) {
    double d = stress_diameter_mm(spec);
    return pi / 4 * d * d;
}

/* Shank and thread in a row, each longer by 0.4 d for head and nut; parts as a cone of 30 degrees
 * under the head.  Both from texts on machine elements. */
static void usual_stiffness(bw_joint_spec *spec) {
    double d = spec->thread_d_mm;
    double grip = 4 * d;
    double shank = (grip / 2 + 0.4 * d) / (pi / 4 * d * d);
    double thread = (grip / 2 + 0.4 * d) / stress_area_mm2(spec);
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
        .neighbour_share = 0.04,
    };
    usual_stiffness(&spec);
    return spec;
}

/* T / F = (d2 / 2) tan(phi + rho') + mu (outer + inner) / 4: VDI 2230's full form. */
static double torque_per_N(const bw_joint_spec *spec, double thread, double head) {
    double d2 = pitch_diameter_mm(spec);
    double lead = atan(spec->thread_pitch_mm / (pi * d2));
    double wedge = atan(thread / cos(pi / 6));
    double mean_head_mm = (spec->head_outer_mm + spec->head_inner_mm) / 2;
    return (d2 / 2 * tan(lead + wedge) + head * mean_head_mm / 2) / 1000;
}

/* Preload at which tension and torsion together reach yield: VDI 2230, full plastic torsion. */
static double yield_N(const bw_joint_spec *spec, double thread) {
    double d2 = pitch_diameter_mm(spec);
    double torsion = 1.5 * d2 / stress_diameter_mm(spec) *
                     (spec->thread_pitch_mm / (pi * d2) + 1.155 * thread);
    return stress_area_mm2(spec) * spec->yield_MPa / sqrt(1 + 3 * torsion * torsion);
}

/* Friction of one fastener from the group's mean; four standard deviations at most. */
static double drawn_friction(bw_chance *chance, double mean, double spread) {
    double deviation = fmax(-4, fmin(4, bw_chance_normal(chance)));
    return mean * (1 + spread * deviation);
}

static bw_fastener drawn_fastener(const bw_joint_spec *spec, uint64_t key) {
    bw_chance chance = {key};
    double thread = drawn_friction(&chance, spec->friction_thread, spec->friction_spread);
    double head = drawn_friction(&chance, spec->friction_head, spec->friction_spread);
    double compliance = 1 / spec->bolt_N_per_mm + 1 / spec->parts_N_per_mm;
    bw_fastener f = {
        .torque_per_N = torque_per_N(spec, thread, head),
        .prevailing_Nm = spec->prevailing_Nm,
        .slope_N_per_deg = spec->thread_pitch_mm / 360 / compliance,
        .yielded_slope = spec->yielded_slope,
        .yield_N = yield_N(spec, thread),
    };
    f.rest_share = bw_chance_between(&chance, spec->rest_least, spec->rest_most);
    f.free_deg = bw_chance_between(&chance, spec->free_least_deg, spec->free_most_deg);
    f.soft_deg = bw_chance_between(&chance, spec->soft_least_deg, spec->soft_most_deg);
    f.closed_deg = -f.free_deg;
    return f;
}

/* Preload over closing turn: a parabola while the parts bed in, then its tangent. */
static double elastic_N(const bw_fastener *f, double closed_deg) {
    if (closed_deg <= 0) {
        return 0;
    }
    if (closed_deg < f->soft_deg) {
        return f->slope_N_per_deg * closed_deg * closed_deg / (2 * f->soft_deg);
    }
    return f->slope_N_per_deg * (closed_deg - f->soft_deg / 2);
}

static double closed_at_N(const bw_fastener *f, double preload_N) {
    double knee_N = f->slope_N_per_deg * f->soft_deg / 2;
    if (preload_N < knee_N) {
        return sqrt(2 * f->soft_deg * preload_N / f->slope_N_per_deg);
    }
    return preload_N / f->slope_N_per_deg + f->soft_deg / 2;
}

double bw_fastener_preload_N(const bw_fastener *fastener) {
    return elastic_N(fastener, fastener->closed_deg);
}

double bw_fastener_turning_Nm(const bw_fastener *fastener) {
    return bw_fastener_preload_N(fastener) * fastener->torque_per_N + fastener->prevailing_Nm;
}

double bw_fastener_breakaway_Nm(const bw_fastener *fastener) {
    return bw_fastener_turning_Nm(fastener) * (1 + fastener->rest_share);
}

void bw_fastener_turn(bw_fastener *fastener, double deg) {
    double closed_deg = fastener->closed_deg + deg;
    double preload_N = elastic_N(fastener, closed_deg);
    if (preload_N > fastener->yield_N) {
        preload_N = fastener->yield_N + fastener->yielded_slope * (preload_N - fastener->yield_N);
        fastener->yield_N = preload_N;
        closed_deg = closed_at_N(fastener, preload_N);
    }
    fastener->closed_deg = closed_deg;
}

void bw_fastener_stand(bw_fastener *fastener, double torque_Nm) {
    double preload_N = (torque_Nm - fastener->prevailing_Nm) / fastener->torque_per_N;
    if (preload_N <= bw_fastener_preload_N(fastener)) {
        return;
    }
    fastener->yield_N = fmax(fastener->yield_N, preload_N);
    fastener->closed_deg = closed_at_N(fastener, preload_N);
}

static double distance(const bw_joint *joint, size_t a, size_t b) {
    if (joint->point == NULL) {
        return a > b ? (double)(a - b) : (double)(b - a);
    }
    return hypot(joint->point[a].x_mm - joint->point[b].x_mm,
                 joint->point[a].y_mm - joint->point[b].y_mm);
}

/* How many times farther apart two fasteners are than the nearest two of the group. */
static double times_nearest(const bw_joint *joint, size_t a, size_t b) {
    return joint->nearest > 0 ? distance(joint, a, b) / joint->nearest : 1;
}

static double nearest_two(const bw_joint *joint) {
    double least = HUGE_VAL;
    for (size_t a = 0; a < joint->n; a++) {
        for (size_t b = a + 1; b < joint->n; b++) {
            least = fmin(least, distance(joint, a, b));
        }
    }
    return least;
}

bw_status bw_joint_new(bw_arena *arena, const bw_joint_spec *spec, uint64_t seed, const char *group,
                       size_t n, const bw_point *point, bw_joint **out, bw_err *err) {
    if (n == 0 || n > BW_ORDER_MAX) {
        return bw_fail(err, BW_E_ARG, "a joint has 1 to %d fasteners", BW_ORDER_MAX);
    }
    bw_joint *joint = bw_arena_alloc(arena, 1, sizeof *joint + n * sizeof joint->place[0]);
    bw_point *copy = point == NULL ? NULL : bw_arena_alloc(arena, n, sizeof *copy);
    if (joint == NULL || (point != NULL && copy == NULL)) {
        return bw_fail(err, BW_E_MEM, "out of memory for the simulated joint");
    }
    if (copy != NULL) {
        memcpy(copy, point, n * sizeof *copy);
    }
    joint->key = bw_chance_key_text(seed, group);
    joint->n = n;
    joint->point = copy;
    joint->spec = *spec;
    joint->nearest = nearest_two(joint);
    for (size_t i = 0; i < n; i++) {
        joint->place[i].fastener = drawn_fastener(spec, bw_joint_key(joint, i));
    }
    *out = joint;
    return BW_OK;
}

uint64_t bw_joint_key(const bw_joint *joint, size_t fastener) {
    return bw_chance_key_number(joint->key, fastener);
}

void bw_joint_dry(bw_joint *joint, size_t fastener) {
    bw_joint_spec dry = joint->spec;
    dry.friction_thread = fmax(dry.friction_thread, dry_friction);
    dry.friction_head = fmax(dry.friction_head, dry_friction);
    joint->place[fastener].fastener = drawn_fastener(&dry, bw_joint_key(joint, fastener));
}

static uint64_t begun_key(const char *step, int attempt) {
    return bw_chance_key_text((uint64_t)attempt, step);
}

bw_fastener bw_joint_fastener(const bw_joint *joint, size_t fastener, const char *step,
                              int attempt) {
    const struct place *place = &joint->place[fastener];
    bw_fastener f = place->fastener;
    if (place->begun != begun_key(step, attempt)) {
        f.closed_deg = -f.free_deg;
    }
    return f;
}

/* Elastic interaction: the neighbours lose in proportion to what this one won. */
static void relax_neighbours(bw_joint *joint, size_t fastener, double won_N) {
    for (size_t i = 0; i < joint->n; i++) {
        bw_fastener *f = &joint->place[i].fastener;
        double preload_N = bw_fastener_preload_N(f);
        if (i == fastener || preload_N <= 0) {
            continue;
        }
        double share = joint->spec.neighbour_share *
                       pow(farther_share, times_nearest(joint, i, fastener) - 1);
        f->closed_deg = closed_at_N(f, fmax(0, preload_N - share * won_N));
    }
}

void bw_joint_pulled(bw_joint *joint, const bw_joint_pull *pull) {
    if (pull->fastener >= joint->n) {
        return;
    }
    struct place *place = &joint->place[pull->fastener];
    place->fastener = bw_joint_fastener(joint, pull->fastener, pull->step, pull->attempt);
    place->begun = begun_key(pull->step, pull->attempt);
    if (pull->turn_deg < moved_deg) {
        return;
    }
    double before_N = bw_fastener_preload_N(&place->fastener);
    bw_fastener_stand(&place->fastener, pull->peak_Nm);
    double won_N = bw_fastener_preload_N(&place->fastener) - before_N;
    if (won_N > 0) {
        relax_neighbours(joint, pull->fastener, won_N);
    }
}
