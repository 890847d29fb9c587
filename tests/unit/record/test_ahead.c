/* test_ahead.c - reading ahead gives the rows that reading one by one gives, with their leaves:
 * with a second thread, and where none can be had. */
#include "cmocka_all.h"
#include "record_help.h"

#include "record/ahead.h"

#include <errno.h>
#include <inttypes.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool threads = true;

/* The linker puts this in the place of pthread_create. */
int __real_pthread_create(pthread_t *thread, const pthread_attr_t *attr, void *(*start)(void *),
                          void *ctx);
int __wrap_pthread_create(pthread_t *thread, const pthread_attr_t *attr, void *(*start)(void *),
                          void *ctx);
int __wrap_pthread_create(pthread_t *thread, const pthread_attr_t *attr, void *(*start)(void *),
                          void *ctx) {
    return threads ? __real_pthread_create(thread, attr, start, ctx) : EAGAIN;
}

static sqlite3 *open_file(void) {
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(record, &db), SQLITE_OK);
    return db;
}

static void run(sqlite3 *db, const char *sql) {
    char *why = NULL;
    if (sqlite3_exec(db, sql, NULL, NULL, &why) != SQLITE_OK) {
        fail_msg("%s: %s", sql, why);
    }
}

/* n rows of length bytes more or less, from number 1 on. */
static sqlite3 *make_rows(int n, int length) {
    char sql[400];
    sqlite3 *db = open_file();
    run(db, "CREATE TABLE entry(number INTEGER PRIMARY KEY, data BLOB NOT NULL)");
    (void)snprintf(sql, sizeof sql,
                   "WITH RECURSIVE c(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM c WHERE i < %d) "
                   "INSERT INTO entry SELECT i, CAST(printf('%%0*d', %d + i %% 7, i) AS BLOB) "
                   "FROM c WHERE i <= %d",
                   n, length, n);
    run(db, sql);
    return db;
}

static size_t unreadable; /* of the rows that were compared last */

/* Both ways side by side; how many rows there are. */
static size_t compare(sqlite3 *db, int64_t first, int64_t last) {
    bw_rows rows;
    bw_ahead *ahead = NULL;
    bool got = true;
    size_t n = 0;
    unreadable = 0;
    assert_int_equal(bw_rows_open(db, first, last, &rows, NULL), BW_OK);
    assert_int_equal(bw_ahead_open(db, first, last, &ahead, NULL), BW_OK);
    while (got) {
        bw_row one;
        bw_row other;
        bw_hash leaf;
        bw_hash expected;
        bool got_other = false;
        assert_int_equal(bw_rows_next(&rows, &one, &got, NULL), BW_OK);
        assert_int_equal(bw_ahead_next(ahead, &other, &leaf, &got_other, NULL), BW_OK);
        assert_int_equal(got, got_other);
        if (!got) {
            break;
        }
        n++;
        assert_int_equal(one.number, other.number);
        assert_int_equal(one.readable, other.readable);
        unreadable += one.readable ? 0 : 1;
        if (one.readable) {
            assert_int_equal(one.blob, other.blob);
            assert_int_equal(one.len, other.len);
            assert_memory_equal(one.data, other.data, one.len);
            assert_int_equal(bw_leaf_hash(one.data, one.len, &expected), BW_OK);
            assert_memory_equal(&leaf, &expected, sizeof leaf);
        }
    }
    bw_ahead_close(ahead);
    bw_rows_close(&rows);
    return n;
}

static void compare_both_ways(sqlite3 *db, int64_t first, int64_t last, size_t n) {
    threads = true;
    assert_int_equal(compare(db, first, last), n);
    threads = false;
    assert_int_equal(compare(db, first, last), n);
    threads = true;
}

static void the_same_rows_and_their_leaves(void **state) {
    (void)state;
    sqlite3 *db = make_rows(5000, 60);
    compare_both_ways(db, INT64_MIN, 5000, 5000);
    compare_both_ways(db, INT64_MIN, 1, 1);
    compare_both_ways(db, INT64_MIN, 0, 0);
    for (int64_t last = 1022; last <= 1026; last++) {
        compare_both_ways(db, 1, last, (size_t)last);
    }
    compare_both_ways(db, 2000, 4100, 2101);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static void a_file_without_rows(void **state) {
    (void)state;
    sqlite3 *db = make_rows(0, 60);
    run(db, "DELETE FROM entry");
    compare_both_ways(db, INT64_MIN, INT64_MAX, 0);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static void rows_as_large_as_may_be_and_odd_ones(void **state) {
    (void)state;
    sqlite3 *db = make_rows(40, 60);
    run(db, "UPDATE entry SET data = zeroblob(4194304) WHERE number IN (2, 3, 20)");
    run(db, "UPDATE entry SET data = zeroblob(300000) WHERE number > 25");
    run(db, "UPDATE entry SET data = x'' WHERE number = 5");
    run(db, "UPDATE entry SET data = 'a text' WHERE number = 6");
    run(db, "UPDATE entry SET number = -7 WHERE number = 1");
    compare_both_ways(db, INT64_MIN, 40, 40);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static void nothing_but_rows_without_bytes(void **state) {
    (void)state;
    sqlite3 *db = make_rows(3, 60);
    run(db, "UPDATE entry SET data = x''");
    compare_both_ways(db, INT64_MIN, 3, 3);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static void a_damaged_page_costs_its_own_rows(void **state) {
    (void)state;
    enum { PAGE = 4096 };
    static const unsigned char junk[64] = {0xFF};
    assert_int_equal(sqlite3_close(make_rows(3000, 60)), SQLITE_OK);
    FILE *file = fopen(record, "r+b");
    assert_non_null(file);
    assert_int_equal(fseek(file, 9 * PAGE, SEEK_SET), 0);
    assert_int_equal(fwrite(junk, 1, sizeof junk, file), sizeof junk);
    assert_int_equal(fclose(file), 0);
    sqlite3 *db = open_file();
    compare_both_ways(db, INT64_MIN, 3000, 3000);
    assert_true(unreadable > 0 && unreadable < 100);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

/* In mid-file, while the thread may have a batch. */
static void it_can_be_left_at_any_row(void **state) {
    (void)state;
    sqlite3 *db = make_rows(5000, 60);
    for (int stop = 0; stop < 4000; stop += 333) {
        bw_ahead *ahead = NULL;
        assert_int_equal(bw_ahead_open(db, 1, 5000, &ahead, NULL), BW_OK);
        for (int i = 0; i < stop; i++) {
            bw_row row;
            bw_hash leaf;
            bool got = false;
            assert_int_equal(bw_ahead_next(ahead, &row, &leaf, &got, NULL), BW_OK);
            assert_true(got);
        }
        bw_ahead_close(ahead);
    }
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static int interrupt(void *left) {
    return --*(int *)left <= 0;
}

/* The rows before it are given, then the reason. */
static void a_read_that_fails_is_told_behind_the_rows_before_it(void **state) {
    (void)state;
    sqlite3 *db = make_rows(3000, 60);
    bw_ahead *ahead = NULL;
    bw_err err = {0};
    bw_status status = BW_OK;
    bool got = true;
    int left = 2000; /* it is asked once a row */
    size_t n = 0;
    assert_int_equal(bw_ahead_open(db, 1, 3000, &ahead, NULL), BW_OK);
    sqlite3_progress_handler(db, 1, interrupt, &left);
    while (status == BW_OK && got) {
        bw_row row;
        bw_hash leaf;
        status = bw_ahead_next(ahead, &row, &leaf, &got, &err);
        n += status == BW_OK && got ? 1 : 0;
    }
    assert_int_not_equal(status, BW_OK);
    assert_true(err.text[0] != '\0');
    assert_true(n > 1024 && n < 3000);
    bw_ahead_close(ahead);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

int main(void) {
    const struct CMUnitTest tests[] = {
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_home, remove_home)
        TEST(the_same_rows_and_their_leaves),
        TEST(a_file_without_rows),
        TEST(rows_as_large_as_may_be_and_odd_ones),
        TEST(nothing_but_rows_without_bytes),
        TEST(a_damaged_page_costs_its_own_rows),
        TEST(it_can_be_left_at_any_row),
        TEST(a_read_that_fails_is_told_behind_the_rows_before_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
