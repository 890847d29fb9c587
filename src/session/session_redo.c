/* session_redo.c - a step that was begun is done anew, and with it all that stands on it: what came
 * after it was done on something that is no longer so. */
#include "session/session_int.h"

#include "base/text.h"

#include <string.h>

/* ---- what stands on what ---- */

static bool stands_on(const bw_step *st, const bool *redone) {
    for (size_t i = 0; i < st->after_n; i++) {
        if (redone[st->after[i]]) {
            return true;
        }
    }
    return (st->has_when && redone[st->when]) || (st->goes_on && redone[st->before]) ||
           (st->has_as && redone[st->as]);
}

/* What goes on from another step's tightness has none left once it is loosened. */
void bw_session_redone(const bw_plan *plan, size_t step, bool *redone) {
    bool more = true;
    memset(redone, 0, plan->step_n * sizeof *redone);
    redone[step] = true;
    while (more) {
        more = false;
        for (size_t i = 0; i < plan->step_n; i++) {
            const bw_step *st = &plan->step[i];
            if (!redone[i] && stands_on(st, redone)) {
                redone[i] = true;
                more = true;
            }
            if (redone[i] && st->goes_on && !redone[st->before]) {
                redone[st->before] = true;
                more = true;
            }
        }
    }
}

bool bw_session_has_begun(const bw_session *s, size_t step) {
    const bw_step *st = &s->plan->step[step];
    const bw_step_state *state = &s->step[step];
    bool begun = (state->done && !state->skipped) || state->reuse_told;
    for (size_t i = 0; i < state->reading_n; i++) {
        begun = begun || state->reading[i].given;
    }
    for (size_t i = 0; i < st->to_n; i++) {
        begun = begun || state->fitted[i].entry != 0;
    }
    size_t place_n = st->kind == BW_STEP_TIGHTEN ? s->plan->group[st->group].place_n : 0;
    for (size_t i = 0; i < place_n; i++) {
        begun = begun || state->progress[i].stages_done > 0 ||
                state->fastener[i].standing.pulls > 0 || state->fastener[i].free_mm > 0;
    }
    return begun;
}

/* ---- entries to state ---- */

/* All that is known of the step falls; the record keeps it. */
static void step_anew(bw_session *s, size_t step) {
    const bw_step *st = &s->plan->step[step];
    bw_step_state *state = &s->step[step];
    if (st->kind == BW_STEP_TIGHTEN && !st->goes_on) { /* else it falls with what it goes on from */
        bw_tighten_step_anew(s, step);
        state->anew = true;
    } else if (st->kind != BW_STEP_TIGHTEN) {
        bw_measure_step_anew(s, step);
        state->done = false;
    }
    for (size_t i = 0; i < st->to_n; i++) {
        state->fitted[i] = (bw_fitted){0};
    }
    bw_tell_reuse_anew(s, step);
    state->witnessed = false;
    state->due_done = false;
    state->put_off = 0;
}

bool bw_apply_redone(bw_session *s, const bw_entry *e) {
    bool redone[BW_PLAN_STEPS_MAX];
    size_t step = 0;
    if (!bw_session_entry_step(s, e, &step)) {
        return false;
    }
    bw_session_redone(s->plan, step, redone);
    for (size_t i = 0; i < s->plan->step_n; i++) {
        redone[i] = redone[i] && bw_session_has_begun(s, i);
    }
    for (size_t i = 0; i < s->plan->step_n; i++) {
        if (redone[i]) {
            step_anew(s, i);
        }
    }
    s->position = NULL;
    bw_session_went_on(s);
    return true;
}

/* ---- the word ---- */

/* By its number or its id. */
static bool find_step(const bw_session *s, const char *name, size_t len, size_t *step) {
    char id[BW_PLAN_TEXT_MAX];
    if (len == 0 || len >= sizeof id) {
        return false;
    }
    memcpy(id, name, len);
    id[len] = '\0';
    size_t number = bw_count_of(id, s->plan->step_n);
    if (number > 0) {
        *step = number - 1;
        return true;
    }
    return bw_plan_find_step(s->plan, id, step);
}

enum { NAMED_MAX = 20 };

/* "step 4 (caps), and what stands on it: 5 (rods), 6 (turn)"; how many that are. */
static size_t name_steps(const bw_session *s, size_t step, const bool *redone, bw_text *text) {
    size_t n = 0;
    bw_text_add(text, "step %zu (%s)", step + 1, s->plan->step[step].id);
    for (size_t i = 0; i < s->plan->step_n; i++) {
        if (i == step || !redone[i]) {
            continue;
        }
        if (n < NAMED_MAX) {
            bw_text_add(text, "%s %zu (%s)", n == 0 ? ", and what stands on it:" : ",", i + 1,
                        s->plan->step[i].id);
        }
        n++;
    }
    if (n > NAMED_MAX) {
        bw_text_add(text, " and %zu more", n - NAMED_MAX);
    }
    return n;
}

static bool any_tightens(const bw_session *s, const bool *redone) {
    for (size_t i = 0; i < s->plan->step_n; i++) {
        if (redone[i] && s->plan->step[i].kind == BW_STEP_TIGHTEN) {
            return true;
        }
    }
    return false;
}

/* Where more than the step itself falls, or something is tight, the line has to be typed twice. */
static void redo(bw_session *s, const bw_event *ev, size_t step, const char *why, bw_actions *out) {
    bool redone[BW_PLAN_STEPS_MAX];
    bw_session_redone(s->plan, step, redone);
    for (size_t i = 0; i < s->plan->step_n; i++) {
        redone[i] = redone[i] && bw_session_has_begun(s, i);
    }
    char steps[BW_SAY_MAX / 2];
    bw_text named = bw_text_on(steps, sizeof steps);
    bool alone = name_steps(s, step, redone, &named) == 0;
    bw_text text = bw_on_say(out, BW_TONE_BAD);
    bool tight = any_tightens(s, redone);
    if ((!alone || tight) && s->draft.redo != step + 1) {
        s->draft = (bw_draft){.redo = step + 1};
        bw_text_add(&text, "This opens again %s. To do so, type the line once more.", steps);
        return;
    }
    bw_text_add(&text, "Open again: %s. %s counts from its beginning%s", steps,
                alone ? "It" : "Each", tight ? "; loosen first what was tightened." : ".");
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_STEP_REDONE);
    bw_entry_set_text(e, BW_M_STEP, s->plan->step[step].id);
    bw_entry_set_text(e, BW_M_REASON, why);
    if (s->reopened_entry != 0) {
        bw_entry_set_whole(e, BW_M_OF, (int64_t)s->reopened_entry);
    }
}

void bw_word_redo(bw_session *s, const bw_event *ev, const char *rest, bw_actions *out) {
    size_t len = strcspn(rest, " ");
    const char *why = rest + len + strspn(rest + len, " ");
    size_t step = 0;
    if (s->pulling || s->undecided || s->waits || s->draft.on || s->draft.decides) {
        bw_say(out, BW_TONE_BAD, "This must be ended first; or: pause");
        return;
    }
    if (!find_step(s, rest, len, &step) || why[0] == '\0' || !bw_session_has_begun(s, step)) {
        bw_say(out, BW_TONE_BAD,
               "Write behind the word which step is done anew, by its number or id, and why; it "
               "must have been begun: redo 12 head gasket replaced");
        return;
    }
    redo(s, ev, step, why, out);
}
