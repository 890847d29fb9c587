/* test_calc.c - expressions as `calc` answers them, as JSON.
 *
 * Factors: 1 lbf.ft = 1.3558179483314004 N.m, 1 in = 25.4 mm, exact (see trade/units.c). */
#include "kit.h"

#include "base/text.h"
#include "trade/calc.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#include "cmocka_all.h"

static void assert_json(const char *expression, const char *want) {
    bw_arena *arena = bw_arena_new(0);
    const char *json = NULL;
    bw_err err = {.code = BW_OK, .text = ""};
    if (bw_sequence_calc(expression, arena, &json, &err) != BW_OK) {
        fail_msg("%s: %s", expression, err.text);
    }
    assert_string_equal(json, want);
    bw_arena_free(arena);
}

static void assert_wrong(const char *expression, const char *part) {
    bw_arena *arena = bw_arena_new(0);
    const char *json = NULL;
    bw_err err = {.code = BW_OK, .text = ""};
    bw_status rc = bw_sequence_calc(expression, arena, &json, &err);
    if (rc != BW_E_DATA || strstr(err.text, part) == NULL) {
        fail_msg("%s: %s, %s", expression, bw_status_name(rc), err.text);
    }
    assert_null(json);
    bw_arena_free(arena);
}

static void test_values(void **state) {
    (void)state;
    static const char *const rows[][2] = {
        {"Nm(60)", "{\"value\":60,\"unit\":\"N.m\",\"text\":\"60 N·m\"}"},
        {"Nm(60.5)", "{\"value\":60.5,\"unit\":\"N.m\",\"text\":\"60.5 N·m\"}"},
        {"1 + 1", "{\"value\":2,\"unit\":\"1\",\"text\":\"2\"}"},
        {"60.1", "{\"value\":60.1,\"unit\":\"1\",\"text\":\"60.1\"}"},
        {"'a' .. 'ö'", "{\"value\":\"aö\",\"text\":\"aö\"}"},
        {"'\"\\n'", "{\"value\":\"\\\"\\n\",\"text\":\"\\\"\\n\"}"},
        {"true", "{\"value\":true,\"text\":\"true\"}"},
        {"Nm(60) == Nm(60.0)", "{\"value\":true,\"text\":\"true\"}"},
        {"Nm(60) == mm(60)", "{\"value\":false,\"text\":\"false\"}"},
        {"Nm(1) < lbf_ft(1)", "{\"value\":true,\"text\":\"true\"}"},
        {"to(to(Nm(60), 'lbf.ft'), 'N.m') == Nm(60)", "{\"value\":true,\"text\":\"true\"}"},
        {"to(inch(1), 'mm')", "{\"value\":25.4,\"unit\":\"mm\",\"text\":\"25 mm\"}"},
        {"mm(25.4) + inch(1)", "{\"value\":50.8,\"unit\":\"mm\",\"text\":\"50.8 mm\"}"},
        {"mm(3) - mm(1)", "{\"value\":2,\"unit\":\"mm\",\"text\":\"2 mm\"}"},
        {"2 * Nm(30)", "{\"value\":60,\"unit\":\"N.m\",\"text\":\"60 N·m\"}"},
        {"Nm(30) * percent(50)", "{\"value\":15,\"unit\":\"N.m\",\"text\":\"15 N·m\"}"},
        {"Nm(30) / 4", "{\"value\":7.5,\"unit\":\"N.m\",\"text\":\"7.5 N·m\"}"},
        {"inch(1) / mm(1)", "{\"value\":25.4,\"unit\":\"1\",\"text\":\"25.4\"}"},
        {"-deg(90)", "{\"value\":-90,\"unit\":\"deg\",\"text\":\"-90°\"}"},
        {"tostring(Nm(60))", "{\"value\":\"60 N·m\",\"text\":\"60 N·m\"}"},
        {"string.format('%s %5.1f', Nm(60), 1)",
         "{\"value\":\"60 N·m   1.0\",\"text\":\"60 N·m   1.0\"}"},
        {"{torque = Nm(6), 7}", "{\"1\":{\"value\":7,\"unit\":\"1\",\"text\":\"7\"},\"torque\":"
                                "{\"value\":6,\"unit\":\"N.m\",\"text\":\"6 N·m\"}}"},
        {"{}", "{}"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_json(rows[i][0], rows[i][1]);
    }
}

static void test_mistakes(void **state) {
    (void)state;
    static const char *const rows[][2] = {
        {"", "the expression gives nothing"},
        {"nil", "the expression gives nothing"},
        {"1 +", "unexpected symbol near <eof>"},
        {"1; note{}", "<eof> expected near 'note'"},
        {"0/0", "no finite number"},
        {"Nm(1/0)", "no finite number"},
        {"pairs", "something that is no value"},
        {"torque{Nm(1)}", "something that is no value"},
        {"{[{}] = 1}", "a table that cannot be shown"},
        {"{{{{{{{{{{1}}}}}}}}}}", "no value"},
        {"'\\xff'", "not well-formed"},
        {"nm(60)", "did you mean `Nm`?"},
        {"Nm(60) + mm(1)", "has no meaning"},
        {"degC(20) + degF(20)", "has no meaning"},
        {"2 * degC(20)", "has no meaning"},
        {"1 / Nm(5)", "has no meaning"},
        {"Nm(5) * mm(5)", "has no meaning"},
        {"preload{}", "preload: `"},
        {"preload{torque = 60}", "`torque` needs a torque such as Nm(...), not the bare number 60"},
        {"preload(60)", "`preload` takes one table in braces, as in preload{"},
        {"require 'x'", "an expression has no modules"},
        {"(function() while true do end end)()", "ran for more than a second"},
        {"('x'):rep(1e9)", "needed more than 64 MiB"},
        {"\xff", "an expression is a text"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_wrong(rows[i][0], rows[i][1]);
    }
    char *deep = malloc(70000);
    assert_non_null(deep);
    memset(deep, '(', 69999);
    deep[69999] = '\0';
    assert_wrong(deep, "at most 65536 bytes");
    deep[60000] = '\0';
    assert_wrong(deep, "");
    free(deep);
}

/* The example of every function of the trade's table is a whole expression that works here. */
static void test_every_example(void **state) {
    (void)state;
    for (size_t i = 0; bw_calc_at(i) != NULL; i++) {
        const bw_calc_function *function = bw_calc_at(i);
        bw_arena *arena = bw_arena_new(0);
        const char *json = NULL;
        bw_err err = {.code = BW_OK, .text = ""};
        if (bw_sequence_calc(function->example, arena, &json, &err) != BW_OK) {
            fail_msg("%s: %s", function->example, err.text);
        }
        json_t *value = json_loads(json, 0, NULL);
        assert_true(json_is_object(value) && json_object_size(value) > 0);
        json_decref(value);
        bw_arena_free(arena);
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_values),
    cmocka_unit_test(test_mistakes),
    cmocka_unit_test(test_every_example),
};

KIT_MAIN(tests)
