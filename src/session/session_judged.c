/* session_judged.c - pulls and verdicts as entries, and read back from them. */
#include "session/session_int.h"

#include "judge/question.h"

#include <math.h>
#include <string.h>

/* ---- written ---- */

bw_entry *bw_make_pull(bw_session *s, const bw_event *ev, bw_actions *out, bool asked) {
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_PULL);
    bw_entry_set_flag(e, BW_M_ASKED, asked);
    bw_entry_set_flag(e, BW_M_COMPLETE, ev->complete);
    bw_entry_set_whole(e, BW_M_SAMPLES, (int64_t)ev->samples);
    bw_entry_set_number(e, BW_M_PEAK_NM, ev->verdict->pull_peak_Nm);
    bw_entry_set_text(e, BW_M_TRACE, ev->trace_hex);
    bw_entry_set_text(e, BW_M_RAW, ev->raw_hex);
    bw_entry_set_text(e, BW_M_TOOL, ev->tool);
    bw_entry_set_text(e, BW_M_TYPED, ev->typed);
    if (ev->unread > 0) {
        bw_entry_set_whole(e, BW_M_UNREAD, (int64_t)ev->unread);
    }
    return e;
}

/* What the fold reads of a pull, wherever it stands. */
static void set_facts(bw_entry *e, const bw_verdict *v, bw_actions *out) {
    char words[BW_SAY_MAX / 2];
    bw_entry_set_text(e, BW_M_REASONS,
                      bw_make_text(out, bw_reasons_text(v->reasons, words, sizeof words)));
    bw_entry_set_whole(e, BW_M_PULLS, v->pulls);
    if (v->snug_reached) {
        bw_entry_set_flag(e, BW_M_SNUG, true);
    }
    if (v->has_turn) {
        bw_entry_set_number(e, BW_M_FINAL_DEG, v->turn_deg);
    }
    if (v->has_judged) {
        bw_entry_set_number(e, BW_M_JUDGED_NM, v->judged_Nm);
    }
    if (v->uncertainty_Nm > 0) {
        bw_entry_set_number(e, BW_M_UNCERTAINTY_NM, v->uncertainty_Nm);
    }
    if (v->slope_Nm_per_deg > 0) {
        bw_entry_set_number(e, BW_M_SLOPE, v->slope_Nm_per_deg);
    }
}

void bw_make_waiting(const bw_verdict *v, bw_entry *pull, bw_actions *out) {
    set_facts(pull, v, out);
}

static void set_limits(bw_entry *e, const bw_stage *stage) {
    bw_make_limit(e, BW_M_LOW_NM, stage->low_Nm);
    bw_make_limit(e, BW_M_HIGH_NM, stage->high_Nm);
    bw_make_limit(e, BW_M_LOW_DEG, stage->low_deg);
    bw_make_limit(e, BW_M_HIGH_DEG, stage->high_deg);
    if (stage->kind == BW_STAGE_STRETCH) {
        bw_make_limit(e, BW_M_LOW_MM, stage->low_mm);
        bw_make_limit(e, BW_M_HIGH_MM, stage->high_mm);
    }
}

/* Targets of the step's other stages, as they are for this fastener. */
static size_t other_targets(const bw_session *s, double *out) {
    const bw_step *step = &s->plan->step[s->spot.step];
    size_t n = 0;
    for (size_t i = 0; i < step->stage_n && i < BW_PLAN_STAGES_MAX; i++) {
        bw_spot spot = {.step = s->spot.step, .place = s->spot.place, .stage = i};
        if (i != s->spot.stage) {
            out[n++] = bw_spot_aim(s, &spot).target_Nm;
        }
    }
    return n;
}

/* The joint before is asked about at the first pulls of the one behind it. */
static void set_question(const bw_session *s, const bw_event *ev, const bw_stage *stage,
                         const bw_verdict *v, bw_entry *e, bw_actions *out) {
    char sentence[BW_ASKED_MAX];
    double other_Nm[BW_PLAN_STAGES_MAX];
    const bw_plan_stage *written = bw_spot_stage(s, &s->spot);
    bool torque = bw_unit_of(written->low.unit)->dimension == BW_DIM_TORQUE;
    bool moved_on = s->setting_Nm > 0 && s->setting_step != s->spot.step;
    bw_question_facts facts = {
        .stage = stage,
        .verdict = v,
        .unit = torque ? written->low.unit : s->plan->torque_unit,
        .other_Nm = other_Nm,
        .other_n = other_targets(s, other_Nm),
        .last_setting_Nm = moved_on ? s->setting_Nm : s->last_setting_Nm,
        .peaks_apart_s = ev->peaks_apart_s > 0 ? ev->peaks_apart_s : INFINITY,
    };
    bool asks = bw_judge_question(&facts, sentence, sizeof sentence) != BW_QUESTION_NONE;
    if (!asks && v->outcome == BW_VERDICT_PASS) {
        asks = bw_look_back(s, &s->spot, v->slope_Nm_per_deg, sentence, sizeof sentence);
    }
    if (asks) {
        bw_entry_set_text(e, BW_M_QUESTION, bw_make_text(out, sentence));
    }
}

bw_entry *bw_make_verdict(bw_session *s, const bw_event *ev, bw_actions *out, const bw_verdict *v,
                          const bw_pulled *pulled) {
    const bw_step *step = &s->plan->step[s->spot.step];
    bw_stage stage = bw_spot_aim(s, &s->spot);
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_VERDICT);
    bw_make_spot(s, &s->spot, e);
    bw_entry_set_whole(e, BW_M_OF, (int64_t)pulled->entry);
    bw_entry_set_text(e, BW_M_VERDICT, bw_outcome_word(v->outcome));
    set_facts(e, v, out);
    set_limits(e, &stage);
    bw_entry_set_number(e, BW_M_PEAK_NM, v->peak_Nm);
    bw_entry_set_text(e, BW_M_LUBRICANT, s->plan->group[step->group].lubricant);
    bw_entry_set_text(e, BW_M_DOCUMENT, bw_make_source(s, bw_spot_stage(s, &s->spot), out));
    bw_entry_set_text(e, BW_M_TOOL, bw_make_text(out, pulled->tool));
    bw_entry_set_text(e, BW_M_RULE, bw_rule_word(s->plan->rule));
    bw_entry_set_flag(e, BW_M_MORE, v->more);
    if (pulled->uncertainty_deg > 0) {
        bw_entry_set_number(e, BW_M_UNCERTAINTY_DEG, pulled->uncertainty_deg);
    }
    int cycle = bw_cycle_with(s, &s->spot);
    if (s->plan->group[step->group].cycles > 0 && cycle > 0) {
        bw_entry_set_whole(e, BW_M_CYCLE, cycle);
    }
    if (v->loose) {
        bw_entry_set_flag(e, BW_M_LOOSE, true);
    }
    if (v->has_stretch) {
        bw_entry_set_number(e, BW_M_STRETCH_MM, v->stretch_mm);
    }
    set_question(s, ev, &stage, v, e, out);
    return e;
}

/* ---- read back ---- */

static uint32_t reasons_of(const bw_entry *e) {
    const char *words = bw_entry_text(e, BW_M_REASONS, "");
    uint32_t reasons = 0;
    while (*words != '\0') {
        size_t len = strcspn(words, " ");
        for (size_t i = 0; bw_reason_word(i) != NULL; i++) {
            const char *word = bw_reason_word(i);
            if (strlen(word) == len && strncmp(word, words, len) == 0) {
                reasons |= 1u << i;
            }
        }
        words += len + (words[len] == ' ' ? 1 : 0);
    }
    return reasons;
}

static bw_outcome outcome_of(const bw_entry *e) {
    const char *word = bw_entry_text(e, BW_M_VERDICT, "");
    for (int i = 0; i < BW_VERDICT_COUNT; i++) {
        if (strcmp(bw_outcome_word((bw_outcome)i), word) == 0) {
            return (bw_outcome)i;
        }
    }
    return BW_VERDICT_SUSPECT;
}

static bool has_number(const bw_entry *e, bw_member member) {
    return e->value[member].type == BW_VALUE_NUMBER;
}

bw_verdict bw_verdict_of(const bw_entry *e) {
    bw_verdict v = {.outcome = outcome_of(e), .reasons = reasons_of(e)};
    v.more = bw_entry_flag(e, BW_M_MORE, false);
    v.peak_Nm = bw_entry_number(e, BW_M_PEAK_NM, 0);
    v.pull_peak_Nm = v.peak_Nm;
    v.has_turn = has_number(e, BW_M_FINAL_DEG);
    v.turn_deg = bw_entry_number(e, BW_M_FINAL_DEG, 0);
    v.pull_turn_deg = bw_entry_number(e, BW_M_TURN_DEG, 0);
    v.snug_reached = bw_entry_flag(e, BW_M_SNUG, false);
    int64_t pulls = bw_entry_whole(e, BW_M_PULLS, 1);
    v.pulls = pulls > 0 && pulls < UINT32_MAX ? (uint32_t)pulls : 1;
    v.has_judged = has_number(e, BW_M_JUDGED_NM);
    v.judged_Nm = bw_entry_number(e, BW_M_JUDGED_NM, 0);
    v.uncertainty_Nm = bw_entry_number(e, BW_M_UNCERTAINTY_NM, 0);
    v.loose = bw_entry_flag(e, BW_M_LOOSE, false);
    v.slope_Nm_per_deg = bw_entry_number(e, BW_M_SLOPE, 0);
    v.has_stretch = has_number(e, BW_M_STRETCH_MM);
    v.stretch_mm = bw_entry_number(e, BW_M_STRETCH_MM, 0);
    return v;
}
