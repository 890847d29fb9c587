/* test_rogue.c - a worker that was taken over by its sequence: whatever it answers, the host stays
 * whole and tells the author.
 *
 * The test program is the worker.  Which way it misbehaves stands in a file beside the program,
 * since a worker gets nothing else from its host. */
#include "kit.h"

#include "base/clock.h"
#include "sequence/load.h"
#include "sequence/wire.h"
#include "wall/worker.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "cmocka_all.h"

#define WAY_FILE BW_BINARY_DIR "/tests/rogue-way"

typedef enum way {
    ANSWER_NOTHING_TO_HELLO = 0,
    UNWALLED,
    GARBAGE,
    EMPTY_PLAN,
    OTHER_TYPE,
    SHORT_LIMIT,
    WILD_LIMIT,
    ASK_FOR_EVER,
    ASK_WILD_NAMES,
    ASK_LONG_NAME,
    DIE,
    HUGE_LISTS,
    WILD_SPOTS,
    WAY_COUNT
} way;

static bool put(uint8_t type, const void *data, size_t len) {
    return bw_frame_write(type, data, len, NULL) == BW_OK;
}

static bool get(uint8_t *type) {
    static uint8_t buffer[1 << 16];
    size_t len = 0;
    return bw_frame_read(buffer, sizeof buffer, type, &len, NULL) == BW_OK;
}

static void ask_for(const char *const *names, size_t n, bool for_ever) {
    uint8_t type = 0;
    for (size_t i = 0; i < n || for_ever; i++) {
        const char *name = names[i % n];
        if (!put(BW_FRAME_NEED, name, strlen(name)) || !get(&type)) {
            return;
        }
        if (type != BW_FRAME_NO_MODULE) {
            _exit(9); /* a module that must not be had */
        }
    }
    (void)put(BW_FRAME_DONE, NULL, 0);
}

static void misbehave(way w) {
    static const char *const absent[] = {"absent"};
    static const char *const wild[] = {"../test", "/etc/passwd", "a\x01", "", "a..b", "test.lua/"};
    static const char long_name[] = "x23456789012345678901234567890123456789012345678901234567890";
    static const char *const lengthy[] = {long_name};
    static const uint8_t limits[2][7] = {{BW_LIMIT_TIME}, {9, 255, 255, 255, 255, 255, 255}};
    static const char lists[] = "N\x04note\0\0\1\0\0\0\xff\xff\xff\x7f";
    static const char spots[] = "N\x07mistake\xff\xff\xff\xff\xff\x7f\1\0\0\0s\1\0\0\0x\0\0\0\0\0";
    switch (w) {
    case GARBAGE:
        (void)put(BW_FRAME_DONE, "garbage", 7);
        break;
    case EMPTY_PLAN:
        (void)put(BW_FRAME_DONE, NULL, 0);
        break;
    case OTHER_TYPE:
        (void)put(200, "x", 1);
        break;
    case SHORT_LIMIT:
        (void)put(BW_FRAME_LIMIT, limits[0], 3);
        break;
    case WILD_LIMIT:
        (void)put(BW_FRAME_LIMIT, limits[1], 7);
        break;
    case ASK_FOR_EVER:
        ask_for(absent, 1, true);
        break;
    case ASK_WILD_NAMES:
        ask_for(wild, sizeof wild / sizeof wild[0], false);
        break;
    case ASK_LONG_NAME:
        ask_for(lengthy, 1, false);
        break;
    case HUGE_LISTS:
        (void)put(BW_FRAME_DONE, lists, sizeof lists - 1);
        break;
    case WILD_SPOTS:
        (void)put(BW_FRAME_DONE, spots, sizeof spots - 1);
        break;
    default:
        break;
    }
}

static int rogue_main(void) {
    int number = 0;
    FILE *file = fopen(WAY_FILE, "r");
    number = file == NULL ? -1 : fgetc(file) - 'A';
    uint8_t type = 0;
    if (number == ANSWER_NOTHING_TO_HELLO || !get(&type)) {
        return 4;
    }
    uint8_t ready = number == UNWALLED ? BW_FRAME_UNWALLED : BW_FRAME_READY;
    if (put(ready, "no wall", 7) && get(&type)) {
        misbehave((way)number);
    }
    return 5;
}

static kit_run load_from(way w, bw_status *rc, bw_err *err) {
    FILE *file = fopen(WAY_FILE, "w");
    assert_non_null(file);
    assert_int_equal(fputc('A' + (int)w, file), 'A' + (int)w);
    assert_int_equal(fclose(file), 0);
    kit_run run = {.arena = bw_arena_new(0)};
    bw_source source = {.name = "test.lua", .text = KIT_HEAD, .len = strlen(KIT_HEAD)};
    *rc = bw_sequence_load_sources(&source, 1, run.arena, &run.loaded, err);
    return run;
}

static void test_host_stays_whole(void **state) {
    (void)state;
    static const struct {
        way w;
        const char *part; /* of the one mistake */
    } rows[] = {
        {GARBAGE, "the worker's answer is not well-formed"},
        {OTHER_TYPE, "the worker's answer is not well-formed"},
        {SHORT_LIMIT, "the worker's answer is not well-formed"},
        {WILD_LIMIT, "the worker's answer is not well-formed"},
        {HUGE_LISTS, "the worker's answer is not well-formed"},
        {ASK_FOR_EVER, "ran for more than a second"},
        {DIE, "the sequence broke its worker, which ended with exit code 5"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_status rc = BW_OK;
        bw_err err = {.code = BW_OK, .text = ""};
        kit_run run = load_from(rows[i].w, &rc, &err);
        assert_int_equal(rc, BW_OK);
        kit_assert_one(&run, 1, rows[i].part);
        assert_string_equal(run.loaded.mistake[0].where.file, "test.lua");
        kit_end(&run);
    }
}

/* Names that lead elsewhere are refused by the host, whatever the worker lets through. */
static void test_host_checks_names_itself(void **state) {
    (void)state;
    static const way ways[] = {ASK_WILD_NAMES, ASK_LONG_NAME, EMPTY_PLAN};
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        bw_status rc = BW_OK;
        kit_run run = load_from(ways[i], &rc, NULL);
        assert_int_equal(rc, BW_OK);
        kit_assert_has(&run, 1, "sequence{ title");
        kit_end(&run);
    }
}

static void test_spots_that_are_none(void **state) {
    (void)state;
    bw_status rc = BW_OK;
    kit_run run = load_from(WILD_SPOTS, &rc, NULL);
    assert_int_equal(rc, BW_OK);
    assert_null(run.loaded.plan);
    for (size_t i = 0; i < run.loaded.mistake_n; i++) {
        assert_string_equal(run.loaded.mistake[i].where.file, "test.lua");
        assert_true(run.loaded.mistake[i].where.line >= 1);
    }
    kit_end(&run);
}

static void test_without_a_wall_nothing_runs(void **state) {
    (void)state;
    bw_status rc = BW_OK;
    bw_err err = {.code = BW_OK, .text = ""};
    kit_run run = load_from(UNWALLED, &rc, &err);
    assert_int_equal(rc, BW_E_STATE);
    assert_string_equal(err.text, "sequences cannot be run safely on this machine: no wall");
    kit_end(&run);
    run = load_from(ANSWER_NOTHING_TO_HELLO, &rc, &err);
    assert_int_equal(rc, BW_E_IO);
    kit_end(&run);
    assert_int_equal(remove(WAY_FILE), 0);
}

static void test_limit_frames(void **state) {
    (void)state;
    static const uint8_t good[7] = {BW_LIMIT_MEMORY, 1, 0, 12, 0, 0, 0};
    bw_frame frame = {.type = BW_FRAME_LIMIT, .data = good, .len = sizeof good};
    bw_spot spot = {9, 9};
    assert_non_null(strstr(bw_sequence_limit_text(&frame, &spot), "64 MiB"));
    assert_int_equal(spot.source, 1);
    assert_int_equal(spot.line, 12);
    for (unsigned kind = 0; kind < 256; kind++) {
        uint8_t body[7] = {(uint8_t)kind, 0, 0, 1, 0, 0, 0};
        frame = (bw_frame){.type = BW_FRAME_LIMIT, .data = body, .len = sizeof body};
        bool known = kind >= BW_LIMIT_TIME && kind <= BW_LIMIT_OUTPUT;
        const char *text = bw_sequence_limit_text(&frame, &spot);
        assert_int_equal(strstr(text, "not well-formed") == NULL, known);
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_host_stays_whole),    cmocka_unit_test(test_host_checks_names_itself),
    cmocka_unit_test(test_spots_that_are_none), cmocka_unit_test(test_without_a_wall_nothing_runs),
    cmocka_unit_test(test_limit_frames),
};

int main(int argc, char *argv[]) {
    return kit_is_worker(argc, argv) ? rogue_main() : cmocka_run_group_tests(tests, NULL, NULL);
}
