/* test_units.c - quantities as people write them, and back. */
#include "trade/units.h"

#include "cmocka_all.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

static bw_status parse(const char *text, bw_dimension want, bw_unit fallback, bw_quantity *out,
                       bw_err *err) {
    return bw_quantity_parse(text, strlen(text), want, fallback, out, err);
}

static void test_reads_what_people_write(void **state) {
    (void)state;
    static const struct {
        const char *text;
        bw_dimension want;
        bw_unit fallback;
        double value;
        bw_unit unit;
        int decimals;
    } rows[] = {
        {"60 Nm", BW_DIM_TORQUE, BW_UNIT_COUNT, 60, BW_UNIT_NM, 0},
        {"60Nm", BW_DIM_COUNT, BW_UNIT_COUNT, 60, BW_UNIT_NM, 0},
        {"60.0 N·m", BW_DIM_TORQUE, BW_UNIT_COUNT, 60, BW_UNIT_NM, 1},
        {"60 N⋅m", BW_DIM_TORQUE, BW_UNIT_COUNT, 60, BW_UNIT_NM, 0},
        {"60 newton metres", BW_DIM_TORQUE, BW_UNIT_COUNT, 60, BW_UNIT_NM, 0},
        {"28 ft-lb", BW_DIM_TORQUE, BW_UNIT_COUNT, 28, BW_UNIT_LBF_FT, 0},
        {"28 FT.LBS", BW_DIM_TORQUE, BW_UNIT_COUNT, 28, BW_UNIT_LBF_FT, 0},
        {"28 lbf ft", BW_DIM_TORQUE, BW_UNIT_COUNT, 28, BW_UNIT_LBF_FT, 0},
        {"90 in lb", BW_DIM_TORQUE, BW_UNIT_COUNT, 90, BW_UNIT_LBF_IN, 0},
        {"6.1 kg-m", BW_DIM_TORQUE, BW_UNIT_COUNT, 6.1, BW_UNIT_KGF_M, 1},
        {"61 kgf·cm", BW_DIM_TORQUE, BW_UNIT_COUNT, 61, BW_UNIT_KGF_CM, 0},
        {"12 oz-in", BW_DIM_TORQUE, BW_UNIT_COUNT, 12, BW_UNIT_OZF_IN, 0},
        {"15 dN m", BW_DIM_TORQUE, BW_UNIT_COUNT, 15, BW_UNIT_DNM, 0},
        {"0,063 mm", BW_DIM_LENGTH, BW_UNIT_COUNT, 0.063, BW_UNIT_MM, 3},
        {".0025 in", BW_DIM_LENGTH, BW_UNIT_COUNT, 0.0025, BW_UNIT_IN, 4},
        {"2.5 thou", BW_DIM_LENGTH, BW_UNIT_COUNT, 2.5, BW_UNIT_THOU, 1},
        {"2.5", BW_DIM_LENGTH, BW_UNIT_THOU, 2.5, BW_UNIT_THOU, 1},
        {"+2", BW_DIM_LENGTH, BW_UNIT_THOU, 2, BW_UNIT_THOU, 0},
        {"1/2 in", BW_DIM_LENGTH, BW_UNIT_COUNT, 0.5, BW_UNIT_IN, 1},
        {"1 1/64\"", BW_DIM_LENGTH, BW_UNIT_COUNT, 1.015625, BW_UNIT_IN, 6},
        {"3 1/2 turns", BW_DIM_ANGLE, BW_UNIT_COUNT, 3.5, BW_UNIT_TURN, 1},
        {"-1 1/4 turns", BW_DIM_ANGLE, BW_UNIT_COUNT, -1.25, BW_UNIT_TURN, 2},
        {"-0 1/4 turns", BW_DIM_ANGLE, BW_UNIT_COUNT, -0.25, BW_UNIT_TURN, 2},
        {"90°", BW_DIM_ANGLE, BW_UNIT_COUNT, 90, BW_UNIT_DEG, 0},
        {"\t 5 mm \t", BW_DIM_LENGTH, BW_UNIT_COUNT, 5, BW_UNIT_MM, 0},
        {" 90 degrees\t", BW_DIM_COUNT, BW_UNIT_COUNT, 90, BW_UNIT_DEG, 0},
        {"-5 °C", BW_DIM_TEMPERATURE, BW_UNIT_COUNT, -5, BW_UNIT_DEGC, 0},
        {"68 F", BW_DIM_TEMPERATURE, BW_UNIT_COUNT, 68, BW_UNIT_DEGF, 0},
        {"640 N/mm²", BW_DIM_STRESS, BW_UNIT_COUNT, 640, BW_UNIT_MPA, 0},
        {"42.5 cc", BW_DIM_VOLUME, BW_UNIT_COUNT, 42.5, BW_UNIT_CM3, 1},
        {"412.5 g", BW_DIM_MASS, BW_UNIT_COUNT, 412.5, BW_UNIT_G, 1},
        {"9 lb", BW_DIM_MASS, BW_UNIT_COUNT, 9, BW_UNIT_LB, 0},
        {"10 min", BW_DIM_TIME, BW_UNIT_COUNT, 10, BW_UNIT_MIN, 0},
        {"12 %", BW_DIM_NUMBER, BW_UNIT_COUNT, 12, BW_UNIT_PERCENT, 0},
        {"0.12", BW_DIM_NUMBER, BW_UNIT_COUNT, 0.12, BW_UNIT_NUMBER, 2},
        {"1,5 Nm", BW_DIM_TORQUE, BW_UNIT_COUNT, 1.5, BW_UNIT_NM, 1},
        {"54,9671 mm", BW_DIM_LENGTH, BW_UNIT_COUNT, 54.9671, BW_UNIT_MM, 4},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_quantity q = {(double)NAN, BW_UNIT_COUNT, -9};
        bw_err err = {BW_OK, ""};
        bw_status s = parse(rows[i].text, rows[i].want, rows[i].fallback, &q, &err);
        if (s != BW_OK || q.value != rows[i].value || q.unit != rows[i].unit ||
            q.decimals != rows[i].decimals) {
            fail_msg("'%s': %d %.17g %d %d %s", rows[i].text, s, q.value, (int)q.unit, q.decimals,
                     err.text);
        }
    }
}

static void test_refuses_what_is_ambiguous(void **state) {
    (void)state;
    static const struct {
        const char *text;
        bw_dimension want;
        const char *part; /* of the message */
    } rows[] = {
        {"", BW_DIM_TORQUE, "no digits"},
        {"Nm", BW_DIM_TORQUE, "no digits"},
        {"60", BW_DIM_TORQUE, "unit is missing: write a torque such as 60 Nm"},
        {"60", BW_DIM_COUNT, "unit is missing: write a number and its unit"},
        {"60 nm", BW_DIM_TORQUE, "write Nm for newton metres"},
        {"60 mm", BW_DIM_TORQUE, "a unit of length: a torque such as"},
        {"60 Nm", BW_DIM_LENGTH, "a unit of torque: a length such as"},
        {"2 mil", BW_DIM_LENGTH, "write thou or mm"},
        {"2 tenths", BW_DIM_COUNT, "write mm, thou or in"},
        {"90 lb", BW_DIM_TORQUE, "write lbf.ft or lbf.in"},
        {"90 lb", BW_DIM_FORCE, "write lbf"},
        {"20°", BW_DIM_TEMPERATURE, "write °C or °F"},
        {"640 mPa", BW_DIM_STRESS, "write MPa"},
        {"1,500 Nm", BW_DIM_TORQUE, "1,500 can be read two ways: write 1.500 or 1500"},
        {"-54,967 mm", BW_DIM_LENGTH, "write -54.967 or -54967"},
        {"1.500,5 Nm", BW_DIM_TORQUE, "one point"},
        {"1 500 Nm", BW_DIM_TORQUE, "'500 Nm' is no unit"},
        {"1e3 Nm", BW_DIM_TORQUE, "'e3 Nm' is no unit"},
        {"0x10 Nm", BW_DIM_TORQUE, "'x10 Nm' is no unit"},
        {"60 furlongs", BW_DIM_LENGTH, "write a length such as"},
        {"60 Nm.", BW_DIM_TORQUE, "'Nm.' is no unit"},
        {"60 averyveryveryveryverylongwordthatisnounit", BW_DIM_TORQUE, "no unit known here"},
        {"5 1", BW_DIM_COUNT, "'1' is no unit"},
        {"1/3 turns", BW_DIM_ANGLE, "with 2, 4, 8, 16, 32 or 64 below"},
        {"5/4 in", BW_DIM_LENGTH, "less above"},
        {"0/4 in", BW_DIM_LENGTH, "less above"},
        {"1/ in", BW_DIM_LENGTH, "with 2, 4, 8"},
        {"1/99999999999 in", BW_DIM_LENGTH, "with 2, 4, 8"},
        {"99999999999/64 in", BW_DIM_LENGTH, "with 2, 4, 8"},
        {"2 1/3 turns", BW_DIM_ANGLE, "with 2, 4, 8"},
        {"2.5 1/2 turns", BW_DIM_ANGLE, "is no unit"},
        {"3-1/2 turns", BW_DIM_ANGLE, "is no unit"},
        {"--5 mm", BW_DIM_LENGTH, "no digits"},
        {" \t ", BW_DIM_LENGTH, "no digits"},
        {"5 -", BW_DIM_LENGTH, "is no unit"},
        {"1234567890123456 mm", BW_DIM_LENGTH, "at most 15 digits"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_quantity q = {42, BW_UNIT_H, 7};
        bw_err err = {BW_OK, ""};
        bw_status s = parse(rows[i].text, rows[i].want, BW_UNIT_COUNT, &q, &err);
        if (s != BW_E_DATA || strstr(err.text, rows[i].part) == NULL || q.value != 42) {
            fail_msg("'%s': %d '%s'", rows[i].text, s, err.text);
        }
    }
}

static void test_names_are_found_again(void **state) {
    (void)state;
    for (bw_unit u = BW_UNIT_NUMBER; u < BW_UNIT_COUNT; u++) {
        const bw_unit_info *info = bw_unit_of(u);
        assert_int_equal(info->unit, u);
        bw_unit found = BW_UNIT_COUNT;
        assert_true(bw_unit_find(info->name, strlen(info->name), &found));
        assert_int_equal(found, u);
        assert_true(bw_unit_find(info->word, strlen(info->word), &found));
        assert_int_equal(found, u);
        if (info->symbol[0] != '\0') {
            assert_true(bw_unit_find(info->symbol, strlen(info->symbol), &found));
            assert_int_equal(found, u);
        }
    }
    bw_unit found = BW_UNIT_H;
    assert_true(bw_unit_find("in lbf", 6, &found));
    assert_int_equal(found, BW_UNIT_LBF_IN);
    assert_false(bw_unit_find("", 0, &found));
    assert_false(bw_unit_find("nm", 2, &found));
    assert_int_equal(found, BW_UNIT_LBF_IN);
}

/* Every unit's symbol, as shown, is read back as the same quantity. */
static void test_typed_text_comes_back(void **state) {
    (void)state;
    for (bw_unit u = BW_UNIT_NUMBER; u < BW_UNIT_COUNT; u++) {
        bw_quantity typed = {12.50, u, 2};
        char text[64];
        (void)bw_quantity_text(typed, text, sizeof text);
        bw_quantity read = {0, BW_UNIT_COUNT, 0};
        bw_err err = {BW_OK, ""};
        bw_status s = parse(text, bw_unit_of(u)->dimension, BW_UNIT_COUNT, &read, &err);
        if (s != BW_OK || read.value != 12.5 || read.unit != u || read.decimals != 2) {
            fail_msg("'%s': %s", text, err.text);
        }
    }
}

static void test_shows_quantities(void **state) {
    (void)state;
    static const struct {
        bw_quantity q;
        const char *text;
    } rows[] = {
        {{60, BW_UNIT_NM, 1}, "60.0 N·m"},
        {{90, BW_UNIT_DEG, 0}, "90°"},
        {{20, BW_UNIT_DEGC, 0}, "20 °C"},
        {{0.12, BW_UNIT_NUMBER, 2}, "0.12"},
        {{1.0 / 3, BW_UNIT_MM, -1}, "0.333333 mm"},
        {{0, BW_UNIT_MM, -1}, "0 mm"},
        {{37.962902, BW_UNIT_NM, -1}, "37.9629 N·m"},
        {{32000, BW_UNIT_N, -1}, "32000 N"},
        {{1234567.8, BW_UNIT_N, -1}, "1234568 N"},
        {{1e-9, BW_UNIT_MM, -1}, "0.000000001 mm"},
        {{0.5, BW_UNIT_MM, 40}, "0.500000000000 mm"},
        {{100, BW_UNIT_N, -1}, "100 N"},
        {{1, BW_UNIT_COUNT, 0}, "1 ?"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[64];
        assert_string_equal(bw_quantity_text(rows[i].q, text, sizeof text), rows[i].text);
    }
}

static void test_converts_without_losing_resolution(void **state) {
    (void)state;
    static const struct {
        bw_quantity from;
        bw_unit to;
        const char *text;
    } rows[] = {
        {{28, BW_UNIT_LBF_FT, 0}, BW_UNIT_NM, "38 N·m"},
        {{60.0, BW_UNIT_NM, 1}, BW_UNIT_LBF_FT, "44.25 lbf·ft"},
        {{0.0025, BW_UNIT_IN, 4},
         BW_UNIT_MM,
         "0.0635 mm"}, /* 0.00254 mm: three digits are coarser */
        {{0.063, BW_UNIT_MM, 3}, BW_UNIT_UM, "63 µm"},
        {{5000, BW_UNIT_N, 0}, BW_UNIT_KN, "5.000 kN"},
        {{68, BW_UNIT_DEGF, 0}, BW_UNIT_DEGC, "20.0 °C"},
        {{2.5, BW_UNIT_THOU, 1}, BW_UNIT_THOU, "2.5 thou"},
        {{60, BW_UNIT_NM, -1}, BW_UNIT_LBF_FT, "44.2537 lbf·ft"},
        {{0.000001, BW_UNIT_UM, 6}, BW_UNIT_M, "0.000000000001 m"},
        {{0.0000001, BW_UNIT_UM, 7}, BW_UNIT_M, "0.000000000000 m"}, /* twelve decimals at most */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_quantity q = {0, BW_UNIT_COUNT, 0};
        assert_int_equal(bw_quantity_to(rows[i].from, rows[i].to, &q, NULL), BW_OK);
        char text[64];
        if (i != 2) {
            assert_string_equal(bw_quantity_text(q, text, sizeof text), rows[i].text);
        } else {
            assert_int_equal(q.decimals, 3);
            assert_true(fabs(q.value - 0.0635) <= 1e-15);
        }
    }
    bw_err err = {BW_OK, ""};
    bw_quantity q = {42, BW_UNIT_H, 0};
    assert_int_equal(bw_quantity_to((bw_quantity){1, BW_UNIT_MM, 0}, BW_UNIT_NM, &q, &err),
                     BW_E_ARG);
    assert_string_equal(err.text, "a length cannot be given in a unit of torque");
    assert_int_equal(bw_quantity_to((bw_quantity){1, BW_UNIT_COUNT, 0}, BW_UNIT_NM, &q, &err),
                     BW_E_ARG);
    assert_int_equal(bw_quantity_to((bw_quantity){1, BW_UNIT_MM, 0}, BW_UNIT_COUNT, &q, &err),
                     BW_E_ARG);
    assert_true(q.value == 42);
}

/* There and back through every pair of one dimension: the typed digits stand. */
static void test_round_trips(void **state) {
    (void)state;
    for (bw_unit a = BW_UNIT_NUMBER; a < BW_UNIT_COUNT; a++) {
        for (bw_unit b = BW_UNIT_NUMBER; b < BW_UNIT_COUNT; b++) {
            bw_quantity there = {0, BW_UNIT_COUNT, 0};
            bw_quantity typed = {54.967, a, 3};
            if (bw_quantity_to(typed, b, &there, NULL) != BW_OK) {
                continue;
            }
            bw_quantity back = {0, BW_UNIT_COUNT, 0};
            assert_int_equal(bw_quantity_to(there, a, &back, NULL), BW_OK);
            assert_true(back.decimals >= 3);
            back.decimals = typed.decimals;
            char one[64];
            char two[64];
            assert_string_equal(bw_quantity_text(back, two, sizeof two),
                                bw_quantity_text(typed, one, sizeof one));
            assert_true(fabs(back.value - typed.value) <= 1e-12 * typed.value);
        }
    }
}

static void test_display_hides_no_fail(void **state) {
    (void)state;
    assert_int_equal(bw_decimals_beside_limits(0.1004, 0, 0.1, 3), 4);
    assert_int_equal(bw_decimals_beside_limits(0.0996, 0.1, 1, 3), 4);
    assert_int_equal(bw_decimals_beside_limits(0.1, 0.1, 0.1, 3), 3);
    assert_int_equal(bw_decimals_beside_limits(0.1006, 0, 0.1, 3), 3);
    assert_int_equal(bw_decimals_beside_limits(0.09996, 0, 0.1, 3), 3);
    assert_int_equal(bw_decimals_beside_limits(0.1 + 1e-13, 0, 0.1, 3), 12);
    assert_int_equal(bw_decimals_beside_limits(5, -(double)INFINITY, (double)INFINITY, 0), 0);
    /* The other way: a pass is not shown as a fail either. */
    assert_int_equal(bw_decimals_beside_limits(0.0504, 0, 0.0504, 2), 2);
    assert_int_equal(bw_decimals_beside_limits(0.0464, 0, 0.0464, 2), 3);
}

static void test_outside_of_the_tables(void **state) {
    (void)state;
    bw_unit none = (bw_unit)999;
    assert_null(bw_unit_of(none));
    assert_true(bw_to_base(3, none) == 3);
    assert_string_equal(bw_dimension_name((bw_dimension)99), "unknown quantity");
    assert_int_equal(bw_dimension_base((bw_dimension)99), BW_UNIT_COUNT);
    for (bw_dimension d = BW_DIM_NUMBER; d < BW_DIM_COUNT; d++) {
        bw_unit base = bw_dimension_base(d);
        assert_int_equal(bw_unit_of(base)->dimension, d);
        assert_true(bw_to_base(7.25, base) == 7.25);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_reads_what_people_write),
        cmocka_unit_test(test_refuses_what_is_ambiguous),
        cmocka_unit_test(test_names_are_found_again),
        cmocka_unit_test(test_typed_text_comes_back),
        cmocka_unit_test(test_shows_quantities),
        cmocka_unit_test(test_converts_without_losing_resolution),
        cmocka_unit_test(test_round_trips),
        cmocka_unit_test(test_display_hides_no_fail),
        cmocka_unit_test(test_outside_of_the_tables),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
