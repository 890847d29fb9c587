/* calibration_test.c - a calibration's arithmetic, held against figures worked out by hand. */
#include "cmocka_all.h"

#include "device/calibration.h"

#include <math.h>
#include <string.h>

static void near(double is, double should, double within) {
    if (!(fabs(is - should) <= within)) {
        fail_msg("%.12g is not %.12g", is, should);
    }
}

/* Our own example, worked out apart in decimal arithmetic: target 100, five readings. */
static const bw_calibration_point example = {
    .target = 100,
    .n = 5,
    .tool = {100, 100, 100, 100, 100},
    .reference = {101.2, 100.4, 101.9, 100.8, 101.3},
};

static void the_deviation_has_the_reference_as_its_divisor(void **state) {
    (void)state;
    bw_calibration_result r;
    const bw_calibration_spans none = {0};
    assert_int_equal(bw_calibrate_point(&example, 0, 0, &none, &r, NULL), BW_OK);
    near(r.deviation, -0.0110514, 1e-7);
    near(r.repeatability, 0.0055034, 1e-7);
    near(r.u, r.repeatability, 1e-15);
    near(r.interval, 0.0220582, 1e-7);
}

static void every_contribution_counts_by_its_square(void **state) {
    (void)state;
    bw_calibration_result bare;
    bw_calibration_result r;
    const bw_calibration_spans none = {0};
    const bw_calibration_spans spans = {
        .reproducibility = 1.2, .drive = 0.8, .interface = 0.6, .hand = 0.4};
    assert_int_equal(bw_calibrate_point(&example, 0, 0, &none, &bare, NULL), BW_OK);
    assert_int_equal(bw_calibrate_point(&example, 0.5, 0.01, &spans, &r, NULL), BW_OK);
    double k = 1.0 / (2 * sqrt(3.0)) / 100;
    double want = bare.u * bare.u + 0.005 * 0.005 +
                  k * k * (0.5 * 0.5 + 1.2 * 1.2 + 0.8 * 0.8 + 0.6 * 0.6 + 0.4 * 0.4);
    near(r.u * r.u, want, 1e-12);
    near(r.expanded, 2 * r.u, 1e-15);
    near(r.deviation, bare.deviation, 1e-15);
}

static void what_makes_no_sense_is_refused(void **state) {
    (void)state;
    bw_calibration_result r;
    const bw_calibration_spans none = {0};
    bw_calibration_point p = example;
    p.n = 1;
    assert_int_equal(bw_calibrate_point(&p, 0, 0, &none, &r, NULL), BW_E_DATA);
    p = example;
    p.reference[3] = 0;
    assert_int_equal(bw_calibrate_point(&p, 0, 0, &none, &r, NULL), BW_E_DATA);
    p.reference[3] = NAN;
    assert_int_equal(bw_calibrate_point(&p, 0, 0, &none, &r, NULL), BW_E_DATA);
    p = example;
    p.target = 0;
    assert_int_equal(bw_calibrate_point(&p, 0, 0, &none, &r, NULL), BW_E_DATA);
    assert_int_equal(bw_calibrate_point(&example, -1, 0, &none, &r, NULL), BW_E_DATA);
}

static void kinds_are_a_table(void **state) {
    (void)state;
    size_t n = 0;
    for (; bw_tool_kind_at(n) != NULL; n++) {
        const bw_tool_kind *kind = bw_tool_kind_at(n);
        assert_ptr_equal(bw_tool_kind_find(kind->word), kind);
        assert_true(kind->readings >= 5 && kind->permitted_small >= kind->permitted_large);
    }
    assert_int_equal(n, 3);
    assert_null(bw_tool_kind_find("hammer"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_deviation_has_the_reference_as_its_divisor),
        cmocka_unit_test(every_contribution_counts_by_its_square),
        cmocka_unit_test(what_makes_no_sense_is_refused),
        cmocka_unit_test(kinds_are_a_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
