/* figures.c - see figures.h. */
#include "face/figures.h"

#include "base/decimal.h"

#include <math.h>
#include <string.h>

static bw_unit other_unit(bw_unit unit) {
    switch (bw_unit_of(unit)->dimension) {
    case BW_DIM_TORQUE:
        return bw_other_torque_unit(unit);
    case BW_DIM_LENGTH:
        return unit == BW_UNIT_THOU || unit == BW_UNIT_IN ? BW_UNIT_MM : BW_UNIT_THOU;
    default:
        return unit;
    }
}

/* A computed figure has no digits of its own: four or so that count, without idle zeros. */
static const char *computed(double value, char *out) {
    int decimals = fabs(value) >= 1000.0 ? 0 : fabs(value) >= 10.0 ? 2 : 4;
    (void)bw_decimal_format(value, decimals, out, BW_FIGURE_MAX);
    size_t len = strlen(out);
    while (decimals > 0 && len > 0 && out[len - 1] == '0') {
        out[--len] = '\0';
    }
    if (decimals > 0 && len > 0 && out[len - 1] == '.') {
        out[--len] = '\0';
    }
    return out;
}

static const char *number(double value, int decimals, char *out) {
    return decimals < 0 ? computed(value, out)
                        : bw_decimal_format(value, decimals, out, BW_FIGURE_MAX);
}

/* The number in the other unit with as many digits as keep its resolution. */
static bool in_other(bw_quantity q, bw_quantity *other) {
    bw_unit unit = other_unit(q.unit);
    bw_quantity written = q;
    written.decimals = q.decimals < 0 ? 1 : q.decimals;
    return unit != q.unit && bw_quantity_to(written, unit, other, NULL) == BW_OK;
}

static const char *quantity(bw_quantity q, char *out) {
    char digits[BW_FIGURE_MAX];
    bw_text text = bw_text_on(out, BW_FIGURE_MAX);
    bool bare = q.unit == BW_UNIT_DEG || q.unit == BW_UNIT_NUMBER;
    bw_text_add(&text, "%s%s%s", number(q.value, q.decimals, digits), bare ? "" : " ",
                bw_unit_of(q.unit)->symbol);
    return out;
}

void bw_figure_own_add(bw_text *text, bw_quantity figure) {
    char one[BW_FIGURE_MAX];
    bw_text_add(text, "%s", quantity(figure, one));
}

bool bw_figure_other_add(bw_text *text, bw_quantity figure) {
    char one[BW_FIGURE_MAX];
    bw_quantity other = {0};
    bool there = in_other(figure, &other);
    if (there) {
        bw_text_add(text, "%s", quantity(other, one));
    }
    return there;
}

void bw_figure_add(bw_text *text, bw_quantity figure) {
    char one[BW_FIGURE_MAX];
    bw_quantity other = {0};
    bw_text_add(text, "%s", quantity(figure, one));
    if (in_other(figure, &other)) {
        bw_text_add(text, " (%s)", quantity(other, one));
    }
}

void bw_limits_add(bw_text *text, bw_quantity low, bw_quantity high) {
    char one[BW_FIGURE_MAX];
    char two[BW_FIGURE_MAX];
    bw_quantity other_low = {0};
    bw_quantity other_high = {0};
    if (low.unit != high.unit) {
        bw_text_add(text, "%s to %s", quantity(low, one), quantity(high, two));
        return;
    }
    bw_text_add(text, "%s to %s", number(low.value, low.decimals, one), quantity(high, two));
    if (in_other(low, &other_low) && in_other(high, &other_high)) {
        bw_text_add(text, " (%s to %s)", number(other_low.value, other_low.decimals, one),
                    quantity(other_high, two));
    }
}

/* ---- what a stage asks for ---- */

static void say_limits(bw_text *text, const bw_plan_stage *stage) {
    bw_text_add(text, ", limits ");
    bw_limits_add(text, stage->low, stage->high);
}

static void say_at_the_end(bw_text *text, const bw_plan_stage *stage) {
    if (stage->has_floor && stage->has_ceiling) {
        bw_text_add(text, ", at the end ");
        bw_limits_add(text, stage->floor, stage->ceiling);
    } else if (stage->has_floor) {
        bw_text_add(text, ", at the end at least ");
        bw_figure_add(text, stage->floor);
    } else if (stage->has_ceiling) {
        bw_text_add(text, ", at the end at most ");
        bw_figure_add(text, stage->ceiling);
    }
}

static void say_degrees(bw_text *text, double angle_deg) {
    bw_figure_add(text, (bw_quantity){.value = angle_deg, .unit = BW_UNIT_DEG, .decimals = -1});
}

/* "one turn"; what is no whole number of turns in degrees. */
static void say_turns(bw_text *text, double turn_deg) {
    static const struct {
        double deg;
        const char *words;
    } turns[] = {
        {180, "half a turn"}, {360, "one turn"}, {720, "two turns"}, {1080, "three turns"}};
    for (size_t i = 0; i < sizeof turns / sizeof turns[0]; i++) {
        if (turns[i].deg == turn_deg) {
            bw_text_add(text, "%s", turns[i].words);
            return;
        }
    }
    say_degrees(text, turn_deg);
}

static void say_torque(bw_text *text, const bw_plan_stage *stage) {
    bw_text_add(text, stage->again ? "once more to " : "");
    bw_figure_add(text, stage->target);
    say_limits(text, stage);
    bw_text_add(text, stage->again ? "; it need not turn" : "");
}

static void say_torque_angle(bw_text *text, const bw_plan_stage *stage) {
    bw_text_add(text, stage->from_torque ? "turn on by " : "to ");
    bw_figure_add(text, stage->from_torque ? stage->target : stage->snug);
    bw_text_add(text, stage->from_torque ? ", counted from " : ", then turn ");
    bw_figure_add(text, stage->from_torque ? stage->snug : stage->target);
    say_limits(text, stage);
    say_at_the_end(text, stage);
}

static void say_angle(bw_text *text, const bw_plan_stage *stage) {
    bw_text_add(text, "turn on by ");
    bw_figure_add(text, stage->target);
    say_limits(text, stage);
    say_at_the_end(text, stage);
}

static void say_back_off(bw_text *text, const bw_plan_stage *stage) {
    if (stage->stage.until_loose) {
        bw_text_add(text, "loosen fully");
        return;
    }
    bw_text_add(text, "back off by ");
    bw_figure_add(text, stage->target);
    say_limits(text, stage);
}

static void say_yield(bw_text *text, const bw_plan_stage *stage) {
    char share[BW_FIGURE_MAX];
    bw_text_add(text, "tighten until it yields (slope falls to %s %%) at ",
                number(100 * stage->stage.slope_share, -1, share));
    bw_limits_add(text, stage->low, stage->high);
    bw_text_add(text, "; turn at most ");
    say_degrees(text, stage->stage.high_deg);
    bw_text_add(text, " from ");
    bw_figure_add(text, stage->snug);
}

static void say_stretch(bw_text *text, const bw_plan_stage *stage) {
    bw_text_add(text, "stretch by ");
    bw_figure_add(text, stage->target);
    say_limits(text, stage);
    if (stage->stage.target_Nm > 0) {
        bw_text_add(text, "; measure first at about ");
        bw_figure_add(text, stage->about);
    }
    if (stage->has_ceiling) {
        bw_text_add(text, "; never above ");
        bw_figure_add(text, stage->ceiling);
    }
}

static void say_slot(bw_text *text, const bw_plan_stage *stage) {
    bw_text_add(text, "at least ");
    bw_figure_add(text, stage->low);
    bw_text_add(text, ", then on to the next slot of %d, never back, never above ", stage->slots);
    bw_figure_add(text, stage->high);
}

static void say_check(bw_text *text, const bw_plan_stage *stage) {
    bw_text_add(text, "check: first movement at ");
    bw_limits_add(text, stage->low, stage->high);
    bw_text_add(text, ", stop within ");
    say_degrees(text, stage->stage.high_deg);
    bw_text_add(text, "; tightens nothing");
}

static void say_prevailing(bw_text *text, const bw_plan_stage *stage) {
    bw_text_add(text, "run down ");
    say_turns(text, stage->stage.least_turn_deg);
    bw_text_add(text, ": prevailing torque ");
    bw_limits_add(text, stage->low, stage->high);
}

static void say_rotating(bw_text *text, const bw_plan_stage *stage) {
    bw_text_add(text, "keep it turning for ");
    say_turns(text, stage->stage.least_turn_deg);
    bw_text_add(text, ": rotating torque ");
    bw_limits_add(text, stage->low, stage->high);
    bw_text_add(text, "; tightens nothing");
}

static void say_creep(bw_text *text, const bw_plan_stage *stage) {
    bw_text_add(text, "tighten a little with another tool, never back, then turn the shaft ");
    say_turns(text, stage->stage.least_turn_deg);
    bw_text_add(text, ": rotating torque ");
    bw_limits_add(text, stage->low, stage->high);
}

static void (*const sayers[BW_STAGE_KIND_COUNT])(bw_text *text, const bw_plan_stage *stage) = {
    [BW_STAGE_TORQUE] = say_torque,
    [BW_STAGE_TORQUE_ANGLE] = say_torque_angle,
    [BW_STAGE_ANGLE] = say_angle,
    [BW_STAGE_BACK_OFF] = say_back_off,
    [BW_STAGE_YIELD] = say_yield,
    [BW_STAGE_STRETCH] = say_stretch,
    [BW_STAGE_SLOT] = say_slot,
    [BW_STAGE_CHECK] = say_check,
    [BW_STAGE_PREVAILING] = say_prevailing,
    [BW_STAGE_ROTATING] = say_rotating,
    [BW_STAGE_CREEP] = say_creep,
};

void bw_target_add(bw_text *text, const bw_plan_stage *stage) {
    sayers[stage->stage.kind](text, stage);
    if (stage->stage.adds_prevailing) {
        bw_text_add(text, "; torques on top of the prevailing torque");
    }
}

void bw_place_add(bw_text *text, const bw_group *group, size_t place) {
    char own[BW_FIGURE_MAX];
    const char *label = group->place[place].label;
    (void)bw_decimal_format((double)(place + 1), 0, own, sizeof own);
    bool named = strcmp(label, own) != 0;
    bw_text_add(text, "Place %s%s%s", own, named ? ", " : "", named ? label : "");
}

void bw_torque_add(bw_text *text, double torque_Nm, bw_unit unit) {
    char one[BW_FIGURE_MAX];
    double shown = bw_from_base(torque_Nm, unit);
    bw_quantity q = {.value = shown, .unit = unit, .decimals = fabs(shown) < 100.0 ? 1 : 0};
    bw_text_add(text, "%s", quantity(q, one));
}

void bw_value_add(bw_text *text, double base_value, bw_unit unit, int decimals) {
    bw_figure_add(
        text,
        (bw_quantity){.value = bw_from_base(base_value, unit), .unit = unit, .decimals = decimals});
}

static double limit_in(double base_value, bw_unit unit) {
    return isfinite(base_value) ? bw_from_base(base_value, unit) : base_value;
}

void bw_value_beside_add(bw_text *text, double base_value, double low, double high, bw_unit unit,
                         int decimals) {
    bw_value_add(text, base_value, unit,
                 bw_decimals_beside_limits(bw_from_base(base_value, unit), limit_in(low, unit),
                                           limit_in(high, unit), decimals));
}

static bw_quantity shown(double base_value, bw_unit unit, int decimals) {
    return (bw_quantity){
        .value = bw_from_base(base_value, unit), .unit = unit, .decimals = decimals};
}

void bw_value_limits_add(bw_text *text, double low, double high, bw_unit unit, int decimals) {
    if (isfinite(low) && isfinite(high)) {
        bw_limits_add(text, shown(low, unit, decimals), shown(high, unit, decimals));
    } else if (isfinite(high)) {
        bw_text_add(text, "at most ");
        bw_figure_add(text, shown(high, unit, decimals));
    } else if (isfinite(low)) {
        bw_text_add(text, "at least ");
        bw_figure_add(text, shown(low, unit, decimals));
    }
}
