/* calc_stretch.c - compliance, angle and stretch in the table of functions. */
#include "trade/calc_int.h"
#include "trade/stretch.h"

static const char springs[] = "springs in series; machine design textbooks";

/* The sections of a bolt, as lists: lengths, and diameters or areas. */
#define ARGS_SECTIONS                                                                              \
    BW_ARG_LIST("lengths", LENGTH, "section by section, ends included as you count them"),         \
        BW_OPT_LIST("diameters", LENGTH, "section by section; else areas_mm2"),                    \
        BW_OPT_LIST("areas_mm2", NUMBER, "cross-sections in mm2"),                                 \
        BW_ARG("modulus", STRESS, "Young's modulus; steel has about 205000 MPa")

enum { AFTER_SECTIONS = 4 };

static const double quarter_pi = 0.78539816339744830962;

static bw_status sections_of(const bw_calc_value *a, bw_section *out, size_t *count, bw_err *err) {
    const bw_calc_value *width = a[1].given ? &a[1] : &a[2];
    if (a[1].given == a[2].given) {
        return bw_fail(err, BW_E_DATA, "give either `diameters` or `areas_mm2`");
    }
    bw_status s = bw_calc_same_length("lengths", &a[0], a[1].given ? "diameters" : "areas_mm2",
                                      width, err);
    if (s == BW_OK && a[0].list_n > BW_SECTIONS_MAX) {
        s = bw_fail(err, BW_E_DATA, "lengths has %zu values: at most %d are needed", a[0].list_n,
                    BW_SECTIONS_MAX);
    }
    for (size_t i = 0; s == BW_OK && i < a[0].list_n; i++) {
        double w = width->list[i];
        out[i] = (bw_section){a[0].list[i], a[1].given ? quarter_pi * w * w : w};
    }
    *count = a[0].list_n;
    return s;
}

static const bw_calc_arg stiffness_args[] = {ARGS_SECTIONS, BW_ARG_END};

static void put_stiffness(bw_calc_result *r, size_t *n, double mm_per_N) {
    bw_put(r, n, "stiffness_N_per_mm", 1 / mm_per_N, BW_UNIT_NUMBER);
    bw_put(r, n, "compliance_mm_per_N", mm_per_N, BW_UNIT_NUMBER);
}

static bw_status eval_bolt_stiffness(BW_EVAL) {
    bw_section section[BW_SECTIONS_MAX];
    size_t count = 0;
    double mm_per_N = 1;
    bw_status s = sections_of(a, section, &count, err);
    if (s == BW_OK) {
        s = bw_compliance_of(section, count, a[3].number, &mm_per_N, err);
    }
    put_stiffness(r, n, mm_per_N);
    return s;
}

static const bw_calc_arg plain_args[] = {
    BW_ARGS_THREAD,
    BW_ARG("shank_length", LENGTH, "plain part within the grip"),
    BW_ARG("thread_length", LENGTH, "free thread within the grip"),
    BW_ARG("modulus", STRESS, "Young's modulus; steel has about 205000 MPa"),
    BW_ARG_END,
};

static bw_status eval_plain_bolt_stiffness(BW_EVAL) {
    bw_thread thread = {0};
    bw_section section[2];
    double mm_per_N = 1;
    bw_status s = bw_calc_thread(a, &thread, err);
    if (s == BW_OK) {
        s = bw_plain_bolt(&thread, a[3].number, a[4].number, section, err);
    }
    if (s == BW_OK) {
        s = bw_compliance_of(section, 2, a[5].number, &mm_per_N, err);
    }
    put_stiffness(r, n, mm_per_N);
    return s;
}

static const bw_calc_arg joint_args[] = {
    BW_ARG("d", LENGTH, "diameter of the bolt"),
    BW_ARG("bearing_outer", LENGTH, "outer diameter of the bearing ring"),
    BW_ARG("grip", LENGTH, "thickness of what is clamped"),
    BW_ARG("modulus", STRESS, "Young's modulus of what is clamped"),
    BW_ARG_END,
};

static bw_status eval_joint_stiffness(BW_EVAL) {
    double N_per_mm = 1;
    bw_status s = bw_cone_stiffness(a[0].number, a[1].number, a[2].number, a[3].number, &N_per_mm,
                                    err);
    put_stiffness(r, n, 1 / N_per_mm);
    return s;
}

static const bw_calc_arg load_args[] = {
    BW_ARG("bolt_stiffness", NUMBER, "N/mm"),
    BW_ARG("joint_stiffness", NUMBER, "N/mm"),
    BW_OPT("preload", FORCE, "tension in the bolt (0)"),
    BW_OPT("load", FORCE, "outer load on the joint, for each bolt (0)"),
    BW_ARG_END,
};

static bw_status eval_load_share(BW_EVAL) {
    double factor = 0;
    double preload_N = bw_calc_or(&a[2], 0);
    double load_N = bw_calc_or(&a[3], 0);
    bw_status s = bw_load_factor(a[0].number, a[1].number, &factor, err);
    bw_put(r, n, "factor", factor, BW_UNIT_NUMBER);
    bw_put(r, n, "bolt", preload_N + factor * load_N, BW_UNIT_N);
    bw_put(r, n, "joint", preload_N - (1 - factor) * load_N, BW_UNIT_N);
    return s;
}

static const bw_calc_arg from_angle_args[] = {
    BW_ARG("angle", ANGLE, "turned from the snug point on"),
    BW_ARG("pitch", LENGTH, "pitch of the thread"),
    BW_ARG("bolt_stiffness", NUMBER, "N/mm"),
    BW_ARG("joint_stiffness", NUMBER, "N/mm"),
    BW_ARG_END,
};

static bw_status eval_preload_from_angle(BW_EVAL) {
    double preload_N = 0;
    bw_status s = bw_preload_from_angle(a[0].number, a[1].number, a[2].number, a[3].number,
                                        &preload_N, err);
    bw_put(r, n, "value", preload_N, BW_UNIT_KN);
    return s;
}

static const bw_calc_arg for_angle_args[] = {
    BW_ARG("preload", FORCE, "wanted beyond the snug point's"),
    BW_ARG("pitch", LENGTH, "pitch of the thread"),
    BW_ARG("bolt_stiffness", NUMBER, "N/mm"),
    BW_ARG("joint_stiffness", NUMBER, "N/mm"),
    BW_ARG_END,
};

static bw_status eval_angle_for_preload(BW_EVAL) {
    double angle_deg = 0;
    bw_status s = bw_angle_from_preload(a[0].number, a[1].number, a[2].number, a[3].number,
                                        &angle_deg, err);
    bw_put(r, n, "value", angle_deg, BW_UNIT_DEG);
    return s;
}

static const bw_calc_arg stretch_args[] = {
    ARGS_SECTIONS,
    BW_ARG("preload", FORCE, "tension in the bolt, below yield"),
    BW_ARG_END,
};

static bw_status eval_stretch_for_preload(BW_EVAL) {
    bw_section section[BW_SECTIONS_MAX];
    size_t count = 0;
    double stretch_mm = 0;
    bw_status s = sections_of(a, section, &count, err);
    if (s == BW_OK) {
        s = bw_stretch_from_preload(section, count, a[3].number, a[AFTER_SECTIONS].number,
                                    &stretch_mm, err);
    }
    bw_put(r, n, "value", stretch_mm, BW_UNIT_MM);
    return s;
}

static const bw_calc_arg from_stretch_args[] = {
    ARGS_SECTIONS,
    BW_ARG("stretch", LENGTH, "measured, on the gauge zeroed on this bolt relaxed"),
    BW_ARG_END,
};

static bw_status eval_preload_from_stretch(BW_EVAL) {
    bw_section section[BW_SECTIONS_MAX];
    size_t count = 0;
    double preload_N = 0;
    bw_status s = sections_of(a, section, &count, err);
    if (s == BW_OK) {
        s = bw_preload_from_stretch(section, count, a[3].number, a[AFTER_SECTIONS].number,
                                    &preload_N, err);
    }
    bw_put(r, n, "value", preload_N, BW_UNIT_KN);
    return s;
}

static const bw_calc_arg effective_args[] = {
    BW_ARG("thread_diameter", LENGTH, "diameter of the thread's stress area"),
    BW_ARG("shank_diameter", LENGTH, "diameter of the shank"),
    BW_ARG("shank_length", LENGTH, "length of the shank"),
    BW_ARG("joint_length", LENGTH, "grip"),
    BW_ARG("head_height", LENGTH, "height of the head"),
    BW_ARG("nut_height", LENGTH, "height of the nut or length of thread engaged"),
    BW_ARG_END,
};

static bw_status eval_effective_length(BW_EVAL) {
    const bw_end_corrections ends = {
        .thread_d_mm = a[0].number,
        .shank_d_mm = a[1].number,
        .shank_mm = a[2].number,
        .joint_mm = a[3].number,
        .head_mm = a[4].number,
        .nut_mm = a[5].number,
    };
    double length_mm = 0;
    bw_status s = bw_effective_length(&ends, &length_mm, err);
    bw_put(r, n, "value", length_mm, BW_UNIT_MM);
    return s;
}

static const bw_calc_arg gain_args[] = {
    BW_ARG("before", LENGTH, "length of the fastener relaxed, before"),
    BW_ARG("after", LENGTH, "the same after: tightened (stretch) or released again (set)"),
    BW_OPT("most", LENGTH, "most that the fastener's maker accepts"),
    BW_ARG_END,
};

static bw_status eval_length_gain(BW_EVAL) {
    double gain_mm = 0;
    bw_status s = bw_length_gain(a[0].number, a[1].number, &gain_mm, err);
    bw_put(r, n, "gain", gain_mm, BW_UNIT_MM);
    bw_put_flag(r, n, "accepted", !a[2].given || gain_mm <= a[2].number);
    return s;
}

const bw_calc_function bw_calc_stretch[] = {
    {"bolt_stiffness", "stiffness of a stepped bolt", springs,
     "bolt_stiffness{lengths = {mm(30), mm(12)}, diameters = {mm(9), mm(8.83)}, "
     "modulus = MPa(205000)}",
     stiffness_args, eval_bolt_stiffness},
    {"plain_bolt_stiffness", "stiffness of shank and thread, 0.4 d added at each end", springs,
     "plain_bolt_stiffness{thread = \"M10x1.25\", shank_length = mm(30), thread_length = mm(12), "
     "modulus = MPa(205000)}",
     plain_args, eval_plain_bolt_stiffness},
    {"joint_stiffness", "stiffness of the clamped parts, two cones of 30 degrees",
     "machine design textbooks, frustum method",
     "joint_stiffness{d = mm(10), bearing_outer = mm(15), grip = mm(40), modulus = MPa(110000)}",
     joint_args, eval_joint_stiffness},
    {"load_share", "what bolt and joint feel of an outer load", springs,
     "load_share{bolt_stiffness = 300000, joint_stiffness = 900000, preload = kN(32), "
     "load = kN(8)}",
     load_args, eval_load_share},
    {"preload_from_angle", "tension gained by turning on from the snug point", springs,
     "preload_from_angle{angle = deg(90), pitch = mm(1.25), bolt_stiffness = 300000, "
     "joint_stiffness = 900000}",
     from_angle_args, eval_preload_from_angle},
    {"angle_for_preload", "angle from the snug point for a gain in tension", springs,
     "angle_for_preload{preload = kN(32), pitch = mm(1.25), bolt_stiffness = 300000, "
     "joint_stiffness = 900000}",
     for_angle_args, eval_angle_for_preload},
    {"stretch_for_preload", "how much longer a bolt is under tension",
     "F L/(E A), section by section",
     "stretch_for_preload{lengths = {inch(5)}, areas_mm2 = {296.774}, modulus = ksi(30000), "
     "preload = lbf(10000)}",
     stretch_args, eval_stretch_for_preload},
    {"preload_from_stretch", "tension from a measured stretch", "F L/(E A), section by section",
     "preload_from_stretch{lengths = {mm(42)}, diameters = {mm(9)}, modulus = MPa(205000), "
     "stretch = mm(0.14)}",
     from_stretch_args, eval_preload_from_stretch},
    {"effective_length", "length of the thread's stress area that gives as much as the whole bolt",
     "MIL-HDBK-60, seen as quoted",
     "effective_length{thread_diameter = mm(8.83), shank_diameter = mm(10), shank_length = mm(30), "
     "joint_length = mm(42), head_height = mm(6.4), nut_height = mm(8.4)}",
     effective_args, eval_effective_length},
    {"length_gain", "stretch or permanent set of one fastener", "fastener makers' instructions",
     "length_gain{before = mm(58.412), after = mm(58.419), most = mm(0.01)}", gain_args,
     eval_length_gain},
    {0},
};
