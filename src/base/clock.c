/* clock.c - see clock.h. */
#include "base/clock.h"

#include "base/text.h"

#include <stdbool.h>
#include <string.h>
#include <time.h>

int64_t bw_clock_wall_ms(void) {
    struct timespec t = {0};
    (void)clock_gettime(CLOCK_REALTIME, &t);
    return (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

int64_t bw_clock_mono_ns(void) {
    struct timespec t = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &t);
    return (int64_t)t.tv_sec * 1000000000 + t.tv_nsec;
}

static const int64_t day_ms = 86400000;
static const int64_t first_ms = -62167219200000; /* 0000-01-01T00:00:00.000Z */
static const int64_t last_ms = 253402300799999;  /* 9999-12-31T23:59:59.999Z */

/* Days since 1970-01-01 of a proleptic Gregorian date, counted in years that begin in March, so
 * that the leap day is the last of its year. */
static int64_t days_from_date(int64_t year, int month, int day) {
    int64_t y = year - (month <= 2 ? 1 : 0);
    int64_t era = (y >= 0 ? y : y - 399) / 400;
    int64_t year_of_era = y - era * 400;
    int64_t march_month = (month + 9) % 12;
    int64_t day_of_year = (153 * march_month + 2) / 5 + day - 1;
    return era * 146097 + year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year -
           719468;
}

static void date_from_days(int64_t days, int64_t *year, int *month, int *day) {
    int64_t shifted = days + 719468;
    int64_t era = (shifted >= 0 ? shifted : shifted - 146096) / 146097;
    int64_t day_of_era = shifted - era * 146097;
    int64_t year_of_era = (day_of_era - day_of_era / 1460 + day_of_era / 36524 -
                           day_of_era / 146096) /
                          365;
    int64_t day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    int64_t march_month = (5 * day_of_year + 2) / 153;
    *day = (int)(day_of_year - (153 * march_month + 2) / 5 + 1);
    *month = (int)(march_month < 10 ? march_month + 3 : march_month - 9);
    *year = year_of_era + era * 400 + (*month <= 2 ? 1 : 0);
}

const char *bw_time_text(int64_t wall_ms, char *out) {
    int64_t ms = wall_ms < first_ms ? first_ms : wall_ms > last_ms ? last_ms : wall_ms;
    int64_t days = ms / day_ms - (ms % day_ms < 0 ? 1 : 0);
    int rest = (int)(ms - days * day_ms);
    int64_t year = 0;
    int month = 0;
    int day = 0;
    date_from_days(days, &year, &month, &day);
    bw_text text = bw_text_on(out, BW_TIME_TEXT_MAX);
    bw_text_add(&text, "%04d-%02d-%02dT%02d:%02d:%02d.%03dZ", (int)year, month, day, rest / 3600000,
                rest / 60000 % 60, rest / 1000 % 60, rest % 1000);
    return out;
}

static int digits(const char *text, int n) {
    int value = 0;
    for (int i = 0; i < n; i++) {
        value = value * 10 + (text[i] - '0');
    }
    return value;
}

bw_status bw_time_parse(const char *text, int64_t *wall_ms, bw_err *err) {
    static const char shape[] = "dddd-dd-ddTdd:dd:dd.dddZ";
    bool shaped = strlen(text) == sizeof shape - 1;
    for (size_t i = 0; shaped && shape[i] != '\0'; i++) {
        bool digit = text[i] >= '0' && text[i] <= '9';
        shaped = shape[i] == 'd' ? digit : text[i] == shape[i];
    }
    if (!shaped) {
        return bw_fail(err, BW_E_DATA, "a time such as 2026-11-25T09:45:48.120Z is needed");
    }
    int year = digits(text, 4);
    int month = digits(text + 5, 2);
    int day = digits(text + 8, 2);
    int hour = digits(text + 11, 2);
    int minute = digits(text + 14, 2);
    int second = digits(text + 17, 2);
    int ms = digits(text + 20, 3);
    if (month < 1 || month > 12 || day < 1 || hour > 23 || minute > 59 || second > 59) {
        return bw_fail(err, BW_E_DATA, "a time such as 2026-11-25T09:45:48.120Z is needed");
    }
    int64_t days = days_from_date(year, month, day);
    int64_t back_year = 0;
    int back_month = 0;
    int back_day = 0;
    date_from_days(days, &back_year, &back_month, &back_day);
    if (back_day != day || back_month != month) {
        return bw_fail(err, BW_E_DATA, "there is no such day in the calendar: %.10s", text);
    }
    *wall_ms = days * day_ms + hour * 3600000LL + minute * 60000LL + second * 1000LL + ms;
    return BW_OK;
}
