/* calc_fastener.c - threads, classes, torque and preload in the table of functions. */
#include "trade/calc_int.h"
#include "trade/grade.h"
#include "trade/preload.h"
#include "trade/thread.h"

static const char tension_source[] = "VDI 2230, exact form; NASA-STD-5020B has the same structure";
static const char stress_source[] =
    "VDI 2230: torsion taken as fully plastic unless elastic = true";

static const bw_calc_arg thread_args[] = {BW_ARGS_THREAD, BW_ARG_END};

static bw_status eval_thread_size(BW_EVAL) {
    bw_thread thread = {0};
    bw_thread_size size = {0};
    bw_status s = bw_calc_thread(a, &thread, err);
    if (s == BW_OK) {
        s = bw_thread_size_of(&thread, &size, err);
    }
    bw_put(r, n, "d", thread.d_mm, BW_UNIT_MM);
    bw_put(r, n, "pitch", thread.pitch_mm, BW_UNIT_MM);
    bw_put(r, n, "d2", size.d2_mm, BW_UNIT_MM);
    bw_put(r, n, "d3", size.d3_mm, BW_UNIT_MM);
    bw_put(r, n, "d1_nut", size.D1_mm, BW_UNIT_MM);
    bw_put(r, n, "d0", size.d0_mm, BW_UNIT_MM);
    bw_put(r, n, "stress_area_mm2", size.stress_area_mm2, BW_UNIT_NUMBER);
    bw_put(r, n, "lead", size.lead_deg, BW_UNIT_DEG);
    bw_put_flag(r, n, "standard", size.standard);
    bw_put_text(r, n, "note",
                size.standard ? "standard combination" : "no standard combination of d and pitch");
    return s;
}

static const bw_calc_arg class_args[] = {
    BW_ARGS_THREAD,
    BW_ARG_TEXT("class", "8.8, 10.9, 12.9 ..., grade 2, grade 5, grade 8"),
    BW_ARG_END,
};

static bw_status eval_fastener_class(BW_EVAL) {
    bw_thread thread = {0};
    bw_thread_size size = {0};
    const bw_grade *grade = NULL;
    bw_status s = bw_calc_thread(a, &thread, err);
    if (s == BW_OK) {
        s = bw_thread_size_of(&thread, &size, err);
    }
    if (s == BW_OK) {
        s = bw_grade_find(a[BW_AFTER_THREAD].text, thread.d_mm, &grade, err);
    }
    if (s == BW_OK) {
        double area = size.stress_area_mm2;
        bw_put(r, n, "proof", grade->proof_MPa, BW_UNIT_MPA);
        bw_put(r, n, "yield", grade->yield_MPa, BW_UNIT_MPA);
        bw_put(r, n, "tensile", grade->tensile_MPa, BW_UNIT_MPA);
        bw_put(r, n, "proof_load", grade->proof_MPa * area, BW_UNIT_N);
        bw_put(r, n, "yield_load", grade->yield_MPa * area, BW_UNIT_N);
        bw_put(r, n, "tensile_load", grade->tensile_MPa * area, BW_UNIT_N);
        bw_put_text(r, n, "source", grade->source);
    }
    return s;
}

static const bw_calc_arg bearing_args[] = {
    BW_ARG("bearing_outer", LENGTH, "outer diameter of the ring on which the head bears"),
    BW_ARG("bearing_inner", LENGTH, "its inner diameter, the hole with its chamfer"),
    BW_ARG_END,
};

static bw_status eval_bearing_ring(BW_EVAL) {
    bw_bearing bearing = {0};
    bw_status s = bw_bearing_of(a[0].number, a[1].number, &bearing, err);
    bw_put(r, n, "mean", bearing.mean_mm, BW_UNIT_MM);
    bw_put(r, n, "friction", bearing.friction_mm, BW_UNIT_MM);
    bw_put(r, n, "area_mm2", bearing.area_mm2, BW_UNIT_NUMBER);
    return s;
}

static const bw_calc_arg head_args[] = {
    BW_ARG("d", LENGTH, "nominal diameter, 6 to 16 mm"),
    BW_ARG_TEXT("fit", "hole: fine, medium or coarse"),
    BW_ARG_END,
};

static bw_status eval_hexagon_head(BW_EVAL) {
    double outer = 0;
    double inner = 0;
    bw_status s = bw_hexagon_head(a[0].number, a[1].text, &outer, &inner, err);
    bw_put(r, n, "bearing_outer", outer, BW_UNIT_MM);
    bw_put(r, n, "bearing_inner", inner, BW_UNIT_MM);
    return s;
}

static const bw_calc_arg torque_args[] = {
    BW_ARGS_TIGHTENING,
    BW_ARG("torque", TORQUE, "what stretches: running torque taken off"),
    BW_ARG_END,
};

static bw_status eval_preload(BW_EVAL) {
    bw_tightening t = {0};
    double preload_N = 0;
    bw_status s = bw_calc_tightening(a, &t, err);
    if (s == BW_OK) {
        s = bw_preload_from_torque(&t, a[BW_AFTER_TIGHTENING].number, &preload_N, err);
    }
    bw_put(r, n, "value", preload_N, BW_UNIT_KN);
    return s;
}

static const bw_calc_arg preload_args[] = {
    BW_ARGS_TIGHTENING,
    BW_ARG("preload", FORCE, "tension in the fastener"),
    BW_ARG_END,
};

static bw_status eval_torque_for_preload(BW_EVAL) {
    bw_tightening t = {0};
    double torque_Nm = 0;
    bw_status s = bw_calc_tightening(a, &t, err);
    if (s == BW_OK) {
        s = bw_torque_from_preload(&t, a[BW_AFTER_TIGHTENING].number, &torque_Nm, err);
    }
    bw_put(r, n, "value", torque_Nm, BW_UNIT_NM);
    return s;
}

static bw_status eval_torque_shares(BW_EVAL) {
    bw_tightening t = {0};
    bw_lever lever = {0};
    double torque_Nm = 0;
    double preload_N = a[BW_AFTER_TIGHTENING].number;
    bw_status s = bw_calc_tightening(a, &t, err);
    if (s == BW_OK) {
        s = bw_lever_of(&t, &lever, err);
    }
    if (s == BW_OK) {
        s = bw_torque_from_preload(&t, preload_N, &torque_Nm, err);
    }
    bw_put(r, n, "pitch", preload_N * lever.pitch_mm / 1000, BW_UNIT_NM);
    bw_put(r, n, "thread", preload_N * lever.thread_mm / 1000, BW_UNIT_NM);
    bw_put(r, n, "head", preload_N * lever.head_mm / 1000, BW_UNIT_NM);
    bw_put(r, n, "total", torque_Nm, BW_UNIT_NM);
    bw_put(r, n, "loosening", preload_N * lever.loosen_mm / 1000, BW_UNIT_NM);
    bw_put(r, n, "nut_factor", lever.nut_factor, BW_UNIT_NUMBER);
    return s;
}

static bw_status eval_loosening_torque(BW_EVAL) {
    bw_calc_result shares[BW_CALC_RESULTS_MAX];
    size_t shares_n = 0;
    bw_status s = eval_torque_shares(a, shares, &shares_n, err);
    bw_put(r, n, "value", shares[4].value.number, BW_UNIT_NM);
    return s;
}

static const bw_calc_arg preload_k_args[] = {
    BW_ARG("d", LENGTH, "nominal diameter"),
    BW_ARG("torque", TORQUE, "running torque taken off"),
    BW_ARG("nut_factor", NUMBER, "K of this lubricant, from a named source"),
    BW_ARG_END,
};

static bw_status eval_preload_k(BW_EVAL) {
    double preload_N = 0;
    bw_status s = bw_preload_from_nut_factor(a[2].number, a[0].number, a[1].number, &preload_N,
                                             err);
    bw_put(r, n, "value", preload_N, BW_UNIT_KN);
    return s;
}

static const bw_calc_arg torque_k_args[] = {
    BW_ARG("d", LENGTH, "nominal diameter"),
    BW_ARG("preload", FORCE, "tension in the fastener"),
    BW_ARG("nut_factor", NUMBER, "K of this lubricant, from a named source"),
    BW_ARG_END,
};

static bw_status eval_torque_k(BW_EVAL) {
    double torque_Nm = 0;
    bw_status s = bw_torque_from_nut_factor(a[2].number, a[0].number, a[1].number, &torque_Nm, err);
    bw_put(r, n, "value", torque_Nm, BW_UNIT_NM);
    return s;
}

/* Yield from a class or as it is given; exactly one of the two. */
static bw_status yield_of(const bw_calc_value *class_or_yield, double d_mm, double *yield_MPa,
                          bw_err *err) {
    const bw_grade *grade = NULL;
    if (class_or_yield[0].given == class_or_yield[1].given) {
        return bw_fail(err, BW_E_DATA, "give either `class`, such as \"10.9\", or `yield`");
    }
    if (class_or_yield[1].given) {
        *yield_MPa = class_or_yield[1].number;
        return BW_OK;
    }
    bw_status s = bw_grade_find(class_or_yield[0].text, d_mm, &grade, err);
    *yield_MPa = s == BW_OK ? grade->yield_MPa : 0;
    return s;
}

static const bw_calc_arg permissible_preload_args[] = {
    BW_ARGS_THREAD,
    BW_ARG("friction_thread", NUMBER, "lowest coefficient of friction in the thread"),
    BW_ARG("utilisation", NUMBER, "share of yield; 0.9 is usual"),
    BW_OPT_TEXT("class", "property class or grade; else yield"),
    BW_OPT("yield", STRESS, "yield strength"),
    BW_OPT_FLAG("elastic", "torsion taken as elastic"),
    BW_ARG_END,
};

static bw_status permissible(const bw_calc_value *a, double friction, const bw_calc_value *rest,
                             double *preload_N, bw_err *err) {
    bw_thread thread = {0};
    double yield_MPa = 0;
    bw_status s = bw_calc_thread(a, &thread, err);
    if (s == BW_OK) {
        s = yield_of(&rest[1], thread.d_mm, &yield_MPa, err);
    }
    if (s == BW_OK) {
        s = bw_permissible_preload(&thread, friction, yield_MPa, rest[0].number, rest[3].flag,
                                   preload_N, err);
    }
    return s;
}

static bw_status eval_permissible_preload(BW_EVAL) {
    double preload_N = 0;
    bw_status s = permissible(a, a[3].number, &a[4], &preload_N, err);
    bw_put(r, n, "value", preload_N, BW_UNIT_KN);
    return s;
}

static const bw_calc_arg permissible_torque_args[] = {
    BW_ARGS_TIGHTENING,
    BW_ARG("utilisation", NUMBER, "share of yield; 0.9 is usual"),
    BW_OPT_TEXT("class", "property class or grade; else yield"),
    BW_OPT("yield", STRESS, "yield strength"),
    BW_OPT_FLAG("elastic", "torsion taken as elastic"),
    BW_ARG_END,
};

static bw_status eval_permissible_torque(BW_EVAL) {
    bw_tightening t = {0};
    double preload_N = 0;
    double torque_Nm = 0;
    bw_status s = permissible(a, a[3].number, &a[BW_AFTER_TIGHTENING], &preload_N, err);
    if (s == BW_OK) {
        s = bw_calc_tightening(a, &t, err);
    }
    if (s == BW_OK) {
        s = bw_torque_from_preload(&t, preload_N, &torque_Nm, err);
    }
    bw_put(r, n, "value", torque_Nm, BW_UNIT_NM);
    return s;
}

static const bw_calc_arg stress_args[] = {
    BW_ARGS_THREAD,
    BW_ARG("friction_thread", NUMBER, "coefficient of friction in the thread"),
    BW_ARG("preload", FORCE, "tension in the fastener"),
    BW_ARG_TEXT("class", "property class or grade"),
    BW_OPT_FLAG("elastic", "torsion taken as elastic"),
    BW_ARG_END,
};

static const char *stress_note(double of_proof, double of_yield) {
    if (of_yield > 1) {
        return "past yield: the fastener is stretched for good";
    }
    return of_proof > 1 ? "past proof: permanent set is to be expected" : "below proof and yield";
}

static bw_status eval_tightening_stress(BW_EVAL) {
    bw_thread thread = {0};
    bw_stress stress = {0};
    const bw_grade *grade = NULL;
    bw_status s = bw_calc_thread(a, &thread, err);
    if (s == BW_OK) {
        s = bw_stress_at(&thread, a[3].number, a[4].number, a[6].flag, &stress, err);
    }
    if (s == BW_OK) {
        s = bw_grade_find(a[5].text, thread.d_mm, &grade, err);
    }
    if (s == BW_OK) {
        double of_proof = stress.tension_MPa / grade->proof_MPa;
        double of_yield = stress.reduced_MPa / grade->yield_MPa;
        bw_put(r, n, "tension", stress.tension_MPa, BW_UNIT_MPA);
        bw_put(r, n, "torsion", stress.torsion_MPa, BW_UNIT_MPA);
        bw_put(r, n, "reduced", stress.reduced_MPa, BW_UNIT_MPA);
        bw_put(r, n, "of_proof", of_proof, BW_UNIT_NUMBER);
        bw_put(r, n, "of_yield", of_yield, BW_UNIT_NUMBER);
        bw_put_flag(r, n, "past_proof", of_proof > 1);
        bw_put_flag(r, n, "past_yield", of_yield > 1);
        bw_put_text(r, n, "note", stress_note(of_proof, of_yield));
    }
    return s;
}

static const bw_calc_arg friction_new_args[] = {
    BW_ARGS_TIGHTENING,
    BW_ARG("torque", TORQUE, "given for the friction above"),
    BW_ARG("friction_thread_new", NUMBER, "coefficient with the other lubricant"),
    BW_ARG("friction_head_new", NUMBER, "the same under the head"),
    BW_ARG_END,
};

static bw_status eval_torque_for_friction(BW_EVAL) {
    bw_tightening t = {0};
    double torque_Nm = 0;
    bw_status s = bw_calc_tightening(a, &t, err);
    if (s == BW_OK) {
        s = bw_torque_for_friction(&t, a[8].number, a[9].number, a[7].number, &torque_Nm, err);
    }
    bw_put(r, n, "value", torque_Nm, BW_UNIT_NM);
    return s;
}

static const bw_calc_arg nut_factor_new_args[] = {
    BW_ARG("torque", TORQUE, "given for nut_factor"),
    BW_ARG("nut_factor", NUMBER, "K of the lubricant that the torque was given for"),
    BW_ARG("nut_factor_new", NUMBER, "K of the other lubricant"),
    BW_ARG_END,
};

static bw_status eval_torque_for_nut_factor(BW_EVAL) {
    double torque_Nm = 0;
    bw_status s = bw_torque_for_nut_factor(a[0].number, a[1].number, a[2].number, &torque_Nm, err);
    bw_put(r, n, "value", torque_Nm, BW_UNIT_NM);
    return s;
}

static const bw_calc_arg prevailing_args[] = {
    BW_ARG("torque", TORQUE, "target of the manual"),
    BW_ARG("prevailing", TORQUE, "running torque, measured before the head touches"),
    BW_ARG_END,
};

static bw_status eval_torque_with_prevailing(BW_EVAL) {
    double torque_Nm = 0;
    bw_status s = bw_torque_with_prevailing(a[0].number, a[1].number, &torque_Nm, err);
    bw_put(r, n, "value", torque_Nm, BW_UNIT_NM);
    return s;
}

static const bw_calc_arg series_args[] = {
    BW_ARG("least", TORQUE, "lower end of the manual's range"),
    BW_ARG("most", TORQUE, "its upper end"),
    BW_ARG_END,
};

static bw_status eval_series_torque(BW_EVAL) {
    double torque_Nm = 0;
    bw_status s = bw_series_torque(a[0].number, a[1].number, &torque_Nm, err);
    bw_put(r, n, "value", torque_Nm, BW_UNIT_NM);
    return s;
}

#define EXAMPLE_TIGHTENING                                                                         \
    "thread = \"M10x1.25\", friction_thread = 0.12, friction_head = 0.12, "                        \
    "bearing_outer = mm(14.63), bearing_inner = mm(11)"

const bw_calc_function bw_calc_fastener[] = {
    {"thread_size", "diameters, stress area and lead angle of a thread",
     "ISO 68-1, ISO 724, ISO 898-1; inch: ASME B1.1", "thread_size{thread = \"M10x1.25\"}",
     thread_args, eval_thread_size},
    {"fastener_class", "proof, yield and tensile strength and loads of a class on a thread",
     "ISO 898-1, SAE J429", "fastener_class{thread = \"M10\", class = \"10.9\"}", class_args,
     eval_fastener_class},
    {"bearing_ring", "mean diameter and area of the ring on which a head bears", "geometry",
     "bearing_ring{bearing_outer = mm(14.63), bearing_inner = mm(11)}", bearing_args,
     eval_bearing_ring},
    {"hexagon_head", "bearing diameters of a hexagon head over a clearance hole",
     "ISO 4014, ISO 273, from memory", "hexagon_head{d = mm(10), fit = \"medium\"}", head_args,
     eval_hexagon_head},
    {"preload", "tension that a torque gives with this friction; show it as a band", tension_source,
     "preload{" EXAMPLE_TIGHTENING ", torque = Nm(60)}", torque_args, eval_preload},
    {"torque_for_preload", "torque that gives a tension with this friction", tension_source,
     "torque_for_preload{" EXAMPLE_TIGHTENING ", preload = kN(32)}", preload_args,
     eval_torque_for_preload},
    {"torque_shares", "what the torque goes into: pitch, thread, head; and the nut factor",
     tension_source, "torque_shares{" EXAMPLE_TIGHTENING ", preload = kN(32)}", preload_args,
     eval_torque_shares},
    {"loosening_torque", "torque that loosens", tension_source,
     "loosening_torque{" EXAMPLE_TIGHTENING ", preload = kN(32)}", preload_args,
     eval_loosening_torque},
    {"preload_k", "tension by the nut factor, T = K d F", "machine design textbooks",
     "preload_k{d = mm(12), torque = Nm(82.1), nut_factor = 0.2}", preload_k_args, eval_preload_k},
    {"torque_k", "torque by the nut factor, T = K d F", "machine design textbooks",
     "torque_k{d = inch(0.375), preload = lbf(4940), nut_factor = 0.15}", torque_k_args,
     eval_torque_k},
    {"permissible_preload", "tension at which tightening uses that share of yield", stress_source,
     "permissible_preload{thread = \"M10x1.25\", friction_thread = 0.12, utilisation = 0.9, "
     "class = \"10.9\"}",
     permissible_preload_args, eval_permissible_preload},
    {"permissible_torque", "torque at which tightening uses that share of yield", stress_source,
     "permissible_torque{" EXAMPLE_TIGHTENING ", utilisation = 0.9, class = \"10.9\"}",
     permissible_torque_args, eval_permissible_torque},
    {"tightening_stress", "stress while tightening, beside proof and yield", stress_source,
     "tightening_stress{thread = \"M10x1.25\", friction_thread = 0.12, preload = kN(32), "
     "class = \"8.8\"}",
     stress_args, eval_tightening_stress},
    {"torque_for_friction", "torque for the same tension with another lubricant", tension_source,
     "torque_for_friction{" EXAMPLE_TIGHTENING ", torque = Nm(60), friction_thread_new = 0.10, "
     "friction_head_new = 0.10}",
     friction_new_args, eval_torque_for_friction},
    {"torque_for_nut_factor", "the same by nut factors", "T = K d F",
     "torque_for_nut_factor{torque = lbf_ft(30), nut_factor = 0.20, nut_factor_new = 0.15}",
     nut_factor_new_args, eval_torque_for_nut_factor},
    {"torque_with_prevailing", "setting for a locking fastener: target and running torque",
     "AC 43.13-1B; NASA-STD-5020B",
     "torque_with_prevailing{torque = lbf_in(170), "
     "prevailing = lbf_in(14)}",
     prevailing_args, eval_torque_with_prevailing},
    {"series_torque", "one torque out of a range for all fasteners of a joint: its middle",
     "flange makers' practice", "series_torque{least = lbf_in(160), most = lbf_in(190)}",
     series_args, eval_series_torque},
    {0},
};
