/* test_load.c - from a file to a plan: the shipped short block, and what can be wrong with a
 * file. */
#include "kit.h"

#include "base/clock.h"
#include "sequence/wire.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "cmocka_all.h"

#define SHORT_BLOCK BW_SOURCE_DIR "/sequences/curlew4/short-block.lua"
#define LONG_BLOCK  BW_SOURCE_DIR "/sequences/curlew4/long-block.lua"

static kit_run load_file(const char *path) {
    kit_run run = {.arena = bw_arena_new(0)};
    assert_non_null(run.arena);
    bw_err err = {.code = BW_OK, .text = ""};
    if (bw_sequence_load(path, run.arena, &run.loaded, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
    return run;
}

static const bw_step *step_named(const bw_plan *plan, const char *id) {
    size_t index = 0;
    assert_true(bw_plan_find_step(plan, id, &index));
    return &plan->step[index];
}

static void test_short_block(void **state) {
    (void)state;
    kit_run run = load_file(SHORT_BLOCK);
    kit_assert_plan(&run);
    const bw_plan *plan = run.loaded.plan;
    kit_assert_sound(plan);
    assert_true(plan->invented);
    assert_int_equal(plan->torque_unit, BW_UNIT_NM);
    assert_int_equal(run.loaded.source_n, 3);
    assert_string_equal(run.loaded.source[0].name, SHORT_BLOCK);
    assert_string_equal(run.loaded.source[1].name, BW_SOURCE_DIR "/sequences/lib/workshop.lua");
    kit_end(&run);
}

static void test_short_block_groups(void **state) {
    (void)state;
    kit_run run = load_file(SHORT_BLOCK);
    kit_assert_plan(&run);
    static const struct {
        const char *name;
        size_t place_n;
        bw_order_kind order;
    } rows[] = {
        {"main", 10, BW_ORDER_SPIRAL}, {"rod", 8, BW_ORDER_LISTED}, {"head", 10, BW_ORDER_SPIRAL}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        size_t index = 0;
        assert_true(bw_plan_find_group(run.loaded.plan, rows[i].name, &index));
        assert_int_equal(run.loaded.plan->group[index].place_n, rows[i].place_n);
        assert_int_equal(run.loaded.plan->group[index].order_kind, rows[i].order);
    }
    /* From the middle outward: the two of cap 3 first, those of the end caps last. */
    const bw_group *mains = &run.loaded.plan->group[0];
    assert_string_equal(mains->place[mains->order[0]].label, "3 left");
    assert_string_equal(mains->place[mains->order[1]].label, "3 right");
    for (size_t k = 6; k < 10; k++) {
        char cap = mains->place[mains->order[k]].label[0];
        assert_true(cap == '1' || cap == '5');
    }
    kit_end(&run);
}

static void test_short_block_stages(void **state) {
    (void)state;
    kit_run run = load_file(SHORT_BLOCK);
    kit_assert_plan(&run);
    const bw_step *mains = step_named(run.loaded.plan, "main-bolts");
    assert_int_equal(mains->stage_n, 2);
    assert_true(mains->stage[1].stage.target_Nm == 65);
    assert_true(mains->stage[1].stage.low_Nm == 61.75);
    assert_true(mains->stage[1].stage.high_Nm == 68.25);
    assert_true(mains->stage[1].stage.least_turn_deg == 2.0);
    const bw_step *head = step_named(run.loaded.plan, "head-bolts");
    assert_int_equal(head->stage_n, 3);
    assert_int_equal(head->stage[2].stage.kind, BW_STAGE_ANGLE);
    assert_true(head->stage[2].stage.low_deg == 41 && head->stage[2].stage.high_deg == 49);
    assert_true(head->stage[2].has_floor && head->stage[2].stage.low_Nm == 70);
    assert_true(isinf(head->stage[2].stage.high_Nm) && !head->stage[2].has_ceiling);
    kit_end(&run);
}

/* What a later step buries is done before it: follow `after` from the crank and the head. */
static void mark_before(const bw_plan *plan, size_t index, bool *before) {
    for (size_t i = 0; i < plan->step[index].after_n; i++) {
        size_t earlier = plan->step[index].after[i];
        before[earlier] = true;
        mark_before(plan, earlier, before);
    }
}

static void assert_before(const bw_plan *plan, const char *late, const char *early) {
    bool before[BW_PLAN_STEPS_MAX] = {false};
    size_t index = 0;
    size_t wanted = 0;
    assert_true(bw_plan_find_step(plan, late, &index));
    assert_true(bw_plan_find_step(plan, early, &wanted));
    mark_before(plan, index, before);
    if (!before[wanted]) {
        fail_msg("%s does not wait for %s", late, early);
    }
}

static void test_short_block_buries_nothing_undone(void **state) {
    (void)state;
    kit_run run = load_file(SHORT_BLOCK);
    kit_assert_plan(&run);
    const bw_plan *plan = run.loaded.plan;
    static const char *const rows[][2] = {
        {"crank-in", "oil-jets"},       {"crank-in", "main-1"},
        {"crank-in", "main-5"},         {"pistons-in", "rings"},
        {"pistons-in", "main-bolts"},   {"rod-bolts", "rod-caps-on"},
        {"head-on", "head-gasket"},     {"head-on", "rod-bolts"},
        {"head-on", "oil-pump"},        {"main-bolts", "threads-clean"},
        {"closing-check", "head-bolts"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_before(plan, rows[i][0], rows[i][1]);
    }
    kit_end(&run);
}

/* Each load is a process of its own, in which Lua draws another seed for its hashes. */
static void test_same_plan_every_time_and_quick(void **state) {
    (void)state;
    enum { LOADS = 100, LIMIT_MS = 50 };
    int64_t least_ns = INT64_MAX;
    char *first = NULL;
    for (int i = 0; i < LOADS; i++) {
        int64_t begin_ns = bw_clock_mono_ns();
        kit_run run = load_file(LONG_BLOCK);
        int64_t took_ns = bw_clock_mono_ns() - begin_ns;
        least_ns = took_ns < least_ns ? took_ns : least_ns;
        kit_assert_plan(&run);
        char *text = kit_plan_text(run.loaded.plan);
        kit_end(&run);
        if (first == NULL) {
            first = text;
        } else {
            assert_string_equal(first, text);
            free(text);
        }
    }
    free(first);
    assert_true(least_ns < (int64_t)LIMIT_MS * 1000000);
}

/* The texts that a build's record keeps give the same plan as the files did. */
static void test_kept_sources(void **state) {
    (void)state;
    kit_run disk = load_file(SHORT_BLOCK);
    kit_assert_plan(&disk);
    kit_run kept = {.arena = bw_arena_new(0)};
    bw_err err = {.code = BW_OK, .text = ""};
    assert_int_equal(bw_sequence_load_sources(disk.loaded.source, disk.loaded.source_n, kept.arena,
                                              &kept.loaded, &err),
                     BW_OK);
    kit_assert_plan(&kept);
    char *a = kit_plan_text(disk.loaded.plan);
    char *b = kit_plan_text(kept.loaded.plan);
    assert_string_equal(a, b);
    assert_int_equal(kept.loaded.source_n, 3);
    free(a);
    free(b);
    kit_end(&kept);
    /* Without its module the text is as wrong as it is on disk. */
    kept.arena = bw_arena_new(0);
    assert_int_equal(
        bw_sequence_load_sources(disk.loaded.source, 1, kept.arena, &kept.loaded, &err), BW_OK);
    assert_null(kept.loaded.plan);
    kit_assert_has(&kept, 9, "is not among the texts that were kept");
    kit_end(&kept);
    kit_end(&disk);
}

static void test_kept_sources_that_are_damaged(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(0);
    bw_loaded loaded;
    bw_err err = {.code = BW_OK, .text = ""};
    assert_int_equal(bw_sequence_load_sources(NULL, 0, arena, &loaded, &err), BW_E_ARG);
    bw_source bad = {.name = "x.lua", .text = "\xff", .len = 1};
    assert_int_equal(bw_sequence_load_sources(&bad, 1, arena, &loaded, &err), BW_E_DATA);
    bw_arena_free(arena);
}

/* ---- files that are none ---- */

static void assert_refused(const char *path, bw_status code, const char *part) {
    bw_arena *arena = bw_arena_new(0);
    bw_loaded loaded = {0};
    bw_err err = {.code = BW_OK, .text = ""};
    bw_status rc = bw_sequence_load(path, arena, &loaded, &err);
    if (rc != code || strstr(err.text, part) == NULL) {
        fail_msg("%s: %s", bw_status_name(rc), err.text);
    }
    assert_null(loaded.plan); /* untouched */
    bw_arena_free(arena);
}

static void assert_bytes_refused(const char *folder, const void *data, size_t len,
                                 const char *part) {
    kit_write(folder, "bad.lua", data, len);
    char *path = kit_path(folder, "bad.lua");
    assert_refused(path, BW_E_DATA, part);
    free(path);
}

static void test_files_that_are_no_sequence(void **state) {
    (void)state;
    char *folder = kit_folder();
    assert_refused(folder, BW_E_DATA, "is a folder, where a file is meant");
    assert_refused("/dev/null", BW_E_DATA, "is not a plain file");
    char *absent = kit_path(folder, "absent.lua");
    assert_refused(absent, BW_E_ABSENT, "there is no such file");
    free(absent);
    absent = kit_path(folder, "absent/absent.lua");
    assert_refused(absent, BW_E_ABSENT, "there is no such file");
    free(absent);
    assert_bytes_refused(folder, "\xff\xfe", 2, "is not a text");
    assert_bytes_refused(folder, "a = 1\0", 6, "is not a text");
    assert_bytes_refused(folder, "\xed\xa0\x80", 3, "is not a text");
    char *long_text = calloc(1, BW_SEQUENCE_BYTES_MAX + 1);
    assert_non_null(long_text);
    memset(long_text, ' ', BW_SEQUENCE_BYTES_MAX + 1);
    assert_bytes_refused(folder, long_text, BW_SEQUENCE_BYTES_MAX + 1, "is longer than");
    free(long_text);
    char *fifo = kit_path(folder, "fifo");
    assert_int_equal(symlink("/nowhere", fifo), 0);
    assert_refused(fifo, BW_E_ABSENT, "there is no such file");
    free(fifo);
    kit_folder_remove(folder);
}

static void test_longest_text_is_taken(void **state) {
    (void)state;
    char *folder = kit_folder();
    char *text = malloc(BW_SEQUENCE_BYTES_MAX);
    assert_non_null(text);
    memset(text, '\n', BW_SEQUENCE_BYTES_MAX);
    static const char head[] = "\xEF\xBB\xBF" KIT_HEAD "note{id = 'n', say = 's'}";
    memcpy(text, head, sizeof head - 1);
    kit_write(folder, "long.lua", text, BW_SEQUENCE_BYTES_MAX);
    char *path = kit_path(folder, "long.lua");
    kit_run run = load_file(path);
    kit_assert_plan(&run);
    assert_int_equal(run.loaded.source[0].len, BW_SEQUENCE_BYTES_MAX - 3);
    kit_end(&run);
    free(path);
    free(text);
    kit_folder_remove(folder);
}

/* The record keeps one form of a text: LF, no byte order mark, nothing that is not shown. */
static void test_one_form(void **state) {
    (void)state;
    char *folder = kit_folder();
    static const char typed[] = "\xEF\xBB\xBF" KIT_HEAD "\r\nnote{id = 'n',\r\n\tsay = 's'}\r\n";
    kit_write(folder, "crlf.lua", typed, sizeof typed - 1);
    char *path = kit_path(folder, "crlf.lua");
    kit_run run = load_file(path);
    kit_assert_plan(&run);
    assert_string_equal(run.loaded.source[0].text, KIT_HEAD "\nnote{id = 'n',\n\tsay = 's'}\n");
    kit_end(&run);
    static const char bidi[] = KIT_HEAD "\n-- \xE2\x80\xAE\n";
    kit_write(folder, "crlf.lua", bidi, sizeof bidi - 1);
    assert_refused(path, BW_E_DATA, "holds in line 3");
    free(path);
    kit_folder_remove(folder);
}

static void test_empty_text(void **state) {
    (void)state;
    kit_run run = kit_load("");
    kit_assert_has(&run, 1, "sequence{ title = ..., engine = ..., document = ... } is missing");
    kit_assert_has(&run, 1, "there are no steps");
    assert_int_equal(run.loaded.mistake_n, 2);
    assert_string_equal(run.loaded.mistake[0].where.file, "test.lua");
    kit_end(&run);
}

static void test_golden_mistakes(void **state) {
    (void)state;
    kit_run run = load_file(BW_SOURCE_DIR "/tests/golden/sequences/ten-mistakes.lua");
    assert_null(run.loaded.plan);
    for (size_t i = 0; i < run.loaded.mistake_n; i++) {
        assert_string_equal(run.loaded.mistake[i].where.file,
                            BW_SOURCE_DIR "/tests/golden/sequences/ten-mistakes.lua");
    }
    char *got = kit_mistakes_text(&run.loaded);
    size_t len = 0;
    char *want = kit_read(BW_SOURCE_DIR "/tests/golden/sequences/ten-mistakes.txt", &len);
    char *at = got;
    for (char *line = strtok(want, "\n"); line != NULL; line = strtok(NULL, "\n")) {
        at = strstr(at, "ten-mistakes.lua:");
        assert_non_null(at);
        at += strlen("ten-mistakes.lua:");
        char *end = strchr(at, '\n');
        *end = '\0';
        assert_string_equal(at, line);
        at = end + 1;
    }
    assert_string_equal(at, "");
    free(want);
    free(got);
    kit_end(&run);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_short_block),
    cmocka_unit_test(test_short_block_groups),
    cmocka_unit_test(test_short_block_stages),
    cmocka_unit_test(test_short_block_buries_nothing_undone),
    cmocka_unit_test(test_same_plan_every_time_and_quick),
    cmocka_unit_test(test_kept_sources),
    cmocka_unit_test(test_kept_sources_that_are_damaged),
    cmocka_unit_test(test_files_that_are_no_sequence),
    cmocka_unit_test(test_longest_text_is_taken),
    cmocka_unit_test(test_one_form),
    cmocka_unit_test(test_empty_text),
    cmocka_unit_test(test_golden_mistakes),
};

KIT_MAIN(tests)
