/* calc_reading.c - what readings of a gauge say, and parts chosen by them, in the table of
 * functions.  The formulas of formula.h stand here under the same names. */
#include "trade/calc_int.h"
#include "trade/choose.h"
#include "trade/formula.h"
#include "trade/measure.h"

#include <math.h>

static const char manuals[] = "service manuals; common practice";

/* ---- the formulas that sequences name in `derive` ---- */

static bw_status by_formula(const char *name, bw_unit shown, BW_EVAL) {
    const bw_formula *formula = bw_formula_find(name);
    const bw_series in[] = {{a[0].list, a[0].list_n}, {a[1].list, a[1].list_n}};
    double value = 0;
    bw_status s = bw_formula_eval(formula, in, formula->operands, &value, err);
    bw_put(r, n, "value", value, shown);
    return s;
}

#define FORMULA(name, shown)                                                                       \
    static bw_status eval_##name(BW_EVAL) {                                                        \
        return by_formula(#name, shown, a, r, n, err);                                             \
    }

FORMULA(mean, BW_UNIT_MM)
FORMULA(largest, BW_UNIT_MM)
FORMULA(smallest, BW_UNIT_MM)
FORMULA(range, BW_UNIT_MM)
FORMULA(taper, BW_UNIT_MM)
FORMULA(out_of_round, BW_UNIT_MM)
FORMULA(worst_taper, BW_UNIT_MM)
FORMULA(worst_out_of_round, BW_UNIT_MM)
FORMULA(clearance_least, BW_UNIT_MM)
FORMULA(clearance_most, BW_UNIT_MM)
FORMULA(oil_clearance_least, BW_UNIT_MM)
FORMULA(oil_clearance_most, BW_UNIT_MM)
FORMULA(piston_clearance, BW_UNIT_MM)
FORMULA(end_float, BW_UNIT_MM)
FORMULA(pump_clearance, BW_UNIT_MM)
FORMULA(deck_height, BW_UNIT_MM)
FORMULA(stretch_least, BW_UNIT_MM)
FORMULA(stretch_most, BW_UNIT_MM)
FORMULA(permanent_set, BW_UNIT_MM)
FORMULA(valve_to_piston, BW_UNIT_MM)
FORMULA(weight_spread, BW_UNIT_G)

/* What they take. */
static const bw_calc_arg readings_args[] = {BW_ARG_LIST("readings", LENGTH, "all readings"),
                                            BW_ARG_END};
static const bw_calc_arg bores_args[] = {BW_ARG_LIST("bores", LENGTH, "bore diameters"),
                                         BW_ARG_LIST("shafts", LENGTH, "shaft diameters"),
                                         BW_ARG_END};
static const bw_calc_arg directions_args[] = {
    BW_ARG_LIST("one", LENGTH, "diameters along the axis in one direction"),
    BW_ARG_LIST("other", LENGTH, "the same in the other direction"), BW_ARG_END};
static const bw_calc_arg lengths_args[] = {BW_ARG_LIST("before", LENGTH, "lengths before"),
                                           BW_ARG_LIST("after", LENGTH, "lengths after"),
                                           BW_ARG_END};
static const bw_calc_arg valve_args[] = {
    BW_ARG_LIST("lifts", LENGTH, "what cam and rocker push the valve, position by position"),
    BW_ARG_LIST("travels", LENGTH, "how far it can go before it meets the piston"), BW_ARG_END};
static const bw_calc_arg weights_args[] = {
    BW_ARG_LIST("weights", MASS, "parts that should be alike"), BW_ARG_END};

/* ---- form, temperature, strip, rings, torque ---- */

static const bw_calc_arg form_args[] = {
    BW_ARG_LIST("readings", LENGTH, "plane after plane, in each all directions"),
    BW_ARG("planes", NUMBER, "planes across the axis, 2 or more"),
    BW_ARG("directions", NUMBER, "directions around it, 2 or more"),
    BW_ARG_END,
};

static bw_status eval_bore_form(BW_EVAL) {
    bw_form form = {0};
    double planes = a[1].number;
    double directions = a[2].number;
    bw_status s = BW_OK;
    if (floor(planes) * floor(directions) != (double)a[0].list_n) {
        s = bw_fail(err, BW_E_DATA,
                    "readings has %zu values: planes times directions (%.9g x %.9g) are needed",
                    a[0].list_n, planes, directions);
    }
    if (s == BW_OK) {
        s = BW_CHECK(err, {"planes", planes, 2, 100, ""}, {"directions", directions, 2, 100, ""});
    }
    if (s == BW_OK) {
        s = bw_form_of(a[0].list, (size_t)planes, (size_t)directions, &form, err);
    }
    bw_put(r, n, "least", form.least_mm, BW_UNIT_MM);
    bw_put(r, n, "most", form.most_mm, BW_UNIT_MM);
    bw_put(r, n, "mean", form.mean_mm, BW_UNIT_MM);
    bw_put(r, n, "out_of_round", form.out_of_round_mm, BW_UNIT_MM);
    bw_put(r, n, "worst_plane", (double)form.worst_plane, BW_UNIT_NUMBER);
    bw_put(r, n, "taper", form.taper_mm, BW_UNIT_MM);
    bw_put(r, n, "worst_direction", (double)form.worst_direction, BW_UNIT_NUMBER);
    return s;
}

static const bw_calc_arg size_args[] = {
    BW_ARG("size", LENGTH, "as measured"),
    BW_ARG("temperature", TEMPERATURE, "of the part"),
    BW_ARG("expansion", NUMBER, "of its material, 1e-6 for each kelvin"),
    BW_ARG_END,
};

static bw_status eval_size_at_20(BW_EVAL) {
    const bw_part part = {a[0].number, a[1].number, a[2].number};
    double size_mm = 0;
    bw_status s = bw_size_at_20(&part, &size_mm, err);
    bw_put(r, n, "value", size_mm, BW_UNIT_MM);
    return s;
}

static const bw_calc_arg clearance_20_args[] = {
    BW_ARG("bore", LENGTH, "as measured"),
    BW_ARG("bore_temperature", TEMPERATURE, "of the bore's part"),
    BW_ARG("bore_expansion", NUMBER, "1e-6 for each kelvin"),
    BW_ARG("shaft", LENGTH, "as measured"),
    BW_ARG("shaft_temperature", TEMPERATURE, "of the shaft"),
    BW_ARG("shaft_expansion", NUMBER, "1e-6 for each kelvin"),
    BW_ARG_END,
};

static bw_status eval_clearance_at_20(BW_EVAL) {
    const bw_part bore = {a[0].number, a[1].number, a[2].number};
    const bw_part shaft = {a[3].number, a[4].number, a[5].number};
    double clearance_mm = 0;
    bw_status s = bw_clearance_at_20(&bore, &shaft, &clearance_mm, err);
    bw_put(r, n, "value", clearance_mm, BW_UNIT_MM);
    return s;
}

static const bw_calc_arg material_args[] = {
    BW_ARG_TEXT("name", "grey_iron, steel_4140, aluminium_356 ..."),
    BW_ARG_END,
};

static bw_status eval_expansion(BW_EVAL) {
    const bw_material *material = NULL;
    bw_status s = bw_material_find(a[0].text, &material, err);
    if (s == BW_OK) {
        bw_put(r, n, "least", material->expansion_least_1e6, BW_UNIT_NUMBER);
        bw_put(r, n, "most", material->expansion_most_1e6, BW_UNIT_NUMBER);
        bw_put_text(r, n, "source", material->source);
    }
    return s;
}

static const bw_calc_arg oil_rule_args[] = {
    BW_ARG("journal", LENGTH, "diameter of the journal"),
    BW_ARG_END,
};

static bw_status eval_oil_clearance_habit(BW_EVAL) {
    bw_status s = BW_CHECK(err, BW_RANGE_DIAMETER("journal", a[0].number));
    bw_put(r, n, "rule_of_thumb", a[0].number / 1000, BW_UNIT_MM);
    return s;
}

static const bw_calc_arg strip_args[] = {
    BW_ARG("width", LENGTH, "of the squeezed strip at its widest"),
    BW_ARG_LIST("widths", LENGTH, "the card's marks, rising"),
    BW_ARG_LIST("clearances", LENGTH, "the clearance of each mark, falling"),
    BW_ARG_END,
};

static bw_status eval_plastic_gauge(BW_EVAL) {
    double clearance_mm = 0;
    bw_status s = bw_calc_same_length("widths", &a[1], "clearances", &a[2], err);
    if (s == BW_OK) {
        s = bw_plastic_gauge(a[0].number, a[1].list, a[2].list, a[1].list_n, &clearance_mm, err);
    }
    bw_put(r, n, "value", clearance_mm, BW_UNIT_MM);
    return s;
}

static const bw_calc_arg gap_args[] = {
    BW_ARG("bore", LENGTH, "diameter of the bore"),
    BW_ARG("factor", NUMBER, "gap by bore, such as 0.0045"),
    BW_ARG_TEXT("rule", "the document that the factor is from"),
    BW_ARG_END,
};

static bw_status eval_ring_gap(BW_EVAL) {
    double gap_mm = 0;
    bw_status s = bw_ring_gap(a[0].number, a[1].number, &gap_mm, err);
    bw_put(r, n, "gap", gap_mm, BW_UNIT_MM);
    bw_put_text(r, n, "rule", a[2].text);
    return s;
}

static const bw_calc_arg filing_args[] = {
    BW_ARG("gap", LENGTH, "measured now"),
    BW_ARG("least", LENGTH, "gap to reach"),
    BW_ARG("most", LENGTH, "gap beyond which the ring is scrap"),
    BW_ARG_END,
};

static bw_status eval_ring_filing(BW_EVAL) {
    double left_mm = 0;
    bool too_big = false;
    bw_status s = bw_ring_filing(a[0].number, a[1].number, a[2].number, &left_mm, &too_big, err);
    bw_put(r, n, "left", left_mm, BW_UNIT_MM);
    bw_put_flag(r, n, "too_big", too_big);
    return s;
}

static const bw_calc_arg growth_args[] = {
    BW_ARG("bore_growth", LENGTH, "what the bore grew, by wear or honing"),
    BW_ARG_END,
};

static bw_status eval_ring_gap_growth(BW_EVAL) {
    double growth_mm = 0;
    bw_status s = bw_ring_gap_growth(a[0].number, &growth_mm, err);
    bw_put(r, n, "value", growth_mm, BW_UNIT_MM);
    return s;
}

static const bw_calc_arg running_args[] = {
    BW_ARG_LIST("torques", TORQUE, "while it turns, eight or more, in the order of time"),
    BW_ARG_END,
};

static bw_status eval_running_torque(BW_EVAL) {
    bw_running_torque running = {0};
    bw_status s = bw_running_torque_of(a[0].list, a[0].list_n, &running, err);
    bw_put(r, n, "mean", running.mean_Nm, BW_UNIT_NM);
    bw_put(r, n, "start", running.start_Nm, BW_UNIT_NM);
    bw_put(r, n, "left_out", (double)running.left_out_n, BW_UNIT_NUMBER);
    return s;
}

/* ---- limits and parts ---- */

static const bw_calc_arg standing_args[] = {
    BW_ARG("value", LENGTH, "measured or derived"),
    BW_OPT("new_low", LENGTH, "lowest for a new part"),
    BW_OPT("new_high", LENGTH, "highest for a new part"),
    BW_OPT("worn", LENGTH, "a used part may go back in up to here"),
    BW_OPT("reject", LENGTH, "past it the part is scrap"),
    BW_ARG_END,
};

static bw_status eval_standing(BW_EVAL) {
    const bw_limits limits = {
        .new_low = bw_calc_or(&a[1], -(double)INFINITY),
        .new_high = bw_calc_or(&a[2], (double)INFINITY),
        .has_worn = a[3].given,
        .worn = a[3].number,
        .has_reject = a[4].given,
        .reject = a[4].number,
    };
    bw_standing_kind kind = BW_STANDS_OUTSIDE;
    bw_status s = bw_standing_of(a[0].number, &limits, &kind, err);
    bw_put_text(r, n, "value", bw_standing_word(kind));
    return s;
}

static const bw_calc_arg shim_args[] = {
    BW_ARG("fitted", LENGTH, "thickness of the shim that is in (0 for none)"),
    BW_ARG("measured", LENGTH, "gap with it"),
    BW_ARG("target", LENGTH, "gap that is wanted"),
    BW_ARG_LIST("stock", LENGTH, "thicknesses that there are"),
    BW_ARG_END,
};

static bw_status eval_shim(BW_EVAL) {
    double needed_mm = 0;
    double chosen_mm = 0;
    bw_status s = bw_shim_needed(a[0].number, a[1].number, a[2].number, &needed_mm, err);
    if (s == BW_OK) {
        s = bw_choose_stock(needed_mm, a[3].list, a[3].list_n, &chosen_mm, err);
    }
    bw_put(r, n, "needed", needed_mm, BW_UNIT_MM);
    bw_put(r, n, "chosen", chosen_mm, BW_UNIT_MM);
    bw_put(r, n, "gap", a[2].number + (needed_mm - chosen_mm), BW_UNIT_MM);
    return s;
}

static const bw_calc_arg shell_args[] = {
    BW_ARG("rows", NUMBER, "marks down the table"),
    BW_ARG("columns", NUMBER, "marks across"),
    BW_ARG_LIST("upper", NUMBER, "codes of the upper half, row after row"),
    BW_OPT_LIST("lower", NUMBER, "the same for the lower half; else alike"),
    BW_ARG("row", NUMBER, "this part's row, from 1"),
    BW_ARG("column", NUMBER, "the other part's column, from 1"),
    BW_OPT_LIST("exceptions", NUMBER, "row, column, upper, lower; again"),
    BW_OPT_LIST("forbidden", NUMBER, "upper, lower, upper instead, lower instead; again"),
    BW_ARG_END,
};

static bw_status check_shells(const bw_calc_value *a, bw_err *err) {
    bw_status s = BW_OK;
    if (floor(a[0].number) * floor(a[1].number) != (double)a[2].list_n ||
        (a[3].given && a[3].list_n != a[2].list_n)) {
        s = bw_fail(err, BW_E_DATA,
                    "upper has %zu codes: rows times columns (%.9g x %.9g) are "
                    "needed, and as many in lower",
                    a[2].list_n, a[0].number, a[1].number);
    } else if (a[6].list_n % 4 != 0 || a[7].list_n % 4 != 0) {
        s = bw_fail(err, BW_E_DATA, "exceptions and forbidden go in lines of four numbers");
    }
    return s;
}

static bw_status eval_shells(BW_EVAL) {
    bw_shells shells = {0};
    bw_status s = check_shells(a, err);
    if (s == BW_OK) {
        s = BW_CHECK(err, {"rows", a[0].number, 1, 100, ""}, {"columns", a[1].number, 1, 100, ""});
    }
    if (s == BW_OK) {
        const bw_shell_table table = {
            .rows = (size_t)a[0].number,
            .columns = (size_t)a[1].number,
            .upper = a[2].list,
            .lower = a[3].list,
            .exception = a[6].list,
            .exception_n = a[6].list_n / 4,
            .forbidden = a[7].list,
            .forbidden_n = a[7].list_n / 4,
        };
        s = bw_choose_shells(&table, a[4].number, a[5].number, &shells, err);
    }
    bw_put(r, n, "upper", shells.upper, BW_UNIT_NUMBER);
    bw_put(r, n, "lower", shells.lower, BW_UNIT_NUMBER);
    bw_put_flag(r, n, "by_exception", shells.by_exception);
    bw_put_flag(r, n, "replaced", shells.replaced);
    return s;
}

#define BORES "bores = {mm(55.012), mm(55.009)}, shafts = {mm(54.967), mm(54.964)}"
#define PAIRS "one = {mm(86.012), mm(86.008)}, other = {mm(86.019), mm(86.010)}"
#define BOLTS "before = {mm(58.412), mm(58.409)}, after = {mm(58.551), mm(58.546)}"

const bw_calc_function bw_calc_reading[] = {
    {"mean", "mean of readings", "arithmetic", "mean{readings = {mm(54.967), mm(54.970)}}",
     readings_args, eval_mean},
    {"largest", "largest of readings", "arithmetic", "largest{readings = {thou(2.5), thou(3)}}",
     readings_args, eval_largest},
    {"smallest", "smallest of readings", "arithmetic", "smallest{readings = {thou(2.5), thou(3)}}",
     readings_args, eval_smallest},
    {"range", "largest minus smallest reading", "arithmetic",
     "range{readings = {mm(54.967), mm(54.970)}}", readings_args, eval_range},
    {"taper", "spread of diameters along the axis", manuals,
     "taper{readings = {mm(86.012), mm(86.008), mm(86.015)}}", readings_args, eval_taper},
    {"out_of_round", "spread of diameters in one plane", manuals,
     "out_of_round{readings = {mm(86.012), mm(86.021)}}", readings_args, eval_out_of_round},
    {"worst_taper", "taper of the worse of two directions", manuals, "worst_taper{" PAIRS "}",
     directions_args, eval_worst_taper},
    {"worst_out_of_round", "out-of-round of the worst plane", manuals,
     "worst_out_of_round{" PAIRS "}", directions_args, eval_worst_out_of_round},
    {"clearance_least", "smallest bore minus largest shaft", manuals, "clearance_least{" BORES "}",
     bores_args, eval_clearance_least},
    {"clearance_most", "largest bore minus smallest shaft", manuals, "clearance_most{" BORES "}",
     bores_args, eval_clearance_most},
    {"oil_clearance_least", "smallest bore of the tightened shells minus largest journal",
     "bearing makers' guides", "oil_clearance_least{" BORES "}", bores_args,
     eval_oil_clearance_least},
    {"oil_clearance_most", "largest bore of the tightened shells minus smallest journal",
     "bearing makers' guides", "oil_clearance_most{" BORES "}", bores_args,
     eval_oil_clearance_most},
    {"piston_clearance", "smallest bore minus largest piston at its gauge point",
     "piston makers' sheets",
     "piston_clearance{bores = {mm(86.012), mm(86.019)}, shafts = {mm(85.965)}}", bores_args,
     eval_piston_clearance},
    {"end_float", "largest dial reading of the shaft pushed to and fro", manuals,
     "end_float{readings = {mm(0.11), mm(0.12)}}", readings_args, eval_end_float},
    {"pump_clearance", "largest feeler reading at tip, body or side of an oil pump", manuals,
     "pump_clearance{readings = {mm(0.10), mm(0.13), mm(0.11)}}", readings_args,
     eval_pump_clearance},
    {"deck_height", "mean depth of the piston on both sides of its pin", manuals,
     "deck_height{readings = {mm(0.42), mm(0.48)}}", readings_args, eval_deck_height},
    {"stretch_least", "least stretch of a group of fasteners", "fastener makers' instructions",
     "stretch_least{" BOLTS "}", lengths_args, eval_stretch_least},
    {"stretch_most", "largest stretch of a group of fasteners", "fastener makers' instructions",
     "stretch_most{" BOLTS "}", lengths_args, eval_stretch_most},
    {"permanent_set", "longest growth of fasteners once used", "fastener makers' instructions",
     "permanent_set{before = {mm(58.412), mm(58.409)}, after = {mm(58.414), mm(58.409)}}",
     lengths_args, eval_permanent_set},
    {"valve_to_piston", "least clearance between valve and piston, position by position",
     "cam makers' instructions",
     "valve_to_piston{lifts = {mm(1.2), mm(2.4)}, travels = {mm(4.1), mm(4.6)}}", valve_args,
     eval_valve_to_piston},
    {"weight_spread", "heaviest minus lightest of parts that should be alike",
     "common practice, no source", "weight_spread{weights = {g(412.1), g(412.6), g(411.9)}}",
     weights_args, eval_weight_spread},
    {"bore_form", "size, out-of-round and taper of a bore or journal", manuals,
     "bore_form{readings = {mm(86.012), mm(86.019), mm(86.008), mm(86.010)}, planes = 2, "
     "directions = 2}",
     form_args, eval_bore_form},
    {"size_at_20", "size at 20 degrees C of a part measured warmer or colder", "ISO 1",
     "size_at_20{size = mm(83), temperature = degC(25), expansion = 19.4}", size_args,
     eval_size_at_20},
    {"clearance_at_20", "clearance at 20 degrees C of two parts of other materials", "ISO 1",
     "clearance_at_20{bore = mm(83.060), bore_temperature = degC(25), bore_expansion = 11.4, "
     "shaft = mm(83.000), shaft_temperature = degC(25), shaft_expansion = 19.4}",
     clearance_20_args, eval_clearance_at_20},
    {"expansion", "expansion of a material near room temperature, 1e-6 for each kelvin",
     "each material names its own", "expansion{name = \"grey_iron\"}", material_args,
     eval_expansion},
    {"oil_clearance_habit", "a thousandth of the journal: a trade habit, not a specification",
     "magazine guides; no handbook", "oil_clearance_habit{journal = inch(2.375)}", oil_rule_args,
     eval_oil_clearance_habit},
    {"plastic_gauge", "clearance from a squeezed plastic strip by its card", "the strip's own card",
     "plastic_gauge{width = mm(1.6), widths = {mm(1.1), mm(1.5), mm(2.0)}, "
     "clearances = {mm(0.076), mm(0.051), mm(0.038)}}",
     strip_args, eval_plastic_gauge},
    {"ring_gap", "gap by a rule that you name", "the rule's own document",
     "ring_gap{bore = inch(4.030), factor = 0.0045, rule = \"ring maker's sheet\"}", gap_args,
     eval_ring_gap},
    {"ring_filing", "what is left to file, or that the ring is scrap", manuals,
     "ring_filing{gap = mm(0.36), least = mm(0.40), most = mm(0.50)}", filing_args,
     eval_ring_filing},
    {"ring_gap_growth", "what a ring's gap grows with its bore", "geometry: pi times",
     "ring_gap_growth{bore_growth = thou(1)}", growth_args, eval_ring_gap_growth},
    {"running_torque", "mean torque of something turning, the peak at the start left out",
     "common practice, no source",
     "running_torque{torques = {Nm(4.1), Nm(2.2), Nm(1.9), Nm(2.0), Nm(2.1), Nm(1.9), Nm(2.0), "
     "Nm(2.0)}}",
     running_args, eval_running_torque},
    {"standing", "new, worn, over_worn, reject or outside, by a manual's four limits",
     "service manuals; a part on the limit is inside",
     "standing{value = mm(0.112), new_low = mm(0.041), new_high = mm(0.109), worn = mm(0.15)}",
     standing_args, eval_standing},
    {"shim", "the shim of the stock nearest to what is needed", manuals,
     "shim{fitted = mm(2.50), measured = mm(0.31), target = mm(0.25), "
     "stock = {mm(2.50), mm(2.55), mm(2.60)}}",
     shim_args, eval_shim},
    {"shells", "bearing shells by a maker's two-way table; measure afterwards", manuals,
     "shells{rows = 2, columns = 3, upper = {1, 2, 3, 2, 3, 4}, row = 1, column = 2, "
     "forbidden = {2, 2, 2, 3}}",
     shell_args, eval_shells},
    {0},
};
