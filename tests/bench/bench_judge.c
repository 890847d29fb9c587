/* bench_judge.c - what the judge costs a sample, and what it says of many simulated fasteners: a
 * confusion table over all faults and kinds of stages.
 *
 *     bench_judge [FASTENERS [SEED [FAULT SITUATION]]]
 *
 * Prints figures and checks none.  A group is twelve fasteners of one joint, pulled with one wrench
 * in one kind of stage; the first five are sound, so that siblings are there to compare with, then
 * each has its own fault.  What is right to say follows from what was true of the fastener
 * (bench_expect.c).  With a fault and a situation each one judged wrongly is listed. */
#include "bench_expect.h"

#include "judge/judge.h"
#include "trade/statistics.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { ROOM = 250000, GROUP = 12, SOUND = 5, PULLS_MOST = 8, TURNS_MOST = 100000 };

static bw_sample trace[ROOM];

typedef struct cell {
    size_t n, outcome[BW_VERDICT_COUNT];
    size_t wrong_accept, false_alarm, edge;
    size_t faulty, good; /* what the two are shares of */
} cell;

/* By how much the judge is wrong about turns. */
typedef struct turns {
    size_t n;
    double error_deg[TURNS_MOST];
} turns;

typedef struct tally {
    cell cell[BW_FAULT_KIND_COUNT][SITUATIONS];
    double seconds;
    size_t samples, fasteners;
    turns slow, quick;    /* wrenches below 50 Hz, and from there */
    bw_fault_kind listed; /* BW_FAULT_KIND_COUNT: none */
    situation listed_in;
} tally;

static double now_s(void) {
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now); /* others may be at work beside it */
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* ---- one fastener ---- */

/* The slopes of those of the group that were accepted. */
typedef struct group {
    world world;
    double slope[GROUP];
    size_t slopes;
} group;

static bw_siblings siblings_of(const group *g) {
    double scratch[GROUP];
    bw_siblings s = {.n = g->slopes};
    if (s.n > 0 && bw_median_of(g->slope, g->slopes, scratch, &s.median_Nm_per_deg,
                                &s.mad_Nm_per_deg, NULL) != BW_OK) {
        s.n = 0;
    }
    return s;
}

static bw_verdict judged(const bw_stage *stage, const bw_standing *standing, size_t n,
                         const bw_truth *truth, tally *t) {
    bw_judge judge;
    bw_terms terms = {0};
    if (truth->has_result) {
        return bw_judge_result(stage, standing, &terms, truth->result_Nm, true, truth->result_deg);
    }
    double begun_s = now_s();
    bw_judge_begin(&judge, stage, standing, &terms);
    for (size_t i = 0; i < n; i++) {
        (void)bw_judge_sample(&judge, &trace[i]);
    }
    bw_verdict verdict = bw_judge_end(&judge, truth->whole);
    t->seconds += now_s() - begun_s;
    t->samples += n;
    return verdict;
}

/* The gauge behind a pull, and the builder's eye. */
static bw_verdict looked_at(const world *w, const bw_stage *stage, const whole_truth *truth,
                            uint64_t seed, const bw_verdict *pull) {
    bw_chance chance = {bw_chance_key_text(seed, "gauge")};
    bw_seen seen = {.before_mm = 50 + w->gauge_mm * bw_chance_normal(&chance),
                    .slot_meets = truth->last.slot_meets};
    seen.after_mm = 50 + truth->growth_mm + w->gauge_mm * bw_chance_normal(&chance);
    return bw_judge_seen(stage, pull, &seen);
}

static void add_pull(whole_truth *all, const bw_truth *t, double new_mm, const bw_stage *stage) {
    bool first_counts = stage->kind != BW_STAGE_SLOT;
    double lost_before_deg = all->peak_Nm > 0 ? all->last.fastener.lost_deg : 0;
    all->counted_deg += first_counts ? t->counted_deg : 0;
    all->growth_mm = t->growth_mm - new_mm;
    all->began_Nm = all->peak_Nm > 0 ? all->began_Nm : t->first_move_Nm;
    all->lost_deg += fmax(0, t->fastener.lost_deg - lost_before_deg);
    all->yield_Nm = t->yielded && !all->yielded ? t->yield_Nm : all->yield_Nm;
    all->yielded = all->yielded || t->yielded;
    all->peak_Nm = fmax(all->peak_Nm, t->peak_Nm);
    all->last = *t;
}

/* Where the torque is gone in the end, as on one that came loose or stripped, no wrench tells how
 * far it was turned from there. */
static bool ends_loaded(const bw_stage *stage, const whole_truth *truth) {
    const bw_fastener *f = &truth->last.fastener;
    return stage->kind == BW_STAGE_BACK_OFF ? bw_fastener_loosening_Nm(f) > 0.2 * truth->peak_Nm
                                            : bw_fastener_turning_Nm(f) > 1.2 * stage->snug_Nm;
}

static void note_turn(const bw_trial *trial, const bw_verdict *v, const whole_truth *truth,
                      tally *t) {
    const bw_stage *stage = &trial->stage;
    bool counts = stage->kind == BW_STAGE_TORQUE_ANGLE || stage->kind == BW_STAGE_ANGLE ||
                  (stage->kind == BW_STAGE_BACK_OFF && !stage->until_loose);
    turns *at = trial->wrench.rate_Hz < 50 ? &t->slow : &t->quick;
    counts = counts && trial->fault != BW_FAULT_NOISE;
    if (counts && v->has_turn && truth->last.whole && !truth->last.has_result &&
        ends_loaded(stage, truth) && at->n < TURNS_MOST) {
        at->error_deg[at->n++] = fabs(v->turn_deg - truth->counted_deg);
    }
}

static void next_pull(bw_trial *trial, bw_standing *standing, const bw_verdict *v,
                      const bw_truth *truth) {
    standing->turn_deg = v->turn_deg;
    standing->turn_known = v->has_turn;
    standing->snug_reached = v->snug_reached;
    standing->peak_Nm = v->peak_Nm;
    standing->pulls = v->pulls;
    standing->judged_Nm = v->judged_Nm;
    standing->slope_Nm_per_deg = fmax(standing->slope_Nm_per_deg, v->slope_Nm_per_deg);
    trial->before = (bw_trial_before){.pulls = v->pulls,
                                      .turn_deg = v->turn_deg,
                                      .snug_reached = v->snug_reached,
                                      .fastener = truth->fastener};
}

/* The stage as it is for this fastener, whose prevailing torque was measured before. */
static bw_stage stage_for(const world *w, const bw_trial *trial) {
    bw_fastener f = bw_fastener_faulty(&trial->joint, bw_chance_key_number(trial->seed, 0),
                                       trial->fault);
    return bw_stage_for(&w->trial.stage, f.prevailing_Nm);
}

/* What the judge saw of it in the stage before, where a pass only repeats that one. */
static double slope_before(const bw_trial *trial, tally *t) {
    bw_trial before = *trial;
    bw_standing loose = {0};
    bw_truth truth;
    size_t n = 0;
    before.fault = BW_FAULT_NONE;
    before.stage.target_Nm = trial->stands_Nm;
    before.stands_Nm = 0;
    if (!bw_trial_run(&before, trace, ROOM, &n, &truth)) {
        return 0;
    }
    return judged(&before.stage, &loose, n, &truth, t).slope_Nm_per_deg;
}

/* What a hand does wrong once, or what ends the pull, is judged by that pull; all else by all pulls
 * that it takes. */
static bool is_once(bw_fault_kind fault) {
    return fault == BW_FAULT_SHORT || fault == BW_FAULT_OVER || fault == BW_FAULT_REHIT ||
           fault == BW_FAULT_WRONG || fault == BW_FAULT_OVERCREPT || fault == BW_FAULT_UNPLUG ||
           fault == BW_FAULT_BATTERY;
}

static bw_verdict one(const group *g, bw_trial *trial, whole_truth *all, tally *t) {
    bw_standing standing = {.torque_Nm = g->world.standing_Nm, .siblings = siblings_of(g)};
    bool once = is_once(trial->fault);
    bw_verdict v = {.more = true};
    double new_mm = 0;
    trial->stage = stage_for(&g->world, trial);
    standing.joint_Nm_per_deg = g->world.is == TORQUE_AGAIN ? slope_before(trial, t) : 0;
    for (unsigned i = 0; i < PULLS_MOST && v.more && !(once && i > 0); i++) {
        bw_truth truth;
        size_t n = 0;
        if (!bw_trial_run(trial, trace, ROOM, &n, &truth)) {
            (void)fprintf(stderr, "bench_judge: seed %" PRIu64 " does not end\n", trial->seed);
        }
        new_mm = i == 0 ? truth.before_mm : new_mm;
        if (trial->stage.kind == BW_STAGE_CREEP) {
            all->counted_deg = 0;
        }
        add_pull(all, &truth, new_mm, &trial->stage);
        v = judged(&trial->stage, &standing, n, &truth, t);
        v = looked_at(&g->world, &trial->stage, all, trial->seed + i, &v);
        next_pull(trial, &standing, &v, &truth);
    }
    note_turn(trial, &v, all, t);
    return v;
}

/* ---- right or wrong ---- */

/* One that nobody asked for may be turned away, however good it is. */
static truth_is should(const group *g, const bw_trial *trial, const whole_truth *all) {
    shows how = how_it_shows(trial->fault, g->world.is);
    truth_is numbers = true_numbers(&g->world, &trial->stage, all);
    bool siblings = siblings_of(g).n >= BW_SIBLINGS_LEAST;
    bool open = how == SHOWS_SAFE || how == SHOWS_SIBLINGS || how == SHOWS_LATE ||
                how == SHOWS_NOTHING || (how == SHOWS_YIELDED && all->yielded) ||
                (how == SHOWS_KNOCK && !is_knock_plain(&g->world, all)) || !all->last.asked;
    if (is_plain(how, &g->world, all, siblings)) {
        return TRUE_BAD;
    }
    return open && numbers == TRUE_GOOD ? TRUE_EDGE : numbers;
}

static void list(const group *g, const bw_trial *trial, const whole_truth *all,
                 const bw_verdict *v) {
    char reasons[400];
    const bw_stage *s = &trial->stage;
    (void)printf("seed %" PRIu64 " M%.0f %.0f Hz noise %.3f windup %.3f style? %s [%s] pulls %u "
                 "slope %.3f of %.3f mad %.3f\n",
                 trial->seed, trial->joint.thread_d_mm, trial->wrench.rate_Hz,
                 trial->wrench.noise_Nm, trial->wrench.windup_deg_per_Nm,
                 bw_outcome_word(v->outcome), bw_reasons_text(v->reasons, reasons, sizeof reasons),
                 v->pulls, v->slope_Nm_per_deg, siblings_of(g).median_Nm_per_deg,
                 siblings_of(g).mad_Nm_per_deg);
    (void)printf("    limits %.3f..%.3f N.m %.1f..%.1f deg %.4f..%.4f mm snug %.2f stands %.2f\n",
                 s->low_Nm, s->high_Nm, s->low_deg, s->high_deg, s->low_mm, s->high_mm, s->snug_Nm,
                 trial->stands_Nm);
    (void)printf("    true peak %.3f turn %.2f first %.3f mean %.3f yield %.3f (%d) grown %.4f; "
                 "judged %.3f (%d) turn %.2f stretch %.4f\n",
                 all->peak_Nm, all->counted_deg, all->began_Nm, all->last.mean_Nm, all->yield_Nm,
                 all->yielded, all->growth_mm, v->judged_Nm, v->has_judged, v->turn_deg,
                 v->stretch_mm);
}

static void count(const group *g, const bw_trial *trial, const whole_truth *all,
                  const bw_verdict *v, tally *t) {
    cell *c = &t->cell[trial->fault][g->world.is];
    truth_is truth = should(g, trial, all);
    bool pass = v->outcome == BW_VERDICT_PASS;
    bool unseen = how_it_shows(trial->fault, g->world.is) == SHOWS_NOTHING;
    bool accepted = truth == TRUE_BAD && pass && !unseen;
    bool alarm = truth == TRUE_GOOD && !pass;
    c->n++;
    c->outcome[v->outcome]++;
    c->edge += truth == TRUE_EDGE ? 1 : 0;
    c->faulty += truth == TRUE_BAD && !unseen ? 1 : 0;
    c->good += truth == TRUE_GOOD ? 1 : 0;
    c->wrong_accept += accepted ? 1 : 0;
    c->false_alarm += alarm ? 1 : 0;
    t->fasteners++;
    if ((accepted || alarm) && t->listed == trial->fault && t->listed_in == g->world.is) {
        list(g, trial, all, v);
    }
}

static void run_group(uint64_t seed, situation is, size_t from_fault, tally *t) {
    group g = {.world = world_of(seed, is)};
    size_t fault = from_fault;
    for (uint64_t i = 0; i < GROUP; i++) {
        bw_trial trial = g.world.trial;
        whole_truth all = {0};
        trial.seed = seed * GROUP + i;
        if (i >= SOUND) {
            do {
                fault = (fault + 1) % BW_FAULT_KIND_COUNT;
            } while (how_it_shows((bw_fault_kind)fault, is) == SHOWS_NOT_MADE);
            trial.fault = (bw_fault_kind)fault;
        }
        bw_verdict v = one(&g, &trial, &all, t);
        count(&g, &trial, &all, &v, t);
        if (v.outcome == BW_VERDICT_PASS && v.slope_Nm_per_deg > 0) {
            g.slope[g.slopes++] = v.slope_Nm_per_deg;
        }
    }
}

/* ---- print ---- */

static void print_row(const char *fault, const char *is, const cell *c, const char *why) {
    (void)printf("%-9s  %-15s %6zu %6zu %6zu %6zu %6zu   %6zu %6zu   %6zu %6zu  %6zu%s%s\n", fault,
                 is, c->n, c->outcome[BW_VERDICT_PASS], c->outcome[BW_VERDICT_LOW],
                 c->outcome[BW_VERDICT_HIGH], c->outcome[BW_VERDICT_SUSPECT], c->faulty,
                 c->wrong_accept, c->good, c->false_alarm, c->edge,
                 why == NULL ? "" : "  unseen: ", why == NULL ? "" : why);
}

static void sum_up(cell *sum, const cell *c) {
    sum->n += c->n;
    for (int k = 0; k < BW_VERDICT_COUNT; k++) {
        sum->outcome[k] += c->outcome[k];
    }
    sum->faulty += c->faulty;
    sum->wrong_accept += c->wrong_accept;
    sum->good += c->good;
    sum->false_alarm += c->false_alarm;
    sum->edge += c->edge;
}

static void print_table(const tally *t) {
    cell sum = {0};
    (void)printf("%-9s  %-15s %6s %6s %6s %6s %6s   %6s %6s   %6s %6s  %6s\n", "fault", "stage",
                 "n", "pass", "low", "high", "susp.", "faulty", "passed", "good", "alarm", "open");
    for (size_t fault = 0; fault < BW_FAULT_KIND_COUNT; fault++) {
        const char *word = bw_fault_word((bw_fault_kind)fault);
        for (size_t is = 0; is < SITUATIONS; is++) {
            const cell *c = &t->cell[fault][is];
            if (c->n > 0) {
                print_row(word == NULL ? "none" : word, situation_name((situation)is), c,
                          why_unseen((bw_fault_kind)fault, (situation)is));
                sum_up(&sum, c);
            }
        }
    }
    print_row("all", "", &sum, NULL);
    (void)printf("wrong accept %.3f %% of %zu faulty, false alarm %.3f %% of %zu good\n",
                 100 * (double)sum.wrong_accept / (double)sum.faulty, sum.faulty,
                 100 * (double)sum.false_alarm / (double)sum.good, sum.good);
}

static int by_size(const void *a, const void *b) {
    double x = *(const double *)a;
    double y = *(const double *)b;
    return x < y ? -1 : x > y ? 1 : 0;
}

static void print_turns(turns *t, const char *which) {
    if (t->n == 0) {
        return;
    }
    qsort(t->error_deg, t->n, sizeof t->error_deg[0], by_size);
    (void)printf("turn of the joint, %zu fasteners, %s: error 50 %% within %.3f, 99 %% within "
                 "%.3f, 99.9 %% within %.3f, most %.3f degree\n",
                 t->n, which, t->error_deg[t->n / 2], t->error_deg[t->n * 99 / 100],
                 t->error_deg[t->n * 999 / 1000], t->error_deg[t->n - 1]);
}

/* ---- the same in short ---- */

static void print_share(bw_fault_kind fault, situation is, const cell *c, bool accepts) {
    char text[24];
    size_t of = accepts ? c->faulty : c->good;
    size_t wrong = accepts ? c->wrong_accept : c->false_alarm;
    shows how = how_it_shows(fault, is);
    if (how == SHOWS_NOT_MADE || of == 0) {
        (void)snprintf(text, sizeof text, "%s",
                       how == SHOWS_NOT_MADE             ? "."
                       : how == SHOWS_NOTHING && accepts ? "unseen"
                                                         : "-");
    } else {
        (void)snprintf(text, sizeof text, "%zu/%zu", wrong, of);
    }
    (void)printf(" %8s", text);
}

static void print_matrix(const tally *t, bool accepts) {
    (void)printf(
        "%s\n%-9s",
        accepts ? "passed of those that must not pass" : "turned away of those that are good", "");
    for (size_t is = 0; is < SITUATIONS; is++) {
        (void)printf(" %8.8s", situation_name((situation)is));
    }
    (void)printf("\n");
    for (size_t fault = 0; fault < BW_FAULT_KIND_COUNT; fault++) {
        const char *word = bw_fault_word((bw_fault_kind)fault);
        (void)printf("%-9s", word == NULL ? "none" : word);
        for (size_t is = 0; is < SITUATIONS; is++) {
            print_share((bw_fault_kind)fault, (situation)is, &t->cell[fault][is], accepts);
        }
        (void)printf("\n");
    }
    (void)printf("\n");
}

static void choose_list(tally *t, const char *fault, const char *is) {
    for (int k = 0; k < BW_FAULT_KIND_COUNT; k++) {
        const char *word = bw_fault_word((bw_fault_kind)k);
        if (strcmp(word == NULL ? "none" : word, fault) == 0) {
            t->listed = (bw_fault_kind)k;
        }
    }
    for (int k = 0; k < SITUATIONS; k++) {
        if (strcmp(situation_name((situation)k), is) == 0) {
            t->listed_in = (situation)k;
        }
    }
}

int main(int argc, char **argv) {
    static tally t = {.listed = BW_FAULT_KIND_COUNT};
    uint64_t fasteners = argc > 1 ? strtoull(argv[1], NULL, 10) : 24000;
    uint64_t seed = argc > 2 ? strtoull(argv[2], NULL, 10) : 1;
    bool listing = argc > 4;
    if (listing) {
        choose_list(&t, argv[3], argv[4]);
    }
    for (uint64_t i = 0; i * GROUP < fasteners; i++) {
        situation is = listing ? t.listed_in : (situation)(i % SITUATIONS);
        size_t from = (size_t)(i / (listing ? 1 : SITUATIONS)) * (GROUP - SOUND);
        run_group(seed + i, is, from % BW_FAULT_KIND_COUNT, &t);
    }
    if (!listing) {
        print_matrix(&t, true);
        print_matrix(&t, false);
        print_table(&t);
    }
    print_turns(&t.slow, "below 50 Hz");
    print_turns(&t.quick, "from 50 Hz");
    (void)printf("%zu fasteners, seeds from %" PRIu64 ", %zu samples, %.1f ns each, verdict "
                 "included; %zu bytes a judge\n",
                 t.fasteners, seed, t.samples, 1e9 * t.seconds / (double)t.samples,
                 sizeof(bw_judge));
    return 0;
}
