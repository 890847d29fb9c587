/* judge_answer.c - see judge_answer.h. */
#include "command/judge_answer.h"

#include "face/figures.h"
#include "judge/unjudged.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>

/* ---- JSON ---- */

static void set(json_t *all, const char *name, bool known, double value) {
    (void)json_object_set_new(all, name, known ? json_real(value) : json_null());
}

void bw_judge_answer_json(const bw_judged *j) {
    char text[BW_NOT_JUDGED_MAX];
    const bw_verdict *v = &j->verdict;
    json_t *reasons = json_array();
    for (size_t i = 0; bw_reason_word(i) != NULL; i++) {
        if ((v->reasons >> i & 1u) != 0) {
            (void)json_array_append_new(reasons, json_string(bw_reason_word(i)));
        }
    }
    json_t *all = json_object();
    (void)json_object_set_new(all, "verdict", json_string(bw_outcome_word(v->outcome)));
    set(all, "peak_torque_Nm", true, v->peak_Nm);
    set(all, "final_angle_deg", v->has_turn, v->turn_deg);
    (void)json_object_set_new(all, "reasons", reasons);
    (void)json_object_set_new(all, "pulls", json_integer(v->pulls));
    set(all, "judged_torque_Nm", v->has_judged, v->judged_Nm);
    set(all, "slope_Nm_per_deg", v->slope_Nm_per_deg > 0, v->slope_Nm_per_deg);
    (void)json_object_set_new(all, "rule", json_string(bw_rule_word(v->rule)));
    set(all, "uncertainty_Nm", v->uncertainty_Nm > 0, v->uncertainty_Nm);
    set(all, "uncertainty_deg", j->terms.uncertainty_deg > 0, j->terms.uncertainty_deg);
    (void)json_object_set_new(all, "loose", json_boolean(v->loose));
    (void)json_object_set_new(all, "not_judged",
                              json_string(bw_judge_not_judged(&j->as, v, text, sizeof text)));
    (void)json_object_set_new(all, "question", json_string(j->question_text));
    (void)json_dumpf(all, stdout, JSON_COMPACT);
    (void)printf("\n");
    json_decref(all);
}

/* ---- limits, where a reason stands for one ---- */

typedef enum side { NO_LIMIT, AT_LEAST, AT_MOST, BETWEEN } side;
typedef enum about { OF_TORQUE, OF_TURN, OF_LEAST_TURN, OF_RANGE } limited;

static const struct {
    bw_reason reason;
    side side;
    limited about;
    const char *word;
} limits[] = {
    {BW_REASON_BELOW_LIMIT, AT_LEAST, OF_TORQUE, "allowed"},
    {BW_REASON_ABOVE_LIMIT, AT_MOST, OF_TORQUE, "allowed"},
    {BW_REASON_ANGLE_SHORT, AT_LEAST, OF_TURN, "allowed"},
    {BW_REASON_ANGLE_OVER, AT_MOST, OF_TURN, "allowed"},
    {BW_REASON_NO_TURN, AT_LEAST, OF_LEAST_TURN, "a fresh fastener turns by"},
    {BW_REASON_OUT_OF_RANGE, BETWEEN, OF_RANGE, "calibrated"},
};

static bw_quantity quantity_of(const bw_judged *j, limited about, double value) {
    bool turn = about == OF_TURN || about == OF_LEAST_TURN;
    bw_unit unit = turn ? BW_UNIT_DEG : j->plan->torque_unit;
    return (bw_quantity){bw_from_base(value, unit), unit, -1};
}

/* "; allowed: at least 57 N·m"; nothing where there is no such limit. */
static void add_limits(bw_text *text, const bw_judged *j, const char *word, limited about,
                       double low, double high) {
    if (isfinite(low) && isfinite(high)) {
        bw_text_add(text, "; %s: ", word);
        bw_limits_add(text, quantity_of(j, about, low), quantity_of(j, about, high));
    } else if (isfinite(low) || isfinite(high)) {
        bw_text_add(text, "; %s: %s ", word, isfinite(low) ? "at least" : "at most");
        bw_figure_add(text, quantity_of(j, about, isfinite(low) ? low : high));
    }
}

static void add_limit(bw_text *text, const bw_judged *j, bw_reason reason) {
    const bw_stage *s = &j->as;
    const struct {
        double low, high;
    } values[] = {
        [OF_TORQUE] = {s->low_Nm, s->high_Nm},
        [OF_TURN] = {s->low_deg, s->high_deg},
        [OF_LEAST_TURN] = {s->least_turn_deg > 0 ? s->least_turn_deg : NAN, NAN},
        [OF_RANGE] = {j->terms.range_low_Nm, j->terms.range_high_Nm},
    };
    for (size_t i = 0; i < sizeof limits / sizeof limits[0]; i++) {
        if (limits[i].reason == reason) {
            limited about = limits[i].about;
            double low = limits[i].side == AT_MOST ? NAN : values[about].low;
            double high = limits[i].side == AT_LEAST ? NAN : values[about].high;
            add_limits(text, j, limits[i].word, about, low, high);
        }
    }
}

/* Where the wrench is sure: the limits drawn in by the guard. */
static void add_guard(bw_text *text, const bw_judged *j, const char *word, limited about,
                      double expanded, double low, double high) {
    double guard = bw_rule_guard(j->terms.rule) * expanded / 2; /* expanded: k = 2 */
    if (expanded > 0) {
        add_limits(text, j, word, about, low + guard, high - guard);
    } else if (isfinite(low) || isfinite(high)) {
        bw_text_add(text, "; %s: nowhere, its uncertainty is not known", word);
    }
}

static void add_guards(bw_text *text, const bw_judged *j) {
    const bw_stage *s = &j->as;
    const bw_verdict *v = &j->verdict;
    if (v->has_judged) {
        add_guard(text, j, "sure of the torque", OF_TORQUE, v->uncertainty_Nm, s->low_Nm,
                  s->high_Nm);
    }
    if (v->has_turn && bw_stage_traits_of(s->kind)->limits_turn) {
        add_guard(text, j, "sure of the turn", OF_TURN, j->terms.uncertainty_deg, s->low_deg,
                  s->high_deg);
    }
}

/* ---- the text ---- */

static const bw_sample *sample_at(const bw_judged *j, double time_s) {
    size_t i = 0;
    while (i + 1 < j->n && j->sample[i].time_s < time_s) {
        i++;
    }
    return &j->sample[i];
}

static void print_reason(const bw_judged *j, size_t index) {
    char line[2048];
    double time_s = 0;
    bw_reason reason = (bw_reason)(1u << index);
    bw_text text = bw_text_on(line, sizeof line);
    bw_text_add(&text, "  %s: %s\n", bw_reason_word(index), bw_reason_says(index));
    if (bw_judge_when(&j->judge, reason, &time_s)) {
        const bw_sample *at = sample_at(j, time_s);
        bw_text_add(&text, "    In the trace: at %.3f s, ", at->time_s);
        bw_torque_add(&text, at->torque_Nm, j->plan->torque_unit);
        if (at->has_angle) {
            bw_text_add(&text, ", handle at %.1f°", at->angle_deg);
        }
        add_limit(&text, j, reason);
        if (reason == BW_REASON_INSIDE_GUARD) {
            add_guards(&text, j);
        }
        bw_text_add(&text, "\n");
    }
    bw_text_add(&text, "    On the bench: %s\n", bw_reason_look(index));
    (void)fputs(line, stdout);
}

/* What the judged torque is, where it is not simply the peak. */
static const char *const judged_is[BW_STAGE_KIND_COUNT] = {
    [BW_STAGE_YIELD] = "where it began to yield",
    [BW_STAGE_CHECK] = "where it first moved, or the peak where it held",
    [BW_STAGE_PREVAILING] = "the mean while it was run down",
    [BW_STAGE_ROTATING] = "the mean while it turned",
    [BW_STAGE_CREEP] = "the mean while it turned",
};

static void add_seen(bw_text *text, const bw_judged *j) {
    const bw_verdict *v = &j->verdict;
    bw_text_add(text, "\nSeen: peak ");
    bw_torque_add(text, v->peak_Nm, j->plan->torque_unit);
    if (v->has_turn) {
        bw_text_add(text, ", turn %.1f°", fabs(v->turn_deg) < 0.05 ? 0.0 : v->turn_deg);
    }
    bw_text_add(text, ", %u %s", v->pulls, v->pulls == 1 ? "pull" : "pulls");
    if (v->has_judged && judged_is[j->as.kind] != NULL) {
        bw_text_add(text, "\nHeld against the limits: ");
        bw_value_beside_add(text, v->judged_Nm, j->as.low_Nm, j->as.high_Nm, j->plan->torque_unit,
                            1);
        bw_text_add(text, ", %s", judged_is[j->as.kind]);
    }
    if (v->slope_Nm_per_deg > 0) {
        bw_text_add(text,
                    "\nSlope of the joint: %.3g N·m per degree, to be held against its group's",
                    v->slope_Nm_per_deg);
    }
}

static void add_terms(bw_text *text, const bw_judged *j) {
    const bw_terms *t = &j->terms;
    if (t->rule == BW_RULE_SIMPLE && !(t->uncertainty_share > 0) && !(t->uncertainty_deg > 0)) {
        return;
    }
    bw_text_add(text, "\nDecision rule: %s; uncertainty of the wrench: ", bw_rule_word(t->rule));
    if (t->uncertainty_share > 0) {
        bw_text_add(text, "%.3g %% of the torque", 100 * t->uncertainty_share);
    } else {
        bw_text_add(text, "of the torque not known (--uncertainty)");
    }
    if (t->uncertainty_deg > 0) {
        bw_text_add(text, ", %.3g° of an angle", t->uncertainty_deg);
    } else if (bw_stage_traits_of(j->as.kind)->limits_turn) {
        bw_text_add(text, ", of an angle not known (--angle-uncertainty)");
    }
}

/* A pull that passed decides nothing yet where the gauge or the eye does. */
static void print_rest(const bw_judged *j) {
    char line[512];
    bw_text text = bw_text_on(line, sizeof line);
    bool passed = j->verdict.outcome == BW_VERDICT_PASS;
    if (passed && j->as.kind == BW_STAGE_STRETCH) {
        bw_text_add(&text, "Still to be measured: its length now, against its length free.  It "
                           "must have grown by ");
        bw_limits_add(&text, j->stage->low, j->stage->high);
        bw_text_add(&text, ".\n");
    } else if (passed && j->as.kind == BW_STAGE_SLOT) {
        bw_text_add(&text, "Still to be seen: whether a slot meets the hole.  If none does, pull "
                           "on, never above the upper limit and never back.\n");
    }
    (void)fputs(line, stdout);
}

void bw_judge_answer_text(const bw_judged *j) {
    char line[2048];
    const bw_verdict *v = &j->verdict;
    bw_text text = bw_text_on(line, sizeof line);
    bw_text_add(&text, "Asked for: ");
    bw_target_add(&text, j->stage);
    if (j->standing.torque_Nm > 0) {
        bw_text_add(&text, "\nTaken to stand before at: ");
        bw_torque_add(&text, j->standing.torque_Nm, j->plan->torque_unit);
    }
    add_terms(&text, j);
    add_seen(&text, j);
    bw_text_add(&text, "\nVerdict: %s\n", bw_outcome_word(v->outcome));
    (void)fputs(line, stdout);
    for (size_t i = 0; bw_reason_word(i) != NULL; i++) {
        if ((v->reasons >> i & 1u) != 0) {
            print_reason(j, i);
        }
    }
    char unjudged[BW_NOT_JUDGED_MAX];
    if (bw_judge_not_judged(&j->as, v, unjudged, sizeof unjudged)[0] != '\0') {
        (void)printf("%s\n", unjudged);
    }
    if (j->question != BW_QUESTION_NONE) {
        (void)printf("Question: %s\n", j->question_text);
    }
    print_rest(j);
}
