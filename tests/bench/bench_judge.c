/* bench_judge.c - what the judge costs a sample, and what it says of many simulated fasteners.
 *
 * Prints figures and checks none: bench_judge [FASTENERS [SEED]].  Fasteners, hands and wrenches
 * are the rehearsal's; nothing of the judge was fitted to them. */
#include "judge/judge.h"
#include "rehearsal/hand.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { TRACE_MAX = 200000, GROUP = 8, FAULTS = 6 };

static bw_sample trace[TRACE_MAX];

/* A row: what was ordered.  The dry thread's own reason needs siblings, and is not judged yet. */
static const struct {
    const char *name;
    bw_fault_kind fault;
} rows[FAULTS] = {{"good", BW_FAULT_NONE},   {"short", BW_FAULT_SHORT},
                  {"over", BW_FAULT_OVER},   {"rehit", BW_FAULT_REHIT},
                  {"spike", BW_FAULT_SPIKE}, {"unplug", BW_FAULT_UNPLUG}};

typedef struct table {
    size_t outcome[FAULTS][BW_VERDICT_COUNT];
    size_t reason[FAULTS][BW_REASON_COUNT];
    size_t n[FAULTS];
    double seconds;
    size_t samples;
} table;

static const struct {
    double d_mm;
    double snug_Nm, torque_Nm, turn_deg;
} sizes[] = {{8, 12, 25, 40}, {10, 30, 55, 50}, {12, 50, 95, 60}};

static const double rates_Hz[] = {10, 50, 100, 200, 500, 1000};

static bw_stage stage_of(size_t size, size_t kind) {
    bw_stage stage = {.kind = (bw_stage_kind)kind,
                      .low_Nm = -INFINITY,
                      .high_Nm = INFINITY,
                      .low_deg = -INFINITY,
                      .high_deg = INFINITY};
    if (kind == BW_STAGE_TORQUE) {
        stage.target_Nm = sizes[size].torque_Nm;
        stage.low_Nm = 0.96 * stage.target_Nm;
        stage.high_Nm = 1.04 * stage.target_Nm;
        stage.least_turn_deg = 2;
    } else {
        stage.snug_Nm = kind == BW_STAGE_TORQUE_ANGLE ? sizes[size].snug_Nm : 0;
        stage.target_deg = sizes[size].turn_deg;
        stage.low_deg = stage.target_deg - 4;
        stage.high_deg = stage.target_deg + 4;
    }
    return stage;
}

static double now_s(void) {
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static bw_verdict judged(const bw_stage *stage, const bw_standing *standing, size_t n,
                         bool complete, table *t) {
    bw_judge judge;
    double begun_s = now_s();
    bw_judge_begin(&judge, stage, standing, &(bw_terms){0});
    for (size_t i = 0; i < n; i++) {
        (void)bw_judge_sample(&judge, &trace[i]);
    }
    bw_verdict verdict = bw_judge_end(&judge, complete);
    t->seconds += now_s() - begun_s;
    t->samples += n;
    return verdict;
}

static void count(table *t, size_t row, const bw_verdict *v) {
    t->n[row]++;
    t->outcome[row][v->outcome]++;
    for (size_t i = 0; i < BW_REASON_COUNT; i++) {
        t->reason[row][i] += v->reasons >> i & 1u;
    }
}

/* A torque from loose, snug and angle from loose, an angle on top of the snug torque. */
static void one(bw_joint *joint, const bw_hand_wrench *wrench, size_t size, size_t fastener,
                size_t row, table *t) {
    size_t kind = fastener % BW_STAGE_KIND_COUNT;
    bw_hand_task task = {.stage = stage_of(size, kind),
                         .fastener = fastener,
                         .step = "caps",
                         .stage_number = 1,
                         .attempt = 1,
                         .fault = rows[row].fault};
    bw_standing standing = {.torque_Nm = kind == BW_STAGE_ANGLE ? sizes[size].snug_Nm : 0};
    double before_Nm = rows[row].fault == BW_FAULT_REHIT ? sizes[size].torque_Nm
                                                         : standing.torque_Nm;
    bw_joint_pull before = {fastener, "caps", 1, before_Nm, 60};
    if (before_Nm > 0) {
        bw_joint_pulled(joint, &before);
    }
    bw_verdict v = {0};
    do {
        static bw_hand hand;
        size_t n = 0;
        bw_hand_begin(&hand, joint, &task, wrench, 0);
        while (n < TRACE_MAX && bw_hand_next(&hand, &trace[n])) {
            n++;
        }
        v = judged(&task.stage, &standing, n, !bw_hand_unplugged(&hand), t);
        bw_joint_pull pull = {fastener, "caps", 1, v.pull_peak_Nm,
                              v.has_turn ? v.pull_turn_deg : INFINITY};
        bw_joint_pulled(joint, &pull);
        standing = (bw_standing){.torque_Nm = standing.torque_Nm,
                                 .turn_deg = v.turn_deg,
                                 .turn_known = v.has_turn,
                                 .snug_reached = v.snug_reached,
                                 .peak_Nm = v.peak_Nm,
                                 .pulls = v.pulls};
        task.pulls = v.pulls;
        task.turn_deg = v.turn_deg;
        task.snug_reached = v.snug_reached;
    } while (rows[row].fault == BW_FAULT_NONE && v.more && task.pulls < 6);
    count(t, row, &v);
}

static bool group(uint64_t seed, table *t) {
    size_t size = seed % 3;
    bw_arena *arena = bw_arena_new(0);
    bw_joint *joint = NULL;
    bw_joint_spec spec = bw_joint_usual(sizes[size].d_mm, 0, "10.9", "engine oil");
    bw_hand_wrench wrench = bw_hand_usual_wrench();
    wrench.rate_Hz = rates_Hz[seed / 3 % 6];
    wrench.windup_deg_per_Nm = 0.01 * (double)(seed / 18 % 11);
    wrench.noise_Nm = 0.05;
    bool made = bw_joint_new(arena, &spec, seed, "main", GROUP, NULL, &joint, NULL) == BW_OK;
    for (size_t i = 0; made && i < GROUP; i++) {
        one(joint, &wrench, size, i, (seed + i / BW_STAGE_KIND_COUNT) % FAULTS, t);
    }
    bw_arena_free(arena);
    return made;
}

static void print_table(const table *t) {
    (void)printf("%-8s %7s", "ordered", "pulls");
    for (int k = 0; k < BW_VERDICT_COUNT; k++) {
        (void)printf(" %8s", bw_outcome_word((bw_outcome)k));
    }
    (void)printf("   reasons of the last pull\n");
    for (size_t row = 0; row < FAULTS; row++) {
        (void)printf("%-8s %7zu", rows[row].name, t->n[row]);
        for (int k = 0; k < BW_VERDICT_COUNT; k++) {
            (void)printf(" %8zu", t->outcome[row][k]);
        }
        for (size_t i = 0; i < BW_REASON_COUNT; i++) {
            if (t->reason[row][i] > 0) {
                (void)printf("   %s %zu", bw_reason_word(i), t->reason[row][i]);
            }
        }
        (void)printf("\n");
    }
}

int main(int argc, char **argv) {
    static table t;
    uint64_t fasteners = argc > 1 ? strtoull(argv[1], NULL, 10) : 20000;
    uint64_t seed = argc > 2 ? strtoull(argv[2], NULL, 10) : 1;
    for (uint64_t i = 0; i * GROUP < fasteners; i++) {
        if (!group(seed + i, &t)) {
            (void)fprintf(stderr, "bench_judge: no joint\n");
            return 1;
        }
    }
    (void)printf("seeds from %" PRIu64 ", %zu samples, %.1f ns each, verdict included; "
                 "%zu bytes a judge\n",
                 seed, t.samples, 1e9 * t.seconds / (double)t.samples, sizeof(bw_judge));
    print_table(&t);
    return 0;
}
