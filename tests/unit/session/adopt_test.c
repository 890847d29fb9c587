/* adopt_test.c - which edited text a build that has begun can go on with.  One text, with what was
 * done by it; another one; what is said of it. */
#include "cmocka_all.h"

#include "job_bench.h"
#include "session/adopt.h"

#include "base/text.h"

#include <string.h>

static const bw_session_identity identity = {.build = "P2-17", .bench = "slip 3"};

static void begin(job *j, const char *text, const char *const *line) {
    open_job(j, text);
    for (; *line != NULL; line++) {
        bench_type(&j->b, *line);
    }
}

/* told NULL: it is taken. */
static void assert_adopts(const char *text, const char *const *line, const char *edited,
                          const char *told) {
    job j;
    bw_err err = {0};
    begin(&j, text, line);
    kit_run run = kit_load(edited);
    kit_assert_plan(&run);
    bw_session *after = bw_session_new(run.loaded.plan, &identity, j.b.arena);
    assert_non_null(after);
    bw_status status = bw_adopt(j.b.session, after, j.b.entry, j.b.entry_n, &err);
    if (told == NULL && status != BW_OK) {
        fail_msg("refused: %s", err.text);
    } else if (told != NULL) {
        assert_int_equal(status, BW_E_STATE);
        if (strstr(err.text, told) == NULL || strchr(err.text, '\n') != NULL) {
            fail_msg("`%s` is not in: %s", told, err.text);
        }
    }
    kit_end(&run);
    close_job(&j);
}

/* ---- a part out of a table ---- */

#define MARKS                                                                                      \
    "ask{id = 'block', say = 's', answers = {'1', '2'}}\n"                                         \
    "ask{id = 'crank', say = 's', answers = {'A', 'B'}}\n"
#define AFTER_MARKS "choose{id = 'shell', say = 's', after = {'block', 'crank'}, "
#define TABLE(a, b, c, d)                                                                          \
    "row = 'block', column = 'crank', parts = {{'" a "', '" b "'}, {'" c "', '" d "'}}}\n"

static const char *const shell_taken[] = {"2", "A", "yes", NULL};
static const char *const shell_to_take[] = {"2", "A", NULL};

static void test_table_of_parts(void **state) {
    (void)state;
    static const char text[] = HEAD MARKS AFTER_MARKS TABLE("red", "yellow", "green", "blue");
    static const char other_row[] = HEAD MARKS AFTER_MARKS TABLE("pink", "grey", "green", "black");
    static const char other_part[] = HEAD MARKS AFTER_MARKS TABLE("red", "yellow", "lime", "blue");
    static const char turned[] = HEAD MARKS AFTER_MARKS
        "row = 'crank', column = 'block', parts = {{'red', 'green'}, {'yellow', 'blue'}}}\n";
    static const char asked_else[] = HEAD MARKS
        "ask{id = 'pin', say = 's', answers = {'1', '2'}}\n"
        "choose{id = 'shell', say = 's', after = {'pin', 'crank'}, row = 'pin', column = "
        "'crank', parts = {{'green', 'green'}, {'green', 'green'}}}\n";
    assert_adopts(text, shell_taken, other_row, NULL);
    assert_adopts(text, shell_taken, turned, NULL);
    assert_adopts(
        text, shell_taken, other_part,
        "step \"shell\" is done and took \"green\"; by the new text it would be \"lime\"");
    assert_adopts(text, shell_taken, asked_else, "the new text wants \"pin\" done before it");
    assert_adopts(text, shell_to_take, other_part, NULL);
}

/* ---- a piece out of a drawer ---- */

#define GAP(id)                                                                                    \
    "measure{id = '" id "', say = 's', readings = {reading{id = 'r', say = 'gap', unit = 'mm', "   \
    "decimals = 2, plausible = {mm(2), mm(3)}}}, derive = {value{id = 'v', say = 'shim', "         \
    "formula = 'mean', of = 'r', unit = 'mm', decimals = 3}}}\n"
#define DRAWER(of, stock, within)                                                                  \
    "choose{id = 'shim', say = 's', after = '" of "', of = {step = '" of "', value = 'v'}, stock " \
    "= {" stock "}, within = mm(" within ")}\n"

static void test_drawer(void **state) {
    (void)state;
    static const char *const taken[] = {"2.48", "yes", NULL};
    static const char text[] = HEAD GAP("m") DRAWER("m", "mm(2.50), mm(2.60)", "0.03");
    assert_adopts(text, taken, HEAD GAP("m") DRAWER("m", "mm(2.50), mm(2.70)", "0.02"), NULL);
    assert_adopts(text, taken, HEAD GAP("m") DRAWER("m", "mm(2.48), mm(2.50)", "0.03"),
                  "took \"2.5 mm\"; by the new text it would be \"2.48 mm\"");
    assert_adopts(text, taken, HEAD GAP("m") DRAWER("m", "mm(2.60), mm(2.70)", "0.03"),
                  "took \"2.5 mm\"; by the new text there would be none");
}

/* ---- which part goes where ---- */

#define FIT(more) "fit{id = 'on', say = 's', part = 'cap', to = {'front', 'rear'}" more "}\n"

static void test_marks(void **state) {
    (void)state;
    static const char *const one[] = {"A", NULL};
    static const char *const both[] = {"A", "B", NULL};
    static const char marked[] = HEAD FIT(", marks = {'A', 'B'}");
    assert_adopts(marked, one, HEAD FIT(", marks = {'A', 'C'}"), NULL);
    assert_adopts(marked, one, HEAD FIT(""), NULL);
    assert_adopts(HEAD FIT(""), both, marked, NULL);
    assert_adopts(marked, both, HEAD FIT(", marks = {'A', 'C'}"),
                  "step \"on\" has begun: \"B\" is at rear, where the new text wants \"C\"");
    assert_adopts(marked, one, HEAD FIT(", marks = {'B', 'A'}"),
                  "\"A\" is at front, where the new text wants \"B\"");
    assert_adopts(marked, one,
                  HEAD "fit{id = 'on', say = 's', part = 'rod', to = {'front', 'rear'}}\n",
                  "step \"on\" has begun, and the new text asks something else there");
}

static void test_marks_as_found(void **state) {
    (void)state;
    static const char off[] = "fit{id = 'off', say = 's', part = 'cap', to = {'front', 'rear'}}\n";
    static const char on[] =
        "fit{id = 'on', say = 's', after = 'off', part = 'cap', to = {'front', 'rear'}";
    static const char *const lines[] = {"A", "B", "A", NULL};
    char text[600];
    char as_found[600];
    char marked[600];
    bw_text t = bw_text_on(text, sizeof text);
    bw_text_add(&t, "%s%s%s, as = 'off'}\n", HEAD, off, on);
    t = bw_text_on(as_found, sizeof as_found);
    bw_text_add(&t, "%s%s%s, marks = {'A', 'X'}}\n", HEAD, off, on);
    t = bw_text_on(marked, sizeof marked);
    bw_text_add(&t, "%s%s%s, marks = {'X', 'B'}}\n", HEAD, off, on);
    assert_adopts(text, lines, as_found, NULL);
    assert_adopts(text, lines, marked, "\"A\" is at front, where the new text wants \"X\"");
}

/* ---- what was done anew ---- */

#define CLEAN(id) "confirm{id = '" id "', say = 's'}\n"
#define LID(more) "confirm{id = 'lid', say = 's'" more "}\n"

/* By the new text more would have fallen with the step than fell. */
static void test_done_anew(void **state) {
    (void)state;
    static const char *const lines[] = {"yes", "yes", "redo clean dirt", "yes", NULL};
    static const char text[] = HEAD CLEAN("clean") LID("") CLEAN("oil");
    assert_adopts(text, lines, HEAD CLEAN("clean") CLEAN("oil") LID(""), NULL);
    assert_adopts(text, lines, HEAD CLEAN("clean") LID(", after = 'clean'") CLEAN("oil"),
                  "step \"lid\" is done, and by the new text it would be open");
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_table_of_parts), cmocka_unit_test(test_drawer),
    cmocka_unit_test(test_marks),          cmocka_unit_test(test_marks_as_found),
    cmocka_unit_test(test_done_anew),
};

KIT_MAIN(tests)
