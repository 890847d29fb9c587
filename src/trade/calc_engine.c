/* calc_engine.c - volumes, valves and cams in the table of functions. */
#include "trade/calc_int.h"
#include "trade/engine.h"

static const bw_calc_arg compression_args[] = {
    BW_ARG("bore", LENGTH, "of the cylinder"),
    BW_ARG("stroke", LENGTH, "of the piston"),
    BW_ARG("chamber", VOLUME, "in the head, poured"),
    BW_ARG("gasket_bore", LENGTH, "hole of the gasket"),
    BW_ARG("gasket", LENGTH, "its thickness once tightened"),
    BW_ARG("deck", LENGTH, "piston below the deck at its top; above: negative"),
    BW_OPT("crown", VOLUME, "dish and valve pockets; a dome: negative (0)"),
    BW_ARG_END,
};

static bw_status eval_compression(BW_EVAL) {
    const bw_cylinder cylinder = {
        .bore_mm = a[0].number,
        .stroke_mm = a[1].number,
        .chamber_mm3 = a[2].number,
        .gasket_bore_mm = a[3].number,
        .gasket_mm = a[4].number,
        .deck_mm = a[5].number,
        .crown_mm3 = bw_calc_or(&a[6], 0),
    };
    bw_compression c = {0};
    bw_status s = bw_compression_of(&cylinder, &c, err);
    bw_put(r, n, "ratio", c.ratio, BW_UNIT_NUMBER);
    bw_put(r, n, "swept", c.swept_mm3, BW_UNIT_CM3);
    bw_put(r, n, "gasket", c.gasket_mm3, BW_UNIT_CM3);
    bw_put(r, n, "deck", c.deck_mm3, BW_UNIT_CM3);
    bw_put(r, n, "closed", c.closed_mm3, BW_UNIT_CM3);
    return s;
}

static const bw_calc_arg valve_args[] = {
    BW_ARG_LIST("travels", LENGTH, "how far the valve goes before it meets the piston"),
    BW_ARG_LIST("cam_lifts", LENGTH, "lift at the cam, position by position"),
    BW_ARG("ratio", NUMBER, "rocker ratio"),
    BW_ARG_END,
};

static bw_status eval_valve_clearance(BW_EVAL) {
    double clearance_mm = 0;
    size_t index = 0;
    bw_status s = bw_calc_same_length("travels", &a[0], "cam_lifts", &a[1], err);
    if (s == BW_OK) {
        s = bw_valve_clearance(a[0].list, a[1].list, a[0].list_n, a[2].number, &clearance_mm,
                               &index, err);
    }
    bw_put(r, n, "least", clearance_mm, BW_UNIT_MM);
    bw_put(r, n, "position", (double)(index + 1), BW_UNIT_NUMBER);
    return s;
}

static const bw_calc_arg cam_args[] = {
    BW_ARG("opening", ANGLE, "crank after top dead centre at this lift, opening; before: negative"),
    BW_ARG("closing", ANGLE, "the same closing"),
    BW_OPT("card", ANGLE, "what the cam's card says"),
    BW_ARG_END,
};

static bw_status eval_cam_centreline(BW_EVAL) {
    double centre_deg = 0;
    bw_status s = bw_cam_centreline(a[0].number, a[1].number, &centre_deg, err);
    bw_put(r, n, "centreline", centre_deg, BW_UNIT_DEG);
    bw_put(r, n, "advance", bw_calc_or(&a[2], centre_deg) - centre_deg, BW_UNIT_DEG);
    return s;
}

const bw_calc_function bw_calc_engine[] = {
    {"compression", "compression ratio and the volumes that make it", "geometry",
     "compression{bore = mm(86), stroke = mm(86), chamber = cm3(45), gasket_bore = mm(87), "
     "gasket = mm(1.2), deck = mm(0.2), crown = cm3(3)}",
     compression_args, eval_compression},
    {"valve_clearance", "least clearance between valve and piston from dial and degree wheel",
     "cam makers' instructions",
     "valve_clearance{travels = {mm(4.1), mm(4.6)}, cam_lifts = {mm(0.8), mm(1.6)}, ratio = 1.5}",
     valve_args, eval_valve_clearance},
    {"cam_centreline", "middle of a lobe from two angles of equal lift", "cam makers' instructions",
     "cam_centreline{opening = deg(28), closing = deg(190), card = deg(108)}", cam_args,
     eval_cam_centreline},
    {0},
};
