/* session_open.c - a new session, and what is still open in one. */
#include "session/session_int.h"

#include <string.h>

/* ---- making a session ---- */

static bool make_step_state(const bw_plan *plan, const bw_step *step, bw_step_state *state,
                            bw_arena *arena) {
    state->set_first = bw_arena_alloc(arena, step->set_n, sizeof *state->set_first);
    if (state->set_first == NULL) {
        return false;
    }
    for (size_t i = 0; i < step->set_n; i++) {
        state->set_first[i] = state->reading_n;
        state->reading_n += step->set[i].at_n * bw_set_repeats(&step->set[i]);
    }
    size_t place_n = step->kind == BW_STEP_TIGHTEN ? plan->group[step->group].place_n : 0;
    state->reading = bw_arena_alloc(arena, state->reading_n, sizeof *state->reading);
    state->derived = bw_arena_alloc(arena, step->derived_n, sizeof *state->derived);
    state->progress = bw_arena_alloc(arena, place_n, sizeof *state->progress);
    state->fastener = bw_arena_alloc(arena, place_n, sizeof *state->fastener);
    state->fitted = bw_arena_alloc(arena, step->to_n, sizeof *state->fitted);
    if (state->reading == NULL || state->derived == NULL || state->progress == NULL ||
        state->fastener == NULL || state->fitted == NULL) {
        return false;
    }
    for (size_t i = 0; i < place_n; i++) {
        state->progress[i].attempt = 1;
        state->fastener[i].left = bw_arena_alloc(arena, step->stage_n,
                                                 sizeof *state->fastener[i].left);
        if (state->fastener[i].left == NULL) {
            return false;
        }
    }
    return true;
}

static bool make_cycles(bw_session *s, bw_arena *arena) {
    const bw_plan *plan = s->plan;
    s->cycles = bw_arena_alloc(arena, plan->group_n, sizeof *s->cycles);
    for (size_t i = 0; s->cycles != NULL && i < plan->group_n; i++) {
        s->cycles[i] = bw_arena_alloc(arena, plan->group[i].place_n, sizeof **s->cycles);
        if (s->cycles[i] == NULL) {
            return false;
        }
    }
    return s->cycles != NULL;
}

bw_session *bw_session_new(const bw_plan *plan, const bw_session_identity *identity,
                           bw_arena *arena) {
    bw_session *s = bw_arena_alloc(arena, 1, sizeof *s);
    if (s == NULL) {
        return NULL;
    }
    s->plan = plan;
    s->build = bw_arena_text(arena, identity->build);
    s->bench = bw_arena_text(arena, identity->bench);
    s->rehearsal = identity->rehearsal;
    s->step = bw_arena_alloc(arena, plan->step_n, sizeof *s->step);
    if (s->build == NULL || s->bench == NULL || s->step == NULL || !make_cycles(s, arena)) {
        return NULL;
    }
    for (size_t i = 0; i < plan->step_n; i++) {
        const bw_step *step = &plan->step[i];
        if (!make_step_state(plan, step, &s->step[i], arena)) {
            return NULL;
        }
        if (step->kind == BW_STEP_TIGHTEN) {
            s->tally.fasteners += plan->group[step->group].place_n * step->stage_n;
        }
    }
    s->active = bw_session_pick(s);
    bw_session_ask(s);
    return s;
}

/* ---- what is open ---- */

bool bw_session_next_spot(const bw_session *s, size_t step, bw_spot *out) {
    const bw_step *st = &s->plan->step[step];
    const bw_group *group = &s->plan->group[st->group];
    const size_t *order = bw_step_order(s->plan, st);
    for (size_t stage = 0; stage < st->stage_n; stage++) {
        for (size_t k = 0; k < group->place_n; k++) {
            size_t place = order[k];
            if (s->step[step].progress[place].stages_done == stage) {
                *out = (bw_spot){.step = step, .place = place, .stage = stage};
                return true;
            }
        }
    }
    return false;
}

/* Before the first pull of an attempt, whichever stage will stretch it: later it is free no more.
 */
bool bw_session_wants_free_length(const bw_session *s, bw_spot *out) {
    const bw_step *step = bw_session_active_step(s);
    return step != NULL && step->kind == BW_STEP_TIGHTEN && bw_step_stretches(step) &&
           bw_session_next_spot(s, s->active, out) && bw_fastener_at(s, out)->free_mm <= 0;
}

bool bw_session_next_reading(const bw_session *s, size_t step, size_t *set, size_t *at,
                             size_t *number) {
    const bw_step *st = &s->plan->step[step];
    const bw_step_state *state = &s->step[step];
    for (size_t i = 0; i < st->set_n; i++) {
        size_t repeats = bw_set_repeats(&st->set[i]);
        for (size_t k = 0; k < st->set[i].at_n * repeats; k++) {
            if (!state->reading[state->set_first[i] + k].given) {
                *set = i;
                *at = k / repeats;
                *number = state->set_first[i] + k + 1;
                return true;
            }
        }
    }
    return false;
}

size_t bw_session_readings_missing(const bw_session *s, size_t step) {
    size_t missing = 0;
    for (size_t i = 0; i < s->step[step].reading_n; i++) {
        missing += s->step[step].reading[i].given ? 0 : 1;
    }
    return missing;
}

/* Nothing is decided while a reading is missing: it may be the one that was taken back. */
bool bw_session_open_value(const bw_session *s, size_t step, size_t *derived) {
    if (bw_session_readings_missing(s, step) > 0) {
        return false;
    }
    for (size_t i = 0; i < s->plan->step[step].derived_n; i++) {
        if (s->step[step].derived[i].state == BW_VALUE_OUTSIDE) {
            *derived = i;
            return true;
        }
    }
    return false;
}

bool bw_session_refuses_tool(const bw_session *s) {
    const bw_stage *stage = bw_session_stage(s);
    bool typed = strcmp(s->tool_port, "hand") == 0 || strcmp(s->tool_port, "keys") == 0;
    return typed && stage != NULL && stage->needs_trace;
}

bool bw_session_wants_witness(const bw_session *s, size_t step) {
    bw_spot spot;
    const bw_step *st = &s->plan->step[step];
    return st->kind == BW_STEP_TIGHTEN && s->plan->group[st->group].joint_class == 'A' &&
           !st->trial && bw_step_tightens(st) && !s->step[step].skipped &&
           !s->step[step].witnessed && !bw_session_next_spot(s, step, &spot);
}

static bool values_settled(const bw_session *s, size_t step) {
    for (size_t i = 0; i < s->plan->step[step].derived_n; i++) {
        bw_value_state state = s->step[step].derived[i].state;
        if (state != BW_VALUE_FINE && state != BW_VALUE_OVERRIDDEN) {
            return false;
        }
    }
    return true;
}

void bw_session_settle(bw_session *s, size_t step) {
    size_t set = 0;
    size_t at = 0;
    size_t number = 0;
    bw_spot spot;
    if (s->step[step].skipped) {
        return;
    }
    switch (s->plan->step[step].kind) {
    case BW_STEP_MEASURE:
        s->step[step].done = !bw_session_next_reading(s, step, &set, &at, &number) &&
                             values_settled(s, step);
        break;
    case BW_STEP_TIGHTEN:
        s->step[step].witnessed = s->step[step].witnessed && !bw_session_next_spot(s, step, &spot);
        s->step[step].done = !bw_session_next_spot(s, step, &spot) &&
                             !bw_session_wants_witness(s, step);
        break;
    case BW_STEP_FIT:
        s->step[step].done = !bw_session_next_fit(s, step, &at);
        break;
    case BW_STEP_CAUTION:
    case BW_STEP_CONFIRM:
    case BW_STEP_NOTE:
    case BW_STEP_ASK:
    case BW_STEP_WAIT:
    case BW_STEP_CHOOSE:
    case BW_STEP_KIND_COUNT:
        break;
    }
}

static bool may_begin(const bw_session *s, size_t step) {
    const bw_step *st = &s->plan->step[step];
    for (size_t i = 0; i < st->after_n; i++) {
        if (!s->step[st->after[i]].done) {
            return false;
        }
    }
    return true;
}

bool bw_session_other_step(const bw_session *s) {
    for (size_t i = 0; i < s->plan->step_n; i++) {
        if (i != s->active && !s->step[i].done && may_begin(s, i)) {
            return true;
        }
    }
    return false;
}

/* The step in hand: the first open one whose prerequisites are done and that was not put off;
 * where there is none, the one that was put off first. */
size_t bw_session_pick(const bw_session *s) {
    size_t best = s->plan->step_n;
    for (size_t i = 0; i < s->plan->step_n; i++) {
        if (s->step[i].done || !may_begin(s, i)) {
            continue;
        }
        if (s->step[i].put_off == 0) {
            return i;
        }
        if (best == s->plan->step_n || s->step[i].put_off < s->step[best].put_off) {
            best = i;
        }
    }
    return best;
}
