/* test_clock.c - wall time as text and back. */
#include "cmocka_all.h"

#include "base/clock.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

/* Milliseconds as GNU date prints them (date -u -d TEXT +%s%3N).  The first three moments are the
 * examples of RFC 3339 section 5.8, put into UTC with three decimals (from memory, not seen). */
static const struct {
    const char *text;
    int64_t ms;
} moments[] = {
    {"1985-04-12T23:20:50.520Z", 482196050520},
    {"1996-12-20T00:39:57.000Z", 851042397000},
    {"1937-01-01T11:40:27.870Z", -1041337172130},
    {"1970-01-01T00:00:00.000Z", 0},
    {"1969-12-31T23:59:59.999Z", -1},
    {"2026-11-25T09:45:48.120Z", 1795599948120},
    {"2000-02-29T00:00:00.000Z", 951782400000},
    {"2100-02-28T23:59:59.999Z", 4107542399999},
    {"2100-03-01T00:00:00.000Z", 4107542400000},
    {"0004-02-29T12:00:00.000Z", -62035848000000},
    {"0000-01-01T00:00:00.000Z", -62167219200000},
    {"9999-12-31T23:59:59.999Z", 253402300799999},
};

static void test_moments(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof moments / sizeof moments[0]; i++) {
        char text[BW_TIME_TEXT_MAX];
        int64_t ms = 42;
        assert_string_equal(bw_time_text(moments[i].ms, text), moments[i].text);
        assert_int_equal(bw_time_parse(moments[i].text, &ms, NULL), BW_OK);
        assert_true(ms == moments[i].ms);
    }
}

static void test_outside_of_the_years(void **state) {
    (void)state;
    char text[BW_TIME_TEXT_MAX];
    assert_string_equal(bw_time_text(INT64_MIN, text), "0000-01-01T00:00:00.000Z");
    assert_string_equal(bw_time_text(-62167219200001, text), "0000-01-01T00:00:00.000Z");
    assert_string_equal(bw_time_text(253402300800000, text), "9999-12-31T23:59:59.999Z");
    assert_string_equal(bw_time_text(INT64_MAX, text), "9999-12-31T23:59:59.999Z");
}

/* Against the C library's calendar, a prime number of milliseconds apart over all years. */
static void test_against_the_c_library(void **state) {
    (void)state;
    const int64_t first_ms = -62167219200000;
    const int64_t last_ms = 253402300799999;
    const int64_t step_ms = 3155692597;
    for (int64_t ms = first_ms; ms <= last_ms; ms += step_ms) {
        int64_t in_second = ((ms % 1000) + 1000) % 1000;
        time_t seconds = (time_t)((ms - in_second) / 1000);
        struct tm tm;
        assert_non_null(gmtime_r(&seconds, &tm));
        char expected[80];
        (void)snprintf(expected, sizeof expected, "%04d-%02d-%02dT%02d:%02d:%02d.%03dZ",
                       tm.tm_year + 1900, tm.tm_mon + 1, tm.tm_mday, tm.tm_hour, tm.tm_min,
                       tm.tm_sec, (int)in_second);
        char text[BW_TIME_TEXT_MAX];
        assert_string_equal(bw_time_text(ms, text), expected);
        int64_t back_ms = 0;
        assert_int_equal(bw_time_parse(text, &back_ms, NULL), BW_OK);
        assert_true(back_ms == ms);
    }
}

static void test_leap_days(void **state) {
    (void)state;
    static const struct {
        int year;
        bool leap;
    } years[] = {{0, true},     {4, true},     {100, false}, {400, true},   {1900, false},
                 {1996, true},  {1999, false}, {2000, true}, {2023, false}, {2024, true},
                 {2100, false}, {2400, true},  {9996, true}, {9999, false}};
    for (size_t i = 0; i < sizeof years / sizeof years[0]; i++) {
        char text[64];
        int64_t ms = 0;
        (void)snprintf(text, sizeof text, "%04d-02-29T00:00:00.000Z", years[i].year);
        bw_status status = bw_time_parse(text, &ms, NULL);
        assert_int_equal(status, years[i].leap ? BW_OK : BW_E_DATA);
    }
}

static const char *const refused[] = {
    "",
    "2026-11-25",
    "2026-11-25T09:45:48Z",
    "2026-11-25T09:45:48.12Z",
    "2026-11-25T09:45:48.1200Z",
    "2026-11-25t09:45:48.120Z",
    "2026-11-25T09:45:48.120z",
    "2026-11-25 09:45:48.120Z",
    "2026-11-25T09:45:48,120Z",
    "2026-11-25T09:45:48.120+00:00",
    "1996-12-19T16:39:57-08:00",
    " 2026-11-25T09:45:48.120Z",
    "2026-11-25T09:45:48.120Z ",
    "2026-00-25T09:45:48.120Z",
    "2026-13-25T09:45:48.120Z",
    "2026-11-00T09:45:48.120Z",
    "2026-11-31T09:45:48.120Z",
    "2026-12-32T09:45:48.120Z",
    "2026-02-30T09:45:48.120Z",
    "2026-11-25T24:00:00.000Z",
    "2026-11-25T09:60:48.120Z",
    /* A leap second is legal in RFC 3339, but no moment of this clock. */
    "1990-12-31T23:59:60.000Z",
    "+026-11-25T09:45:48.120Z",
    "2026-11-25T09:45:+8.120Z",
    "2026-11- 5T09:45:48.120Z",
    "\xd9\xa2-11-25T09:45:48.120Z",
    " 026-11-25T09:45:48.120Z",
};

static void test_refused(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        int64_t ms = 42;
        bw_err err = {0};
        if (bw_time_parse(refused[i], &ms, &err) != BW_E_DATA) {
            fail_msg("\"%s\" is read", refused[i]);
        }
        assert_true(ms == 42);
        assert_true(err.text[0] != '\0');
    }
}

/* The monotonic clock never goes back; the wall clock is in this century. */
static void test_clocks_run(void **state) {
    (void)state;
    int64_t before_ns = bw_clock_mono_ns();
    for (int i = 0; i < 1000; i++) {
        int64_t now_ns = bw_clock_mono_ns();
        assert_true(now_ns >= before_ns);
        before_ns = now_ns;
    }
    assert_true(bw_clock_wall_ms() > 1700000000000 && bw_clock_wall_ms() < 4107542400000);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_moments),
        cmocka_unit_test(test_outside_of_the_years),
        cmocka_unit_test(test_against_the_c_library),
        cmocka_unit_test(test_leap_days),
        cmocka_unit_test(test_refused),
        cmocka_unit_test(test_clocks_run),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
