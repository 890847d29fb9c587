/* bench_siblings.c - how surely a dry thread among oiled ones is found by its slope, and how often
 * a sound fastener is taken for one.
 *
 * Prints figures and checks none: bench_siblings [GROUPS [SEED]].  Every figure of joint, hand and
 * wrench is drawn anew for each group, widely; nothing of the judge was fitted to them. */
#include "judge/judge.h"
#include "judge/slope.h"
#include "rehearsal/trial.h"
#include "trade/statistics.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { TRACE_MAX = 400000, LEAST = 6, MOST = 14, KINDS = 3 };

static bw_sample trace[TRACE_MAX];

/* Friction of the group, and of the one that is dry; the rest of a row is what is granted to a
 * lot: standard deviation of each of thread and head, a share of the mean. */
static const struct {
    const char *name;
    double friction, dry, spread_least, spread_most;
} rows[] = {
    /* Middles of VDI 2230's classes B and C; alpha_A of 1.4 taken as three deviations either way.
     */
    {"0.12 to 0.19, usual lot", 0.12, 0.19, 0.17 / 3, 0.17 / 3},
    {"0.12 to 0.19, any lot", 0.12, 0.19, 0.0, 0.23 / 3},
    {"0.12 to 0.19, worst lot", 0.12, 0.19, 0.23 / 3, 0.23 / 3},
    {"0.07 to 0.19, any lot", 0.07, 0.19, 0.0, 0.23 / 3},
    /* Nut factors 0.15 to 0.20 oiled, 0.20 to 0.25 dry: middles differ by 1.29 only. */
    {"0.12 to 0.16, usual lot", 0.12, 0.16, 0.17 / 3, 0.17 / 3},
};

enum { ROWS = sizeof rows / sizeof rows[0] };

typedef struct count {
    size_t groups, found;      /* dry ones from the fifth place on that nothing else turned away; of
                                  these, found by their verdict */
    size_t early, early_found; /* with one before that; found once the group is done */
    size_t sound, alarms;      /* sound ones with siblings enough; of these, steep or shallow */
    size_t unseen;             /* pulls without a slope */
} count;

/* A group as it is drawn. */
typedef struct lot {
    bw_joint_spec joint;
    bw_hand_wrench wrench;
    bw_stage stage;
    double stands_Nm;
    size_t n, dry;
} lot;

static double between(bw_chance *c, double least, double most) {
    return bw_chance_between(c, least, most);
}

static bw_joint_spec draw_joint(size_t row, bw_chance *c) {
    static const struct {
        double d_mm, pitch_mm;
    } threads[] = {{5, 0.8},   {6, 1},     {8, 1.25}, {8, 1},  {10, 1.5}, {10, 1},
                   {12, 1.75}, {12, 1.25}, {14, 2},   {16, 2}, {16, 1.5}};
    size_t thread = (size_t)between(c, 0, sizeof threads / sizeof threads[0]);
    bw_joint_spec joint = bw_joint_usual(threads[thread].d_mm, threads[thread].pitch_mm, "10.9",
                                         "oil");
    joint.friction_thread = rows[row].friction;
    joint.friction_head = rows[row].friction;
    joint.friction_spread = between(c, rows[row].spread_least, rows[row].spread_most);
    joint.bolt_N_per_mm *= between(c, 0.4, 2);
    joint.parts_N_per_mm *= between(c, 0.4, 2);
    joint.soft_least_deg = between(c, 1, 8);
    joint.soft_most_deg = joint.soft_least_deg + between(c, 1, 15);
    return joint;
}

static bw_hand_wrench draw_wrench(double torque_Nm, bw_chance *c) {
    static const double rates_Hz[] = {10, 20, 50, 100, 200, 1000};
    bw_hand_wrench wrench = bw_hand_usual_wrench();
    wrench.rate_Hz = rates_Hz[(size_t)between(c, 0, 6)];
    wrench.noise_Nm = 0.01 + between(c, 0, 0.005) * torque_Nm;
    wrench.windup_deg_per_Nm = between(c, 0, 0.1);
    wrench.drift_deg_per_s = between(c, 0, 0.05);
    return wrench;
}

/* To three fifths of its yield or so: a torque, a snug torque and an angle, or an angle on top. */
static bw_stage draw_stage(size_t kind, double torque_Nm, bw_chance *c) {
    bw_stage stage = {.kind = (bw_stage_kind)kind,
                      .low_Nm = -INFINITY,
                      .high_Nm = INFINITY,
                      .low_deg = -INFINITY,
                      .high_deg = INFINITY};
    if (kind == BW_STAGE_TORQUE) {
        stage.target_Nm = torque_Nm;
        stage.low_Nm = 0.95 * torque_Nm;
        stage.high_Nm = 1.05 * torque_Nm;
        return stage;
    }
    stage.snug_Nm = kind == BW_STAGE_TORQUE_ANGLE ? 0.4 * torque_Nm : 0;
    stage.target_deg = between(c, 30, 90);
    stage.low_deg = stage.target_deg - 5;
    stage.high_deg = stage.target_deg + 5;
    return stage;
}

static lot draw_lot(size_t row, size_t kind, uint64_t seed) {
    bw_chance c = {bw_chance_key_number(bw_chance_key_number(seed, row), kind)};
    lot l = {.joint = draw_joint(row, &c)};
    bw_fastener mean = bw_fastener_drawn(&l.joint, seed);
    double torque_Nm = mean.torque_per_N * mean.yield_N * between(&c, 0.45, 0.7);
    l.wrench = draw_wrench(torque_Nm, &c);
    l.stage = draw_stage(kind, torque_Nm, &c);
    l.stands_Nm = kind == BW_STAGE_ANGLE ? 0.4 * torque_Nm : 0;
    l.n = (size_t)between(&c, LEAST, MOST + 1);
    l.dry = (size_t)between(&c, 0, (double)l.n);
    return l;
}

/* Half of the hands work with one stroke, a halt or a little beyond; half with a ratchet. */
static bw_verdict pull(const lot *l, size_t row, size_t i, uint64_t seed,
                       const bw_siblings *siblings) {
    bw_trial trial = {.seed = seed * 64 + i,
                      .joint = l->joint,
                      .stands_Nm = l->stands_Nm,
                      .stage = l->stage,
                      .style = i % 2 == 0 ? BW_HAND_RATCHET : BW_HAND_ANY,
                      .wrench = l->wrench};
    if (i == l->dry) {
        trial.joint.friction_thread = rows[row].dry;
        trial.joint.friction_head = rows[row].dry;
    }
    bw_standing standing = {.torque_Nm = l->stands_Nm, .siblings = *siblings};
    static bw_judge judge;
    size_t n = 0;
    bw_truth truth;
    bool whole = bw_trial_run(&trial, trace, TRACE_MAX, &n, &truth);
    bw_judge_begin(&judge, &l->stage, &standing, &(bw_terms){0});
    for (size_t k = 0; k < n; k++) {
        (void)bw_judge_sample(&judge, &trace[k]);
    }
    return bw_judge_end(&judge, whole);
}

static bw_siblings siblings_of(const double *slope, size_t n) {
    double scratch[MOST];
    bw_siblings s = {.n = n};
    if (n > 0 &&
        bw_median_of(slope, n, scratch, &s.median_Nm_per_deg, &s.mad_Nm_per_deg, NULL) != BW_OK) {
        s.n = 0;
    }
    return s;
}

static void group(size_t row, size_t kind, uint64_t seed, count *c) {
    const uint32_t apart = (uint32_t)BW_REASON_STEEP | (uint32_t)BW_REASON_SHALLOW;
    lot l = draw_lot(row, kind, seed);
    double slope[MOST];
    size_t n = 0;
    double dry_slope = 0;
    for (size_t i = 0; i < l.n; i++) {
        bw_siblings siblings = siblings_of(slope, n);
        bw_verdict v = pull(&l, row, i, seed, &siblings);
        c->unseen += v.slope_Nm_per_deg > 0 ? 0 : 1;
        if (v.outcome == BW_VERDICT_PASS && v.slope_Nm_per_deg > 0) {
            slope[n++] = v.slope_Nm_per_deg;
        }
        bool compared = siblings.n >= BW_SIBLINGS_LEAST;
        if (i == l.dry) {
            bool found = (v.reasons & (uint32_t)BW_REASON_STEEP) != 0;
            dry_slope = v.slope_Nm_per_deg;
            c->groups += compared && (found || v.outcome == BW_VERDICT_PASS) ? 1 : 0;
            c->found += found ? 1 : 0;
        } else if (compared) {
            c->sound++;
            c->alarms += (v.reasons & apart) != 0 ? 1 : 0;
        }
    }
    if (l.dry < BW_SIBLINGS_LEAST) {
        bw_siblings siblings = siblings_of(slope, n);
        c->early++;
        c->early_found += bw_slope_reason(dry_slope, &siblings) == BW_REASON_STEEP ? 1 : 0;
    }
}

static double percent(size_t part, size_t whole) {
    return whole > 0 ? 100.0 * (double)part / (double)whole : 0;
}

int main(int argc, char **argv) {
    uint64_t groups = argc > 1 ? strtoull(argv[1], NULL, 10) : 200;
    uint64_t seed = argc > 2 ? strtoull(argv[2], NULL, 10) : 1;
    (void)printf("%" PRIu64 " groups each, seeds from %" PRIu64 "\n%-24s %-12s %18s %18s %20s %s\n",
                 groups, seed, "friction", "stage", "dry found", "before the fifth",
                 "sound alarmed", "no slope");
    for (size_t row = 0; row < ROWS; row++) {
        for (size_t kind = 0; kind < KINDS; kind++) {
            count c = {0};
            for (uint64_t i = 0; i < groups; i++) {
                group(row, kind, seed + i, &c);
            }
            (void)printf("%-24s %-12s %5zu/%-5zu %5.1f%% %5zu/%-5zu %5.1f%% %6zu/%-6zu %5.2f%% "
                         "%6zu\n",
                         rows[row].name, bw_stage_traits_of((bw_stage_kind)kind)->word, c.found,
                         c.groups, percent(c.found, c.groups), c.early_found, c.early,
                         percent(c.early_found, c.early), c.alarms, c.sound,
                         percent(c.alarms, c.sound), c.unseen);
        }
    }
    return 0;
}
