/* test_files.c - files that are no record, or no longer the one that was written. */
#include "cmocka_all.h"
#include "record_help.h"

#include "base/text.h"
#include "record/schema.h"

#include <fcntl.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* A whole, closed record, and nothing beside it. */
static void make_record(size_t entries) {
    bw_store *store = open_store(home, BW_STORE_WRITE);
    append_opened(store, "A", 0);
    for (size_t i = 1; i < entries; i++) {
        append_entry(store, note_entry("A", (int64_t)i, "a line of the length that lines have"));
    }
    bw_store_close(store);
    remove_beside("-wal");
    remove_beside("-shm");
}

static size_t read_record(char *data, size_t size) {
    int fd = open(record, O_RDONLY);
    ssize_t n = fd < 0 ? -1 : read(fd, data, size);
    assert_true(n >= 0);
    assert_int_equal(close(fd), 0);
    return (size_t)n;
}

static void refuses_file(bw_store_mode mode, bw_status expected, const char *word) {
    bw_store *store = NULL;
    bw_err err = {0};
    bw_status status = bw_store_open(home, mode, &store, &err);
    if (status != expected || strstr(err.text, word) == NULL || store != NULL) {
        fail_msg("%s: \"%s\", should speak of %s", bw_status_name(status), err.text, word);
    }
}

static void stays_untouched(const void *data, size_t len, const char *word) {
    static char now[1 << 20];
    for (bw_store_mode mode = BW_STORE_READ; mode <= BW_STORE_WRITE; mode++) {
        refuses_file(mode, BW_E_DATA, word);
        assert_int_equal(read_record(now, sizeof now), len);
        assert_memory_equal(now, data, len);
        assert_false(beside_exists("-wal"));
        assert_false(beside_exists("-shm"));
        assert_false(beside_exists("-journal"));
    }
}

static void a_strange_file_is_refused_and_left_alone(void **state) {
    (void)state;
    static char data[1 << 20];
    char lock[4096];
    static const struct {
        const char *text, *word;
    } rows[] = {{"", "empty"},
                {"hello\n", "too short"},
                {"SQLite format 3", "too short"},
                {"This is a text of more than a hundred bytes, such as an editor may leave behind "
                 "when it is told the wrong name.\n",
                 "no SQLite database"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        write_file(record, rows[i].text, strlen(rows[i].text), 0600);
        stays_untouched(rows[i].text, strlen(rows[i].text), rows[i].word);
        assert_false(file_exists(join(home, "lock", lock)));
    }
    assert_int_equal(unlink(record), 0);
    make_record(300);
    size_t len = read_record(data, sizeof data);
    static const size_t cuts[] = {512, 4096, 4097, 20000};
    for (size_t i = 0; i < sizeof cuts / sizeof cuts[0]; i++) {
        assert_true(len > cuts[i]);
        write_file(record, data, cuts[i], 0600);
        stays_untouched(data, cuts[i], "cut off");
    }
    data[63] = 2; /* user_version, the last of its four bytes */
    write_file(record, data, len, 0600);
    stays_untouched(data, len, "format 2, this program knows 1: use a newer program");
    data[63] = 0;
    write_file(record, data, len, 0600);
    stays_untouched(data, len, "format 0");
    data[63] = 1;
    data[71] ^= 1; /* application_id */
    write_file(record, data, len, 0600);
    stays_untouched(data, len, "application id");
    data[71] ^= 1;
    write_file(record, data, len, 0600);
    bw_store *store = open_store(home, BW_STORE_WRITE);
    assert_int_equal(bw_store_size(store), 300);
    bw_store_close(store);
}

static void run_sql(const char *sql) {
    sqlite3 *db = NULL;
    char *why = NULL;
    assert_int_equal(sqlite3_open(record, &db), SQLITE_OK);
    if (sqlite3_exec(db, sql, NULL, NULL, &why) != SQLITE_OK) {
        fail_msg("%s: %s", sql, why);
    }
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static void a_database_of_another_program_is_refused(void **state) {
    (void)state;
    static char data[1 << 20];
    run_sql("CREATE TABLE entry(number INTEGER PRIMARY KEY, data BLOB)");
    stays_untouched(data, read_record(data, sizeof data), "application id");
}

/* It says that it is ours, but holds something else: a trap, or a hand in the works. */
static void a_record_with_other_tables_is_refused(void **state) {
    (void)state;
    static const struct {
        const char *sql, *word;
        bool reader_too;
    } rows[] = {
        {"DROP TRIGGER entry_kept", "lacks `entry_kept`", false},
        {"CREATE TRIGGER more AFTER INSERT ON entry BEGIN DELETE FROM trace; END", "`more`", false},
        {"CREATE INDEX twice ON entry(data)", "`twice`", false},
        {"CREATE VIEW seen AS SELECT 1", "`seen`", false},
        {"DROP TABLE checkpoint", "lacks `checkpoint`", true},
        {"DROP TABLE trace; CREATE TABLE trace(hash BLOB PRIMARY KEY, data BLOB, more)",
         "another `trace`", true},
        {"DROP TABLE entry; CREATE VIEW entry AS SELECT 1 AS number, x'7b7d' AS data",
         "another `entry`", true},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        make_record(2);
        run_sql(rows[i].sql);
        refuses_file(BW_STORE_WRITE, BW_E_DATA, rows[i].word);
        if (rows[i].reader_too) {
            refuses_file(BW_STORE_READ, BW_E_DATA, rows[i].word);
        } else {
            bw_store_close(open_store(home, BW_STORE_READ));
        }
        assert_int_equal(unlink(record), 0);
        remove_beside("-wal");
        remove_beside("-shm");
    }
}

static void only_a_plain_file_is_a_record(void **state) {
    (void)state;
    char other[4096];
    assert_int_equal(mkdir(record, 0700), 0);
    refuses_file(BW_STORE_READ, BW_E_DATA, "a folder");
    refuses_file(BW_STORE_WRITE, BW_E_DATA, "a folder");
    assert_int_equal(rmdir(record), 0);
    assert_int_equal(symlink(join(home, "elsewhere", other), record), 0);
    refuses_file(BW_STORE_READ, BW_E_DATA, "symbolic link");
    refuses_file(BW_STORE_WRITE, BW_E_DATA, "symbolic link");
    assert_false(file_exists(other));
    assert_int_equal(unlink(record), 0);
    assert_int_equal(mkfifo(record, 0600), 0);
    refuses_file(BW_STORE_WRITE, BW_E_DATA, "no plain file");
    assert_int_equal(unlink(record), 0);
    (void)join(home, "file", other);
    write_file(other, "x", 1, 0600);
    bw_store *store = NULL;
    bw_err err = {0};
    assert_int_equal(bw_store_open(other, BW_STORE_WRITE, &store, &err), BW_E_IO);
    assert_non_null(strstr(err.text, "not a folder"));
    assert_int_equal(bw_store_open(other, BW_STORE_READ, &store, &err), BW_E_ABSENT);
}

static void a_gap_is_named_at_opening(void **state) {
    (void)state;
    make_record(5);
    run_sql("DROP TRIGGER entry_kept; DELETE FROM entry WHERE number = 3;"
            "CREATE TRIGGER entry_kept BEFORE DELETE ON entry BEGIN SELECT RAISE(ABORT, "
            "'an entry is never removed'); END");
    refuses_file(BW_STORE_WRITE, BW_E_DATA, "entry 3 is missing: number 4");
    bw_store *store = open_store(home, BW_STORE_READ);
    assert_int_equal(see(store, NULL).n, 4);
    bw_store_close(store);
}

/* What was signed is no longer there: this program signs nothing on top of it. */
static void a_signed_record_that_was_rewritten_is_not_added_to(void **state) {
    (void)state;
    static const struct {
        const char *sql, *word;
    } rows[] = {
        {"UPDATE entry SET data = replace(data, 'length', 'lenght') WHERE number = 2", "signed"},
        {"DELETE FROM entry WHERE number = 4", "the end is missing"},
        {"UPDATE checkpoint SET size = 3", "row of 3"},
        {"UPDATE checkpoint SET note = 'x'", "newest checkpoint"},
        {"UPDATE entry SET data = x'7b7d' WHERE number = 5", "newest entry"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        make_record(4);
        bw_store *store = open_store(home, BW_STORE_WRITE);
        bw_key *key = open_key(home);
        assert_int_equal(bw_store_checkpoint(store, key, NULL), BW_OK);
        bw_key_free(key);
        if (i == 4) {
            append_entry(store, note_entry("A", 9, "not signed yet"));
        }
        bw_store_close(store);
        char sql[2000];
        bw_text text = bw_text_on(sql, sizeof sql);
        bw_text_add(&text,
                    "BEGIN; DROP TRIGGER entry_kept; DROP TRIGGER entry_same;"
                    "DROP TRIGGER checkpoint_same; %s;",
                    rows[i].sql);
#define S(name, create)                                                                            \
    if (strcmp(name, "entry_kept") == 0 || strcmp(name, "entry_same") == 0 ||                      \
        strcmp(name, "checkpoint_same") == 0) {                                                    \
        bw_text_add(&text, "%s;", create);                                                         \
    }
        BW_RECORD_SCHEMA(S)
#undef S
        bw_text_add(&text, "COMMIT");
        assert_false(text.cut);
        run_sql(sql);
        refuses_file(BW_STORE_WRITE, BW_E_DATA, rows[i].word);
        bw_store_close(open_store(home, BW_STORE_READ));
        (void)remove_home(NULL);
        (void)make_home(NULL);
    }
}

/* Page by page a part of the file is lost: the rest can be read, and what is lost is counted. */
static void a_damaged_page_hides_only_its_entries(void **state) {
    (void)state;
    enum { ENTRIES = 300, PAGE = 4096 };
    static char data[1 << 20];
    make_record(ENTRIES);
    size_t len = read_record(data, sizeof data);
    size_t partly = 0;
    for (size_t page = 1; page < len / PAGE; page++) {
        static char bent[sizeof data];
        memcpy(bent, data, len);
        memset(bent + page * PAGE, 0xFF, PAGE);
        write_file(record, bent, len, 0600);
        bw_store *store = NULL;
        bw_err err = {0};
        bw_status status = bw_store_open(home, BW_STORE_READ, &store, &err);
        if (status == BW_OK) {
            seen s = {0};
            status = bw_store_each(store, NULL, look, &s, &err);
            if (status == BW_OK && s.unknown > 0) {
                partly++;
                assert_true(s.in_order);
                assert_int_equal(s.n, ENTRIES);
                assert_in_range(s.unknown, 1, ENTRIES - 1);
            }
        }
        assert_true(status == BW_OK || status == BW_E_DATA);
        bw_store_close(store);
        remove_beside("-wal");
        remove_beside("-shm");
    }
    assert_true(partly >= 5);
}

int main(void) {
    const struct CMUnitTest tests[] = {
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_home, remove_home)
        TEST(a_strange_file_is_refused_and_left_alone),
        TEST(a_database_of_another_program_is_refused),
        TEST(a_record_with_other_tables_is_refused),
        TEST(only_a_plain_file_is_a_record),
        TEST(a_gap_is_named_at_opening),
        TEST(a_signed_record_that_was_rewritten_is_not_added_to),
        TEST(a_damaged_page_hides_only_its_entries),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
