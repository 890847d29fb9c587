/* session_say.c - the sentences that a builder reads after something happened.
 *
 * Short, with the number and its limit, and with what to do next. */
#include "session/session_int.h"

#include "base/decimal.h"
#include "base/text.h"

#include <math.h>
#include <string.h>

enum { FIGURE_MAX = 64 };

static bw_text on_say(bw_actions *out, bw_tone tone) {
    out->tone = tone;
    return bw_text_on(out->say, sizeof out->say);
}

/* A torque in the manual's unit, as finely as one part in a thousand or so can be read. */
static const char *torque_text(double torque_Nm, bw_unit unit, char *out) {
    double shown = bw_from_base(torque_Nm, unit);
    bw_quantity q = {.value = shown, .unit = unit, .decimals = fabs(shown) < 100.0 ? 1 : 0};
    return bw_quantity_text(q, out, FIGURE_MAX);
}

static const char *degrees_text(double angle_deg, char *out) {
    bw_quantity q = {.value = angle_deg, .unit = BW_UNIT_DEG, .decimals = 0};
    return bw_quantity_text(q, out, FIGURE_MAX);
}

static const bw_plan_stage *spot_stage(const bw_session *s) {
    return &s->plan->step[s->spot.step].stage[s->spot.stage];
}

/* "place 3 (3 left)"; the label is left out where it is the number. */
static void name_place(const bw_group *group, size_t place, bw_text *text) {
    char own[FIGURE_MAX];
    const char *label = group->place[place].label;
    (void)bw_decimal_format((double)(place + 1), 0, own, sizeof own);
    bw_text_add(text, "place %s", own);
    if (strcmp(label, own) != 0) {
        bw_text_add(text, " (%s)", label);
    }
}

static void name_spot(const bw_session *s, bw_text *text) {
    const bw_step *step = &s->plan->step[s->spot.step];
    const bw_group *group = &s->plan->group[step->group];
    bw_text_add(text, "%s, ", group->say);
    name_place(group, s->spot.place, text);
    bw_text_add(text, ", stage %zu: ", s->spot.stage + 1);
}

static void say_pass(const bw_session *s, const bw_verdict *v, bw_text *text) {
    char peak[FIGURE_MAX];
    char turn[FIGURE_MAX];
    const bw_plan_stage *stage = spot_stage(s);
    bw_text_add(text, "pass, %s", torque_text(v->peak_Nm, s->plan->torque_unit, peak));
    if (stage->stage.kind != BW_STAGE_TORQUE && v->has_turn) {
        bw_text_add(text, " after %s", degrees_text(v->turn_deg, turn));
    }
    bw_text_add(text, ".");
}

/* A figure beside the limit that it broke, in the limit's unit, with as many digits as show on
 * which side of it it is. */
static const char *beside(double base_value, bw_quantity limit, int decimals, char *out) {
    double shown = bw_from_base(base_value, limit.unit);
    int least = limit.decimals > decimals ? limit.decimals : decimals;
    bw_quantity q = {.value = shown, .unit = limit.unit};
    q.decimals = bw_decimals_beside_limits(shown, limit.value, limit.value, least);
    return bw_quantity_text(q, out, FIGURE_MAX);
}

/* One function a reason that decides, in the order in which they outrank each other. */
static void say_above(const bw_session *s, const bw_verdict *v, bw_text *text) {
    char peak[FIGURE_MAX];
    char limit[FIGURE_MAX];
    const bw_plan_stage *stage = spot_stage(s);
    bw_quantity most = stage->stage.kind == BW_STAGE_TORQUE ? stage->high : stage->ceiling;
    bw_text_add(text, "too high. It went to %s; the most allowed is %s.",
                beside(v->peak_Nm, most, 1, peak), bw_quantity_text(most, limit, sizeof limit));
}

static void say_turned_over(const bw_session *s, const bw_verdict *v, bw_text *text) {
    char turn[FIGURE_MAX];
    char limit[FIGURE_MAX];
    bw_quantity most = spot_stage(s)->high;
    bw_text_add(text, "turned too far. It went through %s; the most allowed is %s.",
                beside(v->turn_deg, most, 0, turn), bw_quantity_text(most, limit, sizeof limit));
}

static void say_no_turn(const bw_session *s, const bw_verdict *v, bw_text *text) {
    char peak[FIGURE_MAX];
    bw_text_add(text,
                "%s came, but it did not turn: this one was tight already (perhaps the wrong "
                "fastener was pulled), or it is seized. Look at it.",
                torque_text(v->pull_peak_Nm, s->plan->torque_unit, peak));
}

static void say_drop(const bw_session *s, const bw_verdict *v, bw_text *text) {
    char peak[FIGURE_MAX];
    bw_text_add(text,
                "the torque fell from %s while it was turned on: a thread strips, the socket slips "
                "or the bolt breaks. Take it out and look at both threads.",
                torque_text(v->pull_peak_Nm, s->plan->torque_unit, peak));
}

static void say_loosened(const bw_session *s, const bw_verdict *v, bw_text *text) {
    (void)s;
    (void)v;
    bw_text_add(text, "it was turned the wrong way under load and is loose again. Look which way "
                      "the wrench is set.");
}

static void say_yielding(const bw_session *s, const bw_verdict *v, bw_text *text) {
    char peak[FIGURE_MAX];
    bw_text_add(text,
                "up to %s the torque rose less and less while it turned on: the bolt or its thread "
                "gives way. Take it out; compare its length with a new one.",
                torque_text(v->pull_peak_Nm, s->plan->torque_unit, peak));
}

static void say_early(const bw_session *s, const bw_verdict *v, bw_text *text) {
    (void)s;
    (void)v;
    bw_text_add(text, "the torque rose where it should still run free: a crossed thread, dirt, or "
                      "a bolt that meets the bottom. Back it out by hand and look.");
}

static void say_short(const bw_session *s, const bw_verdict *v, bw_text *text) {
    char turn[FIGURE_MAX];
    char left[FIGURE_MAX];
    bw_text_add(text, "not far enough yet. %s done, %s to go: pull again.",
                degrees_text(v->turn_deg, turn),
                degrees_text(spot_stage(s)->stage.target_deg - v->turn_deg, left));
}

static void say_below(const bw_session *s, const bw_verdict *v, bw_text *text) {
    char peak[FIGURE_MAX];
    char limit[FIGURE_MAX];
    const bw_plan_stage *stage = spot_stage(s);
    bw_quantity least = stage->stage.kind == BW_STAGE_TORQUE ? stage->low : stage->floor;
    double shown_Nm = v->more ? v->pull_peak_Nm : v->peak_Nm;
    bw_text_add(text, "too low. It reached %s; at least %s is needed%s.",
                beside(shown_Nm, least, 1, peak), bw_quantity_text(least, limit, sizeof limit),
                v->more ? ": pull again" : " at the end of the turn");
}

static void say_gap(const bw_session *s, const bw_verdict *v, bw_text *text) {
    (void)s;
    bw_text_add(text, "the pull was not seen to its end, so it does not count%s.",
                v->more ? ": pull again" : " and its turn is not known");
}

static void say_no_trace(const bw_session *s, const bw_verdict *v, bw_text *text) {
    (void)s;
    (void)v;
    bw_text_add(text, "the wrench gave no angle, which this stage needs.");
}

static const struct {
    uint32_t reason;
    void (*say)(const bw_session *s, const bw_verdict *v, bw_text *text);
} sentences[] = {
    {BW_REASON_ABOVE_LIMIT, say_above}, {BW_REASON_ANGLE_OVER, say_turned_over},
    {BW_REASON_TORQUE_DROP, say_drop},  {BW_REASON_LOOSENED, say_loosened},
    {BW_REASON_YIELDING, say_yielding}, {BW_REASON_EARLY_RISE, say_early},
    {BW_REASON_NO_TURN, say_no_turn},   {BW_REASON_GAP, say_gap},
    {BW_REASON_ANGLE_SHORT, say_short}, {BW_REASON_BELOW_LIMIT, say_below},
    {BW_REASON_NO_TRACE, say_no_trace},
};

void bw_say_verdict(const bw_session *s, const bw_verdict *verdict, bw_actions *out) {
    bool pass = verdict->outcome == BW_VERDICT_PASS;
    bw_text text = on_say(out, pass ? BW_TONE_GOOD : BW_TONE_BAD);
    name_spot(s, &text);
    if (pass) {
        say_pass(s, verdict, &text);
        return;
    }
    for (size_t i = 0; i < sizeof sentences / sizeof sentences[0]; i++) {
        if ((verdict->reasons & sentences[i].reason) != 0) {
            sentences[i].say(s, verdict, &text);
            return;
        }
    }
}

void bw_say_aside(const bw_session *s, const bw_verdict *verdict, bw_actions *out) {
    char peak[FIGURE_MAX];
    bw_text text = on_say(out, BW_TONE_BAD);
    bw_text_add(&text,
                "A pull of %s came while none was asked for. It is recorded and counts for "
                "nothing; look which fastener it was.",
                torque_text(verdict->pull_peak_Nm, s->plan->torque_unit, peak));
}

static const char *value_text(double value, bw_unit unit, int decimals, char *out) {
    bw_quantity q = {.value = bw_from_base(value, unit), .unit = unit, .decimals = decimals};
    return bw_quantity_text(q, out, FIGURE_MAX);
}

static void add_limits(const bw_derived *d, bw_text *text) {
    char low[FIGURE_MAX];
    char high[FIGURE_MAX];
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

void bw_say_value(const bw_derived *derived, double value, bool fine, bw_actions *out) {
    char shown[FIGURE_MAX];
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
        out->tone = BW_TONE_BAD;
    } else if (out->tone == BW_TONE_PLAIN) {
        out->tone = BW_TONE_GOOD;
    }
}

void bw_say_implausible(const bw_reading_set *set, bw_quantity typed, bw_actions *out) {
    char shown[FIGURE_MAX];
    char least[FIGURE_MAX];
    char most[FIGURE_MAX];
    bw_text text = on_say(out, BW_TONE_BAD);
    bw_text_add(&text, "%s can't be a %s: between %s and %s is plausible. Read it again.",
                bw_quantity_text(typed, shown, sizeof shown), set->say,
                value_text(set->least, set->unit, set->decimals, least),
                value_text(set->most, set->unit, set->decimals, most));
}

void bw_say_wrong(const bw_session *s, size_t place, bw_actions *out) {
    const bw_group *group = &s->plan->group[s->plan->step[s->accepted.step].group];
    const bw_progress *other = &s->step[s->accepted.step].progress[place];
    bw_text text = on_say(out, BW_TONE_BAD);
    const char *then = other->stages_done == s->accepted.stage ? "has this stage now, out of order"
                                                               : "was tightened twice: look at it";
    bw_text_add(&text, "Corrected: ");
    name_place(group, place, &text);
    bw_text_add(&text, " %s; ", then);
    name_place(group, s->accepted.place, &text);
    bw_text_add(&text, " is asked for again.");
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
    bw_text text = on_say(out, BW_TONE_PLAIN);
    size_t done = 0;
    for (size_t i = 0; i < s->plan->step_n; i++) {
        done += s->step[i].done ? 1 : 0;
    }
    bw_text_add(&text, "Going on: %zu of %zu steps are done.", done, s->plan->step_n);
    if (s->running && s->pulling) {
        bw_text_add(&text, " The last pull was broken off and is lost: ");
        name_spot(s, &text);
        bw_text_add(&text, "it may carry some torque already.");
        out->tone = BW_TONE_BAD;
    }
}

void bw_say_help(const bw_session *s, bw_actions *out) {
    bw_text text = on_say(out, BW_TONE_PLAIN);
    (void)s;
    bw_text_add(&text, "yes or Enter   it is done as said\n"
                       "back           take the last reading again\n"
                       "wrong LABEL    the last accepted pull was on that fastener instead\n"
                       "later [WHY]    leave this step for later\n"
                       "note TEXT      write something down\n"
                       "person NAME    hand over to another person\n"
                       "pause          stop here; the same command goes on\n"
                       "reject WHY     end the build as rejected");
}
