/* test_faults.c - full disks, kills and closed descriptors: nothing that was confirmed is lost. */
#include "cmocka_all.h"
#include "record_help.h"

#include <dirent.h>
#include <fcntl.h>
#include <inttypes.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

/* A disk that takes no more in the middle of an entry. */
static int append_over_the_limit(void) {
    (void)signal(SIGXFSZ, SIG_IGN);
    bw_store *store = open_store(home, BW_STORE_WRITE);
    append_opened(store, "A", 1);
    append_entry(store, note_entry("A", 2, "two"));
    struct stat wal;
    char path[4200];
    (void)snprintf(path, sizeof path, "%s-wal", record);
    assert_int_equal(stat(path, &wal), 0);
    rlim_t room = (rlim_t)wal.st_size + 100;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &(struct rlimit){room, RLIM_INFINITY}), 0);
    bw_entry entry = note_entry("A", 3, "three");
    bw_err err = {0};
    bw_status status = bw_store_append(store, &entry, 1, NULL, 0, &err);
    assert_int_equal(status, BW_E_IO);
    assert_int_equal(entry.number, 0);
    assert_int_equal(bw_store_size(store), 2);
    /* Room again, but no trust: rule 7. */
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &(struct rlimit){RLIM_INFINITY, RLIM_INFINITY}), 0);
    bw_err again = {0};
    bw_key *key = open_key(home);
    bw_arena *arena = bw_arena_new(0);
    const char *note = NULL;
    assert_int_equal(bw_store_append(store, &entry, 1, NULL, 0, &again), BW_E_STATE);
    assert_non_null(strstr(again.text, err.text));
    assert_int_equal(bw_store_checkpoint(store, key, NULL), BW_E_STATE);
    assert_int_equal(bw_store_each(store, NULL, look, &(seen){0}, NULL), BW_E_STATE);
    assert_int_equal(bw_store_newest_checkpoint(store, arena, &note, NULL), BW_E_STATE);
    bw_arena_free(arena);
    bw_key_free(key);
    bw_store_close(store);
    return 0;
}

static void a_failed_write_leaves_nothing_and_ends_the_store(void **state) {
    (void)state;
    assert_int_equal(in_child(append_over_the_limit), 0);
    bw_store *store = open_store(home, BW_STORE_WRITE);
    assert_int_equal(bw_store_size(store), 2);
    append_entry(store, note_entry("A", 3, "three"));
    bw_store_close(store);
}

static int make_without_room(void) {
    (void)signal(SIGXFSZ, SIG_IGN);
    struct rlimit limit = {10000, 10000};
    bw_store *store = NULL;
    bw_err err = {0};
    return setrlimit(RLIMIT_FSIZE, &limit) == 0 &&
                   bw_store_open(home, BW_STORE_WRITE, &store, &err) == BW_E_IO
               ? 0
               : 1;
}

static void a_record_is_made_whole_or_not_at_all(void **state) {
    (void)state;
    assert_int_equal(in_child(make_without_room), 0);
    assert_false(file_exists(record));
    assert_false(beside_exists(".new"));
    /* What a process that was killed while it made one leaves behind is cleared away. */
    char path[4200];
    (void)snprintf(path, sizeof path, "%s.new", record);
    write_file(path, "half", 4, 0600);
    (void)snprintf(path, sizeof path, "%s.new-journal", record);
    write_file(path, "half", 4, 0600);
    bw_store_close(open_store(home, BW_STORE_WRITE));
    assert_false(beside_exists(".new"));
    assert_false(beside_exists(".new-journal"));
}

/* An old copy is put in its place while it is open: nothing more may be added or signed. */
static void a_replaced_file_ends_the_store(void **state) {
    (void)state;
    char aside[4096];
    bw_store *store = open_store(home, BW_STORE_WRITE);
    bw_err err = {0};
    append_opened(store, "A", 1);
    assert_int_equal(rename(record, join(home, "aside.db", aside)), 0);
    bw_entry entry = note_entry("A", 2, "two");
    assert_int_equal(bw_store_append(store, &entry, 1, NULL, 0, &err), BW_E_IO);
    assert_non_null(strstr(err.text, "moved"));
    assert_int_equal(bw_store_append(store, &entry, 1, NULL, 0, &err), BW_E_STATE);
    bw_store_close(store);
}

/* Appends until it is killed, and tells the number of each entry that was acknowledged. */
static void append_and_tell(int out) {
    bw_store *store = open_store(home, BW_STORE_WRITE);
    append_opened(store, "A", 0);
    for (int64_t i = 2;; i++) {
        char text[32];
        (void)snprintf(text, sizeof text, "line %" PRId64, i);
        const bw_blob blob = {text, strlen(text)};
        bw_entry entry = note_entry("A", i, text);
        if (bw_store_append(store, &entry, 1, &blob, 1, NULL) != BW_OK ||
            write(out, &entry.number, sizeof entry.number) != (ssize_t)sizeof entry.number) {
            _exit(1);
        }
    }
}

static void kill_after(size_t entries, uint64_t *told) {
    int from[2];
    assert_int_equal(pipe(from), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        (void)close(from[0]);
        append_and_tell(from[1]);
    }
    (void)close(from[1]);
    uint64_t number = 0;
    size_t n = 0;
    *told = 0;
    while (read(from[0], &number, sizeof number) == (ssize_t)sizeof number) {
        *told = number;
        if (++n == entries) {
            assert_int_equal(kill(child, SIGKILL), 0);
        }
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status));
    (void)close(from[0]);
}

static bool check_line(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    bool *fine = ctx;
    char text[32];
    (void)json;
    (void)len;
    (void)snprintf(text, sizeof text, "line %" PRIu64, entry->number);
    *fine = *fine && (entry->number == 1 || strcmp(bw_entry_text(entry, BW_M_TEXT, ""), text) == 0);
    return true;
}

static void a_kill_loses_nothing_that_was_acknowledged(void **state) {
    (void)state;
    static const size_t after[] = {1, 2, 7, 40, 150, 400};
    for (size_t i = 0; i < sizeof after / sizeof after[0]; i++) {
        uint64_t told = 0;
        bool fine = true;
        kill_after(after[i], &told);
        assert_true(told > after[i]);
        bw_store *store = open_store(home, BW_STORE_WRITE);
        /* One more may be there: committed, and killed before it could be told. */
        assert_in_range(bw_store_size(store), told, told + 1);
        assert_int_equal(bw_store_each(store, NULL, check_line, &fine, NULL), BW_OK);
        assert_true(fine);
        bw_store_close(store);
        (void)remove_home(NULL);
        (void)make_home(NULL);
    }
}

static int open_with_nothing_open(void) {
    for (int fd = 0; fd <= 2; fd++) {
        (void)close(fd);
    }
    bw_store *store = NULL;
    if (bw_store_open(home, BW_STORE_WRITE, &store, NULL) != BW_OK) {
        return 1;
    }
    for (int fd = 0; fd <= 2; fd++) {
        char name[64];
        char target[64] = {0};
        (void)snprintf(name, sizeof name, "/proc/self/fd/%d", fd);
        if (readlink(name, target, sizeof target - 1) < 0 || strcmp(target, "/dev/null") != 0) {
            return 2;
        }
    }
    bw_store_close(store);
    return 0;
}

static void descriptors_0_to_2_are_never_the_record(void **state) {
    (void)state;
    assert_int_equal(in_child(open_with_nothing_open), 0);
}

/* A program started from ours gets none of the record's files. */
static void a_started_program_inherits_nothing(void **state) {
    (void)state;
    bw_store *store = open_store(home, BW_STORE_WRITE);
    append_opened(store, "A", 1);
    size_t ours = 0;
    DIR *list = opendir("/proc/self/fd");
    assert_non_null(list);
    for (struct dirent *item = readdir(list); item != NULL; item = readdir(list)) {
        char target[4096] = {0};
        if (readlinkat(dirfd(list), item->d_name, target, sizeof target - 1) > 0 &&
            strncmp(target, home, strlen(home)) == 0) {
            int fd = -1;
            assert_int_equal(sscanf(item->d_name, "%d", &fd), 1);
            int flags = fcntl(fd, F_GETFD);
            assert_true((flags & FD_CLOEXEC) != 0);
            ours++;
        }
    }
    (void)closedir(list);
    assert_true(ours >= 3); /* lock, record.db, -wal at the least */
    bw_store_close(store);
}

int main(void) {
    const struct CMUnitTest tests[] = {
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_home, remove_home)
        TEST(a_failed_write_leaves_nothing_and_ends_the_store),
        TEST(a_record_is_made_whole_or_not_at_all),
        TEST(a_replaced_file_ends_the_store),
        TEST(a_kill_loses_nothing_that_was_acknowledged),
        TEST(descriptors_0_to_2_are_never_the_record),
        TEST(a_started_program_inherits_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
