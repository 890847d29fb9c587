/* reason_test.c - the tables of words. */
#include "cmocka_all.h"

#include "base/text.h"
#include "judge/judge.h"

#include <ctype.h>
#include <string.h>

/* docs and records rely on these words and their order. */
static const struct {
    bw_reason reason;
    const char *word;
} reasons[] = {
    {BW_REASON_BELOW_LIMIT, "below_limit"},
    {BW_REASON_ABOVE_LIMIT, "above_limit"},
    {BW_REASON_ANGLE_SHORT, "angle_short"},
    {BW_REASON_ANGLE_OVER, "angle_over"},
    {BW_REASON_NO_TURN, "no_turn"},
    {BW_REASON_SPIKE, "spike"},
    {BW_REASON_GAP, "gap"},
    {BW_REASON_NO_TRACE, "no_trace"},
    {BW_REASON_EARLY_RISE, "early_rise"},
    {BW_REASON_YIELDING, "yielding"},
    {BW_REASON_TORQUE_DROP, "torque_drop"},
    {BW_REASON_LOOSENED, "loosened"},
    {BW_REASON_STEEP, "steep"},
    {BW_REASON_SHALLOW, "shallow"},
    {BW_REASON_OUT_OF_RANGE, "out_of_range"},
    {BW_REASON_INSIDE_GUARD, "inside_guard"},
    {BW_REASON_STRETCH_SHORT, "stretch_short"},
    {BW_REASON_STRETCH_OVER, "stretch_over"},
};

enum { REASONS = sizeof reasons / sizeof reasons[0] };

static void test_reasons(void **state) {
    (void)state;
    size_t n = 0;
    for (; bw_reason_word(n) != NULL; n++) {
        const char *says = bw_reason_says(n);
        assert_true(n < REASONS);
        assert_int_equal(reasons[n].reason, 1u << n);
        assert_string_equal(bw_reason_word(n), reasons[n].word);
        assert_non_null(says);
        assert_true(strlen(says) > 20 && strlen(says) < 200);
        assert_true(isupper((unsigned char)says[0]) && says[strlen(says) - 1] == '.');
        assert_true(bw_text_printable(says, strlen(says), false));
        const char *look = bw_reason_look(n);
        assert_non_null(look);
        assert_true(strlen(look) > 15 && look[strlen(look) - 1] == '.');
        assert_true(bw_text_printable(look, strlen(look), false));
    }
    assert_int_equal(n, REASONS);
    assert_null(bw_reason_says(n));
    assert_null(bw_reason_look(n));
    assert_null(bw_reason_word(SIZE_MAX));
    assert_null(bw_reason_says(SIZE_MAX));
}

static void test_outcomes(void **state) {
    (void)state;
    static const char *const words[] = {"pass", "low", "high", "suspect"};
    for (int i = 0; i < BW_VERDICT_COUNT; i++) {
        assert_string_equal(bw_outcome_word((bw_outcome)i), words[i]);
    }
    assert_null(bw_outcome_word(BW_VERDICT_COUNT));
    assert_null(bw_outcome_word((bw_outcome)99));
}

/* Every set of reasons as its words, one space between them, in the order of the table. */
static void test_text_of_every_set(void **state) {
    (void)state;
    for (uint32_t set = 0; set < 1u << REASONS; set++) {
        char expected[300];
        char text[300];
        bw_text words = bw_text_on(expected, sizeof expected);
        for (size_t i = 0; i < REASONS; i++) {
            if ((set >> i & 1u) != 0) {
                bw_text_add(&words, "%s%s", words.len > 0 ? " " : "", reasons[i].word);
            }
        }
        assert_ptr_equal(bw_reasons_text(set, text, sizeof text), text);
        assert_string_equal(text, expected);
    }
}

static void test_text_that_does_not_fit(void **state) {
    (void)state;
    char text[13];
    (void)bw_reasons_text(BW_REASON_BELOW_LIMIT | BW_REASON_GAP, text, sizeof text);
    assert_true(strlen(text) < sizeof text);
    assert_true(strncmp(text, "below_limit", 11) == 0);
    char one[1] = "x";
    (void)bw_reasons_text(UINT32_MAX, one, sizeof one);
    assert_string_equal(one, "");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_reasons),
        cmocka_unit_test(test_outcomes),
        cmocka_unit_test(test_text_of_every_set),
        cmocka_unit_test(test_text_that_does_not_fit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
