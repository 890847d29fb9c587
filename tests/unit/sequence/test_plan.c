/* test_plan.c - finding things in a plan, and the nearest word. */
#include "kit.h"

#include "sequence/words.h"
#include "trade/calc.h"

#include <stdlib.h>
#include <string.h>

#include "cmocka_all.h"

static void test_step_words(void **state) {
    (void)state;
    static const char *const words[] = {"caution", "confirm", "measure", "tighten", "note",
                                        "ask",     "wait",    "choose",  "fit"};
    for (int kind = 0; kind < BW_STEP_KIND_COUNT; kind++) {
        assert_string_equal(bw_step_word((bw_step_kind)kind), words[kind]);
    }
    assert_null(bw_step_word(BW_STEP_KIND_COUNT));
}

static void test_finding(void **state) {
    (void)state;
    static const bw_place places[] = {{.label = "left"}, {.label = "3"}, {.label = "right"}};
    static const bw_group groups[] = {{.name = "a"}, {.name = "b", .place_n = 3, .place = places}};
    static const bw_step steps[] = {{.id = "one"}, {.id = "two"}};
    bw_plan plan = {.group_n = 2, .group = groups, .step_n = 2, .step = steps};
    size_t index = 99;
    assert_true(bw_plan_find_step(&plan, "two", &index) && index == 1);
    assert_false(bw_plan_find_step(&plan, "three", &index));
    assert_true(bw_plan_find_group(&plan, "a", &index) && index == 0);
    assert_false(bw_plan_find_group(&plan, "c", &index));
    assert_true(bw_group_find_place(&groups[1], "right", &index) && index == 2);
    assert_true(bw_group_find_place(&groups[1], "1", &index) && index == 0);
    /* A label goes before a number. */
    assert_true(bw_group_find_place(&groups[1], "3", &index) && index == 1);
    assert_true(bw_group_find_place(&groups[1], "2", &index) && index == 1);
    static const char *const none[] = {"0", "4", "", "-1", "01", "1.0", "99999999999999999999"};
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++) {
        assert_false(bw_group_find_place(&groups[1], none[i], &index));
    }
}

static void test_other_unit(void **state) {
    (void)state;
    assert_int_equal(bw_other_torque_unit(BW_UNIT_NM), BW_UNIT_LBF_FT);
    assert_int_equal(bw_other_torque_unit(BW_UNIT_LBF_FT), BW_UNIT_NM);
    assert_int_equal(bw_other_torque_unit(BW_UNIT_KGF_M), BW_UNIT_NM);
}

static void test_nearest(void **state) {
    (void)state;
    static const struct {
        const char *wanted, *best;
    } rows[] = {{"tightn", "tighten"},
                {"tihgten", "tighten"},
                {"lubricnt", NULL},
                {"nm", "Nm"},
                {"gruop", "group"},
                {"os", NULL},
                {"measures", "measure"},
                {"lbf_fft", "lbf_ft"},
                {"", NULL},
                {"xyzzy", NULL}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_nearest nearest = bw_nearest_to(rows[i].wanted);
        bw_nearest_offer_words(&nearest);
        if (rows[i].best == NULL) {
            assert_null(nearest.best);
        } else {
            assert_non_null(nearest.best);
            assert_memory_equal(nearest.best, rows[i].best, strlen(rows[i].best));
            assert_int_equal(nearest.best_len, strlen(rows[i].best));
        }
    }
    bw_nearest fields = bw_nearest_to("lubricnt");
    bw_nearest_offer_names(&fields, bw_word_find("group")->fields);
    assert_memory_equal(fields.best, "lubricant", 9);
}

/* Every name that a sequence can write stands for one thing. */
static void test_no_name_twice(void **state) {
    (void)state;
    enum { NAMES_MAX = 512 };
    const char *names[NAMES_MAX];
    size_t n = 0;
    for (size_t i = 0; bw_word_at(i) != NULL; i++) {
        names[n++] = bw_word_at(i)->word;
    }
    for (bw_unit unit = BW_UNIT_NM; unit < BW_UNIT_COUNT; unit++) {
        names[n++] = bw_unit_of(unit)->word;
    }
    for (size_t i = 0; bw_calc_at(i) != NULL; i++) {
        names[n++] = bw_calc_at(i)->name;
    }
    for (size_t i = 0; bw_lua_name_at(i) != NULL; i++) {
        names[n++] = bw_lua_name_at(i);
    }
    assert_true(n < NAMES_MAX);
    for (size_t i = 0; i < n; i++) {
        for (size_t j = 0; j < i; j++) {
            if (strcmp(names[i], names[j]) == 0) {
                fail_msg("\"%s\" has two meanings", names[i]);
            }
        }
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_step_words),    cmocka_unit_test(test_finding),
    cmocka_unit_test(test_other_unit),    cmocka_unit_test(test_nearest),
    cmocka_unit_test(test_no_name_twice),
};

KIT_MAIN(tests)
