/* session_decide.c - state and event to actions; the table of all cells stands at the end. */
#include "session/session_int.h"

#include "base/text.h"

#include <string.h>

/* ---- opening, tools, pause ---- */

static void add_texts(bw_session *s, const bw_event *ev, bw_actions *out) {
    const bw_plan *plan = s->plan;
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_SEQUENCE_ADOPTED);
    e->by = bw_make_text(out, ev->text);
    bw_entry_set_text(e, BW_M_FILE, ev->source_name[0]);
    bw_entry_set_text(e, BW_M_TEXT, ev->source_text[0]);
    bw_entry_set_text(e, BW_M_TITLE, plan->title);
    bw_entry_set_text(e, BW_M_ENGINE, plan->engine);
    bw_entry_set_text(e, BW_M_EDITION, plan->edition);
    bw_entry_set_text(e, BW_M_DOCUMENT, bw_make_source(s, NULL, out));
    bw_entry_set_flag(e, BW_M_INVENTED, plan->invented);
    for (size_t i = 1; i < ev->source_n; i++) {
        e = bw_make_entry(s, ev, out, BW_KIND_MODULE_ADOPTED);
        e->by = bw_make_text(out, ev->text);
        bw_entry_set_text(e, BW_M_FILE, ev->source_name[i]);
        bw_entry_set_text(e, BW_M_TEXT, ev->source_text[i]);
    }
}

static void open_new(bw_session *s, const bw_event *ev, bw_actions *out) {
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_BUILD_OPENED);
    e->by = bw_make_text(out, ev->text);
    bw_entry_set_text(e, BW_M_PROGRAM, ev->program);
    add_texts(s, ev, out);
    bw_make_person(s, ev, out, ev->text);
}

/* Work that ended without a pause was broken off; a pull that had begun is named, because the
 * fastener may have moved and nothing of it was kept. */
static void add_interrupted(bw_session *s, const bw_event *ev, bw_actions *out) {
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_INTERRUPTED);
    if (s->pulling) {
        bw_make_spot(s, &s->spot, e);
        bw_entry_set_text(e, BW_M_TEXT,
                          "broken off while the wrench was pulling; that pull is lost");
    } else {
        bw_entry_set_text(e, BW_M_TEXT, "broken off without a pause");
    }
}

static void open_again(bw_session *s, const bw_event *ev, bw_actions *out) {
    if (s->running || s->pulling) {
        add_interrupted(s, ev, out);
    }
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_RESUMED);
    bw_entry_set_text(e, BW_M_PROGRAM, ev->program);
    if (strcmp(ev->text, s->by) != 0) {
        bw_make_person(s, ev, out, ev->text);
    }
    if (ev->adopts) {
        add_texts(s, ev, out);
    }
    bw_say_resumed(s, out);
}

/* What is not known has no member. */
static void set_known(bw_entry *e, bw_member member, double value) {
    if (value > 0) {
        bw_entry_set_number(e, member, value);
    }
}

static void add_terms(bw_entry *e, const bw_terms *terms) {
    if (terms->range_high_Nm > 0) {
        bw_entry_set_number(e, BW_M_RANGE_LOW_NM, terms->range_low_Nm);
        bw_entry_set_number(e, BW_M_RANGE_HIGH_NM, terms->range_high_Nm);
    }
    set_known(e, BW_M_UNCERTAINTY_SHARE, terms->uncertainty_share);
    set_known(e, BW_M_UNCERTAINTY_DEG, terms->uncertainty_deg);
}

static void set_text(bw_entry *e, bw_member member, const char *text) {
    bw_entry_set_text(e, member, text != NULL && text[0] != '\0' ? text : NULL);
}

static void add_card(bw_entry *e, const bw_tool_card *card) {
    set_text(e, BW_M_SERIAL_NUMBER, card->serial_number);
    set_text(e, BW_M_CALIBRATED, card->calibrated);
    set_text(e, BW_M_CALIBRATION_DUE, card->calibration_due);
    set_text(e, BW_M_CERTIFICATE, card->certificate);
    set_text(e, BW_M_DEVICE_SERIAL, card->device_serial);
    if (card->unchecked) {
        bw_entry_set_flag(e, BW_M_UNCHECKED, true);
    }
}

static void add_tool(bw_session *s, const bw_event *ev, bw_actions *out, bw_kind kind) {
    bw_entry *e = bw_make_entry(s, ev, out, kind);
    bw_entry_set_text(e, BW_M_TOOL, ev->tool);
    bw_entry_set_text(e, BW_M_PORT, ev->port);
    if (kind == BW_KIND_TOOL_ON) {
        bw_entry_set_text(e, BW_M_DRIVER, ev->driver);
        set_text(e, BW_M_SETTINGS, ev->settings);
        add_terms(e, &ev->tool_terms);
        add_card(e, &ev->tool_card);
    }
    if (kind == BW_KIND_TOOL_LOST) {
        bw_entry_set_text(e, BW_M_TEXT, bw_make_text(out, ev->text));
    }
}

/* The wrench in use has said who it is: nothing else about it is new. */
static bool has_named_itself(const bw_session *s, const bw_event *ev) {
    const bw_terms *now = &ev->tool_terms;
    return !s->tool_lost && strcmp(ev->tool, s->tool) == 0 &&
           now->uncertainty_share == s->tool_terms.uncertainty_share &&
           now->uncertainty_deg == s->tool_terms.uncertainty_deg;
}

static void tool_on(bw_session *s, const bw_event *ev, bw_actions *out) {
    add_tool(s, ev, out, BW_KIND_TOOL_ON);
    bw_say_changed_wrench(s, ev, out);
    if (!has_named_itself(s, ev)) {
        bw_say_unsure_wrench(s, &ev->tool_terms, out);
    }
}

static void tool_lost(bw_session *s, const bw_event *ev, bw_actions *out) {
    add_tool(s, ev, out, BW_KIND_TOOL_LOST);
    bw_text text = bw_text_on(out->say, sizeof out->say);
    bw_text_add(&text, "%s", ev->text);
    out->tone = BW_TONE_BAD;
}

static void tool_back(bw_session *s, const bw_event *ev, bw_actions *out) {
    add_tool(s, ev, out, BW_KIND_TOOL_BACK);
    bw_say(out, BW_TONE_GOOD, "The wrench is back.");
}

static void clock_step(bw_session *s, const bw_event *ev, bw_actions *out) {
    bw_entry_set_number(bw_make_entry(s, ev, out, BW_KIND_CLOCK_STEP), BW_M_BY_S, ev->by_s);
}

/* Nobody sees the end of a pull that is on: it must not be waited for when work goes on. */
void bw_decide_pause(bw_session *s, const bw_event *ev, bw_actions *out) {
    if (s->pulling) {
        add_interrupted(s, ev, out);
    }
    (void)bw_make_entry(s, ev, out, BW_KIND_PAUSED);
    bw_say(out, BW_TONE_PLAIN, "Paused. The same command goes on from here.");
    out->pause = true;
}

/* ---- pulls ---- */

static void pull_begun(bw_session *s, const bw_event *ev, bw_actions *out) {
    bw_spot spot = {0};
    if (bw_session_next_spot(s, s->active, &spot)) {
        bw_make_spot(s, &spot, bw_make_entry(s, ev, out, BW_KIND_PULL_BEGUN));
    }
}

/* Where a pull decides nothing by itself, its verdict waits for what is measured or seen. */
static void pull_ended(bw_session *s, const bw_event *ev, bw_actions *out) {
    const bw_verdict *v = ev->verdict;
    const bw_stage *stage = &bw_spot_stage(s, &s->spot)->stage;
    bw_entry *e = bw_make_pull(s, ev, out, true);
    bw_pulled pulled = {.entry = ev->next_number + out->entry_n - 1,
                        .uncertainty_deg = s->tool_terms.uncertainty_deg};
    (void)bw_text_copy(pulled.tool, sizeof pulled.tool, ev->tool);
    bw_make_spot(s, &s->spot, e);
    if (v->has_turn) {
        bw_entry_set_number(e, BW_M_TURN_DEG, v->pull_turn_deg);
    }
    if (bw_stage_traits_of(stage->kind)->is_answered && v->outcome == BW_VERDICT_PASS) {
        bw_make_waiting(v, e, out);
        bw_say_waiting(s, v, out);
        return;
    }
    e = bw_make_verdict(s, ev, out, v, &pulled);
    bw_say_verdict(s, v, bw_entry_text(e, BW_M_QUESTION, ""), out);
}

static void pull_aside(bw_session *s, const bw_event *ev, bw_actions *out) {
    bw_entry *e = bw_make_pull(s, ev, out, false);
    if (ev->too_soon) {
        bw_entry_set_text(e, BW_M_QUESTION, "pulled again within a second of its accepted peak");
        bw_say_too_soon(s, ev->verdict, out);
    } else {
        bw_say_aside(s, ev, out);
    }
}

/* ---- every cell ----
 * NULL: the event is ignored in that state.  Only what a device or a clock does is ever ignored;
 * what a person does is always answered. */

#define ROW(open, answer_, begun, ended)                                                           \
    {                                                                                              \
        [BW_EVENT_OPEN] = open, [BW_EVENT_ANSWER] = answer_, [BW_EVENT_PULL_BEGUN] = begun,        \
        [BW_EVENT_PULL_ENDED] = ended, [BW_EVENT_TOOL_ON] = tool_on,                               \
        [BW_EVENT_TOOL_LOST] = tool_lost, [BW_EVENT_TOOL_BACK] = tool_back,                        \
        [BW_EVENT_CLOCK_STEP] = clock_step, [BW_EVENT_PAUSE] = bw_decide_pause                     \
    }

static bw_handler *const cells[BW_STATE_COUNT][BW_EVENT_COUNT] = {
    [BW_STATE_NEW] = {[BW_EVENT_OPEN] = open_new},
    [BW_STATE_CONFIRM] = ROW(open_again, bw_decide_answer, NULL, pull_aside),
    [BW_STATE_NOTE] = ROW(open_again, bw_decide_answer, NULL, pull_aside),
    [BW_STATE_READING] = ROW(open_again, bw_decide_answer, NULL, pull_aside),
    [BW_STATE_VALUE] = ROW(open_again, bw_decide_answer, NULL, pull_aside),
    [BW_STATE_PULL] = ROW(open_again, bw_decide_answer, pull_begun, pull_aside),
    [BW_STATE_PULLING] = ROW(open_again, bw_decide_answer, NULL, pull_ended),
    [BW_STATE_NO_TOOL] = ROW(open_again, bw_decide_answer, NULL, pull_aside),
    [BW_STATE_LENGTH] = ROW(open_again, bw_decide_answer, NULL, pull_aside),
    [BW_STATE_SLOT] = ROW(open_again, bw_decide_answer, NULL, pull_aside),
    [BW_STATE_VERDICT] = ROW(open_again, bw_decide_answer, NULL, pull_aside),
    [BW_STATE_SECOND_PERSON] = ROW(open_again, bw_decide_answer, NULL, pull_aside),
    [BW_STATE_REASON] = ROW(open_again, bw_decide_answer, NULL, pull_aside),
    [BW_STATE_ASK] = ROW(open_again, bw_decide_answer, NULL, pull_aside),
    [BW_STATE_POSITION] = ROW(open_again, bw_decide_answer, NULL, pull_aside),
    [BW_STATE_FIT] = ROW(open_again, bw_decide_answer, NULL, pull_aside),
    [BW_STATE_WITNESS] = ROW(open_again, bw_decide_answer, NULL, pull_aside),
    [BW_STATE_CLOSE] = ROW(open_again, bw_decide_answer, NULL, pull_aside),
    [BW_STATE_CLOSED] = {[BW_EVENT_OPEN] = bw_decide_closed, [BW_EVENT_ANSWER] = bw_decide_closed},
};

bool bw_session_handles(bw_state state, bw_event_kind event) {
    return cells[state][event] != NULL;
}

void bw_session_decide(bw_session *session, const bw_event *event, bw_actions *out) {
    out->entry_n = 0;
    out->say[0] = '\0';
    out->tone = BW_TONE_PLAIN;
    out->sign = false;
    out->pause = false;
    out->closed = false;
    out->overflow = false;
    out->pool_used = 0;
    bw_handler *cell = cells[bw_session_state(session)][event->kind];
    if (cell != NULL) {
        cell(session, event, out);
        bw_decide_overrun(session, event, out);
    }
}
