/* test_seen.c - an older copy, or another history, is not added to; nor may two write at once. */
#include "cmocka_all.h"
#include "record_help.h"

#include "base/text.h"
#include "record/seen.h"

#include <inttypes.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static void copy_file(const char *from, const char *to) {
    static char bytes[1 << 20];
    FILE *in = fopen(from, "rb");
    assert_non_null(in);
    size_t len = fread(bytes, 1, sizeof bytes, in);
    assert_true(len < sizeof bytes);
    (void)fclose(in);
    write_file(to, bytes, len, 0600);
}

static void copy_record(const char *name) {
    char path[4096];
    copy_file(record, join(home, name, path));
}

static void put_back(const char *name) {
    char path[4096];
    copy_file(join(home, name, path), record);
    remove_beside("-wal");
    remove_beside("-shm");
}

/* n more notes, signed behind the last one. */
static void add_signed(size_t n, const char *text) {
    bw_store *store = open_store(home, BW_STORE_WRITE);
    bw_key *key = open_key(home);
    if (bw_store_size(store) == 0) {
        append_opened(store, "A", 0);
    }
    for (size_t i = 0; i < n; i++) {
        append_entry(store, note_entry("A", (int64_t)bw_store_size(store), text));
    }
    assert_int_equal(bw_store_checkpoint(store, key, NULL), BW_OK);
    bw_key_free(key);
    bw_store_close(store);
}

static void expect_refused(const char *a, const char *b) {
    bw_store *store = NULL;
    bw_err err = {0};
    assert_int_equal(bw_store_open(home, BW_STORE_WRITE, &store, &err), BW_E_DATA);
    if (strstr(err.text, a) == NULL || strstr(err.text, b) == NULL) {
        fail_msg("it said: %s", err.text);
    }
    /* It can still be read. */
    bw_store_close(open_store(home, BW_STORE_READ));
}

static void an_older_copy_is_refused(void **state) {
    (void)state;
    add_signed(3, "three");
    copy_record("old");
    add_signed(4, "four");
    copy_record("new");
    put_back("old");
    expect_refused("older copy: 8 entries were signed", "it has 4");
    put_back("new");
    add_signed(1, "goes on");
}

/* The copy was added to elsewhere, until it is as long as, or longer than, what was signed here. */
static void another_history_is_refused(void **state) {
    (void)state;
    char path[4096];
    char aside[4096];
    for (size_t n = 4; n < 7; n++) {
        add_signed(3, "common");
        copy_record("old");
        add_signed(5, "here");
        assert_int_equal(rename(join(home, "seen", path), join(home, "seen.here", aside)), 0);
        put_back("old");
        add_signed(n, "there");
        assert_int_equal(rename(aside, path), 0);
        expect_refused(n < 5 ? "older copy" : "9 entries are not those that this bench", "put the");
        (void)remove_home(NULL);
        (void)make_home(NULL);
    }
}

static void a_record_that_is_gone_is_not_begun_anew(void **state) {
    (void)state;
    bw_store *store = NULL;
    bw_err err = {0};
    add_signed(3, "three");
    assert_int_equal(unlink(record), 0);
    remove_beside("-wal");
    remove_beside("-shm");
    assert_int_equal(bw_store_open(home, BW_STORE_WRITE, &store, &err), BW_E_DATA);
    assert_non_null(strstr(err.text, "is gone: 4 entries were signed"));
    assert_false(file_exists(record));
}

/* A record that comes without its memory is taken as it is, and remembered from then on. */
static void a_record_from_elsewhere_is_remembered(void **state) {
    (void)state;
    char seen_path[4096];
    char edge_path[4096];
    bw_seen newest;
    bw_tree tree;
    add_signed(6, "six");
    assert_int_equal(unlink(join(home, "seen", seen_path)), 0);
    assert_int_equal(unlink(join(home, "edge", edge_path)), 0);
    bw_store_close(open_store(home, BW_STORE_WRITE));
    assert_int_equal(bw_seen_read(seen_path, &newest, NULL), BW_OK);
    assert_int_equal(newest.size, 7);
    assert_true(bw_edge_read(home, newest.size, &newest.root, &tree));
    assert_int_equal(tree.size, 7);
}

/* The edge is only a help: lost, of another size or damaged in any byte, opening comes to the same
 * tree. */
static void a_damaged_edge_changes_nothing(void **state) {
    (void)state;
    char path[4096];
    char text[1024];
    add_signed(6, "six");
    FILE *in = fopen(join(home, "edge", path), "rb");
    assert_non_null(in);
    size_t len = fread(text, 1, sizeof text, in);
    (void)fclose(in);
    for (size_t i = 0; i < len; i += 3) {
        text[i] ^= 1;
        write_file(path, text, len, 0600);
        text[i] ^= 1;
        bw_store *store = open_store(home, BW_STORE_WRITE);
        assert_int_equal(bw_store_size(store), 7);
        bw_store_close(store);
    }
    write_file(path, text, len / 2, 0600);
    add_signed(1, "eight");
    bw_store *store = open_store(home, BW_STORE_WRITE);
    assert_int_equal(bw_store_size(store), 8);
    bw_store_close(store);
}

static void a_memory_that_is_none_is_refused(void **state) {
    (void)state;
    char path[4096];
    add_signed(3, "three");
    write_file(join(home, "seen", path), "half", 4, 0600);
    expect_refused("seen", "not a signed note");
}

/* Entries behind the newest checkpoint are read at every start. */
static void the_unsigned_end_is_hashed_again(void **state) {
    (void)state;
    add_signed(3, "three");
    bw_store *store = open_store(home, BW_STORE_WRITE);
    append_entry(store, note_entry("A", 4, "five"));
    append_entry(store, note_entry("A", 5, "six"));
    bw_store_close(store);
    add_signed(2, "seven");
    bw_seen newest;
    char path[4096];
    assert_int_equal(bw_seen_read(join(home, "seen", path), &newest, NULL), BW_OK);
    assert_int_equal(newest.size, 8);
    assert_int_equal(unlink(join(home, "edge", path)), 0);
    store = open_store(home, BW_STORE_WRITE); /* all of it hashed: the same root */
    assert_int_equal(bw_store_size(store), 8);
    bw_store_close(store);
}

enum { STARTS = 200 };

/* Waits for its gun, opens, tells what came of it, and holds on until the other has told too. */
static void start(int gun, int told, int end) {
    char byte = 0;
    bw_store *store = NULL;
    bw_err err = {0};
    ssize_t n = read(gun, &byte, 1);
    bw_status status = n == 0 ? bw_store_open(home, BW_STORE_WRITE, &store, &err) : BW_E_IO;
    char line[BW_ERR_TEXT_MAX + 32] = {0};
    (void)snprintf(line, sizeof line, "%d %ld %.380s", (int)status, (long)getpid(), err.text);
    n = write(told, line, sizeof line);
    n = n > 0 ? read(end, &byte, 1) : n;
    bw_store_close(store);
    _exit(n == 0 ? 0 : 1);
}

static void two_at_once(void) {
    int gun[2];
    int told[2];
    int end[2];
    pid_t child[2];
    assert_true(pipe(gun) == 0 && pipe(told) == 0 && pipe(end) == 0);
    for (int i = 0; i < 2; i++) {
        child[i] = fork();
        assert_true(child[i] >= 0);
        if (child[i] == 0) {
            (void)close(gun[1]);
            (void)close(end[1]);
            start(gun[0], told[1], end[0]);
        }
    }
    (void)close(gun[1]);
    int status[2] = {1, 1};
    long pid[2] = {0, 0};
    char line[2][BW_ERR_TEXT_MAX + 32];
    for (int i = 0; i < 2; i++) {
        assert_int_equal(read(told[0], line[i], sizeof line[i]), (ssize_t)sizeof line[i]);
        assert_int_equal(sscanf(line[i], "%d %ld", &status[i], &pid[i]), 2);
    }
    (void)close(end[1]);
    for (int i = 0; i < 2; i++) {
        int code = -1;
        assert_int_equal(waitpid(child[i], &code, 0), child[i]);
        assert_int_equal(code, 0);
    }
    (void)close(gun[0]);
    (void)close(told[0]);
    (void)close(told[1]);
    (void)close(end[0]);
    int winner = status[0] == BW_OK ? 0 : 1;
    char holds[64];
    (void)snprintf(holds, sizeof holds, "in use by process %ld", pid[winner]);
    if (status[winner] != BW_OK || status[1 - winner] != BW_E_BUSY ||
        strstr(line[1 - winner], holds) == NULL) {
        fail_msg("%s\n%s", line[0], line[1]);
    }
}

static void of_two_starts_one_writes(void **state) {
    (void)state;
    for (int i = 0; i < STARTS; i++) {
        two_at_once();
        if (i % 20 == 0) { /* also on a home where all is still to be made */
            (void)remove_home(NULL);
            (void)make_home(NULL);
        }
    }
    print_message("%d pairs of starts\n", STARTS);
}

/* ---- what is remembered outside of the home folder ---- */

static char state[4096];

static bw_status open_remembered(bw_store **store, bw_err *err) {
    return bw_store_open_with(home, state, BW_STORE_WRITE, store, err);
}

static void sign_remembered(size_t n, const char *text) {
    bw_store *store = NULL;
    bw_key *key = open_key(home);
    assert_int_equal(open_remembered(&store, NULL), BW_OK);
    if (bw_store_size(store) == 0) {
        append_opened(store, "A", 0);
    }
    for (size_t i = 0; i < n; i++) {
        append_entry(store, note_entry("A", (int64_t)bw_store_size(store), text));
    }
    assert_int_equal(bw_store_checkpoint(store, key, NULL), BW_OK);
    bw_key_free(key);
    bw_store_close(store);
}

static void copy_home(const char *from, const char *to) {
    static const char *const names[] = {"record.db", "seen", "edge", "key"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char a[4096];
        char b[4096];
        copy_file(join(from, names[i], a), join(to, names[i], b));
    }
    remove_beside("-wal");
    remove_beside("-shm");
}

static void a_whole_home_put_back_is_noticed(void **unused) {
    (void)unused;
    char aside[4096];
    char other[4096];
    bw_store *store = NULL;
    bw_err err = {0};
    make_folder(state);
    make_folder(aside);
    make_folder(other);
    sign_remembered(3, "three");
    copy_home(home, aside);
    sign_remembered(4, "four");
    copy_home(home, other);
    copy_home(aside, home);
    assert_int_equal(open_remembered(&store, &err), BW_E_DATA);
    assert_non_null(strstr(err.text, "8 entries were signed on this bench, it has 4"));
    assert_non_null(strstr(err.text, state));
    /* The newer one goes on; a copy of the older one at another place is another bench. */
    copy_home(other, home);
    sign_remembered(1, "goes on");
    copy_home(aside, other);
    assert_int_equal(bw_store_open_with(other, state, BW_STORE_WRITE, &store, &err), BW_OK);
    bw_store_close(store);
    /* Another history of the same length as what was signed. */
    copy_home(aside, home);
    add_signed(0, "");
    add_signed(5, "there");
    assert_int_equal(open_remembered(&store, &err), BW_E_DATA);
    assert_non_null(strstr(err.text, "9 entries are not those that this bench has signed"));
    remove_folder(other);
    remove_folder(aside);
    remove_folder(state);
}

/* What cannot be written there stops nobody; a record begun anew in the same place is another. */
static void the_memory_elsewhere_is_a_help(void **unused) {
    (void)unused;
    char path[4096];
    make_folder(state);
    write_file(join(state, "file", path), "x", 1, 0600);
    (void)bw_text_copy(state, sizeof state, path); /* no folder, and none can be made */
    sign_remembered(3, "three");
    (void)remove_home(NULL);
    *strrchr(state, '/') = '\0';
    (void)make_home(NULL);
    sign_remembered(5, "five");
    char name[4096];
    (void)bw_text_copy(name, sizeof name, home);
    remove_folder(home);
    assert_int_equal(mkdir(name, 0700), 0);
    sign_remembered(1, "anew");
    remove_folder(state);
}

/* What a kill inside the writing of them leaves behind. */
static void half_written_files_are_cleared_away(void **unused) {
    (void)unused;
    static const char *const names[] = {"seen.new-a1B2c3", "edge.new-XYZ012", "key.new-000000",
                                        "key.pub.new-aaaaaa", "key.next.new-bbbbbb"};
    static const char *const others[] = {"seen.new-a1B2c3d", "notes.new-a1B2c3", "seen.newer"};
    char path[4096];
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        write_file(join(home, names[i], path), "half", 4, 0600);
    }
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        write_file(join(home, others[i], path), "mine", 4, 0600);
    }
    add_signed(1, "one");
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        assert_false(file_exists(join(home, names[i], path)));
    }
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        assert_true(file_exists(join(home, others[i], path)));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_home, remove_home)
        TEST(an_older_copy_is_refused),
        TEST(another_history_is_refused),
        TEST(a_record_that_is_gone_is_not_begun_anew),
        TEST(a_record_from_elsewhere_is_remembered),
        TEST(a_damaged_edge_changes_nothing),
        TEST(a_memory_that_is_none_is_refused),
        TEST(the_unsigned_end_is_hashed_again),
        TEST(of_two_starts_one_writes),
        TEST(a_whole_home_put_back_is_noticed),
        TEST(the_memory_elsewhere_is_a_help),
        TEST(half_written_files_are_cleared_away),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
