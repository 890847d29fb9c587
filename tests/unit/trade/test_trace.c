/* test_trace.c - samples to text and back, bit for bit. */
#include "trade/trace.h"

#include "cmocka_all.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void round_trip(const bw_sample *sample, size_t n) {
    size_t size = bw_trace_text_size(n);
    char *text = malloc(size);
    assert_non_null(text);
    size_t len = 0;
    assert_int_equal(bw_trace_write(sample, n, text, size, &len, NULL), BW_OK);
    assert_int_equal(len, strlen(text));
    assert_true(len < size);
    bw_arena *arena = bw_arena_new(0);
    const bw_sample *read = NULL;
    size_t read_n = 99;
    bw_err err = {BW_OK, ""};
    if (bw_trace_read(text, len, arena, &read, &read_n, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
    assert_int_equal(read_n, n);
    for (size_t i = 0; i < n; i++) {
        assert_memory_equal(&read[i].time_s, &sample[i].time_s, sizeof(double));
        assert_memory_equal(&read[i].torque_Nm, &sample[i].torque_Nm, sizeof(double));
        assert_memory_equal(&read[i].angle_deg, &sample[i].angle_deg, sizeof(double));
        assert_int_equal(read[i].has_angle, sample[i].has_angle);
    }
    bw_arena_free(arena);
    free(text);
}

static void test_chosen_numbers(void **state) {
    (void)state;
    static const bw_sample samples[] = {
        {0, 0, 0, false},
        {0.01, -0.0, -0.0, true},
        {0.02, 1.0 / 3, -1e-300, true},
        {0.03, 42.5, 31.75, true},
        {123456.789012345, -1.7976931348623157e308, 4.9406564584124654e-324, true},
        {999999999999999, 1e15, 0.1 + 0.2, true},
        {1e22, 1e-9, 2.5e-10, true},
        {0.1, 0.000000001, 100, true},
    };
    round_trip(samples, sizeof samples / sizeof samples[0]);
    round_trip(samples, 0);
}

/* Random bit patterns (not the infinite ones), and random short decimals. */
static void test_random_numbers(void **state) {
    (void)state;
    enum { N = 4000 };
    static bw_sample samples[N];
    uint64_t x = 0x9e3779b97f4a7c15u;
    for (size_t i = 0; i < N; i++) {
        double d[3];
        for (size_t k = 0; k < 3; k++) {
            x ^= x << 13;
            x ^= x >> 7;
            x ^= x << 17;
            uint64_t bits = (x & 0x800fffffffffffffu) | ((x >> 1) % 2047) << 52;
            memcpy(&d[k], &bits, sizeof d[k]);
            if (i % 2 == 0) {
                d[k] = (double)((int64_t)x % 1000000) / 1000;
            }
        }
        samples[i] = (bw_sample){d[0], d[1], d[2], true};
    }
    round_trip(samples, N);
}

static void test_text_as_it_is(void **state) {
    (void)state;
    static const bw_sample samples[] = {{0.125, 42.5, 31.75, true}, {0.25, -7, 0, false}};
    char text[200];
    size_t len = 0;
    assert_int_equal(bw_trace_write(samples, 2, text, sizeof text, &len, NULL), BW_OK);
    assert_string_equal(text, "time_s,torque_Nm,angle_deg\n0.125,42.5,31.75\n0.25,-7,\n");
    bw_err err = {BW_OK, ""};
    assert_int_equal(bw_trace_write(samples, 2, text, len, &len, &err), BW_E_LIMIT);
    assert_int_equal(bw_trace_write(samples, 2, text, 10, &len, &err), BW_E_LIMIT);
    assert_int_equal(bw_trace_write(samples, BW_TRACE_SAMPLES_MAX + 1, text, 200, &len, &err),
                     BW_E_LIMIT);
    static const bw_sample bad[][1] = {{{(double)NAN, 1, 1, true}},
                                       {{1, (double)INFINITY, 1, true}},
                                       {{1, 1, -(double)INFINITY, true}}};
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(bw_trace_write(bad[i], 1, text, sizeof text, &len, &err), BW_E_ARG);
    }
    static const bw_sample unused[] = {{1, 1, (double)NAN, false}};
    assert_int_equal(bw_trace_write(unused, 1, text, sizeof text, &len, &err), BW_OK);
}

#define HEADING "time_s,torque_Nm,angle_deg\n"

static void test_reading(void **state) {
    (void)state;
    static const struct {
        const char *text;
        size_t n;
    } good[] = {
        {HEADING, 0},
        {"time_s,torque_Nm,angle_deg", 0},
        {HEADING "0,1,2", 1},
        {"time_s,torque_Nm,angle_deg\r\n0,1,2\r\n0.1,2,\r\n", 2},
        {HEADING "0.0000000000000001,1e3,-2.5E-3\n", 1},
        {HEADING "1234567890.12345678,1,\n", 1},
    };
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        bw_arena *arena = bw_arena_new(0);
        const bw_sample *sample = NULL;
        size_t n = 99;
        assert_int_equal(
            bw_trace_read(good[i].text, strlen(good[i].text), arena, &sample, &n, NULL), BW_OK);
        assert_int_equal(n, good[i].n);
        bw_arena_free(arena);
    }
    static const struct {
        const char *text;
        const char *part;
    } bad[] = {
        {"", "line 1: the heading"},
        {"time_s,torque_Nm\n0,1\n", "line 1: the heading"},
        {"time_s,torque_Nm,angle_mm!\n", "line 1: the heading"},
        {HEADING "0,1\n", "line 2: a line such as"},
        {HEADING "0\n", "line 2:"},
        {HEADING "0,1,2\n\n", "line 3:"},
        {HEADING "0,1,2,3\n", "line 2:"},
        {HEADING "0,,2\n", "line 2:"},
        {HEADING ",1,2\n", "line 2:"},
        {HEADING "0,1.,2\n", "line 2:"},
        {HEADING "0,.5,2\n", "line 2:"},
        {HEADING "0,1.2.3,2\n", "line 2:"},
        {HEADING "0,nan,2\n", "line 2:"},
        {HEADING "0,1,inf\n", "line 2:"},
        {HEADING "0,1e999,2\n", "line 2:"},
        {HEADING "0, 1,2\n", "line 2:"},
        {HEADING "0,-,2\n", "line 2:"},
        {HEADING "0,1;2,\n", "line 2:"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        bw_arena *arena = bw_arena_new(0);
        const bw_sample *sample = NULL;
        size_t n = 99;
        bw_err err = {BW_OK, ""};
        bw_status s = bw_trace_read(bad[i].text, strlen(bad[i].text), arena, &sample, &n, &err);
        if (s != BW_E_DATA || strstr(err.text, bad[i].part) == NULL || n != 99) {
            fail_msg("'%s': %d %s", bad[i].text, s, err.text);
        }
        bw_arena_free(arena);
    }
}

static void test_limits(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(64);
    const bw_sample *sample = NULL;
    size_t n = 0;
    const char text[] = HEADING "0,1,2\n0,1,2\n0,1,2\n";
    assert_int_equal(bw_trace_read(text, sizeof text - 1, arena, &sample, &n, NULL), BW_E_MEM);
    size_t len = sizeof HEADING - 1 + BW_TRACE_SAMPLES_MAX + 1;
    char *many = malloc(len);
    assert_non_null(many);
    memset(many, '\n', len);
    memcpy(many, HEADING, sizeof HEADING - 1);
    bw_err err = {BW_OK, ""};
    assert_int_equal(bw_trace_read(many, len, arena, &sample, &n, &err), BW_E_DATA);
    assert_non_null(strstr(err.text, "at most 2000000 samples"));
    free(many);
    bw_arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_chosen_numbers), cmocka_unit_test(test_random_numbers),
        cmocka_unit_test(test_text_as_it_is),  cmocka_unit_test(test_reading),
        cmocka_unit_test(test_limits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
