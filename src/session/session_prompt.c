/* session_prompt.c - what the state is called, and what to ask in it. */
#include "session/session_int.h"

#include <string.h>

static const bw_state step_states[BW_STEP_KIND_COUNT] = {
    [BW_STEP_CAUTION] = BW_STATE_CONFIRM, [BW_STEP_CONFIRM] = BW_STATE_CONFIRM,
    [BW_STEP_MEASURE] = BW_STATE_READING, [BW_STEP_TIGHTEN] = BW_STATE_PULL,
    [BW_STEP_NOTE] = BW_STATE_NOTE,
};

static bw_state step_state(const bw_session *s) {
    const bw_step *step = bw_session_active_step(s);
    size_t derived = 0;
    if (step == NULL) {
        return BW_STATE_CLOSE;
    }
    bw_state state = step_states[step->kind];
    if (state == BW_STATE_READING && bw_session_open_value(s, s->active, &derived)) {
        return BW_STATE_VALUE;
    }
    if (state == BW_STATE_PULL && s->tool_lost) {
        return BW_STATE_NO_TOOL;
    }
    return state;
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
    if (session->undecided) {
        return BW_STATE_VERDICT;
    }
    return session->pulling ? BW_STATE_PULLING : step_state(session);
}

static const char *const state_names[BW_STATE_COUNT] = {
    [BW_STATE_NEW] = "new",         [BW_STATE_CONFIRM] = "confirm",
    [BW_STATE_NOTE] = "note",       [BW_STATE_READING] = "reading",
    [BW_STATE_VALUE] = "value",     [BW_STATE_PULL] = "pull",
    [BW_STATE_PULLING] = "pulling", [BW_STATE_NO_TOOL] = "no_tool",
    [BW_STATE_VERDICT] = "verdict", [BW_STATE_SECOND_PERSON] = "second_person",
    [BW_STATE_REASON] = "reason",   [BW_STATE_CLOSE] = "close",
    [BW_STATE_CLOSED] = "closed",   [BW_STATE_LENGTH] = "length",
    [BW_STATE_SLOT] = "slot",
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

/* offered_for: reasons that bring the option up; 0: always.  lost: only where nothing of the pull
 * was kept. */
static const struct {
    bw_option option;
    uint32_t offered_for;
    bool lost;
} verdict_options[] = {
    {{"loosen", "loosen this fastener and tighten it anew from its first stage"}, 0, false},
    {{"replace", "put in a new one and tighten it anew from its first stage"}, 0, false},
    {{"repeat", "another one was pulled by mistake: ask for this one again"},
     BW_REASON_NO_TURN,
     false},
    {{"unmoved", "it had not turned yet: go on from where it stood"}, BW_REASON_GAP, true},
    {{"override", "accept it as it is, with a second person and a reason"}, 0, false},
};

static const bw_option value_options[] = {
    {"again", "measure again; the old readings stay in the record"},
    {"override", "accept it as it is, with a second person and a reason"},
};

static size_t fill_value_options(bw_option *out, size_t max) {
    size_t n = sizeof value_options / sizeof value_options[0];
    n = n < max ? n : max;
    memcpy(out, value_options, n * sizeof *out);
    return n;
}

static size_t fill_verdict_options(const bw_verdict *verdict, bool lost, bw_option *out,
                                   size_t max) {
    size_t n = 0;
    for (size_t i = 0; i < sizeof verdict_options / sizeof verdict_options[0]; i++) {
        uint32_t wanted = verdict_options[i].offered_for;
        bool fits = wanted == 0 || (verdict->reasons & wanted) != 0;
        if (fits && (lost || !verdict_options[i].lost) && n < max) {
            out[n++] = verdict_options[i].option;
        }
    }
    return n;
}

/* ---- the prompt ---- */

static void fill_spot(const bw_session *s, const bw_spot *spot, bw_prompt *out) {
    out->step = &s->plan->step[spot->step];
    out->step_number = spot->step + 1;
    out->group = &s->plan->group[out->step->group];
    out->place = spot->place;
    out->stage_index = spot->stage;
    out->stage = &out->step->stage[spot->stage];
    out->standing = s->step[spot->step].fastener[spot->place].standing;
    out->progress = s->step[spot->step].progress;
    out->attempt = out->progress[spot->place].attempt;
    for (size_t k = 0; k < out->group->place_n; k++) {
        if (out->group->order[k] == spot->place) {
            out->turn_of = k;
        }
    }
}

static void fill_reading(const bw_session *s, bw_prompt *out) {
    size_t set = 0;
    out->reading_n = s->step[s->active].reading_n;
    if (bw_session_next_reading(s, s->active, &set, &out->at, &out->reading_number)) {
        out->set = &out->step->set[set];
    }
}

static void fill_value(const bw_session *s, bw_prompt *out) {
    size_t derived = 0;
    if (bw_session_open_value(s, s->active, &derived)) {
        out->derived = &out->step->derived[derived];
        out->derived_value = s->step[s->active].derived[derived].value;
        out->option_n = fill_value_options(out->option, sizeof out->option / sizeof out->option[0]);
    }
}

static void fill_verdict(const bw_session *s, bw_prompt *out) {
    fill_spot(s, &s->spot, out);
    out->verdict = s->verdict;
    out->option_n = fill_verdict_options(&s->verdict, s->lost, out->option,
                                         sizeof out->option / sizeof out->option[0]);
}

static void fill_tighten(const bw_session *s, bw_prompt *out) {
    bw_spot spot = s->spot;
    if (s->pulling || bw_session_next_spot(s, s->active, &spot)) {
        fill_spot(s, &spot, out);
    }
    out->tool_text = s->tool_text;
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
    out->step = bw_session_active_step(s);
    out->step_number = s->active + 1;
    if (s->undecided) {
        fill_verdict(s, out);
    } else if (out->step == NULL) {
        return;
    } else if (out->step->kind == BW_STEP_TIGHTEN) {
        fill_tighten(s, out);
    } else if (out->step->kind == BW_STEP_MEASURE) {
        fill_reading(s, out);
        fill_value(s, out);
    }
}

static bw_spot pull_spot(const bw_session *s) {
    bw_spot spot = s->spot;
    const bw_step *step = bw_session_active_step(s);
    bool tightens = step != NULL && step->kind == BW_STEP_TIGHTEN;
    if (tightens && !s->pulling && !s->undecided) {
        (void)bw_session_next_spot(s, s->active, &spot);
    }
    return spot;
}

const bw_stage *bw_session_stage(const bw_session *session) {
    bw_spot spot = pull_spot(session);
    const bw_step *step = &session->plan->step[spot.step];
    return step->kind == BW_STEP_TIGHTEN ? &step->stage[spot.stage].stage : NULL;
}

bw_standing bw_session_standing(const bw_session *session) {
    bw_spot spot = pull_spot(session);
    if (session->plan->step[spot.step].kind != BW_STEP_TIGHTEN) {
        return (bw_standing){0};
    }
    return session->step[spot.step].fastener[spot.place].standing;
}
