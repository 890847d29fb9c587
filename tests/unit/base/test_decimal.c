/* test_decimal.c - numbers as text, under every locale.  The reference for rounding is arithmetic
 * on the digits themselves; for round trips, the bits of the double. */
#include "cmocka_all.h"

#include "base/decimal.h"

#include <inttypes.h>
#include <locale.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

/* A small generator of its own (xorshift of 64 bits; Marsaglia 2003). */
static uint64_t next(uint64_t *x) {
    *x ^= *x << 13;
    *x ^= *x >> 7;
    *x ^= *x << 17;
    return *x;
}

static double of_bits(uint64_t bits) {
    double value;
    memcpy(&value, &bits, sizeof value);
    return value;
}

static uint64_t bits_of(double value) {
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    return bits;
}

static const struct {
    const char *text;
    double value;
    int decimals;
} read_rows[] = {
    {"0", 0, 0},
    {"60", 60, 0},
    {"0.063", 0.063, 3},
    {"0,063", 0.063, 3},
    {".5", 0.5, 1},
    {",5", 0.5, 1},
    {"5.", 5, 0},
    {"+12.50", 12.5, 2},
    {"-3", -3, 0},
    {"-0", 0, 0},
    {"-0.0", 0, 1},
    {"007", 7, 0},
    {"86.0205", 86.0205, 4},
    {"999999999999999", 999999999999999, 0},
    {"0.00000000000001", 1e-14, 14},
    {"123456789.012345", 123456789.012345, 6},
};

static void test_decimals_are_read(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof read_rows / sizeof read_rows[0]; i++) {
        bw_decimal d = {0};
        bw_err err = {0};
        if (bw_decimal_parse(read_rows[i].text, strlen(read_rows[i].text), &d, &err) != BW_OK) {
            fail_msg("\"%s\": %s", read_rows[i].text, err.text);
        }
        assert_true(bits_of(d.value) == bits_of(read_rows[i].value));
        assert_int_equal(d.decimals, read_rows[i].decimals);
    }
}

static const char *const not_decimals[] = {
    "",
    " ",
    "+",
    "-",
    ".",
    ",",
    "-.",
    "1e3",
    "0x10",
    "nan",
    "inf",
    "NaN",
    "1.2.3",
    "1,234.5",
    "1.234,5",
    "1,2,3",
    " 1",
    "1 ",
    "1\n",
    "--1",
    "+-1",
    "1-",
    "\xd9\xa1",
    "1 000",
    "1'000",
    "1_000",
    "6O",
    "12345678901234567890",
    "1234567890123456",
    "0.1234567890123456",
    "000000000000000000000000000000000001",
};

static void test_what_is_no_decimal(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof not_decimals / sizeof not_decimals[0]; i++) {
        bw_decimal d = {.value = 77, .decimals = 7};
        bw_err err = {0};
        if (bw_decimal_parse(not_decimals[i], strlen(not_decimals[i]), &d, &err) != BW_E_DATA) {
            fail_msg("\"%s\" is read as %g", not_decimals[i], d.value);
        }
        assert_true(d.value == 77 && d.decimals == 7);
        assert_true(strstr(err.text, "needed") != NULL);
    }
    bw_decimal d = {0};
    assert_int_equal(bw_decimal_parse("1\0002", 3, &d, NULL), BW_E_DATA);
    assert_int_equal(bw_decimal_parse("12.5 mm", 4, &d, NULL), BW_OK);
    assert_true(d.value == 12.5);
}

/* Correctly rounded: the C library, which reads any number of digits, says the same. */
static void test_decimals_are_read_to_the_last_bit(void **state) {
    (void)state;
    uint64_t x = 88172645463325252;
    for (int i = 0; i < 200000; i++) {
        uint64_t digits = next(&x) % UINT64_C(1000000000000000);
        int decimals = (int)(next(&x) % 15);
        uint64_t unit = 1;
        for (int k = 0; k < decimals; k++) {
            unit *= 10;
        }
        char text[40];
        int n = snprintf(text, sizeof text, "%" PRIu64, digits / unit);
        if (decimals > 0) {
            n += snprintf(text + n, sizeof text - (size_t)n, ".%0*" PRIu64, decimals,
                          digits % unit);
        }
        bw_decimal d = {0};
        bw_status status = bw_decimal_parse(text, (size_t)n, &d, NULL);
        if (n > 16) { /* a leading zero more than there is room for */
            assert_true(status == BW_E_DATA || status == BW_OK);
            continue;
        }
        assert_int_equal(status, BW_OK);
        if (bits_of(d.value) != bits_of(strtod(text, NULL))) {
            fail_msg("%s", text);
        }
    }
}

static const struct {
    double value;
    int decimals;
    const char *text;
} format_rows[] = {
    {2.675, 2, "2.68"},
    {-2.675, 2, "-2.68"},
    {1.005, 2, "1.01"},
    {1.45, 1, "1.5"},
    {0.285, 2, "0.29"},
    {2.665, 2, "2.67"},
    {2.5, 0, "3"},
    {-2.5, 0, "-3"},
    {0.5, 0, "1"},
    {0.49999, 0, "0"},
    {2.6749, 2, "2.67"},
    {0, 0, "0"},
    {0, 3, "0.000"},
    {-0.0, 2, "0.00"},
    {-0.004, 2, "0.00"},
    {-0.005, 2, "-0.01"},
    {60, 1, "60.0"},
    {0.05, 3, "0.050"},
    {9.995, 2, "10.00"},
    {99999.9995, 3, "100000.000"},
    {1e-300, 6, "0.000000"},
    {200, 12, "200.000000000000"},
    {200000000000000, 0, "200000000000000"},
    {9007199254740991, 0, "9007199254740991"},
    {86.0205, 4, "86.0205"},
    {INFINITY, 2, "-"},
    {-INFINITY, 2, "-"},
    {NAN, 2, "-"},
};

static void test_format(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof format_rows / sizeof format_rows[0]; i++) {
        char text[64];
        (void)bw_decimal_format(format_rows[i].value, format_rows[i].decimals, text, sizeof text);
        assert_string_equal(text, format_rows[i].text);
    }
    char small[4];
    assert_ptr_equal(bw_decimal_format(123.45, 2, small, sizeof small), small);
    assert_string_equal(small, "123");
}

/* Rounds the digits of a decimal as at school: drop the last `dropped` of them. */
static uint64_t rounded_digits(uint64_t digits, int dropped) {
    for (int i = 0; i < dropped - 1; i++) {
        digits /= 10;
    }
    return dropped == 0 ? digits : (digits + 5) / 10;
}

/* Whatever a person types and a display rounds: what comes out is what the digits say. */
static void test_rounding_follows_the_digits(void **state) {
    (void)state;
    uint64_t x = 1234567;
    for (int i = 0; i < 300000; i++) {
        int typed = (int)(next(&x) % 7);
        int kept = (int)(next(&x) % (unsigned)(typed + 1));
        uint64_t digits = next(&x) % UINT64_C(1000000000000);
        double value = (double)digits / pow(10, typed);
        uint64_t expected = rounded_digits(digits, typed - kept);
        char text[64];
        char without_point[64];
        size_t n = 0;
        for (const char *c = bw_decimal_format(value, kept, text, sizeof text); *c != '\0'; c++) {
            if (*c != '.') {
                without_point[n++] = *c;
            }
        }
        without_point[n] = '\0';
        if (strtoull(without_point, NULL, 10) != expected) {
            fail_msg("%" PRIu64 " with %d decimals to %d: %s", digits, typed, kept, text);
        }
        double unit = pow(10, kept);
        assert_true(bw_round_decimals(value, kept) == (double)expected / unit);
        assert_true(bw_round_decimals(-value, kept) == -((double)expected / unit));
    }
}

static void test_round(void **state) {
    (void)state;
    static const struct {
        double value;
        int decimals;
        double rounded;
    } rows[] = {
        {2.675, 2, 2.68},    {-2.675, 2, -2.68},          {0, 6, 0},         {0.1 + 0.2, 6, 0.3},
        {59.9999996, 6, 60}, {59.9999994, 6, 59.999999},  {1e-7, 6, 0},      {5e-7, 6, 1e-6},
        {200, 12, 200},      {123456789.5, 0, 123456790}, {1e200, 6, 1e200}, {2e15, 1, 2e15},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double rounded = bw_round_decimals(rows[i].value, rows[i].decimals);
        if (rounded != rows[i].rounded) {
            fail_msg("%.17g to %d: %.17g", rows[i].value, rows[i].decimals, rounded);
        }
    }
    assert_false(signbit(bw_round_decimals(-1e-9, 6)));
}

static const struct {
    double value;
    const char *text;
} number_rows[] = {
    {0, "0"},
    {-0.0, "0"},
    {1, "1"},
    {-1.5, "-1.5"},
    {0.1, "0.1"},
    {60.2, "60.2"},
    {1e21, "1e+21"},
    {1e-7, "1e-07"},
    {0.1 + 0.2, "0.30000000000000004"},
    {1.0 / 3, "0.3333333333333333"},
    {1795599948.12, "1795599948.12"},
    {1.7976931348623157e308, "1.7976931348623157e+308"},
    {INFINITY, "null"},
    {-INFINITY, "null"},
    {NAN, "null"},
};

static void test_number_text(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof number_rows / sizeof number_rows[0]; i++) {
        char text[32];
        assert_string_equal(bw_number_text(number_rows[i].value, text, sizeof text),
                            number_rows[i].text);
    }
}

/* Every double comes back as itself, bit for bit, and none needs more than 31 characters. */
static int round_trip_failures(int n) {
    uint64_t x = 0x2545F4914F6CDD1D;
    int failures = 0;
    for (int i = 0; i < n; i++) {
        double value = of_bits(next(&x));
        char text[32];
        double back = 0;
        if (!isfinite(value)) {
            continue;
        }
        (void)bw_number_text(value, text, sizeof text);
        bool same = bw_number_parse(text, strlen(text), &back, NULL) == BW_OK &&
                    bits_of(back) == bits_of(value) && strchr(text, ',') == NULL;
        failures += same ? 0 : 1;
    }
    return failures;
}

static void test_numbers_come_back(void **state) {
    (void)state;
    assert_int_equal(round_trip_failures(300000), 0);
    static const uint64_t edges[] = {1,
                                     0x000FFFFFFFFFFFFF,
                                     0x0010000000000000,
                                     0x7FEFFFFFFFFFFFFF,
                                     0x3FF0000000000001,
                                     0x3FEFFFFFFFFFFFFF};
    for (size_t i = 0; i < sizeof edges / sizeof edges[0]; i++) {
        char text[32];
        double back = 0;
        (void)bw_number_text(of_bits(edges[i]), text, sizeof text);
        assert_int_equal(bw_number_parse(text, strlen(text), &back, NULL), BW_OK);
        assert_true(bits_of(back) == edges[i]);
    }
}

/* Shortest: one digit fewer is another double, whatever that digit is rounded to. */
static void test_number_text_is_shortest(void **state) {
    (void)state;
    uint64_t x = 4711;
    for (int i = 0; i < 50000; i++) {
        double value = (double)(next(&x) % 100000000) / 1e5 * (i % 2 == 0 ? 1 : 1.0 / 3);
        char text[32];
        (void)bw_number_text(value, text, sizeof text);
        int digits = 0;
        bool leading = true;
        for (const char *c = text; *c != '\0' && *c != 'e'; c++) {
            leading = leading && (*c == '0' || *c == '.');
            digits += !leading && *c != '.' ? 1 : 0;
        }
        if (digits < 2) {
            continue;
        }
        char shorter[330];
        (void)snprintf(shorter, sizeof shorter, "%.*g", digits - 1, value);
        bool trailing_zero = text[strlen(text) - 1] == '0' && strchr(text, '.') == NULL;
        assert_true(trailing_zero || strtod(shorter, NULL) != value);
    }
}

static void test_what_is_no_number(void **state) {
    (void)state;
    static const char *const rows[] = {"",       " ",    "nan",   "inf", "Infinity", "0x1p3",
                                       "1,5",    ".5",   "5.",    "1e",  "1e+",      "e5",
                                       "1.5.2",  "--1",  "1 ",    " 1",  "1e5x",     "1e999",
                                       "-1e999", "null", "1e1.5", "1_0"};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double value = 77;
        bw_err err = {0};
        if (bw_number_parse(rows[i], strlen(rows[i]), &value, &err) != BW_E_DATA) {
            fail_msg("\"%s\" is read as %g", rows[i], value);
        }
        assert_true(value == 77 && err.text[0] != '\0');
    }
    char long_one[200];
    memset(long_one, '1', sizeof long_one);
    double value = 77;
    assert_int_equal(bw_number_parse(long_one, sizeof long_one, &value, NULL), BW_E_DATA);
    assert_int_equal(bw_number_parse("1\0002", 3, &value, NULL), BW_E_DATA);
    assert_int_equal(bw_number_parse("+12.50E-1 mm", 9, &value, NULL), BW_OK);
    assert_true(value == 1.25);
}

enum { NO_LOCALE = 99 };

/* In a process of its own: everything again where the point is a comma. */
static int failures_with_comma(void) {
    /* By its address: the one place in the project that sets a locale, to show that nobody whose
     * library does so is hurt. */
    char *(*set)(int, const char *) = setlocale;
    (void)setenv("LOCPATH", LOCALES, 1);
    if (set(LC_ALL, "de_DE.UTF-8") == NULL) {
        return NO_LOCALE;
    }
    char text[64];
    (void)snprintf(text, sizeof text, "%.1f", 1.5);
    if (strcmp(text, "1,5") != 0) {
        return NO_LOCALE;
    }
    int failures = round_trip_failures(20000) > 0 ? 1 : 0;
    for (size_t i = 0; i < sizeof read_rows / sizeof read_rows[0]; i++) {
        bw_decimal d = {0};
        bw_status status = bw_decimal_parse(read_rows[i].text, strlen(read_rows[i].text), &d, NULL);
        failures += status == BW_OK && d.value == read_rows[i].value ? 0 : 1;
    }
    for (size_t i = 0; i < sizeof format_rows / sizeof format_rows[0]; i++) {
        (void)bw_decimal_format(format_rows[i].value, format_rows[i].decimals, text, sizeof text);
        failures += strcmp(text, format_rows[i].text) == 0 ? 0 : 1;
    }
    for (size_t i = 0; i < sizeof number_rows / sizeof number_rows[0]; i++) {
        (void)bw_number_text(number_rows[i].value, text, sizeof text);
        failures += strcmp(text, number_rows[i].text) == 0 ? 0 : 1;
    }
    double value = 0;
    failures += bw_number_parse("1,5", 3, &value, NULL) == BW_E_DATA ? 0 : 1;
    return failures;
}

static void test_under_a_locale_with_a_comma(void **state) {
    (void)state;
    pid_t child = fork();
    if (child == 0) {
        _exit(failures_with_comma());
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    if (WEXITSTATUS(status) == NO_LOCALE) {
        print_message("no locale with a comma could be made here: skipped\n");
        skip();
    }
    assert_int_equal(WEXITSTATUS(status), 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_decimals_are_read),
        cmocka_unit_test(test_what_is_no_decimal),
        cmocka_unit_test(test_decimals_are_read_to_the_last_bit),
        cmocka_unit_test(test_format),
        cmocka_unit_test(test_rounding_follows_the_digits),
        cmocka_unit_test(test_round),
        cmocka_unit_test(test_number_text),
        cmocka_unit_test(test_numbers_come_back),
        cmocka_unit_test(test_number_text_is_shortest),
        cmocka_unit_test(test_what_is_no_number),
        cmocka_unit_test(test_under_a_locale_with_a_comma),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
