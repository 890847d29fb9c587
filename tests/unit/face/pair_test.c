/* pair_test.c - who is paired with the bench display, with the time as it is given. */
#include "cmocka_all.h"

#include "face/display/pair.h"

#include <string.h>

enum { ANSWERS = 1, WATCHES = 2, S = 1000 };

static const uint8_t drawn[BW_PAIR_TOKEN_BYTES] = {0xab, 0xcd, 0xef, 1};
static const uint8_t drawn_next[BW_PAIR_TOKEN_BYTES] = {0xab, 0xcd, 0xef, 2};

static bw_pair asked(unsigned kind, int64_t now_ms, uint64_t random) {
    bw_pair pair = {0};
    bool show = false;
    assert_int_equal(bw_pair_ask(&pair, kind, now_ms, random, &show), BW_PAIR_OK);
    assert_true(show);
    return pair;
}

static bw_pair_result enter(bw_pair *pair, const char *code, int64_t now_ms) {
    char token[BW_PAIR_TOKEN_MAX] = "";
    bw_pair_result result = bw_pair_enter(pair, code, NULL, now_ms, drawn, token);
    assert_true((result == BW_PAIR_OK) == (strlen(token) == BW_PAIR_TOKEN_MAX - 1));
    return result;
}

static void test_good(void **state) {
    (void)state;
    bw_pair pair = asked(ANSWERS, 0, 7000042);
    char token[BW_PAIR_TOKEN_MAX];
    assert_string_equal(pair.code, "000042");
    assert_int_equal(bw_pair_enter(&pair, "000042", NULL, 119999, drawn, token), BW_PAIR_OK);
    assert_string_equal(token, "abcdef01000000000000000000000000");
    assert_int_equal(bw_pair_kind(&pair, token), ANSWERS);
    assert_string_equal(pair.code, "");
    assert_int_equal(enter(&pair, "000042", 119999), BW_PAIR_OVER);
    assert_int_equal(bw_pair_kind(&pair, NULL), 0);
    assert_int_equal(bw_pair_kind(&pair, ""), 0);
    token[31] = '1';
    assert_int_equal(bw_pair_kind(&pair, token), 0);
}

static void test_expiry(void **state) {
    (void)state;
    bw_pair pair = {0};
    assert_int_equal(enter(&pair, "000000", 0), BW_PAIR_OVER);
    pair = asked(ANSWERS, 5 * S, 123456);
    assert_int_equal(enter(&pair, "123456", 125 * S), BW_PAIR_OVER);
    assert_int_equal(enter(&pair, "123456", 5 * S), BW_PAIR_OK);
    bool show = false;
    pair = asked(WATCHES, 0, 1);
    assert_int_equal(bw_pair_ask(&pair, ANSWERS, 119999, 2, &show), BW_PAIR_OTHER);
    assert_int_equal(bw_pair_ask(&pair, ANSWERS, 120 * S, 2, &show), BW_PAIR_OK);
    assert_string_equal(pair.code, "000002");
    assert_true(show);
}

/* Asking often neither changes the code nor fills the bench's terminal. */
static void test_asking_often(void **state) {
    (void)state;
    bw_pair pair = asked(ANSWERS, 0, 5);
    int shown = 0;
    for (int64_t now_ms = 1; now_ms < 120 * S; now_ms += 100) {
        bool show = false;
        assert_int_equal(bw_pair_ask(&pair, ANSWERS, now_ms, 6, &show), BW_PAIR_OK);
        assert_string_equal(pair.code, "000005");
        shown += show ? 1 : 0;
    }
    assert_int_equal(shown, 5);
}

static void test_malformed(void **state) {
    (void)state;
    static const char *const odd[] = {"",       "12345",  "1234567", "12 456",
                                      "12345x", "-12345", "+12345",  "1234.6"};
    bw_pair pair = asked(ANSWERS, 0, 123456);
    for (size_t i = 0; i < sizeof odd / sizeof odd[0]; i++) {
        assert_int_equal(enter(&pair, odd[i], 1), BW_PAIR_MALFORMED);
    }
    assert_int_equal(pair.wrong, 0);
    assert_int_equal(enter(&pair, "123456", 1), BW_PAIR_OK);
}

static void test_tries(void **state) {
    (void)state;
    bool show = false;
    bw_pair pair = asked(ANSWERS, 0, 123456);
    assert_int_equal(enter(&pair, "123457", 1), BW_PAIR_WRONG);
    assert_int_equal(enter(&pair, "023456", 2), BW_PAIR_WRONG);
    assert_int_equal(enter(&pair, "000000", 3), BW_PAIR_SHUT);
    assert_int_equal(enter(&pair, "123456", 4), BW_PAIR_SHUT);
    assert_int_equal(bw_pair_ask(&pair, ANSWERS, 30 * S, 1, &show), BW_PAIR_SHUT);
    assert_false(show);
    assert_int_equal(enter(&pair, "123456", 30 * S + 3), BW_PAIR_OVER);
    assert_int_equal(bw_pair_ask(&pair, ANSWERS, 30 * S + 3, 1, &show), BW_PAIR_OK);
    assert_true(show);
    assert_int_equal(enter(&pair, "000001", 30 * S + 4), BW_PAIR_OK);
    assert_int_equal(pair.wrong, 0);
}

/* Who has codes shown and guesses for a whole day, as often as it goes. */
static void test_a_day_of_guessing(void **state) {
    (void)state;
    bw_pair pair = {0};
    int tries = 0;
    for (int64_t now_ms = 0; now_ms < (int64_t)86400 * S; now_ms += S) {
        bool show = false;
        if (bw_pair_ask(&pair, ANSWERS, now_ms, 999999, &show) == BW_PAIR_OK) {
            bw_pair_result result = enter(&pair, "000000", now_ms);
            assert_true(result == BW_PAIR_WRONG || result == BW_PAIR_SHUT);
            tries++;
        }
    }
    assert_in_range(tries, 20, 40);
    assert_int_equal(pair.screen_n, 0);
}

/* Codes that are let run out give no further tries. */
static void test_patience_pays_nothing(void **state) {
    (void)state;
    bw_pair pair = asked(ANSWERS, 0, 1);
    bool show = false;
    assert_int_equal(enter(&pair, "000000", 1), BW_PAIR_WRONG);
    assert_int_equal(bw_pair_ask(&pair, ANSWERS, 200 * S, 1, &show), BW_PAIR_OK);
    assert_int_equal(enter(&pair, "000000", 200 * S), BW_PAIR_WRONG);
    assert_int_equal(bw_pair_ask(&pair, ANSWERS, 400 * S, 1, &show), BW_PAIR_OK);
    assert_int_equal(enter(&pair, "000000", 400 * S), BW_PAIR_SHUT);
    assert_int_equal(bw_pair_ask(&pair, ANSWERS, 430 * S, 1, &show), BW_PAIR_OK);
    assert_int_equal(enter(&pair, "000000", 430 * S), BW_PAIR_SHUT);
    assert_int_equal(bw_pair_ask(&pair, ANSWERS, 489 * S, 1, &show), BW_PAIR_SHUT);
    assert_int_equal(bw_pair_ask(&pair, ANSWERS, 490 * S, 1, &show), BW_PAIR_OK);
}

static void test_screens(void **state) {
    (void)state;
    bw_pair pair = {0};
    char token[BW_PAIR_SCREENS_MAX + 1][BW_PAIR_TOKEN_MAX];
    bool show = false;
    for (uint8_t i = 0; i < BW_PAIR_SCREENS_MAX; i++) {
        uint8_t random[BW_PAIR_TOKEN_BYTES] = {i};
        unsigned kind = i % 2 == 0 ? ANSWERS : WATCHES;
        assert_int_equal(bw_pair_ask(&pair, kind, i, i, &show), BW_PAIR_OK);
        assert_int_equal(bw_pair_enter(&pair, pair.code, NULL, i, random, token[i]), BW_PAIR_OK);
    }
    for (size_t i = 0; i < BW_PAIR_SCREENS_MAX; i++) {
        assert_int_equal(bw_pair_kind(&pair, token[i]), i % 2 == 0 ? ANSWERS : WATCHES);
    }
    assert_int_equal(bw_pair_ask(&pair, ANSWERS, 100, 17, &show), BW_PAIR_OK);
    assert_int_equal(bw_pair_enter(&pair, "000017", NULL, 100, drawn, token[16]), BW_PAIR_FULL);
    /* One of them anew: it is the same screen, and what it had before is good for nothing. */
    assert_int_equal(bw_pair_enter(&pair, "000017", token[3], 100, drawn_next, token[16]),
                     BW_PAIR_OK);
    assert_int_equal(bw_pair_kind(&pair, token[16]), ANSWERS);
    assert_int_equal(bw_pair_kind(&pair, token[3]), 0);
    assert_int_equal(pair.screen_n, BW_PAIR_SCREENS_MAX);
}

static void test_cookie(void **state) {
    (void)state;
    static const char name[] = "__Host-bench-8443";
#define GOOD "0123456789abcdef0123456789abcdef"
    static const struct {
        const char *header;
        bool good;
    } rows[] = {
        {"__Host-bench-8443=" GOOD, true},
        {"a=b; __Host-bench-8443=" GOOD "; c=d", true},
        {"a=b;__Host-bench-8443=" GOOD ";", true},
        {NULL, false},
        {"", false},
        {";;; ;", false},
        {"__Host-bench-8443", false},
        {"__Host-bench-8443=", false},
        {"__Host-bench-844=" GOOD, false},
        {"__Host-bench-84433=" GOOD, false},
        {"x__Host-bench-8443=" GOOD, false},
        {"a=__Host-bench-8443=" GOOD, false},
        {"__Host-bench-8443=" GOOD "0", false},
        {"__Host-bench-8443=0123456789ABCDEF0123456789ABCDEF", false},
        {"__Host-bench-8443=\"123456789abcdef0123456789abcde\"", false},
        {"__Host-bench-8443=" GOOD "; __Host-bench-8443=" GOOD, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char token[BW_PAIR_TOKEN_MAX] = "";
        assert_int_equal(bw_pair_cookie(rows[i].header, name, token), rows[i].good);
        if (rows[i].good) {
            assert_string_equal(token, GOOD);
        }
    }
}

static void test_same_secret(void **state) {
    (void)state;
    assert_true(bw_same_secret("abc", "abc"));
    assert_false(bw_same_secret("abd", "abc"));
    assert_false(bw_same_secret("bbc", "abc"));
    assert_false(bw_same_secret("ab", "abc"));
    assert_false(bw_same_secret("abcd", "abc"));
    assert_false(bw_same_secret("", "abc"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_good),
        cmocka_unit_test(test_expiry),
        cmocka_unit_test(test_asking_often),
        cmocka_unit_test(test_malformed),
        cmocka_unit_test(test_tries),
        cmocka_unit_test(test_a_day_of_guessing),
        cmocka_unit_test(test_patience_pays_nothing),
        cmocka_unit_test(test_screens),
        cmocka_unit_test(test_cookie),
        cmocka_unit_test(test_same_secret),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
