/* test_store.c - two copies: one damaged, both damaged, the supply gone at every byte. */
#include "adapter_frame.h"
#include "cmocka_all.h"
#include "fake_board.h"
#include "store.h"

#include <string.h>

static ad_calibration a_calibration(uint32_t serial) {
    return (ad_calibration){.serial = serial,
                            .gain_tighten_pNm = 69849193,
                            .gain_loosen_pNm = 69871040,
                            .gyro_udps = 30518,
                            .shunt_counts = -5,
                            .overload_counts = 2576980,
                            .rated_cNm = 15000,
                            .date = 20261125,
                            .certificate = "CAL-0042",
                            .zero_counts = -20150};
}

static void assert_same(const ad_calibration *a, const ad_calibration *b) {
    assert_int_equal(a->serial, b->serial);
    assert_int_equal(a->gain_tighten_pNm, b->gain_tighten_pNm);
    assert_int_equal(a->gain_loosen_pNm, b->gain_loosen_pNm);
    assert_int_equal(a->gyro_udps, b->gyro_udps);
    assert_int_equal(a->shunt_counts, b->shunt_counts);
    assert_int_equal(a->overload_counts, b->overload_counts);
    assert_int_equal(a->rated_cNm, b->rated_cNm);
    assert_int_equal(a->date, b->date);
    assert_memory_equal(a->certificate, b->certificate, sizeof a->certificate);
    assert_int_equal(a->zero_counts, b->zero_counts);
}

static void saved_and_loaded(void **state) {
    (void)state;
    fake_board_new();
    ad_calibration put = a_calibration(1);
    ad_calibration got;
    assert_int_equal(ad_store_load(&got), ADAPTER_CALIBRATION_NONE);
    assert_int_equal(got.gain_tighten_pNm, 0);
    assert_true(ad_store_save(&put));
    assert_int_equal(ad_store_load(&got), ADAPTER_CALIBRATION_BOTH);
    assert_same(&put, &got);
}

static void damage(uint16_t copy, unsigned at) {
    fake.store[copy + at] ^= 0x10;
}

/* Each byte of each copy, and of both. */
static void damaged_copies(void **state) {
    (void)state;
    fake_board_new();
    ad_calibration put = a_calibration(1);
    ad_calibration got;
    assert_true(ad_store_save(&put));
    for (unsigned at = 0; at < AD_STORE_COPY_BYTES; at++) {
        damage(AD_STORE_FIRST, at);
        assert_int_equal(ad_store_load(&got), ADAPTER_CALIBRATION_SECOND);
        assert_same(&put, &got);
        damage(AD_STORE_SECOND, AD_STORE_COPY_BYTES - 1 - at);
        assert_int_equal(ad_store_load(&got), ADAPTER_CALIBRATION_NONE);
        assert_int_equal(got.gain_tighten_pNm, 0);
        damage(AD_STORE_FIRST, at);
        assert_int_equal(ad_store_load(&got), ADAPTER_CALIBRATION_FIRST);
        assert_same(&put, &got);
        damage(AD_STORE_SECOND, AD_STORE_COPY_BYTES - 1 - at);
    }
    assert_int_equal(ad_store_load(&got), ADAPTER_CALIBRATION_BOTH);
}

/* The supply goes while a new one is written: the old one or the new one, whole. */
static void supply_gone_while_writing(void **state) {
    (void)state;
    ad_calibration old = a_calibration(1);
    ad_calibration new = a_calibration(2);
    for (long writes = 0; writes <= 2 * AD_STORE_COPY_BYTES; writes++) {
        ad_calibration got;
        fake_board_new();
        assert_true(ad_store_save(&old));
        fake.writes_left = writes;
        bool saved = ad_store_save(&new);
        uint8_t found = ad_store_load(&got);
        assert_int_not_equal(found, ADAPTER_CALIBRATION_NONE);
        assert_same(got.serial == 2 ? &new : &old, &got);
        assert_true(!saved || (got.serial == 2 && found == ADAPTER_CALIBRATION_BOTH));
        assert_true(writes < 2 * AD_STORE_COPY_BYTES || saved);
        /* Between the two copies the new one is the one that counts. */
        assert_true(writes != AD_STORE_COPY_BYTES ||
                    (got.serial == 2 && found == ADAPTER_CALIBRATION_FIRST));
    }
}

static void latch_and_boots(void **state) {
    (void)state;
    fake_board_new();
    assert_false(ad_store_overloaded());
    ad_store_mark_overload(true);
    assert_true(ad_store_overloaded());
    fake.store[AD_STORE_LATCH] ^= 1;
    assert_true(ad_store_overloaded());
    ad_store_mark_overload(false);
    assert_false(ad_store_overloaded());
    uint16_t first = ad_store_count_boot();
    for (int i = 1; i < 600; i++) {
        assert_int_equal(ad_store_count_boot(), (uint16_t)(first + i));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(saved_and_loaded),
        cmocka_unit_test(damaged_copies),
        cmocka_unit_test(supply_gone_while_writing),
        cmocka_unit_test(latch_and_boots),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
