/* pulled.c - see pulled.h. */
#include "face/display/pulled.h"

#include "base/text.h"
#include "face/members.h"
#include "face/pen.h"

#include <math.h>
#include <string.h>

enum { KNOTS = 120, SCRATCH_BYTES = 128 << 20 };

/* ---- what was pulled ---- */

static void forget(bw_pulled *p, size_t i) {
    json_decref(p->place[i].curve);
    p->n--;
    memmove(&p->place[i], &p->place[i + 1], (p->n - i) * sizeof p->place[0]);
}

void bw_pulled_free(bw_pulled *p) {
    while (p->n > 0) {
        forget(p, p->n - 1);
    }
}

static bw_pulled_place *find(bw_pulled *p, int64_t fastener) {
    for (size_t i = 0; i < p->n; i++) {
        if (p->place[i].fastener == fastener) {
            return &p->place[i];
        }
    }
    return NULL;
}

static bool is_here(const bw_pulled *p, const bw_entry *e) {
    return p->stage == bw_entry_whole(e, BW_M_STAGE, 0) &&
           strcmp(p->step, bw_entry_text(e, BW_M_STEP, "")) == 0;
}

static void go_to(bw_pulled *p, const bw_entry *e) {
    if (!is_here(p, e)) {
        bw_pulled_free(p);
        p->stage = bw_entry_whole(e, BW_M_STAGE, 0);
        (void)bw_text_copy(p->step, sizeof p->step, bw_entry_text(e, BW_M_STEP, ""));
    }
}

/* The place of a pull, empty where it begins a new attempt. */
static bw_pulled_place *begin(bw_pulled *p, const bw_entry *e) {
    int64_t fastener = bw_entry_whole(e, BW_M_FASTENER, 0);
    int64_t attempt = bw_entry_whole(e, BW_M_ATTEMPT, 0);
    bw_pulled_place *place = find(p, fastener);
    if (place != NULL && place->attempt != attempt) {
        forget(p, (size_t)(place - p->place));
        place = NULL;
    }
    if (place == NULL) {
        if (p->n == BW_PULLED_PLACES) {
            forget(p, 0);
        }
        place = &p->place[p->n++];
        *place = (bw_pulled_place){.fastener = fastener, .attempt = attempt, .final_deg = NAN};
    }
    json_decref(place->curve);
    place->curve = NULL;
    return place;
}

static void note_pull(bw_pulled *p, const bw_entry *e) {
    const char *hash = bw_entry_text(e, BW_M_TRACE, "");
    go_to(p, e);
    bw_pulled_place *place = begin(p, e);
    if (place->stroke_n == BW_PULLED_STROKES) {
        place->stroke_n--;
        memmove(place->stroke[0], place->stroke[1], place->stroke_n * sizeof place->stroke[0]);
    }
    if (hash[0] != '\0' && bw_text_copy(place->stroke[place->stroke_n], BW_PULLED_HASH_MAX, hash)) {
        place->stroke_n++;
    }
}

static void note_verdict(bw_pulled *p, const bw_entry *e) {
    bw_pulled_place *place = is_here(p, e) ? find(p, bw_entry_whole(e, BW_M_FASTENER, 0)) : NULL;
    if (place != NULL) {
        place->judged = true;
        place->odd = strcmp(bw_entry_text(e, BW_M_VERDICT, ""), "pass") != 0;
        place->final_deg = bw_entry_number(e, BW_M_FINAL_DEG, NAN);
        json_decref(place->curve); /* it may end elsewhere now */
        place->curve = NULL;
    }
}

void bw_pulled_entry(bw_pulled *p, const bw_entry *e) {
    if (e->kind == BW_KIND_PULL && bw_entry_whole(e, BW_M_FASTENER, 0) > 0) {
        note_pull(p, e);
    } else if (e->kind == BW_KIND_VERDICT) {
        note_verdict(p, e);
    } else if (e->kind == BW_KIND_CORRECTION || e->kind == BW_KIND_STEP_REDONE) {
        bw_pulled_free(p); /* whose pull was whose, or whether it counts, is another question now */
    }
}

/* ---- curves ---- */

static void knot(void *ctx, double x, double torque_Nm) {
    json_t *point = isfinite(torque_Nm) ? json_array() : json_null();
    if (json_is_array(point)) {
        (void)json_array_append_new(point, json_real(x));
        (void)json_array_append_new(point, json_real(torque_Nm));
    }
    (void)json_array_append_new(ctx, point);
}

static void add_stroke(const bw_pulled *p, bw_pulled_place *place, bw_pen *pen, const char *hash) {
    const void *text = NULL;
    size_t len = 0;
    const bw_sample *sample = NULL;
    size_t n = 0;
    bw_arena *scratch = bw_arena_new(SCRATCH_BYTES);
    if (scratch != NULL && bw_store_blob(p->store, hash, scratch, &text, &len, NULL) == BW_OK &&
        bw_trace_read(text, len, scratch, &sample, &n, NULL) == BW_OK && n > 1) {
        place->by_time = pen->begun ? place->by_time : !bw_pen_has_angles(sample, n);
        pen->by_time = place->by_time;
        if (pen->by_time || bw_pen_has_angles(sample, n)) {
            bw_pen_pull(pen, sample, n);
        }
    }
    bw_arena_free(scratch);
}

/* It ends where the judge says that it ended: a trace has the wrench's wind-up in it. */
static void shift(json_t *curve, double by_deg) {
    for (size_t i = 0; i < json_array_size(curve); i++) {
        json_t *x = json_array_get(json_array_get(curve, i), 0);
        (void)json_real_set(x, json_real_value(x) + by_deg);
    }
}

/* -1 where the stage loosens: torque and turn are seen in a mirror, as the verdict has them. */
static double forward_of(const bw_pulled *p) {
    size_t step = 0;
    if (!bw_plan_find_step(p->plan, p->step, &step) || p->stage < 1 ||
        (uint64_t)p->stage > p->plan->step[step].stage_n) {
        return 1;
    }
    const bw_stage *stage = &p->plan->step[step].stage[p->stage - 1].stage;
    return bw_stage_traits_of(stage->kind)->loosens ? -1 : 1;
}

static json_t *curve_of(const bw_pulled *p, bw_pulled_place *place) {
    if (place->curve == NULL) {
        place->curve = json_array();
        bw_pen pen = {.forward = forward_of(p), .knots = KNOTS, .ctx = place->curve, .knot = knot};
        for (size_t i = 0; i < place->stroke_n && p->store != NULL; i++) {
            add_stroke(p, place, &pen, place->stroke[i]);
        }
        if (!place->by_time && isfinite(place->final_deg)) {
            shift(place->curve, place->final_deg - pen.turn);
        }
    }
    return place->curve;
}

void bw_pulled_set(bw_pulled *p, int64_t fastener, json_t *object) {
    bw_pulled_place *own = find(p, fastener);
    if (own == NULL || json_array_size(curve_of(p, own)) == 0) {
        return;
    }
    json_t *siblings = json_array();
    for (size_t i = 0; i < p->n; i++) {
        bw_pulled_place *one = &p->place[i];
        if (one == own || !one->judged || json_array_size(curve_of(p, one)) == 0 ||
            one->by_time != own->by_time) {
            continue;
        }
        json_t *sibling = json_object();
        bw_set_whole(sibling, "place", (size_t)one->fastener);
        bw_set_flag(sibling, "odd", one->odd);
        (void)json_object_set(sibling, "curve", one->curve);
        (void)json_array_append_new(siblings, sibling);
    }
    bw_set_flag(object, "has_turn", !own->by_time);
    (void)json_object_set(object, "curve", own->curve);
    (void)json_object_set_new(object, "siblings", siblings);
}
