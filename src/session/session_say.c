/* session_say.c - the sentences that a builder reads after something happened.
 *
 * Short, with the number and its limit, and with what to do next. */
#include "session/session_int.h"

#include "base/decimal.h"
#include "base/text.h"

#include <math.h>
#include <string.h>

bw_text bw_on_say(bw_actions *out, bw_tone tone) {
    out->tone = tone;
    return bw_text_on(out->say, sizeof out->say);
}

/* A torque in the manual's unit, as finely as one part in a thousand or so can be read. */
static const char *torque_text(double torque_Nm, bw_unit unit, char *out) {
    double shown = bw_from_base(torque_Nm, unit);
    bw_quantity q = {.value = shown, .unit = unit, .decimals = fabs(shown) < 100.0 ? 1 : 0};
    return bw_quantity_text(q, out, BW_SAID_MAX);
}

/* "place 3 (3 left)"; the label is left out where it is the number. */
void bw_name_place(const bw_group *group, size_t place, bw_text *text) {
    char own[BW_SAID_MAX];
    const char *label = group->place[place].label;
    (void)bw_decimal_format((double)(place + 1), 0, own, sizeof own);
    bw_text_add(text, "place %s", own);
    if (strcmp(label, own) != 0) {
        bw_text_add(text, " (%s)", label);
    }
}

void bw_name_spot(const bw_session *s, bw_text *text) {
    const bw_step *step = &s->plan->step[s->spot.step];
    const bw_group *group = &s->plan->group[step->group];
    bw_text_add(text, "%s, ", group->say);
    bw_name_place(group, s->spot.place, text);
    bw_text_add(text, ", stage %zu: ", s->spot.stage + 1);
}

static const char *typed_how(const bw_session *s, const bw_event *ev) {
    if (ev->typed == NULL) {
        return "";
    }
    return strcmp(s->tool_port, "hand") == 0 ? ", typed by hand" : ", typed";
}

void bw_say_aside(const bw_session *s, const bw_event *ev, bw_actions *out) {
    const bw_verdict *verdict = ev->verdict;
    unsigned long long entry = ev->next_number;
    char peak[BW_SAID_MAX];
    if (bw_session_is_free(s)) {
        bw_text plain = bw_on_say(out, BW_TONE_PLAIN);
        bw_text_add(&plain,
                    "Pull %llu: %s%s, recorded and not judged. To say what it was: name %llu ...",
                    entry, torque_text(verdict->pull_peak_Nm, s->plan->torque_unit, peak),
                    typed_how(s, ev), entry);
        return;
    }
    bw_text text = bw_on_say(out, BW_TONE_BAD);
    bw_text_add(&text,
                "A pull of %s came while none was asked for. It is recorded and counts for "
                "nothing; look which fastener it was.",
                torque_text(verdict->pull_peak_Nm, s->plan->torque_unit, peak));
}

void bw_say_too_soon(const bw_session *s, const bw_verdict *verdict, bw_actions *out) {
    char peak[BW_SAID_MAX];
    bw_text text = bw_on_say(out, BW_TONE_BAD);
    bw_text_add(&text,
                "A second pull, of %s, came and went within a second of the accepted one: no hand "
                "gets to another fastener in that time. It is recorded and counts for nothing.",
                torque_text(verdict->pull_peak_Nm, s->plan->torque_unit, peak));
}

static const char *value_text(double value, bw_unit unit, int decimals, char *out) {
    bw_quantity q = {.value = bw_from_base(value, unit), .unit = unit, .decimals = decimals};
    return bw_quantity_text(q, out, BW_SAID_MAX);
}

static void add_limits(const bw_derived *d, bw_text *text) {
    char low[BW_SAID_MAX];
    char high[BW_SAID_MAX];
    bool has_low = isfinite(d->low);
    bool has_high = isfinite(d->high);
    if (has_low && has_high) {
        bw_text_add(text, " (limits %s to %s)", value_text(d->low, d->unit, d->decimals, low),
                    value_text(d->high, d->unit, d->decimals, high));
    } else if (has_high) {
        bw_text_add(text, " (at most %s)", value_text(d->high, d->unit, d->decimals, high));
    } else if (has_low) {
        bw_text_add(text, " (at least %s)", value_text(d->low, d->unit, d->decimals, low));
    }
}

static double limit_in(double base_limit, bw_unit unit) {
    return isfinite(base_limit) ? bw_from_base(base_limit, unit) : base_limit;
}

/* What is to be done about a value outside of its limits, and how far it is beyond; NULL where the
 * sequence says nothing of it. */
static const char *remedy(const bw_derived *d, double value, double *beyond) {
    bool low = value < d->low;
    *beyond = low ? d->low - value : value - d->high;
    return low ? d->when_low : value > d->high ? d->when_high : NULL;
}

static void add_remedy(const bw_derived *d, double value, bw_text *text) {
    char shown[BW_SAID_MAX];
    double beyond = 0;
    const char *what = remedy(d, value, &beyond);
    if (what != NULL) {
        bw_text_add(text, " %s: %s. %s", value < d->low ? "To go" : "Too much by",
                    value_text(beyond, d->unit, d->decimals, shown), what);
    }
}

void bw_say_value(const bw_derived *derived, double value, bool fine, bw_actions *out) {
    char shown[BW_SAID_MAX];
    bw_text text = {.data = out->say, .size = sizeof out->say, .len = strlen(out->say)};
    int decimals = bw_decimals_beside_limits(
        bw_from_base(value, derived->unit), limit_in(derived->low, derived->unit),
        limit_in(derived->high, derived->unit), derived->decimals);
    bw_text_add(&text, "%s%s %s%s: %s", text.len > 0 ? "\n" : "", derived->say,
                value_text(value, derived->unit, decimals, shown), fine ? "" : " is outside",
                fine ? "good" : "measure again or decide");
    add_limits(derived, &text);
    bw_text_add(&text, ".");
    if (!fine) {
        add_remedy(derived, value, &text);
        out->tone = BW_TONE_BAD;
    } else if (out->tone == BW_TONE_PLAIN) {
        out->tone = BW_TONE_GOOD;
    }
}

void bw_say_spread(const bw_reading_set *set, size_t at, double spread, bw_actions *out) {
    char shown[BW_SAID_MAX];
    char most[BW_SAID_MAX];
    bw_text text = bw_on_say(out, BW_TONE_BAD);
    bw_text_add(&text, "%s, %s: %zu readings differ by %s, at most %s. Read this point again.",
                set->say, set->at[at], bw_set_repeats(set),
                value_text(spread, set->unit, set->decimals + 1, shown),
                value_text(set->spread, set->unit, set->decimals + 1, most));
}

void bw_say_no_value(const bw_derived *derived, const char *why, bw_actions *out) {
    bw_text text = {.data = out->say, .size = sizeof out->say, .len = strlen(out->say)};
    bw_text_add(&text, "%s%s can't be worked out: %s. Measure again or decide.",
                text.len > 0 ? "\n" : "", derived->say, why);
    out->tone = BW_TONE_BAD;
}

void bw_say_read_again(const bw_session *s, size_t step, uint64_t entry, bw_actions *out) {
    const bw_step_state *state = &s->step[step];
    char was[BW_SAID_MAX];
    bw_text text = bw_on_say(out, BW_TONE_PLAIN);
    bool reading = s->plan->step[step].kind == BW_STEP_MEASURE || entry == s->answered.entry;
    bool part = s->plan->step[step].kind == BW_STEP_FIT;
    const char *what = reading ? "reading" : part ? "part" : "answer";
    bw_text_add(&text, "The last %s is open again; the old one", what);
    for (size_t i = 0; i < s->plan->step[step].set_n; i++) {
        const bw_reading_set *set = &s->plan->step[step].set[i];
        for (size_t k = 0; k < set->at_n * bw_set_repeats(set); k++) {
            const bw_reading_state *given = &state->reading[state->set_first[i] + k];
            if (given->given && given->entry == entry) {
                bw_text_add(&text, ", %s,",
                            value_text(given->value, set->unit, set->decimals, was));
            }
        }
    }
    bw_text_add(&text, " stays in the record.");
}

void bw_say_implausible(const bw_reading_set *set, bw_quantity typed, bw_actions *out) {
    char shown[BW_SAID_MAX];
    char least[BW_SAID_MAX];
    char most[BW_SAID_MAX];
    bw_text text = bw_on_say(out, BW_TONE_BAD);
    if (bw_unit_of(set->unit)->dimension == BW_DIM_TEMPERATURE) {
        bw_text_add(&text,
                    "%s: nothing is measured before it is between %s and %s. Let it lie, or: "
                    "later",
                    bw_quantity_text(typed, shown, sizeof shown),
                    value_text(set->least, set->unit, set->decimals, least),
                    value_text(set->most, set->unit, set->decimals, most));
        return;
    }
    bw_text_add(&text, "%s can't be a %s: between %s and %s is plausible. Read it again.",
                bw_quantity_text(typed, shown, sizeof shown), set->say,
                value_text(set->least, set->unit, set->decimals, least),
                value_text(set->most, set->unit, set->decimals, most));
}

void bw_say_wrong(const bw_session *s, size_t place, bw_actions *out) {
    const bw_group *group = &s->plan->group[s->plan->step[s->accepted.step].group];
    bw_spot other = {.step = s->accepted.step, .place = place, .stage = s->accepted.stage};
    bw_text text = bw_on_say(out, BW_TONE_BAD);
    const char *then = "was tightened twice: look at it";
    if (bw_carries_over(s, &other)) {
        then = "has this stage now, out of order";
    } else if (bw_progress_at(s, &other)->stages_done <= other.stage) {
        then = "was tightened out of order, and must be loosened before its turn comes";
    }
    bw_text_add(&text, "Corrected: ");
    bw_name_place(group, place, &text);
    bw_text_add(&text, " %s; ", then);
    bw_name_place(group, s->accepted.place, &text);
    bw_text_add(&text, " is asked for again.");
}

void bw_say_another(const bw_session *s, size_t place, bw_actions *out) {
    const bw_group *group = &s->plan->group[s->plan->step[s->spot.step].group];
    bw_text text = bw_on_say(out, BW_TONE_BAD);
    bw_text_add(&text, "Corrected: it was ");
    bw_name_place(group, place, &text);
    bw_text_add(&text, ", and that one must be seen to first; then ");
    bw_name_place(group, s->spot.place, &text);
    bw_text_add(&text, " is asked for again.");
}

void bw_say_too_coarse(const bw_plan_stage *stage, bw_actions *out) {
    char width[BW_SAID_MAX];
    double width_mm = stage->stage.high_mm - stage->stage.low_mm;
    bw_text text = bw_on_say(out, BW_TONE_BAD);
    bw_text_add(&text,
                "Read it more finely: the limits of its growth are only %s apart. Write all the "
                "digits that the gauge shows, also noughts.",
                value_text(width_mm, BW_UNIT_MM, 3, width));
}

/* A name stands for a device only as long as the device's own number does not say otherwise. */
void bw_say_changed_wrench(const bw_session *s, const bw_event *ev, bw_actions *out) {
    const char *serial = ev->tool_card.device_serial;
    if (serial == NULL || serial[0] == '\0' || s->tool_serial[0] == '\0') {
        return;
    }
    bool same = strcmp(serial, s->tool_serial) == 0;
    if (!same && strcmp(ev->tool, s->tool) == 0) {
        bw_text text = bw_on_say(out, BW_TONE_BAD);
        bw_text_add(&text,
                    "Another device than before in this build is %s now: serial number %s, it was "
                    "%s. Is it the wrench that you mean?",
                    ev->tool, serial, s->tool_serial);
    } else if (same && strcmp(ev->port, s->tool_port) != 0) {
        bw_text text = bw_on_say(out, BW_TONE_PLAIN);
        bw_text_add(&text, "The wrench with serial number %s is the one that was on %s before.",
                    serial, s->tool_port);
    }
}

/* A guard that is not known guards nothing. */
void bw_say_unsure_wrench(const bw_session *s, const bw_terms *tool, bw_actions *out) {
    bool torque = tool->uncertainty_share > 0;
    bool angle = tool->uncertainty_deg > 0;
    if (s->plan->rule == BW_RULE_SIMPLE || (torque && angle)) {
        return;
    }
    bw_text text = {.data = out->say, .size = sizeof out->say, .len = strlen(out->say)};
    out->tone = BW_TONE_BAD;
    bw_text_add(&text,
                "%sThis sequence judges by the rule %s, but how far this wrench's %s is not known: "
                "what it measures can't be accepted. Say it with --wrench PORT,%s.",
                text.len > 0 ? " " : "", bw_rule_word(s->plan->rule),
                torque ? "angle can be trusted" : "torque can be trusted",
                torque ? "angle_uncertainty=DEGREES" : "uncertainty=PER_CENT");
}

void bw_say_decided(const bw_session *s, const char *word, bw_actions *out) {
    static const struct {
        const char *word, *sentence;
    } rows[] = {
        {"loosen", "Loosen it fully with another tool; it begins again at its first stage."},
        {"replace", "Put in a new one, lubricated as said; it begins again at its first stage."},
        {"repeat", "This one is asked for again."},
        {"unmoved", "It goes on from where it stood."},
        {"again", "Measure again."},
    };
    (void)s;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (strcmp(rows[i].word, word) == 0) {
            bw_say(out, BW_TONE_PLAIN, rows[i].sentence);
        }
    }
}

void bw_say_resumed(const bw_session *s, bw_actions *out) {
    bw_text text = bw_on_say(out, BW_TONE_PLAIN);
    size_t done = 0;
    for (size_t i = 0; i < s->plan->step_n; i++) {
        done += s->step[i].done ? 1 : 0;
    }
    bw_text_add(&text, "Going on: %zu of %zu steps are done.", done, s->plan->step_n);
    if (s->running && s->pulling) {
        bw_text_add(&text, " The last pull was broken off and is lost: ");
        bw_name_spot(s, &text);
        bw_text_add(&text, "it may carry some torque already.");
        out->tone = BW_TONE_BAD;
    }
}

void bw_say_help(const bw_session *s, bw_actions *out) {
    bw_text text = bw_on_say(out, BW_TONE_PLAIN);
    (void)s;
    bw_text_add(&text, "yes or Enter   it is done as said\n"
                       "back           take back the last reading, answer or confirmation\n"
                       "wrong LABEL    the last accepted pull was on that fastener instead\n"
                       "decide         the last pull was not enough, and no other can mend it\n"
                       "later [WHY]    leave this step for later\n"
                       "note TEXT      write something down\n"
                       "part NAME      enter a part: part head bolts, batch HB-204, quantity 10\n"
                       "file PATH      put a photo's or document's hash into the record\n"
                       "name [N] WHAT  say what the last unasked pull was, or that of entry N\n"
                       "checkpoint WHY sign the record up to here\n"
                       "redo STEP WHY  do a step anew that was done, and what stands on it\n"
                       "person NAME    hand over to another person\n"
                       "pause          stop here; the same command goes on\n"
                       "reject WHY     end the build as rejected");
}
