/* session_job.c - what steps of a whole job have to do with each other: questions and what is left
 * out for their answers, waits and time limits, choices, positions, what must not happen. */
#include "session/session_int.h"

#include "base/text.h"

#include <string.h>

enum { MS = 1000, S_PER_MIN = 60 };

/* ---- entries to state ---- */

bool bw_apply_answered(bw_session *s, const bw_entry *e) {
    size_t step = 0;
    if (!bw_session_entry_step(s, e, &step)) {
        return false;
    }
    if (s->plan->step[step].kind == BW_STEP_TIGHTEN) {
        return !s->step[step].reuse_told && bw_apply_reuse(s, e, step);
    }
    if (s->plan->step[step].kind != BW_STEP_ASK) {
        return false;
    }
    const bw_step *st = &s->plan->step[step];
    const char *answer = bw_entry_text(e, BW_M_TEXT, "");
    for (size_t i = 0; i < st->answer_n; i++) {
        if (strcmp(st->answer[i], answer) == 0) {
            s->step[step].answer = i;
            s->step[step].done = true;
            bw_session_went_on(s);
            s->last_reading_entry = e->number;
            s->last_reading_step = step;
            return true;
        }
    }
    return false;
}

bool bw_apply_position(bw_session *s, const bw_entry *e) {
    size_t step = 0;
    if (!bw_session_entry_step(s, e, &step) || s->plan->step[step].position == NULL) {
        return false;
    }
    s->position = s->plan->step[step].position;
    bw_session_confirmed(s, e, step, true);
    return true;
}

bool bw_apply_overrun(bw_session *s, const bw_entry *e) {
    size_t step = 0;
    if (!bw_session_entry_step(s, e, &step)) {
        return false;
    }
    s->step[step].overrun = true;
    return true;
}

/* A question that is left out leaves out what depends on it. */
static bool left_out(const bw_session *s, const bw_step *step) {
    if (!step->has_when) {
        return false;
    }
    const bw_step_state *asked = &s->step[step->when];
    return asked->skipped || (asked->done && asked->answer != step->when_answer);
}

static void keep_left_out(bw_session *s) {
    for (size_t i = 0; i < s->plan->step_n; i++) {
        bw_step_state *state = &s->step[i];
        bool out = left_out(s, &s->plan->step[i]);
        if (out != state->skipped) {
            state->skipped = out;
            state->done = out;
            bw_session_settle(s, i);
        }
    }
}

static bool moves_crank(const bw_step *step) {
    for (size_t i = 0; i < step->stage_n; i++) {
        if (step->stage[i].stage.kind == BW_STAGE_ROTATING) {
            return true;
        }
    }
    return step->moves;
}

void bw_session_keep_job(bw_session *s, const bw_entry *e) {
    keep_left_out(s);
    for (size_t i = 0; i < s->plan->step_n; i++) {
        bw_step_state *state = &s->step[i];
        bool now = state->done && state->done_ms == 0;
        if (now && !state->skipped && moves_crank(&s->plan->step[i])) {
            s->position = NULL;
        }
        state->done_ms = !state->done ? 0 : now ? e->time_ms : state->done_ms;
        state->overrun = state->overrun && s->step[s->plan->step[i].since].done;
    }
}

/* ---- what to ask ---- */

bool bw_session_wants_position(const bw_session *s) {
    const bw_step *step = bw_session_active_step(s);
    return step != NULL && step->position != NULL &&
           (s->position == NULL || strcmp(s->position, step->position) != 0);
}

const char *bw_session_chosen(const bw_session *s, size_t step) {
    const bw_step *st = &s->plan->step[step];
    if (st->stock_n > 0) {
        return bw_session_from_stock(s, st);
    }
    size_t columns = st->has_column ? s->plan->step[st->column].answer_n : 1;
    size_t column = st->has_column ? s->step[st->column].answer : 0;
    return st->part[s->step[st->row].answer * columns + column];
}

static void fill_bans(const bw_session *s, bw_prompt *out) {
    for (size_t i = s->plan->ban_n; i-- > 0 && out->ban_n < BW_PROMPT_BANS_MAX;) {
        const bw_ban *ban = &s->plan->ban[i];
        bool begun = s->step[ban->from].done && !s->step[ban->from].skipped;
        if (begun && !s->step[ban->until].done) {
            out->ban[out->ban_n++] = ban;
        }
    }
}

static void fill_answers(bw_prompt *out) {
    for (size_t i = 0; i < out->step->answer_n; i++) {
        out->option[out->option_n++] = (bw_option){.word = out->step->answer[i], .says = ""};
    }
}

void bw_session_fill_job(const bw_session *s, bw_prompt *out) {
    fill_bans(s, out);
    if (out->step == NULL) {
        return;
    }
    if (out->step->has_since) {
        out->since_ms = s->step[out->step->since].done_ms;
    }
    if (out->step->kind == BW_STEP_CHOOSE) {
        out->chosen = bw_session_chosen(s, (size_t)(out->step - s->plan->step));
    }
    if (out->state == BW_STATE_FIT) {
        bw_fill_fit(s, out);
    } else if (out->state == BW_STATE_ASK && out->step->kind == BW_STEP_TIGHTEN) {
        bw_fill_reuse(out);
    } else if (out->state == BW_STATE_ASK) {
        fill_answers(out);
    }
}

/* ---- answers ---- */

void bw_take_answer(bw_session *s, const bw_event *ev, bw_actions *out) {
    bw_prompt prompt;
    if (bw_session_wants_reuse(s, s->active)) {
        bw_take_reuse(s, ev, out);
        return;
    }
    bw_session_prompt(s, &prompt);
    const bw_option *option = bw_find_option(&prompt, ev->text, false);
    if (option == NULL) {
        bw_say_options(prompt.option, prompt.option_n, out);
        return;
    }
    bw_entry *e = bw_make_at_step(s, ev, out, BW_KIND_ANSWERED);
    bw_entry_set_text(e, BW_M_TEXT, option->word);
    bw_entry_set_text(e, BW_M_TYPED, ev->text);
}

void bw_take_position(bw_session *s, const bw_event *ev, bw_actions *out) {
    if (!bw_is_yes(ev->text)) {
        bw_say(out, BW_TONE_BAD,
               "It stays open. Answer yes (or just Enter) once it stands so, or: later");
        return;
    }
    bw_entry *e = bw_make_at_step(s, ev, out, BW_KIND_POSITION);
    bw_entry_set_text(e, BW_M_TEXT, bw_session_active_step(s)->position);
    bw_entry_set_text(e, BW_M_TYPED, ev->text);
}

/* ---- clocks ---- */

static double minutes_since(const bw_session *s, const bw_step *step, int64_t now_ms) {
    return (double)(now_ms - s->step[step->since].done_ms) / MS / S_PER_MIN;
}

/* Nobody waits in a rehearsal, and its record says that it is one. */
bool bw_wait_is_over(const bw_session *s, const bw_event *ev, bw_actions *out) {
    const bw_step *step = bw_session_active_step(s);
    double left_min = step->least_s / S_PER_MIN - minutes_since(s, step, ev->now_ms);
    if (step->kind != BW_STEP_WAIT || s->rehearsal || left_min <= 0) {
        return true;
    }
    bw_text text = bw_on_say(out, BW_TONE_BAD);
    bw_text_add(&text, "Not yet: %.1f more minutes of %.1f. Go on with something else: later",
                left_min, step->least_s / S_PER_MIN);
    return false;
}

static bool does_something(const bw_actions *out) {
    for (size_t i = 0; i < out->entry_n; i++) {
        bw_kind kind = out->entry[i].kind;
        if (kind == BW_KIND_CONFIRMED || kind == BW_KIND_VERDICT) {
            return true;
        }
    }
    return false;
}

void bw_decide_overrun(bw_session *s, const bw_event *ev, bw_actions *out) {
    const bw_step *step = bw_session_active_step(s);
    if (step == NULL || step->most_s <= 0 || s->step[s->active].overrun || !does_something(out)) {
        return;
    }
    double minutes = minutes_since(s, step, ev->now_ms);
    if (minutes * S_PER_MIN <= step->most_s) {
        return;
    }
    char line[BW_SAY_MAX / 2];
    bw_text text = bw_text_on(line, sizeof line);
    bw_text_add(&text, "late: %.1f minutes after \"%s\", %.1f are allowed", minutes,
                s->plan->step[step->since].id, step->most_s / S_PER_MIN);
    bw_entry_set_text(bw_make_at_step(s, ev, out, BW_KIND_OVERRUN), BW_M_TEXT,
                      bw_make_text(out, line));
    bw_text said = bw_text_on(out->say + strlen(out->say), sizeof out->say - strlen(out->say));
    bw_text_add(&said, "%sIt is %s.", out->say[0] != '\0' ? "\n" : "", line);
    out->tone = BW_TONE_BAD;
}

size_t bw_make_due(bw_session *s, const bw_event *ev, bw_actions *out) {
    size_t n = 0;
    for (size_t i = 0; i < s->plan->step_n; i++) {
        const bw_step *step = &s->plan->step[i];
        if (step->due != NULL && !s->step[i].skipped && s->step[i].due_entry == 0 &&
            !s->step[i].due_done) {
            bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_RETORQUE_DUE);
            bw_entry_set_text(e, BW_M_STEP, step->id);
            bw_entry_set_text(e, BW_M_GROUP, s->plan->group[step->group].name);
            bw_entry_set_text(e, BW_M_DUE, step->due);
            n++;
        }
    }
    return n;
}
