/* session_say_verdict.c - what a pull came to, in a sentence or two: the figure, its limit, and
 * what to do next. */
#include "session/session_int.h"

#include "base/text.h"
#include "judge/unjudged.h"

#include <math.h>
#include <string.h>

typedef struct saying {
    const bw_session *s;
    const bw_verdict *v;
    const bw_plan_stage *stage; /* as the manual writes it */
    bw_stage aim;               /* as it is for this fastener */
    bw_text *text;
} saying;

/* ---- figures ---- */

/* A torque in the manual's unit, as finely as one part in a thousand or so can be read. */
static const char *torque_text(const saying *y, double torque_Nm, char *out) {
    double shown = bw_from_base(torque_Nm, y->s->plan->torque_unit);
    bw_quantity q = {
        .value = shown, .unit = y->s->plan->torque_unit, .decimals = fabs(shown) < 100.0 ? 1 : 0};
    return bw_quantity_text(q, out, BW_SAID_MAX);
}

static const char *degrees_text(double angle_deg, char *out) {
    bw_quantity q = {.value = angle_deg, .unit = BW_UNIT_DEG, .decimals = 0};
    return bw_quantity_text(q, out, BW_SAID_MAX);
}

/* A figure beside the limit that it broke, in the limit's unit, with as many digits as show on
 * which side of it it is. */
static const char *beside(double base_value, bw_quantity limit, int decimals, char *out) {
    double shown = bw_from_base(base_value, limit.unit);
    int least = limit.decimals > decimals ? limit.decimals : decimals;
    bw_quantity q = {.value = shown, .unit = limit.unit};
    q.decimals = bw_decimals_beside_limits(shown, limit.value, limit.value, least);
    return bw_quantity_text(q, out, BW_SAID_MAX);
}

/* A limit of torque as the manual writes it, or in its unit where the prevailing torque is added.
 */
static bw_quantity torque_limit(const saying *y, bool most) {
    static const uint32_t at_the_end = 1u << BW_STAGE_TORQUE_ANGLE | 1u << BW_STAGE_ANGLE |
                                       1u << BW_STAGE_STRETCH;
    bool at_end = (at_the_end >> y->aim.kind & 1u) != 0;
    bw_quantity least_one = at_end ? y->stage->floor : y->stage->low;
    bw_quantity q = !most ? least_one : at_end ? y->stage->ceiling : y->stage->high;
    if (y->aim.adds_prevailing) {
        q.value = bw_from_base(most ? y->aim.high_Nm : y->aim.low_Nm, q.unit);
        q.decimals = q.decimals > 1 ? q.decimals : 1;
    }
    return q;
}

static bw_quantity turn_limit(const saying *y) {
    if (y->stage->high.unit == BW_UNIT_DEG) {
        return y->stage->high;
    }
    return (bw_quantity){.value = y->aim.high_deg, .unit = BW_UNIT_DEG, .decimals = 0};
}

static double judged_Nm(const bw_verdict *v) {
    return v->has_judged ? v->judged_Nm : v->peak_Nm;
}

/* The torque that was judged beside a limit, and that limit. */
typedef struct pair {
    char is[BW_SAID_MAX], limit[BW_SAID_MAX];
} pair;

static pair torque_beside(const saying *y, double torque_Nm, bool most) {
    pair p = {0};
    bw_quantity limit = torque_limit(y, most);
    (void)beside(torque_Nm, limit, 1, p.is);
    (void)bw_quantity_text(limit, p.limit, sizeof p.limit);
    return p;
}

/* ---- passed ---- */

static void pass_torque(const saying *y) {
    char peak[BW_SAID_MAX];
    bw_text_add(y->text, "%s", torque_text(y, y->v->peak_Nm, peak));
}

static void pass_turned(const saying *y) {
    char turn[BW_SAID_MAX];
    pass_torque(y);
    if (y->v->has_turn) {
        bw_text_add(y->text, " after %s", degrees_text(y->v->turn_deg, turn));
    }
}

static void pass_back_off(const saying *y) {
    char turn[BW_SAID_MAX];
    if (y->v->loose) {
        bw_text_add(y->text, "it is loose");
    } else {
        bw_text_add(y->text, "backed off by %s; what torque is left is not known",
                    degrees_text(y->v->turn_deg, turn));
    }
}

static void pass_yield(const saying *y) {
    char torque[BW_SAID_MAX];
    char turn[BW_SAID_MAX];
    bw_text_add(y->text, "it yields at %s after %s", torque_text(y, judged_Nm(y->v), torque),
                degrees_text(y->v->turn_deg, turn));
}

static const char *stretch_text(const saying *y, bw_quantity limit, char *out) {
    return beside(y->v->stretch_mm, limit, limit.unit == BW_UNIT_MM ? 3 : 4, out);
}

static void pass_stretch(const saying *y) {
    char grown[BW_SAID_MAX];
    bw_text_add(y->text, "it has grown by %s", stretch_text(y, y->stage->high, grown));
}

static void pass_slot(const saying *y) {
    pass_torque(y);
    bw_text_add(y->text, ", and a slot meets the hole");
}

static void pass_check(const saying *y) {
    char torque[BW_SAID_MAX];
    bw_text_add(y->text, "it holds: no movement below %s", torque_text(y, judged_Nm(y->v), torque));
}

static void pass_prevailing(const saying *y) {
    char torque[BW_SAID_MAX];
    bw_text_add(y->text, "prevailing torque %s", torque_text(y, judged_Nm(y->v), torque));
}

static void pass_running(const saying *y) {
    char torque[BW_SAID_MAX];
    bw_text_add(y->text, "it turns at %s", torque_text(y, judged_Nm(y->v), torque));
}

static void (*const passes[BW_STAGE_KIND_COUNT])(const saying *y) = {
    [BW_STAGE_TORQUE] = pass_torque,
    [BW_STAGE_TORQUE_ANGLE] = pass_turned,
    [BW_STAGE_ANGLE] = pass_turned,
    [BW_STAGE_BACK_OFF] = pass_back_off,
    [BW_STAGE_YIELD] = pass_yield,
    [BW_STAGE_STRETCH] = pass_stretch,
    [BW_STAGE_SLOT] = pass_slot,
    [BW_STAGE_CHECK] = pass_check,
    [BW_STAGE_PREVAILING] = pass_prevailing,
    [BW_STAGE_ROTATING] = pass_running,
    [BW_STAGE_CREEP] = pass_running,
};

/* ---- too much ---- */

static void say_above(const saying *y) {
    static const char *const says[BW_STAGE_KIND_COUNT] = {
        [BW_STAGE_YIELD] = "yields too late: %s; the most allowed is %s. It may be another bolt.",
        [BW_STAGE_CHECK] = "pulled too far: %s; the most allowed is %s.",
        [BW_STAGE_PREVAILING] = "runs too hard: %s; the most allowed is %s. Look at its thread.",
        [BW_STAGE_ROTATING] = "turns too hard: %s; the most allowed is %s.",
        [BW_STAGE_CREEP] = "too tight: it turns at %s; the most allowed is %s.",
    };
    pair p = torque_beside(y, judged_Nm(y->v), true);
    const char *own = says[y->aim.kind];
    const char *rest = own != NULL ? own : "too high. It went to %s; the most allowed is %s.";
    const char *first = strstr(rest, "%s");
    const char *second = strstr(first + 2, "%s");
    bw_text_add(y->text, "%.*s%s%.*s%s%s", (int)(first - rest), rest, p.is,
                (int)(second - first - 2), first + 2, p.limit, second + 2);
    if (y->aim.kind == BW_STAGE_CREEP) {
        bw_text_add(y->text, " What was crept too far is never turned back: its sleeve must be "
                             "replaced.");
    }
}

static void say_turned_over(const saying *y) {
    char turn[BW_SAID_MAX];
    char limit[BW_SAID_MAX];
    bw_quantity most = turn_limit(y);
    bw_text_add(y->text, "turned too far. It went through %s; the most allowed is %s.",
                beside(y->v->turn_deg, most, 0, turn), bw_quantity_text(most, limit, sizeof limit));
}

static void say_grown_over(const saying *y) {
    char grown[BW_SAID_MAX];
    char limit[BW_SAID_MAX];
    bw_text_add(y->text, "grown too long: by %s; the most allowed is %s.",
                stretch_text(y, y->stage->high, grown),
                bw_quantity_text(y->stage->high, limit, sizeof limit));
}

/* ---- something is wrong with it ---- */

static void say_no_turn(const saying *y) {
    char peak[BW_SAID_MAX];
    bw_text_add(y->text,
                "%s came, but it did not turn: this one was tight already (perhaps the wrong "
                "fastener was pulled), or it is seized. Look at it.",
                torque_text(y, y->v->pull_peak_Nm, peak));
}

static void say_drop(const saying *y) {
    char peak[BW_SAID_MAX];
    bw_text_add(y->text,
                "the torque fell from %s while it was turned on: a thread strips, the socket slips "
                "or the bolt breaks. Take it out and look at both threads.",
                torque_text(y, y->v->pull_peak_Nm, peak));
}

static void say_loosened(const saying *y) {
    bool back_off = y->aim.kind == BW_STAGE_BACK_OFF;
    bw_text_add(y->text, "%s Look which way the wrench is set.",
                back_off ? "it was tightened on the way back."
                         : "it was turned the wrong way under load and is loose again.");
}

static void say_yielding(const saying *y) {
    char peak[BW_SAID_MAX];
    bw_text_add(y->text,
                "up to %s the torque rose less and less while it turned on: the bolt or its thread "
                "gives way. Take it out; compare its length with a new one.",
                torque_text(y, y->v->pull_peak_Nm, peak));
}

static void say_early(const saying *y) {
    bw_text_add(y->text,
                "the torque rose where it should still run free: a crossed thread, dirt, or a bolt "
                "that meets the bottom. Back it out by hand and look.");
}

static void say_beside_others(const saying *y) {
    bool steep = (y->v->reasons & (uint32_t)BW_REASON_STEEP) != 0;
    double median = bw_spot_standing(y->s, &y->s->spot).siblings.median_Nm_per_deg;
    bw_text_add(
        y->text,
        "its torque rose by %.2f N·m a degree, that of the others of its group by %.2f: %s. "
        "Take it out and compare it with the others.",
        y->v->slope_Nm_per_deg, median,
        steep ? "lubricant is missing, or it is another bolt"
              : "another lubricant, a soft part in between, or a washer is missing");
}

/* ---- not enough yet ---- */

static void say_more_turn(const saying *y, double aim_deg, const char *then) {
    char turn[BW_SAID_MAX];
    char left[BW_SAID_MAX];
    bw_text_add(y->text, "not far enough yet. %s done, %s to go: %s.",
                degrees_text(y->v->turn_deg, turn),
                degrees_text(fmax(aim_deg - y->v->turn_deg, 0.0), left), then);
}

static void say_short(const saying *y) {
    char peak[BW_SAID_MAX];
    char most[BW_SAID_MAX];
    switch (y->aim.kind) {
    case BW_STAGE_YIELD:
        bw_text_add(y->text, "it has not yielded yet, at %s: pull on, slowly.",
                    torque_text(y, y->v->pull_peak_Nm, peak));
        break;
    case BW_STAGE_SLOT:
        bw_text_add(y->text, "no slot meets the hole%s %s.",
                    y->v->more ? ": pull on a little, never back, and never above"
                               : ", and it may not be pulled above",
                    bw_quantity_text(torque_limit(y, true), most, sizeof most));
        break;
    case BW_STAGE_BACK_OFF:
        if (y->aim.until_loose) {
            bw_text_add(y->text, "it is not loose yet: turn it back further.");
        } else {
            say_more_turn(y, y->aim.target_deg, "turn it back further");
        }
        break;
    case BW_STAGE_PREVAILING:
    case BW_STAGE_ROTATING:
    case BW_STAGE_CREEP:
        say_more_turn(y, y->aim.least_turn_deg, "keep it turning");
        break;
    default:
        say_more_turn(y, y->aim.target_deg, "pull again");
        break;
    }
}

static void say_below_peak(const saying *y) {
    pair p = torque_beside(y, y->v->more ? y->v->pull_peak_Nm : judged_Nm(y->v), false);
    bw_text_add(y->text, "too low. It reached %s; at least %s is needed%s.", p.is, p.limit,
                y->v->more ? ": pull again" : " at the end of the turn");
}

static void say_below(const saying *y) {
    pair p = torque_beside(y, judged_Nm(y->v), false);
    switch (y->aim.kind) {
    case BW_STAGE_STRETCH:
        bw_text_add(y->text, "hardly any torque came: pull again.");
        break;
    case BW_STAGE_YIELD:
        bw_text_add(y->text, "it yields too early, at %s; not below %s is right.", p.is, p.limit);
        break;
    case BW_STAGE_CHECK:
        bw_text_add(y->text,
                    y->v->more ? "%s tells nothing yet; it must hold at least %s: pull on."
                               : "it has let go: it moved at %s, and must hold at least %s.",
                    p.is, p.limit);
        break;
    case BW_STAGE_PREVAILING:
        bw_text_add(y->text, "it runs too easily: %s; at least %s is needed. It does not lock.",
                    p.is, p.limit);
        break;
    case BW_STAGE_ROTATING:
        bw_text_add(y->text, "it turns too easily: %s; at least %s is needed.", p.is, p.limit);
        break;
    case BW_STAGE_CREEP:
        bw_text_add(y->text,
                    "too loose yet. It turns at %s; at least %s is needed: tighten a little more, "
                    "never back, and turn it again.",
                    p.is, p.limit);
        break;
    default:
        say_below_peak(y);
        break;
    }
}

static void say_grown_short(const saying *y) {
    char grown[BW_SAID_MAX];
    char limit[BW_SAID_MAX];
    bw_text_add(y->text, "grown by %s; at least %s is needed%s.",
                stretch_text(y, y->stage->low, grown),
                bw_quantity_text(y->stage->low, limit, sizeof limit),
                y->v->more ? ": pull on, and measure again" : ", and it may not be pulled further");
}

/* ---- not seen, or not sure ---- */

static void say_gap(const saying *y) {
    bw_text_add(y->text, "the pull was not seen to its end, so it does not count%s.",
                y->v->more ? ": pull again" : " and its turn is not known");
}

static void say_no_trace(const saying *y) {
    bool mute = bw_stage_traits_of(y->aim.kind)->needs_trace;
    bw_text_add(y->text, "the wrench gave no %s, which this stage needs.",
                mute ? "trace" : "angle");
}

static void say_range(const saying *y) {
    char is[BW_SAID_MAX];
    char low[BW_SAID_MAX];
    char high[BW_SAID_MAX];
    const bw_terms *tool = &y->s->tool_terms;
    bw_text_add(y->text, "%s is outside of what this wrench is calibrated for: %s to %s.",
                torque_text(y, judged_Nm(y->v), is), torque_text(y, tool->range_low_Nm, low),
                torque_text(y, tool->range_high_Nm, high));
}

static void say_guard(const saying *y) {
    char is[BW_SAID_MAX];
    char sure[BW_SAID_MAX];
    const char *then = y->v->more ? "Pull on a little." : "Take a wrench that is surer, or decide.";
    if (y->v->uncertainty_Nm > 0) {
        bw_text_add(y->text,
                    "within the limits, but nearer to one than this wrench is sure of: %s, to "
                    "within %s. %s",
                    torque_text(y, judged_Nm(y->v), is), torque_text(y, y->v->uncertainty_Nm, sure),
                    then);
    } else {
        bw_text_add(y->text,
                    "within the limits, but how sure this wrench is of it is not known well enough "
                    "for the rule %s. %s",
                    bw_rule_word(y->s->plan->rule), then);
    }
}

/* ---- all of it ---- */

/* In the order in which they outrank each other. */
static const struct {
    uint32_t reason;
    void (*say)(const saying *y);
} sentences[] = {
    {BW_REASON_ABOVE_LIMIT, say_above},
    {BW_REASON_ANGLE_OVER, say_turned_over},
    {BW_REASON_STRETCH_OVER, say_grown_over},
    {BW_REASON_TORQUE_DROP, say_drop},
    {BW_REASON_LOOSENED, say_loosened},
    {BW_REASON_YIELDING, say_yielding},
    {BW_REASON_EARLY_RISE, say_early},
    {BW_REASON_NO_TURN, say_no_turn},
    {BW_REASON_GAP, say_gap},
    {BW_REASON_STEEP, say_beside_others},
    {BW_REASON_SHALLOW, say_beside_others},
    {BW_REASON_ANGLE_SHORT, say_short},
    {BW_REASON_BELOW_LIMIT, say_below},
    {BW_REASON_STRETCH_SHORT, say_grown_short},
    {BW_REASON_OUT_OF_RANGE, say_range},
    {BW_REASON_INSIDE_GUARD, say_guard},
    {BW_REASON_NO_TRACE, say_no_trace},
};

static void say_fail(const saying *y) {
    for (size_t i = 0; i < sizeof sentences / sizeof sentences[0]; i++) {
        if ((y->v->reasons & sentences[i].reason) != 0) {
            sentences[i].say(y);
            return;
        }
    }
}

static saying about(const bw_session *s, const bw_verdict *v, bw_text *text) {
    return (saying){.s = s,
                    .v = v,
                    .stage = bw_spot_stage(s, &s->spot),
                    .aim = bw_spot_aim(s, &s->spot),
                    .text = text};
}

static void add_behind(bw_text *text, const char *sentence) {
    bw_text_add(text, "%s%s", sentence[0] != '\0' ? " " : "", sentence);
}

void bw_say_verdict(const bw_session *s, const bw_verdict *verdict, const char *question,
                    bw_actions *out) {
    char unjudged[BW_NOT_JUDGED_MAX];
    bool pass = verdict->outcome == BW_VERDICT_PASS;
    bw_text text = bw_on_say(out, pass ? BW_TONE_GOOD : BW_TONE_BAD);
    saying y = about(s, verdict, &text);
    bw_name_spot(s, &text);
    if (pass) {
        bw_text_add(&text, "pass, ");
        passes[y.aim.kind](&y);
        bw_text_add(&text, ".");
    } else {
        say_fail(&y);
    }
    add_behind(&text, bw_judge_not_judged(&y.aim, verdict, unjudged, sizeof unjudged));
    add_behind(&text, question);
}

void bw_say_waiting(const bw_session *s, const bw_verdict *verdict, bw_actions *out) {
    bw_text text = bw_on_say(out, BW_TONE_PLAIN);
    saying y = about(s, verdict, &text);
    bw_name_spot(s, &text);
    bw_text_add(&text, "pulled to ");
    pass_torque(&y);
    bw_text_add(&text, ".");
}
