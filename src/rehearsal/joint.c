/* joint.c - see joint.h. */
#include "rehearsal/joint.h"

#include "rehearsal/chance.h"

#include <math.h>
#include <string.h>

/* Torque that a wrench shows without this much turn has moved nothing: a wrench's angle is no
 * better than that. */
static const double moved_deg = 0.5;

/* Drift makes no more of a turn back; who loosens turns farther. */
static const double backed_deg = 2.0;

/* A peak no higher than what set the fastener going says nothing of where it stopped; the recorded
 * one has its noise. */
static const double set_going_share = 1.02;

/* Four diameters of grip as in usual.c, a head and some thread; cut to a tenth of a millimetre: our
 * choice, no source. */
static const double new_diameters = 5.5;
static const double new_differs_mm = 0.1;

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
        uint64_t step; /* key of the last pull's step */
        int attempt;   /* of that pull; 0: never pulled */
        bool faulty;
    } place[];
};

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
        joint->place[i].fastener = bw_fastener_drawn(spec, bw_joint_key(joint, i));
    }
    *out = joint;
    return BW_OK;
}

uint64_t bw_joint_key(const bw_joint *joint, size_t fastener) {
    return bw_chance_key_number(joint->key, fastener);
}

const bw_joint_spec *bw_joint_spec_of(const bw_joint *joint) {
    return &joint->spec;
}

double bw_joint_new_mm(const bw_joint *joint, size_t fastener) {
    bw_chance chance = {bw_chance_key_text(bw_joint_key(joint, fastener), "length")};
    double d_mm = joint->spec.thread_d_mm;
    return new_diameters * d_mm + bw_chance_between(&chance, -new_differs_mm, new_differs_mm);
}

void bw_joint_fault(bw_joint *joint, size_t fastener, bw_fault_kind fault) {
    struct place *place = &joint->place[fastener];
    place->fastener = bw_fastener_faulty(&joint->spec, bw_joint_key(joint, fastener), fault);
    place->faulty = true;
}

static bw_fastener sound(const bw_joint *joint, size_t fastener) {
    return bw_fastener_drawn(&joint->spec, bw_joint_key(joint, fastener));
}

void bw_joint_mend(bw_joint *joint, size_t fastener) {
    struct place *place = &joint->place[fastener];
    if (place->faulty) {
        place->fastener = sound(joint, fastener);
        place->faulty = false;
    }
}

static uint64_t step_key(const char *step) {
    return bw_chance_key_text(0, step);
}

int bw_joint_attempt(const bw_joint *joint, size_t fastener, const char *step) {
    const struct place *place = &joint->place[fastener];
    return place->attempt > 0 && place->step == step_key(step) ? place->attempt : 1;
}

bw_fastener bw_joint_fastener(const bw_joint *joint, size_t fastener, const char *step,
                              int attempt) {
    const struct place *place = &joint->place[fastener];
    bw_fastener f = place->fastener;
    if (place->faulty && attempt > 1) {
        f = sound(joint, fastener);
    }
    if (place->attempt != attempt || place->step != step_key(step)) {
        f.closed_deg = -f.free_deg;
        f.bottomed_deg = 0;
        if (place->attempt > 0) {
            bw_fastener_reused(&f);
        }
    }
    return f;
}

void bw_joint_goes_on(bw_joint *joint, size_t fastener, const char *step, int attempt) {
    struct place *place = &joint->place[fastener];
    if (place->attempt > 0 && place->step != step_key(step)) {
        place->faulty = place->faulty && attempt == 1;
        place->step = step_key(step);
        place->attempt = attempt;
    }
}

/* Elastic interaction: the neighbours lose in proportion to what this one won. */
static void share_with_neighbours(bw_joint *joint, size_t fastener, double won_N) {
    for (size_t i = 0; i < joint->n; i++) {
        bw_fastener *f = &joint->place[i].fastener;
        double preload_N = bw_fastener_preload_N(f);
        if (i == fastener || preload_N <= 0) {
            continue;
        }
        double share = joint->spec.neighbour_share *
                       pow(farther_share, times_nearest(joint, i, fastener) - 1);
        bw_fastener_settle(f, fmax(0, preload_N - share * won_N));
    }
}

/* What the hand leaves, and what is left of it a moment later. */
static void move(bw_fastener *f, const bw_joint_pull *pull) {
    bool only_set_going = pull->peak_Nm <= set_going_share * bw_fastener_breakaway_Nm(f);
    if (pull->turn_deg < 0) {
        bw_fastener_back(f, -pull->turn_deg);
    } else if (only_set_going && isfinite(pull->turn_deg)) {
        bw_fastener_turn(f, pull->turn_deg);
    } else {
        bw_fastener_stand(f, pull->peak_Nm);
    }
    bw_fastener_relax(f);
}

void bw_joint_pulled(bw_joint *joint, const bw_joint_pull *pull) {
    if (pull->fastener >= joint->n) {
        return;
    }
    struct place *place = &joint->place[pull->fastener];
    place->fastener = bw_joint_fastener(joint, pull->fastener, pull->step, pull->attempt);
    place->faulty = place->faulty && pull->attempt == 1;
    place->step = step_key(pull->step);
    place->attempt = pull->attempt;
    bool stays = pull->turn_deg < moved_deg && pull->turn_deg > -backed_deg;
    if (stays) {
        return;
    }
    double before_N = bw_fastener_preload_N(&place->fastener);
    move(&place->fastener, pull);
    double won_N = bw_fastener_preload_N(&place->fastener) - before_N;
    if (won_N != 0) {
        share_with_neighbours(joint, pull->fastener, won_N);
    }
}
