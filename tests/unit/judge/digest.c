/* digest.c - prints one number over the bits of thousands of verdicts.  same_bits.sh builds it with
 * each compiler and optimisation there is; all must print the same. */
#include "judge/judge.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { TRACES = 6000, LONGEST = 400 };

static uint64_t next(uint64_t *seed) {
    *seed = *seed * 6364136223846793005u + 1442695040888963407u; /* Knuth's MMIX */
    return *seed >> 11;
}

static double between(uint64_t *seed, double least, double most) {
    return least + (most - least) * (double)next(seed) / 9007199254740992.0;
}

static uint64_t digest; /* FNV-1a */

static void add(const void *data, size_t size) {
    const unsigned char *byte = data;
    for (size_t i = 0; i < size; i++) {
        digest = (digest ^ byte[i]) * 1099511628211u;
    }
}

static void add_verdict(const bw_verdict *v) {
    add(&v->outcome, sizeof v->outcome);
    add(&v->reasons, sizeof v->reasons);
    add(&v->peak_Nm, sizeof v->peak_Nm);
    add(&v->turn_deg, sizeof v->turn_deg);
    add(&v->pull_turn_deg, sizeof v->pull_turn_deg);
    add(&v->judged_Nm, sizeof v->judged_Nm);
    add(&v->uncertainty_Nm, sizeof v->uncertainty_Nm);
    add(&v->slope_Nm_per_deg, sizeof v->slope_Nm_per_deg);
    add(&v->stretch_mm, sizeof v->stretch_mm);
}

static bw_stage drawn_stage(uint64_t *seed) {
    bw_stage stage = {.kind = (bw_stage_kind)(next(seed) % BW_STAGE_KIND_COUNT),
                      .until_loose = next(seed) % 2 == 0,
                      .snug_Nm = 20,
                      .target_Nm = 60,
                      .low_Nm = 50,
                      .high_Nm = 70,
                      .low_deg = 10,
                      .high_deg = between(seed, 50, 300),
                      .slope_share = 0.5,
                      .low_mm = 0.1,
                      .high_mm = 0.2};
    stage.until_loose = stage.until_loose && stage.kind == BW_STAGE_BACK_OFF;
    stage.low_Nm = bw_stage_traits_of(stage.kind)->runs ? 25 : stage.low_Nm;
    return stage;
}

/* A hand that turns on and off, back and forth, through a joint that bends and falls somewhere. */
static bw_verdict drawn(uint64_t *seed) {
    bw_stage stage = drawn_stage(seed);
    bw_standing standing = {.torque_Nm = stage.kind == BW_STAGE_ANGLE ? 20 : 0,
                            .siblings = {5, 1, 0.1}};
    bw_terms terms = {.rule = (bw_rule)(next(seed) % BW_RULE_COUNT),
                      .range_low_Nm = 10,
                      .range_high_Nm = 100,
                      .uncertainty_share = 0.02,
                      .uncertainty_deg = 1,
                      .windup_deg_per_Nm = 0.03};
    bw_judge judge;
    bw_judge_begin(&judge, &stage, &standing, &terms);
    double sign = stage.kind == BW_STAGE_BACK_OFF ? -1 : 1;
    double slope = between(seed, 0.3, 2);
    double bend_Nm = between(seed, 20, 90);
    bw_sample s = {.has_angle = true};
    double angle_deg = -20;
    for (int i = 0; i < LONGEST; i++) {
        angle_deg += between(seed, -0.05, 0.8);
        double stretch_Nm = fmax(0, slope * angle_deg);
        bool bends = stretch_Nm > bend_Nm;
        s.time_s += between(seed, 0.005, 0.02);
        s.torque_Nm = bends ? bend_Nm + 0.1 * (stretch_Nm - bend_Nm) : stretch_Nm;
        s.torque_Nm *= i > LONGEST - 30 ? between(seed, 0, 0.04) : 1;
        s.torque_Nm += between(seed, -0.3, 0.3);
        s.angle_deg = angle_deg + 0.03 * s.torque_Nm;
        bw_sample shown = {s.time_s, sign * s.torque_Nm, sign * s.angle_deg, true};
        bw_live live = bw_judge_sample(&judge, &shown);
        add(&live.turn_deg, sizeof live.turn_deg);
        add(&live.word, sizeof live.word);
    }
    bw_verdict pull = bw_judge_end(&judge, true);
    bw_seen seen = {50, 50 + between(seed, 0, 0.3), next(seed) % 2 == 0};
    return bw_judge_seen(&stage, &pull, &seen);
}

int main(void) {
    uint64_t seed = 1;
    uint32_t reasons = 0;
    uint32_t passed = 0;
    digest = 14695981039346656037u;
    for (int i = 0; i < TRACES; i++) {
        bw_verdict v = drawn(&seed);
        reasons |= v.reasons;
        passed += v.outcome == BW_VERDICT_PASS ? 1 : 0;
        add_verdict(&v);
    }
    (void)printf("%016" PRIx64 " reasons %" PRIx32 " passed %" PRIu32 "\n", digest, reasons,
                 passed);
    return 0;
}
