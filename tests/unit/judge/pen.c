/* pen.c - see pen.h. */
#include "cmocka_all.h"

#include "pen.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void pen_take(pen *p, double rate_Hz) {
    memset(p, 0, offsetof(pen, sample));
    p->step_s = 1.0 / rate_Hz;
    p->chance = 1;
}

/* Uniform between -1 and 1: Knuth's MMIX constants for a linear congruential generator. */
static double noise(pen *p) {
    p->chance = p->chance * 6364136223846793005u + 1442695040888963407u;
    return (double)(p->chance >> 11) / 4503599627370496.0 - 1.0;
}

static void put(pen *p) {
    if (p->n == PEN_SAMPLES_MAX) {
        abort(); /* a test that draws too much */
    }
    double angle_deg = p->turned_deg + p->swung_deg + p->windup_deg_per_Nm * p->torque_Nm +
                       p->drift_deg_per_s * p->time_s;
    p->sample[p->n++] = (bw_sample){.time_s = p->time_s,
                                    .torque_Nm = p->torque_Nm + p->noise_Nm * noise(p),
                                    .angle_deg = p->no_angle ? 0.0 : angle_deg,
                                    .has_angle = !p->no_angle};
}

static void line(pen *p, double torque_Nm, double turn_deg, double swing_deg, double seconds) {
    double steps = fmax(1.0, round(seconds / p->step_s));
    pen from = {.time_s = p->time_s,
                .torque_Nm = p->torque_Nm,
                .turned_deg = p->turned_deg,
                .swung_deg = p->swung_deg};
    for (double i = 1; i <= steps; i++) {
        double share = i / steps;
        p->time_s = from.time_s + i * p->step_s;
        /* The last one is where it was to get, to the last bit. */
        p->torque_Nm = i < steps ? from.torque_Nm + share * (torque_Nm - from.torque_Nm)
                                 : torque_Nm;
        p->turned_deg = from.turned_deg + share * turn_deg;
        p->swung_deg = from.swung_deg + share * swing_deg;
        put(p);
    }
}

void pen_to(pen *p, double torque_Nm, double turn_deg, double seconds) {
    line(p, torque_Nm, turn_deg, 0, seconds);
}

void pen_back(pen *p, double deg, double seconds) {
    line(p, 0, 0, -deg, seconds);
}

void pen_pull(pen *p, double from_Nm, double peak_Nm, double turn_deg) {
    pen_to(p, 0, 0, 0.2);
    pen_to(p, from_Nm, 0, 0.3);
    pen_to(p, peak_Nm, turn_deg, 1.0);
    pen_to(p, 0, 0, 0.3);
    pen_to(p, 0, 0, 0.4);
}

static const bw_stage open_stage = {
    .low_Nm = -INFINITY, .high_Nm = INFINITY, .low_deg = -INFINITY, .high_deg = INFINITY};

bw_stage torque_stage(double low_Nm, double target_Nm, double high_Nm) {
    bw_stage stage = open_stage;
    stage.kind = BW_STAGE_TORQUE;
    stage.target_Nm = target_Nm;
    stage.low_Nm = low_Nm;
    stage.high_Nm = high_Nm;
    return stage;
}

bw_stage angle_stage(double low_deg, double high_deg) {
    bw_stage stage = open_stage;
    stage.kind = BW_STAGE_ANGLE;
    stage.target_deg = (low_deg + high_deg) / 2;
    stage.low_deg = low_deg;
    stage.high_deg = high_deg;
    return stage;
}

bw_stage snug_stage(double snug_Nm, double low_deg, double high_deg) {
    bw_stage stage = angle_stage(low_deg, high_deg);
    stage.kind = BW_STAGE_TORQUE_ANGLE;
    stage.snug_Nm = snug_Nm;
    return stage;
}

bw_verdict judge_all(const bw_stage *stage, const bw_standing *standing, const bw_sample *sample,
                     size_t n, bool complete) {
    static const bw_standing nothing = {0};
    bw_judge judge;
    bw_judge_begin(&judge, stage, standing != NULL ? standing : &nothing, &(bw_terms){0});
    for (size_t i = 0; i < n; i++) {
        (void)bw_judge_sample(&judge, &sample[i]);
    }
    return bw_judge_end(&judge, complete);
}

bw_verdict judge_pen(const bw_stage *stage, const bw_standing *standing, const pen *p) {
    return judge_all(stage, standing, p->sample, p->n, true);
}

bw_standing standing_after(const bw_standing *standing, const bw_verdict *verdict) {
    return (bw_standing){.torque_Nm = standing->torque_Nm,
                         .turn_deg = verdict->turn_deg,
                         .turn_known = verdict->has_turn,
                         .snug_reached = verdict->snug_reached,
                         .peak_Nm = verdict->peak_Nm,
                         .judged_Nm = verdict->judged_Nm,
                         .slope_Nm_per_deg = verdict->slope_Nm_per_deg,
                         .pulls = verdict->pulls};
}

void verdict_is(const bw_verdict *v, bw_outcome outcome, uint32_t reasons, bool more) {
    if (v->outcome != outcome || v->reasons != reasons || v->more != more) {
        char words[200];
        fail_msg("%s (%s) more %d, peak %g N.m, turn %g deg", bw_outcome_word(v->outcome),
                 bw_reasons_text(v->reasons, words, sizeof words), v->more, v->peak_Nm,
                 v->turn_deg);
    }
}

void close_to(double value, double expected, double by) {
    if (!(fabs(value - expected) <= by)) {
        fail_msg("%.9g is not %g within %g", value, expected, by);
    }
}

/* SplitMix64 (Steele, Lea and Flood, OOPSLA 2014). */
uint64_t next_chance(uint64_t *seed) {
    uint64_t z = (*seed += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

static bool bits_same(double a, double b) {
    uint64_t a_bits = 0;
    uint64_t b_bits = 0;
    memcpy(&a_bits, &a, sizeof a);
    memcpy(&b_bits, &b, sizeof b);
    return a_bits == b_bits;
}

bool verdicts_same(const bw_verdict *a, const bw_verdict *b) {
    return a->outcome == b->outcome && a->reasons == b->reasons && a->more == b->more &&
           bits_same(a->peak_Nm, b->peak_Nm) && bits_same(a->pull_peak_Nm, b->pull_peak_Nm) &&
           a->has_turn == b->has_turn && bits_same(a->turn_deg, b->turn_deg) &&
           bits_same(a->pull_turn_deg, b->pull_turn_deg) && a->snug_reached == b->snug_reached &&
           a->pulls == b->pulls;
}
