/* session_fold.c - entries to state.  One function a kind of entry, in a table at the end.
 *
 * A record may be damaged or come from another sequence: an entry that names what the plan does
 * not have is counted as a misfit and changes nothing. */
#include "session/session_int.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

/* A thousand years. */
static const double clock_step_most_ms = 3.2e13;

/* ---- reading entries ---- */

bool bw_session_entry_step(const bw_session *s, const bw_entry *e, size_t *step) {
    return bw_plan_find_step(s->plan, bw_entry_text(e, BW_M_STEP, ""), step);
}

bool bw_session_entry_spot(const bw_session *s, const bw_entry *e, bw_spot *out) {
    if (!bw_session_entry_step(s, e, &out->step) ||
        s->plan->step[out->step].kind != BW_STEP_TIGHTEN) {
        return false;
    }
    const bw_step *step = &s->plan->step[out->step];
    int64_t place = bw_entry_whole(e, BW_M_FASTENER, 0);
    int64_t stage = bw_entry_whole(e, BW_M_STAGE, 0);
    if (place < 1 || (uint64_t)place > s->plan->group[step->group].place_n || stage < 1 ||
        (uint64_t)stage > step->stage_n) {
        return false;
    }
    out->place = (size_t)place - 1;
    out->stage = (size_t)stage - 1;
    return true;
}

void bw_session_went_on(bw_session *s) {
    s->accepted_entry = 0;
    s->last_reading_entry = 0;
    s->answered.entry = 0;
    s->confirmed_entry = 0;
}

void bw_session_confirmed(bw_session *s, const bw_entry *e, size_t step, bool position) {
    bw_session_went_on(s);
    s->confirmed_entry = e->number;
    s->confirmed_step = step;
    s->confirmed_position = position;
}

/* ---- one function a kind ---- */

/* Which wrench is used is said anew each time that work begins. */
static void no_tool_yet(bw_session *s) {
    s->running = true;
    s->tool_lost = true;
    (void)bw_text_copy(s->tool_text, sizeof s->tool_text, "No wrench is connected.");
}

static bool apply_opened(bw_session *s, const bw_entry *e) {
    (void)e;
    s->opened = true;
    no_tool_yet(s);
    return true;
}

static bool apply_paused(bw_session *s, const bw_entry *e) {
    (void)e;
    s->running = false;
    return true;
}

static bool apply_resumed(bw_session *s, const bw_entry *e) {
    (void)e;
    no_tool_yet(s);
    return true;
}

static bool apply_person(bw_session *s, const bw_entry *e) {
    (void)bw_text_copy(s->by, sizeof s->by, bw_entry_text(e, BW_M_PERSON, ""));
    return true;
}

static bool apply_tool(bw_session *s, const bw_entry *e) {
    if (e->kind == BW_KIND_TOOL_ON) {
        s->tool_terms = (bw_terms){
            .range_low_Nm = bw_entry_number(e, BW_M_RANGE_LOW_NM, 0),
            .range_high_Nm = bw_entry_number(e, BW_M_RANGE_HIGH_NM, 0),
            .uncertainty_share = bw_entry_number(e, BW_M_UNCERTAINTY_SHARE, 0),
            .uncertainty_deg = bw_entry_number(e, BW_M_UNCERTAINTY_DEG, 0),
        };
    }
    if (e->kind == BW_KIND_TOOL_ON) {
        (void)bw_text_copy(s->tool_port, sizeof s->tool_port, bw_entry_text(e, BW_M_PORT, ""));
        (void)bw_text_copy(s->tool_serial, sizeof s->tool_serial,
                           bw_entry_text(e, BW_M_DEVICE_SERIAL, ""));
    }
    s->tool_lost = e->kind == BW_KIND_TOOL_LOST;
    (void)bw_text_copy(s->tool, sizeof s->tool, bw_entry_text(e, BW_M_TOOL, ""));
    (void)bw_text_copy(s->tool_text, sizeof s->tool_text, bw_entry_text(e, BW_M_TEXT, ""));
    return true;
}

/* What was done before the clock was set was done by the old one: what has passed since then stays
 * what it was. */
static bool apply_clock_step(bw_session *s, const bw_entry *e) {
    double by_ms = bw_entry_number(e, BW_M_BY_S, 0) * 1e3;
    if (fabs(by_ms) > clock_step_most_ms) {
        return false;
    }
    for (size_t i = 0; i < s->plan->step_n; i++) {
        s->step[i].done_ms += s->step[i].done_ms != 0 ? (int64_t)by_ms : 0;
    }
    return true;
}

static bool apply_confirmed(bw_session *s, const bw_entry *e) {
    size_t step = 0;
    if (!bw_session_entry_step(s, e, &step)) {
        return false;
    }
    bw_step_kind kind = s->plan->step[step].kind;
    if (bw_session_wants_witness(s, step)) {
        s->step[step].witnessed = e->value[BW_M_SECOND].type != BW_VALUE_NONE;
        bw_session_settle(s, step);
        bw_session_went_on(s);
        return s->step[step].witnessed;
    }
    if (kind != BW_STEP_CAUTION && kind != BW_STEP_CONFIRM && kind != BW_STEP_WAIT &&
        kind != BW_STEP_CHOOSE) {
        return false;
    }
    s->step[step].done = true;
    bw_session_confirmed(s, e, step, false);
    return true;
}

/* A note at a step that asks for one is its answer; any other note is only kept. */
static bool apply_note(bw_session *s, const bw_entry *e) {
    size_t step = 0;
    if (bw_session_entry_step(s, e, &step) && s->plan->step[step].kind == BW_STEP_NOTE) {
        s->step[step].done = true;
        bw_session_confirmed(s, e, step, false);
    }
    return true;
}

static bool apply_put_off(bw_session *s, const bw_entry *e) {
    size_t step = 0;
    if (!bw_session_entry_step(s, e, &step)) {
        return false;
    }
    s->step[step].put_off = ++s->put_offs;
    return true;
}

static bool find_reading(const bw_session *s, const bw_entry *e, size_t *step, size_t *index,
                         bw_unit *unit) {
    if (!bw_session_entry_step(s, e, step)) {
        return false;
    }
    const bw_step *st = &s->plan->step[*step];
    const char *set = bw_entry_text(e, BW_M_SET, "");
    const char *at = bw_entry_text(e, BW_M_AT, "");
    const char *name = bw_entry_text(e, BW_M_UNIT, "");
    int64_t repeat = bw_entry_whole(e, BW_M_REPEAT, 1);
    for (size_t i = 0; i < st->set_n; i++) {
        size_t repeats = bw_set_repeats(&st->set[i]);
        for (size_t k = 0; k < st->set[i].at_n && strcmp(st->set[i].id, set) == 0; k++) {
            if (strcmp(st->set[i].at[k], at) == 0) {
                *index = s->step[*step].set_first[i] + k * repeats + (size_t)repeat - 1;
                return repeat >= 1 && (uint64_t)repeat <= repeats &&
                       bw_unit_find(name, strlen(name), unit);
            }
        }
    }
    return false;
}

static bool apply_reading(bw_session *s, const bw_entry *e) {
    size_t step = 0;
    size_t index = 0;
    bw_unit unit = BW_UNIT_NUMBER;
    if (!find_reading(s, e, &step, &index, &unit)) {
        return false;
    }
    bw_reading_state *reading = &s->step[step].reading[index];
    s->tally.measurements += reading->given ? 0 : 1;
    reading->given = true;
    reading->value = bw_to_base(bw_entry_number(e, BW_M_VALUE, 0), unit);
    reading->entry = e->number;
    bw_session_went_on(s);
    s->last_reading_entry = e->number;
    s->last_reading_step = step;
    bw_session_settle(s, step);
    return true;
}

bool bw_session_entry_derived(const bw_session *s, const bw_entry *e, size_t *step,
                              size_t *derived) {
    if (!bw_session_entry_step(s, e, step)) {
        return false;
    }
    const char *id = bw_entry_text(e, BW_M_DERIVED, "");
    for (size_t i = 0; i < s->plan->step[*step].derived_n; i++) {
        if (strcmp(s->plan->step[*step].derived[i].id, id) == 0) {
            *derived = i;
            return true;
        }
    }
    return false;
}

static bool apply_derived(bw_session *s, const bw_entry *e) {
    size_t step = 0;
    size_t derived = 0;
    const char *name = bw_entry_text(e, BW_M_UNIT, "");
    bw_unit unit = BW_UNIT_NUMBER;
    if (!bw_session_entry_derived(s, e, &step, &derived) ||
        !bw_unit_find(name, strlen(name), &unit)) {
        return false;
    }
    bool pass = strcmp(bw_entry_text(e, BW_M_VERDICT, ""), "pass") == 0;
    s->step[step].derived[derived] = (bw_derived_state){
        .state = pass ? BW_VALUE_FINE : BW_VALUE_OUTSIDE,
        .value = bw_to_base(bw_entry_number(e, BW_M_VALUE, 0), unit),
        .entry = e->number,
    };
    bw_session_settle(s, step);
    return true;
}

static void clear_reading(bw_session *s, bw_reading_state *reading) {
    s->tally.measurements -= reading->given ? 1 : 0;
    *reading = (bw_reading_state){0};
}

static bool comes_from(const bw_derived *derived, size_t set) {
    for (size_t i = 0; i < derived->of_n; i++) {
        if (derived->of[i] == set) {
            return true;
        }
    }
    return false;
}

/* What was computed from a set, or decided on it, falls with its readings; the rest stands. */
static void clear_values(bw_session *s, size_t step, size_t set) {
    const bw_step *st = &s->plan->step[step];
    for (size_t i = 0; i < st->derived_n; i++) {
        if (comes_from(&st->derived[i], set)) {
            s->step[step].derived[i] = (bw_derived_state){0};
        }
    }
    bw_session_settle(s, step);
}

static void measure_again(bw_session *s, size_t step, size_t derived) {
    const bw_step *st = &s->plan->step[step];
    for (size_t i = 0; i < st->derived[derived].of_n; i++) {
        size_t set = st->derived[derived].of[i];
        for (size_t k = 0; k < st->set[set].at_n * bw_set_repeats(&st->set[set]); k++) {
            clear_reading(s, &s->step[step].reading[s->step[step].set_first[set] + k]);
        }
        clear_values(s, step, set);
    }
}

void bw_measure_step_anew(bw_session *s, size_t step) {
    bw_step_state *state = &s->step[step];
    for (size_t i = 0; i < state->reading_n; i++) {
        clear_reading(s, &state->reading[i]);
    }
    for (size_t set = 0; set < s->plan->step[step].set_n; set++) {
        clear_values(s, step, set);
    }
}

static bool decide_value(bw_session *s, const bw_entry *e, const char *word) {
    size_t step = 0;
    size_t derived = 0;
    if (!bw_session_entry_derived(s, e, &step, &derived)) {
        return false;
    }
    if (strcmp(word, "override") == 0) {
        s->step[step].derived[derived].state = BW_VALUE_OVERRIDDEN;
        bw_session_settle(s, step);
    } else {
        measure_again(s, step, derived);
    }
    return true;
}

static bool apply_decision(bw_session *s, const bw_entry *e) {
    return e->value[BW_M_DERIVED].type != BW_VALUE_NONE
               ? decide_value(s, e, bw_entry_text(e, BW_M_DECISION, ""))
               : bw_apply_fastener_decision(s, e);
}

/* Going back once more goes to the reading before. */
static uint64_t newest_reading(const bw_step_state *state) {
    uint64_t newest = 0;
    for (size_t i = 0; i < state->reading_n; i++) {
        bool newer = state->reading[i].given && state->reading[i].entry > newest;
        newest = newer ? state->reading[i].entry : newest;
    }
    return newest;
}

static void correct_reading(bw_session *s, size_t step, uint64_t entry) {
    const bw_step *st = &s->plan->step[step];
    if (st->kind == BW_STEP_ASK) {
        s->step[step].done = false;
    } else if (st->kind == BW_STEP_TIGHTEN) {
        bw_take_back_reuse(s, step);
    }
    for (size_t i = 0; i < st->set_n; i++) {
        for (size_t k = 0; k < st->set[i].at_n * bw_set_repeats(&st->set[i]); k++) {
            bw_reading_state *reading = &s->step[step].reading[s->step[step].set_first[i] + k];
            if (reading->given && reading->entry == entry) {
                clear_reading(s, reading);
                clear_values(s, step, i);
            }
        }
    }
    s->last_reading_entry = st->kind == BW_STEP_FIT ? bw_take_back_fit(s, step, entry)
                                                    : newest_reading(&s->step[step]);
}

/* It was confirmed by mistake: it is asked for again. */
static void correct_confirmed(bw_session *s) {
    if (s->confirmed_position) {
        s->position = NULL;
    } else {
        s->step[s->confirmed_step].done = false;
    }
    s->confirmed_entry = 0;
}

static bool apply_correction(bw_session *s, const bw_entry *e) {
    size_t step = 0;
    if (!bw_session_entry_step(s, e, &step)) {
        return false;
    }
    uint64_t corrects = (uint64_t)bw_entry_whole(e, BW_M_CORRECTS, 0);
    if (corrects != 0 && corrects == s->confirmed_entry) {
        correct_confirmed(s);
        return true;
    }
    if (!bw_apply_fastener_correction(s, e)) {
        correct_reading(s, step, corrects);
    }
    return true;
}

static bool apply_closed(bw_session *s, const bw_entry *e) {
    s->closed = true;
    s->closed_entry = e->number;
    s->running = false;
    bool complete = strcmp(bw_entry_text(e, BW_M_OUTCOME, ""), "complete") == 0;
    s->tally.outcome = complete ? "complete" : "rejected";
    return true;
}

static bool apply_nothing(bw_session *s, const bw_entry *e) {
    (void)s;
    (void)e;
    return true;
}

static bw_apply *const apply_table[BW_KIND_COUNT] = {
    [BW_KIND_BUILD_OPENED] = apply_opened,
    [BW_KIND_SEQUENCE_ADOPTED] = apply_nothing,
    [BW_KIND_MODULE_ADOPTED] = apply_nothing,
    [BW_KIND_PERSON_ON] = apply_person,
    [BW_KIND_TOOL_ON] = apply_tool,
    [BW_KIND_TOOL_LOST] = apply_tool,
    [BW_KIND_TOOL_BACK] = apply_tool,
    [BW_KIND_CONFIRMED] = apply_confirmed,
    [BW_KIND_PUT_OFF] = apply_put_off,
    [BW_KIND_READING] = apply_reading,
    [BW_KIND_DERIVED] = apply_derived,
    [BW_KIND_PULL_BEGUN] = bw_apply_pull_begun,
    [BW_KIND_PULL] = bw_apply_pull,
    [BW_KIND_VERDICT] = bw_apply_verdict,
    [BW_KIND_DECISION] = apply_decision,
    [BW_KIND_CORRECTION] = apply_correction,
    [BW_KIND_NOTE] = apply_note,
    [BW_KIND_INTERRUPTED] = bw_apply_interrupted,
    [BW_KIND_PAUSED] = apply_paused,
    [BW_KIND_RESUMED] = apply_resumed,
    [BW_KIND_CLOCK_STEP] = apply_clock_step,
    [BW_KIND_BUILD_CLOSED] = apply_closed,
    [BW_KIND_FASTENER_LENGTH] = bw_apply_length,
    [BW_KIND_FASTENER_SLOT] = bw_apply_slot,
    [BW_KIND_ANSWERED] = bw_apply_answered,
    [BW_KIND_POSITION] = bw_apply_position,
    [BW_KIND_OVERRUN] = bw_apply_overrun,
    [BW_KIND_PART_FITTED] = bw_apply_fitted,
    [BW_KIND_FILE_ATTACHED] = apply_nothing,
    [BW_KIND_KEY_CHANGED] = apply_nothing,
    [BW_KIND_CHECKPOINT_ASKED] = apply_nothing,
    [BW_KIND_BUILD_REOPENED] = bw_apply_reopened,
    [BW_KIND_STEP_REDONE] = bw_apply_redone,
    [BW_KIND_RETORQUE_DUE] = bw_apply_due,
    [BW_KIND_RETORQUE_DONE] = bw_apply_due_done,
};

/* What a wrench or a clock does between the questions of an override does not take them back. */
static bool leaves_draft(bw_kind kind) {
    return kind == BW_KIND_TOOL_ON || kind == BW_KIND_TOOL_LOST || kind == BW_KIND_TOOL_BACK ||
           kind == BW_KIND_PULL || kind == BW_KIND_CLOCK_STEP;
}

/* What this program knows of, but a session does nothing with, changes nothing. */
void bw_session_apply(bw_session *session, const bw_entry *entry) {
    bool known = entry->kind >= 0 && entry->kind < BW_KIND_COUNT;
    session->entries++;
    if (!known || apply_table[entry->kind] == NULL) {
        return;
    }
    if (!apply_table[entry->kind](session, entry)) {
        session->misfits++;
    }
    if (!leaves_draft(entry->kind)) {
        session->draft = (bw_draft){0};
    }
    bw_session_keep_job(session, entry);
    session->active = bw_session_pick(session);
    bw_session_ask(session);
}

uint64_t bw_session_misfits(const bw_session *session) {
    return session->misfits;
}

void bw_session_tally(const bw_session *session, bw_tally *out) {
    *out = session->tally;
    if (out->outcome == NULL) {
        out->outcome = "paused";
    }
    out->accepted = 0;
    out->overridden = 0;
    for (size_t i = 0; i < session->plan->step_n; i++) {
        const bw_step *step = &session->plan->step[i];
        size_t place_n = step->kind == BW_STEP_TIGHTEN ? session->plan->group[step->group].place_n
                                                       : 0;
        for (size_t k = 0; k < place_n; k++) {
            uint32_t mask = session->step[i].fastener[k].overridden;
            size_t overridden = 0;
            for (; mask != 0; mask &= mask - 1) {
                overridden++;
            }
            out->overridden += overridden;
            out->fasteners -= session->step[i].skipped ? step->stage_n : 0;
            out->accepted += session->step[i].progress[k].stages_done - overridden;
        }
    }
}
