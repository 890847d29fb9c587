/* session_seen.c - what is measured or seen at a fastener: its length, a slot of its castle nut.
 *
 * The verdict on the pull before follows in the same event, by the same judge. */
#include "session/session_int.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

/* A bolt that has grown by one part in a hundred is far beyond yield: that, and a bolt that became
 * shorter by more than a gauge strays, is a slip in reading or typing. */
static const double most_growth_share = 0.01;
static const double most_shrink_share = 0.001;

static const double longest_mm = 2000.0;

bw_unit bw_length_unit(const bw_plan_stage *stage) {
    bw_unit written = stage->target.unit;
    return written == BW_UNIT_IN || written == BW_UNIT_THOU ? BW_UNIT_IN : BW_UNIT_MM;
}

/* The stretch stage that the length is for: the one that is asked for, or a later one. */
const bw_plan_stage *bw_stretch_stage(const bw_session *s, const bw_spot *spot) {
    const bw_step *step = &s->plan->step[spot->step];
    size_t stage = spot->stage;
    while (stage + 1 < step->stage_n && step->stage[stage].stage.kind != BW_STAGE_STRETCH) {
        stage++;
    }
    return &step->stage[stage];
}

/* What a length may be, as if it were a set of readings. */
static bw_reading_set plausible_lengths(const bw_session *s, const bw_spot *spot) {
    const bw_plan_stage *stage = bw_stretch_stage(s, spot);
    double free_mm = bw_fastener_at(s, spot)->free_mm;
    bw_reading_set set = {.say = "free length",
                          .unit = bw_length_unit(stage),
                          .decimals = bw_length_unit(stage) == BW_UNIT_IN ? 4 : 3,
                          .least = stage->stage.target_mm / most_growth_share,
                          .most = longest_mm};
    if (s->waits) {
        set.say = "length of this fastener now";
        set.least = free_mm * (1 - most_shrink_share);
        set.most = free_mm * (1 + most_growth_share);
    }
    return set;
}

/* Limits can't be told apart by a gauge that is read more coarsely than half of what lies between
 * them. */
static bool too_coarse(const bw_plan_stage *stage, bw_quantity q) {
    double width_mm = stage->stage.high_mm - stage->stage.low_mm;
    double step_mm = bw_to_base(pow(10.0, -q.decimals), q.unit);
    return isfinite(width_mm) && width_mm > 0 && step_mm > width_mm / 2;
}

static bw_entry *add_length(bw_session *s, const bw_event *ev, bw_actions *out, const bw_spot *spot,
                            bw_quantity q) {
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_FASTENER_LENGTH);
    bw_make_spot(s, spot, e);
    bw_entry_set_text(e, BW_M_AT, s->waits ? "tightened" : "free");
    bw_entry_set_number(e, BW_M_VALUE, q.value);
    bw_entry_set_text(e, BW_M_UNIT, bw_unit_of(q.unit)->name);
    bw_entry_set_text(e, BW_M_TYPED, ev->text);
    return e;
}

static bw_entry *judge_seen(bw_session *s, const bw_event *ev, bw_actions *out,
                            const bw_seen *seen) {
    bw_stage stage = bw_spot_aim(s, &s->spot);
    bw_verdict v = bw_judge_seen(&stage, &s->verdict, seen);
    bw_entry *e = bw_make_verdict(s, ev, out, &v, &s->pulled);
    bw_say_verdict(s, &v, bw_entry_text(e, BW_M_QUESTION, ""), out);
    return e;
}

/* A pull that is not to be measured any more is decided on like a verdict. */
static bool decide_instead(bw_session *s, const bw_event *ev, bw_actions *out) {
    bw_prompt prompt;
    bw_session_prompt(s, &prompt);
    const bw_option *option = s->waits ? bw_find_option(&prompt, ev->text, false) : NULL;
    if (option == NULL) {
        return false;
    }
    (void)bw_make_decision(s, ev, out, option->word);
    bw_say_decided(s, option->word, out);
    return true;
}

static bool read_length(bw_session *s, const bw_event *ev, bw_actions *out, const bw_spot *spot,
                        bw_quantity *q) {
    const bw_plan_stage *stage = bw_stretch_stage(s, spot);
    bw_reading_set set = plausible_lengths(s, spot);
    bw_err err = {0};
    if (!bw_read_quantity(ev->text, &set, q, &err)) {
        bw_say(out, BW_TONE_BAD, err.text);
        return false;
    }
    if (!bw_plausible(&set, *q)) {
        bw_say_implausible(&set, *q, out);
        bw_entry_set_text(bw_make_at_step(s, ev, out, BW_KIND_NOTE), BW_M_TEXT,
                          bw_make_text(out, out->say));
        return false;
    }
    if (too_coarse(stage, *q)) {
        bw_say_too_coarse(stage, out);
        return false;
    }
    return true;
}

void bw_take_length(bw_session *s, const bw_event *ev, bw_actions *out) {
    bw_spot spot = s->spot;
    bw_quantity q = {0};
    bool free_one = !s->waits && bw_session_wants_free_length(s, &spot);
    if (decide_instead(s, ev, out) || !read_length(s, ev, out, &spot, &q)) {
        return;
    }
    (void)add_length(s, ev, out, &spot, q);
    if (free_one) {
        bw_say(out, BW_TONE_PLAIN, "Its free length is kept.");
        return;
    }
    (void)judge_seen(s, ev, out,
                     &(bw_seen){.before_mm = bw_fastener_at(s, &spot)->free_mm,
                                .after_mm = bw_to_base(q.value, q.unit)});
}

/* Enter alone is no answer: whether it meets has to be looked at. */
void bw_take_slot(bw_session *s, const bw_event *ev, bw_actions *out) {
    bool yes = bw_same_word(ev->text, "yes") || bw_same_word(ev->text, "y");
    bool no = bw_same_word(ev->text, "no") || bw_same_word(ev->text, "n");
    if (decide_instead(s, ev, out)) {
        return;
    }
    if (!yes && !no) {
        bw_say(out, BW_TONE_BAD, "Look at it: does a slot meet the hole? Answer yes or no.");
        return;
    }
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_FASTENER_SLOT);
    bw_make_spot(s, &s->spot, e);
    bw_entry_set_flag(e, BW_M_SLOT_MEETS, yes);
    bw_entry_set_text(e, BW_M_TYPED, ev->text);
    bw_entry_set_flag(judge_seen(s, ev, out, &(bw_seen){.slot_meets = yes}), BW_M_SLOT_MEETS, yes);
}
