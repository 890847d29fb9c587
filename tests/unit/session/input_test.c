/* input_test.c - bytes to lines, wherever they are parted. */
#include "cmocka_all.h"

#include "session/input.h"

#include <stdlib.h>
#include <string.h>

static void put(bw_input *input, const char *bytes, size_t n) {
    bw_err err = {0};
    if (bw_input_bytes(input, bytes, n, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
}

static void takes(bw_input *input, const char *line) {
    const char *got = bw_input_peek(input);
    if (got == NULL || strcmp(got, line) != 0) {
        fail_msg("`%s` instead of `%s`", got != NULL ? got : "(none)", line);
    }
    assert_ptr_equal(bw_input_peek(input), got); /* looking takes nothing */
    bw_input_drop(input);
}

static const char script[] = "yes\r\n\nnote Zündung 5°\n  50.050 \r\r\nlast";
static const char *const lines[] = {"yes", "", "note Zündung 5°", "  50.050 ", "last"};

/* In two parts, parted at every byte, and byte by byte. */
static void test_parted_anywhere(void **state) {
    (void)state;
    size_t len = sizeof script - 1;
    for (size_t at = 0; at <= len + 1; at++) {
        bw_input *input = bw_input_new();
        assert_non_null(input);
        if (at <= len) {
            put(input, script, at);
            put(input, script + at, len - at);
        } else {
            for (size_t i = 0; i < len; i++) {
                put(input, script + i, 1);
            }
        }
        for (size_t i = 0; i < 4; i++) {
            takes(input, lines[i]);
        }
        assert_null(bw_input_peek(input)); /* not whole yet */
        assert_false(bw_input_ended(input));
        bw_input_end(input);
        assert_true(bw_input_ended(input));
        takes(input, lines[4]);
        assert_null(bw_input_peek(input));
        bw_input_drop(input); /* nothing to drop: no harm */
        assert_null(bw_input_peek(input));
        bw_input_free(input);
    }
}

/* Lines taken between the parts. */
static void test_taken_as_they_come(void **state) {
    (void)state;
    bw_input *input = bw_input_new();
    char line[32];
    for (size_t i = 0; i < 20000; i++) {
        size_t n = i % 7;
        memset(line, 'a' + (int)(i % 26), sizeof line);
        line[n] = '\n';
        put(input, line, n / 2);
        assert_true(n == 0 || bw_input_peek(input) == NULL);
        put(input, line + n / 2, n - n / 2 + 1);
        line[n] = '\0';
        takes(input, line);
    }
    assert_null(bw_input_peek(input));
    bw_input_free(input);
}

/* What waits behind a line that was taken stays when more comes. */
static void test_the_rest_waits(void **state) {
    (void)state;
    bw_input *input = bw_input_new();
    put(input, "one\ntwo\nthr", 11);
    takes(input, "one");
    put(input, "ee\nfour\nfi", 10);
    takes(input, "two");
    takes(input, "three");
    put(input, "ve\n", 3);
    takes(input, "four");
    takes(input, "five");
    assert_null(bw_input_peek(input));
    bw_input_free(input);
}

static void test_nothing(void **state) {
    (void)state;
    bw_input *input = bw_input_new();
    assert_null(bw_input_peek(input));
    bw_input_drop(input);
    put(input, "", 0); /* an empty line that a program pushes begins so */
    assert_null(bw_input_peek(input));
    put(input, "\n", 1);
    takes(input, "");
    bw_input_end(input);
    assert_null(bw_input_peek(input)); /* the end is no line */
    bw_input_free(input);
    bw_input_free(NULL);
}

/* A NUL does not hide what stands behind it: the line holds what no prompt accepts. */
static void test_nul(void **state) {
    (void)state;
    static const char *const wholes[] = {"yes\0\n", "\0\n", "y\0es\n", "yes\0\0\n"};
    static const size_t lengths[] = {5, 2, 5, 6};
    for (size_t i = 0; i < 4; i++) {
        bw_input *input = bw_input_new();
        put(input, wholes[i], lengths[i]);
        put(input, "next\n", 5);
        const char *line = bw_input_peek(input);
        assert_non_null(line);
        assert_non_null(strchr(line, '\x01'));
        bw_input_drop(input);
        takes(input, "next");
        bw_input_free(input);
    }
}

/* A line is cut at the most; what is behind it is the next line, not the rest of this one. */
static void test_over_long(void **state) {
    (void)state;
    static const size_t lengths[] = {BW_LINE_MAX - 1, BW_LINE_MAX, BW_LINE_MAX + 1,
                                     3 * BW_LINE_MAX + 5, 1000000};
    for (size_t i = 0; i < 5; i++) {
        size_t n = lengths[i];
        char *bytes = malloc(n + 1);
        assert_non_null(bytes);
        memset(bytes, 'x', n);
        bytes[n] = '\n';
        bw_input *input = bw_input_new();
        for (size_t at = 0; at < n + 1; at += 4096) {
            put(input, bytes + at, n + 1 - at < 4096 ? n + 1 - at : 4096);
        }
        put(input, "next\n", 5);
        const char *line = bw_input_peek(input);
        assert_non_null(line);
        assert_int_equal(strlen(line), n < BW_LINE_MAX ? n : BW_LINE_MAX);
        bw_input_drop(input);
        takes(input, "next");
        assert_null(bw_input_peek(input));
        bw_input_free(input);
        free(bytes);
    }
}

/* Carriage returns at the end of a line are dropped, others are the line's own. */
static void test_carriage_returns(void **state) {
    (void)state;
    bw_input *input = bw_input_new();
    put(input, "a\rb\r\n\r\n\r", 8);
    takes(input, "a\rb");
    takes(input, "");
    bw_input_end(input);
    takes(input, "");
    assert_null(bw_input_peek(input));
    bw_input_free(input);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_parted_anywhere),
        cmocka_unit_test(test_taken_as_they_come),
        cmocka_unit_test(test_the_rest_waits),
        cmocka_unit_test(test_nothing),
        cmocka_unit_test(test_nul),
        cmocka_unit_test(test_over_long),
        cmocka_unit_test(test_carriage_returns),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
