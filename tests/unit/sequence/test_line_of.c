/* test_line_of.c - the line of a field, found in the text of a sequence. */
#include "kit.h"

#include "sequence/line_of.h"

#include <string.h>

#include "cmocka_all.h"

static void test_lines(void **state) {
    (void)state;
    static const struct {
        const char *text;
        unsigned line; /* in which the word stands */
        const char *word, *field;
        size_t item;
        unsigned wanted;
    } rows[] = {
        {"note {\n  id = 'a',\n  say = 's',\n}", 1, "note", "say", 0, 3},
        {"note {\n  id = 'a',\n  say = 's',\n}", 1, "note", "why", 0, 1},
        {"note {\r\n  id = 'a',\r\n  say = 's',\r\n}", 1, "note", "say", 0, 3},
        {"note {\r  id = 'a';\r  say = 's';\r}", 1, "note", "say", 0, 3},
        {"\n\nnote({\n\n  say = 's' })", 3, "note", "say", 0, 5},
        {"note -- say = 1\n{\n say = 's' }", 1, "note", "say", 0, 3},
        /* what stands in quotes and comments is no field, and its lines count */
        {"note { id = [[\n, say = 1\n]], --[==[ ]] , say = 2\n]==] why = ',\\\nsay = 3',\n say = 4}",
         1, "note", "say", 0, 6},
        {"x = [==[\nnote {\n say = 1 }]==]\nnote {\nsay = 2 }", 4, "note", "say", 0, 5},
        {"note { id = '\\'', why = \"{\", x = '}',\n say = 1 }", 1, "note", "say", 0, 2},
        {"note { id = 'a\\z\n\n   b',\n say = 1 }", 1, "note", "say", 0, 4},
        /* nor is what lies deeper, is compared, indexed or only named so */
        {"t { { say = 1 },\n f(function() say = 2 end),\n ['say'] = 3, say == 4,\n x.say,\n say = 5 }",
         1, "t", "say", 0, 5},
        {"a.note { say = 1 }\n", 1, "note", "say", 0, 1},
        {"local note = notes {\n say = 1 }", 1, "note", "say", 0, 1},
        /* two in one line can't be told apart */
        {"note { say = 1 } note {\n say = 2 }", 1, "note", "say", 0, 1},
        {"note { say = 1,\n why = note {\n say = 2 } }", 1, "note", "why", 0, 2},
        /* items */
        {"g {\n at = {\n 'a',\n 'b', 'c',\n { 'd' } } }", 1, "g", "at", 1, 3},
        {"g {\n at = {\n 'a',\n 'b', 'c',\n { 'd' } } }", 1, "g", "at", 3, 4},
        {"g {\n at = {\n 'a',\n 'b', 'c',\n { 'd' } } }", 1, "g", "at", 4, 5},
        {"g {\n at = {\n 'a',\n 'b', 'c',\n { 'd' } } }", 1, "g", "at", 5, 2},
        {"g {\n at =\n 'a' }", 1, "g", "at", 1, 2},
        {"labels {\n 'a', x = 1, [7] = 2,\n 'b' }", 1, "labels", NULL, 2, 3},
        {"labels {}", 1, "labels", NULL, 1, 1},
        /* cut off anywhere */
        {"note {\n say", 1, "note", "say", 0, 1},
        {"note {\n say =", 1, "note", "say", 1, 2},
        {"note {\n x = 'abc", 1, "note", "say", 0, 1},
        {"note {\n x = [[abc", 1, "note", "say", 0, 1},
        {"note {\n x = '\\", 1, "note", "say", 0, 1},
        {"note {\n --", 1, "note", "say", 0, 1},
        {"note", 1, "note", "say", 0, 1},
        {"", 1, "note", "say", 0, 1},
        {"note { say = 1 }", 7, "note", "say", 0, 7},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        unsigned line = bw_line_of(rows[i].text, strlen(rows[i].text), rows[i].line, rows[i].word,
                                   rows[i].field, rows[i].item);
        if (line != rows[i].wanted) {
            fail_msg("%u, not %u: %s of %s", line, rows[i].wanted, rows[i].field, rows[i].text);
        }
    }
}

/* Through the checker: each of these is told in its own line. */
static void test_told_there(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_HEAD "note {\n id = 'n',\n say = 's',\n why = 5,\n}", 5, "`why` of note needs a text"},
        {KIT_HEAD "local function f(id)\n return note {\n say = 's',\n id = id,\n }\nend\nf('a b')",
         5, "`id` of note may hold letters"},
        {KIT_HEAD
         "group{name = 'g', say = 's', lubricant = 'oil', places = labels {\n 'a',\n 'b',\n "
         "7 }}\n" KIT_TIGHTEN,
         5, "`labels[3]` of labels needs a text in quotes, not the bare number 7"},
        {KIT_HEAD
         "group{name = 'g', say = 's', lubricant = 'oil', places = labels {\n 'a',\n 'a',\n "
         "}}\n" KIT_TIGHTEN,
         4, "label \"a\" stands for places 1 and 2"},
        {KIT_HEAD
         "group{name = 'g', say = 's', lubricant = 'oil', places = grid {\n rows = 1, columns "
         "= 3,\n dx = mm(9), labels = { 'a',\n 'b',\n 'a' },\n}}\n" KIT_TIGHTEN,
         6, "label \"a\" stands for places 1 and 3"},
        {KIT_HEAD
         "group{name = 'g', say = 's', lubricant = 'oil', places = places {\n {label = 'a', x "
         "= mm(1), y = mm(1)},\n {label = 'b', x = 2, y = mm(1)} }}\n" KIT_TIGHTEN,
         4, "`x` of a place needs a length"},
        {KIT_HEAD
         "note{id = 'a', say = 's'}\nnote {\n id = 'b', say = 's',\n after = {\n 'a',\n 5 } }",
         7, "`after[2]` of note needs a text"},
        {KIT_HEAD
         "note{id = 'a', say = 's'}\nnote {\n id = 'b', say = 's',\n after = {\n 'a',\n 'c' "
         "} }",
         5, "`after` names \"c\", which is no step"},
        {KIT_HEAD "ask{id = 'q', say = 's', answers = {'x', 'y'}}\nnote {\n id = 'b', say = 's',\n "
                  "after = 'q',\n when = { step = 'q',\n answr = 'x' } }",
         6, "`when` has no field `answr`; did you mean `answer`?"},
        {KIT_HEAD KIT_GROUP
         "tighten{id = 't', say = 's', group = 'g', stages = {torque {\n Nm(60),\n "
         "low = Nm(65),\n high = Nm(62) }}}\n",
         5, "low must be below high"},
    };
    KIT_CHECK(rows);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_lines),
    cmocka_unit_test(test_told_there),
};

KIT_MAIN(tests)
