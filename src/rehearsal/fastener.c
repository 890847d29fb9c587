/* fastener.c - see fastener.h.
 *
 * What a fault amounts to, where a source gives a figure:
 * - dry: friction class C of VDI 2230, see usual.c;
 * - yielding: a bolt of ISO 898-1's class 6.8 (480 MPa) among those of 10.9 (940 MPa) yields at 51
 * % of their preload, one of 5.8 (420 MPa) at 45 %;
 * - gasket: relaxes by 8 to 20 %: texts on gasketed joints print such losses (from memory, not
 *   seen);
 * - bottomed: only the bolt's end is left to give, about one diameter long where usual.c takes 4.8
 *   diameters of bolt and the parts besides;
 * - crossed, stripped, relaxed, weak lock: our choice, no source.
 *
 * Of locking features and slots:
 * - each use takes 15 % of a prevailing torque: standards for lock nuts let the fifth removal fall
 *   to about 0.7 of the first (from memory, not seen), nylon loses faster;
 * - a slot is wider than its pin and the hole is, too: about 1.5 degrees either way for a pin of
 *   2.5 mm in M10 (from memory of the sizes of slot and pin); twice that, with a pin that bends. */
#include "rehearsal/fastener.h"

#include "rehearsal/chance.h"

#include <math.h>

static const double pi = 3.14159265358979323846;

static const double dry_friction = 0.19;

/* A bottomed end that is pressed beyond yield. */
static const double bottom_yielded_slope = 0.05;

static const double reuse_share = 0.85;
static const double slot_play_deg = 3.0;
static const double other_washer_deg = 137.0; /* anything that no number of slots divides */

enum { HALVINGS = 50 };

/* No torque is looked for beyond two turns. */
static const double furthest_deg = 720.0;

static double pitch_diameter_mm(const bw_joint_spec *spec) {
    return spec->thread_d_mm - 0.649519 * spec->thread_pitch_mm; /* ISO 724 */
}

/* Diameter of the circle of the stress area, ISO 898-1. */
static double stress_diameter_mm(const bw_joint_spec *spec) {
    return spec->thread_d_mm - 0.9382 * spec->thread_pitch_mm;
}

/* Torque on the thread per N, on or (sign -1) back: (d2 / 2) tan(rho' +- phi), VDI 2230's full
 * form. */
static double thread_per_N(const bw_joint_spec *spec, double friction, double sign) {
    double d2 = pitch_diameter_mm(spec);
    double lead = atan(spec->thread_pitch_mm / (pi * d2));
    double wedge = atan(friction / cos(pi / 6));
    return d2 / 2 * tan(wedge + sign * lead) / 1000;
}

/* Under the head: mu (outer + inner) / 4. */
static double head_per_N(const bw_joint_spec *spec, double friction) {
    return friction * (spec->head_outer_mm + spec->head_inner_mm) / 4 / 1000;
}

/* Under the end, a disc as wide as the thread's core with even pressure: mu d3 / 3. */
static double end_per_N(const bw_joint_spec *spec, double friction) {
    double d3 = spec->thread_d_mm - 1.226869 * spec->thread_pitch_mm; /* ISO 898-1 */
    return friction * d3 / 3 / 1000;
}

/* Preload at which tension and torsion together reach yield: VDI 2230, full plastic torsion. */
static double yield_N(const bw_joint_spec *spec, double thread) {
    double d2 = pitch_diameter_mm(spec);
    double torsion = 1.5 * d2 / stress_diameter_mm(spec) *
                     (spec->thread_pitch_mm / (pi * d2) + 1.155 * thread);
    return bw_joint_stress_area_mm2(spec) * spec->yield_MPa / sqrt(1 + 3 * torsion * torsion);
}

/* Friction of one fastener from the group's mean; four standard deviations at most. */
static double drawn_friction(bw_chance *chance, double mean, double spread) {
    double deviation = fmax(-4, fmin(4, bw_chance_normal(chance)));
    return mean * (1 + spread * deviation);
}

bw_fastener bw_fastener_drawn(const bw_joint_spec *spec, uint64_t key) {
    bw_chance chance = {key};
    double thread = drawn_friction(&chance, spec->friction_thread, spec->friction_spread);
    double head = drawn_friction(&chance, spec->friction_head, spec->friction_spread);
    double compliance = 1 / spec->bolt_N_per_mm + 1 / spec->parts_N_per_mm;
    double on = thread_per_N(spec, thread, 1);
    double back = thread_per_N(spec, thread, -1);
    bw_fastener f = {
        .torque_per_N = on + head_per_N(spec, head),
        .loosen_per_N = fmax(0, back + head_per_N(spec, head)),
        .bottom_per_N = on + end_per_N(spec, thread),
        .bottom_loosen_per_N = fmax(0, back + end_per_N(spec, thread)),
        .prevailing_Nm = spec->prevailing_Nm,
        .prevailing_rough = spec->prevailing_rough,
        .pitch_mm = spec->thread_pitch_mm,
        .bolt_N_per_mm = spec->bolt_N_per_mm,
        .slope_N_per_deg = spec->thread_pitch_mm / 360 / compliance,
        .yielded_slope = spec->yielded_slope,
        .yield_N = yield_N(spec, thread),
        .bottom_deg = INFINITY,
    };
    f.rest_share = bw_chance_between(&chance, spec->rest_least, spec->rest_most);
    f.free_deg = bw_chance_between(&chance, spec->free_least_deg, spec->free_most_deg);
    f.soft_deg = bw_chance_between(&chance, spec->soft_least_deg, spec->soft_most_deg);
    f.closed_deg = -f.free_deg;
    f.prevailing_Nm = drawn_friction(&chance, f.prevailing_Nm, spec->prevailing_spread);
    f.prevailing_wave_deg = bw_chance_between(&chance, 60, 240);
    f.slot_at_deg = bw_chance_between(&chance, 0, 360);
    f.bind_at = bw_chance_between(&chance, 0, 1);
    return f;
}

/* ---- what can be wrong with one ---- */

/* Does not run down: binds from its first turn, and comes to the torque of 60 % of its yield within
 * a turn, its head far from the face. */
static void cross(bw_fastener *f, bw_chance *chance) {
    double within_deg = bw_chance_between(chance, 150, 300);
    f->bind_Nm_per_deg = 0.6 * f->yield_N * f->torque_per_N / within_deg;
    f->bind_rough = bw_chance_between(chance, 0.1, 0.2);
    f->bind_at = bw_chance_between(chance, 0, 1);
    f->free_deg = bw_chance_between(chance, 540, 900);
    f->closed_deg = -f->free_deg;
}

static void bottom(bw_fastener *f, bw_chance *chance) {
    f->bottom_deg = bw_chance_between(chance, -15, 5);
    f->bottom_N_per_deg = f->slope_N_per_deg * bw_chance_between(chance, 4, 6);
}

static void soften(bw_fastener *f, bw_chance *chance) {
    f->soft_deg = bw_chance_between(chance, 60, 120);
    f->slope_N_per_deg *= bw_chance_between(chance, 0.4, 0.6);
    f->relax_share = bw_chance_between(chance, 0.08, 0.2);
}

static void weaken(bw_fastener *f, bw_chance *chance) {
    f->yield_N *= bw_chance_between(chance, 0.45, 0.55);
}

/* Beyond what it bears it loses a quarter as fast as it won, down to a sixth. */
static void strip(bw_fastener *f, bw_chance *chance) {
    f->yield_N *= bw_chance_between(chance, 0.4, 0.6);
    f->yielded_slope = -0.25;
    f->stripped_N = f->yield_N / 6;
}

static void seize(bw_fastener *f, bw_chance *chance) {
    (void)chance;
    f->seized = true;
}

/* Had let go: vibration, settling, or a nut that turned back. */
static void let_go(bw_fastener *f, bw_chance *chance) {
    f->relax_share = bw_chance_between(chance, 0.45, 0.7);
}

static void wear_out(bw_fastener *f, bw_chance *chance) {
    f->prevailing_Nm *= bw_chance_between(chance, 0, 0.15);
}

static void (*const spoil[BW_FAULT_KIND_COUNT])(bw_fastener *f, bw_chance *chance) = {
    [BW_FAULT_CROSSED] = cross,   [BW_FAULT_BOTTOMED] = bottom,    [BW_FAULT_GASKET] = soften,
    [BW_FAULT_YIELDING] = weaken, [BW_FAULT_STRIPPED] = strip,     [BW_FAULT_SEIZED] = seize,
    [BW_FAULT_RELAXED] = let_go,  [BW_FAULT_WEAK_LOCK] = wear_out,
};

bw_fastener bw_fastener_faulty(const bw_joint_spec *spec, uint64_t key, bw_fault_kind fault) {
    bw_joint_spec as = *spec;
    if (fault == BW_FAULT_DRY) {
        as.friction_thread = fmax(as.friction_thread, dry_friction);
        as.friction_head = fmax(as.friction_head, dry_friction);
    }
    bw_fastener f = bw_fastener_drawn(&as, key);
    bw_chance chance = {bw_chance_key_text(key, "fault")};
    if (spoil[fault] != NULL) {
        spoil[fault](&f, &chance);
    }
    return f;
}

/* ---- torque and preload ---- */

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

/* What the end bears on the bottom of the hole. */
static double bottom_N(const bw_fastener *f) {
    double load_N = f->bottom_N_per_deg * f->bottomed_deg;
    return load_N <= f->yield_N ? load_N
                                : f->yield_N + bottom_yielded_slope * (load_N - f->yield_N);
}

/* Goes up and down between -1 and 1: two waves that do not fit into each other. */
static double wave(const bw_fastener *f, double every_deg) {
    double at = f->bind_at + f->closed_deg / every_deg;
    return 0.6 * sin(2 * pi * at) + 0.4 * sin(2 * pi * 2.3 * at);
}

/* How much a crossed thread binds, without and with its going up and down. */
static double mean_bind_Nm(const bw_fastener *f) {
    return f->bind_Nm_per_deg * fmax(0, f->closed_deg + f->free_deg);
}

static double bind_Nm(const bw_fastener *f) {
    return f->bind_Nm_per_deg > 0 ? mean_bind_Nm(f) * (1 + f->bind_rough * wave(f, 31)) : 0;
}

static double locking_Nm(const bw_fastener *f) {
    return f->prevailing_rough > 0
               ? f->prevailing_Nm * (1 + f->prevailing_rough * wave(f, f->prevailing_wave_deg))
               : f->prevailing_Nm;
}

static double loaded_Nm(const bw_fastener *f) {
    return bw_fastener_preload_N(f) * f->torque_per_N + bottom_N(f) * f->bottom_per_N;
}

double bw_fastener_turning_Nm(const bw_fastener *fastener) {
    return fastener->seized ? INFINITY
                            : loaded_Nm(fastener) + locking_Nm(fastener) + bind_Nm(fastener);
}

double bw_fastener_breakaway_Nm(const bw_fastener *fastener) {
    return bw_fastener_turning_Nm(fastener) * (1 + fastener->rest_share);
}

double bw_fastener_loosening_Nm(const bw_fastener *fastener) {
    double loaded_back_Nm = bw_fastener_preload_N(fastener) * fastener->loosen_per_N +
                            bottom_N(fastener) * fastener->bottom_loosen_per_N;
    return fastener->seized ? INFINITY : loaded_back_Nm + locking_Nm(fastener) + bind_Nm(fastener);
}

double bw_fastener_back_breakaway_Nm(const bw_fastener *fastener) {
    return bw_fastener_loosening_Nm(fastener) * (1 + fastener->rest_share);
}

/* ---- turning ---- */

/* What is turned beyond yield goes into the bolt; into the thread, where that gives way. */
static void stay_longer(bw_fastener *f, double lost_deg) {
    f->lost_deg += lost_deg;
    f->plastic_mm += f->yielded_slope < 0 ? 0 : lost_deg * f->pitch_mm / 360;
}

static void press(bw_fastener *f, double deg) {
    double closed_deg = f->closed_deg + deg;
    double preload_N = elastic_N(f, closed_deg);
    if (preload_N > f->yield_N) {
        preload_N = f->yield_N + f->yielded_slope * (preload_N - f->yield_N);
        preload_N = fmax(preload_N, f->stripped_N);
        f->yield_N = preload_N;
        stay_longer(f, closed_deg - closed_at_N(f, preload_N));
        closed_deg = closed_at_N(f, preload_N);
    }
    f->closed_deg = closed_deg;
}

void bw_fastener_turn(bw_fastener *fastener, double deg) {
    double to_bottom_deg = fmax(0, fastener->bottom_deg - fastener->closed_deg);
    if (deg > to_bottom_deg) {
        fastener->bottomed_deg += deg - to_bottom_deg;
        fastener->closed_deg = fmax(fastener->closed_deg, fastener->bottom_deg);
    } else {
        press(fastener, deg);
    }
}

void bw_fastener_back(bw_fastener *fastener, double deg) {
    double off_bottom_deg = fmin(deg, fastener->bottomed_deg);
    fastener->bottomed_deg -= off_bottom_deg;
    fastener->closed_deg -= deg - off_bottom_deg;
}

/* A torque that is lasting: what a crossed thread is above or below its mean at one spot is not. */
static double lasting_Nm(const bw_fastener *f) {
    return loaded_Nm(f) + f->prevailing_Nm + mean_bind_Nm(f);
}

/* Where it binds or bottoms there is no formula back from torque to turn. */
static void turn_until(bw_fastener *f, double torque_Nm) {
    double least = 0;
    double most = furthest_deg;
    for (int i = 0; i < HALVINGS; i++) {
        double deg = (least + most) / 2;
        bw_fastener there = *f;
        bw_fastener_turn(&there, deg);
        if (lasting_Nm(&there) < torque_Nm) {
            least = deg;
        } else {
            most = deg;
        }
    }
    bw_fastener_turn(f, most);
}

/* The torque that strips a thread is the highest it gives: within a tenth, since a recorded peak
 * has its noise. */
static bool strips(const bw_fastener *f, double preload_N) {
    return f->yielded_slope < 0 && preload_N > 0.9 * f->yield_N;
}

void bw_fastener_stand(bw_fastener *fastener, double torque_Nm) {
    double preload_N = (torque_Nm - fastener->prevailing_Nm) / fastener->torque_per_N;
    if (fastener->seized || torque_Nm <= lasting_Nm(fastener)) {
        return;
    }
    if (fastener->bind_Nm_per_deg > 0 || isfinite(fastener->bottom_deg)) {
        turn_until(fastener, torque_Nm);
        return;
    }
    if (strips(fastener, preload_N)) {
        preload_N = fastener->stripped_N;
        fastener->yield_N = preload_N;
    }
    if (preload_N > fastener->yield_N && fastener->yielded_slope > 0) {
        double beyond_N = preload_N - fastener->yield_N;
        stay_longer(fastener,
                    (beyond_N / fastener->yielded_slope - beyond_N) / fastener->slope_N_per_deg);
    }
    fastener->yield_N = fmax(fastener->yield_N, preload_N);
    fastener->closed_deg = closed_at_N(fastener, preload_N);
}

void bw_fastener_settle(bw_fastener *fastener, double preload_N) {
    double before_deg = fastener->closed_deg;
    fastener->yield_N = fmax(fastener->yield_N, preload_N);
    fastener->closed_deg = closed_at_N(fastener, preload_N);
    fastener->lost_deg += before_deg - fastener->closed_deg;
}

void bw_fastener_relax(bw_fastener *fastener) {
    if (fastener->relax_share > 0 && fastener->closed_deg > 0) {
        bw_fastener_settle(fastener, bw_fastener_preload_N(fastener) * (1 - fastener->relax_share));
    }
}

void bw_fastener_reused(bw_fastener *fastener) {
    fastener->prevailing_Nm *= reuse_share;
    fastener->slot_at_deg += other_washer_deg;
}

/* ---- what can be seen of it, and how far it is ---- */

double bw_fastener_growth_mm(const bw_fastener *fastener) {
    return bw_fastener_preload_N(fastener) / fastener->bolt_N_per_mm + fastener->plastic_mm;
}

double bw_fastener_to_growth_deg(const bw_fastener *fastener, double growth_mm) {
    const bw_fastener *f = fastener;
    double elastic_mm = growth_mm - f->plastic_mm;
    double yields_mm = f->yield_N / f->bolt_N_per_mm;
    double deg = closed_at_N(f, f->bolt_N_per_mm * fmax(0, fmin(elastic_mm, yields_mm))) -
                 f->closed_deg;
    double beyond_mm = fmax(0, elastic_mm - yields_mm);
    return fmax(0, deg + beyond_mm * 360 / f->pitch_mm);
}

double bw_fastener_to_yield_deg(const bw_fastener *fastener) {
    const bw_fastener *f = fastener;
    double closing_deg = closed_at_N(f, f->yield_N) - f->closed_deg;
    double to_bottom_deg = f->bottom_deg - f->closed_deg;
    if (closing_deg > to_bottom_deg) {
        closing_deg = fmax(0, to_bottom_deg) + f->yield_N / f->bottom_N_per_deg - f->bottomed_deg;
    }
    return fmax(0, closing_deg);
}

double bw_fastener_to_loose_deg(const bw_fastener *fastener) {
    return fmax(0, fastener->closed_deg) + fastener->bottomed_deg;
}

bool bw_fastener_is_loose(const bw_fastener *fastener) {
    return bw_fastener_to_loose_deg(fastener) <= 0;
}

double bw_fastener_to_slot_deg(const bw_fastener *fastener, double every_deg) {
    double stands_deg = fastener->slot_at_deg + fastener->closed_deg + fastener->bottomed_deg +
                        fastener->lost_deg;
    double beyond_deg = stands_deg - every_deg * floor(stands_deg / every_deg);
    double to_deg = every_deg - beyond_deg;
    return fmin(beyond_deg, to_deg) <= slot_play_deg ? 0 : to_deg;
}
