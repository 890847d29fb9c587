/* question.c - see question.h. */
#include "judge/question.h"

#include "judge/judge_int.h"

#include <math.h>

/* Nobody pulls twice on purpose so fast. */
static const double twice_s = 1.0;

static const struct {
    const char *word;
    const char *asks; /* behind the torque; before a unit, where it is about one */
} table[BW_QUESTION_COUNT] = {
    [BW_QUESTION_OTHER_UNIT] = {"other_unit",
                                "is the figure asked for, in another unit: is the wrench set to "},
    [BW_QUESTION_OTHER_STAGE] = {"other_stage",
                                 "is the torque of another stage: is the wrench set for that one"},
    [BW_QUESTION_LAST_SETTING] = {"last_setting", "is the torque of the joint before: is the "
                                                  "wrench still set to it"},
    [BW_QUESTION_TWO_PEAKS] = {"two_peaks", "came with two peaks within a second: was the wrench "
                                            "pulled again after its click"},
};

const char *bw_question_word(bw_question question) {
    return (unsigned)question < BW_QUESTION_COUNT ? table[question].word : NULL;
}

/* The torque that fits best so far. */
typedef struct match {
    const bw_stage *stage;
    double torque_Nm;
    bw_question question;
    bw_unit unit;
    double off; /* by what factor beside it, as a logarithm */
} match;

/* One that the stage would take for its own asks nothing. */
static void try_torque(match *m, double other_Nm, bw_question question, bw_unit unit) {
    const bw_stage *s = m->stage;
    bool own = !bw_judge_under(other_Nm, s->low_Nm) && !bw_judge_beyond(other_Nm, s->high_Nm);
    if (!(other_Nm > 0) || own) {
        return;
    }
    double scale = s->target_Nm / other_Nm;
    double off = fabs(log(m->torque_Nm / other_Nm));
    bool fits = !bw_judge_under(m->torque_Nm * scale, s->low_Nm) &&
                !bw_judge_beyond(m->torque_Nm * scale, s->high_Nm);
    if (fits && off < m->off) {
        m->question = question;
        m->unit = unit;
        m->off = off;
    }
}

static void try_units(match *m, bw_unit written) {
    for (bw_unit unit = 0; unit < BW_UNIT_COUNT; unit++) {
        if (bw_unit_of(unit)->dimension == BW_DIM_TORQUE) {
            double ratio = bw_to_base(1, unit) / bw_to_base(1, written);
            try_torque(m, ratio * m->stage->target_Nm, BW_QUESTION_OTHER_UNIT, unit);
        }
    }
}

static void try_all(match *m, const bw_question_facts *facts) {
    const bw_stage *s = m->stage;
    if (!(s->target_Nm > 0) || !(m->torque_Nm > 0) || !isfinite(s->low_Nm) ||
        !isfinite(s->high_Nm)) {
        return;
    }
    for (size_t i = 0; i < facts->other_n; i++) {
        try_torque(m, facts->other_Nm[i], BW_QUESTION_OTHER_STAGE, facts->unit);
    }
    try_torque(m, facts->last_setting_Nm, BW_QUESTION_LAST_SETTING, facts->unit);
    try_units(m, facts->unit);
}

static match matched(const bw_question_facts *facts) {
    const bw_verdict *v = facts->verdict;
    const uint32_t outside = (uint32_t)BW_REASON_BELOW_LIMIT | (uint32_t)BW_REASON_ABOVE_LIMIT;
    const uint32_t too_much = (uint32_t)BW_REASON_ABOVE_LIMIT | (uint32_t)BW_REASON_NO_TURN;
    match m = {.stage = facts->stage,
               .torque_Nm = v->has_judged ? v->judged_Nm : v->pull_peak_Nm,
               .off = INFINITY};
    if ((v->reasons & too_much) != 0 && facts->peaks_apart_s <= twice_s) {
        m.question = BW_QUESTION_TWO_PEAKS;
    } else if ((v->reasons & outside) != 0) {
        try_all(&m, facts);
    }
    return m;
}

bw_question bw_judge_question(const bw_question_facts *facts, char *out, size_t size) {
    bw_text text = bw_text_on(out, size);
    char torque[64];
    match m = matched(facts);
    if (m.question == BW_QUESTION_NONE) {
        return m.question;
    }
    bw_quantity came = {bw_from_base(m.torque_Nm, facts->unit), facts->unit, 1};
    bw_text_add(&text, "%s %s%s?", bw_quantity_text(came, torque, sizeof torque),
                table[m.question].asks,
                m.question == BW_QUESTION_OTHER_UNIT ? bw_unit_of(m.unit)->symbol : "");
    return m.question;
}
