/* decimal.c - see decimal.h.
 *
 * Typed decimals have at most 15 digits, so mantissa and power of ten are both exact doubles and
 * one division rounds correctly.  Full doubles go through the C library, whose decimal point is
 * put back to '.' whatever locale a library may have set. */
#include "base/decimal.h"

#include <locale.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { DIGITS_MAX = 15, NUMBER_TEXT_MAX = 64 };

static const double power_of_ten[] = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                      1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};

bw_status bw_decimal_parse(const char *text, size_t len, bw_decimal *out, bw_err *err) {
    size_t i = 0;
    bool negative = len > 0 && text[0] == '-';
    if (len > 0 && (text[0] == '-' || text[0] == '+')) {
        i = 1;
    }
    uint64_t mantissa = 0;
    int digits = 0;
    int decimals = -1; /* -1: no point yet */
    for (; i < len; i++) {
        char c = text[i];
        if (c >= '0' && c <= '9') {
            if (++digits > DIGITS_MAX) {
                return bw_fail(err, BW_E_DATA, "a number of at most %d digits is needed",
                               DIGITS_MAX);
            }
            mantissa = mantissa * 10 + (uint64_t)(c - '0');
            decimals += decimals >= 0 ? 1 : 0;
        } else if ((c == '.' || c == ',') && decimals < 0) {
            decimals = 0;
        } else {
            return bw_fail(err, BW_E_DATA,
                           "a number such as 0.063 or 0,063 is needed: digits and one point");
        }
    }
    if (digits == 0) {
        return bw_fail(err, BW_E_DATA, "a number such as 0.063 is needed: there are no digits");
    }
    if (decimals < 0) {
        decimals = 0;
    }
    double value = (double)mantissa / power_of_ten[decimals];
    out->value = negative && mantissa != 0 ? -value : value;
    out->decimals = decimals;
    return BW_OK;
}

/* Scales by 10^decimals and rounds half away from zero.  A few parts in 10^15 are added first, so
 * that 2.675 with two decimals, stored a hair low, goes up as its digits say. */
static double round_scaled(double magnitude, int decimals) {
    double scaled = magnitude * power_of_ten[decimals];
    if (scaled >= 1e14) {
        return round(scaled); /* what would be added is no longer small beside a digit */
    }
    return floor(scaled * (1.0 + 4e-15) + 0.5);
}

double bw_round_decimals(double value, int decimals) {
    double scaled = round_scaled(fabs(value), decimals);
    return copysign(scaled / power_of_ten[decimals], value) + 0.0;
}

const char *bw_decimal_format(double value, int decimals, char *out, size_t size) {
    if (!isfinite(value)) {
        (void)snprintf(out, size, "-");
        return out;
    }
    double scaled = round_scaled(fabs(value), decimals);
    const char *sign = value < 0 && scaled > 0 ? "-" : "";
    if (scaled >= 1e18) {
        (void)snprintf(out, size, "%s%.0f", sign, fabs(value));
        return out;
    }
    uint64_t units = (uint64_t)scaled;
    uint64_t base = (uint64_t)power_of_ten[decimals];
    unsigned long long whole = units / base;
    unsigned long long rest = units % base;
    if (decimals == 0) {
        (void)snprintf(out, size, "%s%llu", sign, whole);
    } else {
        (void)snprintf(out, size, "%s%llu.%0*llu", sign, whole, decimals, rest);
    }
    return out;
}

/* The C library writes the locale's point; it becomes '.', or the other way round. */
static void swap_point(char *text, char from, char to) {
    char *point = strchr(text, from);
    if (point != NULL) {
        *point = to;
    }
}

static char locale_point(void) {
    const struct lconv *convention = localeconv();
    return convention->decimal_point[0];
}

static double library_read(const char *text) {
    char copy[NUMBER_TEXT_MAX];
    (void)snprintf(copy, sizeof copy, "%s", text);
    swap_point(copy, '.', locale_point());
    return strtod(copy, NULL);
}

const char *bw_number_text(double value, char *out, size_t size) {
    if (!isfinite(value)) {
        (void)snprintf(out, size, "null");
        return out;
    }
    for (int digits = 15; digits <= 17; digits++) {
        (void)snprintf(out, size, "%.*g", digits, value == 0 ? 0.0 : value);
        swap_point(out, locale_point(), '.');
        if (library_read(out) == value) {
            break;
        }
    }
    return out;
}

static size_t skip_digits(const char *text, size_t len, size_t i) {
    while (i < len && text[i] >= '0' && text[i] <= '9') {
        i++;
    }
    return i;
}

/* sign? digits (point digits)? (e sign? digits)? and nothing behind. */
static bool number_shaped(const char *text, size_t len) {
    size_t i = len > 0 && (text[0] == '-' || text[0] == '+') ? 1 : 0;
    size_t after = skip_digits(text, len, i);
    if (after == i) {
        return false;
    }
    i = after;
    if (i < len && text[i] == '.') {
        after = skip_digits(text, len, i + 1);
        if (after == i + 1) {
            return false;
        }
        i = after;
    }
    if (i < len && (text[i] == 'e' || text[i] == 'E')) {
        i++;
        if (i < len && (text[i] == '-' || text[i] == '+')) {
            i++;
        }
        after = skip_digits(text, len, i);
        if (after == i) {
            return false;
        }
        i = after;
    }
    return i == len;
}

bw_status bw_number_parse(const char *text, size_t len, double *out, bw_err *err) {
    if (len >= NUMBER_TEXT_MAX || !number_shaped(text, len)) {
        return bw_fail(err, BW_E_DATA, "a number such as 12.5 or -1.25e-3 is needed");
    }
    char copy[NUMBER_TEXT_MAX];
    memcpy(copy, text, len);
    copy[len] = '\0';
    double value = library_read(copy);
    if (!isfinite(value)) {
        return bw_fail(err, BW_E_DATA, "the number is too large");
    }
    *out = value;
    return BW_OK;
}
