/* session_prompt.c - what the state is called, and what to ask in it. */
#include "session/session_int.h"

#include <string.h>

static const bw_state step_states[BW_STEP_KIND_COUNT] = {
    [BW_STEP_CAUTION] = BW_STATE_CONFIRM, [BW_STEP_CONFIRM] = BW_STATE_CONFIRM,
    [BW_STEP_MEASURE] = BW_STATE_READING, [BW_STEP_TIGHTEN] = BW_STATE_PULL,
    [BW_STEP_NOTE] = BW_STATE_NOTE,       [BW_STEP_ASK] = BW_STATE_ASK,
    [BW_STEP_WAIT] = BW_STATE_CONFIRM,    [BW_STEP_CHOOSE] = BW_STATE_CONFIRM,
    [BW_STEP_FIT] = BW_STATE_FIT,
};

const char bw_needs_trace_text[] =
    "This joint is class A, danger to life: a typed torque is no proof of it. Pause, and go on "
    "with a wrench that sends its torque all along.";

static bw_state step_state(const bw_session *s) {
    const bw_step *step = bw_session_active_step(s);
    size_t derived = 0;
    if (step == NULL) {
        return BW_STATE_CLOSE;
    }
    if (bw_session_wants_position(s)) {
        return BW_STATE_POSITION;
    }
    bw_state state = step_states[step->kind];
    if (state == BW_STATE_READING && bw_session_open_value(s, s->active, &derived)) {
        return BW_STATE_VALUE;
    }
    if (state == BW_STATE_PULL && bw_session_wants_reuse(s, s->active)) {
        return BW_STATE_ASK;
    }
    bw_spot spot;
    if (state == BW_STATE_PULL && bw_session_wants_free_length(s, &spot)) {
        return BW_STATE_LENGTH;
    }
    if (state == BW_STATE_PULL && bw_session_wants_witness(s, s->active)) {
        return BW_STATE_WITNESS;
    }
    bool none = s->tool_lost || bw_session_refuses_tool(s);
    return state == BW_STATE_PULL && none ? BW_STATE_NO_TOOL : state;
}

bw_state bw_session_state(const bw_session *session) {
    if (!session->opened) {
        return BW_STATE_NEW;
    }
    if (session->closed) {
        return BW_STATE_CLOSED;
    }
    if (session->draft.on) {
        return session->draft.asks_reason ? BW_STATE_REASON : BW_STATE_SECOND_PERSON;
    }
    if (session->undecided || session->draft.decides) {
        return BW_STATE_VERDICT;
    }
    if (session->waits) {
        bool slot = bw_spot_stage(session, &session->spot)->stage.kind == BW_STAGE_SLOT;
        return slot ? BW_STATE_SLOT : BW_STATE_LENGTH;
    }
    return session->pulling ? BW_STATE_PULLING : step_state(session);
}

static const char *const state_names[BW_STATE_COUNT] = {
    [BW_STATE_NEW] = "new",           [BW_STATE_CONFIRM] = "confirm",
    [BW_STATE_NOTE] = "note",         [BW_STATE_READING] = "reading",
    [BW_STATE_VALUE] = "value",       [BW_STATE_PULL] = "pull",
    [BW_STATE_PULLING] = "pulling",   [BW_STATE_NO_TOOL] = "no_tool",
    [BW_STATE_VERDICT] = "verdict",   [BW_STATE_SECOND_PERSON] = "second_person",
    [BW_STATE_REASON] = "reason",     [BW_STATE_CLOSE] = "close",
    [BW_STATE_CLOSED] = "closed",     [BW_STATE_LENGTH] = "length",
    [BW_STATE_SLOT] = "slot",         [BW_STATE_ASK] = "ask",
    [BW_STATE_POSITION] = "position", [BW_STATE_WITNESS] = "witness",
    [BW_STATE_FIT] = "fit",
};

static const char *const event_names[BW_EVENT_COUNT] = {
    [BW_EVENT_OPEN] = "open",
    [BW_EVENT_ANSWER] = "answer",
    [BW_EVENT_PULL_BEGUN] = "pull_begun",
    [BW_EVENT_PULL_ENDED] = "pull_ended",
    [BW_EVENT_TOOL_ON] = "tool_on",
    [BW_EVENT_TOOL_LOST] = "tool_lost",
    [BW_EVENT_TOOL_BACK] = "tool_back",
    [BW_EVENT_CLOCK_STEP] = "clock_step",
    [BW_EVENT_PAUSE] = "pause",
};

bool bw_state_wants_line(bw_state state) {
    switch (state) {
    case BW_STATE_CONFIRM:
    case BW_STATE_NOTE:
    case BW_STATE_READING:
    case BW_STATE_VALUE:
    case BW_STATE_LENGTH:
    case BW_STATE_SLOT:
    case BW_STATE_VERDICT:
    case BW_STATE_SECOND_PERSON:
    case BW_STATE_REASON:
    case BW_STATE_ASK:
    case BW_STATE_POSITION:
    case BW_STATE_FIT:
    case BW_STATE_WITNESS:
    case BW_STATE_CLOSE:
        return true;
    case BW_STATE_NEW:
    case BW_STATE_PULL:
    case BW_STATE_PULLING:
    case BW_STATE_NO_TOOL:
    case BW_STATE_CLOSED:
    case BW_STATE_COUNT:
        break;
    }
    return false;
}

const char *bw_state_name(bw_state state) {
    return (unsigned)state < BW_STATE_COUNT ? state_names[state] : NULL;
}

const char *bw_event_name(bw_event_kind event) {
    return (unsigned)event < BW_EVENT_COUNT ? event_names[event] : NULL;
}

/* ---- what can be decided ---- */

#define KIND(kind) (1u << (kind))

enum {
    OF_ALL = (1 << BW_STAGE_KIND_COUNT) - 1,
    OF_TURNED = KIND(BW_STAGE_ROTATING) | KIND(BW_STAGE_CREEP), /* a shaft, no fastener */
    OF_FASTENERS = OF_ALL & ~OF_TURNED,
    OF_TIGHTENING = OF_FASTENERS & ~(KIND(BW_STAGE_CHECK) | KIND(BW_STAGE_PREVAILING)),
    OF_CHECKING = KIND(BW_STAGE_CHECK) | KIND(BW_STAGE_PREVAILING) | KIND(BW_STAGE_ROTATING)
};

/* kinds: of stage that it suits.  offered_for: reasons that bring it up; 0: always.  lost: only
 * where nothing of the pull was kept.  moved: also where the pull was another fastener's than the
 * one that was asked for.  What creeps is never turned back, so it is not loosened. */
static const struct {
    bw_option option;
    uint32_t kinds;
    uint32_t offered_for;
    bool lost;
    bool moved;
} verdict_options[] = {
    {{"loosen", "loosen this fastener and tighten it anew from its first stage"},
     OF_FASTENERS,
     0,
     false,
     true},
    {{"replace", "put in a new one and tighten it anew from its first stage"},
     OF_FASTENERS & ~KIND(BW_STAGE_CHECK),
     0,
     false,
     true},
    {{"replace", "put in a new part, and begin anew with it"}, OF_TURNED, 0, false, true},
    {{"repeat", "another one was pulled by mistake: ask for this one again"},
     OF_TIGHTENING,
     BW_REASON_NO_TURN,
     false,
     false},
    {{"repeat", "measure it once more"}, OF_CHECKING, 0, false, false},
    {{"another", "another one was pulled by mistake: say which, as in: another 5"},
     OF_TIGHTENING,
     BW_REASON_ABOVE_LIMIT | BW_REASON_ANGLE_OVER,
     false,
     false},
    {{"unmoved", "it had not turned yet: go on from where it stood"},
     OF_ALL,
     BW_REASON_GAP,
     true,
     false},
    {{"override", "accept it as it is, with a second person and a reason"},
     OF_ALL,
     0,
     false,
     false},
};

/* After a pull that waits for what is measured or seen, where that can't be had. */
static const bw_option waiting_options[] = {
    {"loosen", "loosen this fastener and tighten it anew from its first stage"},
    {"replace", "put in a new one and tighten it anew from its first stage"},
};

static const bw_option value_options[] = {
    {"again", "measure again; the old readings stay in the record"},
    {"override", "accept it as it is, with a second person and a reason"},
};

static void fill_options(const bw_option *option, size_t n, bw_prompt *out) {
    memcpy(out->option, option, n * sizeof *option);
    out->option_n = n;
}

/* One that was tightened as often as it may be is not loosened to be tightened again; what needs a
 * trace and has none is not accepted by anybody's word. */
static bool may_have(const bw_session *s, const bw_option *option) {
    if (strcmp(option->word, "override") == 0) {
        bool untraced = s->lost || (s->verdict.reasons & (uint32_t)BW_REASON_NO_TRACE) != 0;
        return !untraced || !bw_spot_stage(s, &s->spot)->stage.needs_trace;
    }
    return strcmp(option->word, "loosen") != 0 || bw_has_cycle_left(s, &s->spot);
}

enum { OPTIONS_MAX = sizeof((bw_prompt *)0)->option / sizeof(bw_option) };

static void fill_verdict_options(const bw_session *s, bw_prompt *out) {
    uint32_t kind = KIND(out->stage->stage.kind);
    for (size_t i = 0; i < sizeof verdict_options / sizeof verdict_options[0]; i++) {
        uint32_t wanted = verdict_options[i].offered_for;
        bool fits = (verdict_options[i].kinds & kind) != 0 &&
                    (wanted == 0 || (s->verdict.reasons & wanted) != 0);
        bool lost = s->lost || !verdict_options[i].lost;
        bool moved = !s->moved || verdict_options[i].moved;
        bool room = out->option_n < OPTIONS_MAX && may_have(s, &verdict_options[i].option);
        if (fits && lost && moved && room) {
            out->option[out->option_n++] = verdict_options[i].option;
        }
    }
    if (s->draft.decides && out->option_n < OPTIONS_MAX) {
        out->option[out->option_n++] = (bw_option){"cancel", "pull on after all"};
    }
}

/* ---- the prompt ---- */

static void fill_spot(const bw_session *s, const bw_spot *spot, bw_prompt *out) {
    out->step = &s->plan->step[spot->step];
    out->step_number = spot->step + 1;
    out->group = &s->plan->group[out->step->group];
    out->place = spot->place;
    out->stage_index = spot->stage;
    out->stage = &out->step->stage[spot->stage];
    bw_left left = bw_left_before(s, spot);
    out->aim = bw_spot_aim(s, spot);
    out->prevailing_Nm = left.prevailing_Nm;
    out->torque_known = !left.loosened;
    out->standing = bw_fastener_at(s, spot)->standing;
    out->free_mm = bw_fastener_at(s, spot)->free_mm;
    out->length_unit = bw_length_unit(bw_stretch_stage(s, spot));
    out->progress = s->step[spot->step].progress;
    out->attempt = out->progress[spot->place].attempt;
    out->cycles = s->cycles[out->step->group][spot->place];
    const size_t *order = bw_step_order(s->plan, out->step);
    for (size_t k = 0; k < out->group->place_n; k++) {
        if (order[k] == spot->place) {
            out->turn_of = k;
        }
    }
}

static void fill_reading(const bw_session *s, bw_prompt *out) {
    size_t set = 0;
    out->reading_n = s->step[s->active].reading_n;
    if (bw_session_next_reading(s, s->active, &set, &out->at, &out->reading_number)) {
        out->set = &out->step->set[set];
        out->repeats = bw_set_repeats(out->set);
        size_t first = s->step[s->active].set_first[set] + out->at * out->repeats;
        out->repeat = out->reading_number - first;
        for (size_t i = 0; i + 1 < out->repeat; i++) {
            out->before[i] = s->step[s->active].reading[first + i].value;
        }
    }
}

static void fill_value(const bw_session *s, bw_prompt *out) {
    size_t derived = 0;
    if (bw_session_open_value(s, s->active, &derived)) {
        out->derived = &out->step->derived[derived];
        out->derived_value = s->step[s->active].derived[derived].value;
        double value = 0;
        out->derived_err.code = bw_session_value(s, s->active, derived, SIZE_MAX, 0, &value,
                                                 &out->derived_err);
        fill_options(value_options, sizeof value_options / sizeof value_options[0], out);
    }
}

static void fill_verdict(const bw_session *s, bw_prompt *out) {
    fill_spot(s, &s->spot, out);
    out->verdict = s->verdict;
    fill_verdict_options(s, out);
}

static void fill_waiting(const bw_session *s, bw_prompt *out) {
    fill_spot(s, &s->spot, out);
    out->verdict = s->verdict;
    out->tightened = true;
    for (size_t i = 0; i < sizeof waiting_options / sizeof waiting_options[0]; i++) {
        if (may_have(s, &waiting_options[i])) {
            out->option[out->option_n++] = waiting_options[i];
        }
    }
}

static void fill_tighten(const bw_session *s, bw_prompt *out) {
    bw_spot spot = s->spot;
    if (out->state == BW_STATE_WITNESS || out->state == BW_STATE_ASK) {
        out->group = &s->plan->group[out->step->group];
        out->progress = s->step[s->active].progress;
    } else if (s->pulling || bw_session_next_spot(s, s->active, &spot)) {
        fill_spot(s, &spot, out);
    }
    out->tool_text = !s->tool_lost && bw_session_refuses_tool(s) ? bw_needs_trace_text
                                                                 : s->tool_text;
}

void bw_session_prompt(const bw_session *session, bw_prompt *out) {
    const bw_session *s = session;
    *out = (bw_prompt){.state = bw_session_state(s), .plan = s->plan, .by = s->by};
    out->step_n = s->plan->step_n;
    for (size_t i = 0; i < s->plan->step_n; i++) {
        out->steps_done += s->step[i].done ? 1 : 0;
    }
    if (out->state == BW_STATE_NEW || out->state == BW_STATE_CLOSED) {
        return;
    }
    out->may_go_back = bw_session_may_go_back(s);
    out->redo = s->draft.redo;
    out->may_say_wrong = s->accepted_entry != 0 && !s->waits && !s->undecided;
    out->step = bw_session_active_step(s);
    out->step_number = s->active + 1;
    bw_session_fill_job(s, out);
    if (s->undecided || s->draft.decides) {
        fill_verdict(s, out);
    } else if (s->waits) {
        fill_waiting(s, out);
    } else if (out->step == NULL) {
        return;
    } else if (out->step->kind == BW_STEP_TIGHTEN) {
        fill_tighten(s, out);
    } else if (out->step->kind == BW_STEP_MEASURE) {
        fill_reading(s, out);
        fill_value(s, out);
    }
}

bw_step_standing bw_session_step(const bw_session *session, size_t step) {
    const bw_step_state *state = &session->step[step];
    bool tightens = session->plan->step[step].kind == BW_STEP_TIGHTEN;
    return (bw_step_standing){.done = state->done,
                              .skipped = state->skipped,
                              .due = state->due_entry != 0,
                              .begun = bw_session_has_begun(session, step),
                              .progress = tightens ? state->progress : NULL};
}

bool bw_session_reading(const bw_session *session, size_t step, size_t set, size_t at,
                        double *value) {
    const bw_step_state *state = &session->step[step];
    size_t repeats = bw_set_repeats(&session->plan->step[step].set[set]);
    const bw_reading_state *last = &state->reading[state->set_first[set] + (at + 1) * repeats - 1];
    if (last->given) {
        *value = last->value;
    }
    return last->given;
}
