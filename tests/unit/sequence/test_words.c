/* test_words.c - sequences/words.lua, which editors read, says what the table of words says: each
 * word, each field of it, each unit and formula; and nothing that is not there.  And each word and
 * field stands in an example of docs/sequences.md, which golden/docs.py runs. */
#include "kit.h"

#include "sequence/words.h"
#include "trade/calc.h"
#include "trade/units.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cmocka_all.h"

enum { LINE_BYTES = 256 };

static char *notes;

static int read_notes(void **state) {
    (void)state;
    size_t len = 0;
    notes = kit_read(BW_SOURCE_DIR "/sequences/words.lua", &len);
    return len == 0;
}

static int free_notes(void **state) {
    (void)state;
    free(notes);
    return 0;
}

/* The place of a line that begins so, or NULL. */
static const char *line_at(const char *text, const char *begin) {
    size_t len = strlen(begin);
    for (const char *at = text; at != NULL && *at != '\0'; at = strchr(at, '\n')) {
        at += *at == '\n' ? 1 : 0;
        if (strncmp(at, begin, len) == 0) {
            return at;
        }
    }
    return NULL;
}

static void assert_function(const char *name, const char *argument) {
    char line[LINE_BYTES];
    (void)snprintf(line, sizeof line, "function %s(%s) end\n", name, argument);
    if (line_at(notes, line) == NULL) {
        fail_msg("sequences/words.lua lacks: %s", line);
    }
}

/* The fields noted for a word are those of the table, in the same order, and no more. */
static void check_fields(const bw_word *word) {
    char line[LINE_BYTES];
    (void)snprintf(line, sizeof line, "---@class boltwright.%s_fields\n", word->word);
    const char *at = line_at(notes, line);
    if (at == NULL) {
        fail_msg("sequences/words.lua lacks: %s", line);
        return;
    }
    at = strchr(at, '\n') + 1;
    size_t len = 0;
    const char *field = NULL;
    for (size_t i = 0; (field = bw_name_in(word->fields, i, &len)) != NULL; i++) {
        (void)snprintf(line, sizeof line, "---@field %.*s ", (int)len, field);
        if (strncmp(at, line, strlen(line)) != 0) {
            fail_msg("sequences/words.lua, fields of %s: here stands %.40s, not %s", word->word, at,
                     line);
        }
        at = strchr(at, '\n') + 1;
    }
    static const char list[] = "---@field [integer] ";
    if (word->list != NULL) {
        assert_true(strncmp(at, list, strlen(list)) == 0);
        at = strchr(at, '\n') + 1;
    }
    if (strncmp(at, "---@field", 9) == 0) {
        fail_msg("sequences/words.lua, fields of %s: no such field: %.40s", word->word, at);
    }
}

static void test_words_and_fields(void **state) {
    (void)state;
    for (size_t i = 0; bw_word_at(i) != NULL; i++) {
        assert_function(bw_word_at(i)->word, "fields");
        check_fields(bw_word_at(i));
    }
}

static void test_units_and_formulas(void **state) {
    (void)state;
    for (bw_unit unit = BW_UNIT_NM; unit < BW_UNIT_COUNT; unit++) {
        assert_function(bw_unit_of(unit)->word, "figure");
    }
    for (size_t i = 0; bw_calc_at(i) != NULL; i++) {
        assert_function(bw_calc_at(i)->name, "arguments");
    }
}

static bool is_known(const char *name) {
    for (bw_unit unit = BW_UNIT_NUMBER; unit < BW_UNIT_COUNT; unit++) {
        if (strcmp(bw_unit_of(unit)->word, name) == 0) {
            return true;
        }
    }
    for (size_t i = 0; bw_lua_name_at(i) != NULL; i++) {
        if (strcmp(bw_lua_name_at(i), name) == 0) {
            return true;
        }
    }
    return bw_word_find(name) != NULL || bw_calc_find(name) != NULL;
}

static void test_nothing_else(void **state) {
    (void)state;
    static const char begin[] = "function ";
    size_t n = 0;
    for (const char *at = line_at(notes, begin); at != NULL; at = line_at(at, begin)) {
        char name[LINE_BYTES];
        at += strlen(begin);
        (void)snprintf(name, sizeof name, "%.*s", (int)strcspn(at, "("), at);
        if (!is_known(name)) {
            fail_msg("sequences/words.lua has %s, which is no word", name);
        }
        n++;
    }
    assert_true(n > 100);
}

/* ---- the reference ---- */

/* Only the examples of a page: what stands between ```lua and ```, each behind a line's end. */
static char *examples_of(const char *path) {
    size_t len = 0;
    char *page = kit_read(path, &len);
    char *out = page;
    const char *from = page;
    while ((from = strstr(from, "```lua\n")) != NULL) {
        from += strlen("```lua");
        const char *to = strstr(from, "\n```");
        assert_non_null(to);
        memmove(out, from, (size_t)(to - from));
        out += to - from;
        from = to + 1;
    }
    *out = '\0';
    return page;
}

static bool stands_in(const char *examples, const char *name, size_t len, const char *behind) {
    char wanted[LINE_BYTES];
    (void)snprintf(wanted, sizeof wanted, "%.*s%s", (int)len, name, behind);
    for (const char *at = examples; (at = strstr(at, wanted)) != NULL; at++) {
        if (at > examples && strchr(" \n{(", at[-1]) != NULL) {
            return true;
        }
    }
    return false;
}

static void test_reference_has_an_example_of_each(void **state) {
    (void)state;
    char *examples = examples_of(BW_SOURCE_DIR "/docs/sequences.md");
    for (size_t i = 0; bw_word_at(i) != NULL; i++) {
        const bw_word *word = bw_word_at(i);
        if (!stands_in(examples, word->word, strlen(word->word), " {")) {
            fail_msg("docs/sequences.md has no example of %s", word->word);
        }
        size_t len = 0;
        const char *field = NULL;
        for (size_t f = 0; (field = bw_name_in(word->fields, f, &len)) != NULL; f++) {
            if (!stands_in(examples, field, len, " = ")) {
                fail_msg("docs/sequences.md has no example of %.*s (%s)", (int)len, field,
                         word->word);
            }
        }
    }
    free(examples);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_words_and_fields),
    cmocka_unit_test(test_units_and_formulas),
    cmocka_unit_test(test_nothing_else),
    cmocka_unit_test(test_reference_has_an_example_of_each),
};

int main(void) {
    return cmocka_run_group_tests(tests, read_notes, free_notes);
}
