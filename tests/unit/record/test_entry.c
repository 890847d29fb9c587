/* test_entry.c - an entry has one text, and only that text is read. */
#include "cmocka_all.h"
#include "record_help.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static bw_arena *arena;

static int set_up(void **state) {
    (void)state;
    arena = bw_arena_new(0);
    return arena == NULL ? -1 : 0;
}

static int tear_down(void **state) {
    (void)state;
    bw_arena_free(arena);
    return 0;
}

static const char *encode(const bw_entry *entry, size_t *len) {
    const char *json = NULL;
    bw_err err = {0};
    if (bw_entry_encode(entry, arena, &json, len, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
    return json;
}

static void assert_same(const bw_entry *a, const bw_entry *b) {
    assert_int_equal(a->kind, b->kind);
    assert_string_equal(a->kind_name, b->kind_name);
    assert_int_equal(a->time_ms, b->time_ms);
    assert_string_equal(a->build, b->build);
    assert_string_equal(a->by, b->by);
    assert_string_equal(a->bench, b->bench);
    assert_int_equal(a->rehearsal, b->rehearsal);
    for (bw_member m = 0; m < BW_M_COUNT; m++) {
        const char *none = "(none)";
        assert_int_equal(a->value[m].type, b->value[m].type);
        assert_string_equal(bw_entry_text(a, m, none), bw_entry_text(b, m, none));
        assert_true(bw_entry_number(a, m, -1) == bw_entry_number(b, m, -1));
        assert_int_equal(bw_entry_whole(a, m, -1), bw_entry_whole(b, m, -1));
        assert_int_equal(bw_entry_flag(a, m, true), bw_entry_flag(b, m, true));
    }
}

static void every_kind_comes_back_as_it_was(void **state) {
    (void)state;
    for (bw_kind kind = 0; kind < BW_KIND_COUNT; kind++) {
        for (int all = 0; all <= 1; all++) {
            bw_entry entry = full_entry(kind, "C4-0017", 12, all == 1);
            entry.rehearsal = all == 1;
            size_t len = 0;
            const char *json = encode(&entry, &len);
            bw_entry back;
            bw_err err = {0};
            assert_int_equal(bw_entry_decode(json, len, arena, &back, &err), BW_OK);
            assert_int_equal(back.number, 0);
            assert_same(&entry, &back);
        }
    }
}

static void every_must_is_needed(void **state) {
    (void)state;
    for (bw_kind kind = 0; kind < BW_KIND_COUNT; kind++) {
        for (bw_member m = 0; m < BW_M_COUNT; m++) {
            bw_entry entry = full_entry(kind, "C4-0017", 12, false);
            bool must = bw_kind_member(kind, m) == BW_MEMBER_MUST;
            if (must) {
                entry.value[m].type = BW_VALUE_NONE;
            } else if (bw_kind_member(kind, m) == BW_MEMBER_NEVER) {
                entry.value[m] = (bw_value){.type = bw_member_type(m), .as.text = "x"};
            } else {
                continue;
            }
            const char *json = NULL;
            size_t len = 0;
            bw_err err = {0};
            assert_int_equal(bw_entry_encode(&entry, arena, &json, &len, &err), BW_E_ARG);
            assert_non_null(strstr(err.text, bw_member_name(m)));
            assert_non_null(strstr(err.text, must ? "needs" : "cannot have"));
        }
    }
}

/* Written out by hand from the rules in entry.h: sorted, compact, shortest numbers. */
static void the_text_is_this(void **state) {
    (void)state;
    bw_entry entry = plain_entry(BW_KIND_DERIVED, "C4-0017", 0);
    entry.time_ms = 0;
    entry.rehearsal = true;
    bw_entry_set_text(&entry, BW_M_STEP, "clearance");
    bw_entry_set_text(&entry, BW_M_DERIVED, "main 1 \"oil\"");
    bw_entry_set_text(&entry, BW_M_FORMULA, "a/b");
    bw_entry_set_number(&entry, BW_M_VALUE, 0.1);
    bw_entry_set_text(&entry, BW_M_UNIT, "µm");
    bw_entry_set_text(&entry, BW_M_VERDICT, "pass");
    bw_entry_set_number(&entry, BW_M_LOW, -0.0);
    bw_entry_set_number(&entry, BW_M_HIGH, 60);
    size_t len = 0;
    const char *json = encode(&entry, &len);
    const char *expected =
        "{\"bench\":\"bench-0badcafe\",\"build\":\"C4-0017\",\"by\":\"M. Voss\","
        "\"derived\":\"main 1 \\\"oil\\\"\",\"formula\":\"a/b\",\"high\":60,\"kind\":\"derived\","
        "\"low\":0,\"rehearsal\":true,\"step\":\"clearance\",\"time\":\"1970-01-01T00:00:00.000Z\","
        "\"unit\":\"µm\",\"value\":0.1,\"verdict\":\"pass\"}";
    assert_int_equal(len, strlen(expected));
    assert_memory_equal(json, expected, len);
}

static void numbers_come_back_to_the_last_bit(void **state) {
    (void)state;
    static const double values[] = {0,
                                    0.1,
                                    1.0 / 3,
                                    -1e-300,
                                    5e-324,
                                    1e22,
                                    1e16,
                                    123e300,
                                    60.0,
                                    -0.5,
                                    9007199254740992.0,
                                    1e15,
                                    1e17,
                                    3.141592653589793,
                                    12345678901234567.0};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        bw_entry entry = plain_entry(BW_KIND_CLOCK_STEP, "b", 1);
        bw_entry_set_number(&entry, BW_M_BY_S, values[i]);
        size_t len = 0;
        const char *json = encode(&entry, &len);
        bw_entry back;
        bw_err err = {0};
        assert_int_equal(bw_entry_decode(json, len, arena, &back, &err), BW_OK);
        assert_true(bw_entry_number(&back, BW_M_BY_S, -1) == values[i]);
    }
}

static void refuses_to_write(const bw_entry *entry, const char *word) {
    const char *json = NULL;
    size_t len = 0;
    bw_err err = {0};
    assert_int_equal(bw_entry_encode(entry, arena, &json, &len, &err), BW_E_ARG);
    if (strstr(err.text, word) == NULL) {
        fail_msg("\"%s\" does not speak of %s", err.text, word);
    }
    assert_null(json);
}

static void a_bad_value_is_not_written(void **state) {
    (void)state;
    static const char *const bad_lines[] = {"a\nb", "a\tb",         "a\rb", "a\x1b[0m",
                                            "\xff", "\xE2\x80\xAE", "a\x7f"};
    bw_entry good = note_entry("b", 1, "text");
    for (size_t i = 0; i < sizeof bad_lines / sizeof bad_lines[0]; i++) {
        bw_entry entry = good;
        bw_entry_set_text(&entry, BW_M_STEP, bad_lines[i]);
        refuses_to_write(&entry, "step");
        entry = good;
        entry.build = bad_lines[i];
        refuses_to_write(&entry, "build");
        if (i >= 2) {
            refuses_to_write(&(bw_entry){0}, "build");
            entry = note_entry("b", 1, bad_lines[i]);
            refuses_to_write(&entry, "text");
        }
    }
    bw_entry entry = good;
    entry.by = "";
    refuses_to_write(&entry, "by");
    entry = good;
    entry.bench = NULL;
    refuses_to_write(&entry, "bench");
    entry = good;
    entry.time_ms = INT64_MAX;
    refuses_to_write(&entry, "time");
    entry = good;
    entry.kind = BW_KIND_UNKNOWN;
    refuses_to_write(&entry, "unknown kind");
    entry = good;
    entry.value[BW_M_TEXT] = (bw_value){.type = BW_VALUE_WHOLE};
    refuses_to_write(&entry, "another type");
    entry = plain_entry(BW_KIND_CLOCK_STEP, "b", 1);
    bw_entry_set_number(&entry, BW_M_BY_S, NAN);
    refuses_to_write(&entry, "finite");
}

static void words_are_parted_by_one_space(void **state) {
    (void)state;
    static const char *const bad[] = {" gap", "gap ", "gap  spike"};
    bw_entry entry = full_entry(BW_KIND_SEQUENCE_ADOPTED, "b", 1, true);
    for (size_t i = 0; i < 3; i++) {
        bw_entry_set_text(&entry, BW_M_MODULES, bad[i]);
        refuses_to_write(&entry, "one space");
    }
    bw_entry_set_text(&entry, BW_M_MODULES, "");
    size_t len = 0;
    const char *json = encode(&entry, &len);
    bw_entry back;
    assert_int_equal(bw_entry_decode(json, len, arena, &back, NULL), BW_OK);
    assert_string_equal(bw_entry_text(&back, BW_M_MODULES, "?"), "");
}

static void an_entry_has_a_largest_size(void **state) {
    (void)state;
    static char text[BW_ENTRY_BYTES_MAX + 1];
    memset(text, 'x', sizeof text - 1);
    bw_entry entry = note_entry("b", 1, text);
    refuses_to_write(&entry, "4194304");
    bw_entry back;
    assert_int_equal(bw_entry_decode(text, sizeof text, arena, &back, NULL), BW_E_DATA);
    text[BW_ENTRY_BYTES_MAX - 200] = '\0';
    size_t len = 0;
    const char *json = encode(&entry, &len);
    assert_int_equal(bw_entry_decode(json, len, arena, &back, NULL), BW_OK);
}

#define HEAD "{\"bench\":\"b\",\"build\":\"B\",\"by\":\"p\",\"kind\":"
#define TAIL "\"time\":\"2026-11-25T09:45:48.120Z\"}"
#define NOTE HEAD "\"note\",\"text\":\"t\"," TAIL

static bw_status decode(const char *json, bw_entry *out, bw_err *err) {
    return bw_entry_decode(json, strlen(json), arena, out, err);
}

static void only_the_one_text_is_read(void **state) {
    (void)state;
    static const struct {
        const char *json, *word;
    } rows[] = {
        {"", "JSON"},
        {"[]", "JSON"},
        {"null", "JSON"},
        {"{}", "no `kind`"},
        {NOTE " ", "one form"},
        {" " NOTE, "one form"},
        {NOTE "x", "JSON"},
        {HEAD "\"note\", \"text\":\"t\"," TAIL, "one form"},
        {HEAD "\"note\",\"text\":\"\\u0074\"," TAIL, "one form"},
        {HEAD "\"note\",\"text\":\"t\",\"text\":\"t\"," TAIL, "JSON"},
        {HEAD "\"note\",\"step\":\"s\",\"text\":\"t\",\"time\":\"2026-11-25T09:45:48Z\"}", "time"},
        {HEAD "\"note\",\"text\":\"t\",\"time\":\"2026-02-30T09:45:48.120Z\"}", "calendar"},
        {HEAD "\"note\"," TAIL, "needs `text`"},
        {HEAD "\"note\",\"stage\":1,\"text\":\"t\"," TAIL, "cannot have `stage`"},
        {HEAD "\"note\",\"text\":1," TAIL, "`text` must be a text"},
        {HEAD "\"note\",\"step\":\"a\\nb\",\"text\":\"t\"," TAIL, "`step`"},
        {HEAD "\"note\",\"text\":\"\\u001b\"," TAIL, "printable"},
        {HEAD "\"note\",\"text\":\"\\u0000\"," TAIL, "JSON"},
        {HEAD "\"note\",\"text\":\"\xC0\x80\"," TAIL, "JSON"},
        {HEAD "\"note\",\"text\":\"t\",\"thing\":{}," TAIL, "`thing`"},
        {HEAD "\"note\",\"text\":\"t\",\"thing\":null," TAIL, "`thing`"},
        {HEAD "\"note\",\"text\":\"t\",\"thing\":[1]," TAIL, "`thing`"},
        {HEAD "\"note\",\"text\":\"t\",\"th\\nng\":1," TAIL, "cannot be shown"},
        {HEAD "\"note\",\"rehearsal\":false,\"text\":\"t\"," TAIL, "rehearsal"},
        {HEAD "\"note\",\"rehearsal\":1,\"text\":\"t\"," TAIL, "rehearsal"},
        {HEAD "\"\"," TAIL, "`kind`"},
        {HEAD "7," TAIL, "`kind`"},
        {"{\"bench\":\"b\",\"build\":\"B\",\"kind\":\"paused\"," TAIL, "no `by`"},
        {"{\"bench\":\"b\",\"build\":\"\",\"by\":\"p\",\"kind\":\"paused\"," TAIL, "`build`"},
        {"{\"bench\":\"b\",\"build\":\"B\",\"by\":\"p\",\"by_s\":1.0,\"kind\":\"clock_step\"," TAIL,
         "one form"},
        {"{\"bench\":\"b\",\"build\":\"B\",\"by\":\"p\",\"by_s\":1e2,\"kind\":\"clock_step\"," TAIL,
         "one form"},
        {"{\"bench\":\"b\",\"build\":\"B\",\"by\":\"p\",\"by_s\":-0,\"kind\":\"clock_step\"," TAIL,
         "one form"},
        {"{\"bench\":\"b\",\"build\":\"B\",\"by\":\"p\",\"by_s\":9007199254740992.0,"
         "\"kind\":\"clock_step\"," TAIL,
         "shortest"},
        {"{\"bench\":\"b\",\"build\":\"B\",\"by\":\"p\",\"by_s\":10000000000000000,"
         "\"kind\":\"clock_step\"," TAIL,
         "shortest"},
        {"{\"bench\":\"b\",\"build\":\"B\",\"by\":\"p\",\"by_s\":\"1\",\"kind\":\"clock_step\"," TAIL,
         "a number"},
        {"{\"bench\":\"b\",\"build\":\"B\",\"by\":\"p\",\"corrects\":1.5,\"kind\":\"correction\","
         "\"reason\":\"r\"," TAIL,
         "whole"},
    };
    bw_entry entry = {.number = 77};
    bw_err err = {0};
    assert_int_equal(decode(NOTE, &entry, &err), BW_OK);
    entry.number = 77;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        err.text[0] = '\0';
        if (decode(rows[i].json, &entry, &err) != BW_E_DATA ||
            strstr(err.text, rows[i].word) == NULL) {
            fail_msg("row %zu: \"%s\" should speak of %s", i, err.text, rows[i].word);
        }
        assert_int_equal(entry.number, 77);
    }
}

static void words_are_a_list_of_texts(void **state) {
    (void)state;
    static const char *const bad[] = {"\"a\"", "[\"\"]", "[\"a b\"]", "[\"a\\nb\"]", "true"};
    const char *front = HEAD "\"module_list\",\"modules\":";
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        char json[300];
        (void)snprintf(json, sizeof json, "%s%s," TAIL, front, bad[i]);
        bw_entry entry;
        bw_err err = {0};
        assert_int_equal(decode(json, &entry, &err), BW_E_DATA);
        assert_non_null(strstr(err.text, "modules"));
    }
}

static void what_is_new_is_let_through(void **state) {
    (void)state;
    bw_entry entry;
    assert_int_equal(
        decode(HEAD "\"photo\",\"lens\":[\"a b\",\"c\"],\"step\":\"s\"," TAIL, &entry, NULL),
        BW_OK);
    assert_int_equal(entry.kind, BW_KIND_UNKNOWN);
    assert_string_equal(entry.kind_name, "photo");
    assert_string_equal(bw_entry_text(&entry, BW_M_STEP, "?"), "s");
    assert_int_equal(decode(HEAD "\"note\",\"mood\":-2.5e-07,\"text\":\"t\",\"than\":\"a\\nb\","
                                 "\"thaw\":false," TAIL,
                            &entry, NULL),
                     BW_OK);
    assert_int_equal(entry.kind, BW_KIND_NOTE);
}

/* Each bit of an entry turned over: it is another entry or none.  Where all its members are known,
 * it is written again as exactly the text that was read. */
static void a_changed_bit_never_gives_the_same_entry(void **state) {
    (void)state;
    bw_entry entry = full_entry(BW_KIND_VERDICT, "C4-0017", 3, true);
    size_t len = 0;
    const char *json = encode(&entry, &len);
    size_t read = 0;
    for (size_t i = 0; i < len * 8; i++) {
        bw_arena *own = bw_arena_new(0);
        char *changed = bw_arena_copy(own, json, len);
        changed[i / 8] = (char)((unsigned char)changed[i / 8] ^ 1u << i % 8);
        bw_entry back;
        const char *again = NULL;
        size_t n = 0;
        if (bw_entry_decode(changed, len, own, &back, NULL) == BW_OK) {
            read++;
            if (bw_entry_encode(&back, own, &again, &n, NULL) == BW_OK && n == len) {
                assert_memory_equal(again, changed, len);
            }
        }
        bw_arena_free(own);
    }
    assert_true(read > 100 && read < len * 4);
}

static void the_registry_is_sound(void **state) {
    (void)state;
    for (bw_member m = 0; m < BW_M_COUNT; m++) {
        bool used = false;
        for (bw_kind kind = 0; kind < BW_KIND_COUNT; kind++) {
            used = used || bw_kind_member(kind, m) != BW_MEMBER_NEVER;
        }
        /* sha256 is kept for documents that a later kind names. */
        assert_true(used || m == BW_M_SHA256);
        for (bw_member other = 0; other < m; other++) {
            assert_string_not_equal(bw_member_name(m), bw_member_name(other));
        }
        assert_true(bw_member_says(m)[0] != '\0');
    }
    for (bw_kind kind = 0; kind < BW_KIND_COUNT; kind++) {
        for (bw_kind other = 0; other < kind; other++) {
            assert_string_not_equal(bw_kind_name(kind), bw_kind_name(other));
        }
        assert_true(bw_kind_says(kind)[0] != '\0');
    }
    assert_null(bw_kind_name(BW_KIND_UNKNOWN));
    assert_null(bw_member_name(BW_M_COUNT));
    assert_int_equal(bw_kind_member(BW_KIND_UNKNOWN, BW_M_STEP), BW_MEMBER_NEVER);
    assert_int_equal(bw_kind_member(BW_KIND_PULL, BW_M_TRACE), BW_MEMBER_MUST);
    assert_int_equal(bw_kind_member(BW_KIND_PULL, BW_M_TURN_DEG), BW_MEMBER_MAY);
    assert_int_equal(bw_kind_member(BW_KIND_PAUSED, BW_M_STEP), BW_MEMBER_NEVER);
}

static void getters_fall_back(void **state) {
    (void)state;
    bw_entry entry = note_entry("b", 1, "t");
    assert_true(bw_entry_number(&entry, BW_M_TEXT, 3) == 3);
    assert_int_equal(bw_entry_whole(&entry, BW_M_OF, 4), 4);
    assert_true(bw_entry_flag(&entry, BW_M_ASKED, true));
    bw_entry_set_text(&entry, BW_M_TEXT, NULL);
    assert_null(bw_entry_text(&entry, BW_M_TEXT, NULL));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(every_kind_comes_back_as_it_was, set_up, tear_down),
        cmocka_unit_test_setup_teardown(every_must_is_needed, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_text_is_this, set_up, tear_down),
        cmocka_unit_test_setup_teardown(numbers_come_back_to_the_last_bit, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_bad_value_is_not_written, set_up, tear_down),
        cmocka_unit_test_setup_teardown(words_are_parted_by_one_space, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_entry_has_a_largest_size, set_up, tear_down),
        cmocka_unit_test_setup_teardown(only_the_one_text_is_read, set_up, tear_down),
        cmocka_unit_test_setup_teardown(words_are_a_list_of_texts, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_new_is_let_through, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_changed_bit_never_gives_the_same_entry, set_up,
                                        tear_down),
        cmocka_unit_test(the_registry_is_sound),
        cmocka_unit_test(getters_fall_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
