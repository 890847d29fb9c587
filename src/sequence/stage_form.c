/* stage_form.c - see stage_form.h. */
#include "sequence/stage_form.h"

#include "base/decimal.h"
#include "sequence/words.h"

enum { BASE_DECIMALS = 9 };

static const double most_torque_Nm = 100000; /* device.h believes no more */
static const double most_turn_deg = 7200;
static const double most_growth_mm = 50; /* a tie rod ten metres long at half its proof load */

static double most_of(bw_dimension dimension) {
    switch (dimension) {
    case BW_DIM_ANGLE:
        return most_turn_deg;
    case BW_DIM_LENGTH:
        return most_growth_mm;
    default:
        return most_torque_Nm;
    }
}

bool bw_stage_form_note(const bw_stage_form *form, bw_spot spot, const char *what) {
    bw_mistake_add(form->draft->mistakes, spot, "%s: %s", form->form.word, what);
    return false;
}

double bw_stage_form_base(bw_quantity quantity) {
    return bw_round_decimals(bw_to_base(quantity.value, quantity.unit), BASE_DECIMALS);
}

/* ---- target ---- */

bool bw_stage_form_target(bw_stage_form *form) {
    const bw_value *node = form->form.node;
    if (node->list_n != 1) {
        const char *what = bw_word_find(form->form.word)->list;
        bw_mistake_add(form->draft->mistakes, form->form.spot,
                       "%s needs one target without a name: %s", form->form.word, what);
        return false;
    }
    if (!bw_fields_quantity_of(&form->form, &node->list[0], "the target", form->dimension,
                               &form->target)) {
        return false;
    }
    if (form->target.base <= 0 || form->target.base > most_of(form->dimension)) {
        return bw_stage_form_note(form, form->target.spot,
                                  "the target must be above zero, and what a hand can do");
    }
    form->out->target = form->target.quantity;
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
static bool limits_within(bw_stage_form *form) {
    const bw_value *value = bw_fields_get(&form->form, "within", BW_NEEDED);
    bw_written within;
    bw_quantity target = form->target.quantity;
    if (value == NULL) {
        return false;
    }
    bool share = value->kind == BW_VALUE_QUANTITY && value->quantity.unit == BW_UNIT_PERCENT;
    bw_dimension dimension = share ? BW_DIM_NUMBER : form->dimension;
    if (!bw_fields_quantity_of(&form->form, value, "within", dimension, &within)) {
        return false;
    }
    if (within.base <= 0 || (share && within.base >= 1)) {
        return bw_stage_form_note(form, within.spot,
                                  "`within` must be above zero, and below 100 per cent");
    }
    double by = bw_from_base(within.base, target.unit);
    int by_decimals = within.quantity.unit == target.unit ? within.quantity.decimals : -1;
    if (share) {
        by = target.value * within.quantity.value / 100;
        by_decimals = -1;
    }
    form->out->low = offset(target, -by, by_decimals);
    form->out->high = offset(target, by, by_decimals);
    return true;
}

static bool limits_as_written(bw_stage_form *form) {
    bw_written low;
    bw_written high;
    bool good = bw_fields_quantity(&form->form, "low", BW_NEEDED, form->dimension, &low);
    good = bw_fields_quantity(&form->form, "high", BW_NEEDED, form->dimension, &high) && good;
    if (good) {
        form->out->low = low.quantity;
        form->out->high = high.quantity;
    }
    return good;
}

static bool note_limits(const bw_stage_form *form, bw_spot spot, const char *what) {
    char low[64];
    char high[64];
    bw_mistake_add(form->draft->mistakes, spot, "%s: %s (low is %s, high is %s)", form->form.word,
                   what, bw_quantity_text(form->out->low, low, sizeof low),
                   bw_quantity_text(form->out->high, high, sizeof high));
    return false;
}

static bool right_way_round(const bw_stage_form *form, double *low, double *high) {
    *low = bw_stage_form_base(form->out->low);
    *high = bw_stage_form_base(form->out->high);
    return *low < *high ||
           note_limits(
               form,
               bw_fields_at(&form->form, bw_fields_has(&form->form, "within") ? "within" : "low"),
               "low must be below high");
}

static bool above_zero(const bw_stage_form *form, double low) {
    return low > 0 ||
           bw_stage_form_note(
               form,
               bw_fields_at(&form->form, bw_fields_has(&form->form, "within") ? "within" : "low"),
               "low must be above zero");
}

bool bw_stage_form_limits(bw_stage_form *form, double *low, double *high) {
    bool within = bw_fields_has(&form->form, "within");
    bool ends = bw_fields_has(&form->form, "low") || bw_fields_has(&form->form, "high");
    if (within == ends) {
        return bw_stage_form_note(form, form->form.spot,
                                  within ? "takes `within`, or `low` and `high`, not both"
                                         : "lacks its limits: low and high, or within, such as "
                                           "within = percent(5)");
    }
    if (!(within ? limits_within(form) : limits_as_written(form)) ||
        !right_way_round(form, low, high)) {
        return false;
    }
    double target = bw_stage_form_base(form->target.quantity);
    if (target < *low || target > *high) {
        return note_limits(form, form->target.spot, "the target lies outside of its own limits");
    }
    return above_zero(form, *low);
}

bool bw_stage_form_ends(bw_stage_form *form, double *low, double *high) {
    if (!limits_as_written(form) || !right_way_round(form, low, high)) {
        return false;
    }
    if (*high > most_of(form->dimension)) {
        return bw_stage_form_note(form, bw_fields_at(&form->form, "high"),
                                  "high must be what a hand can do");
    }
    return above_zero(form, *low);
}

/* ---- single figures ---- */

bool bw_stage_form_torque(const bw_stage_form *form, const char *field, bw_need need,
                          bw_quantity *out, double *base_Nm) {
    bw_written written;
    if (need == BW_OPTIONAL && !bw_fields_has(&form->form, field)) {
        return true;
    }
    if (!bw_fields_quantity(&form->form, field, need, BW_DIM_TORQUE, &written)) {
        return false;
    }
    if (written.base <= 0 || written.base > most_torque_Nm) {
        bw_mistake_add(form->draft->mistakes, written.spot, "`%s` of %s must be above zero", field,
                       form->form.word);
        return false;
    }
    *out = written.quantity;
    *base_Nm = bw_stage_form_base(written.quantity);
    return true;
}

bool bw_stage_form_turn(const bw_stage_form *form, const char *field, double *base_deg) {
    bw_written turn;
    if (!bw_fields_quantity(&form->form, field, BW_NEEDED, BW_DIM_ANGLE, &turn)) {
        return false;
    }
    if (turn.base <= 0 || turn.base > most_turn_deg) {
        bw_mistake_add(form->draft->mistakes, turn.spot, "`%s` of %s must be above zero", field,
                       form->form.word);
        return false;
    }
    *base_deg = bw_stage_form_base(turn.quantity);
    return true;
}
