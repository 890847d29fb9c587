/* test_docs.c - docs/record-format.md says what the registry and the schema say, and the check that
 * it gives to a stranger agrees with the program. */
#include "cmocka_all.h"
#include "record_help.h"

#include "base/text.h"
#include "record/audit.h"
#include "record/schema.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { PAGE_MAX = 64 * 1024, ROW_MAX = 1024 };

static char page[PAGE_MAX];

static int read_page(void **state) {
    (void)state;
    FILE *file = fopen(BW_SOURCE_DIR "/docs/record-format.md", "rb");
    if (file == NULL) {
        return -1;
    }
    size_t len = fread(page, 1, sizeof page - 1, file);
    page[len] = '\0';
    return fclose(file) == 0 && len > 0 && len < sizeof page - 1 ? 0 : -1;
}

/* The part of the page from one heading to the next. */
static const char *section(const char *heading, const char **end) {
    const char *begin = strstr(page, heading);
    assert_non_null(begin);
    *end = strstr(begin + strlen(heading), "\n#");
    assert_non_null(*end);
    return begin;
}

static size_t rows_in(const char *heading) {
    const char *end = NULL;
    size_t n = 0;
    for (const char *at = section(heading, &end); at < end; at++) {
        n += strncmp(at, "\n| `", 4) == 0 ? 1 : 0;
    }
    return n;
}

static void expect_row(const char *heading, const char *row) {
    const char *end = NULL;
    const char *begin = section(heading, &end);
    const char *found = strstr(begin, row);
    if (found == NULL || found >= end) {
        fail_msg("docs/record-format.md, \"%s\", lacks the row:%s", heading, row);
    }
}

static void add_members(bw_text *row, bw_kind kind, bw_membership membership) {
    size_t n = 0;
    for (bw_member m = 0; m < BW_M_COUNT; m++) {
        if (bw_kind_member(kind, m) == membership) {
            bw_text_add(row, "%s`%s`", n++ > 0 ? " " : "", bw_member_name(m));
        }
    }
    bw_text_add(row, n == 0 ? "none |" : " |");
}

static void every_kind_has_its_row(void **state) {
    (void)state;
    for (bw_kind kind = 0; kind < BW_KIND_COUNT; kind++) {
        char line[ROW_MAX];
        bw_text row = bw_text_on(line, sizeof line);
        bw_text_add(&row, "\n| `%s` | %s | ", bw_kind_name(kind), bw_kind_says(kind));
        add_members(&row, kind, BW_MEMBER_MUST);
        bw_text_add(&row, " ");
        add_members(&row, kind, BW_MEMBER_MAY);
        bw_text_add(&row, "\n");
        assert_false(row.cut);
        expect_row("### Kinds", line);
    }
    assert_int_equal(rows_in("### Kinds"), BW_KIND_COUNT);
}

static void every_member_has_its_row(void **state) {
    (void)state;
    static const char *const types[] = {"none", "text", "number", "whole", "flag", "words"};
    for (bw_member m = 0; m < BW_M_COUNT; m++) {
        char line[ROW_MAX];
        bw_text row = bw_text_on(line, sizeof line);
        bw_text_add(&row, "\n| `%s` | %s | %s |\n", bw_member_name(m), types[bw_member_type(m)],
                    bw_member_says(m));
        assert_false(row.cut);
        expect_row("### Members", line);
    }
    assert_int_equal(rows_in("### Members"), BW_M_COUNT);
}

static void the_tables_stand_there_word_for_word(void **state) {
    (void)state;
    char id[64];
    size_t triggers = 0;
#define S(name, create)                                                                            \
    triggers += strncmp(create, "CREATE TRIGGER", 14) == 0 ? 1 : 0;                                \
    assert_non_null(strstr(page, create));
    BW_RECORD_SCHEMA(S)
#undef S
    assert_int_equal(triggers, 9);
    assert_non_null(strstr(page, "Nine triggers"));
    (void)snprintf(id, sizeof id, "`PRAGMA application_id` is %d (hexadecimal\n%x,",
                   BW_RECORD_APPLICATION_ID, BW_RECORD_APPLICATION_ID);
    assert_non_null(strstr(page, id));
    (void)snprintf(id, sizeof id, "the version of this format: %d.", BW_RECORD_VERSION);
    assert_non_null(strstr(page, id));
}

/* Writes the page's first block of that language to home/name. */
static void write_script(const char *language, const char *name) {
    char path[4096];
    char fence[32];
    (void)snprintf(fence, sizeof fence, "\n```%s\n", language);
    const char *begin = strstr(page, fence);
    assert_non_null(begin);
    begin += strlen(fence);
    const char *end = strstr(begin, "\n```");
    assert_non_null(end);
    write_file(join(home, name, path), begin, (size_t)(end - begin) + 1, 0600);
}

static void make_record(char *verifier, char *root_hex) {
    bw_store *store = open_store(home, BW_STORE_WRITE);
    bw_key *key = open_key(home);
    bw_arena *arena = bw_arena_new(0);
    bw_audit audit;
    append_opened(store, "C4-0017", 0);
    for (int64_t i = 1; i < 21; i++) {
        append_entry(store, note_entry("C4-0017", i, "a \"line\" of µm"));
        if (i == 4 || i == 20) {
            assert_int_equal(bw_store_checkpoint(store, key, NULL), BW_OK);
        }
    }
    assert_int_equal(bw_key_verifier(key, verifier, NULL), BW_OK);
    assert_int_equal(bw_audit_run(store, &(bw_audit_setup){0}, arena, &audit, NULL), BW_OK);
    bw_hex(audit.root.byte, BW_HASH_BYTES, root_hex);
    bw_arena_free(arena);
    bw_key_free(key);
    bw_store_close(store);
}

/* What the command says, run in home. */
static void say(const char *command, char *said, size_t size) {
    char line[8192];
    (void)snprintf(line, sizeof line, "cd %s && %s 2>&1", home, command);
    FILE *out = popen(line, "r");
    assert_non_null(out);
    size_t len = fread(said, 1, size - 1, out);
    said[len] = '\0';
    assert_int_equal(pclose(out), 0);
}

static bool take_leaf(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    (void)entry;
    assert_int_equal(bw_leaf_hash(json, len, ctx), BW_OK);
    return false;
}

/* The leaf hash with a shell, and a second implementation of the rest in another language, from
 * this page alone. */
static void a_stranger_comes_to_the_same_result(void **state) {
    (void)state;
    if (access("/usr/bin/python3", X_OK) != 0 || access("/usr/bin/openssl", X_OK) != 0 ||
        access("/usr/bin/sqlite3", X_OK) != 0) {
        skip();
    }
    char verifier[BW_VERIFIER_MAX];
    char hex[BW_HASH_HEX];
    char command[64 + BW_VERIFIER_MAX];
    char said[4096];
    char expected[200];
    bw_hash leaf;
    (void)make_home(NULL);
    make_record(verifier, hex);
    write_script("python", "check.py");
    (void)snprintf(command, sizeof command, "/usr/bin/python3 -u check.py record.db '%s'",
                   verifier);
    say(command, said, sizeof said);
    (void)snprintf(expected, sizeof expected, "\n21 %s holds\nSignature Verified Successfully\n",
                   hex);
    if (strncmp(said, "5 ", 2) != 0 || strstr(said, expected) == NULL ||
        strstr(said, "DOES NOT") != NULL) {
        fail_msg("it said: %s", said);
    }
    write_script("sh", "leaf.sh");
    say("sh leaf.sh", said, sizeof said);
    bw_store *store = open_store(home, BW_STORE_READ);
    assert_int_equal(bw_store_each(store, NULL, take_leaf, &leaf, NULL), BW_OK);
    bw_store_close(store);
    bw_hex(leaf.byte, BW_HASH_BYTES, hex);
    assert_memory_equal(said, hex, BW_HASH_HEX - 1);
    (void)remove_home(NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_kind_has_its_row),
        cmocka_unit_test(every_member_has_its_row),
        cmocka_unit_test(the_tables_stand_there_word_for_word),
        cmocka_unit_test(a_stranger_comes_to_the_same_result),
    };
    return cmocka_run_group_tests(tests, read_page, NULL);
}
