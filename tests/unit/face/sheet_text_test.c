/* sheet_text_test.c - a sheet as text: nothing is cut, no line is too long, columns stand straight;
 * and what the model reads out of a checkpoint. */
#include "cmocka_all.h"

#include "base/text.h"
#include "face/sheet_make.h"
#include "face/sheet_text.h"

#include <stdio.h>
#include <string.h>

enum { OUT_BYTES = 65536, COLUMNS = 100 };

typedef struct bench {
    bw_arena *arena;
    bw_making m;
    char out[OUT_BYTES];
} bench;

static int set_up(void **state) {
    bench *b = test_calloc(1, sizeof *b);
    b->arena = bw_arena_new(0);
    bw_make_begin(&b->m, b->arena);
    b->m.sheet->title = "Build sheet";
    b->m.sheet->about = "W-17";
    (void)bw_make_section(&b->m, "Section");
    *state = b;
    return 0;
}

static int take_down(void **state) {
    bench *b = *state;
    bw_arena_free(b->arena);
    test_free(b);
    return 0;
}

static const char *printed(bench *b) {
    const bw_sheet *sheet = NULL;
    FILE *file = tmpfile();
    assert_int_equal(bw_made(&b->m, &sheet, NULL), BW_OK);
    bw_sheet_print(sheet, file);
    rewind(file);
    b->out[fread(b->out, 1, OUT_BYTES - 1, file)] = '\0';
    (void)fclose(file);
    return b->out;
}

static size_t longest_line(const char *text) {
    size_t longest = 0;
    char line[2000];
    while (*text != '\0') {
        size_t len = strcspn(text, "\n");
        (void)snprintf(line, sizeof line, "%.*s", (int)len, text);
        size_t columns = bw_text_columns(line);
        longest = columns > longest ? columns : longest;
        text += len + 1;
    }
    return longest;
}

static void a_wide_table_keeps_every_letter(void **state) {
    static const char *const heads[] = {"first", ">second", "third", NULL};
    bench *b = *state;
    char word[400];
    memset(word, 'x', sizeof word - 1);
    word[sizeof word - 1] = '\0';
    bw_sheet_table *table = bw_make_table(&b->m, "Table", heads);
    bw_sheet_row *row = bw_make_row(&b->m, table);
    row->cell[0] = word;
    row->cell[1] = "1.5";
    row->cell[2] = "many words that have to be broken at their spaces, and again, and once more, "
                   "until all of them are there";
    row->note = word;
    const char *text = printed(b);
    size_t letters = 0;
    for (const char *at = text; *at != '\0'; at++) {
        letters += *at == 'x' ? 1 : 0;
    }
    assert_int_equal(letters, 2 * (sizeof word - 1));
    assert_non_null(strstr(text, "1.5"));
    assert_true(longest_line(text) <= COLUMNS);
}

static void numbers_end_in_one_column(void **state) {
    static const char *const heads[] = {"what", ">value", NULL};
    bench *b = *state;
    bw_sheet_table *table = bw_make_table(&b->m, NULL, heads);
    bw_make_row(&b->m, table)->cell[1] = "7";
    bw_sheet_row *row = bw_make_row(&b->m, table);
    row->cell[0] = "угол"; /* four letters in eight bytes */
    row->cell[1] = "1234.5";
    const char *text = printed(b);
    assert_non_null(strstr(text, "  what   value\n             7\n  угол  1234.5\n"));
}

static void cells_may_have_lines(void **state) {
    static const char *const heads[] = {"what", ">value", NULL};
    bench *b = *state;
    bw_sheet_row *row = bw_make_row(&b->m, bw_make_table(&b->m, NULL, heads));
    row->cell[0] = "clearance";
    row->cell[1] = "0.048\n(1.89)";
    assert_non_null(strstr(printed(b), "  clearance   0.048\n             (1.89)\n"));
}

static void what_is_only_for_paper_is_left_out(void **state) {
    bench *b = *state;
    bw_make_section(&b->m, "Signatures")->on_paper = true;
    bw_make_fact(&b->m, BW_BLOCK_SIGN, "Built by", "A. Lund");
    assert_null(strstr(printed(b), "Signatures"));
}

static void a_warning_begins_and_ends_it(void **state) {
    bench *b = *state;
    b->m.sheet->warning = "REHEARSAL, NOT A BUILD";
    const char *text = printed(b);
    const char *first = "BUILD SHEET  -  REHEARSAL, NOT A BUILD\n";
    const char *last = "\nREHEARSAL, NOT A BUILD\n";
    assert_memory_equal(text, first, strlen(first));
    assert_string_equal(text + strlen(text) - strlen(last), last);
}

static void lines_below_each_other_are_never_cut(void **state) {
    bench *b = *state;
    const char *lines = NULL;
    for (int i = 0; i < 400; i++) {
        lines = bw_make_below(&b->m, lines, "twenty letters and ..");
    }
    assert_int_equal(strlen(lines), 400 * 22 - 1);
    assert_string_equal(bw_make_below(&b->m, "a", ""), "a");
    assert_null(bw_make_below(&b->m, NULL, ""));
}

static void the_size_of_a_checkpoint(void **state) {
    (void)state;
    static const struct {
        const char *note;
        uint64_t size;
    } rows[] = {
        {"boltwright/bench-1f0c29ab\n212\nCsUYapGG=\n\n", 212},
        {"boltwright/bench-1f0c29ab\n21x\n", 0},
        {"boltwright/bench-1f0c29ab\n-5\n", 0},
        {"boltwright/bench-1f0c29ab", 0},
        {"a\n99999999999999999999999999\n", 0},
        {"", 0},
        {NULL, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_int_equal(bw_checkpoint_size(rows[i].note), rows[i].size);
    }
}

static void no_memory_is_said(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(4096);
    bw_making m;
    const bw_sheet *sheet = NULL;
    bw_err err = {0};
    bw_make_begin(&m, arena);
    for (int i = 0; i < 1000; i++) {
        (void)bw_make_section(&m, bw_make_said(&m, "section %d", i));
        (void)bw_make_row(&m, bw_make_table(&m, "table", NULL));
    }
    assert_int_equal(bw_made(&m, &sheet, &err), BW_E_MEM);
    assert_null(sheet);
    assert_string_not_equal(err.text, "");
    bw_arena_free(arena);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, take_down)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(a_wide_table_keeps_every_letter),
        TEST(numbers_end_in_one_column),
        TEST(cells_may_have_lines),
        TEST(what_is_only_for_paper_is_left_out),
        TEST(a_warning_begins_and_ends_it),
        TEST(lines_below_each_other_are_never_cut),
        cmocka_unit_test(the_size_of_a_checkpoint),
        cmocka_unit_test(no_memory_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
