/* world_test.c - every short trace of a small world, judged twice: by the judge, which sees one
 * sample at a time, and by the plain reading of its rules in plain.c, which sees them all at once.
 *
 * The world: torques about the threshold, the snug torque and the limits; steps of angle; samples
 * close together or with a gap between them.  It is too small for a curve: yield and first movement
 * are no part of it. */
#include "cmocka_all.h"

#include "plain.h"

#include <math.h>
#include <string.h>

typedef struct world {
    const char *name;
    bw_stage stage;
    bw_standing standing;
    size_t longest;
    bool backward; /* the other set of torques and angles */
    /* kept while walking */
    trace t;
    size_t walked;
    size_t seen[BW_VERDICT_COUNT];
    uint32_t reasons;
} world;

enum { TORQUES = 5, STEPS = 3 };

static const double torques_Nm[2][TORQUES] = {{0, 0.4, 6, 10, 14}, {-6, -1.5, 0, 6, 10}};
static const double steps_deg[2][STEPS] = {{0, 20}, {0, 20, -20}};
static const double steps_s[] = {0.01, 0.4};

static void compare(world *w, const bw_judge *judge, bool complete) {
    bw_verdict v = bw_judge_end(judge, complete);
    bw_verdict plain = plain_verdict(&w->stage, &w->standing, &w->t, complete);
    bool same = v.outcome == plain.outcome && v.reasons == plain.reasons && v.more == plain.more &&
                v.peak_Nm == plain.peak_Nm && v.pull_peak_Nm == plain.pull_peak_Nm &&
                v.has_turn == plain.has_turn && fabs(v.turn_deg - plain.turn_deg) < 1e-9 &&
                v.snug_reached == plain.snug_reached && v.pulls == plain.pulls &&
                v.loose == plain.loose;
    if (!same) {
        for (size_t i = 0; i < w->t.n; i++) {
            print_error("%g s, %g N.m, %g deg\n", w->t.s[i].time_s, w->t.s[i].torque_Nm,
                        w->t.s[i].angle_deg);
        }
        fail_msg("%s, complete %d: the judge says %s %x more %d peak %g turn %d %g snug %d; "
                 "the rules say %s %x more %d peak %g turn %d %g snug %d",
                 w->name, complete, bw_outcome_word(v.outcome), v.reasons, v.more, v.peak_Nm,
                 v.has_turn, v.turn_deg, v.snug_reached, bw_outcome_word(plain.outcome),
                 plain.reasons, plain.more, plain.peak_Nm, plain.has_turn, plain.turn_deg,
                 plain.snug_reached);
    }
    w->seen[v.outcome]++;
    w->reasons |= v.reasons;
}

static void walk(world *w, const bw_judge *so_far) {
    w->walked++;
    compare(w, so_far, true);
    compare(w, so_far, false);
    if (w->t.n == w->longest) {
        return;
    }
    bw_sample before = w->t.n > 0 ? w->t.s[w->t.n - 1] : (bw_sample){.has_angle = true};
    size_t steps = w->backward ? 3 : 2;
    for (size_t a = 0; a < TORQUES; a++) {
        for (size_t b = 0; b < steps; b++) {
            for (size_t c = 0; c < (w->t.n > 0 ? 2 : 1); c++) {
                bw_sample next = {.time_s = before.time_s + steps_s[c],
                                  .torque_Nm = torques_Nm[w->backward][a],
                                  .angle_deg = before.angle_deg + steps_deg[w->backward][b],
                                  .has_angle = true};
                bool mirrored = w->stage.kind == BW_STAGE_BACK_OFF;
                bw_sample shown = next;
                shown.torque_Nm *= mirrored ? -1 : 1;
                shown.angle_deg *= mirrored ? -1 : 1;
                bw_judge judge = *so_far;
                (void)bw_judge_sample(&judge, &shown);
                w->t.s[w->t.n++] = next;
                walk(w, &judge);
                w->t.n--;
            }
        }
    }
}

static void explore(world *w) {
    bw_judge judge;
    bw_judge_begin(&judge, &w->stage, &w->standing, &(bw_terms){0});
    walk(w, &judge);
}

static bw_stage stage_of(bw_stage_kind kind, double low_Nm, double high_Nm) {
    bw_stage stage = {.kind = kind,
                      .low_Nm = low_Nm,
                      .high_Nm = high_Nm,
                      .low_deg = -INFINITY,
                      .high_deg = INFINITY};
    switch (kind) {
    case BW_STAGE_TORQUE:
        stage.target_Nm = 10;
        stage.least_turn_deg = 15;
        break;
    case BW_STAGE_SLOT:
        stage.target_Nm = 10;
        stage.high_deg = 30;
        break;
    case BW_STAGE_STRETCH:
        stage.target_Nm = isinf(high_Nm) ? 0 : 10;
        break;
    case BW_STAGE_PREVAILING:
    case BW_STAGE_ROTATING:
    case BW_STAGE_CREEP:
        stage.least_turn_deg = 15;
        break;
    default:
        stage.snug_Nm = kind == BW_STAGE_TORQUE_ANGLE ? 10 : 0;
        stage.low_deg = 15;
        stage.high_deg = 30;
        break;
    }
    return stage;
}

/* Those of which this world is large enough to say something. */
static const bw_stage_kind kinds[] = {
    BW_STAGE_TORQUE, BW_STAGE_TORQUE_ANGLE, BW_STAGE_ANGLE,    BW_STAGE_BACK_OFF, BW_STAGE_STRETCH,
    BW_STAGE_SLOT,   BW_STAGE_PREVAILING,   BW_STAGE_ROTATING, BW_STAGE_CREEP,
};

enum { KINDS = sizeof kinds / sizeof kinds[0] };

static void test_torque(void **state) {
    (void)state;
    world w = {.name = "torque", .stage = stage_of(BW_STAGE_TORQUE, 9, 12), .longest = 5};
    explore(&w);
    assert_true(w.walked > 1600000);
    for (int i = 0; i < BW_VERDICT_COUNT; i++) {
        assert_true(w.seen[i] >= 50);
    }
    assert_int_equal(w.reasons, BW_REASON_BELOW_LIMIT | BW_REASON_ABOVE_LIMIT | BW_REASON_NO_TURN |
                                    BW_REASON_SPIKE | BW_REASON_GAP | BW_REASON_TORQUE_DROP);
}

static void test_snug(void **state) {
    (void)state;
    world w = {
        .name = "snug", .stage = stage_of(BW_STAGE_TORQUE_ANGLE, -INFINITY, 15), .longest = 5};
    explore(&w);
    for (int i = 0; i < BW_VERDICT_COUNT; i++) {
        assert_true(w.seen[i] >= 20);
    }
    assert_int_equal(w.reasons, BW_REASON_ANGLE_SHORT | BW_REASON_ANGLE_OVER | BW_REASON_NO_TURN |
                                    BW_REASON_SPIKE | BW_REASON_GAP | BW_REASON_TORQUE_DROP);
}

static void test_angle(void **state) {
    (void)state;
    world w = {.name = "angle",
               .stage = stage_of(BW_STAGE_ANGLE, -INFINITY, INFINITY),
               .standing = {.torque_Nm = 10},
               .longest = 4};
    explore(&w);
    for (int i = 0; i < BW_VERDICT_COUNT; i++) {
        assert_true(w.seen[i] >= 20);
    }
    assert_int_equal(w.reasons, BW_REASON_ANGLE_SHORT | BW_REASON_ANGLE_OVER | BW_REASON_NO_TURN |
                                    BW_REASON_SPIKE | BW_REASON_GAP | BW_REASON_TORQUE_DROP);
}

/* Floors, ceilings, and what earlier pulls left. */
static void test_variants(void **state) {
    (void)state;
    static const bw_standing standings[] = {
        {0},
        {.torque_Nm = 6},
        {.torque_Nm = 6, .pulls = 1, .turn_known = true, .turn_deg = 12, .peak_Nm = 8},
        {.torque_Nm = 6, .pulls = 1, .turn_known = false, .turn_deg = 0, .peak_Nm = 8},
        {.torque_Nm = 6,
         .pulls = 2,
         .turn_known = true,
         .turn_deg = 3,
         .snug_reached = true,
         .peak_Nm = 11},
        {.torque_Nm = 6, .pulls = 1, .turn_known = true, .peak_Nm = 20},
        {.pulls = 1, .turn_known = true, .turn_deg = 20, .peak_Nm = 8, .judged_Nm = 7},
        {.pulls = 1, .turn_known = true, .turn_deg = 40, .peak_Nm = 8, .judged_Nm = 7},
    };
    static const double lows_Nm[] = {-INFINITY, 9};
    static const double highs_Nm[] = {12, INFINITY};
    size_t walked = 0;
    for (size_t n = 0; n < KINDS; n++) {
        for (size_t i = 0; i < sizeof standings / sizeof standings[0]; i++) {
            for (size_t k = 0; k < 4; k++) {
                world w = {.name = "variant",
                           .stage = stage_of(kinds[n], lows_Nm[k / 2], highs_Nm[k % 2]),
                           .standing = standings[i],
                           .longest = 3};
                explore(&w);
                walked += w.walked;
                w.stage.until_loose = kinds[n] == BW_STAGE_BACK_OFF;
                w.stage.low_deg = -INFINITY;
                w.stage.high_deg = INFINITY;
                w.longest = w.stage.until_loose ? 3 : 0;
                explore(&w);
            }
        }
    }
    assert_true(walked > 300000);
}

static void test_back_off(void **state) {
    (void)state;
    world w = {.name = "back off",
               .stage = stage_of(BW_STAGE_BACK_OFF, -INFINITY, INFINITY),
               .standing = {.torque_Nm = 7},
               .longest = 4};
    explore(&w);
    for (int i = 0; i < BW_VERDICT_COUNT; i++) {
        assert_true(w.seen[i] >= 20);
    }
    assert_int_equal(w.reasons, BW_REASON_ANGLE_SHORT | BW_REASON_ANGLE_OVER | BW_REASON_NO_TURN |
                                    BW_REASON_SPIKE | BW_REASON_GAP);
}

static void test_slot(void **state) {
    (void)state;
    world w = {.name = "slot", .stage = stage_of(BW_STAGE_SLOT, 10, 12), .longest = 4};
    explore(&w);
    for (int i = 0; i < BW_VERDICT_COUNT; i++) {
        assert_true(w.seen[i] >= 20);
    }
    assert_int_equal(w.reasons, BW_REASON_BELOW_LIMIT | BW_REASON_ABOVE_LIMIT |
                                    BW_REASON_ANGLE_OVER | BW_REASON_NO_TURN | BW_REASON_SPIKE |
                                    BW_REASON_GAP | BW_REASON_TORQUE_DROP);
}

static void test_running(void **state) {
    (void)state;
    world w = {.name = "runs", .stage = stage_of(BW_STAGE_CREEP, 8, 9), .longest = 5};
    explore(&w);
    for (int i = 0; i < BW_VERDICT_COUNT; i++) {
        assert_true(w.seen[i] >= 20);
    }
    assert_int_equal(w.reasons, BW_REASON_BELOW_LIMIT | BW_REASON_ABOVE_LIMIT |
                                    BW_REASON_ANGLE_SHORT | BW_REASON_SPIKE | BW_REASON_GAP);
}

static void test_backward(void **state) {
    (void)state;
    for (size_t n = 0; n < KINDS; n++) {
        bw_stage_kind kind = kinds[n];
        world w = {.name = "backward",
                   .stage = stage_of(kind, -INFINITY, 12),
                   .standing = {.torque_Nm = kind == BW_STAGE_ANGLE ? 10 : 0},
                   .longest = kind <= BW_STAGE_ANGLE ? 4 : 3,
                   .backward = true};
        explore(&w);
        assert_true(w.walked > 10000);
        bool minds = !bw_stage_traits_of(kind)->runs && kind != BW_STAGE_BACK_OFF;
        bool said = (w.reasons & (uint32_t)BW_REASON_LOOSENED) != 0;
        assert_true(said == minds || kind == BW_STAGE_BACK_OFF);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_torque),   cmocka_unit_test(test_snug),
        cmocka_unit_test(test_angle),    cmocka_unit_test(test_variants),
        cmocka_unit_test(test_back_off), cmocka_unit_test(test_slot),
        cmocka_unit_test(test_running),  cmocka_unit_test(test_backward),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
