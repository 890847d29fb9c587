/* rows_tool.c - published gravities, lever corrections and tool errors. */
#include "published.h"

const published published_tool[] = {
    /* Tools and dead weights. */
    {"tool_error{indicated = Nm(100), references = {Nm(101.2), Nm(100.4), Nm(101.9), Nm(100.8), Nm(101.3)}}",
     "value", "%", -1.10514, 6e-06, OWN,
     "worked out by hand; ISO 6789 divides by the reference (from memory)", 0},
    {"dead_weight{mass = kg(10), lever = m(1.02), gravity = 9.81}", "value", "N.m", 100.04699,
     1e-05, OWN, "worked out by hand: m g L (1 - 1.2/8000)", 0},
    {"dead_weight{mass = kg(1), lever = m(1), gravity = 9.8}", "value", "N.m", 9.798530000000001,
     1e-12, SEEN, "conventional densities 1.2 and 8000 kg/m3: the factor is 0.99985", 0},
    {"air_density{pressure = bar(1.01325), humidity = percent(50), temperature = degC(20)}",
     "value", "", 1.199, 0.0005, MEMORY, "simplified CIPM formula", 0},
    /* Gravity. */
    {"gravity{latitude = deg(45), model = \"cfr1065\"}", "value", "", 9.8061992026, 1e-10, SEEN,
     "40 CFR 1065.630", 0},
    {"gravity{latitude = deg(0), model = \"cfr1065\"}", "value", "", 9.7803267715, 1e-10, SEEN,
     "40 CFR 1065.630", 0},
    {"gravity{latitude = deg(90)}", "value", "", 9.8321849378, 1e-10, SEEN,
     "WGS 84, pole, in public software", 0},
    {"gravity{latitude = deg(0)}", "value", "", 9.7803253359, 1e-10, SEEN, "WGS 84, equator", 0},
    {"gravity{latitude = deg(90), model = \"grs80\"}", "value", "", 9.8321863685, 2e-10, MEMORY,
     "GRS 80, pole", 0},
    {"gravity{latitude = deg(0), model = \"grs80\"}", "value", "", 9.7803267715, 1e-10, SEEN,
     "GRS 80, equator", 0},
    {"gravity{latitude = deg(45), height = m(1000)}", "value", "", 9.8031127694, 6e-07, SEEN,
     "public software: 1 km at 45 degrees lowers gravity by 308.5 mGal", 0},
    {"gravity{latitude = deg(0), model = \"welmec\"}", "value", "", 9.780318, 1e-09, SEEN,
     "WELMEC formula in public software", 0},
    {"gravity{latitude = deg(45), height = m(1000), model = \"welmec\"}", "value", "",
     9.803105853237199, 1e-09, SEEN, "WELMEC formula in public software", 0},
    {"gravity{latitude = deg(-19.5), height = m(3960)}", "value", "", 9.774, 0.0006, SEEN,
     "web example that printed 9.787: it forgot the height", 9.787},
    /* Crowfoots and extensions. */
    {"adapter_setting{torque = lbf_ft(40), lever = inch(12), extension = inch(4)}", "value",
     "lbf.ft", 30, 1e-09, SEEN, "TM 9-2350-277-40&P", 0},
    {"adapter_torque{setting = lbf_ft(30), lever = inch(12), extension = inch(4)}", "value",
     "lbf.ft", 40, 1e-09, SEEN, "TM 9-2350-277-40&P", 0},
    {"adapter_setting{torque = Nm(80), lever = cm(40), extension = cm(5)}", "value", "N.m", 71.1,
     0.05, SEEN, "open torque calculator page", 0},
    {"adapter_setting{torque = Nm(80), lever = cm(40), extension = cm(5), angle = deg(90)}",
     "value", "N.m", 80, 1e-09, SEEN, "open torque calculator page", 0},
    {"adapter_setting{torque = lbf_in(100), lever = inch(12), extension = inch(6)}", "value",
     "lbf.in", 66.7, 0.05, SEEN, "navy training manual 14315, inputs; answer worked out", 0},
    {"adapter_setting{torque = Nm(80), lever = cm(40), extension = cm(5), angle = deg(180)}",
     "value", "N.m", 91.42857142857143, 1e-09, OWN, "pointing back subtracts", 0},
    {"gravity{latitude = deg(45), height = m(9000)}", "value", "", 9.778486404486605, 1e-12, OWN,
     "height formula of TR8350.2 worked out apart", 0},
};

const size_t published_tool_n = sizeof published_tool / sizeof published_tool[0];
