/* test_gyro.c - bias at rest, angle without rounding, saturation and faults. */
#include "cmocka_all.h"
#include "gyro.h"
#include "rehearsal/chance.h"

#include <math.h>

/* As adapter.c reads it, with 1 / 32.768 degree/s a count. */
static double angle_deg(const ad_gyro *gyro) {
    return (double)gyro->total / AD_REST_TICKS / AD_TICKS_Hz / 32.768;
}

static void take(ad_gyro *gyro, bw_chance *chance, double counts, int ticks) {
    for (int i = 0; i < ticks; i++) {
        double noise = 3 * bw_chance_normal(chance);
        ad_gyro_take(gyro, true, (int16_t)lround(counts + noise), 1);
        if (ad_gyro_rested(gyro)) {
            ad_gyro_use_rest(gyro);
        }
    }
}

static void bias_at_rest(void **state) {
    (void)state;
    for (int bias = -399; bias <= 399; bias += 133) {
        ad_gyro gyro = {0};
        bw_chance chance = {(uint64_t)(1000 + bias)};
        take(&gyro, &chance, bias, AD_REST_TICKS - 1);
        assert_int_equal(gyro.rests, 0);
        take(&gyro, &chance, bias, 1 + 4 * AD_REST_TICKS);
        assert_int_equal(gyro.rests, 5);
        double found = (double)gyro.bias_sum / AD_REST_TICKS;
        assert_true(fabs(found - bias) < 0.3); /* 3 / sqrt(5 * 256) is 0.08 */
        double before_deg = angle_deg(&gyro);
        take(&gyro, &chance, bias + 1000, 8 * AD_TICKS_Hz / 10);
        assert_true(fabs(angle_deg(&gyro) - before_deg - 1000 / 32.768 * 0.8) < 0.02);
    }
}

static void no_bias_while_it_turns(void **state) {
    (void)state;
    bw_chance chance = {2};
    ad_gyro gyro = {0};
    take(&gyro, &chance, 500, 2000); /* steady, but faster than any bias */
    assert_int_equal(gyro.rests, 0);
    for (int i = 0; i < 2000; i++) { /* slow, but not steady: 1 degree/s to and fro */
        take(&gyro, &chance, 33 * sin(i * 0.02), 1);
    }
    assert_int_equal(gyro.rests, 0);
}

/* A slow steady turn between two rests is not taken for another bias; a bias that stays is. */
static void another_bias(void **state) {
    (void)state;
    bw_chance chance = {3};
    ad_gyro gyro = {0};
    take(&gyro, &chance, 30, 2 * AD_REST_TICKS);
    take(&gyro, &chance, 90, 2 * AD_REST_TICKS);
    assert_true(fabs((double)gyro.bias_sum / AD_REST_TICKS - 30) < 1);
    take(&gyro, &chance, 30, 2 * AD_REST_TICKS);
    take(&gyro, &chance, 90, 4 * AD_REST_TICKS);
    assert_true(fabs((double)gyro.bias_sum / AD_REST_TICKS - 90) < 1);
}

static void missed_ticks(void **state) {
    (void)state;
    ad_gyro gyro = {0};
    ad_gyro_take(&gyro, true, 1000, 1);
    ad_gyro_take(&gyro, true, 1001, 9);
    assert_true(gyro.total == (int64_t)AD_REST_TICKS * (1000 + 9 * 1001));
    ad_gyro_take(&gyro, true, -32768, 200);
    assert_true(gyro.total == (int64_t)AD_REST_TICKS * (1000 + 9 * 1001 - 200 * 32768));
}

static void between_ticks(void **state) {
    (void)state;
    ad_gyro gyro = {0};
    for (int i = 1; i <= 6; i++) {
        ad_gyro_take(&gyro, true, (int16_t)(100 * i), 1);
    }
    int64_t whole = AD_REST_TICKS;
    assert_true(ad_gyro_total(&gyro, 0) == 2100 * whole);
    assert_true(ad_gyro_total(&gyro, AD_GYRO_PARTS) == 1500 * whole);
    assert_true(ad_gyro_total(&gyro, AD_GYRO_PARTS / 2) == 1800 * whole);
    assert_true(ad_gyro_total(&gyro, 3 * AD_GYRO_PARTS / 2) == 1250 * whole);
    assert_true(ad_gyro_total(&gyro, 100 * AD_GYRO_PARTS) == 300 * whole);
}

static void saturation_until_rest(void **state) {
    (void)state;
    bw_chance chance = {4};
    ad_gyro gyro = {0};
    ad_gyro_take(&gyro, true, AD_GYRO_END - 1, 1);
    assert_false(gyro.saturated);
    ad_gyro_take(&gyro, true, -AD_GYRO_END, 1);
    assert_true(gyro.saturated);
    take(&gyro, &chance, 0, AD_REST_TICKS - 1);
    assert_true(gyro.saturated);
    take(&gyro, &chance, 0, 2);
    assert_false(gyro.saturated);
}

static void faults(void **state) {
    (void)state;
    bw_chance chance = {5};
    ad_gyro gyro = {0};
    take(&gyro, &chance, 0, 100);
    assert_false(ad_gyro_fault(&gyro));
    for (int i = 0; i <= AD_GYRO_SAME_MAX; i++) {
        ad_gyro_take(&gyro, true, 7, 1);
    }
    assert_true(ad_gyro_fault(&gyro));
    assert_false(ad_gyro_rested(&gyro));
    take(&gyro, &chance, 0, 20);
    assert_false(ad_gyro_fault(&gyro));
    int64_t before = gyro.total;
    ad_gyro_take(&gyro, false, 1234, 1);
    assert_true(ad_gyro_fault(&gyro));
    assert_true(gyro.total == before);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bias_at_rest),  cmocka_unit_test(no_bias_while_it_turns),
        cmocka_unit_test(another_bias),  cmocka_unit_test(missed_ticks),
        cmocka_unit_test(between_ticks), cmocka_unit_test(saturation_until_rest),
        cmocka_unit_test(faults),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
