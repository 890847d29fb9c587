/* test_refusals.c - what has no meaning is refused with one line that names the argument and its
 * range; what is told is told. */
#include "expression.h"

#include "cmocka_all.h"

#include <string.h>

static expression e;

#define JOINT                                                                                      \
    "thread = \"M10x1.25\", friction_thread = 0.12, friction_head = 0.12, "                        \
    "bearing_outer = mm(14.63), bearing_inner = mm(11)"
#define SPRINGS "bolt_stiffness = 300000, joint_stiffness = 900000"
#define SHELLS  "rows = 2, columns = 2, upper = {1, 2, 3, 4}"

static const struct {
    const char *expression;
    const char *part;
} rows[] = {
    /* threads */
    {"thread_size{thread = \"M10x1.25\", d = mm(10)}", "give either `thread`"},
    {"thread_size{d = mm(10)}", "or both `d` and `pitch`"},
    {"thread_size{pitch = mm(1)}", "or both `d` and `pitch`"},
    {"thread_size{thread = \"M10\", pitch = mm(1)}", "give either"},
    {"thread_size{d = mm(-10), pitch = mm(1)}", "d is -10 mm: 0.3 to 500 mm is needed"},
    {"thread_size{d = mm(10), pitch = mm(6)}", "pitch is 6 mm: 0.05 to 5 mm is needed"},
    {"thread_size{d = mm(10), pitch = mm(0)}", "pitch is 0 mm"},
    {"thread_size{thread = \"M11.5\"}", "M11.5 has no coarse pitch"},
    {"thread_size{thread = \"M15\"}", "write its pitch"},
    {"thread_size{thread = \"X10\"}", "a thread such as M10x1.25"},
    {"fastener_class{thread = \"M10\", class = \"11.9\"}", "'11.9' is no class known here: 4.6"},
    {"fastener_class{thread = \"M20\", class = \"9.8\"}", "no figures for a diameter of 20 mm"},
    {"fastener_class{thread = \"M0\", class = \"9.8\"}", "M0 has no coarse pitch"},
    {"bearing_ring{bearing_outer = mm(14), bearing_inner = mm(15)}", "bearing_inner is 15 mm"},
    {"bearing_ring{bearing_outer = mm(-1), bearing_inner = mm(0)}", "bearing_outer is -1 mm"},
    {"hexagon_head{d = mm(10), fit = \"loose\"}", "with fit 'loose'"},
    {"hexagon_head{d = mm(11), fit = \"fine\"}", "no hexagon head for d 11 mm"},
    /* torque and preload */
    {"preload{thread = \"M10x1.25\", friction_thread = 1.6, friction_head = 0.12, "
     "bearing_outer = mm(14.63), bearing_inner = mm(11), torque = Nm(60)}",
     "friction_thread is 1.6: 0 to 1.5 is needed"},
    {"preload{thread = \"M10x1.25\", friction_thread = 0.1, friction_head = -0.12, "
     "bearing_outer = mm(14.63), bearing_inner = mm(11), torque = Nm(60)}",
     "friction_head is -0.12"},
    {"preload{thread = \"M10x1.25\", friction_thread = 0.1, friction_head = 0.12, "
     "bearing_outer = mm(14.63), bearing_inner = mm(15), torque = Nm(60)}",
     "bearing_inner is 15 mm"},
    {"preload{thread = \"M10x9\", friction_thread = 0.1, friction_head = 0.12, "
     "bearing_outer = mm(14.63), bearing_inner = mm(11), torque = Nm(60)}",
     "pitch is 9 mm"},
    {"preload{" JOINT ", torque = Nm(-1)}", "torque is -1 N.m: 0 to 1000000 N.m is needed"},
    {"torque_for_preload{" JOINT ", preload = kN(-1)}", "preload is -1000 N"},
    {"torque_shares{" JOINT ", preload = kN(-1)}", "preload is -1000 N"},
    {"preload_k{d = mm(12), torque = Nm(80), nut_factor = 0}", "nut_factor is 0: 0.01 to 2"},
    {"preload_k{d = mm(0), torque = Nm(80), nut_factor = 0.2}", "d is 0 mm"},
    {"torque_k{d = mm(12), preload = N(-5), nut_factor = 0.2}", "preload is -5 N"},
    {"permissible_preload{thread = \"M10\", friction_thread = 0.12, utilisation = 0.9}",
     "give either `class`, such as \"10.9\", or `yield`"},
    {"permissible_preload{thread = \"M10\", friction_thread = 0.12, utilisation = 0.9, "
     "class = \"8.8\", yield = MPa(640)}",
     "give either `class`"},
    {"permissible_preload{thread = \"M10\", friction_thread = 0.12, utilisation = 1.1, "
     "class = \"8.8\"}",
     "utilisation is 1.1: 0.01 to 1 is needed"},
    {"permissible_preload{thread = \"M10\", friction_thread = 0.12, utilisation = 0.9, "
     "yield = MPa(0)}",
     "yield is 0 MPa"},
    {"permissible_preload{thread = \"M10\", friction_thread = 0.12, utilisation = 0.9, "
     "class = \"7.7\"}",
     "no class known"},
    {"permissible_preload{thread = \"M10x9\", friction_thread = 0.12, utilisation = 0.9, "
     "yield = MPa(640)}",
     "pitch is 9 mm"},
    {"permissible_torque{thread = \"M10x1.25\", friction_thread = 0.12, friction_head = 2, "
     "bearing_outer = mm(14.63), bearing_inner = mm(11), utilisation = 0.9, class = \"8.8\"}",
     "friction_head is 2"},
    {"permissible_torque{" JOINT ", utilisation = 0, class = \"8.8\"}", "utilisation is 0"},
    {"tightening_stress{thread = \"M10x9\", friction_thread = 0.1, preload = kN(1), "
     "class = \"8.8\"}",
     "pitch is 9 mm"},
    {"tightening_stress{thread = \"M10\", friction_thread = 0.1, preload = kN(1), "
     "class = \"soft\"}",
     "'soft' is no class"},
    {"torque_for_friction{" JOINT
     ", torque = Nm(60), friction_thread_new = 1.7, friction_head_new = 0.1}",
     "friction_thread_new is 1.7"},
    {"torque_for_friction{" JOINT
     ", torque = Nm(-60), friction_thread_new = 0.1, friction_head_new = 0.1}",
     "torque is -60 N.m"},
    {"torque_for_nut_factor{torque = Nm(30), nut_factor = 3, nut_factor_new = 0.2}",
     "nut_factor is 3"},
    {"torque_with_prevailing{torque = Nm(30), prevailing = Nm(-2)}", "prevailing is -2 N.m"},
    {"series_torque{least = Nm(30), most = Nm(20)}", "most is 20 N.m: 30 to 1000000 N.m"},
    /* bands and presets */
    {"scatter_band{method = \"hope\", preload = kN(10)}", "no way to tighten is called 'hope'"},
    {"scatter_band{method = \"hydraulic\", preload = kN(-10)}", "preload is -10000 N"},
    {"half_width{alpha = 0.9}", "alpha is 0.9: 1 to 10 is needed"},
    {"tightening_factor{half_width = 0.9}", "half_width is 0.9: 0 to 0.8 is needed"},
    {"preload_limits{torque_least = Nm(50), torque_most = Nm(40), d = mm(10), nut_factor = 0.2, "
     "scatter = 0.25}",
     "torque_most is 40 N.m: 50 to"},
    {"preload_limits{torque_least = Nm(50), torque_most = Nm(60), d = mm(10), nut_factor = 0.2, "
     "scatter = 0.25, fasteners = 0}",
     "fasteners is 0"},
    {"lubricant_preset{name = \"snake oil\"}", "no preset is called 'snake oil'"},
    /* orders */
    {"fastener_order{kind = \"zigzag\", x = {mm(0)}, y = {mm(0)}}", "kind is 'zigzag'"},
    {"fastener_order{kind = \"rows\", x = {mm(0), mm(1)}, y = {mm(0)}}", "`x` has 2 values"},
    {"fastener_order{kind = \"rows\", x = {mm(0)}, y = {mm(0)}, from = 2}", "from is 2: a whole"},
    {"fastener_order{kind = \"rows\", x = {mm(0)}, y = {mm(0)}, from = 0.5}", "from is 0.5"},
    {"fastener_order{kind = \"rows\", x = {mm(0)}, y = {mm(0)}, group = 0}", "group is 0"},
    {"fastener_order{kind = \"rows\", x = {mm(0), mm(9)}, y = {mm(0), mm(1)}, group = 1.5}",
     "group is 1.5"},
    {"fastener_order{kind = \"rows\", x = {mm(0), mm(0)}, y = {mm(0), mm(0)}}", "at one spot"},
    {"fastener_order{kind = \"rows\", x = {mm(0), mm(9)}, y = {mm(0), mm(5)}, mirrored = true}",
     "no counterpart in the mirror"},
    {"flange_round{pattern = \"new\", round = 1, torque = Nm(100)}", "no flange pattern is called"},
    {"flange_round{pattern = \"legacy\", round = 5, torque = Nm(100)}", "round is 5: a whole"},
    /* stretch */
    {"bolt_stiffness{lengths = {mm(30)}, modulus = MPa(205000)}", "give either `diameters`"},
    {"bolt_stiffness{lengths = {mm(30)}, diameters = {mm(9)}, areas_mm2 = {60}, "
     "modulus = MPa(205000)}",
     "give either `diameters`"},
    {"bolt_stiffness{lengths = {mm(30)}, diameters = {mm(9), mm(8)}, modulus = MPa(205000)}",
     "`lengths` has 1 values and `diameters` 2"},
    {"bolt_stiffness{lengths = {mm(0)}, diameters = {mm(9)}, modulus = MPa(205000)}",
     "length is 0 mm"},
    {"bolt_stiffness{lengths = {mm(30)}, areas_mm2 = {0}, modulus = MPa(205000)}", "area is 0 mm2"},
    {"bolt_stiffness{lengths = {mm(30)}, areas_mm2 = {60}, modulus = MPa(5)}", "modulus is 5 MPa"},
    {"bolt_stiffness{lengths = {mm(30)}, areas_mm2 = {60, 50}, modulus = MPa(205000)}",
     "`lengths` has 1 values and `areas_mm2` 2"},
    {"plain_bolt_stiffness{thread = \"M10\", shank_length = mm(-1), thread_length = mm(12), "
     "modulus = MPa(205000)}",
     "shank_length is -1 mm"},
    {"plain_bolt_stiffness{thread = \"M10x9\", shank_length = mm(1), thread_length = mm(12), "
     "modulus = MPa(205000)}",
     "pitch is 9 mm"},
    {"plain_bolt_stiffness{thread = \"M10\", shank_length = mm(1), thread_length = mm(12), "
     "modulus = MPa(1)}",
     "modulus is 1 MPa"},
    {"plain_bolt_stiffness{d = mm(10), shank_length = mm(1), thread_length = mm(12), "
     "modulus = MPa(205000)}",
     "give either `thread`"},
    {"joint_stiffness{d = mm(10), bearing_outer = mm(9), grip = mm(40), modulus = MPa(110000)}",
     "bearing_outer is 9 mm"},
    {"load_share{bolt_stiffness = 0, joint_stiffness = 9}", "bolt_stiffness is 0 N/mm"},
    {"preload_from_angle{angle = deg(90), pitch = mm(0), " SPRINGS "}", "pitch is 0 mm"},
    {"angle_for_preload{preload = kN(-1), pitch = mm(1.25), " SPRINGS "}", "preload is -1000 N"},
    {"stretch_for_preload{lengths = {mm(30)}, areas_mm2 = {60}, modulus = MPa(205000), "
     "preload = N(-1)}",
     "preload is -1 N"},
    {"stretch_for_preload{lengths = {mm(30)}, areas_mm2 = {60}, modulus = MPa(2), preload = N(1)}",
     "modulus is 2 MPa"},
    {"stretch_for_preload{lengths = {mm(30)}, modulus = MPa(2), preload = N(1)}", "give either"},
    {"preload_from_stretch{lengths = {mm(30)}, areas_mm2 = {60}, modulus = MPa(205000), "
     "stretch = mm(20)}",
     "stretch is 20 mm"},
    {"preload_from_stretch{lengths = {mm(30)}, areas_mm2 = {60}, modulus = MPa(2), "
     "stretch = mm(0.1)}",
     "modulus is 2 MPa"},
    {"preload_from_stretch{lengths = {mm(30)}, modulus = MPa(2), stretch = mm(1)}", "give either"},
    {"effective_length{thread_diameter = mm(8), shank_diameter = mm(10), shank_length = mm(50), "
     "joint_length = mm(42), head_height = mm(6.4), nut_height = mm(8.4)}",
     "shank_length is 50 mm: 0 to 42 mm is needed"},
    {"length_gain{before = mm(58), after = mm(78)}", "after is 78 mm: 48 to 68 mm is needed"},
    /* readings */
    {"mean{readings = {mm(1)}, readings = {mm(2)}, other = 1}", "no such argument"},
    {"taper{readings = {mm(54)}}", "at least two diameters"},
    {"out_of_round{readings = {mm(54), mm(0)}}", "above 0 mm"},
    {"worst_taper{one = {mm(54)}, other = {mm(54), mm(55)}}", "at least two diameters"},
    {"worst_taper{one = {mm(54), mm(55)}, other = {mm(54)}}", "at least two diameters"},
    {"worst_out_of_round{one = {mm(54)}, other = {mm(54), mm(55)}}", "they have 1 and 2"},
    {"stretch_least{before = {mm(54)}, after = {mm(54), mm(55)}}", "they have 1 and 2"},
    {"bore_form{readings = {mm(86), mm(86), mm(86)}, planes = 2, directions = 2}",
     "readings has 3 values: planes times directions (2 x 2)"},
    {"bore_form{readings = {mm(86), mm(86)}, planes = 1, directions = 2}", "planes is 1"},
    {"bore_form{readings = {mm(86), mm(86)}, planes = 2, directions = 1}", "directions is 1"},
    {"bore_form{readings = {mm(86), mm(86), mm(86), mm(-86)}, planes = 2, directions = 2}",
     "readings number 4 is -86 mm"},
    {"size_at_20{size = mm(83), temperature = degC(400), expansion = 11}", "temperature is 400"},
    {"clearance_at_20{bore = mm(83), bore_temperature = degC(25), bore_expansion = -1, "
     "shaft = mm(83), shaft_temperature = degC(25), shaft_expansion = 19}",
     "bore_expansion is -1"},
    {"clearance_at_20{bore = mm(83), bore_temperature = degC(25), bore_expansion = 11, "
     "shaft = mm(0), shaft_temperature = degC(25), shaft_expansion = 19}",
     "shaft is 0 mm"},
    {"expansion{name = \"wood\"}", "no material is called 'wood'"},
    {"oil_clearance_habit{journal = mm(0)}", "journal is 0 mm"},
    {"plastic_gauge{width = mm(1), widths = {mm(1), mm(2)}, clearances = {mm(0.1)}}",
     "`widths` has 2 values and `clearances` 1"},
    {"plastic_gauge{width = mm(1), widths = {mm(1)}, clearances = {mm(0.1)}}",
     "widths has 1 values: 2 or more"},
    {"plastic_gauge{width = mm(1), widths = {mm(1), mm(2)}, clearances = {mm(0.1), mm(99)}}",
     "clearances number 2 is 99 mm"},
    {"plastic_gauge{width = mm(1), widths = {mm(2), mm(1)}, clearances = {mm(0.1), mm(0.05)}}",
     "mark 2 must be wider"},
    {"plastic_gauge{width = mm(1), widths = {mm(1), mm(2)}, clearances = {mm(0.1), mm(0.2)}}",
     "mark 2 must be wider"},
    {"plastic_gauge{width = mm(3), widths = {mm(1), mm(2)}, clearances = {mm(0.1), mm(0.05)}}",
     "width is 3 mm: the card's marks go from 1 to 2 mm"},
    {"plastic_gauge{width = mm(0.5), widths = {mm(1), mm(2)}, clearances = {mm(0.1), mm(0.05)}}",
     "take another strip"},
    {"ring_gap{bore = mm(86), factor = 0.5, rule = \"r\"}", "factor is 0.5: 0.0005 to 0.02"},
    {"ring_filing{gap = mm(0.3), least = mm(0.5), most = mm(0.4)}", "most is 0.4 mm: 0.5 to 50"},
    {"ring_gap_growth{bore_growth = mm(11)}", "bore_growth is 11 mm"},
    {"running_torque{torques = {Nm(1), Nm(2)}}", "torques has 2 values: 8 or more"},
    /* limits and parts */
    {"standing{value = mm(1), new_low = mm(2), new_high = mm(1)}", "the limits must go one way"},
    {"standing{value = mm(1), new_low = mm(1), new_high = mm(3), worn = mm(2)}", "go one way"},
    {"standing{value = mm(1), new_high = mm(3), worn = mm(5), reject = mm(4)}", "go one way"},
    {"shim{fitted = mm(-1), measured = mm(0.3), target = mm(0.2), stock = {mm(2)}}",
     "fitted is -1 mm"},
    {"shim{fitted = mm(0), measured = mm(0.1), target = mm(0.2), stock = {mm(2)}}",
     "0.1 mm too small even without a shim"},
    {"shim{fitted = mm(2), measured = mm(0.3), target = mm(0.2), stock = {mm(0)}}",
     "stock number 1 is 0 mm"},
    {"shells{" SHELLS ", row = 3, column = 1}", "row 3, column 1 is not in the table of 2 rows"},
    {"shells{" SHELLS ", row = 1, column = 0}", "column 0 is not"},
    {"shells{" SHELLS ", row = 1.5, column = 1}", "row 1.5"},
    {"shells{rows = 2, columns = 3, upper = {1, 2, 3, 4}, row = 1, column = 1}",
     "upper has 4 codes: rows times columns (2 x 3)"},
    {"shells{rows = 2.5, columns = 2, upper = {1, 2, 3, 4, 5}, row = 1, column = 1}",
     "upper has 5 codes"},
    {"shells{" SHELLS ", lower = {1, 2}, row = 1, column = 1}", "as many in lower"},
    {"shells{" SHELLS ", row = 1, column = 1, exceptions = {1, 2}}", "lines of four"},
    {"shells{" SHELLS ", row = 1, column = 1, forbidden = {1, 2}}", "lines of four"},
    {"shells{rows = 2, columns = 2, upper = {1, 2, 3, 0}, row = 1, column = 1}",
     "upper number 4 is 0: a whole number"},
    {"shells{rows = 2, columns = 2, upper = {1, 2, 3, 1.5}, row = 1, column = 1}",
     "upper number 4 is 1.5"},
    {"shells{" SHELLS ", lower = {1, 2, 3, 10000}, row = 1, column = 1}", "lower number 4"},
    {"shells{" SHELLS ", row = 1, column = 1, exceptions = {1, 1, 0, 1}}", "exceptions number 3"},
    {"shells{" SHELLS ", row = 1, column = 1, forbidden = {1, 1, 0, 1}}", "forbidden number 3"},
    {"shells{" SHELLS ", row = 1, column = 1, forbidden = {1, 1, 2, 2, 2, 2, 1, 1}}",
     "is forbidden itself"},
    {"shells{rows = 0, columns = 2, upper = {1}, row = 1, column = 1}", "upper has 1 codes"},
    /* engine */
    {"compression{bore = mm(0), stroke = mm(86), chamber = cm3(45), gasket_bore = mm(87), "
     "gasket = mm(1), deck = mm(0)}",
     "bore is 0 mm"},
    {"compression{bore = mm(86), stroke = mm(86), chamber = cm3(0), gasket_bore = mm(86), "
     "gasket = mm(0), deck = mm(0)}",
     "leave 0 mm3 above the piston"},
    {"valve_clearance{travels = {mm(4)}, cam_lifts = {mm(1), mm(2)}, ratio = 1.5}",
     "`travels` has 1 values"},
    {"valve_clearance{travels = {mm(4)}, cam_lifts = {mm(1)}, ratio = 9}", "ratio is 9: 0.5 to 3"},
    {"valve_clearance{travels = {mm(-4)}, cam_lifts = {mm(1)}, ratio = 1}", "travels number 1"},
    {"valve_clearance{travels = {mm(4)}, cam_lifts = {mm(-1)}, ratio = 1}", "cam_lifts number 1"},
    {"cam_centreline{opening = deg(28), closing = deg(20)}", "closing is 20 deg: 28 to 748 deg"},
    /* numbers */
    {"type_a{values = {1}}", "values has 1 values: 2 or more"},
    {"type_b{width = 1, shape = \"round\"}", "shape is 'round': rectangular, triangular"},
    {"type_b{width = -1, shape = \"u\"}", "width is -1"},
    {"combine{u = {1, 2}, sensitivities = {1}}", "`u` has 2 values and `sensitivities` 1"},
    {"combine{u = {1, 2}, freedoms = {1}}", "`u` has 2 values and `freedoms` 1"},
    {"combine{u = {1, -2}}", "u is -2"},
    {"coverage_factor{freedom = 16, probability = 0.4}", "probability is 0.4: 0.5 to 0.9999"},
    {"coverage_factor{freedom = 0.5, probability = 0.9}", "freedom is 0.5: 1 to"},
    {"conformance{value = 1, u = 0, high = 2}", "u is 0"},
    {"conformance{value = 1, u = 0.1, low = 3, high = 2}", "low is 3 and high 2"},
    {"decision{value = 1, u = 0.1, high = 2, rule = \"kind\"}", "rule is 'kind': simple"},
    {"decision{value = 1, u = 0.5, low = 0, high = 1, rule = \"guarded\"}",
     "guards of 1 leave nothing between 0 and 1"},
    {"decision{value = 1, u = 0.5, low = 2, high = 1, rule = \"guarded\"}", "low is 2 and high 1"},
    {"decision{value = 1, u = -0.5, high = 1, rule = \"guarded\"}", "u is -0.5"},
    {"chart_constants{n = 1}", "n is 1: 2 to 25 is needed"},
    {"chart_constants{n = 2.5}", "n is 2.5: a whole number"},
    {"chart_of_ranges{means = {1, 2}, ranges = {1}, n = 5}", "`means` has 2 values"},
    {"chart_of_ranges{means = {1, 2}, ranges = {1, -1}, n = 5}", "ranges number 2 is -1"},
    {"chart_of_ranges{means = {1}, ranges = {1}, n = 5}", "means has 1 values: 2 or more"},
    {"chart_of_ranges{means = {1, 2}, ranges = {1, 1}, n = 50}", "n is 50"},
    {"chart_of_values{values = {1}}", "values has 1 values: 2 or more"},
    {"capability{mean = 1, s = 0, n = 50, low = 0, high = 2}", "s is 0"},
    {"capability{mean = 1, s = 1, n = 1, low = 0, high = 2}", "n is 1"},
    {"capability{mean = 1, s = 1, n = 9, low = 2, high = 0}", "high is 0"},
    {"normal_quantile{probability = 0}", "probability is 0"},
    {"student_quantile{probability = 1, freedom = 3}", "probability is 1"},
    {"chi_square_quantile{probability = 0.5, freedom = 0}", "freedom is 0"},
    /* weights and adapters */
    {"gravity{latitude = deg(91)}", "latitude is 91 deg: -90 to 90 deg"},
    {"gravity{latitude = deg(45), height = m(10), model = \"cfr1065\"}",
     "height is 10 m: 0 to 0 m is needed"},
    {"gravity{latitude = deg(45), model = \"moon\"}", "model is 'moon'"},
    {"air_density{pressure = bar(3), humidity = percent(50), temperature = degC(20)}",
     "pressure is 3000 hPa"},
    {"dead_weight{mass = kg(-1), lever = m(1), gravity = 9.81}", "mass is -1 kg"},
    {"dead_weight{mass = kg(1), lever = m(1), gravity = 1.6}", "gravity is 1.6 m/s2"},
    {"dead_weight_mass{torque = Nm(-1), lever = m(1), gravity = 9.81}", "torque is -1 N.m"},
    {"dead_weight_mass{torque = Nm(1), lever = m(0), gravity = 9.81}", "lever is 0 mm"},
    {"adapter_setting{torque = Nm(40), lever = cm(30), extension = cm(28), angle = deg(180)}",
     "extension reaches back 280 mm over a lever of 300 mm"},
    {"adapter_setting{torque = Nm(-40), lever = cm(30), extension = cm(8)}", "torque is -40"},
    {"adapter_setting{torque = Nm(40), lever = cm(0), extension = cm(8)}", "lever is 0 mm"},
    {"adapter_torque{setting = Nm(-40), lever = cm(30), extension = cm(8)}", "setting is -40"},
    {"adapter_torque{setting = Nm(40), lever = cm(0), extension = cm(8)}", "lever is 0 mm"},
    {"tool_error{indicated = Nm(0), references = {Nm(1)}}", "indicated is 0 N.m"},
    {"tool_error{indicated = Nm(1), references = {Nm(0)}}", "references number 1 is 0 N.m"},
    /* units are looked at before anything is computed */
    {"preload{" JOINT ", torque = kN(60)}", "another unit is needed"},
    {"preload{" JOINT ", torque = 60}", "a unit is missing"},
    {"ring_gap{bore = degC(20), factor = 0.004, rule = \"r\"}", "another unit is needed"},
};

static void test_refused_with_one_line(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_calc_result result[BW_CALC_RESULTS_MAX];
        size_t n = 0;
        bw_status s = expression_eval(&e, rows[i].expression, result, &n);
        if (s != BW_E_DATA || n != 0 || strstr(e.err.text, rows[i].part) == NULL ||
            strchr(e.err.text, '\n') != NULL) {
            fail_msg("%s: %d '%s', not '%s'", rows[i].expression, s, e.err.text, rows[i].part);
        }
    }
}

/* What is no mistake but must be told: past proof, past yield, no standard thread, scrap. */
static void test_told(void **state) {
    (void)state;
    static const struct {
        const char *expression;
        const char *result;
        const char *word; /* or, for a flag, "true" */
    } told[] = {
        {"tightening_stress{thread = \"M10\", friction_thread = 0.05, preload = kN(35), "
         "class = \"8.8\"}",
         "note", "past proof: permanent set is to be expected"},
        {"tightening_stress{thread = \"M10\", friction_thread = 0.12, preload = kN(40), "
         "class = \"8.8\"}",
         "past_yield", "true"},
        {"tightening_stress{thread = \"M10\", friction_thread = 0.12, preload = kN(40), "
         "class = \"8.8\", elastic = true}",
         "note", "past yield: the fastener is stretched for good"},
        {"tightening_stress{thread = \"M10\", friction_thread = 0.12, preload = kN(20), "
         "class = \"8.8\", elastic = false}",
         "note", "below proof and yield"},
        {"thread_size{thread = \"M11x1.25\"}", "note", "no standard combination of d and pitch"},
        {"standing{value = mm(1), new_high = mm(2), reject = mm(3)}", "value", "new"},
        {"standing{value = mm(2.5), new_high = mm(2), reject = mm(3)}", "value", "over_worn"},
        {"standing{value = mm(3), new_high = mm(2), reject = mm(3)}", "value", "over_worn"},
        {"standing{value = mm(3.1), new_high = mm(2), reject = mm(3)}", "value", "reject"},
        {"standing{value = mm(54.9), new_low = mm(54.95), new_high = mm(55), worn = mm(54.92), "
         "reject = mm(54.88)}",
         "value", "over_worn"},
        {"standing{value = mm(54.93), new_low = mm(54.95), new_high = mm(55), worn = mm(54.92)}",
         "value", "worn"},
        {"standing{value = mm(55.01), new_low = mm(54.95), new_high = mm(55), worn = mm(54.92)}",
         "value", "outside"},
        {"standing{value = mm(54.87), new_low = mm(54.95), reject = mm(54.88)}", "value", "reject"},
        {"ring_filing{gap = mm(0.51), least = mm(0.40), most = mm(0.50)}", "too_big", "true"},
        {"length_gain{before = mm(58.412), after = mm(58.419)}", "accepted", "true"},
        {"shells{" SHELLS ", row = 2, column = 2, exceptions = {1, 1, 9, 9, 2, 2, 7, 8}}",
         "by_exception", "true"},
        {"shells{" SHELLS ", row = 2, column = 2, lower = {5, 6, 7, 8}, forbidden = {4, 8, 4, 7}}",
         "replaced", "true"},
    };
    for (size_t i = 0; i < sizeof told / sizeof told[0]; i++) {
        bw_calc_result result[BW_CALC_RESULTS_MAX];
        size_t n = 0;
        if (expression_eval(&e, told[i].expression, result, &n) != BW_OK) {
            fail_msg("%s: %s", told[i].expression, e.err.text);
        }
        const bw_calc_value *v = expression_result(result, n, told[i].result);
        assert_non_null(v);
        const char *got = v->type == BW_CALC_TEXT ? v->text : v->flag ? "true" : "false";
        if (strcmp(got, told[i].word) != 0) {
            fail_msg("%s: %s", told[i].expression, got);
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_refused_with_one_line),
        cmocka_unit_test(test_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
