/* test_store.c - the record file: append, reopen, one writer, strange files, failing disks, kill.
 */
#include "cmocka_all.h"
#include "record_help.h"

#include "base/text.h"
#include "record/schema.h"
#include "record/store_int.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum { NOBODY = 65534 };

static char home[4096];
static char record[4096]; /* home/record.db */

static int set_up(void **state) {
    (void)state;
    make_folder(home);
    (void)join(home, "record.db", record);
    return 0;
}

static int tear_down(void **state) {
    (void)state;
    remove_folder(home);
    return 0;
}

static void remove_beside(const char *suffix) {
    char path[4200];
    (void)snprintf(path, sizeof path, "%s%s", record, suffix);
    (void)unlink(path);
}

static bool beside_exists(const char *suffix) {
    char path[4200];
    (void)snprintf(path, sizeof path, "%s%s", record, suffix);
    return file_exists(path);
}

/* Runs act in a child, whose exit code is what act returns. */
static int in_child(int (*act)(void)) {
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        _exit(act());
    }
    int status = -1;
    assert_int_equal(waitpid(child, &status, 0), child);
    return WIFEXITED(status) ? WEXITSTATUS(status) : 1000 + WTERMSIG(status);
}

typedef struct seen {
    size_t n;
    size_t unknown;
    uint64_t last;
    bool in_order;
    char text[64]; /* of the last note */
    size_t stop_at;
} seen;

static bool look(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    seen *s = ctx;
    (void)json;
    (void)len;
    s->in_order = (s->n == 0 || s->in_order) && entry->number > s->last;
    s->last = entry->number;
    s->n++;
    s->unknown += entry->kind == BW_KIND_UNKNOWN ? 1 : 0;
    (void)bw_text_copy(s->text, sizeof s->text, bw_entry_text(entry, BW_M_TEXT, ""));
    return s->n != s->stop_at;
}

static seen see(bw_store *store, const char *build) {
    seen s = {0};
    bw_err err = {0};
    if (bw_store_each(store, build, look, &s, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
    return s;
}

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
        assert_int_equal(unlink(record), 0);
        remove_beside("-wal");
        remove_beside("-shm");
    }
}

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
        remove_folder(home);
        make_folder(home);
        (void)join(home, "record.db", record);
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
            int flags = fcntl(atoi(item->d_name), F_GETFD);
            assert_true((flags & FD_CLOEXEC) != 0);
            ours++;
        }
    }
    (void)closedir(list);
    assert_true(ours >= 3); /* lock, record.db, -wal at the least */
    bw_store_close(store);
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
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
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
        TEST(a_strange_file_is_refused_and_left_alone),
        TEST(a_database_of_another_program_is_refused),
        TEST(a_record_with_other_tables_is_refused),
        TEST(only_a_plain_file_is_a_record),
        TEST(a_gap_is_named_at_opening),
        TEST(a_checkpoint_covers_what_is_there),
        TEST(a_signed_record_that_was_rewritten_is_not_added_to),
        TEST(a_failed_write_leaves_nothing_and_ends_the_store),
        TEST(a_record_is_made_whole_or_not_at_all),
        TEST(a_replaced_file_ends_the_store),
        TEST(a_kill_loses_nothing_that_was_acknowledged),
        TEST(descriptors_0_to_2_are_never_the_record),
        TEST(a_started_program_inherits_nothing),
        TEST(a_damaged_page_hides_only_its_entries),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
