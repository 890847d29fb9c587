/* test_reader.c - the quick reader agrees with the thorough one on every kind, and on numbers of
 * every length in their one form and beside it. */
#include "cmocka_all.h"
#include "record_help.h"

#include "base/decimal.h"
#include "record/reader.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static uint64_t seed = 20261125;

static uint64_t draw(void) {
    seed = seed * 6364136223846793005u + 1442695040888963407u; /* Knuth's MMIX constants */
    return seed >> 11;
}

static uint64_t bits_of(double value) {
    uint64_t bits = 0;
    memcpy(&bits, &value, sizeof bits);
    return bits;
}

/* What the quick reader takes, the thorough one takes, with the same values. */
static bool agree(bw_reader *reader, const char *json, bw_arena *arena) {
    bw_entry *quick = NULL;
    bw_entry thorough;
    if (!bw_reader_quick(reader, json, strlen(json), &quick)) {
        return false;
    }
    bw_err err = {0};
    if (bw_entry_decode(json, strlen(json), arena, &thorough, &err) != BW_OK) {
        fail_msg("taken by the quick reader alone: %s\n%s", json, err.text);
    }
    assert_int_equal(quick->kind, thorough.kind);
    assert_int_equal(quick->time_ms, thorough.time_ms);
    assert_int_equal(quick->rehearsal, thorough.rehearsal);
    assert_string_equal(quick->build, thorough.build);
    assert_string_equal(quick->by, thorough.by);
    assert_string_equal(quick->bench, thorough.bench);
    assert_string_equal(quick->kind_name, thorough.kind_name);
    for (size_t m = 0; m < BW_M_COUNT; m++) {
        const bw_value *a = &quick->value[m];
        const bw_value *b = &thorough.value[m];
        assert_int_equal(a->type, b->type);
        if (a->type == BW_VALUE_TEXT || a->type == BW_VALUE_WORDS) {
            assert_string_equal(a->as.text, b->as.text);
        } else if (a->type == BW_VALUE_NUMBER) {
            assert_true(bits_of(a->as.number) == bits_of(b->as.number));
        } else if (a->type == BW_VALUE_WHOLE) {
            assert_int_equal(a->as.whole, b->as.whole);
        } else if (a->type == BW_VALUE_FLAG) {
            assert_int_equal(a->as.flag, b->as.flag);
        }
    }
    return true;
}

static void every_kind_is_read_quickly(void **state) {
    (void)state;
    bw_reader *reader = bw_reader_new();
    for (bw_kind kind = 0; kind < BW_KIND_COUNT; kind++) {
        for (int all = 0; all < 2; all++) {
            bw_arena *arena = bw_arena_new(0);
            bw_entry entry = full_entry(kind, "C4-0017", 12, all == 1);
            const char *json = NULL;
            size_t len = 0;
            entry.rehearsal = all == 1;
            assert_int_equal(bw_entry_encode(&entry, arena, &json, &len, NULL), BW_OK);
            assert_true(agree(reader, json, arena));
            bw_arena_free(arena);
        }
    }
    bw_reader_free(reader);
}

/* An entry of a kind with values that change from one to the next, as they do at the bench. */
static size_t write_like(bw_kind kind, bool all, char *json, size_t size) {
    char texts[4][24];
    bw_arena *arena = bw_arena_new(0);
    bw_entry entry = full_entry(kind, draw() % 4 == 0 ? "C4-0017" : "P2-3", (int64_t)(draw() % 999),
                                all);
    const char *text = NULL;
    size_t len = 0;
    entry.rehearsal = draw() % 8 == 0;
    entry.by = draw() % 2 == 0 ? "A. L\xC3\xBCtt" : "M. \"V\" Voss";
    for (size_t i = 0; i < 4; i++) {
        bw_member m = (bw_member)(draw() % BW_M_COUNT);
        bw_value *value = &entry.value[m];
        (void)snprintf(texts[i], sizeof texts[i], "w%.*s", (int)(draw() % 20),
                       "abcdefghijklmnopqrst");
        if (value->type == BW_VALUE_NUMBER) {
            value->as.number = (double)(draw() % 100000) / 64;
        } else if (value->type == BW_VALUE_WHOLE) {
            value->as.whole = (int64_t)(draw() % 1200);
        } else if (value->type == BW_VALUE_FLAG) {
            value->as.flag = !value->as.flag;
        } else if (value->type != BW_VALUE_NONE) {
            value->as.text = texts[i];
        }
    }
    if (bw_entry_encode(&entry, arena, &text, &len, NULL) == BW_OK && len < size) {
        memcpy(json, text, len + 1);
    }
    bw_arena_free(arena);
    return len;
}

/* What it has read before must not change what it reads: kinds in rounds, alike but for some
 * values, and now and then one that is damaged. */
static void entries_like_the_one_before(void **state) {
    (void)state;
    enum { ROUNDS = 40000, KINDS = 5 };
    static const bw_kind round[KINDS] = {BW_KIND_PULL_BEGUN, BW_KIND_PULL, BW_KIND_VERDICT,
                                         BW_KIND_READING, BW_KIND_NOTE};
    static char json[8192];
    bw_reader *reader = bw_reader_new();
    size_t taken = 0;
    size_t bent = 0;
    for (size_t i = 0; i < ROUNDS; i++) {
        bw_arena *arena = bw_arena_new(0);
        bw_kind kind = draw() % 16 == 0 ? (bw_kind)(draw() % BW_KIND_COUNT) : round[i % KINDS];
        size_t len = write_like(kind, draw() % 16 == 0, json, sizeof json);
        bool bend = draw() % 4 == 0;
        if (bend) {
            json[draw() % len] = (char)(32 + draw() % 95);
        }
        bool quick = agree(reader, json, arena);
        assert_true(quick || bend);
        taken += quick ? 1 : 0;
        bent += quick && bend ? 1 : 0;
        bw_arena_free(arena);
    }
    print_message("%zu of %d entries quickly, %zu of them with another byte\n", taken, ROUNDS,
                  bent);
    assert_true(taken > ROUNDS * 3 / 4 && bent > 100);
    bw_reader_free(reader);
}

static bool read_number(bw_reader *reader, const char *number, bw_arena *arena) {
    char json[300];
    (void)snprintf(json, sizeof json,
                   "{\"bench\":\"b\",\"build\":\"B\",\"by\":\"p\",\"by_s\":%s,\"kind\":"
                   "\"clock_step\",\"time\":\"2026-11-25T09:45:48.120Z\"}",
                   number);
    return agree(reader, json, arena);
}

/* Doubles as measurements are, their one text, and texts beside it. */
static void numbers_of_every_length(void **state) {
    (void)state;
    enum { ROUNDS = 60000 };
    bw_reader *reader = bw_reader_new();
    size_t quick = 0;
    size_t beside = 0;
    for (size_t i = 0; i < ROUNDS; i++) {
        char text[40];
        bw_arena *arena = bw_arena_new(0);
        static const double scales[] = {1e-3, 1e-1, 1, 10, 360, 1e4, 1e7};
        double value = (double)draw() / 9007199254740992.0 * scales[draw() % 7];
        value = draw() % 3 == 0 ? -value : value;
        (void)bw_number_text(value, text, sizeof text);
        quick += read_number(reader, text, arena) ? 1 : 0;
        size_t len = strlen(text);
        switch (draw() % 4) {
        case 0:
            text[len - 1] = (char)('0' + draw() % 10);
            break;
        case 1:
            text[len] = (char)('0' + draw() % 10);
            text[len + 1] = '\0';
            break;
        case 2:
            text[len - 1] = '\0';
            break;
        default:
            text[draw() % len] = (char)('0' + draw() % 10);
        }
        beside += read_number(reader, text, arena) ? 1 : 0;
        bw_arena_free(arena);
    }
    print_message("%zu of %d numbers quickly, %zu others\n", quick, ROUNDS, beside);
    assert_true(quick > ROUNDS * 3 / 4); /* the rest is below a thousandth */
    bw_reader_free(reader);
}

static void odd_numbers_are_left_to_the_thorough_one(void **state) {
    (void)state;
    static const char *const rows[] = {"-0",
                                       "00",
                                       "0.0",
                                       "1.0",
                                       "01",
                                       "1.50",
                                       "1e5",
                                       "1E5",
                                       "+1",
                                       ".5",
                                       "5.",
                                       "-",
                                       "",
                                       "0.00012",
                                       "1e-7",
                                       "1234567890123456",
                                       "0.10000000000000001",
                                       "0.3000000000000000",
                                       "nan",
                                       "1.23456789012345678"};
    bw_reader *reader = bw_reader_new();
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_arena *arena = bw_arena_new(0);
        if (read_number(reader, rows[i], arena)) {
            fail_msg("%s", rows[i]);
        }
        bw_arena_free(arena);
    }
    bw_reader_free(reader);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_kind_is_read_quickly),
        cmocka_unit_test(entries_like_the_one_before),
        cmocka_unit_test(numbers_of_every_length),
        cmocka_unit_test(odd_numbers_are_left_to_the_thorough_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
