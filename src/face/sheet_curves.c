/* sheet_curves.c - the traces of a group's fasteners in one stage, to be laid over each other.
 *
 * Where the turn is limited, each curve is moved along so that it ends at the turn that was judged:
 * then one window holds for all of them. */
#include "face/sheet_make.h"

#include "face/figures.h"
#include "face/pen.h"

#include <math.h>
#include <string.h>

enum { KNOTS_OF_PULL = 60, KNOTS_MAX = 480, SCRATCH_BYTES = 256 << 20 };

/* The curve of one place at work: the pulls of its newest attempt. */
typedef struct tracing {
    bw_making *m;
    int64_t attempt;
    size_t n, room;
    double *x, *y;
    bw_pen pen;
    double judged_deg; /* the turn by the newest verdict; not a number: not known */
    bool odd;
} tracing;

typedef struct work {
    bw_making *m;
    const bw_step *step;
    size_t stage;
    bool by_time;   /* the wrench gives no angle */
    double forward; /* 1; -1 where the stage loosens: all is seen in a mirror */
    tracing *place;
    size_t place_n;
} work;

static bool grow(tracing *t) {
    if (t->n < t->room) {
        return true;
    }
    size_t room = t->room == 0 ? KNOTS_OF_PULL + 4 : t->room * 2;
    double *x = room <= KNOTS_MAX ? bw_make_room(t->m, room, sizeof *x) : NULL;
    double *y = x != NULL ? bw_make_room(t->m, room, sizeof *y) : NULL;
    if (y == NULL) {
        return false;
    }
    if (t->n > 0) {
        memcpy(x, t->x, t->n * sizeof *x);
        memcpy(y, t->y, t->n * sizeof *y);
    }
    t->x = x;
    t->y = y;
    t->room = room;
    return true;
}

static void knot(void *ctx, double x, double torque_Nm) {
    tracing *t = ctx;
    if (grow(t)) {
        t->x[t->n] = x;
        t->y[t->n++] = bw_from_base(torque_Nm, t->m->plan->torque_unit);
    }
}

static void take_pull(work *w, const bw_entry *e, tracing *t, bool first) {
    const bw_sheet_proof *proof = w->m->proof;
    size_t len = 0;
    const char *text = proof->trace(proof->ctx, bw_entry_text(e, BW_M_TRACE, ""), &len);
    bw_arena *scratch = text != NULL ? bw_arena_new(SCRATCH_BYTES) : NULL;
    const bw_sample *sample = NULL;
    size_t n = 0;
    bool read = scratch != NULL && bw_trace_read(text, len, scratch, &sample, &n, NULL) == BW_OK &&
                n > 1;
    if (read) {
        bool angles = bw_pen_has_angles(sample, n);
        w->by_time = first ? !angles : w->by_time;
        if (angles || w->by_time) {
            t->pen.by_time = w->by_time;
            bw_pen_pull(&t->pen, sample, n);
        }
    }
    bw_arena_free(scratch);
}

static bool wanted(const work *w, const bw_entry *e) {
    return bw_entry_whole(e, BW_M_STAGE, 0) == (int64_t)w->stage + 1 &&
           strcmp(bw_entry_text(e, BW_M_STEP, ""), w->step->id) == 0 &&
           bw_entry_whole(e, BW_M_FASTENER, 0) >= 1 &&
           (uint64_t)bw_entry_whole(e, BW_M_FASTENER, 0) <= w->place_n;
}

static void begin_attempt(const work *w, tracing *t, int64_t attempt) {
    if (t->pen.knot == NULL || t->attempt != attempt) {
        t->attempt = attempt;
        t->n = 0;
        t->judged_deg = NAN;
        t->pen = (bw_pen){.forward = w->forward, .knots = KNOTS_OF_PULL, .ctx = t, .knot = knot};
    }
}

static void take_all(work *w) {
    bool first = true;
    for (size_t i = 0; i < w->place_n; i++) {
        w->place[i].m = w->m;
        w->place[i].judged_deg = NAN;
    }
    for (size_t i = 0; i < w->m->replay->entry_n; i++) {
        const bw_entry *e = &w->m->replay->entry[i];
        if (!wanted(w, e) || w->m->taken_back[i] != NULL) {
            continue;
        }
        tracing *t = &w->place[bw_entry_whole(e, BW_M_FASTENER, 1) - 1];
        if (e->kind == BW_KIND_PULL) {
            begin_attempt(w, t, bw_entry_whole(e, BW_M_ATTEMPT, 0));
            take_pull(w, e, t, first);
            first = false;
        } else if (e->kind == BW_KIND_VERDICT) {
            t->judged_deg = bw_entry_number(e, BW_M_FINAL_DEG, NAN);
            t->odd = strcmp(bw_entry_text(e, BW_M_VERDICT, ""), "pass") != 0 ||
                     bw_entry_has(e, BW_M_QUESTION);
        }
    }
}

/* ---- what is allowed ---- */

static bool limits_turn(const bw_stage *aim) {
    return isfinite(aim->low_deg) || isfinite(aim->high_deg) || aim->least_turn_deg > 0;
}

/* What of a curve is held against the window. */
static const char *const held[BW_STAGE_KIND_COUNT] = {
    [BW_STAGE_TORQUE] = "the peak",       [BW_STAGE_TORQUE_ANGLE] = "the end",
    [BW_STAGE_ANGLE] = "the end",         [BW_STAGE_BACK_OFF] = "the end",
    [BW_STAGE_YIELD] = "the yield point", [BW_STAGE_STRETCH] = "the peak",
    [BW_STAGE_SLOT] = "the peak",         [BW_STAGE_CHECK] = "the first move",
    [BW_STAGE_PREVAILING] = "the mean",   [BW_STAGE_ROTATING] = "the mean",
    [BW_STAGE_CREEP] = "the mean",
};

/* Where each fastener has limits of its own, from its prevailing torque, they are not shown. */
static bw_sheet_window window_of(const work *w, const bw_stage *aim) {
    bw_sheet_window window = {-INFINITY, INFINITY, -INFINITY, INFINITY, held[aim->kind]};
    if (!aim->adds_prevailing) {
        window.low_y = bw_from_base(aim->low_Nm, w->m->plan->torque_unit);
        window.high_y = bw_from_base(aim->high_Nm, w->m->plan->torque_unit);
    } else {
        window.what = "the turn; of the torque, each its own";
    }
    if (!w->by_time) {
        double least = aim->least_turn_deg > 0 ? aim->least_turn_deg : -INFINITY;
        window.low_x = fmax(aim->low_deg, least);
        window.high_x = aim->high_deg;
    }
    return window;
}

static void make_room_for(bw_sheet_plot *plot, double x, double y) {
    plot->x_least = isfinite(x) ? fmin(plot->x_least, x) : plot->x_least;
    plot->x_most = isfinite(x) ? fmax(plot->x_most, x) : plot->x_most;
    plot->y_most = isfinite(y) ? fmax(plot->y_most, y) : plot->y_most;
}

/* ---- all of them ---- */

/* A turn that is not known has no place among the others. */
static void add_curve(work *w, bw_sheet_plot *plot, size_t place, bool moved) {
    tracing *t = &w->place[place];
    double by_deg = moved ? t->judged_deg - t->pen.turn : 0;
    bool drawn = t->n > 1 && isfinite(by_deg);
    bw_sheet_curve *curve = drawn ? bw_make_room(w->m, 1, sizeof *curve) : NULL;
    if (curve == NULL) {
        return;
    }
    *curve = (bw_sheet_curve){.n = t->n, .x = t->x, .y = t->y, .odd = t->odd, .next = plot->curve};
    curve->label = bw_make_said(w->m, "%zu", place + 1);
    plot->curve = curve;
    plot->curve_n++;
    for (size_t i = 0; i < t->n; i++) {
        t->x[i] += by_deg;
        make_room_for(plot, t->x[i], t->y[i]);
    }
}

static void add_words(const work *w, bw_sheet_plot *plot, size_t stage, bool moved) {
    bool loosens = w->forward < 0;
    plot->title = bw_make_said(w->m, "Stage %zu: %zu of %zu fasteners", stage + 1, plot->curve_n,
                               w->place_n);
    plot->x_name = w->by_time ? "time, s"
                   : loosens  ? "turn backward, °"
                   : moved    ? "turn as judged, °"
                              : "turn, °";
    plot->y_name = bw_make_said(w->m, "torque%s, %s", loosens ? " backward" : "",
                                bw_unit_of(w->m->plan->torque_unit)->symbol);
}

bw_sheet_plot *bw_make_plot(bw_making *m, const bw_step *step, size_t stage) {
    const bw_stage *aim = &step->stage[stage].stage;
    const bw_group *group = &m->plan->group[step->group];
    if (m->proof->trace == NULL) {
        return NULL;
    }
    work w = {.m = m,
              .step = step,
              .stage = stage,
              .forward = bw_stage_traits_of(aim->kind)->loosens ? -1 : 1,
              .place_n = group->place_n};
    w.place = bw_make_room(m, w.place_n, sizeof *w.place);
    bw_sheet_plot *plot = bw_make_room(m, 1, sizeof *plot);
    if (w.place == NULL || plot == NULL) {
        return NULL;
    }
    take_all(&w);
    bool moved = limits_turn(aim) && !w.by_time;
    for (size_t i = 0; i < w.place_n; i++) {
        add_curve(&w, plot, i, moved);
    }
    if (plot->curve == NULL || !(plot->x_most > 0) || !(plot->y_most > 0)) {
        return NULL;
    }
    plot->window = window_of(&w, aim);
    make_room_for(plot, plot->window.low_x, plot->window.low_y);
    make_room_for(plot, plot->window.high_x, plot->window.high_y);
    add_words(&w, plot, stage, moved);
    return plot;
}
