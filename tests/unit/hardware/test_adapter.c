/* test_adapter.c - the adapter as a whole on a board of the tests': frames, commands, sleep. */
#include "adapter.h"
#include "cmocka_all.h"
#include "fake_board.h"
#include "heard.h"
#include "rehearsal/chance.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ZERO = -20150, OVERLOAD = 2576980, UDPS = 30518 };

typedef struct bench {
    ad_adapter adapter;
    heard heard;
    bw_chance chance;
    uint64_t ticks;
    double conversions; /* due, and not made yet */
    bool gyro_gone, converter_gone;
    uint16_t sequence;
} bench;

static void listen(bench *b) {
    heard_bytes(&b->heard, fake.sent, fake.sent_n);
    fake.sent_n = 0;
}

static void switch_on(bench *b, uint8_t reset) {
    ad_adapter_begin(&b->adapter, reset);
    listen(b);
}

static bench *new_bench(bool calibrated) {
    bench *b = calloc(1, sizeof *b);
    assert_non_null(b);
    b->chance.state = 1;
    fake_board_new();
    ad_calibration calibration = {.serial = 1207,
                                  .gain_tighten_pNm = 69849193,
                                  .gain_loosen_pNm = 69871040,
                                  .gyro_udps = UDPS,
                                  .shunt_counts = 1253001,
                                  .overload_counts = OVERLOAD,
                                  .rated_cNm = 15000,
                                  .date = 20261125,
                                  .certificate = "CAL-0042",
                                  .zero_counts = ZERO};
    assert_true(!calibrated || ad_store_save(&calibration));
    switch_on(b, ADAPTER_RESET_POWER);
    return b;
}

/* A torque and a rate for so long, in counts. */
static void hold(bench *b, double for_s, int32_t net, double rate) {
    for (int i = 0; i < (int)(for_s * AD_TICKS_Hz); i++) {
        uint32_t now_us = (uint32_t)(++b->ticks * AD_TICK_us);
        b->conversions += (double)AD_CONVERSIONS_Hz / AD_TICKS_Hz;
        if (b->conversions >= 1) {
            b->conversions -= 1;
            double counts = ZERO + net + (fake.shunted ? 1253001 : 0);
            if (!b->converter_gone) {
                ad_adapter_conversion(&b->adapter,
                                      (int32_t)lround(counts + 40 * bw_chance_normal(&b->chance)),
                                      now_us - 1);
            }
        }
        ad_adapter_tick(&b->adapter, !b->gyro_gone,
                        (int16_t)lround(rate + 3 * bw_chance_normal(&b->chance)), 1, now_us);
        listen(b);
    }
}

static const heard_result *command(bench *b, uint8_t type, const uint8_t *body, size_t n) {
    uint8_t plain[ADAPTER_PLAIN_MAX] = {0};
    uint8_t coded[ADAPTER_CODED_MAX];
    if (n > 0) {
        memcpy(plain + ADAPTER_AT_BODY, body, n);
    }
    size_t length = heard_command(plain, ADAPTER_HEAD_BYTES + n + ADAPTER_CRC_BYTES, type,
                                  ++b->sequence, coded);
    size_t before = b->heard.results;
    for (size_t i = 0; i < length; i++) {
        ad_adapter_receive(&b->adapter, coded[i]);
    }
    listen(b);
    if (b->heard.results == before) {
        return NULL;
    }
    const heard_result *result = &b->heard.result[b->heard.results - 1];
    assert_int_equal(result->type, type);
    assert_int_equal(result->sequence, b->sequence);
    return result;
}

static const heard_sample *last(const bench *b) {
    return &b->heard.sample[b->heard.samples - 1];
}

static void first_words(void **state) {
    (void)state;
    bench *b = new_bench(true);
    assert_int_equal(b->heard.first_type, ADAPTER_IDENTITY);
    assert_int_equal(b->heard.calibration_state, ADAPTER_CALIBRATION_BOTH);
    assert_int_equal(b->heard.serial, 1207);
    assert_int_equal(b->heard.rate_Hz, 80);
    assert_int_equal(b->heard.delay_us, 6250);
    assert_true(fake.excited);
    uint16_t boots = b->heard.boots;
    b->heard = (heard){0};
    switch_on(b, ADAPTER_RESET_WATCHDOG);
    assert_int_equal(b->heard.boots, boots + 1);
    assert_int_equal(b->heard.reset, ADAPTER_RESET_WATCHDOG);
    free(b);
}

static void a_pull(void **state) {
    (void)state;
    bench *b = new_bench(true);
    hold(b, 1.5, 0, 33);
    assert_int_equal(last(b)->flags, ADAPTER_FLAG_REST);
    hold(b, 1, 859000, 33 + 1000);
    assert_int_equal(last(b)->flags, ADAPTER_FLAG_LOADED);
    assert_true(abs(last(b)->counts - 859000) < 150);
    assert_true(fabs(last(b)->angle_mdeg - 30518.0) < 400); /* 1000 counts for a second */
    int32_t angle_mdeg = last(b)->angle_mdeg;
    hold(b, 1, 0, 33 - 3000); /* the back-swing */
    assert_true(abs(last(b)->angle_mdeg - angle_mdeg) < 400);
    assert_int_equal(b->heard.lost, 0);
    assert_int_equal(b->heard.bad, 0);
    assert_in_range(b->heard.samples, 278, 281);
    assert_in_range(b->heard.statuses, 3, 3);
    for (size_t i = 1; i < b->heard.samples; i++) {
        uint32_t apart_us = b->heard.sample[i].time_us - b->heard.sample[i - 1].time_us;
        assert_in_range(apart_us, 11000, 14000);
    }
    free(b);
}

/* Under load from standing to 61 degrees/s at once: the angle of a sample is that of its time. */
static void angle_and_time_belong_together(void **state) {
    (void)state;
    bench *b = new_bench(true);
    hold(b, 1.5, 0, 0);
    hold(b, 0.5, 859000, 0);
    double from_deg = last(b)->angle_mdeg * 1e-3;
    double from_s = (double)b->ticks / AD_TICKS_Hz;
    hold(b, 0.5, 859000, 2000);
    double turning_s = last(b)->time_us * 1e-6 - from_s;
    double right_deg = turning_s * 2000 * UDPS * 1e-6;
    assert_true(fabs(last(b)->angle_mdeg * 1e-3 - from_deg - right_deg) < 0.08);
    /* And the time is that of the middle of its four conversions. */
    assert_true(fabs((double)b->ticks / AD_TICKS_Hz - from_s - turning_s - 0.0125) < 0.0066);
    free(b);
}

/* A nut that comes loose: it turns on without torque, and that counts; swinging back does not, nor
 * does turning on after it. */
static void running_on(void **state) {
    (void)state;
    for (int way = -1; way <= 1; way += 2) {
        bench *b = new_bench(true);
        hold(b, 1.5, 0, 0);
        hold(b, 0.5, way * 300000, way * 1000);
        double before_deg = last(b)->angle_mdeg * 1e-3;
        hold(b, 0.5, 0, way * 1000);
        double on_deg = last(b)->angle_mdeg * 1e-3 - before_deg;
        assert_true(fabs(on_deg - way * 0.5 * 1000 * UDPS * 1e-6) < 0.5);
        before_deg = last(b)->angle_mdeg * 1e-3;
        hold(b, 0.2, 0, -way * 2000);
        hold(b, 0.2, 0, way * 2000);
        assert_true(fabs(last(b)->angle_mdeg * 1e-3 - before_deg) < 0.5);
        free(b);
    }
}

static void rates(void **state) {
    (void)state;
    bench *b = new_bench(true);
    hold(b, 1, 0, 0);
    for (uint8_t rate_Hz = 10; rate_Hz <= 80; rate_Hz = (uint8_t)(rate_Hz * 2)) {
        assert_int_equal(command(b, ADAPTER_RATE, &rate_Hz, 1)->code, ADAPTER_DONE);
        size_t before = b->heard.samples;
        hold(b, 2, 0, 0);
        assert_in_range(b->heard.samples - before, 2 * rate_Hz - 1, 2 * rate_Hz + 1);
        (void)command(b, ADAPTER_HELLO, (const uint8_t[]){1, 1}, 2);
        assert_int_equal(b->heard.rate_Hz, rate_Hz);
        assert_int_equal(b->heard.delay_us, 500000 / rate_Hz);
    }
    uint8_t wrong = 50;
    assert_int_equal(command(b, ADAPTER_RATE, &wrong, 1)->code, ADAPTER_REFUSED_VALUE);
    free(b);
}

static void versions(void **state) {
    (void)state;
    bench *b = new_bench(true);
    const struct {
        uint8_t least, most;
        bool spoken;
    } row[] = {{1, 1, true}, {0, 9, true}, {2, 9, false}, {0, 0, false}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        size_t before = b->heard.identities;
        const heard_result *said = command(b, ADAPTER_HELLO,
                                           (const uint8_t[]){row[i].least, row[i].most}, 2);
        assert_int_equal(b->heard.identities - before, row[i].spoken);
        assert_true(row[i].spoken ? said == NULL : said->code == ADAPTER_REFUSED_VERSION);
    }
    free(b);
}

static void wrong_frames(void **state) {
    (void)state;
    bench *b = new_bench(true);
    hold(b, 1, 0, 0);
    assert_int_equal(command(b, 0x77, NULL, 0)->code, ADAPTER_REFUSED_TYPE);
    uint8_t body[2] = {80, 80};
    assert_null(command(b, ADAPTER_RATE, body, 2)); /* a length that RATE has not */
    for (int i = 0; i < 3; i++) {
        ad_adapter_receive(&b->adapter, 0x42);
        ad_adapter_receive(&b->adapter, 0);
    }
    hold(b, 1.1, 0, 0);
    assert_int_equal(b->heard.bad_frames, 4);
    free(b);
}

static void zero_only_at_rest(void **state) {
    (void)state;
    bench *b = new_bench(true);
    hold(b, 0.2, 0, 0);
    assert_int_equal(command(b, ADAPTER_ZERO, NULL, 0)->code, ADAPTER_REFUSED_NOT_AT_REST);
    hold(b, 1, 0, 0);
    hold(b, 1, 8000, 0);
    const heard_result *done = command(b, ADAPTER_ZERO, NULL, 0);
    assert_int_equal(done->code, ADAPTER_DONE);
    assert_true(abs(done->value - 8000) < 200);
    hold(b, 0.5, 8000, 0);
    assert_true(abs(last(b)->counts) < 100);
    hold(b, 0.5, 8000 + 859000, 0);
    assert_int_equal(command(b, ADAPTER_ZERO, NULL, 0)->code, ADAPTER_REFUSED_NOT_AT_REST);
    free(b);
}

static void shunt_check(void **state) {
    (void)state;
    bench *b = new_bench(true);
    hold(b, 1.5, 0, 0);
    assert_null(command(b, ADAPTER_SHUNT, NULL, 0));
    hold(b, 0.1, 0, 0);
    assert_true((last(b)->flags & ADAPTER_FLAG_SHUNT) != 0);
    hold(b, 0.5, 0, 0);
    const heard_result *done = &b->heard.result[b->heard.results - 1];
    assert_int_equal(done->type, ADAPTER_SHUNT);
    assert_int_equal(done->code, ADAPTER_DONE);
    assert_true(abs(done->value - 1253001) < 50);
    assert_false(fake.shunted);
    hold(b, 1, 0, 0);
    assert_int_equal(last(b)->flags, ADAPTER_FLAG_REST);
    /* A hand at the wrench, and a converter that falls silent. */
    (void)command(b, ADAPTER_SHUNT, NULL, 0);
    hold(b, 0.15, 0, 0);
    hold(b, 0.3, 9000, 0);
    assert_int_equal(b->heard.result[b->heard.results - 1].code, ADAPTER_REFUSED_NOT_AT_REST);
    hold(b, 1.5, 0, 0);
    (void)command(b, ADAPTER_SHUNT, NULL, 0);
    b->converter_gone = true;
    hold(b, 0.3, 0, 0);
    assert_int_equal(b->heard.result[b->heard.results - 1].code, ADAPTER_REFUSED_FAULT);
    assert_false(fake.shunted);
    free(b);
}

static void lamp(void **state) {
    (void)state;
    bench *b = new_bench(true);
    uint8_t body[8];
    ad_put_i32(body, 816044);
    ad_put_i32(body + 4, 901943);
    hold(b, 1, 0, 0);
    assert_int_equal(command(b, ADAPTER_LAMP, body, 8)->code, ADAPTER_DONE);
    const struct {
        int32_t net;
        double for_s;
        bool green, red;
    } row[] = {{800000, 0.2, false, false}, {859000, 0.2, true, false}, {500000, 0.2, true, false},
               {910000, 0.2, false, true},  {0, 1.8, false, true},      {0, 0.4, false, false}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        hold(b, row[i].for_s, row[i].net, 0);
        assert_int_equal(fake.green, row[i].green);
        assert_int_equal(fake.red, row[i].red);
    }
    ad_put_i32(body, -816044);
    ad_put_i32(body + 4, -901943);
    assert_int_equal(command(b, ADAPTER_LAMP, body, 8)->code, ADAPTER_DONE);
    hold(b, 0.2, -859000, 0);
    assert_true(fake.green);
    ad_put_i32(body + 4, 901943);
    assert_int_equal(command(b, ADAPTER_LAMP, body, 8)->code, ADAPTER_REFUSED_VALUE);
    free(b);
}

static size_t calibrate_body(uint8_t *body) {
    uint8_t plain[ADAPTER_CALIBRATE_BYTES] = {0};
    ad_put_u32(plain + ADAPTER_CALIBRATE_SERIAL, 9);
    ad_put_u32(plain + ADAPTER_CALIBRATE_GAIN_TIGHTEN, 70000000);
    ad_put_u32(plain + ADAPTER_CALIBRATE_GAIN_LOOSEN, 70000001);
    ad_put_u32(plain + ADAPTER_CALIBRATE_GYRO_UDPS, 30000);
    ad_put_i32(plain + ADAPTER_CALIBRATE_OVERLOAD_COUNTS, OVERLOAD);
    size_t n = ADAPTER_CALIBRATE_BYTES - ADAPTER_HEAD_BYTES - ADAPTER_CRC_BYTES;
    memcpy(body, plain + ADAPTER_AT_BODY, n);
    return n;
}

static void calibrating(void **state) {
    (void)state;
    bench *b = new_bench(false);
    uint8_t body[ADAPTER_PLAIN_MAX];
    size_t n = calibrate_body(body);
    assert_int_equal(b->heard.calibration_state, ADAPTER_CALIBRATION_NONE);
    hold(b, 1.5, 0, 0);
    assert_true((last(b)->flags & ADAPTER_FLAG_NO_CALIBRATION) != 0);
    assert_int_equal(command(b, ADAPTER_CALIBRATE, body, n)->code, ADAPTER_REFUSED_LOCKED);
    fake.may_calibrate = true;
    b->adapter.bridge.overloaded = true;
    ad_store_mark_overload(true);
    assert_int_equal(command(b, ADAPTER_CALIBRATE, body, n)->code, ADAPTER_DONE);
    assert_int_equal(b->heard.calibration_state, ADAPTER_CALIBRATION_BOTH);
    assert_int_equal(b->heard.gain_loosen, 70000001);
    assert_false(ad_store_overloaded());
    assert_true(abs(b->adapter.calibration.zero_counts - ZERO) < 50);
    hold(b, 0.1, 0, 0);
    assert_int_equal(last(b)->flags & (ADAPTER_NO_TORQUE | ADAPTER_NO_ANGLE), 0);
    memset(body + ADAPTER_CALIBRATE_GAIN_TIGHTEN - ADAPTER_AT_BODY, 0, 4);
    assert_int_equal(command(b, ADAPTER_CALIBRATE, body, n)->code, ADAPTER_REFUSED_VALUE);
    hold(b, 0.5, 500000, 0);
    assert_int_equal(command(b, ADAPTER_CALIBRATE, body, n)->code, ADAPTER_REFUSED_NOT_AT_REST);
    free(b);
}

static void overload_stays(void **state) {
    (void)state;
    bench *b = new_bench(true);
    hold(b, 1, 0, 0);
    hold(b, 0.1, OVERLOAD + 1000, 0);
    assert_true((last(b)->flags & ADAPTER_FLAG_OVERLOAD) != 0);
    assert_true(ad_store_overloaded());
    b->heard = (heard){0};
    switch_on(b, ADAPTER_RESET_POWER);
    hold(b, 1, 0, 0);
    assert_true((last(b)->flags & ADAPTER_FLAG_OVERLOAD) != 0);
    free(b);
}

/* Steady under load at the start: no zero, so no torque is claimed. */
static void started_under_load(void **state) {
    (void)state;
    bench *b = new_bench(true);
    hold(b, 2, 859000, 0);
    assert_true((last(b)->flags & ADAPTER_FLAG_ZERO_UNKNOWN) != 0);
    hold(b, 1, 0, 0);
    assert_false((last(b)->flags & ADAPTER_FLAG_ZERO_UNKNOWN) != 0);
    free(b);
}

static void sleeps_and_wakes(void **state) {
    (void)state;
    bench *b = new_bench(true);
    uint8_t rate_Hz = 10;
    (void)command(b, ADAPTER_RATE, &rate_Hz, 1);
    hold(b, AD_IDLE_MAX_s + 3, 0, 0);
    assert_false(fake.excited);
    assert_int_equal(b->heard.state, ADAPTER_ASLEEP);
    size_t samples = b->heard.samples;
    size_t statuses = b->heard.statuses;
    hold(b, 5, 0, 0);
    assert_int_equal(b->heard.samples, samples);
    assert_int_equal(b->heard.statuses, statuses + 5);
    hold(b, 0.2, 0, 1000);
    assert_true(fake.excited);
    assert_true(b->heard.samples > samples);
    assert_true((last(b)->flags & ADAPTER_FLAG_SETTLING) != 0);
    hold(b, AD_IDLE_MAX_s + 3, 0, 0);
    assert_false(fake.excited);
    (void)command(b, ADAPTER_HELLO, (const uint8_t[]){1, 1}, 2);
    assert_true(fake.excited);
    free(b);
}

static void parts_gone(void **state) {
    (void)state;
    bench *b = new_bench(true);
    hold(b, 1, 0, 0);
    b->converter_gone = true;
    size_t before = b->heard.samples;
    hold(b, 1, 0, 0);
    assert_in_range(b->heard.samples - before, 75, 80);
    assert_true((last(b)->flags & ADAPTER_FLAG_STUCK) != 0);
    hold(b, 1, 0, 0);
    assert_in_range(b->heard.missed, 300, 700);
    b->converter_gone = false;
    b->gyro_gone = true;
    hold(b, 0.5, 0, 0);
    assert_int_equal(last(b)->flags & ADAPTER_NO_TORQUE, 0);
    assert_true((last(b)->flags & ADAPTER_FLAG_GYRO_FAULT) != 0);
    b->gyro_gone = false;
    fake.supply_mV = 4400;
    hold(b, 2, 0, 0);
    assert_true((last(b)->flags & ADAPTER_FLAG_SUPPLY) != 0);
    free(b);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(first_words),
        cmocka_unit_test(a_pull),
        cmocka_unit_test(angle_and_time_belong_together),
        cmocka_unit_test(running_on),
        cmocka_unit_test(rates),
        cmocka_unit_test(versions),
        cmocka_unit_test(wrong_frames),
        cmocka_unit_test(zero_only_at_rest),
        cmocka_unit_test(shunt_check),
        cmocka_unit_test(lamp),
        cmocka_unit_test(calibrating),
        cmocka_unit_test(overload_stays),
        cmocka_unit_test(started_under_load),
        cmocka_unit_test(sleeps_and_wakes),
        cmocka_unit_test(parts_gone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
