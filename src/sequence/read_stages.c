/* read_stages.c - the stages of `tighten{...}`: target, limits, and what the end must keep to.
 * See draft.h. */
#include "sequence/draft.h"

#include "base/decimal.h"
#include "sequence/words.h"

#include <math.h>
#include <string.h>

static const double most_torque_Nm = 100000; /* device.h believes no more */
static const double most_turn_deg = 7200;

/* Figures in base units are rounded so far that 30 less 5 per cent is 28.5 and no hair beside it.
 */
enum { BASE_DECIMALS = 9 };

typedef struct reading {
    bw_draft *draft;
    bw_fields form;
    bw_plan_stage *out;
    bw_dimension dimension; /* of the target */
    bw_written target;
} reading;

static bool note(const reading *r, bw_spot spot, const char *what) {
    bw_mistake_add(r->draft->mistakes, spot, "%s: %s", r->form.word, what);
    return false;
}

/* ---- target ---- */

static bool read_target(reading *r, double most) {
    const bw_value *node = r->form.node;
    if (node->list_n != 1) {
        const char *what = bw_word_find(r->form.word)->list;
        bw_mistake_add(r->draft->mistakes, r->form.spot, "%s needs one target without a name: %s",
                       r->form.word, what);
        return false;
    }
    if (!bw_fields_quantity_of(&r->form, &node->list[0], "the target", r->dimension, &r->target)) {
        return false;
    }
    if (r->target.base <= 0 || r->target.base > most) {
        return note(r, r->target.spot, "the target must be above zero, and what a hand can do");
    }
    r->out->target = r->target.quantity;
    return true;
}

/* ---- limits ---- */

static int more(int a, int b) {
    return a > b ? a : b;
}

/* target plus or minus `by`, in the target's unit. */
static bw_quantity offset(bw_quantity target, double by, int by_decimals) {
    bool exact = target.decimals >= 0 && by_decimals >= 0;
    int decimals = exact ? more(target.decimals, by_decimals) : -1;
    double value = target.value + by;
    return (bw_quantity){.value = bw_round_decimals(value, exact ? decimals : BASE_DECIMALS),
                         .unit = target.unit,
                         .decimals = decimals};
}

/* within = percent(5), or within = Nm(2): both limits at the same distance. */
static bool limits_within(reading *r) {
    const bw_value *value = bw_fields_get(&r->form, "within", BW_NEEDED);
    bw_written within;
    bw_quantity target = r->target.quantity;
    if (value == NULL) {
        return false;
    }
    bool share = value->kind == BW_VALUE_QUANTITY && value->quantity.unit == BW_UNIT_PERCENT;
    bw_dimension dimension = share ? BW_DIM_NUMBER : r->dimension;
    if (!bw_fields_quantity_of(&r->form, value, "within", dimension, &within)) {
        return false;
    }
    if (within.base <= 0 || (share && within.base >= 1)) {
        return note(r, within.spot, "`within` must be above zero, and below 100 per cent");
    }
    double by = bw_from_base(within.base, target.unit);
    int by_decimals = within.quantity.unit == target.unit ? within.quantity.decimals : -1;
    if (share) {
        by = target.value * within.quantity.value / 100;
        by_decimals = -1;
    }
    r->out->low = offset(target, -by, by_decimals);
    r->out->high = offset(target, by, by_decimals);
    return true;
}

static bool limits_as_written(reading *r) {
    bw_written low;
    bw_written high;
    bool good = bw_fields_quantity(&r->form, "low", BW_NEEDED, r->dimension, &low);
    good = bw_fields_quantity(&r->form, "high", BW_NEEDED, r->dimension, &high) && good;
    if (good) {
        r->out->low = low.quantity;
        r->out->high = high.quantity;
    }
    return good;
}

static double base_of(bw_quantity q) {
    return bw_round_decimals(bw_to_base(q.value, q.unit), BASE_DECIMALS);
}

static bool note_limits(const reading *r, bw_spot spot, const char *what) {
    char low[64];
    char high[64];
    bw_mistake_add(r->draft->mistakes, spot, "%s: %s (low is %s, high is %s)", r->form.word, what,
                   bw_quantity_text(r->out->low, low, sizeof low),
                   bw_quantity_text(r->out->high, high, sizeof high));
    return false;
}

/* Reads either way of limits; *low and *high in the base unit. */
static bool read_limits(reading *r, double *low, double *high) {
    bool within = bw_fields_has(&r->form, "within");
    bool ends = bw_fields_has(&r->form, "low") || bw_fields_has(&r->form, "high");
    if (within == ends) {
        return note(r, r->form.spot,
                    within ? "takes `within`, or `low` and `high`, not both"
                           : "lacks its limits: low and high, or within, such as "
                             "within = percent(5)");
    }
    if (!(within ? limits_within(r) : limits_as_written(r))) {
        return false;
    }
    *low = base_of(r->out->low);
    *high = base_of(r->out->high);
    double target = base_of(r->target.quantity);
    if (*low >= *high) {
        return note_limits(r, r->form.spot, "low must be below high");
    }
    if (target < *low || target > *high) {
        return note_limits(r, r->target.spot, "the target lies outside of its own limits");
    }
    return *low > 0 || note(r, r->form.spot, "low must be above zero");
}

/* ---- torque at the end of an angle ---- */

static bool read_torque(reading *r, const char *field, bw_need need, bool *given, bw_quantity *out,
                        double *base) {
    bw_written written;
    if (need == BW_OPTIONAL && !bw_fields_has(&r->form, field)) {
        return true;
    }
    if (!bw_fields_quantity(&r->form, field, need, BW_DIM_TORQUE, &written)) {
        return false;
    }
    if (written.base <= 0 || written.base > most_torque_Nm) {
        bw_mistake_add(r->draft->mistakes, written.spot, "`%s` of %s must be above zero", field,
                       r->form.word);
        return false;
    }
    *given = true;
    *out = written.quantity;
    *base = base_of(written.quantity);
    return true;
}

static bool read_end_torque(reading *r) {
    bw_plan_stage *out = r->out;
    out->stage.low_Nm = (double)-INFINITY;
    out->stage.high_Nm = (double)INFINITY;
    bool good = read_torque(r, "floor", BW_OPTIONAL, &out->has_floor, &out->floor,
                            &out->stage.low_Nm);
    good = read_torque(r, "ceiling", BW_OPTIONAL, &out->has_ceiling, &out->ceiling,
                       &out->stage.high_Nm) &&
           good;
    if (good && out->stage.low_Nm >= out->stage.high_Nm) {
        return note(r, r->form.spot, "floor must be below ceiling");
    }
    return good;
}

/* ---- the three kinds ---- */

static void read_torque_stage(reading *r) {
    bw_stage *stage = &r->out->stage;
    stage->kind = BW_STAGE_TORQUE;
    stage->low_deg = (double)-INFINITY;
    stage->high_deg = (double)INFINITY;
    stage->least_turn_deg = bw_turn_not_given;
    r->dimension = BW_DIM_TORQUE;
    if (read_target(r, most_torque_Nm) && read_limits(r, &stage->low_Nm, &stage->high_Nm)) {
        stage->target_Nm = base_of(r->target.quantity);
    }
    bw_written turn;
    if (bw_fields_quantity(&r->form, "least_turn", BW_OPTIONAL, BW_DIM_ANGLE, &turn)) {
        if (turn.base < 0 || turn.base > most_turn_deg) {
            (void)note(r, turn.spot, "`least_turn` must be zero or above");
        }
        stage->least_turn_deg = turn.base;
    }
}

static void read_turn(reading *r) {
    bw_stage *stage = &r->out->stage;
    r->dimension = BW_DIM_ANGLE;
    if (read_target(r, most_turn_deg) && read_limits(r, &stage->low_deg, &stage->high_deg)) {
        stage->target_deg = base_of(r->target.quantity);
    }
    (void)read_end_torque(r);
}

static void read_angle_stage(reading *r) {
    r->out->stage.kind = BW_STAGE_ANGLE;
    read_turn(r);
}

static void read_torque_angle_stage(reading *r) {
    bool given = false;
    bw_plan_stage *out = r->out;
    out->stage.kind = BW_STAGE_TORQUE_ANGLE;
    (void)read_torque(r, "snug", BW_NEEDED, &given, &out->snug, &out->stage.snug_Nm);
    read_turn(r);
    if (given && out->stage.high_Nm <= out->stage.snug_Nm) {
        (void)note(r, r->form.spot, "ceiling must be above snug");
    }
}

static const struct {
    const char *word;
    void (*read)(reading *r);
} kinds[] = {
    {"torque", read_torque_stage},
    {"angle", read_angle_stage},
    {"torque_angle", read_torque_angle_stage},
};

static void read_stage(bw_draft *draft, const bw_value *node, bw_plan_stage *out) {
    reading r = {.draft = draft, .out = out};
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        if (bw_fields_is(node, kinds[i].word)) {
            r.form = bw_fields_of(draft->mistakes, node);
            out->where = bw_mistakes_where(draft->mistakes, node->spot);
            kinds[i].read(&r);
        }
    }
}

void bw_read_stages(bw_draft *draft, const bw_fields *form, bw_step *step) {
    size_t n = 0;
    const bw_value *list = bw_fields_nodes(form, "stages", BW_NEEDED, "torque angle torque_angle",
                                           BW_PLAN_STAGES_MAX, &n);
    bw_plan_stage *stage = list == NULL ? NULL : bw_draft_memory(draft, n, sizeof *stage);
    if (stage == NULL) {
        return;
    }
    for (size_t i = 0; i < n; i++) {
        read_stage(draft, &list[i], &stage[i]);
    }
    draft->named[draft->plan.step_n - 1].stage = stage;
    step->stage = stage;
    step->stage_n = n;
}
