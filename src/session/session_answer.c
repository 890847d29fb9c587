/* session_answer.c - what a line of text means: one function for each state's own answer. */
#include "session/session_int.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

/* ---- answers, one function a state ---- */

/* word is in small letters; text may be in any. */
bool bw_same_word(const char *text, const char *word) {
    for (; *word != '\0'; text++, word++) {
        char small = *text >= 'A' && *text <= 'Z' ? (char)(*text - 'A' + 'a') : *text;
        if (small != *word) {
            return false;
        }
    }
    return *text == '\0';
}

bool bw_is_yes(const char *text) {
    static const char *const yes[] = {"", "yes", "y", "ok", "done"};
    for (size_t i = 0; i < sizeof yes / sizeof yes[0]; i++) {
        if (bw_same_word(text, yes[i])) {
            return true;
        }
    }
    return false;
}

static void answer_confirm(bw_session *s, const bw_event *ev, bw_actions *out) {
    if (bw_session_takes_torque(s, ev->text)) {
        bw_say(out, BW_TONE_BAD,
               "A torque is typed here only where the wrench is one that does not talk: pause, and "
               "go on with --wrench hand");
        return;
    }
    if (!bw_is_yes(ev->text)) {
        bw_say(out, BW_TONE_BAD,
               "It stays open. Answer yes (or just Enter) once it is so, or: later");
        return;
    }
    if (!bw_wait_is_over(s, ev, out) || !bw_stock_has_one(s, out)) {
        return;
    }
    bw_entry *e = bw_make_at_step(s, ev, out, BW_KIND_CONFIRMED);
    bw_entry_set_text(e, BW_M_TYPED, ev->text);
    if (bw_session_active_step(s)->kind == BW_STEP_CHOOSE) {
        bw_entry_set_text(e, BW_M_TEXT, bw_session_chosen(s, s->active));
    }
}

static void answer_note(bw_session *s, const bw_event *ev, bw_actions *out) {
    if (ev->text[0] == '\0') {
        bw_say(out, BW_TONE_BAD,
               "Something is to be written down here; a dash will do where there is none.");
        return;
    }
    bw_entry_set_text(bw_make_at_step(s, ev, out, BW_KIND_NOTE), BW_M_TEXT, ev->text);
    if (bw_session_is_word(ev->text)) {
        bw_say(out, BW_TONE_BAD,
               "Written down as it stands. If it was not meant to be: back, and say it again then, "
               "once something else is asked.");
    }
}

/* In the unit that is shown; no limit stays none. */
static double in_unit(double base_value, bw_unit unit) {
    return isfinite(base_value) ? bw_from_base(base_value, unit) : base_value;
}

static void add_derived(bw_session *s, const bw_event *ev, size_t derived, size_t changed,
                        double value, bw_actions *out) {
    const bw_derived *d = &s->plan->step[s->active].derived[derived];
    double result = 0;
    bw_err err = {0};
    bw_status status = bw_session_value(s, s->active, derived, changed, value, &result, &err);
    const char *verdict = status == BW_OK ? bw_session_value_verdict(d, result) : "suspect";
    bw_entry *e = bw_make_at_step(s, ev, out, BW_KIND_DERIVED);
    bw_entry_set_text(e, BW_M_DERIVED, d->id);
    bw_entry_set_text(e, BW_M_FORMULA, d->formula->name);
    bw_entry_set_number(e, BW_M_VALUE, in_unit(result, d->unit));
    bw_entry_set_text(e, BW_M_UNIT, bw_unit_of(d->unit)->name);
    bw_make_limit(e, BW_M_LOW, in_unit(d->low, d->unit));
    bw_make_limit(e, BW_M_HIGH, in_unit(d->high, d->unit));
    bw_entry_set_text(e, BW_M_VERDICT, verdict);
    if (status != BW_OK) {
        bw_entry_set_text(e, BW_M_TEXT, bw_make_text(out, err.text));
        bw_say_no_value(d, err.text, out);
        return;
    }
    bw_say_value(d, result, strcmp(verdict, "pass") == 0, out);
}

bool bw_plausible(const bw_reading_set *set, bw_quantity q) {
    double value = bw_to_base(q.value, q.unit);
    return value >= set->least && value <= set->most;
}

static bool parse(const char *text, const bw_reading_set *set, bw_quantity *q, bw_err *err) {
    bw_dimension dimension = bw_unit_of(set->unit)->dimension;
    return bw_quantity_parse(text, strlen(text), dimension, set->unit, q, err) == BW_OK;
}

/* `54,967` alone could be thousands; here what is plausible tells that the comma is the point. */
bool bw_read_quantity(const char *text, const bw_reading_set *set, bw_quantity *q, bw_err *err) {
    char pointed[BW_PLAN_TEXT_MAX];
    bw_quantity with_point = {0};
    if (parse(text, set, q, err)) {
        return true;
    }
    const char *comma = strchr(text, ',');
    if (comma == NULL || strchr(comma + 1, ',') != NULL ||
        !bw_text_copy(pointed, sizeof pointed, text)) {
        return false;
    }
    pointed[comma - text] = '.';
    if (!parse(pointed, set, &with_point, NULL) || !bw_plausible(set, with_point)) {
        return false;
    }
    *q = with_point;
    return true;
}

/* What differs too much is taken back and stays in the record. */
static void read_point_again(bw_session *s, const bw_event *ev, size_t set, size_t index,
                             double spread, bw_actions *out) {
    const bw_reading_set *rs = &s->plan->step[s->active].set[set];
    const bw_step_state *state = &s->step[s->active];
    size_t repeats = bw_set_repeats(rs);
    size_t at = (index - state->set_first[set]) / repeats;
    uint64_t newest = ev->next_number + out->entry_n - 1;
    bw_say_spread(rs, at, spread, out);
    const char *why = bw_make_text(out, out->say);
    for (size_t i = 0; i < repeats; i++) {
        size_t k = state->set_first[set] + at * repeats + i;
        bw_entry *e = bw_make_at_step(s, ev, out, BW_KIND_CORRECTION);
        bw_entry_set_whole(e, BW_M_CORRECTS,
                           (int64_t)(k == index ? newest : state->reading[k].entry));
        bw_entry_set_text(e, BW_M_REASON, why);
    }
}

/* "54.967 at 31 C": the temperature of what was measured stands behind.  The line without it; false
 * where it is none. */
static bool split_temperature(const char *text, char *reading, bool *has, double *degC,
                              bw_err *err) {
    static const char word[] = " at ";
    const char *at = strstr(text, word);
    bw_quantity q = {0};
    *has = at != NULL;
    (void)bw_text_copy(reading, BW_PLAN_TEXT_MAX, text);
    if (at == NULL) {
        return true;
    }
    reading[at - text] = '\0';
    const char *behind = at + sizeof word - 1;
    if (bw_quantity_parse(behind, strlen(behind), BW_DIM_TEMPERATURE, BW_UNIT_DEGC, &q, err) !=
        BW_OK) {
        return false;
    }
    *degC = bw_to_base(q.value, q.unit);
    if (*degC < -40 || *degC > 150) {
        bw_status status = bw_fail(err, BW_E_DATA,
                                   "between -40 and 150 °C is plausible where somebody measures");
        return status == BW_OK;
    }
    return true;
}

static void answer_reading(bw_session *s, const bw_event *ev, bw_actions *out) {
    const bw_step *step = bw_session_active_step(s);
    size_t set = 0;
    size_t at = 0;
    size_t number = 0;
    if (!bw_session_next_reading(s, s->active, &set, &at, &number)) {
        return;
    }
    const bw_reading_set *rs = &step->set[set];
    bw_quantity q = {0};
    bw_err err = {0};
    char reading[BW_PLAN_TEXT_MAX];
    bool warm = false;
    double degC = 0;
    if (!split_temperature(ev->text, reading, &warm, &degC, &err) ||
        !bw_read_quantity(reading, rs, &q, &err)) {
        bw_say(out, BW_TONE_BAD, err.text);
        return;
    }
    double value = bw_to_base(q.value, q.unit);
    if (!bw_plausible(rs, q)) {
        bw_say_implausible(rs, q, out);
        bw_entry_set_text(bw_make_at_step(s, ev, out, BW_KIND_NOTE), BW_M_TEXT,
                          bw_make_text(out, out->say));
        return;
    }
    bw_entry *e = bw_make_at_step(s, ev, out, BW_KIND_READING);
    bw_entry_set_text(e, BW_M_SET, rs->id);
    bw_entry_set_text(e, BW_M_AT, rs->at[at]);
    bw_entry_set_number(e, BW_M_VALUE, q.value);
    bw_entry_set_text(e, BW_M_UNIT, bw_unit_of(q.unit)->name);
    bw_entry_set_text(e, BW_M_TYPED, ev->text);
    bw_entry_set_text(e, BW_M_GAUGE, step->gauge);
    size_t repeats = bw_set_repeats(rs);
    if (repeats > 1) {
        size_t repeat = (number - 1 - s->step[s->active].set_first[set]) % repeats;
        bw_entry_set_whole(e, BW_M_REPEAT, (int64_t)repeat + 1);
    }
    if (step->has_temperature && set > 0) {
        bw_entry_set_number(e, BW_M_TEMPERATURE_DEGC, s->step[s->active].reading[0].value);
    }
    if (warm) {
        bw_entry_set_number(e, BW_M_TEMPERATURE_DEGC, degC);
    }
    double spread = 0;
    if (bw_session_too_spread(s, s->active, set, number - 1, value, &spread)) {
        read_point_again(s, ev, set, number - 1, spread, out);
    } else if (bw_session_readings_missing(s, s->active) == 1) {
        for (size_t i = 0; i < step->derived_n; i++) {
            if (s->step[s->active].derived[i].state == BW_VALUE_OPEN) {
                add_derived(s, ev, i, number - 1, value, out);
            }
        }
    }
}

static void answer_pull(bw_session *s, const bw_event *ev, bw_actions *out) {
    (void)s;
    (void)ev;
    bw_say(out, BW_TONE_BAD, "The wrench answers here: pull. Type help for what else can be done.");
}

static void answer_no_tool(bw_session *s, const bw_event *ev, bw_actions *out) {
    (void)ev;
    bw_say(out, BW_TONE_BAD,
           !s->tool_lost
               ? bw_needs_trace_text
               : "The wrench is still gone. Plug it in again, or: pause, and go on with another "
                 "one by --wrench");
}

const bw_option *bw_find_option(const bw_prompt *prompt, const char *text, bool numbers) {
    for (size_t i = 0; i < prompt->option_n; i++) {
        bool number = numbers && text[0] == (char)('1' + i) && text[1] == '\0';
        if (number || strcmp(prompt->option[i].word, text) == 0) {
            return &prompt->option[i];
        }
    }
    return NULL;
}

void bw_say_options(const bw_option *option, size_t n, bw_actions *out) {
    bw_text text = bw_text_on(out->say, sizeof out->say);
    bw_text_add(&text, "Answer with one of:");
    for (size_t i = 0; i < n; i++) {
        bw_text_add(&text, "%s %s", i > 0 ? "," : "", option[i].word);
    }
    out->tone = BW_TONE_BAD;
}

/* `another 5`: which one it was stands behind the word. */
static void answer_another(bw_session *s, const bw_event *ev, const char *label, bw_actions *out) {
    const bw_step *step = &s->plan->step[s->spot.step];
    const bw_group *group = &s->plan->group[step->group];
    size_t place = 0;
    if (!bw_group_find_place(group, label, &place) || place == s->spot.place) {
        bw_say(out, BW_TONE_BAD,
               "Write behind the word which fastener was pulled, by label or place number: "
               "another 5");
        return;
    }
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_CORRECTION);
    bw_entry_set_text(e, BW_M_STEP, step->id);
    bw_entry_set_whole(e, BW_M_CORRECTS, (int64_t)s->verdict_entry);
    bw_entry_set_text(e, BW_M_LABEL, group->place[place].label);
    bw_entry_set_text(e, BW_M_REASON, "another one was pulled by mistake, as the builder says");
    bw_say_another(s, place, out);
}

static void answer_options(bw_session *s, const bw_event *ev, bw_actions *out) {
    bw_prompt prompt;
    char word[BW_PLAN_TEXT_MAX];
    (void)bw_text_copy(word, sizeof word, ev->text);
    size_t len = strcspn(word, " ");
    const char *behind = ev->text + len + strspn(ev->text + len, " ");
    word[len] = '\0';
    bw_session_prompt(s, &prompt);
    const bw_option *option = bw_find_option(&prompt, word, true);
    bool another = option != NULL && strcmp(option->word, "another") == 0;
    if (option == NULL || (behind[0] != '\0' && !another)) {
        bw_say_options(prompt.option, prompt.option_n, out);
    } else if (another) {
        answer_another(s, ev, behind, out);
    } else if (strcmp(option->word, "override") == 0) {
        s->draft = (bw_draft){.decides = s->draft.decides, .on = true};
    } else if (strcmp(option->word, "cancel") == 0) {
        s->draft = (bw_draft){0};
    } else {
        (void)bw_make_decision(s, ev, out, option->word);
        bw_say_decided(s, option->word, out);
    }
}

static char folded(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* "A. Lund", "a.lund" and "A Lund" are one person. */
bool bw_same_person(const char *a, const char *b) {
    static const char between[] = " .,-";
    do {
        a += strspn(a, between);
        b += strspn(b, between);
        if (folded(*a) != folded(*b)) {
            return false;
        }
    } while (*a++ != '\0' && *b++ != '\0');
    return true;
}

/* `person B. Roth` is no name, and `back` no reason: such a line is meant as something else. */
static bool meant_otherwise(const bw_event *ev, bw_actions *out) {
    if (!bw_session_is_word(ev->text)) {
        return false;
    }
    bw_say(out, BW_TONE_BAD, "That is a word for another prompt. Answer this one, or: cancel");
    return true;
}

static void answer_second_person(bw_session *s, const bw_event *ev, bw_actions *out) {
    if (meant_otherwise(ev, out)) {
        return;
    }
    if (ev->text[0] == '\0' || strlen(ev->text) >= sizeof s->draft.second) {
        bw_say(out, BW_TONE_BAD, "A name or initials are needed, or: cancel");
    } else if (strcmp(ev->text, "cancel") == 0) {
        s->draft = (bw_draft){.decides = s->draft.decides};
    } else if (bw_same_person(ev->text, s->by)) {
        bw_say(out, BW_TONE_BAD, "That is you. An override needs a second person, or: cancel");
    } else {
        (void)bw_text_copy(s->draft.second, sizeof s->draft.second, ev->text);
        s->draft.asks_reason = true;
    }
}

static void answer_witness(bw_session *s, const bw_event *ev, bw_actions *out) {
    if (bw_is_yes(ev->text) || strlen(ev->text) >= BW_PERSON_MAX) {
        bw_say(out, BW_TONE_BAD,
               "The name or initials of the second person are needed, or: later, pause");
    } else if (bw_same_person(ev->text, s->by)) {
        bw_say(out, BW_TONE_BAD, "That is you. A second person has to look at it");
    } else {
        bw_entry *e = bw_make_at_step(s, ev, out, BW_KIND_CONFIRMED);
        bw_entry_set_text(e, BW_M_SECOND, ev->text);
        bw_say(out, BW_TONE_GOOD, "Kept, with both names.");
    }
}

static void answer_reason(bw_session *s, const bw_event *ev, bw_actions *out) {
    if (meant_otherwise(ev, out)) {
        return;
    }
    if (strcmp(ev->text, "cancel") == 0) {
        s->draft = (bw_draft){.decides = s->draft.decides};
        return;
    }
    if (ev->text[0] == '\0') {
        bw_say(out, BW_TONE_BAD, "A reason is needed that a stranger will understand, or: cancel");
        return;
    }
    bw_entry *e = bw_make_decision(s, ev, out, "override");
    bw_entry_set_text(e, BW_M_REASON, ev->text);
    bw_entry_set_text(e, BW_M_SECOND, bw_make_text(out, s->draft.second));
    bw_say(out, BW_TONE_PLAIN, "Overridden, with both names and the reason.");
}

static void answer_close(bw_session *s, const bw_event *ev, bw_actions *out) {
    if (strcmp(ev->text, "close") != 0) {
        bw_say(out, BW_TONE_BAD,
               "Every step is done, and closing is for good. Type close, or: pause");
        return;
    }
    size_t due = bw_make_due(s, ev, out);
    bw_entry_set_text(bw_make_entry(s, ev, out, BW_KIND_BUILD_CLOSED), BW_M_OUTCOME, "complete");
    bw_say(out, BW_TONE_GOOD,
           due == 0 ? "The build is closed."
                    : "The build is closed. Some fasteners must be seen to again: the sheet says "
                      "which, and when.");
    out->closed = true;
}

static bw_handler *const answers[BW_STATE_COUNT] = {
    [BW_STATE_CONFIRM] = answer_confirm,
    [BW_STATE_NOTE] = answer_note,
    [BW_STATE_READING] = answer_reading,
    [BW_STATE_VALUE] = answer_options,
    [BW_STATE_PULL] = answer_pull,
    [BW_STATE_PULLING] = answer_pull,
    [BW_STATE_NO_TOOL] = answer_no_tool,
    [BW_STATE_LENGTH] = bw_take_length,
    [BW_STATE_SLOT] = bw_take_slot,
    [BW_STATE_VERDICT] = answer_options,
    [BW_STATE_SECOND_PERSON] = answer_second_person,
    [BW_STATE_REASON] = answer_reason,
    [BW_STATE_FIT] = bw_take_fit,
    [BW_STATE_WITNESS] = answer_witness,
    [BW_STATE_CLOSE] = answer_close,
    [BW_STATE_ASK] = bw_take_answer,
    [BW_STATE_POSITION] = bw_take_position,
};

void bw_decide_answer(bw_session *s, const bw_event *ev, bw_actions *out) {
    char line[BW_PLAN_TEXT_MAX];
    if (!bw_tidy_line(ev->text, line, sizeof line)) {
        bw_say(out, BW_TONE_BAD, "That line is too long or holds characters that can't be shown.");
        return;
    }
    bw_event tidied = *ev;
    tidied.text = bw_make_text(out, line);
    if (!bw_try_words(s, &tidied, out)) {
        answers[bw_session_state(s)](s, &tidied, out);
    }
}
