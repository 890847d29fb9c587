/* qr_test.c - QR codes have the shape that ISO/IEC 18004 asks for, and hold different texts
 * differently.  What they say is libqrencode's business. */
#include "cmocka_all.h"

#include "face/qr.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char key_line[] =
    "boltwright/bench-5cee123a+c6cecf01+AQUHNdjwET71LC2D23I4iQmeyc8GZoxpGHrua4AKmBBO";

static bool dark(const bw_qr *qr, size_t row, size_t column) {
    return qr->dark[row * qr->side + column] == 1;
}

/* The 7 by 7 pattern that a reader looks for: dark ring, light ring, dark middle. */
static void expect_finder(const bw_qr *qr, size_t row, size_t column) {
    for (size_t r = 0; r < 7; r++) {
        for (size_t c = 0; c < 7; c++) {
            bool ring = r == 0 || r == 6 || c == 0 || c == 6;
            bool middle = r >= 2 && r <= 4 && c >= 2 && c <= 4;
            assert_int_equal(dark(qr, row + r, column + c), ring || middle);
        }
    }
}

static void test_shape(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(0);
    bw_qr qr;
    assert_int_equal(bw_qr_make(key_line, arena, &qr, NULL), BW_OK);
    assert_int_equal((qr.side - 17) % 4, 0); /* 17 + 4 versions */
    expect_finder(&qr, 0, 0);
    expect_finder(&qr, 0, qr.side - 7);
    expect_finder(&qr, qr.side - 7, 0);
    for (size_t i = 8; i < qr.side - 8; i++) { /* timing patterns */
        assert_int_equal(dark(&qr, 6, i), i % 2 == 0);
        assert_int_equal(dark(&qr, i, 6), i % 2 == 0);
    }
    assert_true(dark(&qr, qr.side - 8, 8)); /* the dark module */
    bw_arena_free(arena);
}

static void test_other_text_other_code(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(0);
    char other[sizeof key_line];
    bw_qr a;
    bw_qr b;
    memcpy(other, key_line, sizeof other);
    other[sizeof other - 2] = 'P';
    assert_int_equal(bw_qr_make(key_line, arena, &a, NULL), BW_OK);
    assert_int_equal(bw_qr_make(other, arena, &b, NULL), BW_OK);
    assert_int_equal(a.side, b.side);
    assert_memory_not_equal(a.dark, b.dark, a.side * a.side);
    bw_arena_free(arena);
}

static void test_long_texts(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(0);
    bw_err err = {0};
    bw_qr qr;
    char text[3001] = {0};
    memset(text, 'a', 2900);
    assert_int_equal(bw_qr_make(text, arena, &qr, NULL), BW_OK);
    assert_int_equal(qr.side, 177);
    memset(text, 'a', 3000);
    assert_int_equal(bw_qr_make(text, arena, &qr, &err), BW_E_LIMIT);
    assert_non_null(strstr(err.text, "too long"));
    bw_arena_free(arena);
}

static void test_print(void **state) {
    (void)state;
    static char text[65536];
    bw_arena *arena = bw_arena_new(0);
    bw_qr qr;
    FILE *out = fmemopen(text, sizeof text, "w");
    assert_non_null(out);
    assert_int_equal(bw_qr_make(key_line, arena, &qr, NULL), BW_OK);
    assert_int_equal(bw_qr_print(key_line, out, NULL), BW_OK);
    assert_int_equal(fclose(out), 0);
    size_t lines = 0;
    for (const char *at = text; (at = strchr(at, '\n')) != NULL; at++) {
        lines++;
    }
    assert_int_equal(lines, (qr.side + 8 + 1) / 2);
    /* The first line is quiet: full blocks alone. */
    for (size_t i = 0; i < qr.side + 8; i++) {
        assert_memory_equal(text + 3 * i, "\xE2\x96\x88", 3);
    }
    bw_arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_shape),
        cmocka_unit_test(test_other_text_other_code),
        cmocka_unit_test(test_long_texts),
        cmocka_unit_test(test_print),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
