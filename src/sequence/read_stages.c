/* read_stages.c - the stages of `tighten{...}`, one reader for each kind.  See draft.h. */
#include "sequence/stage_form.h"

#include "base/text.h"
#include "sequence/words.h"

#include <math.h>

enum { SLOTS_LEAST = 3, SLOTS_MOST = 24, WORDS_BYTES = 160 };

/* Below a tenth of the steepest slope a bolt has long flowed; above nine tenths the roughness of
 * the thread looks like it (common practice, no source). */
static const double share_least = 0.1;
static const double share_most = 0.9;

static const double full_turn_deg = 360;
static const double most_least_turn_deg = 7200;

/* ---- to a torque ---- */

static bool read_least_turn(bw_stage_form *form) {
    bw_written turn;
    bw_stage *stage = &form->out->stage;
    if (!bw_fields_has(&form->form, "least_turn")) {
        return true;
    }
    if (form->out->again) {
        return bw_stage_form_note(form, bw_fields_at(&form->form, "least_turn"),
                                  "a pass made again need not turn: leave `least_turn` out");
    }
    if (!bw_fields_quantity(&form->form, "least_turn", BW_NEEDED, BW_DIM_ANGLE, &turn)) {
        return false;
    }
    if (turn.base < 0 || turn.base > most_least_turn_deg) {
        return bw_stage_form_note(form, turn.spot, "`least_turn` must be zero or above");
    }
    stage->least_turn_deg = turn.base;
    return true;
}

static bool read_torque(bw_stage_form *form) {
    bw_stage *stage = &form->out->stage;
    stage->least_turn_deg = bw_turn_not_given;
    form->dimension = BW_DIM_TORQUE;
    bool good = bw_stage_form_target(form) &&
                bw_stage_form_limits(form, &stage->low_Nm, &stage->high_Nm);
    stage->target_Nm = good ? bw_stage_form_base(form->target.quantity) : 0;
    form->out->again = bw_fields_flag(&form->form, "again", false);
    return read_least_turn(form) && good;
}

static bool read_slot(bw_stage_form *form) {
    bw_stage *stage = &form->out->stage;
    int slots = 0;
    form->dimension = BW_DIM_TORQUE;
    bool good = bw_stage_form_ends(form, &stage->low_Nm, &stage->high_Nm);
    good = bw_fields_count(&form->form, "slots", BW_NEEDED, SLOTS_LEAST, SLOTS_MOST, &slots) &&
           good;
    if (good) {
        form->out->slots = slots;
        stage->target_Nm = stage->low_Nm;
        stage->high_deg = full_turn_deg / slots;
    }
    return good;
}

/* ---- through an angle ---- */

/* The torque at the end of an angle. */
static bool read_end_torque(bw_stage_form *form) {
    bw_plan_stage *out = form->out;
    bool good = bw_stage_form_torque(form, "floor", BW_OPTIONAL, &out->floor, &out->stage.low_Nm);
    good = bw_stage_form_torque(form, "ceiling", BW_OPTIONAL, &out->ceiling, &out->stage.high_Nm) &&
           good;
    out->has_floor = isfinite(out->stage.low_Nm);
    out->has_ceiling = isfinite(out->stage.high_Nm);
    if (good && out->stage.low_Nm >= out->stage.high_Nm) {
        return bw_stage_form_note(form, bw_fields_at(&form->form, "floor"),
                                  "floor must be below ceiling");
    }
    return good;
}

static bool read_through(bw_stage_form *form) {
    bw_stage *stage = &form->out->stage;
    form->dimension = BW_DIM_ANGLE;
    bool good = bw_stage_form_target(form) &&
                bw_stage_form_limits(form, &stage->low_deg, &stage->high_deg);
    stage->target_deg = good ? bw_stage_form_base(form->target.quantity) : 0;
    return read_end_torque(form) && good;
}

/* `from` or `snug`: where the turn is counted from. */
static bool read_counted(bw_stage_form *form, const char *field) {
    bw_plan_stage *out = form->out;
    bool good = bw_stage_form_torque(form, field, BW_NEEDED, &out->snug, &out->stage.snug_Nm);
    good = read_through(form) && good;
    if (good && out->stage.high_Nm <= out->stage.snug_Nm) {
        bw_mistake_add(form->draft->mistakes, bw_fields_at(&form->form, "ceiling"),
                       "%s: ceiling must be above %s", form->form.word, field);
        return false;
    }
    return good;
}

static bool read_torque_angle(bw_stage_form *form) {
    return read_counted(form, "snug");
}

static bool read_angle(bw_stage_form *form) {
    bw_plan_stage *out = form->out;
    if (bw_fields_has(&form->form, "from")) {
        out->stage.kind = BW_STAGE_TORQUE_ANGLE;
        out->from_torque = true;
        return read_counted(form, "from");
    }
    bool good = read_through(form);
    if (good && out->stage.adds_prevailing && !out->has_floor && !out->has_ceiling) {
        return bw_stage_form_note(form, bw_fields_at(&form->form, "above_prevailing"),
                                  "`above_prevailing` raises from, floor and ceiling, and none of "
                                  "them is there");
    }
    return good;
}

static bool read_back_off(bw_stage_form *form) {
    bw_stage *stage = &form->out->stage;
    const bw_fields *fields = &form->form;
    stage->until_loose = bw_fields_flag(fields, "until_loose",
                                        bw_fields_has(fields, "until_loose"));
    bool angle = fields->node->list_n > 0 || bw_fields_has(fields, "within") ||
                 bw_fields_has(fields, "low") || bw_fields_has(fields, "high");
    if (stage->until_loose == angle) {
        return bw_stage_form_note(form, fields->spot,
                                  angle ? "takes an angle with its limits, or until_loose = true, "
                                          "not both"
                                        : "needs an angle with its limits, such as back_off{ "
                                          "deg(90), within = deg(15) }, or until_loose = true");
    }
    return !angle || read_through(form);
}

/* ---- until something shows ---- */

static bool read_yield(bw_stage_form *form) {
    bw_plan_stage *out = form->out;
    bw_stage *stage = &out->stage;
    bw_written share;
    form->dimension = BW_DIM_TORQUE;
    bool good = bw_fields_quantity(&form->form, "share", BW_NEEDED, BW_DIM_NUMBER, &share);
    if (good && (share.base < share_least || share.base > share_most)) {
        good = bw_stage_form_note(form, share.spot,
                                  "`share` must be from 10 to 90 per cent of the steepest slope, "
                                  "such as percent(50)");
    }
    stage->slope_share = good ? share.base : 0;
    good = bw_stage_form_torque(form, "snug", BW_NEEDED, &out->snug, &stage->snug_Nm) && good;
    good = bw_stage_form_ends(form, &stage->low_Nm, &stage->high_Nm) && good;
    good = bw_stage_form_turn(form, "most_turn", &stage->high_deg) && good;
    if (good && stage->snug_Nm >= stage->low_Nm) {
        return bw_stage_form_note(form, bw_fields_at(&form->form, "snug"),
                                  "snug must be below low");
    }
    return good;
}

static bool read_stretch(bw_stage_form *form) {
    bw_plan_stage *out = form->out;
    bw_stage *stage = &out->stage;
    form->dimension = BW_DIM_LENGTH;
    bool good = bw_stage_form_target(form) &&
                bw_stage_form_limits(form, &stage->low_mm, &stage->high_mm);
    stage->target_mm = good ? bw_stage_form_base(form->target.quantity) : 0;
    good = bw_stage_form_torque(form, "about", BW_OPTIONAL, &out->about, &stage->target_Nm) && good;
    good = bw_stage_form_torque(form, "ceiling", BW_OPTIONAL, &out->ceiling, &stage->high_Nm) &&
           good;
    out->has_ceiling = isfinite(stage->high_Nm);
    if (good && stage->target_Nm >= stage->high_Nm) {
        return bw_stage_form_note(form, bw_fields_at(&form->form, "about"),
                                  "about must be below ceiling");
    }
    return good;
}

/* ---- only felt ---- */

static bool read_check(bw_stage_form *form) {
    bw_stage *stage = &form->out->stage;
    form->dimension = BW_DIM_TORQUE;
    bool good = bw_stage_form_ends(form, &stage->low_Nm, &stage->high_Nm);
    return bw_stage_form_turn(form, "most_turn", &stage->high_deg) && good;
}

static bool read_mean(bw_stage_form *form) {
    bw_stage *stage = &form->out->stage;
    form->dimension = BW_DIM_TORQUE;
    bool good = bw_stage_form_ends(form, &stage->low_Nm, &stage->high_Nm);
    return bw_stage_form_turn(form, "least_turn", &stage->least_turn_deg) && good;
}

/* ---- all of them ---- */

static bool (*const readers[BW_STAGE_KIND_COUNT])(bw_stage_form *form) = {
    [BW_STAGE_TORQUE] = read_torque,   [BW_STAGE_TORQUE_ANGLE] = read_torque_angle,
    [BW_STAGE_ANGLE] = read_angle,     [BW_STAGE_BACK_OFF] = read_back_off,
    [BW_STAGE_YIELD] = read_yield,     [BW_STAGE_STRETCH] = read_stretch,
    [BW_STAGE_SLOT] = read_slot,       [BW_STAGE_CHECK] = read_check,
    [BW_STAGE_PREVAILING] = read_mean, [BW_STAGE_ROTATING] = read_mean,
    [BW_STAGE_CREEP] = read_mean,
};

/* The words of all kinds, space-separated. */
static const char *stage_words(char *out, size_t size) {
    bw_text text = bw_text_on(out, size);
    for (int kind = 0; kind < BW_STAGE_KIND_COUNT; kind++) {
        bw_text_add(&text, "%s%s", kind > 0 ? " " : "",
                    bw_stage_traits_of((bw_stage_kind)kind)->word);
    }
    return out;
}

static const bw_stage unlimited = {.low_Nm = (double)-INFINITY,
                                   .high_Nm = (double)INFINITY,
                                   .low_deg = (double)-INFINITY,
                                   .high_deg = (double)INFINITY,
                                   .low_mm = (double)-INFINITY,
                                   .high_mm = (double)INFINITY};

/* False where the stage is not one, or not whole. */
static bool read_stage(bw_draft *draft, const bw_value *node, bw_plan_stage *out) {
    bw_stage_form form = {.draft = draft, .out = out};
    out->stage = unlimited;
    for (int kind = 0; kind < BW_STAGE_KIND_COUNT; kind++) {
        if (bw_fields_is(node, bw_stage_traits_of((bw_stage_kind)kind)->word)) {
            form.form = bw_fields_of(draft->mistakes, node);
            out->where = bw_mistakes_where(draft->mistakes, node->spot);
            out->stage.kind = (bw_stage_kind)kind;
            bw_read_figures(&form.form, &out->document, &out->revision);
            if (bw_name_among(bw_word_find(node->text)->fields, "above_prevailing")) {
                out->stage.adds_prevailing = bw_fields_flag(&form.form, "above_prevailing", false);
            }
            return readers[kind](&form);
        }
    }
    return false;
}

void bw_read_stages(bw_draft *draft, const bw_fields *form, bw_step *step) {
    size_t n = 0;
    bw_read_own_order(draft, form);
    char words[WORDS_BYTES];
    const bw_value *list = bw_fields_nodes(
        form, "stages", BW_NEEDED, stage_words(words, sizeof words), BW_PLAN_STAGES_MAX, &n);
    bw_plan_stage *stage = list == NULL ? NULL : bw_draft_memory(draft, n, sizeof *stage);
    bool *whole = list == NULL ? NULL : bw_draft_memory(draft, n, sizeof *whole);
    if (stage == NULL || whole == NULL) {
        return;
    }
    for (size_t i = 0; i < n; i++) {
        whole[i] = read_stage(draft, &list[i], &stage[i]);
    }
    bw_draft_step *named = &draft->named[draft->plan.step_n - 1];
    named->stage = stage;
    named->stage_whole = whole;
    step->stage = stage;
    step->stage_n = n;
}
