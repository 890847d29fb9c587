/* test_text.c - bounded text, UTF-8, what may be shown, hex; and the words of failures. */
#include "cmocka_all.h"

#include "base/status.h"
#include "base/text.h"

#include <stdio.h>
#include <string.h>

/* U+00B5 micro sign, two bytes; U+20AC euro sign, three; U+1F527 wrench, four. */
#define MICRO  "\xc2\xb5"
#define EURO   "\xe2\x82\xac"
#define WRENCH "\xf0\x9f\x94\xa7"

static void test_cut_at_a_whole_character(void **state) {
    (void)state;
    static const struct {
        const char *text;
        size_t size;
        const char *kept;
    } rows[] = {
        {"main", 5, "main"},
        {"main", 4, "mai"},
        {"main", 1, ""},
        {"5" MICRO "m", 5, "5" MICRO "m"},
        {"5" MICRO "m", 4, "5" MICRO},
        {"5" MICRO "m", 3, "5"},
        {EURO "5", 4, EURO},
        {EURO "5", 3, ""},
        {WRENCH, 5, WRENCH},
        {WRENCH, 4, ""},
        {"ab" WRENCH, 6, "ab"},
        {"", 1, ""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char data[16];
        memset(data, '#', sizeof data);
        bool fits = strcmp(rows[i].text, rows[i].kept) == 0;
        bw_text text = bw_text_on(data, rows[i].size);
        bw_text_add(&text, "%s", rows[i].text);
        assert_string_equal(data, rows[i].kept);
        assert_int_equal(text.len, strlen(rows[i].kept));
        assert_int_equal(text.cut, !fits);
        assert_int_equal(data[rows[i].size], '#');
        memset(data, '#', sizeof data);
        assert_int_equal(bw_text_copy(data, rows[i].size, rows[i].text), fits);
        assert_string_equal(data, rows[i].kept);
        assert_int_equal(data[rows[i].size], '#');
    }
}

static void test_whole_characters(void **state) {
    (void)state;
    static const struct {
        const char *text;
        size_t len, whole;
    } rows[] = {{"", 0, 0},       {"ab", 1, 1},       {"ab", 2, 2},         {"a" EURO, 1, 1},
                {"a" EURO, 2, 1}, {"a" EURO, 3, 1},   {"a" EURO, 4, 4},     {EURO EURO, 5, 3},
                {WRENCH, 3, 0},   {WRENCH "b", 5, 5}, {WRENCH WRENCH, 7, 4}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_int_equal(bw_utf8_whole(rows[i].text, rows[i].len), rows[i].whole);
    }
}

/* As a quoting writer does: byte by byte, the cut in the middle of a character. */
static void test_adds_single_bytes(void **state) {
    (void)state;
    char data[6];
    bw_text text = bw_text_on(data, sizeof data);
    for (const char *c = "a" EURO EURO; *c != '\0'; c++) {
        bw_text_add(&text, "%c", *c);
    }
    assert_string_equal(data, "a" EURO);
    assert_true(text.cut);
}

static void test_adds_until_full(void **state) {
    (void)state;
    char data[10];
    bw_text text = bw_text_on(data, sizeof data);
    bw_text_add(&text,
                "%d N"
                "%s",
                60, ".m");
    assert_string_equal(data, "60 N.m");
    assert_false(text.cut);
    bw_text_add(&text, ", 90 deg");
    assert_string_equal(data, "60 N.m, 9");
    assert_true(text.cut);
}

/* Behind a cut nothing more is added, however short: it would read as if it belonged there. */
static void test_a_cut_is_the_end(void **state) {
    (void)state;
    char data[8];
    bw_text text = bw_text_on(data, sizeof data);
    bw_text_add(&text, "1234" WRENCH);
    assert_string_equal(data, "1234");
    assert_true(text.cut);
    bw_text_add(&text, "5");
    assert_string_equal(data, "1234");
}

static void test_copy_of_nothing(void **state) {
    (void)state;
    char data[4] = "abc";
    assert_true(bw_text_copy(data, sizeof data, NULL));
    assert_string_equal(data, "");
}

/* Rows from the ranges of RFC 3629 section 4: the first and last of each form, and what lies just
 * outside. */
static const struct {
    const char *bytes;
    size_t len;
    bool valid;
} utf8[] = {
    {"", 0, true},
    {"a", 1, true},
    {"\x7f", 1, true},
    {"a\0b", 3, true},
    {"\x80", 1, false},
    {"\xbf", 1, false},
    {"\xc0\x80", 2, false}, /* overlong NUL */
    {"\xc1\xbf", 2, false},
    {"\xc2\x80", 2, true},
    {"\xc2", 1, false},
    {"\xc2\x7f", 2, false},
    {"\xc2\xc0", 2, false},
    {"\xdf\xbf", 2, true},
    {"\xe0\x80\x80", 3, false},
    {"\xe0\x9f\xbf", 3, false},
    {"\xe0\xa0\x80", 3, true},
    {"\xe2\x82", 2, false},
    {"\xe2\x28\xa1", 3, false},
    {"\xed\x9f\xbf", 3, true},
    {"\xed\xa0\x80", 3, false}, /* surrogates */
    {"\xed\xbf\xbf", 3, false},
    {"\xee\x80\x80", 3, true},
    {"\xef\xbf\xbf", 3, true},
    {"\xf0\x80\x80\x80", 4, false},
    {"\xf0\x8f\xbf\xbf", 4, false},
    {"\xf0\x90\x80\x80", 4, true},
    {"\xf0\x90\x80", 3, false},
    {"\xf4\x8f\xbf\xbf", 4, true},
    {"\xf4\x90\x80\x80", 4, false}, /* above U+10FFFF */
    {"\xf5\x80\x80\x80", 4, false},
    {"\xf8\x88\x80\x80\x80", 5, false},
    {"\xfe", 1, false},
    {"\xff", 1, false},
    {"5 " MICRO "m " EURO " " WRENCH, 14, true},
};

static void test_utf8(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof utf8 / sizeof utf8[0]; i++) {
        if (bw_utf8_valid(utf8[i].bytes, utf8[i].len) != utf8[i].valid) {
            fail_msg("row %zu", i);
        }
        if (!utf8[i].valid) {
            assert_false(bw_text_printable(utf8[i].bytes, utf8[i].len, true));
        }
    }
}

static size_t encode(uint32_t code, char out[5]) {
    size_t n = code < 0x80 ? 1 : code < 0x800 ? 2 : code < 0x10000 ? 3 : 4;
    static const unsigned lead[] = {0, 0, 0xC0, 0xE0, 0xF0};
    for (size_t i = n - 1; i > 0; i--) {
        out[i] = (char)(0x80 | (code & 0x3F));
        code >>= 6;
    }
    out[0] = (char)(lead[n] | code);
    out[n] = '\0';
    return n;
}

static void test_every_character(void **state) {
    (void)state;
    for (uint32_t code = 0; code <= 0x110000; code++) {
        char text[5];
        size_t n = encode(code, text);
        bool exists = code <= 0x10FFFF && (code < 0xD800 || code > 0xDFFF);
        if (bw_utf8_valid(text, n) != exists) {
            fail_msg("U+%04X", (unsigned)code);
        }
        assert_true(!exists || bw_utf8_whole(text, n) == n);
    }
}

/* Unicode's own names for what could show another text than the stored one. */
static const struct {
    uint32_t first, last;
    const char *name;
} deceiving[] = {
    {0x0000, 0x001F, "C0 controls"},
    {0x007F, 0x009F, "DEL and C1 controls"},
    {0x00AD, 0x00AD, "soft hyphen"},
    {0x061C, 0x061C, "Arabic letter mark"},
    {0x200B, 0x200D, "zero width space, non-joiner, joiner"},
    {0x200E, 0x200F, "left-to-right and right-to-left mark"},
    {0x2028, 0x2029, "line and paragraph separator"},
    {0x202A, 0x202E, "bidirectional embeddings and overrides"},
    {0x2060, 0x2060, "word joiner"},
    {0x2066, 0x2069, "bidirectional isolates"},
    {0xFEFF, 0xFEFF, "zero width no-break space"},
    {0xE0001, 0xE007F, "tags"},
};

static void test_deceiving_characters(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof deceiving / sizeof deceiving[0]; i++) {
        for (uint32_t code = deceiving[i].first; code <= deceiving[i].last; code++) {
            char text[16] = "a";
            size_t n = 1 + encode(code, text + 1);
            text[n] = 'b';
            if (bw_text_printable(text, n + 1, false)) {
                fail_msg("U+%04X of %s", (unsigned)code, deceiving[i].name);
            }
            assert_int_equal(bw_text_printable(text, n + 1, true), code == '\n');
        }
    }
}

static void test_plain_text_is_printable(void **state) {
    (void)state;
    static const char *const lines[] = {
        "",
        " ",
        "60 N\xc2\xb7m",
        "90\xc2\xb0",
        "0,063 " MICRO "m",
        "Kurbelwellenlager \xc3\xbc\xc3\xa4\xc3\x9f",
        "\xd0\xb1\xd0\xbe\xd0\xbb\xd1\x82",
        "\xe8\x9e\xba\xe6\xa0\x93",
        WRENCH,
        "\xc2\xa0",
    };
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        assert_true(bw_text_printable(lines[i], strlen(lines[i]), false));
    }
}

static void test_columns(void **state) {
    (void)state;
    assert_int_equal(bw_text_columns(""), 0);
    assert_int_equal(bw_text_columns("60 N.m"), 6);
    assert_int_equal(bw_text_columns("60 N\xc2\xb7m " EURO WRENCH), 9);
}

static void test_hex(void **state) {
    (void)state;
    uint8_t all[256];
    char hex[513];
    uint8_t back[256];
    for (size_t i = 0; i < 256; i++) {
        all[i] = (uint8_t)i;
    }
    bw_hex(all, 256, hex);
    assert_int_equal(strlen(hex), 512);
    assert_memory_equal(hex, "000102030405060708090a0b0c0d0e0f", 32);
    assert_memory_equal(hex + 510, "ff", 3);
    assert_true(bw_unhex(hex, back, 256));
    assert_memory_equal(back, all, 256);
    assert_true(bw_unhex("DeAdBeEf", back, 4));
    assert_memory_equal(back, "\xde\xad\xbe\xef", 4);
    assert_true(bw_unhex("", back, 0));
    static const char *const refused[] = {"de",       "deadbe",   "deadbee",  "deadbeeff",
                                          "deadbeeg", " eadbeef", "0xadbeef", "deadbe\xc3\xa9"};
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        assert_false(bw_unhex(refused[i], back, 4));
    }
    bw_hex(all, 0, hex);
    assert_string_equal(hex, "");
}

static void test_failures(void **state) {
    (void)state;
    bw_err err = {0};
    assert_int_equal(bw_fail(&err, BW_E_DATA, "line %d: %s", 3, "no unit"), BW_E_DATA);
    assert_int_equal(err.code, BW_E_DATA);
    assert_string_equal(err.text, "line 3: no unit");
    assert_int_equal(bw_fail_in(&err, BW_E_IO, "curlew4.lua"), BW_E_DATA);
    assert_int_equal(err.code, BW_E_DATA);
    assert_string_equal(err.text, "curlew4.lua: line 3: no unit");
    assert_int_equal(bw_fail(NULL, BW_E_BUSY, "unheard"), BW_E_BUSY);
    assert_int_equal(bw_fail_in(NULL, BW_E_BUSY, "unheard"), BW_E_BUSY);
}

static void test_long_failure_is_cut(void **state) {
    (void)state;
    char text[BW_ERR_TEXT_MAX * 3] = "";
    for (size_t i = 0; i + 3 < sizeof text; i += 3) {
        memcpy(text + i, EURO, 4);
    }
    bw_err err = {0};
    assert_int_equal(bw_fail(&err, BW_E_DATA, "a%s", text), BW_E_DATA);
    size_t len = strlen(err.text);
    assert_true(len < BW_ERR_TEXT_MAX && len + 3 >= BW_ERR_TEXT_MAX);
    assert_true(bw_utf8_valid(err.text, len));
    assert_int_equal(bw_fail_in(&err, BW_E_DATA, "file"), BW_E_DATA);
    assert_memory_equal(err.text, "file: a" EURO, 10);
    assert_true(bw_utf8_valid(err.text, strlen(err.text)));
}

static void test_every_status_has_its_name(void **state) {
    (void)state;
    for (int code = BW_E_BUG; code <= BW_OK; code++) {
        const char *name = bw_status_name((bw_status)code);
        assert_string_not_equal(name, "unknown status");
        for (int other = BW_E_BUG; other < code; other++) {
            assert_string_not_equal(name, bw_status_name((bw_status)other));
        }
    }
    assert_string_equal(bw_status_name((bw_status)77), "unknown status");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cut_at_a_whole_character),
        cmocka_unit_test(test_whole_characters),
        cmocka_unit_test(test_adds_single_bytes),
        cmocka_unit_test(test_adds_until_full),
        cmocka_unit_test(test_a_cut_is_the_end),
        cmocka_unit_test(test_copy_of_nothing),
        cmocka_unit_test(test_utf8),
        cmocka_unit_test(test_every_character),
        cmocka_unit_test(test_deceiving_characters),
        cmocka_unit_test(test_plain_text_is_printable),
        cmocka_unit_test(test_columns),
        cmocka_unit_test(test_hex),
        cmocka_unit_test(test_failures),
        cmocka_unit_test(test_long_failure_is_cut),
        cmocka_unit_test(test_every_status_has_its_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
