/* calc_weight.c - dead weights, gravity, adapters and tool errors in the table of functions. */
#include "trade/calc_int.h"
#include "trade/weight.h"

#include <string.h>

static const char army[] = "army and navy technical manuals";

static const bw_calc_arg gravity_args[] = {
    BW_ARG("latitude", ANGLE, "north positive"),
    BW_OPT("height", LENGTH, "above the sea (0)"),
    BW_OPT_TEXT("model", "wgs84 (taken if left out), grs80, cfr1065 or welmec"),
    BW_ARG_END,
};

static bw_status find_model(const bw_calc_value *a, bw_gravity_model *out, bw_err *err) {
    const char *word = a->given ? a->text : "wgs84";
    for (bw_gravity_model m = BW_GRAVITY_WGS84; m < BW_GRAVITY_COUNT; m++) {
        if (strcmp(bw_gravity_word(m), word) == 0) {
            *out = m;
            return BW_OK;
        }
    }
    return bw_fail(err, BW_E_DATA, "model is '%s': wgs84, grs80, cfr1065 or welmec is needed",
                   word);
}

static bw_status eval_gravity(BW_EVAL) {
    bw_gravity_model model = BW_GRAVITY_WGS84;
    double m_per_s2 = 0;
    bw_status s = find_model(&a[2], &model, err);
    if (s == BW_OK) {
        s = bw_gravity(model, a[0].number, bw_calc_or(&a[1], 0) / 1000, &m_per_s2, err);
    }
    bw_put(r, n, "value", m_per_s2, BW_UNIT_NUMBER);
    return s;
}

static const bw_calc_arg air_args[] = {
    BW_ARG("pressure", STRESS, "such as bar(1.01325)"),
    BW_ARG("humidity", NUMBER, "relative, such as percent(50)"),
    BW_ARG("temperature", TEMPERATURE, "of the air"),
    BW_ARG_END,
};

static bw_status eval_air_density(BW_EVAL) {
    double kg_per_m3 = 0;
    bw_status s = bw_air_density(a[0].number * 10000, a[1].number * 100, a[2].number, &kg_per_m3,
                                 err);
    bw_put(r, n, "value", kg_per_m3, BW_UNIT_NUMBER);
    return s;
}

#define ARGS_WEIGHT                                                                                \
    BW_ARG("lever", LENGTH, "axis to where the weight hangs, level"),                              \
        BW_ARG("gravity", NUMBER, "m/s2, there"),                                                  \
        BW_OPT("air_density", NUMBER, "kg/m3 (1.2, as certificates take it)"),                     \
        BW_OPT("weight_density", NUMBER, "kg/m3 (8000, as certificates take it)")

static bw_dead_weight weight_of(const bw_calc_value *a, double mass_kg) {
    return (bw_dead_weight){mass_kg, a[1].number, a[2].number, bw_calc_or(&a[3], 1.2),
                            bw_calc_or(&a[4], 8000)};
}

static const bw_calc_arg dead_weight_args[] = {
    BW_ARG("mass", MASS, "conventional mass"),
    ARGS_WEIGHT,
    BW_ARG_END,
};

static bw_status eval_dead_weight(BW_EVAL) {
    const bw_dead_weight weight = weight_of(a, a[0].number);
    double torque_Nm = 0;
    bw_status s = bw_dead_weight_torque(&weight, &torque_Nm, err);
    bw_put(r, n, "value", torque_Nm, BW_UNIT_NM);
    return s;
}

static const bw_calc_arg mass_args[] = {
    BW_ARG("torque", TORQUE, "wanted"),
    ARGS_WEIGHT,
    BW_ARG_END,
};

static bw_status eval_dead_weight_mass(BW_EVAL) {
    const bw_dead_weight weight = weight_of(a, 0);
    double mass_kg = 0;
    bw_status s = bw_dead_weight_mass(&weight, a[0].number, &mass_kg, err);
    bw_put(r, n, "value", mass_kg, BW_UNIT_KG);
    return s;
}

#define ARGS_ADAPTER                                                                               \
    BW_ARG("lever", LENGTH, "where the hand is, to the centre of the drive"),                      \
        BW_ARG("extension", LENGTH, "centre of the drive to centre of the fastener"),              \
        BW_OPT("angle", ANGLE, "0 straight on (taken if left out), 90 no change, 180 back")

static const bw_calc_arg setting_args[] = {
    BW_ARG("torque", TORQUE, "wanted at the fastener"),
    ARGS_ADAPTER,
    BW_ARG_END,
};

static bw_status eval_adapter_setting(BW_EVAL) {
    const bw_adapter adapter = {a[1].number, a[2].number, bw_calc_or(&a[3], 0)};
    double setting_Nm = 0;
    bw_status s = bw_adapter_setting(&adapter, a[0].number, &setting_Nm, err);
    bw_put(r, n, "value", setting_Nm, BW_UNIT_NM);
    return s;
}

static const bw_calc_arg at_fastener_args[] = {
    BW_ARG("setting", TORQUE, "read or set on the wrench"),
    ARGS_ADAPTER,
    BW_ARG_END,
};

static bw_status eval_adapter_torque(BW_EVAL) {
    const bw_adapter adapter = {a[1].number, a[2].number, bw_calc_or(&a[3], 0)};
    double torque_Nm = 0;
    bw_status s = bw_adapter_torque(&adapter, a[0].number, &torque_Nm, err);
    bw_put(r, n, "value", torque_Nm, BW_UNIT_NM);
    return s;
}

static const bw_calc_arg error_args[] = {
    BW_ARG("indicated", TORQUE, "on the tool"),
    BW_ARG_LIST("references", TORQUE, "on the reference, reading by reading"),
    BW_ARG_END,
};

static bw_status eval_tool_error(BW_EVAL) {
    double percent = 0;
    bw_status s = bw_tool_error(a[0].number, a[1].list, a[1].list_n, &percent, err);
    bw_put(r, n, "value", percent / 100, BW_UNIT_PERCENT);
    return s;
}

const bw_calc_function bw_calc_weight[] = {
    {"gravity", "gravity of a place, m/s2",
     "WGS 84, GRS 80, 40 CFR 1065.630, WELMEC; height formula from memory",
     "gravity{latitude = deg(45), height = m(1000)}", gravity_args, eval_gravity},
    {"air_density", "density of air, kg/m3", "simplified CIPM formula, from memory",
     "air_density{pressure = bar(1.01325), humidity = percent(50), temperature = degC(20)}",
     air_args, eval_air_density},
    {"dead_weight", "torque of a weight on a level lever, buoyancy taken off", "m g L",
     "dead_weight{mass = kg(10), lever = m(1.02), gravity = 9.81}", dead_weight_args,
     eval_dead_weight},
    {"dead_weight_mass", "mass for a torque on a level lever", "m g L",
     "dead_weight_mass{torque = Nm(100), lever = m(1.02), gravity = 9.81}", mass_args,
     eval_dead_weight_mass},
    {"adapter_setting", "what to set on a wrench with a crowfoot or extension", army,
     "adapter_setting{torque = lbf_ft(40), lever = inch(12), extension = inch(4)}", setting_args,
     eval_adapter_setting},
    {"adapter_torque", "torque at the fastener from a reading with a crowfoot or extension", army,
     "adapter_torque{setting = lbf_ft(30), lever = inch(12), extension = inch(4), "
     "angle = deg(0)}",
     at_fastener_args, eval_adapter_torque},
    {"tool_error", "mean relative error of a tool; the reference is the divisor",
     "ISO 6789, from memory",
     "tool_error{indicated = Nm(100), references = {Nm(101.2), Nm(100.4), Nm(101.9)}}", error_args,
     eval_tool_error},
    {0},
};
