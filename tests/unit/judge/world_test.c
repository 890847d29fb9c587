/* world_test.c - every short trace of a small world, judged twice: by the judge, which sees one
 * sample at a time, and by the plain reading of its rules below, which sees them all at once.
 *
 * The world: torques about the threshold, the snug torque and the limits; steps of angle; samples
 * close together or with a gap between them. */
#include "cmocka_all.h"

#include "judge/judge.h"

#include <math.h>
#include <string.h>

enum { LONGEST = 6 };

/* ---- the rules, read plainly ---- */

typedef struct trace {
    size_t n;
    bw_sample s[LONGEST];
} trace;

static double about_Nm(const bw_stage *stage, const bw_standing *standing) {
    if (stage->kind == BW_STAGE_TORQUE) {
        return stage->target_Nm;
    }
    if (stage->kind == BW_STAGE_TORQUE_ANGLE) {
        return stage->snug_Nm;
    }
    return isfinite(stage->low_Nm) && stage->low_Nm > standing->torque_Nm ? stage->low_Nm
                                                                          : standing->torque_Nm;
}

static double rest_below_Nm(const bw_stage *stage, const bw_standing *standing) {
    double share = about_Nm(stage, standing) / 20;
    return share > 0.3 ? share : 0.3;
}

/* One sample far above both its neighbours, faster than 20 targets a second, or peaks. */
static bool knocked(const bw_stage *stage, const bw_standing *standing, double peak_Nm,
                    const bw_sample *a, const bw_sample *b, const bw_sample *c) {
    double fastest = 20 * fmax(about_Nm(stage, standing), peak_Nm);
    double least_Nm = 2 * rest_below_Nm(stage, standing);
    double up_Nm = b->torque_Nm - a->torque_Nm;
    double down_Nm = b->torque_Nm - c->torque_Nm;
    return about_Nm(stage, standing) > 0 && up_Nm > least_Nm && down_Nm > least_Nm &&
           down_Nm > c->torque_Nm / 5 && up_Nm > fastest * (b->time_s - a->time_s) &&
           b->time_s > a->time_s && down_Nm > fastest * (c->time_s - b->time_s) &&
           c->time_s > b->time_s;
}

static trace without_knocks(const bw_stage *stage, const bw_standing *standing, const trace *all,
                            bool *any) {
    trace kept = {0};
    *any = false;
    for (size_t i = 0; i < all->n; i++) {
        double peak_Nm = 0;
        for (size_t k = 0; k + 1 < kept.n; k++) {
            peak_Nm = fmax(peak_Nm, kept.s[k].torque_Nm);
        }
        if (kept.n >= 2 && knocked(stage, standing, peak_Nm, &kept.s[kept.n - 2],
                                   &kept.s[kept.n - 1], &all->s[i])) {
            kept.n--;
            *any = true;
        }
        kept.s[kept.n++] = all->s[i];
    }
    return kept;
}

/* Under load: it was at the threshold, and has not been at rest since. */
static bool loaded_at(const trace *t, size_t i, double threshold_Nm) {
    while (t->s[i].torque_Nm < threshold_Nm) {
        if (t->s[i].torque_Nm < 0.6 * threshold_Nm || i == 0) {
            return false;
        }
        i--;
    }
    return true;
}

static double angle_at(const trace *t, size_t i, double torque_Nm) {
    const bw_sample *a = &t->s[i - 1];
    const bw_sample *b = &t->s[i];
    return a->angle_deg + (torque_Nm - a->torque_Nm) / (b->torque_Nm - a->torque_Nm) *
                              (b->angle_deg - a->angle_deg);
}

static bool rises(const trace *t, size_t i, double mark_Nm) {
    return i > 0 && t->s[i - 1].torque_Nm < mark_Nm && t->s[i].torque_Nm >= mark_Nm;
}

/* Turn of the stroke that begins with sample `from`, between its rise through the mark and its
 * last fall through it; *next: the first sample at rest behind it, n where there is none. */
static double stroke_deg(const trace *t, size_t from, double mark_Nm, double threshold_Nm,
                         size_t *next) {
    double start_deg = rises(t, from, mark_Nm) ? angle_at(t, from, mark_Nm) : t->s[from].angle_deg;
    double end_deg = start_deg;
    size_t i = from + 1;
    for (; i < t->n; i++) {
        if (t->s[i - 1].torque_Nm >= mark_Nm && t->s[i].torque_Nm < mark_Nm) {
            end_deg = angle_at(t, i, mark_Nm);
        }
        if (t->s[i].torque_Nm < 0.6 * threshold_Nm) {
            break;
        }
    }
    *next = i;
    return end_deg - start_deg;
}

/* Turn of all strokes that are over, from sample `from` on. */
static double strokes_deg(const trace *t, size_t from, double threshold_Nm) {
    double total_deg = 0;
    for (size_t i = from; i < t->n; i++) {
        size_t next = 0;
        if (rises(t, i, threshold_Nm) || (i == 0 && t->s[0].torque_Nm >= threshold_Nm)) {
            double deg = stroke_deg(t, i, threshold_Nm, threshold_Nm, &next);
            total_deg += next < t->n ? deg : 0;
            i = next - 1;
        }
    }
    return total_deg;
}

/* Turn of the pull that counts; *snug: the snug torque was reached, now or before. */
static double counted_deg(const bw_stage *stage, const trace *t, double threshold_Nm, bool *snug) {
    if (stage->kind != BW_STAGE_TORQUE_ANGLE || *snug) {
        return strokes_deg(t, 0, threshold_Nm);
    }
    size_t i = 0;
    while (i < t->n && !rises(t, i, stage->snug_Nm)) {
        i++;
    }
    if (i == t->n) {
        return 0;
    }
    *snug = true;
    size_t next = 0;
    double deg = stroke_deg(t, i, stage->snug_Nm, threshold_Nm, &next);
    return next < t->n ? deg + strokes_deg(t, next, threshold_Nm) : 0;
}

static bool begins_late(const bw_stage *stage, const bw_standing *standing, double first_Nm,
                        double threshold_Nm) {
    double late_from_Nm = stage->kind == BW_STAGE_TORQUE ? 0.9 * stage->target_Nm : threshold_Nm;
    if (stage->kind == BW_STAGE_TORQUE_ANGLE && !standing->snug_reached) {
        late_from_Nm = stage->snug_Nm;
    }
    return first_Nm >= threshold_Nm && first_Nm >= late_from_Nm;
}

static bool pulled_back_at_the_end(const bw_stage *stage, const bw_standing *standing,
                                   const trace *t) {
    double mark_Nm = -fmax(about_Nm(stage, standing) / 5, 2);
    size_t n = t->n > 0 ? t->n - 1 : 0;
    while (n > 0 && t->s[n - 1].torque_Nm > mark_Nm && t->s[n - 1].torque_Nm <= 0.6 * mark_Nm) {
        n--;
    }
    return n > 0 && t->s[n - 1].torque_Nm <= mark_Nm;
}

static bool not_seen(const bw_stage *stage, const bw_standing *standing, const trace *t,
                     bool complete) {
    double threshold_Nm = rest_below_Nm(stage, standing);
    bool unseen = !complete || t->n == 0 || pulled_back_at_the_end(stage, standing, t) ||
                  loaded_at(t, t->n - 1, threshold_Nm) ||
                  begins_late(stage, standing, t->s[0].torque_Nm, threshold_Nm);
    for (size_t i = 1; i < t->n; i++) {
        bool under_load = loaded_at(t, i - 1, threshold_Nm) || t->s[i].torque_Nm >= threshold_Nm;
        unseen = unseen || (under_load && t->s[i].time_s - t->s[i - 1].time_s > 0.3);
    }
    bool lost = standing->pulls > 0 && !standing->turn_known;
    return unseen || (lost && stage->kind != BW_STAGE_TORQUE);
}

/* Torque that falls while it is turned on.  Sample i stands in a run of samples which begins
 * behind the last one that was at rest, and was not just flying on behind a fall. */
static bool rests(const trace *t, size_t i, double threshold_Nm);

static double two_in_a_row_Nm(const trace *t, size_t i, double threshold_Nm, size_t *from) {
    *from = i;
    while (*from > 0 && !rests(t, *from - 1, threshold_Nm)) {
        (*from)--;
    }
    double peak_Nm = 0;
    for (size_t k = *from > 0 ? *from : 1; k <= i; k++) {
        peak_Nm = fmax(peak_Nm, fmin(t->s[k - 1].torque_Nm, t->s[k].torque_Nm));
    }
    return peak_Nm;
}

static bool fell(const trace *t, size_t i, double threshold_Nm) {
    size_t from = 0;
    return t->s[i].torque_Nm < 0.8 * two_in_a_row_Nm(t, i, threshold_Nm, &from);
}

/* The first sample of the fall that sample i is in. */
static size_t fall_of(const trace *t, size_t i, double threshold_Nm) {
    size_t from = 0;
    (void)two_in_a_row_Nm(t, i, threshold_Nm, &from);
    while (i > from && fell(t, i - 1, threshold_Nm)) {
        i--;
    }
    return i;
}

static bool rests(const trace *t, size_t i, double threshold_Nm) {
    if (t->s[i].torque_Nm >= 0.6 * threshold_Nm) {
        return false;
    }
    size_t first = fall_of(t, i, threshold_Nm);
    return !fell(t, i, threshold_Nm) || first == 0 ||
           t->s[i].time_s - t->s[first - 1].time_s > 0.5 ||
           t->s[i].angle_deg < t->s[first - 1].angle_deg - 0.5;
}

static bool drops_at(const trace *t, size_t i, double threshold_Nm, double about) {
    size_t from = 0;
    double peak_Nm = two_in_a_row_Nm(t, i, threshold_Nm, &from);
    if (!fell(t, i, threshold_Nm) || peak_Nm < about / 2 || peak_Nm < 4 * threshold_Nm) {
        return false;
    }
    size_t first = fall_of(t, i, threshold_Nm);
    const bw_sample *held = &t->s[first - 1];
    double fastest = 0;
    for (size_t k = from > 0 ? from : 1; k < first; k++) {
        bool held_on = !fell(t, k, threshold_Nm) && (k == from || !fell(t, k - 1, threshold_Nm));
        double deg_per_s = (t->s[k].angle_deg - t->s[k - 1].angle_deg) /
                           (t->s[k].time_s - t->s[k - 1].time_s);
        fastest = held_on ? fmax(fastest, deg_per_s) : fastest;
    }
    double hand_deg = fastest * (t->s[first].time_s - held->time_s);
    return t->s[i].angle_deg - held->angle_deg > 3 + hand_deg;
}

/* Turned back under load: by the angles at which the torque passed the mark both ways. */
static bool turned_back(const trace *t, size_t n, double about) {
    double mark_Nm = -fmax(about / 5, 2);
    for (size_t i = 0; i < n; i++) {
        if (t->s[i].torque_Nm > mark_Nm) {
            continue;
        }
        double from_deg = i > 0 ? angle_at(t, i, mark_Nm) : t->s[0].angle_deg;
        double to_deg = from_deg;
        for (i++; i < n && t->s[i - 1].torque_Nm <= 0.6 * mark_Nm; i++) {
            bool out = t->s[i - 1].torque_Nm <= mark_Nm && t->s[i].torque_Nm > mark_Nm;
            to_deg = out ? angle_at(t, i, mark_Nm) : to_deg;
            if (t->s[i].torque_Nm > 0.6 * mark_Nm && from_deg - to_deg >= 2) {
                return true;
            }
        }
        i--;
    }
    return false;
}

/* The newest sample may prove a knock and shows nothing yet; this world is too short for a bend of
 * the curve. */
static uint32_t plain_troubles(const bw_stage *stage, const bw_standing *standing, const trace *t) {
    double about = about_Nm(stage, standing);
    size_t n = t->n > 0 ? t->n - 1 : 0;
    bool dropped = false;
    for (size_t i = 0; i < n; i++) {
        dropped = dropped || drops_at(t, i, rest_below_Nm(stage, standing), about);
    }
    return (uint32_t)(dropped ? BW_REASON_TORQUE_DROP : 0) |
           (uint32_t)(turned_back(t, n, about) ? BW_REASON_LOOSENED : 0);
}

static bw_verdict plain_verdict(const bw_stage *stage, const bw_standing *standing,
                                const trace *all, bool complete) {
    bool knock = false;
    trace t = without_knocks(stage, standing, all, &knock);
    bool unseen = not_seen(stage, standing, &t, complete);
    bool angle = stage->kind != BW_STAGE_TORQUE;
    bool snug = standing->snug_reached;
    double deg = standing->turn_deg + counted_deg(stage, &t, rest_below_Nm(stage, standing), &snug);
    double pull_Nm = 0;
    for (size_t i = 0; i < t.n; i++) {
        pull_Nm = fmax(pull_Nm, t.s[i].torque_Nm);
    }
    double most_Nm = fmax(pull_Nm, standing->peak_Nm);
    bool lost = standing->pulls > 0 && !standing->turn_known;
    bool known = !unseen && !lost;
    uint32_t also = (uint32_t)(knock ? BW_REASON_SPIKE : 0) |
                    (uint32_t)(unseen ? BW_REASON_GAP : 0);
    bw_verdict v = {.peak_Nm = most_Nm,
                    .pull_peak_Nm = pull_Nm,
                    .has_turn = known,
                    .turn_deg = known ? deg : 0,
                    .snug_reached = snug,
                    .pulls = standing->pulls + 1};
    bool over_Nm = most_Nm > stage->high_Nm + 1e-6;
    bool over_deg = angle && known && deg > stage->high_deg + 1e-6;
    double stood_Nm = stage->kind == BW_STAGE_ANGLE ? standing->torque_Nm : stage->snug_Nm;
    if (over_Nm || over_deg) {
        v.outcome = BW_VERDICT_HIGH;
        v.reasons = (uint32_t)(over_Nm ? BW_REASON_ABOVE_LIMIT : 0) |
                    (uint32_t)(over_deg ? BW_REASON_ANGLE_OVER : 0);
    } else if (!angle && pull_Nm < stage->low_Nm - 1e-6) {
        v.outcome = BW_VERDICT_LOW;
        v.reasons = BW_REASON_BELOW_LIMIT;
        v.more = true;
    } else if (!angle && known && deg < stage->least_turn_deg - 1e-6) {
        v.outcome = BW_VERDICT_SUSPECT;
        v.reasons = BW_REASON_NO_TURN;
    } else if (angle && known && stood_Nm > 0 && most_Nm > 1.3 * stood_Nm &&
               deg < stage->low_deg / 10) {
        v.outcome = BW_VERDICT_SUSPECT;
        v.reasons = BW_REASON_NO_TURN;
    } else if (angle && known && deg < stage->low_deg - 1e-6) {
        v.outcome = BW_VERDICT_LOW;
        v.reasons = BW_REASON_ANGLE_SHORT;
        v.more = true;
    } else if (angle && known && most_Nm < stage->low_Nm - 1e-6) {
        v.outcome = BW_VERDICT_LOW;
        v.reasons = BW_REASON_BELOW_LIMIT;
    } else if (unseen) {
        v.outcome = BW_VERDICT_SUSPECT;
        v.more = !angle;
    }
    uint32_t troubles = plain_troubles(stage, standing, &t);
    if (troubles != 0 && v.outcome != BW_VERDICT_HIGH) {
        v.outcome = BW_VERDICT_SUSPECT;
        v.more = false;
    }
    v.reasons |= also | troubles;
    return v;
}

/* ---- every trace ---- */

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
                v.snug_reached == plain.snug_reached && v.pulls == plain.pulls;
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
                bw_judge judge = *so_far;
                (void)bw_judge_sample(&judge, &next);
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
    if (kind == BW_STAGE_TORQUE) {
        stage.target_Nm = 10;
        stage.least_turn_deg = 15;
    } else {
        stage.snug_Nm = kind == BW_STAGE_TORQUE_ANGLE ? 10 : 0;
        stage.low_deg = 15;
        stage.high_deg = 30;
    }
    return stage;
}

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
        assert_true(w.seen[i] >= 50);
    }
    assert_int_equal(w.reasons, BW_REASON_ANGLE_SHORT | BW_REASON_ANGLE_OVER | BW_REASON_NO_TURN |
                                    BW_REASON_SPIKE | BW_REASON_GAP | BW_REASON_TORQUE_DROP);
}

static void test_angle(void **state) {
    (void)state;
    world w = {.name = "angle",
               .stage = stage_of(BW_STAGE_ANGLE, -INFINITY, INFINITY),
               .standing = {.torque_Nm = 10},
               .longest = 5};
    explore(&w);
    for (int i = 0; i < BW_VERDICT_COUNT; i++) {
        assert_true(w.seen[i] >= 50);
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
    };
    static const double lows_Nm[] = {-INFINITY, 9};
    static const double highs_Nm[] = {12, INFINITY};
    size_t walked = 0;
    for (int kind = 0; kind < BW_STAGE_KIND_COUNT; kind++) {
        for (size_t i = 0; i < sizeof standings / sizeof standings[0]; i++) {
            for (size_t k = 0; k < 4; k++) {
                world w = {.name = "variant",
                           .stage = stage_of((bw_stage_kind)kind, lows_Nm[k / 2], highs_Nm[k % 2]),
                           .standing = standings[i],
                           .longest = 3};
                explore(&w);
                walked += w.walked;
            }
        }
    }
    assert_true(walked > 300000);
}

static void test_backward(void **state) {
    (void)state;
    for (int kind = 0; kind < BW_STAGE_KIND_COUNT; kind++) {
        world w = {.name = "backward",
                   .stage = stage_of((bw_stage_kind)kind, -INFINITY, 12),
                   .standing = {.torque_Nm = kind == BW_STAGE_ANGLE ? 10 : 0},
                   .longest = 4,
                   .backward = true};
        explore(&w);
        assert_true(w.walked > 300000);
        assert_true((w.reasons & (uint32_t)BW_REASON_LOOSENED) != 0);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_torque),   cmocka_unit_test(test_snug),
        cmocka_unit_test(test_angle),    cmocka_unit_test(test_variants),
        cmocka_unit_test(test_backward),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
