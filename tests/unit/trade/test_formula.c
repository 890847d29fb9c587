/* test_formula.c - derived values by name. */
#include "trade/formula.h"

#include "cmocka_all.h"

#include <math.h>
#include <string.h>

static void expect(const char *name, const double *a, size_t a_n, const double *b, size_t b_n,
                   double wanted) {
    const bw_formula *f = bw_formula_find(name);
    assert_non_null(f);
    const bw_series in[] = {{a, a_n}, {b, b_n}};
    double got = (double)NAN;
    bw_err err = {BW_OK, ""};
    if (bw_formula_eval(f, in, b == NULL ? 1 : 2, &got, &err) != BW_OK || got != wanted) {
        fail_msg("%s: %.17g, not %.17g %s", name, got, wanted, err.text);
    }
}

static void test_values(void **state) {
    (void)state;
    const double journal[] = {54.967, 54.970, 54.965};
    const double bore[] = {55.012, 55.009};
    const double shaft[] = {54.967, 54.964};
    const double dial[] = {0.08, 0.12, 0.11};
    expect("mean", journal, 3, NULL, 0, 54.9673333);
    expect("largest", journal, 3, NULL, 0, 54.97);
    expect("smallest", journal, 3, NULL, 0, 54.965);
    expect("range", journal, 3, NULL, 0, 0.005);
    expect("range", journal, 1, NULL, 0, 0);
    expect("taper", journal, 3, NULL, 0, 0.005);
    expect("out_of_round", bore, 2, NULL, 0, 0.003);
    expect("clearance_least", bore, 2, shaft, 2, 0.042);
    expect("clearance_most", bore, 2, shaft, 2, 0.048);
    expect("clearance_least", bore, 1, shaft, 1, 0.045); /* 55.012 - 54.967 as digits say */
    expect("end_float", dial, 3, NULL, 0, 0.12);
    const double other[] = {54.969, 54.961, 54.966};
    expect("worst_taper", journal, 3, other, 3, 0.008);
    expect("worst_out_of_round", journal, 3, other, 3, 0.009);
    expect("oil_clearance_least", bore, 2, shaft, 2, 0.042);
    expect("oil_clearance_most", bore, 2, shaft, 2, 0.048);
    expect("piston_clearance", bore, 2, shaft, 2, 0.042);
    expect("pump_clearance", dial, 3, NULL, 0, 0.12);
    expect("deck_height", dial, 3, NULL, 0, 0.1033333);
    expect("stretch_least", other, 3, journal, 3, -0.002);
    expect("stretch_most", other, 3, journal, 3, 0.009);
    expect("permanent_set", journal, 3, other, 3, 0.002);
    expect("valve_to_piston", dial, 3, journal, 3, 54.85);
    expect("weight_spread", journal, 3, NULL, 0, 0.005);
    const double torque[] = {4.1, 2.2, 1.9, 2, 2.1, 1.9, 2, 2};
    expect("running_torque", torque, 8, NULL, 0, 1.9833333);
}

static void refuse(const char *name, const double *a, size_t a_n, const double *b, size_t b_n,
                   bw_status code, const char *part) {
    const bw_series in[] = {{a, a_n}, {b, b_n}};
    double got = 42;
    bw_err err = {BW_OK, ""};
    bw_status s = bw_formula_eval(bw_formula_find(name), in, b == NULL ? 1 : 2, &got, &err);
    if (s != code || got != 42 || strstr(err.text, part) == NULL) {
        fail_msg("%s: %d %s", name, s, err.text);
    }
}

static void test_refusals(void **state) {
    (void)state;
    const double good[] = {55, 55.01};
    const double nan_inside[] = {55, (double)NAN};
    const double zero[] = {55, 0};
    refuse("clearance_least", good, 2, NULL, 0, BW_E_ARG, "takes 2 sets of readings (bore");
    refuse("mean", good, 2, good, 2, BW_E_ARG, "takes 1 sets");
    refuse("mean", good, 0, NULL, 0, BW_E_DATA, "set 1 has no readings");
    refuse("clearance_most", good, 2, nan_inside, 2, BW_E_DATA, "reading 2 of set 2");
    refuse("taper", good, 1, NULL, 0, BW_E_DATA, "taper: at least two diameters");
    refuse("running_torque", good, 2, NULL, 0, BW_E_DATA, "8 or more");
    refuse("out_of_round", zero, 2, NULL, 0, BW_E_DATA, "above 0 mm");
}

static void test_table(void **state) {
    (void)state;
    size_t n = 0;
    for (const bw_formula *f = bw_formula_at(0); f != NULL; f = bw_formula_at(++n)) {
        assert_ptr_equal(bw_formula_find(f->name), f);
        assert_true(f->operands >= 1 && f->takes[0] != '\0' && f->source[0] != '\0');
    }
    assert_true(n >= 9);
    assert_null(bw_formula_find("no such formula"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_values),
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
