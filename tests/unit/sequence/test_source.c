/* test_source.c - which files a sequence may pull in, and which it may not. */
#include "kit.h"

#include "sequence/source.h"
#include "sequence/wire.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "cmocka_all.h"

#define NOTE "note{id = 'n', say = 's'}\n"

static kit_run load_in(const char *folder, const char *name) {
    char *path = kit_path(folder, name);
    kit_run run = {.arena = bw_arena_new(0)};
    bw_err err = {.code = BW_OK, .text = ""};
    bw_status rc = bw_sequence_load(path, run.arena, &run.loaded, &err);
    free(path);
    if (rc != BW_OK) {
        fail_msg("%s", err.text);
    }
    return run;
}

static void assert_source(const kit_run *run, size_t index, const char *folder, const char *name) {
    char *path = kit_path(folder, name);
    assert_true(index < run->loaded.source_n);
    assert_string_equal(run->loaded.source[index].name, path);
    free(path);
}

static void test_three_places(void **state) {
    (void)state;
    char *folder = kit_folder();
    kit_write_text(folder, "engine/a.lua",
                   KIT_HEAD "local x, y, z = require 'beside', require 'below.deep', require 'up'\n"
                            "note{id = 'n', say = x .. y .. z}\n");
    kit_write_text(folder, "engine/beside.lua", "return 'one '");
    kit_write_text(folder, "engine/lib/below/deep.lua", "return 'two '");
    kit_write_text(folder, "lib/up.lua", "return 'three'");
    kit_run run = load_in(folder, "engine/a.lua");
    kit_assert_plan(&run);
    assert_string_equal(run.loaded.plan->step[0].say, "one two three");
    assert_int_equal(run.loaded.source_n, 4);
    assert_source(&run, 1, folder, "engine/beside.lua");
    assert_source(&run, 2, folder, "engine/lib/below/deep.lua");
    assert_source(&run, 3, folder, "lib/up.lua");
    kit_end(&run);
    kit_folder_remove(folder);
}

static void test_nearest_place_wins_and_is_read_once(void **state) {
    (void)state;
    char *folder = kit_folder();
    kit_write_text(folder, "engine/a.lua", KIT_HEAD "require 'm' require 'm'\n" NOTE);
    kit_write_text(folder, "engine/m.lua", "caution{id = 'own', say = 's'}");
    kit_write_text(folder, "lib/m.lua", "caution{id = 'shared', say = 's'}");
    kit_run run = load_in(folder, "engine/a.lua");
    kit_assert_plan(&run);
    assert_int_equal(run.loaded.plan->step_n, 2);
    assert_string_equal(run.loaded.plan->step[0].id, "own");
    assert_int_equal(run.loaded.source_n, 2);
    kit_end(&run);
    kit_folder_remove(folder);
}

/* A mistake in a module names the module's file and line, a syntax error too. */
static void test_mistakes_in_modules(void **state) {
    (void)state;
    char *folder = kit_folder();
    kit_write_text(folder, "a.lua", KIT_HEAD "require 'm'\nrequire 'broken'\n" NOTE);
    kit_write_text(folder, "m.lua", "\n\ncaution{id = 'own'}");
    kit_write_text(folder, "broken.lua", "\n)");
    kit_run run = load_in(folder, "a.lua");
    assert_int_equal(run.loaded.mistake_n, 2);
    char *path = kit_path(folder, "m.lua");
    assert_string_equal(run.loaded.mistake[0].where.file, path);
    free(path);
    kit_assert_has(&run, 3, "caution lacks `say`");
    kit_assert_has(&run, 2, "unexpected symbol near ')'");
    kit_end(&run);
    kit_folder_remove(folder);
}

static void assert_no_module(const char *folder, const char *name, const char *part) {
    char text[400];
    char *path = kit_path(folder, "a.lua");
    (void)snprintf(text, sizeof text, KIT_HEAD "require(%s)\n" NOTE, name);
    kit_write_text(folder, "a.lua", text);
    free(path);
    kit_run run = load_in(folder, "a.lua");
    kit_assert_one(&run, 2, part);
    assert_int_equal(run.loaded.source_n, 1);
    kit_end(&run);
}

static void test_names_that_lead_elsewhere(void **state) {
    (void)state;
    char *folder = kit_folder();
    kit_write_text(folder, "outside.lua", "return 1");
    kit_write_text(folder, "in/ok.lua", "return 1");
    char *in = kit_path(folder, "in");
    static const char *const names[] = {
        "'../outside'", "'/etc/passwd'", "'..outside'",  "'a..b'",     "'a//b'", "'ok.'",
        "'.ok'",        "'ok/'",         "'ok\\0x'",     "'%2e%2e/x'", "'OK'",   "''",
        "'a b'",        "'~/x'",         "nil",          "{}",         "42",     "'./ok'",
        "'a/../ok'",    "'o\\u{0301}k'", "('x'):rep(60)"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        assert_no_module(in, names[i], "require takes the name of a module");
    }
    assert_no_module(in, "'absent'", "is neither beside the sequence nor in a lib folder");
    free(in);
    kit_folder_remove(folder);
}

static void test_no_links(void **state) {
    (void)state;
    char *folder = kit_folder();
    kit_write_text(folder, "outside/secret.lua", "return 1");
    kit_write_text(folder, "in/x.lua", "");
    char *in = kit_path(folder, "in");
    char *link = kit_path(folder, "in/linked.lua");
    char *link_folder = kit_path(folder, "in/dir");
    assert_int_equal(symlink("../outside/secret.lua", link), 0);
    assert_int_equal(symlink("../outside", link_folder), 0);
    char *fifo = kit_path(folder, "in/pipe.lua");
    assert_int_equal(mkfifo(fifo, 0600), 0);
    kit_write_text(folder, "in/d.lua/x", "");
    assert_no_module(in, "'linked'", "linked.lua is a link: a module must be a plain file");
    assert_no_module(in, "'dir.secret'", "is neither beside");
    assert_no_module(in, "'pipe'", "pipe.lua is not a plain file");
    assert_no_module(in, "'d'", "d.lua is a folder, where a file is meant");
    free(link);
    free(link_folder);
    free(fifo);
    free(in);
    kit_folder_remove(folder);
}

static void test_modules_that_are_no_text(void **state) {
    (void)state;
    char *folder = kit_folder();
    kit_write(folder, "m.lua", "\xff", 1);
    assert_no_module(folder, "'m'", "m.lua is not a text");
    kit_write(folder, "m.lua", "a\0b", 3);
    assert_no_module(folder, "'m'", "m.lua is not a text");
    char *long_text = malloc(BW_SEQUENCE_BYTES_MAX + 1);
    assert_non_null(long_text);
    memset(long_text, ' ', BW_SEQUENCE_BYTES_MAX + 1);
    kit_write(folder, "m.lua", long_text, BW_SEQUENCE_BYTES_MAX + 1);
    assert_no_module(folder, "'m'", "m.lua is longer than");
    free(long_text);
    kit_folder_remove(folder);
}

static void test_circles_and_crowds(void **state) {
    (void)state;
    char *folder = kit_folder();
    kit_write_text(folder, "a.lua", KIT_HEAD "require 'b'\n" NOTE);
    kit_write_text(folder, "b.lua", "require 'c'");
    kit_write_text(folder, "c.lua", "\nrequire 'b'");
    kit_run run = load_in(folder, "a.lua");
    kit_assert_has(&run, 2, "module `b` requires itself");
    kit_end(&run);
    kit_write_text(folder, "a.lua", KIT_HEAD "for i = 1, 40 do require('m' .. i) end\n" NOTE);
    for (int i = 1; i <= 40; i++) {
        char name[16];
        (void)snprintf(name, sizeof name, "m%d.lua", i);
        kit_write_text(folder, name, "return 1");
    }
    run = load_in(folder, "a.lua");
    kit_assert_has(&run, 2, "more than 32 modules");
    assert_int_equal(run.loaded.source_n, BW_RUN_MODULES_MAX + 1);
    kit_end(&run);
    kit_folder_remove(folder);
}

/* Where a relative path begins there is no folder to cut. */
static void test_folders_by_name(void **state) {
    (void)state;
    char *folder = kit_folder();
    kit_write_text(folder, "engine/a.lua", KIT_HEAD "require 'm'\n" NOTE);
    kit_write_text(folder, "lib/m.lua", "return 1");
    char *engine = kit_path(folder, "engine");
    char *before = getcwd(NULL, 0);
    static const struct {
        const char *cwd, *path, *module;
    } rows[] = {{"", "engine/a.lua", "lib/m.lua"},
                {"", "./engine/a.lua", "./lib/m.lua"},
                {"engine", "a.lua", "../lib/m.lua"},
                {"engine", "./a.lua", "./../lib/m.lua"},
                {"lib", "../engine/a.lua", "../lib/m.lua"},
                {"", "engine/../engine/a.lua", "engine/../lib/m.lua"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char *cwd = kit_path(folder, rows[i].cwd);
        assert_int_equal(chdir(cwd), 0);
        free(cwd);
        kit_run run = {.arena = bw_arena_new(0)};
        assert_int_equal(bw_sequence_load(rows[i].path, run.arena, &run.loaded, NULL), BW_OK);
        kit_assert_plan(&run);
        assert_string_equal(run.loaded.source[1].name, rows[i].module);
        kit_end(&run);
    }
    assert_int_equal(chdir(before), 0);
    free(before);
    free(engine);
    kit_folder_remove(folder);
}

static void test_short_names(void **state) {
    (void)state;
    static const struct {
        const char *path, *name;
    } rows[] = {{"a/b/c.lua", "c.lua"},
                {"c.lua", "c.lua"},
                {"a/\x1b[31m.lua", "sequence"},
                {"a/", ""},
                {"0123456789012345678901234567890123456789.lua",
                 "0123456789012345678901234567890123456789"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char name[BW_SHORT_NAME_MAX + 1];
        bw_source_short_name(rows[i].path, name, sizeof name);
        assert_string_equal(name, rows[i].name);
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_three_places),
    cmocka_unit_test(test_nearest_place_wins_and_is_read_once),
    cmocka_unit_test(test_mistakes_in_modules),
    cmocka_unit_test(test_names_that_lead_elsewhere),
    cmocka_unit_test(test_no_links),
    cmocka_unit_test(test_modules_that_are_no_text),
    cmocka_unit_test(test_circles_and_crowds),
    cmocka_unit_test(test_folders_by_name),
    cmocka_unit_test(test_short_names),
};

KIT_MAIN(tests)
