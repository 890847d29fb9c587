/* bench_world.c - see bench_world.h.  Ranges: 10 to 1000 Hz, drift to 0.05 degree/s, wind-up to 0.1
 * degree/N.m, friction at rest 2 to 15 %, M6 to M16, dry to paste, soft start 5 to 40 degrees.
 * Limits are as wide as workshop manuals give them (4 to 10 % of a torque, 4 to 10 degrees). */
#include "bench_world.h"

#include <math.h>

static const char *const names[SITUATIONS] = {
    "torque", "torque again", "lock nut", "snug then angle", "angle on top", "back",     "loosen",
    "yield",  "stretch",      "slot",     "check",           "prevailing",   "rotating", "creep"};

const char *situation_name(situation s) {
    return names[s];
}

static double draw(bw_chance *chance, double least, double most) {
    return bw_chance_between(chance, least, most);
}

static size_t pick(bw_chance *chance, size_t n) {
    return (size_t)(bw_chance_next(chance) % n);
}

static bw_joint_spec joint_of(bw_chance *chance) {
    static const double sizes_mm[] = {6, 8, 10, 12, 14, 16};
    static const char *const classes[] = {"8.8", "10.9", "12.9"};
    static const char *const lubricants[] = {"engine oil", "grease", "moly paste", "dry"};
    bw_joint_spec spec = bw_joint_usual(sizes_mm[pick(chance, 6)], 0, classes[pick(chance, 3)],
                                        lubricants[pick(chance, 8) % 4]);
    double times = draw(chance, 0.6, 1.6); /* longer and shorter bolts, other parts */
    spec.bolt_N_per_mm *= times;
    spec.parts_N_per_mm *= times * draw(chance, 0.8, 1.25);
    spec.soft_least_deg = draw(chance, 5, 15);
    spec.soft_most_deg = spec.soft_least_deg * draw(chance, 1.1, 2.6);
    spec.free_most_deg = draw(chance, 60, 300);
    spec.rest_least = draw(chance, 0.02, 0.06);
    spec.rest_most = draw(chance, spec.rest_least, 0.15);
    return spec;
}

static double log_draw(bw_chance *chance, double least, double most) {
    return least * pow(most / least, draw(chance, 0, 1));
}

/* One that suits the joint: noise within half a per cent of the torque in hand. */
static bw_hand_wrench wrench_of(bw_chance *chance, double torque_Nm) {
    bw_hand_wrench wrench = bw_hand_usual_wrench();
    wrench.rate_Hz = round(log_draw(chance, 10, 1000));
    wrench.noise_Nm = torque_Nm * log_draw(chance, 0.0002, 0.002);
    wrench.step_Nm = torque_Nm > 5 ? 0.01 : 0.001;
    wrench.windup_deg_per_Nm = draw(chance, 0, fmin(0.1, 6 / torque_Nm));
    wrench.drift_deg_per_s = draw(chance, 0, 0.05);
    wrench.step_deg = pick(chance, 2) == 0 ? 0.1 : 0.01;
    return wrench;
}

/* Torques and turns of one with the group's mean friction and soft start. */
typedef struct middle {
    bw_fastener f;
    double yield_Nm;
    double Nm_per_deg;
    double mm_at_yield;
} middle;

static middle middle_of(const bw_joint_spec *spec) {
    bw_joint_spec mean = *spec;
    mean.friction_spread = 0;
    middle m = {.f = bw_fastener_drawn(&mean, 1)};
    m.yield_Nm = m.f.yield_N * m.f.torque_per_N;
    m.Nm_per_deg = m.f.slope_N_per_deg * m.f.torque_per_N;
    m.mm_at_yield = m.f.yield_N / m.f.bolt_N_per_mm;
    return m;
}

static void within(bw_stage *stage, double target_Nm, double share) {
    stage->target_Nm = target_Nm;
    stage->low_Nm = (1 - share) * target_Nm;
    stage->high_Nm = (1 + share) * target_Nm;
}

static void turns(bw_stage *stage, double target_deg, double window_deg) {
    stage->target_deg = target_deg;
    stage->low_deg = target_deg - window_deg;
    stage->high_deg = target_deg + window_deg;
}

static void tighten(world *w, const middle *m, bw_chance *chance) {
    bw_stage *stage = &w->trial.stage;
    double target_Nm = m->yield_Nm * draw(chance, 0.45, 0.7);
    stage->kind = BW_STAGE_TORQUE;
    within(stage, target_Nm, draw(chance, 0.04, 0.1));
    stage->least_turn_deg = w->is == TORQUE_AGAIN ? 0 : 5;
    w->trial.stands_Nm = w->is == TORQUE_AGAIN ? target_Nm * draw(chance, 0.85, 1) : 0;
}

/* A lock nut holds at most about a tenth of its bolt's torque (from memory of lock nut standards,
 * not seen). */
static void lock(world *w, const middle *m, bw_chance *chance) {
    bw_joint_spec *spec = &w->trial.joint;
    spec->prevailing_Nm = m->yield_Nm * draw(chance, 0.02, 0.1);
    if (w->is == LOCK_NUT) {
        tighten(w, m, chance);
        w->trial.stage.adds_prevailing = true;
        return;
    }
    bw_stage *stage = &w->trial.stage;
    stage->kind = BW_STAGE_PREVAILING;
    stage->low_Nm = 0.6 * spec->prevailing_Nm;
    stage->high_Nm = 1.5 * spec->prevailing_Nm;
    stage->least_turn_deg = pick(chance, 2) == 0 ? 180 : 360;
    spec->free_least_deg = 500;
    spec->free_most_deg = 900;
}

/* Half of them stay elastic, half of them yield on purpose. */
static void angle(world *w, const middle *m, bw_chance *chance) {
    bw_stage *stage = &w->trial.stage;
    double snug_Nm = m->yield_Nm * draw(chance, 0.2, 0.35);
    double to_yield_deg = (m->yield_Nm - snug_Nm) / m->Nm_per_deg;
    bool beyond = pick(chance, 2) == 0;
    double turn_deg = fmax(20, to_yield_deg *
                                   (beyond ? draw(chance, 1.1, 1.5) : draw(chance, 0.5, 0.75)));
    turns(stage, turn_deg, draw(chance, 4, 10));
    stage->kind = w->is == THEN_ANGLE ? BW_STAGE_ANGLE : BW_STAGE_TORQUE_ANGLE;
    stage->snug_Nm = w->is == THEN_ANGLE ? 0 : snug_Nm;
    w->trial.stands_Nm = w->is == THEN_ANGLE ? snug_Nm : 0;
}

static void back_off(world *w, const middle *m, bw_chance *chance) {
    bw_stage *stage = &w->trial.stage;
    stage->kind = BW_STAGE_BACK_OFF;
    stage->until_loose = w->is == BACK_TO_LOOSE;
    w->trial.stands_Nm = m->yield_Nm * draw(chance, 0.4, 0.7);
    if (!stage->until_loose) {
        double to_loose_deg = w->trial.stands_Nm / m->Nm_per_deg + m->f.soft_deg / 2;
        double turn_deg = pick(chance, 2) == 0 ? draw(chance, 25, 180)
                                               : fmax(15, to_loose_deg * draw(chance, 0.4, 0.8));
        turns(stage, turn_deg, fmin(0.4 * turn_deg, draw(chance, 5, 15)));
    }
}

/* Friction differs by 17 % either way, and so does the torque at which they yield. */
static void to_yield(world *w, const middle *m, bw_chance *chance) {
    bw_stage *stage = &w->trial.stage;
    stage->kind = BW_STAGE_YIELD;
    stage->snug_Nm = m->yield_Nm * draw(chance, 0.2, 0.4);
    stage->low_Nm = 0.75 * m->yield_Nm;
    stage->high_Nm = 1.3 * m->yield_Nm;
    stage->high_deg = 1.6 * (m->yield_Nm - stage->snug_Nm) / m->Nm_per_deg + 15;
    stage->slope_share = draw(chance, 0.3, 0.6);
}

static void stretch(world *w, const middle *m, bw_chance *chance) {
    bw_stage *stage = &w->trial.stage;
    stage->kind = BW_STAGE_STRETCH;
    stage->target_mm = m->mm_at_yield * draw(chance, 0.5, 0.75);
    stage->low_mm = 0.92 * stage->target_mm;
    stage->high_mm = 1.08 * stage->target_mm;
    double at_Nm = m->yield_Nm * stage->target_mm / m->mm_at_yield;
    stage->target_Nm = pick(chance, 2) == 0 ? 0.6 * at_Nm : 0;
    stage->high_Nm = pick(chance, 2) == 0 ? 1.4 * at_Nm : INFINITY;
    w->gauge_mm = 0.02 * (stage->high_mm - stage->low_mm);
}

/* The window holds more than one slot, as a nut that can be fitted must have it. */
static void slot(world *w, const middle *m, bw_chance *chance) {
    bw_stage *stage = &w->trial.stage;
    stage->kind = BW_STAGE_SLOT;
    stage->low_Nm = stage->target_Nm = m->yield_Nm * draw(chance, 0.15, 0.3);
    stage->high_deg = pick(chance, 2) == 0 ? 60 : 36;
    stage->high_Nm = fmin(0.85 * m->yield_Nm,
                          stage->low_Nm + 1.5 * m->Nm_per_deg * stage->high_deg);
}

/* Static friction lies up to 15 % above what it was tightened to; a joint may lose a tenth. */
static void check_round(world *w, const middle *m, bw_chance *chance) {
    bw_stage *stage = &w->trial.stage;
    double stands_Nm = m->yield_Nm * draw(chance, 0.4, 0.7);
    stage->kind = BW_STAGE_CHECK;
    stage->low_Nm = stands_Nm * draw(chance, 0.8, 0.95);
    stage->high_Nm = stands_Nm * draw(chance, 1.25, 1.4);
    stage->high_deg = draw(chance, 4, 10);
    w->trial.stands_Nm = stands_Nm;
}

static void shaft(world *w, const middle *m, bw_chance *chance) {
    bw_stage *stage = &w->trial.stage;
    double drag_Nm = log_draw(chance, 0.8, 12);
    (void)m;
    w->trial.joint.drag_Nm = drag_Nm;
    stage->kind = w->is == CREEP_UP ? BW_STAGE_CREEP : BW_STAGE_ROTATING;
    stage->low_Nm = drag_Nm * (w->is == CREEP_UP ? 0.87 : 0.7);
    stage->high_Nm = drag_Nm * (w->is == CREEP_UP ? 1.13 : 1.3);
    stage->least_turn_deg = pick(chance, 2) == 0 ? 180 : 360;
}

static void (*const makes[SITUATIONS])(world *w, const middle *m, bw_chance *chance) = {
    tighten,  tighten, lock, angle,       angle, back_off, back_off,
    to_yield, stretch, slot, check_round, lock,  shaft,    shaft};

static double about_Nm(const world *w, const middle *m) {
    const bw_stage *stage = &w->trial.stage;
    return bw_stage_traits_of(stage->kind)->runs ? stage->high_Nm : m->yield_Nm;
}

world world_of(uint64_t seed, situation is) {
    bw_chance chance = {bw_chance_key_number(bw_chance_key_text(seed, "world"), is)};
    world w = {.is = is, .trial = {.seed = seed, .joint = joint_of(&chance)}};
    w.trial.stage = (bw_stage){
        .low_Nm = -INFINITY, .high_Nm = INFINITY, .low_deg = -INFINITY, .high_deg = INFINITY};
    middle m = middle_of(&w.trial.joint);
    w.Nm_per_N = m.f.torque_per_N;
    w.yield_Nm = m.yield_Nm;
    makes[is](&w, &m, &chance);
    w.trial.wrench = wrench_of(&chance, about_Nm(&w, &m));
    w.standing_Nm = w.trial.stands_Nm;
    return w;
}
