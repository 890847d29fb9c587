/* calc_scatter.c - bands of preload, presets, orders and flange rounds in the table of functions.
 */
#include "trade/calc_int.h"
#include "trade/order.h"
#include "trade/pattern.h"
#include "trade/scatter.h"

#include <math.h>
#include <string.h>

static const bw_calc_arg band_args[] = {
    BW_ARG_TEXT("method", "torque_estimated, angle_controlled, handbook_feel ..."),
    BW_ARG("preload", FORCE, "the mean"),
    BW_ARG_END,
};

static bw_status eval_scatter_band(BW_EVAL) {
    const bw_scatter *scatter = NULL;
    bw_band band = {0};
    bw_status s = bw_scatter_find(a[0].text, &scatter, err);
    if (s == BW_OK) {
        s = bw_scatter_band(scatter, a[1].number, &band, err);
    }
    if (s == BW_OK) {
        bw_put(r, n, "least", band.least_N, BW_UNIT_KN);
        bw_put(r, n, "most", band.most_N, BW_UNIT_KN);
        bw_put(r, n, "half_width_least", scatter->half_least, BW_UNIT_PERCENT);
        bw_put(r, n, "half_width_most", scatter->half_most, BW_UNIT_PERCENT);
        bw_put_text(r, n, "source", scatter->source);
    }
    return s;
}

static const bw_calc_arg alpha_args[] = {
    BW_ARG("alpha", NUMBER, "tightening factor, largest by least preload"),
    BW_ARG_END,
};

static bw_status eval_half_width(BW_EVAL) {
    double half = 0;
    bw_status s = bw_half_width_from_alpha(a[0].number, &half, err);
    bw_put(r, n, "value", half, BW_UNIT_PERCENT);
    return s;
}

static const bw_calc_arg half_args[] = {
    BW_ARG("half_width", NUMBER, "as a share or with percent(...)"),
    BW_ARG_END,
};

static bw_status eval_tightening_factor(BW_EVAL) {
    double alpha = 0;
    bw_status s = bw_alpha_from_half_width(a[0].number, &alpha, err);
    bw_put(r, n, "value", alpha, BW_UNIT_NUMBER);
    return s;
}

static const bw_calc_arg limits_args[] = {
    BW_ARG("torque_least", TORQUE, "above running torque, tool's error taken off"),
    BW_ARG("torque_most", TORQUE, "the same, tool's error added"),
    BW_ARG("d", LENGTH, "nominal diameter"),
    BW_ARG("nut_factor", NUMBER, "K of this lubricant"),
    BW_ARG("scatter", NUMBER, "G, share by which preload strays"),
    BW_OPT("fasteners", NUMBER, "how many share the load (1)"),
    BW_OPT("relaxation", NUMBER, "share lost after tightening (0)"),
    BW_OPT("thermal", FORCE, "what heat adds and takes (0)"),
    BW_ARG_END,
};

static bw_status eval_preload_limits(BW_EVAL) {
    const bw_preload_range range = {
        .torque_least_Nm = a[0].number,
        .torque_most_Nm = a[1].number,
        .d_mm = a[2].number,
        .nut_factor = a[3].number,
        .scatter = a[4].number,
        .fasteners = bw_calc_or(&a[5], 1),
        .relaxation = bw_calc_or(&a[6], 0),
        .thermal_N = bw_calc_or(&a[7], 0),
    };
    bw_preload_limits limits = {0};
    bw_status s = bw_preload_limits_of(&range, &limits, err);
    bw_put(r, n, "initial_least", limits.initial.least_N, BW_UNIT_N);
    bw_put(r, n, "initial_most", limits.initial.most_N, BW_UNIT_N);
    bw_put(r, n, "final_least", limits.final.least_N, BW_UNIT_N);
    bw_put(r, n, "final_most", limits.final.most_N, BW_UNIT_N);
    return s;
}

static const bw_calc_arg preset_args[] = {
    BW_ARG_TEXT("name", "friction_class_b, textbook_zinc, web_engine_oil ..."),
    BW_ARG_END,
};

static const char *const preset_kinds[] = {
    [BW_PRESET_FRICTION] = "friction",
    [BW_PRESET_NUT_FACTOR] = "nut_factor",
    [BW_PRESET_DRY_SHARE] = "share of the dry torque",
};

static bw_status eval_lubricant_preset(BW_EVAL) {
    const bw_preset *preset = NULL;
    bw_status s = bw_preset_find(a[0].text, &preset, err);
    if (s == BW_OK) {
        bw_put_text(r, n, "kind", preset_kinds[preset->kind]);
        bw_put(r, n, "least", preset->least, BW_UNIT_NUMBER);
        bw_put(r, n, "most", preset->most, BW_UNIT_NUMBER);
        bw_put_text(r, n, "says", preset->says);
        bw_put_text(r, n, "source", preset->source);
    }
    return s;
}

/* Results are told by the place's turn; a call gives as many as it can name. */
static const char *const turns[] = {
    "1",  "2",  "3",  "4",  "5",  "6",  "7",  "8",  "9",  "10", "11", "12",
    "13", "14", "15", "16", "17", "18", "19", "20", "21", "22", "23", "24",
};

enum { TURN_N = sizeof turns / sizeof turns[0] };

static const bw_calc_arg order_args[] = {
    BW_ARG_TEXT("kind", "listed, spiral, crosswise, rows or rings"),
    BW_ARG_LIST("x", LENGTH, "to the right, place by place"),
    BW_ARG_LIST("y", LENGTH, "up, place by place"),
    BW_OPT("from", NUMBER, "first turn to tell (1); 24 are told"),
    BW_OPT("group", NUMBER, "places side by side taken as one (1)"),
    BW_OPT_FLAG("mirrored", "for the other bank"),
    BW_OPT_FLAG("reversed", "from the end, for loosening"),
    BW_ARG_END,
};

static bw_status find_kind(const char *word, bw_order_kind *out, bw_err *err) {
    for (bw_order_kind kind = BW_ORDER_LISTED; kind < BW_ORDER_KIND_COUNT; kind++) {
        if (strcmp(bw_order_word(kind), word) == 0) {
            *out = kind;
            return BW_OK;
        }
    }
    return bw_fail(err, BW_E_DATA,
                   "kind is '%s': listed, spiral, crosswise, rows or rings is needed", word);
}

static bw_status whole_in(const char *name, double value, double most, size_t *out, bw_err *err) {
    if (!(value >= 1 && value <= most && value == floor(value))) {
        return bw_fail(err, BW_E_DATA, "%s is %.9g: a whole number from 1 to %.9g is needed", name,
                       value, most);
    }
    *out = (size_t)value;
    return BW_OK;
}

/* x and y as points; the number of places. */
static bw_status read_points(const bw_calc_value *x, const bw_calc_value *y, bw_point *point,
                             bw_err *err) {
    bw_status s = bw_calc_same_length("x", x, "y", y, err);
    if (s == BW_OK && x->list_n > BW_ORDER_MAX) {
        s = bw_fail(err, BW_E_DATA, "x has %zu values: at most %d are needed", x->list_n,
                    BW_ORDER_MAX);
    }
    for (size_t i = 0; s == BW_OK && i < x->list_n; i++) {
        point[i] = (bw_point){x->list[i], y->list[i]};
    }
    return s;
}

static bw_status make_order(const bw_calc_value *a, const bw_point *point, size_t group,
                            size_t *order, bw_err *err) {
    size_t places = a[1].list_n;
    bw_order_kind kind = BW_ORDER_LISTED;
    size_t plain[BW_ORDER_MAX];
    bw_status s = find_kind(a[0].text, &kind, err);
    if (s == BW_OK) {
        s = bw_order_in_groups(kind, point, places, group, plain, err);
    }
    if (s == BW_OK && a[5].flag) {
        s = bw_order_mirror(point, places, plain, order, err);
    } else if (s == BW_OK) {
        memcpy(order, plain, places * sizeof *order);
    }
    if (s == BW_OK && a[6].flag) {
        bw_order_reverse(order, places, order);
    }
    return s;
}

static bw_status eval_fastener_order(BW_EVAL) {
    bw_point point[BW_ORDER_MAX];
    size_t order[BW_ORDER_MAX];
    size_t places = a[1].list_n;
    size_t from = 1;
    size_t group = 1;
    bw_status s = read_points(&a[1], &a[2], point, err);
    if (s == BW_OK) {
        s = whole_in("from", bw_calc_or(&a[3], 1), (double)places, &from, err);
    }
    if (s == BW_OK) {
        s = whole_in("group", bw_calc_or(&a[4], 1), (double)places, &group, err);
    }
    if (s == BW_OK) {
        s = make_order(a, point, group, order, err);
    }
    for (size_t t = 0; s == BW_OK && t < TURN_N && from - 1 + t < places; t++) {
        bw_put(r, n, turns[t], (double)(order[from - 1 + t] + 1), BW_UNIT_NUMBER);
    }
    return s;
}

static const bw_calc_arg round_args[] = {
    BW_ARG_TEXT("pattern", "legacy, three_rounds or five_rounds"),
    BW_ARG("round", NUMBER, "which round, from 1"),
    BW_ARG("torque", TORQUE, "the target"),
    BW_ARG_END,
};

static bw_status eval_flange_round(BW_EVAL) {
    const bw_flange_pattern *pattern = NULL;
    size_t number = 1;
    bw_status s = bw_flange_pattern_find(a[0].text, &pattern, err);
    if (s == BW_OK) {
        s = whole_in("round", a[1].number, (double)pattern->round_n, &number, err);
    }
    if (s == BW_OK) {
        const bw_flange_round *round = &pattern->round[number - 1];
        bw_put(r, n, "least", a[2].number * round->percent / 100, BW_UNIT_NM);
        bw_put(r, n, "most", a[2].number * round->percent_most / 100, BW_UNIT_NM);
        bw_put_flag(r, n, "crosswise", round->crosswise);
        bw_put_flag(r, n, "until_still", round->until_still);
        bw_put(r, n, "rounds", (double)pattern->round_n, BW_UNIT_NUMBER);
        bw_put_text(r, n, "source", pattern->source);
    }
    return s;
}

const bw_calc_function bw_calc_scatter[] = {
    {"scatter_band", "band of preload by the way of tightening, never one number",
     "VDI 2230, handbook and NASA lists; each way names its own",
     "scatter_band{method = \"torque_estimated\", preload = kN(32)}", band_args, eval_scatter_band},
    {"half_width", "half-width of the band from the tightening factor", "VDI 2230",
     "half_width{alpha = 1.6}", alpha_args, eval_half_width},
    {"tightening_factor", "tightening factor from the half-width of the band", "VDI 2230",
     "tightening_factor{half_width = percent(23)}", half_args, eval_tightening_factor},
    {"preload_limits", "least and most preload from a range of torque, after relaxation and heat",
     "NASA-STD-5020B",
     "preload_limits{torque_least = lbf_in(450), torque_most = lbf_in(490), d = inch(0.375), "
     "nut_factor = 0.15, scatter = 0.25, fasteners = 4, relaxation = 0.05, thermal = lbf(180)}",
     limits_args, eval_preload_limits},
    {"lubricant_preset", "friction or nut factor by name, with its source; never a default",
     "each preset names its own", "lubricant_preset{name = \"friction_class_b\"}", preset_args,
     eval_lubricant_preset},
    {"fastener_order", "which place is tightened at which turn",
     "common practice, no source; the manual's own numbering goes first",
     "fastener_order{kind = \"spiral\", x = {mm(0), mm(90), mm(180), mm(0), mm(90), mm(180)}, "
     "y = {mm(80), mm(80), mm(80), mm(0), mm(0), mm(0)}}",
     order_args, eval_fastener_order},
    {"flange_round", "torque and order of one round over a flange", "each pattern names its own",
     "flange_round{pattern = \"three_rounds\", round = 2, torque = Nm(120)}", round_args,
     eval_flange_round},
    {0},
};
