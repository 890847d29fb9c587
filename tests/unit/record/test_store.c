/* test_store.c - the record file in use: append, reopen, one writer, readers, what it lets in. */
#include "cmocka_all.h"
#include "record_help.h"

#include "base/text.h"
#include "record/store_int.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum { NOBODY = 65534 };

static void what_is_appended_is_there_after_reopening(void **state) {
    (void)state;
    bw_store *store = open_store(home, BW_STORE_WRITE);
    assert_int_equal(bw_store_size(store), 0);
    append_opened(store, "A", 1);
    append_opened(store, "A\"2", 2);
    bw_entry two[] = {note_entry("A", 3, "one"), note_entry("A\"2", 4, "two")};
    assert_int_equal(bw_store_append(store, two, 2, NULL, 0, NULL), BW_OK);
    assert_int_equal(two[0].number, 3);
    assert_int_equal(two[1].number, 4);
    assert_int_equal(bw_store_newest_ms(store), two[1].time_ms);
    bw_store_close(store);

    for (bw_store_mode mode = BW_STORE_READ; mode <= BW_STORE_WRITE; mode++) {
        store = open_store(home, mode);
        assert_int_equal(bw_store_size(store), 4);
        seen s = see(store, NULL);
        assert_int_equal(s.n, 4);
        assert_true(s.in_order);
        assert_int_equal(s.unknown, 0);
        s = see(store, "A");
        assert_int_equal(s.n, 2);
        assert_string_equal(s.text, "one");
        s = see(store, "A\"2");
        assert_int_equal(s.n, 2);
        assert_string_equal(s.text, "two");
        assert_int_equal(see(store, "A\"").n, 0);
        assert_int_equal(see(store, "").n, 0);
        s = (seen){.stop_at = 2};
        assert_int_equal(bw_store_each(store, NULL, look, &s, NULL), BW_OK);
        assert_int_equal(s.n, 2);
        assert_true(mode == BW_STORE_READ || bw_store_newest_ms(store) == two[1].time_ms);
        bw_store_close(store);
    }
}

static void files_are_for_their_owner_only(void **state) {
    (void)state;
    char deep[4096];
    struct stat found;
    (void)join(home, "one/two", deep);
    (void)join(deep, "record.db", record);
    bw_store *store = open_store(deep, BW_STORE_WRITE);
    append_opened(store, "A", 1);
    static const char *const suffixes[] = {"", "-wal", "-shm"};
    for (size_t i = 0; i < 3; i++) {
        char path[4200];
        (void)snprintf(path, sizeof path, "%s%s", record, suffixes[i]);
        assert_int_equal(stat(path, &found), 0);
        assert_int_equal(found.st_mode & 07777, 0600);
        assert_int_equal(found.st_nlink, 1);
    }
    assert_int_equal(stat(deep, &found), 0);
    assert_int_equal(found.st_mode & 07777, 0700);
    bw_store_close(store);
    assert_false(beside_exists(".new"));
}

/* As commands.md promises to a stranger with a shell. */
static void the_tables_are_the_promised_ones(void **state) {
    (void)state;
    bw_store *store = open_store(home, BW_STORE_WRITE);
    append_opened(store, "A", 1);
    bw_key *key = open_key(home);
    assert_int_equal(bw_store_checkpoint(store, key, NULL), BW_OK);
    bw_key_free(key);
    bw_store_close(store);
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(record, &db), SQLITE_OK);
    static const char *const rows[][2] = {
        {"SELECT number || typeof(data) FROM entry", "1blob"},
        {"SELECT size || typeof(note) FROM checkpoint", "1text"},
        {"SELECT count(*) FROM trace WHERE hash IS data", "0"},
        {"PRAGMA application_id", "1113027171"},
        {"PRAGMA user_version", "1"},
        {"PRAGMA journal_mode", "wal"},
        {"SELECT json_extract(data, '$.kind') FROM entry", "build_opened"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        sqlite3_stmt *statement = NULL;
        assert_int_equal(sqlite3_prepare_v2(db, rows[i][0], -1, &statement, NULL), SQLITE_OK);
        assert_int_equal(sqlite3_step(statement), SQLITE_ROW);
        assert_string_equal(sqlite3_column_text(statement, 0), rows[i][1]);
        (void)sqlite3_finalize(statement);
    }
    (void)sqlite3_close(db);
}

/* How the connection is set, asked of the library itself. */
static void the_connection_is_set_for_durability(void **state) {
    (void)state;
    static const char *const rows[][2] = {
        {"PRAGMA journal_mode", "wal"}, {"PRAGMA synchronous", "2"},
        {"PRAGMA trusted_schema", "0"}, {"PRAGMA mmap_size", "0"},
        {"PRAGMA temp_store", "2"},     {"PRAGMA cell_size_check", "1"}};
    bw_store *store = open_store(home, BW_STORE_WRITE);
    assert_int_equal(sqlite3_set_authorizer(store->db, NULL, NULL), SQLITE_OK);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        sqlite3_stmt *statement = NULL;
        assert_int_equal(sqlite3_prepare_v2(store->db, rows[i][0], -1, &statement, NULL),
                         SQLITE_OK);
        assert_int_equal(sqlite3_step(statement), SQLITE_ROW);
        assert_string_equal(sqlite3_column_text(statement, 0), rows[i][1]);
        (void)sqlite3_finalize(statement);
    }
    int defensive = 0;
    assert_int_equal(sqlite3_db_config(store->db, SQLITE_DBCONFIG_DEFENSIVE, -1, &defensive),
                     SQLITE_OK);
    assert_int_equal(defensive, 1);
    bw_store_close(store);
}

static void nothing_is_changed_by_our_connection(void **state) {
    (void)state;
    static const char *const sql[] = {
        "UPDATE entry SET data = x'00'",
        "DELETE FROM entry",
        "REPLACE INTO entry VALUES (1, x'00')",
        "INSERT INTO entry VALUES (3, x'00')",
        "INSERT INTO entry VALUES (-1, x'00')",
        "INSERT INTO entry(data) VALUES (x'00')",
        "INSERT OR REPLACE INTO checkpoint VALUES (1, 'x')",
        "UPDATE checkpoint SET note = 'x'",
        "DELETE FROM trace",
        "DROP TABLE entry",
        "DROP TRIGGER entry_kept",
        "ALTER TABLE entry ADD COLUMN more",
        "CREATE TABLE more(x)",
        "CREATE TEMP TABLE entry(x)",
        "CREATE VIEW v AS SELECT 1",
        "ATTACH ':memory:' AS other",
        "VACUUM",
        "VACUUM INTO '/tmp/bw-record-copy'",
        "REINDEX",
        "ANALYZE",
        "PRAGMA writable_schema = ON",
        "PRAGMA journal_mode = DELETE",
        "PRAGMA synchronous = OFF",
        "INSERT INTO sqlite_schema VALUES ('table', 'x', 'x', 0, NULL)",
    };
    bw_store *store = open_store(home, BW_STORE_WRITE);
    bw_key *key = open_key(home);
    append_opened(store, "A", 1);
    assert_int_equal(bw_store_checkpoint(store, key, NULL), BW_OK);
    for (size_t i = 0; i < sizeof sql / sizeof sql[0]; i++) {
        if (sqlite3_exec(store->db, sql[i], NULL, NULL, NULL) == SQLITE_OK) {
            fail_msg("allowed: %s", sql[i]);
        }
    }
    append_entry(store, note_entry("A", 2, "still here"));
    bw_key_free(key);
    bw_store_close(store);
    store = open_store(home, BW_STORE_READ);
    assert_int_equal(see(store, NULL).n, 2);
    bw_store_close(store);
}

/* A shop's shell, by mistake: the triggers in the file are in its way too. */
static void nothing_is_changed_by_mistake_of_others(void **state) {
    (void)state;
    static const char *const sql[] = {
        "UPDATE entry SET data = x'00'",
        "UPDATE entry SET number = 7",
        "DELETE FROM entry",
        "REPLACE INTO entry VALUES (1, x'00')",
        "UPDATE OR REPLACE entry SET number = 1 WHERE number = 2",
        "INSERT INTO entry VALUES (9, x'00')",
        "UPDATE checkpoint SET note = 'x'",
        "DELETE FROM checkpoint",
        "REPLACE INTO checkpoint VALUES (2, 'x')",
        "UPDATE trace SET data = x'00'",
        "DELETE FROM trace",
        "REPLACE INTO trace SELECT hash, x'00' FROM trace",
    };
    bw_store *store = open_store(home, BW_STORE_WRITE);
    bw_key *key = open_key(home);
    const bw_blob blob = {"raw", 3};
    append_opened(store, "A", 1);
    bw_entry note = note_entry("A", 2, "two");
    assert_int_equal(bw_store_append(store, &note, 1, &blob, 1, NULL), BW_OK);
    assert_int_equal(bw_store_checkpoint(store, key, NULL), BW_OK);
    bw_key_free(key);
    bw_store_close(store);
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(record, &db), SQLITE_OK);
    for (size_t i = 0; i < sizeof sql / sizeof sql[0]; i++) {
        if (sqlite3_exec(db, sql[i], NULL, NULL, NULL) != SQLITE_CONSTRAINT) {
            fail_msg("allowed: %s", sql[i]);
        }
    }
    (void)sqlite3_close(db);
}

static int second_writer(void) {
    bw_store *store = NULL;
    bw_err err = {0};
    char pid[32];
    (void)snprintf(pid, sizeof pid, "process %ld", (long)getppid());
    bw_status status = bw_store_open(home, BW_STORE_WRITE, &store, &err);
    return status == BW_E_BUSY && strstr(err.text, pid) != NULL && store == NULL ? 0 : 1;
}

static int one_more_entry(void) {
    bw_store *store = open_store(home, BW_STORE_WRITE);
    append_entry(store, note_entry("A", 2, "by another process"));
    bw_store_close(store);
    return 0;
}

static void a_second_writer_is_told_who_holds_it(void **state) {
    (void)state;
    bw_store *store = open_store(home, BW_STORE_WRITE);
    bw_store *again = NULL;
    append_opened(store, "A", 1);
    assert_int_equal(in_child(second_writer), 0);
    assert_int_equal(bw_store_open(home, BW_STORE_WRITE, &again, NULL), BW_E_BUSY);
    bw_store_close(store);
    assert_int_equal(in_child(one_more_entry), 0);
    store = open_store(home, BW_STORE_WRITE);
    assert_int_equal(bw_store_size(store), 2);
    bw_store_close(store);
}

/* Of many that start at once, exactly one gets it. */
static void of_many_starts_one_wins(void **state) {
    (void)state;
    enum { STARTS = 8 };
    int go[2];
    int won[2];
    int hold[2];
    assert_int_equal(pipe(go) | pipe(won) | pipe(hold), 0);
    for (int i = 0; i < STARTS; i++) {
        if (fork() == 0) {
            char c = 0;
            bw_store *store = NULL;
            (void)close(go[1]);
            (void)close(hold[1]);
            (void)!read(go[0], &c, 1); /* all begin when the pipe is closed */
            bw_status status = bw_store_open(home, BW_STORE_WRITE, &store, NULL);
            c = status == BW_OK ? 'w' : status == BW_E_BUSY ? 'b' : '?';
            (void)!write(won[1], &c, 1);
            (void)!read(hold[0], &c, 1);
            bw_store_close(store);
            _exit(0);
        }
    }
    (void)close(go[0]);
    (void)close(go[1]);
    int winners = 0;
    int busy = 0;
    for (int i = 0; i < STARTS; i++) {
        char c = 0;
        assert_int_equal(read(won[0], &c, 1), 1);
        winners += c == 'w' ? 1 : 0;
        busy += c == 'b' ? 1 : 0;
    }
    (void)close(hold[0]);
    (void)close(hold[1]);
    (void)close(won[0]);
    (void)close(won[1]);
    while (wait(NULL) > 0) {
    }
    assert_int_equal(winners, 1);
    assert_int_equal(busy, STARTS - 1);
}

static void a_reader_keeps_its_size_beside_a_writer(void **state) {
    (void)state;
    bw_store *reader = NULL;
    bw_err err = {0};
    assert_int_equal(bw_store_open(home, BW_STORE_READ, &reader, &err), BW_E_ABSENT);
    assert_false(file_exists(record));
    bw_store *writer = open_store(home, BW_STORE_WRITE);
    append_opened(writer, "A", 1);
    reader = open_store(home, BW_STORE_READ);
    append_entry(writer, note_entry("A", 2, "two"));
    assert_int_equal(bw_store_size(reader), 1);
    assert_int_equal(see(reader, NULL).n, 1);
    bw_store *later = open_store(home, BW_STORE_READ);
    assert_int_equal(see(later, NULL).n, 2);
    bw_entry entry = note_entry("A", 3, "three");
    assert_int_equal(bw_store_append(later, &entry, 1, NULL, 0, &err), BW_E_STATE);
    assert_non_null(strstr(err.text, "reading"));
    bw_store_close(later);
    append_entry(writer, note_entry("A", 3, "three"));
    assert_int_equal(see(reader, NULL).n, 1);
    bw_store_close(writer);
    assert_int_equal(see(reader, NULL).n, 1);
    bw_store_close(reader);
}

static bool all_of_it_read(void) {
    bw_store *store = NULL;
    seen s = {0};
    bool fine = bw_store_open(home, BW_STORE_READ, &store, NULL) == BW_OK &&
                bw_store_each(store, NULL, look, &s, NULL) == BW_OK && s.n == 2;
    bw_store_close(store);
    return fine;
}

static int read_as_nobody(void) {
    if (geteuid() == 0 && setuid(NOBODY) != 0) {
        return 2;
    }
    return all_of_it_read() ? 0 : 1;
}

static int told_as_nobody(void) {
    bw_store *store = NULL;
    bw_err err = {0};
    if (geteuid() == 0 && setuid(NOBODY) != 0) {
        return 2;
    }
    bw_status status = bw_store_open(home, BW_STORE_READ, &store, &err);
    return status == BW_E_IO && strstr(err.text, "copy it") != NULL ? 0 : 1;
}

static int write_as_nobody(void) {
    bw_store *store = NULL;
    bw_err err = {0};
    if (geteuid() == 0 && setuid(NOBODY) != 0) {
        return 2;
    }
    bw_status status = bw_store_open(home, BW_STORE_WRITE, &store, &err);
    return status == BW_E_IO && strstr(err.text, "ermission") != NULL ? 0 : 1;
}

static void a_folder_that_cannot_be_written_can_be_read(void **state) {
    (void)state;
    static const char *const suffixes[] = {"", "-wal", "-shm"};
    bw_store *store = open_store(home, BW_STORE_WRITE);
    append_opened(store, "A", 1);
    append_entry(store, note_entry("A", 2, "two"));
    bw_store_close(store);
    for (size_t i = 0; i < 3; i++) {
        char path[4200];
        (void)snprintf(path, sizeof path, "%s%s", record, suffixes[i]);
        assert_int_equal(chmod(path, 0444), 0);
    }
    assert_int_equal(chmod(home, 0555), 0);
    assert_int_equal(in_child(read_as_nobody), 0);
    assert_int_equal(in_child(write_as_nobody), 0);
    assert_int_equal(chmod(home, 0755), 0);
    remove_beside("-wal");
    remove_beside("-shm");
    assert_int_equal(chmod(home, 0555), 0);
    assert_int_equal(in_child(told_as_nobody), 0);
    assert_int_equal(chmod(home, 0700), 0);
}

static void a_traces_bytes_are_kept_once_under_their_hash(void **state) {
    (void)state;
    static const char bytes[] = "0.01,12.5\n0.02,13.0\n";
    bw_store *store = open_store(home, BW_STORE_WRITE);
    bw_arena *arena = bw_arena_new(0);
    bw_hash hash;
    char hex[BW_HASH_HEX];
    assert_int_equal(bw_sha256(bytes, strlen(bytes), &hash), BW_OK);
    bw_hex(hash.byte, BW_HASH_BYTES, hex);
    const bw_blob blobs[] = {{bytes, strlen(bytes)}, {"", 0}, {bytes, strlen(bytes)}};
    append_opened(store, "A", 1);
    bw_entry pull = full_entry(BW_KIND_PULL, "A", 2, false);
    bw_entry_set_text(&pull, BW_M_TRACE, hex);
    bw_entry_set_text(&pull, BW_M_RAW, hex);
    assert_int_equal(bw_store_append(store, &pull, 1, blobs, 3, NULL), BW_OK);
    pull.time_ms++;
    assert_int_equal(bw_store_append(store, &pull, 1, blobs, 1, NULL), BW_OK);
    assert_int_equal(bw_store_append(store, &pull, 1, NULL, 0, NULL), BW_OK);
    const void *data = NULL;
    size_t len = 0;
    assert_int_equal(bw_store_blob(store, hex, arena, &data, &len, NULL), BW_OK);
    assert_int_equal(len, strlen(bytes));
    assert_memory_equal(data, bytes, len);
    /* SHA-256 of nothing */
    static const char nothing[] =
        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855";
    assert_int_equal(bw_store_blob(store, nothing, arena, &data, &len, NULL), BW_OK);
    assert_int_equal(len, 0);
    hex[0] = hex[0] == 'f' ? '0' : 'f';
    assert_int_equal(bw_store_blob(store, hex, arena, &data, &len, NULL), BW_E_ABSENT);
    assert_int_equal(bw_store_blob(store, "xyz", arena, &data, &len, NULL), BW_E_DATA);
    bw_arena_free(arena);
    bw_store_close(store);
}

static void refuses(bw_store *store, bw_entry entry, const char *word) {
    bw_err err = {0};
    uint64_t size = bw_store_size(store);
    bw_entry batch[] = {note_entry("A", 50, "before"), entry};
    assert_int_equal(bw_store_append(store, batch, 2, NULL, 0, &err), BW_E_ARG);
    if (strstr(err.text, word) == NULL) {
        fail_msg("\"%s\" does not speak of %s", err.text, word);
    }
    assert_int_equal(batch[0].number, 0);
    assert_int_equal(bw_store_size(store), size);
}

/* What could never be taken back is not let in; the store lives on. */
static void a_mistake_of_the_caller_writes_nothing(void **state) {
    (void)state;
    bw_store *store = open_store(home, BW_STORE_WRITE);
    append_opened(store, "A", 50);
    refuses(store, plain_entry(BW_KIND_NOTE, "A", 60), "needs `text`");
    bw_entry pull = full_entry(BW_KIND_PULL, "A", 60, false);
    refuses(store, pull, "`trace`");
    bw_entry_set_text(&pull, BW_M_TRACE,
                      "E3B0C44298FC1C149AFBF4C8996FB92427AE41E4649B934CA495991B7852B855");
    refuses(store, pull, "lower-case");
    bw_entry_set_text(&pull, BW_M_TRACE,
                      "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    refuses(store, pull, "not in the record");
    bw_entry decision = full_entry(BW_KIND_DECISION, "A", 60, false);
    bw_entry_set_whole(&decision, BW_M_OF, 0);
    refuses(store, decision, "earlier");
    bw_entry_set_whole(&decision, BW_M_OF, 3); /* itself */
    refuses(store, decision, "earlier");
    bw_entry correction = full_entry(BW_KIND_CORRECTION, "A", 60, false);
    bw_entry_set_whole(&correction, BW_M_CORRECTS, INT64_MAX);
    refuses(store, correction, "earlier");
    refuses(store, note_entry("A", 49, "x"), "clock went back by 1000 ms");
    append_entry(store, note_entry("A", 51, "lives on"));
    bw_entry_set_whole(&decision, BW_M_OF, 2);
    append_entry(store, decision);
    assert_int_equal(see(store, NULL).n, 3);
    bw_store_close(store);
}

static void the_clock_may_go_back_if_an_entry_says_so(void **state) {
    (void)state;
    bw_store *store = open_store(home, BW_STORE_WRITE);
    append_opened(store, "A", 1000);
    bw_entry back[] = {plain_entry(BW_KIND_CLOCK_STEP, "A", 1), note_entry("A", 2, "x")};
    bw_entry first = back[1];
    assert_int_equal(bw_store_append(store, &first, 1, NULL, 0, NULL), BW_E_ARG);
    bw_entry_set_number(&back[0], BW_M_BY_S, -1000);
    assert_int_equal(bw_store_append(store, back, 2, NULL, 0, NULL), BW_OK);
    bw_store_close(store);
    store = open_store(home, BW_STORE_WRITE);
    assert_int_equal(bw_store_newest_ms(store), back[1].time_ms);
    bw_store_close(store);
}

static void a_checkpoint_covers_what_is_there(void **state) {
    (void)state;
    bw_store *store = open_store(home, BW_STORE_WRITE);
    bw_key *key = open_key(home);
    bw_arena *arena = bw_arena_new(0);
    const char *note = "unset";
    assert_int_equal(bw_store_checkpoint(store, key, NULL), BW_OK);
    assert_int_equal(bw_store_newest_checkpoint(store, arena, &note, NULL), BW_OK);
    assert_null(note); /* there is nothing to sign yet */
    append_opened(store, "A", 1);
    append_entry(store, note_entry("A", 2, "two"));
    assert_int_equal(bw_store_checkpoint(store, key, NULL), BW_OK);
    assert_int_equal(bw_store_checkpoint(store, key, NULL), BW_OK); /* it is covered */
    bw_store_close(store);
    store = open_store(home, BW_STORE_WRITE);
    assert_int_equal(bw_store_checkpoint(store, key, NULL), BW_OK); /* still */
    assert_int_equal(bw_store_newest_checkpoint(store, arena, &note, NULL), BW_OK);
    uint64_t size = 0;
    bw_hash root;
    bw_signature signature = BW_SIGNATURE_NONE;
    char line[BW_VERIFIER_MAX];
    bw_verifier verifier;
    assert_int_equal(bw_key_verifier(key, line, NULL), BW_OK);
    assert_int_equal(bw_verifier_parse(line, &verifier, NULL), BW_OK);
    assert_int_equal(
        bw_checkpoint_read(note, strlen(note), &verifier, &size, &root, &signature, NULL), BW_OK);
    assert_int_equal(size, 2);
    assert_int_equal(signature, BW_SIGNATURE_GOOD);
    bw_arena_free(arena);
    bw_key_free(key);
    bw_store_close(store);
}

int main(void) {
    const struct CMUnitTest tests[] = {
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_home, remove_home)
        TEST(what_is_appended_is_there_after_reopening),
        TEST(files_are_for_their_owner_only),
        TEST(the_tables_are_the_promised_ones),
        TEST(the_connection_is_set_for_durability),
        TEST(nothing_is_changed_by_our_connection),
        TEST(nothing_is_changed_by_mistake_of_others),
        TEST(a_second_writer_is_told_who_holds_it),
        TEST(of_many_starts_one_wins),
        TEST(a_reader_keeps_its_size_beside_a_writer),
        TEST(a_folder_that_cannot_be_written_can_be_read),
        TEST(a_traces_bytes_are_kept_once_under_their_hash),
        TEST(a_mistake_of_the_caller_writes_nothing),
        TEST(the_clock_may_go_back_if_an_entry_says_so),
        TEST(a_checkpoint_covers_what_is_there),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
