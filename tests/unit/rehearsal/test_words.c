/* test_words.c - the generator, the list of faults, and the simulated readings. */
#include "cmocka_all.h"

#include "base/decimal.h"
#include "rehearsal/answer.h"
#include "rehearsal/chance.h"
#include "rehearsal/fault.h"

#include <math.h>
#include <string.h>

/* First outputs for the seed 1234567 as widely printed for this generator (from memory, not seen in
 * the paper, which prints none). */
static void test_generator_as_published(void **state) {
    (void)state;
    static const uint64_t first[] = {UINT64_C(6457827717110365317), UINT64_C(3203168211198807973),
                                     UINT64_C(9817491932198370423), UINT64_C(4593380528125082431),
                                     UINT64_C(16408922859458223821)};
    bw_chance chance = {1234567};
    for (size_t i = 0; i < sizeof first / sizeof first[0]; i++) {
        assert_true(bw_chance_next(&chance) == first[i]);
    }
}

static void test_generator_is_even_and_normal(void **state) {
    (void)state;
    enum { N = 100000 };
    bw_chance chance = {42};
    double sum = 0;
    double squares = 0;
    int least = 0;
    for (int i = 0; i < N; i++) {
        double even = bw_chance_between(&chance, 3, 5);
        assert_true(even >= 3 && even < 5);
        least += even < 3.5 ? 1 : 0;
        double normal = bw_chance_normal(&chance);
        sum += normal;
        squares += normal * normal;
    }
    /* Five standard errors. */
    assert_true(fabs(least - N / 4.0) < 5 * sqrt(N * 0.25 * 0.75));
    assert_true(fabs(sum / N) < 5 / sqrt(N));
    assert_true(fabs(squares / N - 1) < 5 * sqrt(2.0 / N));
}

static void test_keys_differ(void **state) {
    (void)state;
    uint64_t a = bw_chance_key_text(1, "main");
    assert_true(a == bw_chance_key_text(1, "main"));
    assert_true(a != bw_chance_key_text(2, "main"));
    assert_true(a != bw_chance_key_text(1, "rod"));
    assert_true(bw_chance_key_number(a, 1) != bw_chance_key_number(a, 2));
    assert_true(bw_chance_key_number(bw_chance_key_number(a, 1), 2) !=
                bw_chance_key_number(bw_chance_key_number(a, 2), 1));
    assert_true(bw_chance_key_text(1, NULL) == bw_chance_key_text(1, ""));
}

static void test_faults_are_read(void **state) {
    (void)state;
    bw_fault_list list;
    bw_err err;
    assert_int_equal(bw_fault_parse("over:main:3,short:rod:2 left@2,dry:head:7", &list, &err),
                     BW_OK);
    assert_int_equal(list.n, 3);
    assert_int_equal(list.fault[0].kind, BW_FAULT_OVER);
    assert_string_equal(list.fault[0].group, "main");
    assert_string_equal(list.fault[0].place, "3");
    assert_int_equal(list.fault[0].stage, 1);
    assert_int_equal(list.fault[1].kind, BW_FAULT_SHORT);
    assert_string_equal(list.fault[1].place, "2 left");
    assert_int_equal(list.fault[1].stage, 2);
    assert_int_equal(list.fault[2].kind, BW_FAULT_DRY);
    assert_int_equal(bw_fault_parse("", &list, &err), BW_OK);
    assert_int_equal(list.n, 0);
}

static void test_faults_are_refused(void **state) {
    (void)state;
    static const struct {
        const char *text, *says;
    } rows[] = {
        {"brittle:main:3",
         "there is no fault \"brittle\": known are short, over, rehit, missed, wrong, spike, "
         "overcrept, dry, crossed, bottomed, gasket, yielding, stripped, seized, relaxed, "
         "weak_lock, unplug, battery, noise, lost and peak"},
        {"over", "such as over:main:3; not \"over\""},
        {"over:main", "such as over:main:3; not \"over:main\""},
        {"over::3", "such as over:main:3; not \"over::3\""},
        {"over:main:", "such as over:main:3; not \"over:main:\""},
        {"over:main:3@", "not \"over:main:3@\""},
        {"over:main:3@0", "not \"over:main:3@0\""},
        {"over:main:3@1.5", "not \"over:main:3@1.5\""},
        {"over:main:3,", "there is no fault \"\""},
        {",", "there is no fault \"\""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_fault_list list = {.n = 77};
        bw_err err;
        assert_int_equal(bw_fault_parse(rows[i].text, &list, &err), BW_E_DATA);
        assert_int_equal(list.n, 77);
        if (strstr(err.text, rows[i].says) == NULL) {
            fail_msg("\"%s\" gives \"%s\"", rows[i].text, err.text);
        }
    }
    char many[BW_FAULTS_MAX * 16 + 32] = "over:m:1";
    for (int i = 1; i <= BW_FAULTS_MAX; i++) {
        memcpy(many + strlen(many), ",over:m:1", sizeof ",over:m:1");
    }
    bw_fault_list list = {.n = 77};
    bw_err err;
    assert_int_equal(bw_fault_parse(many, &list, &err), BW_E_DATA);
    assert_non_null(strstr(err.text, "at most"));
}

static void test_every_fault_has_words(void **state) {
    (void)state;
    assert_null(bw_fault_word(BW_FAULT_NONE));
    assert_null(bw_fault_says(BW_FAULT_KIND_COUNT));
    for (int kind = BW_FAULT_NONE + 1; kind < BW_FAULT_KIND_COUNT; kind++) {
        assert_non_null(bw_fault_word((bw_fault_kind)kind));
        assert_non_null(bw_fault_says((bw_fault_kind)kind));
    }
}

static void test_fault_happens_once(void **state) {
    (void)state;
    bw_fault_list list;
    assert_int_equal(bw_fault_parse("over:main:3@2,dry:main:4", &list, NULL), BW_OK);
    list.fault[0].fastener = 2;
    list.fault[1].fastener = 3;
    assert_int_equal(bw_fault_of_pull(&list, "main", 2, 2, 1, 0), BW_FAULT_OVER);
    assert_int_equal(bw_fault_of_pull(&list, "main", 2, 1, 1, 0), BW_FAULT_NONE);
    assert_int_equal(bw_fault_of_pull(&list, "main", 2, 2, 2, 0), BW_FAULT_NONE);
    assert_int_equal(bw_fault_of_pull(&list, "main", 2, 2, 1, 1), BW_FAULT_NONE);
    assert_int_equal(bw_fault_of_pull(&list, "rod", 2, 2, 1, 0), BW_FAULT_NONE);
    assert_int_equal(bw_fault_of_pull(&list, "main", 1, 2, 1, 0), BW_FAULT_NONE);
    assert_int_equal(bw_fault_of_pull(&list, "main", 3, 1, 1, 0), BW_FAULT_NONE);
}

/* What is wrong with the fastener is no matter of one pull, and the other faults happen once. */
static void test_faults_that_happened(void **state) {
    (void)state;
    bw_fault_list list;
    assert_int_equal(
        bw_fault_parse("missed:main:3,noise:main:3,lost:main:3@2,seized:main:3", &list, NULL),
        BW_OK);
    for (size_t i = 0; i < list.n; i++) {
        list.fault[i].fastener = 2;
    }
    assert_int_equal(bw_fault_of_pull(&list, "main", 2, 1, 1, 0), BW_FAULT_MISSED);
    bw_fault_happened(&list, "main", 1, 1);
    bw_fault_happened(&list, "rod", 2, 1);
    assert_int_equal(bw_fault_of_pull(&list, "main", 2, 1, 1, 0), BW_FAULT_MISSED);
    bw_fault_happened(&list, "main", 2, 1);
    assert_int_equal(bw_fault_of_pull(&list, "main", 2, 1, 1, 0), BW_FAULT_NONE);
    assert_int_equal(bw_fault_of_pull(&list, "main", 2, 2, 1, 0), BW_FAULT_LOST);
    assert_false(list.fault[3].happened);
    assert_true(bw_fault_mistakes(BW_FAULT_MISSED) && bw_fault_mistakes(BW_FAULT_WRONG));
    assert_false(bw_fault_mistakes(BW_FAULT_REHIT));
    assert_int_equal(bw_fault_is_at(BW_FAULT_SEIZED), BW_FAULT_AT_FASTENER);
    assert_int_equal(bw_fault_is_at(BW_FAULT_LOST), BW_FAULT_AT_WRENCH);
    assert_int_equal(bw_fault_is_at(BW_FAULT_MISSED), BW_FAULT_AT_HAND);
}

static double reading(uint64_t seed, const bw_answer_set *set, const char *at) {
    char text[40];
    bw_decimal number;
    (void)bw_answer_reading(seed, set, at, text, sizeof text);
    assert_int_equal(bw_decimal_parse(text, strlen(text), &number, NULL), BW_OK);
    assert_int_equal(number.decimals, set->decimals);
    return bw_to_base(number.value, set->unit);
}

static void test_readings_lie_near_the_middle(void **state) {
    (void)state;
    static const bw_answer_set sets[] = {
        {"bores", "bore", BW_UNIT_MM, 3, 85.9, 86.3},
        {"bores", "bore_in", BW_UNIT_IN, 4, 85.9, 86.3},
        {"rods", "play", BW_UNIT_UM, 0, 0.1, 0.5},
        {"room", "cold", BW_UNIT_DEGC, 1, -30, 10},
    };
    static const char *const at[] = {"top", "middle", "bottom"};
    for (size_t s = 0; s < sizeof sets / sizeof sets[0]; s++) {
        double width = sets[s].most - sets[s].least;
        double middle = (sets[s].most + sets[s].least) / 2;
        double rounding = fabs(bw_to_base(0.5 * pow(10, -sets[s].decimals), sets[s].unit));
        for (uint64_t seed = 0; seed < 200; seed++) {
            double first = reading(seed, &sets[s], at[0]);
            for (size_t i = 0; i < 3; i++) {
                double value = reading(seed, &sets[s], at[i]);
                assert_true(fabs(value - middle) <= 0.05 * width + rounding * 1.001);
                assert_true(fabs(value - first) <= 0.02 * width + 2 * rounding * 1.001);
                assert_true(value == reading(seed, &sets[s], at[i]));
            }
        }
        assert_true(reading(1, &sets[s], at[0]) != reading(2, &sets[s], at[0]) ||
                    reading(1, &sets[s], at[0]) != reading(3, &sets[s], at[0]));
    }
}

/* Within a micrometer's error of the truth, in either unit, and the same again. */
static void test_lengths(void **state) {
    (void)state;
    for (uint64_t key = 0; key < 200; key++) {
        char mm[64];
        char in[64];
        char again[64];
        bw_decimal number;
        const char *shown = bw_answer_length(key, 60.1234, BW_UNIT_MM, mm, sizeof mm);
        assert_int_equal(bw_decimal_parse(shown, strlen(shown), &number, NULL), BW_OK);
        assert_true(number.decimals == 3 && fabs(number.value - 60.1234) < 0.0016);
        assert_string_equal(bw_answer_length(key, 60.1234, BW_UNIT_MM, again, sizeof again), mm);
        shown = bw_answer_length(key, 60.1234, BW_UNIT_IN, in, sizeof in);
        assert_int_equal(bw_decimal_parse(shown, strlen(shown), &number, NULL), BW_OK);
        assert_true(number.decimals == 4 && fabs(number.value * 25.4 - 60.1234) < 0.0024);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_generator_as_published),
        cmocka_unit_test(test_generator_is_even_and_normal),
        cmocka_unit_test(test_keys_differ),
        cmocka_unit_test(test_faults_are_read),
        cmocka_unit_test(test_faults_are_refused),
        cmocka_unit_test(test_every_fault_has_words),
        cmocka_unit_test(test_fault_happens_once),
        cmocka_unit_test(test_faults_that_happened),
        cmocka_unit_test(test_readings_lie_near_the_middle),
        cmocka_unit_test(test_lengths),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
