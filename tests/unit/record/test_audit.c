/* test_audit.c - the audit finds nothing in a good record, and names what was done to a bad one. */
#include "cmocka_all.h"
#include "record_help.h"

#include "base/text.h"
#include "record/audit.h"
#include "record/schema.h"

#include <inttypes.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static bw_verifier verifier;
static char trace_hex[BW_HASH_HEX];

static const char trace[] = "0.00,0.0,0\n0.10,30.5,12\n0.20,60.1,20\n";

enum { VERDICT = 6, ENTRIES = 12 };

static bw_entry trace_entry(int64_t at, int64_t of) {
    bw_entry entry = full_entry(of == 0 ? BW_KIND_PULL : BW_KIND_VERDICT, "C4-0017", at, false);
    if (of == 0) {
        bw_entry_set_text(&entry, BW_M_TRACE, trace_hex);
        bw_entry_set_text(&entry, BW_M_RAW, trace_hex);
    } else {
        bw_entry_set_whole(&entry, BW_M_OF, of);
    }
    return entry;
}

static bw_entry rehearsed(bw_entry entry) {
    entry.rehearsal = true;
    return entry;
}

static void sign(bw_store *store) {
    bw_key *key = open_key(home);
    char line[BW_VERIFIER_MAX];
    assert_int_equal(bw_store_checkpoint(store, key, NULL), BW_OK);
    assert_int_equal(bw_key_verifier(key, line, NULL), BW_OK);
    assert_int_equal(bw_verifier_parse(line, &verifier, NULL), BW_OK);
    bw_key_free(key);
}

/* Two builds, a rehearsal between them, a trace, a correction, a clock that was set back, and
 * checkpoints over 4, 8 and 12 entries. */
static void make_record(void) {
    bw_hash hash;
    assert_int_equal(bw_sha256(trace, strlen(trace), &hash), BW_OK);
    bw_hex(hash.byte, BW_HASH_BYTES, trace_hex);
    const bw_blob blob = {trace, strlen(trace)};
    bw_store *store = open_store(home, BW_STORE_WRITE);
    append_opened(store, "C4-0017", 1);
    append_entry(store, note_entry("C4-0017", 2, "two"));
    bw_entry opened = rehearsed(plain_entry(BW_KIND_BUILD_OPENED, "R1", 2));
    bw_entry_set_text(&opened, BW_M_PROGRAM, "p");
    append_entry(store, opened);
    append_entry(store, rehearsed(note_entry("R1", 2, "four")));
    sign(store);
    bw_entry pull = trace_entry(3, 0);
    assert_int_equal(bw_store_append(store, &pull, 1, &blob, 1, NULL), BW_OK);
    append_entry(store, trace_entry(4, 5));
    append_opened(store, "P2-0004", 5);
    append_entry(store, note_entry("P2-0004", 6, "eight"));
    sign(store);
    bw_entry correction = full_entry(BW_KIND_CORRECTION, "C4-0017", 7, false);
    bw_entry_set_whole(&correction, BW_M_CORRECTS, 2);
    append_entry(store, correction);
    bw_entry step = plain_entry(BW_KIND_CLOCK_STEP, "C4-0017", 2);
    bw_entry_set_number(&step, BW_M_BY_S, -5);
    append_entry(store, step);
    append_entry(store, note_entry("C4-0017", 3, "eleven"));
    append_entry(store, note_entry("P2-0004", 4, "twelve"));
    sign(store);
    bw_store_close(store);
}

static int set_up(void **state) {
    (void)make_home(state);
    make_record();
    return 0;
}

/* Opens the file as a stranger does, takes the triggers out, and puts them back behind sql. */
static sqlite3 *break_in(void) {
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(record, &db), SQLITE_OK);
#define S(name, create)                                                                            \
    if (strncmp(create, "CREATE TRIGGER", 14) == 0) {                                              \
        assert_int_equal(sqlite3_exec(db, "DROP TRIGGER " name, NULL, NULL, NULL), SQLITE_OK);     \
    }
    BW_RECORD_SCHEMA(S)
#undef S
    return db;
}

static void slip_out(sqlite3 *db) {
#define S(name, create)                                                                            \
    if (strncmp(create, "CREATE TRIGGER", 14) == 0) {                                              \
        assert_int_equal(sqlite3_exec(db, create, NULL, NULL, NULL), SQLITE_OK);                   \
    }
    BW_RECORD_SCHEMA(S)
#undef S
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static void tamper(const char *sql) {
    char *why = NULL;
    sqlite3 *db = break_in();
    if (sqlite3_exec(db, sql, NULL, NULL, &why) != SQLITE_OK) {
        fail_msg("%s: %s", sql, why);
    }
    slip_out(db);
}

static const bw_audit_setup by_key = {.verifier = &verifier, .verifier_n = 1};

static bw_audit audit_with(const bw_verifier *by, bw_arena *arena) {
    bw_audit result;
    bw_err err = {0};
    const bw_audit_setup setup = {.verifier = by, .verifier_n = by == NULL ? 0 : 1};
    bw_store *store = open_store(home, BW_STORE_READ);
    if (bw_audit_run(store, &setup, arena, &result, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
    bw_store_close(store);
    return result;
}

static bool names(const bw_audit *result, uint64_t entry, const char *word) {
    for (size_t i = 0; i < result->finding_n; i++) {
        if (result->finding[i].entry == entry && strstr(result->finding[i].text, word) != NULL) {
            return true;
        }
    }
    return false;
}

/* The audit has a finding about that entry which speaks of word. */
static void expect(uint64_t entry, const char *word) {
    bw_arena *arena = bw_arena_new(0);
    bw_audit result = audit_with(&verifier, arena);
    if (!names(&result, entry, word)) {
        for (size_t i = 0; i < result.finding_n; i++) {
            print_error("%" PRIu64 ": %s\n", result.finding[i].entry, result.finding[i].text);
        }
        fail_msg("nothing about entry %" PRIu64 " speaks of %s", entry, word);
    }
    bw_arena_free(arena);
}

static void a_good_record_has_no_findings(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(0);
    bw_audit result = audit_with(&verifier, arena);
    if (result.finding_n > 0) {
        fail_msg("%" PRIu64 ": %s", result.finding[0].entry, result.finding[0].text);
    }
    assert_int_equal(result.entries, ENTRIES);
    assert_int_equal(result.checkpoints, 3);
    assert_int_equal(result.signatures, BW_SIGNATURE_GOOD);
    assert_int_equal(result.rejudged, 0);
    assert_int_equal(audit_with(NULL, arena).signatures, BW_SIGNATURE_NONE);
    assert_int_equal(audit_with(NULL, arena).finding_n, 0);
    bw_arena_free(arena);
}

/* The root that the audit tells is the one that the last checkpoint signs, and that a stranger
 * gets from the bytes alone. */
static void the_root_is_that_of_the_bytes(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(0);
    bw_audit result = audit_with(&verifier, arena);
    bw_tree tree;
    bw_hash root;
    sqlite3 *db = NULL;
    sqlite3_stmt *row = NULL;
    bw_tree_init(&tree);
    assert_int_equal(sqlite3_open(record, &db), SQLITE_OK);
    assert_int_equal(
        sqlite3_prepare_v2(db, "SELECT data FROM entry ORDER BY number", -1, &row, NULL),
        SQLITE_OK);
    while (sqlite3_step(row) == SQLITE_ROW) {
        bw_hash leaf;
        assert_int_equal(
            bw_leaf_hash(sqlite3_column_blob(row, 0), (size_t)sqlite3_column_bytes(row, 0), &leaf),
            BW_OK);
        assert_int_equal(bw_tree_append(&tree, &leaf), BW_OK);
    }
    (void)sqlite3_finalize(row);
    (void)sqlite3_close(db);
    assert_int_equal(bw_tree_root(&tree, &root), BW_OK);
    assert_memory_equal(&root, &result.root, sizeof root);
    bw_arena_free(arena);
}

static void an_empty_record_is_good(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(0);
    (void)remove_home(NULL);
    (void)make_home(NULL);
    bw_store_close(open_store(home, BW_STORE_WRITE));
    bw_audit result = audit_with(&verifier, arena);
    assert_int_equal(result.entries, 0);
    assert_int_equal(result.checkpoints, 0);
    assert_int_equal(result.finding_n, 0);
    assert_int_equal(result.signatures, BW_SIGNATURE_NONE);
    bw_arena_free(arena);
}

static size_t entry_bytes(sqlite3 *db, int number, unsigned char *out, size_t size) {
    sqlite3_stmt *row = NULL;
    assert_int_equal(
        sqlite3_prepare_v2(db, "SELECT data FROM entry WHERE number = ?", -1, &row, NULL),
        SQLITE_OK);
    assert_int_equal(sqlite3_bind_int(row, 1, number), SQLITE_OK);
    assert_int_equal(sqlite3_step(row), SQLITE_ROW);
    size_t len = (size_t)sqlite3_column_bytes(row, 0);
    assert_true(len <= size);
    memcpy(out, sqlite3_column_blob(row, 0), len);
    (void)sqlite3_finalize(row);
    return len;
}

static void put_entry_bytes(sqlite3 *db, int number, const unsigned char *data, size_t len) {
    sqlite3_stmt *row = NULL;
    assert_int_equal(
        sqlite3_prepare_v2(db, "UPDATE entry SET data = ?2 WHERE number = ?1", -1, &row, NULL),
        SQLITE_OK);
    assert_int_equal(sqlite3_bind_int(row, 1, number), SQLITE_OK);
    assert_int_equal(sqlite3_bind_blob(row, 2, data, (int)len, SQLITE_TRANSIENT), SQLITE_OK);
    assert_int_equal(sqlite3_step(row), SQLITE_DONE);
    (void)sqlite3_finalize(row);
}

static void a_changed_byte_is_named(void **state) {
    (void)state;
    unsigned char good[2000];
    sqlite3 *db = break_in();
    size_t len = entry_bytes(db, VERDICT, good, sizeof good);
    assert_int_equal(sqlite3_exec(db, "PRAGMA synchronous = OFF", NULL, NULL, NULL), SQLITE_OK);
    for (size_t i = 0; i < len; i++) {
        unsigned char bent[sizeof good];
        memcpy(bent, good, len);
        bent[i] ^= 1;
        put_entry_bytes(db, VERDICT, bent, len);
        bw_arena *arena = bw_arena_new(0);
        bw_audit result = audit_with(&verifier, arena);
        /* Where it still reads as an entry, the tree tells: checkpoint 8 fails, 4 holds. */
        assert_true(names(&result, 0, "of the entries 5 to 8 at least one is not what it was"));
        bw_arena_free(arena);
    }
    put_entry_bytes(db, VERDICT, good, len);
    slip_out(db);
    bw_arena *arena = bw_arena_new(0);
    assert_int_equal(audit_with(&verifier, arena).finding_n, 0);
    bw_arena_free(arena);
}

static void what_was_done_to_entries_is_named(void **state) {
    (void)state;
    static const struct {
        const char *sql;
        uint64_t entry;
        const char *word;
    } rows[] = {
        {"DELETE FROM entry WHERE number = 12", 0, "covers 12 entries, the record has 11"},
        {"DELETE FROM entry WHERE number > 8", 0, "covers 12 entries, the record has 8"},
        {"DELETE FROM entry WHERE number = 6", 6, "missing"},
        {"DELETE FROM entry WHERE number IN (6, 7)", 6, "6 to 7 are missing"},
        {"DELETE FROM entry WHERE number = 1", 1, "missing"},
        {"UPDATE entry SET number = 99 WHERE number = 12", 12, "12 to 98 are missing"},
        {"UPDATE entry SET number = 0 WHERE number = 1", 0, "below 1"},
        {"INSERT INTO entry VALUES (-3, x'7b7d')", 0, "number -3"},
        {"UPDATE entry SET number = 1000 WHERE number = 7; UPDATE entry SET number = 7 WHERE "
         "number = 8; UPDATE entry SET number = 8 WHERE number = 1000",
         7, "first entry of build P2-0004"},
        {"UPDATE entry SET number = number + 1000 WHERE number > 6; INSERT INTO entry SELECT 7, "
         "data FROM entry WHERE number = 6; UPDATE entry SET number = number - 999 WHERE number > "
         "1000",
         0, "of the entries 5 to 8"},
        {"UPDATE entry SET data = CAST(data AS TEXT) WHERE number = 5", 5, "blob"},
        {"UPDATE entry SET data = NULL WHERE number = 5", 5, "damaged"},
        {"UPDATE entry SET data = 7 WHERE number = 5", 5, "damaged"},
        {"UPDATE entry SET data = CAST(CAST(data AS TEXT) || ' ' AS BLOB) WHERE number = 2", 2,
         "one form"},
        {"UPDATE entry SET data = CAST(replace(data, '\"text\":\"two\",', '') AS BLOB) "
         "WHERE number = 2",
         2, "needs `text`"},
        {"UPDATE entry SET data = CAST(replace(data, '\"rehearsal\":true,', '') AS BLOB) WHERE "
         "number = 4",
         4, "build R1 is a rehearsal, this entry of it is none"},
        {"UPDATE entry SET data = CAST(replace(data, '\"rehearsal\":true,', '') AS BLOB) WHERE "
         "number IN (3, 4)",
         0, "of the entries 1 to 4"},
        {"UPDATE entry SET data = CAST(replace(data, '\"R1\"', '\"C4-0017\"') AS BLOB) WHERE "
         "number = 4",
         4, "build C4-0017 is none, this entry of it is one"},
        {"UPDATE entry SET data = CAST(replace(data, '2026-11', '2025-11') AS BLOB) WHERE "
         "number = 8",
         8, "its time must not lie before"},
        {"UPDATE entry SET data = CAST(replace(data, 'clock_step', 'clock_stop') AS BLOB) WHERE "
         "number = 10",
         10, "its time must not lie before"},
        {"UPDATE entry SET data = CAST(replace(data, '\"of\":5', '\"of\":6') AS BLOB) WHERE "
         "number = 6",
         6, "`of` must name an earlier entry, not 6"},
        {"UPDATE entry SET data = CAST(replace(data, '\"of\":5', '\"of\":4') AS BLOB) WHERE "
         "number = 6",
         6, "entry 4 is none"},
        {"UPDATE entry SET data = CAST(replace(data, '\"corrects\":2', '\"corrects\":8') AS BLOB) "
         "WHERE number = 9",
         9, "`corrects` must name an entry of build C4-0017; entry 8 is none"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        tamper(rows[i].sql);
        expect(rows[i].entry, rows[i].word);
        (void)remove_home(NULL);
        (void)set_up(NULL);
    }
}

static void what_was_done_to_checkpoints_is_named(void **state) {
    (void)state;
    static const struct {
        const char *sql, *word;
        bw_signature signatures;
    } rows[] = {
        {"UPDATE checkpoint SET note = replace(note, char(10) || '8' || char(10), char(10) || '7' "
         "|| char(10)) WHERE size = 8",
         "checkpoint over 7 entries has a bad signature", BW_SIGNATURE_BAD},
        {"UPDATE checkpoint SET size = 7 WHERE size = 8", "over 8 entries stands under size 7",
         BW_SIGNATURE_GOOD},
        {"UPDATE checkpoint SET note = 'gone' WHERE size = 8", "over 8 entries: not a signed note",
         BW_SIGNATURE_BAD},
        {"UPDATE checkpoint SET note = NULL WHERE size = 8", "not a signed note", BW_SIGNATURE_BAD},
        {"UPDATE checkpoint SET note = (SELECT note FROM checkpoint WHERE size = 4) WHERE size = 8",
         "over 4 entries stands under size 8", BW_SIGNATURE_GOOD},
        {"UPDATE checkpoint SET note = replace(note, '/bench-', '/bench_')",
         "not signed by the key that was given", BW_SIGNATURE_NONE},
        {"INSERT INTO checkpoint SELECT 13, note FROM checkpoint WHERE size = 12",
         "stands under size 13", BW_SIGNATURE_GOOD},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        tamper(rows[i].sql);
        expect(0, rows[i].word);
        bw_arena *arena = bw_arena_new(0);
        assert_int_equal(audit_with(&verifier, arena).signatures, rows[i].signatures);
        bw_arena_free(arena);
        (void)remove_home(NULL);
        (void)set_up(NULL);
    }
}

/* The shop rewrites its history and signs it again with a new key. */
static void a_record_signed_by_another_key_is_named(void **state) {
    (void)state;
    bw_verifier old = verifier;
    (void)remove_home(NULL);
    (void)set_up(NULL);
    bw_arena *arena = bw_arena_new(0);
    bw_audit result = audit_with(&old, arena);
    assert_int_equal(result.signatures, BW_SIGNATURE_NONE);
    assert_true(names(&result, 0, "over 4 entries is not signed by the key that was given"));
    assert_true(names(&result, 0, "over 12 entries is not signed by the key that was given"));
    bw_arena_free(arena);
}

static void an_exchanged_trace_is_named(void **state) {
    (void)state;
    tamper("UPDATE trace SET data = CAST(replace(data, '60.1', '50.1') AS BLOB)");
    expect(0, trace_hex);
    expect(5, "`trace`");
    expect(5, "not the one that its name says");
    tamper("DELETE FROM trace");
    expect(5, "`trace`");
    expect(5, "`raw`");
    expect(5, "no trace of that name");
    tamper("INSERT INTO trace VALUES ('a name', x'00')");
    expect(0, "named by 32 bytes");
}

static void other_things_in_the_file_are_named(void **state) {
    (void)state;
    sqlite3_close(break_in());
    expect(0, "lacks `entry_next`");
}

/* Every page but the first, in turn: it never crashes, and either names the damage or the logical
 * content is whole (a page that was free, or of an index that no check needs). */
static void a_damaged_file_is_named(void **state) {
    (void)state;
    enum { PAGE = 4096 };
    static unsigned char good[1 << 20];
    FILE *file = fopen(record, "rb");
    assert_non_null(file);
    size_t len = fread(good, 1, sizeof good, file);
    (void)fclose(file);
    bw_arena *arena = bw_arena_new(0);
    bw_hash root = audit_with(&verifier, arena).root;
    size_t named = 0;
    for (size_t at = PAGE; at < len; at += PAGE / 2) {
        static unsigned char bent[sizeof good];
        memcpy(bent, good, len);
        for (size_t i = 0; i < PAGE / 2; i++) {
            bent[at + i] = (unsigned char)~bent[at + i];
        }
        write_file(record, bent, len, 0600);
        bw_store *store = NULL;
        bw_audit result = {0};
        if (bw_store_open(home, BW_STORE_READ, &store, NULL) != BW_OK) {
            named++;
            continue;
        }
        bw_status status = bw_audit_run(store, &by_key, arena, &result, NULL);
        assert_true(status == BW_OK || status == BW_E_DATA);
        bool found = status != BW_OK || result.finding_n > 0;
        named += found ? 1 : 0;
        assert_true(found || memcmp(&result.root, &root, sizeof root) == 0);
        bw_store_close(store);
    }
    assert_true(named >= 6);
    bw_arena_free(arena);
}

static void a_thousand_findings_are_enough(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(0);
    tamper("WITH RECURSIVE n(i) AS (VALUES (13) UNION ALL SELECT i + 1 FROM n WHERE i < 3000) "
           "INSERT INTO entry SELECT i, x'00' FROM n");
    bw_audit result = audit_with(&verifier, arena);
    assert_int_equal(result.finding_n, 1001);
    assert_string_equal(result.finding[1000].text, "there are more findings than this list takes");
    assert_int_equal(result.entries, 3000);
    bw_arena_free(arena);
}

static void a_number_from_the_moon_does_not_take_all_memory(void **state) {
    (void)state;
    tamper("UPDATE entry SET number = 9223372036854775807 WHERE number = 12");
    expect(12, "12 to 9223372036854775806 are missing");
}

typedef struct judged {
    size_t calls;
    uint64_t complain_about;
} judged;

static const char *judge_again(void *ctx, const bw_origin *origin, const bw_entry *entry,
                               bw_arena *arena, uint64_t *rejudged) {
    judged *j = ctx;
    j->calls++;
    if (entry->kind != BW_KIND_PULL) {
        return NULL;
    }
    const void *data = NULL;
    size_t len = 0;
    const char *hex = bw_entry_text(entry, BW_M_TRACE, "");
    assert_int_equal(origin->read(origin->ctx, hex, arena, &data, &len, NULL), BW_OK);
    assert_int_equal(len, strlen(trace));
    ++*rejudged;
    return entry->number == j->complain_about ? bw_arena_text(arena, "it is low now") : NULL;
}

static void every_entry_of_the_build_is_judged_again(void **state) {
    (void)state;
    static const struct {
        const char *build;
        size_t calls;
        uint64_t rejudged;
    } rows[] = {{NULL, ENTRIES, 1}, {"C4-0017", 7, 1}, {"P2-0004", 3, 0}, {"none", 0, 0}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        judged j = {.complain_about = 5};
        bw_arena *arena = bw_arena_new(0);
        bw_store *store = open_store(home, BW_STORE_READ);
        bw_audit result;
        const bw_audit_setup again = {.verifier = &verifier,
                                      .verifier_n = 1,
                                      .build = rows[i].build,
                                      .rejudge = judge_again,
                                      .ctx = &j};
        assert_int_equal(bw_audit_run(store, &again, arena, &result, NULL), BW_OK);
        assert_int_equal(j.calls, rows[i].calls);
        assert_int_equal(result.rejudged, rows[i].rejudged);
        assert_int_equal(result.finding_n, rows[i].rejudged);
        assert_true(result.finding_n == 0 || names(&result, 5, "it is low now"));
        bw_store_close(store);
        bw_arena_free(arena);
    }
}

static bw_outside newest_outside(void) {
    bw_outside outside = {.from = "that was given"};
    bw_arena *arena = bw_arena_new(0);
    bw_store *store = open_store(home, BW_STORE_READ);
    bw_signature signature = BW_SIGNATURE_NONE;
    const char *note = NULL;
    assert_int_equal(bw_store_newest_checkpoint(store, arena, &note, NULL), BW_OK);
    assert_int_equal(bw_checkpoint_read(note, strlen(note), NULL, &outside.size, &outside.root,
                                        &signature, NULL),
                     BW_OK);
    bw_store_close(store);
    bw_arena_free(arena);
    return outside;
}

/* What the file itself cannot show: its newest entries and checkpoint are cut off, or a whole other
 * history, well signed, stands there. */
static void a_checkpoint_from_outside_tells_more(void **state) {
    (void)state;
    static const struct {
        const char *sql, *word;
        bw_audit_outcome without, with;
    } rows[] = {
        {"", NULL, BW_AUDIT_INTACT, BW_AUDIT_INTACT},
        {"DELETE FROM checkpoint WHERE size > 8; DELETE FROM entry WHERE number > 8",
         "covers 12 entries, the record has 8: it is an older copy, or its end was cut off",
         BW_AUDIT_INTACT, BW_AUDIT_INCOMPLETE},
        {"DELETE FROM checkpoint; UPDATE entry SET data = CAST(replace(data, 'twelve', 'TWELVE') "
         "AS BLOB) WHERE number = 12",
         "with another root", BW_AUDIT_CANNOT_TELL, BW_AUDIT_DAMAGED},
        {"DELETE FROM checkpoint; DELETE FROM entry", "the record has 0", BW_AUDIT_CANNOT_TELL,
         BW_AUDIT_INCOMPLETE},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_outside outside = newest_outside();
        bw_audit_setup setup = {.verifier = &verifier, .verifier_n = 1, .outside = &outside};
        bw_arena *arena = bw_arena_new(0);
        bw_audit result;
        tamper(rows[i].sql);
        bw_store *store = open_store(home, BW_STORE_READ);
        assert_int_equal(bw_audit_run(store, &setup, arena, &result, NULL), BW_OK);
        assert_int_equal(result.outcome, rows[i].without);
        setup.outside_n = 1;
        assert_int_equal(bw_audit_run(store, &setup, arena, &result, NULL), BW_OK);
        assert_int_equal(result.outcome, rows[i].with);
        assert_true(rows[i].word == NULL || names(&result, 0, rows[i].word));
        setup.verifier_n = 0;
        assert_int_equal(bw_audit_run(store, &setup, arena, &result, NULL), BW_OK);
        assert_int_equal(result.outcome, rows[i].with); /* it needs no key */
        bw_store_close(store);
        bw_arena_free(arena);
        (void)remove_home(NULL);
        (void)set_up(NULL);
    }
}

static void missing_and_damaged_are_told_apart(void **state) {
    (void)state;
    static const struct {
        const char *sql;
        bw_audit_outcome outcome;
    } rows[] = {
        {"DELETE FROM entry WHERE number > 10", BW_AUDIT_INCOMPLETE},
        {"DELETE FROM trace", BW_AUDIT_INCOMPLETE},
        {"UPDATE trace SET data = x'00'", BW_AUDIT_DAMAGED},
        {"UPDATE entry SET data = x'00' WHERE number = 3", BW_AUDIT_DAMAGED},
        {"UPDATE checkpoint SET note = 'gone' WHERE size = 8", BW_AUDIT_DAMAGED},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_arena *arena = bw_arena_new(0);
        tamper(rows[i].sql);
        bw_audit result = audit_with(&verifier, arena);
        if (result.outcome != rows[i].outcome) {
            fail_msg("%s: %s", rows[i].sql, bw_audit_word(result.outcome));
        }
        bw_arena_free(arena);
        (void)remove_home(NULL);
        (void)set_up(NULL);
    }
}

/* What a closing entry says about the number of entries before it. */
static void a_build_that_lacks_entries_is_named(void **state) {
    (void)state;
    for (int64_t says = 6; says <= 8; says++) {
        bw_store *store = open_store(home, BW_STORE_WRITE);
        bw_entry closed = plain_entry(BW_KIND_BUILD_CLOSED, "C4-0017", 5);
        bw_entry_set_text(&closed, BW_M_OUTCOME, "complete");
        bw_entry_set_whole(&closed, BW_M_ENTRIES, says);
        append_entry(store, closed);
        bw_store_close(store);
        bw_arena *arena = bw_arena_new(0);
        bw_audit result = audit_with(&verifier, arena);
        assert_true((says == 7) == (result.outcome == BW_AUDIT_INTACT));
        assert_true(says == 7 || names(&result, 13, "entries of build C4-0017 must stand before"));
        bw_arena_free(arena);
        (void)remove_home(NULL);
        (void)set_up(NULL);
    }
}

/* Also the one who writes may ask, between two entries. */
static void the_writer_can_audit_too(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(0);
    bw_store *store = open_store(home, BW_STORE_WRITE);
    bw_audit result;
    assert_int_equal(bw_audit_run(store, &by_key, arena, &result, NULL), BW_OK);
    assert_int_equal(result.finding_n, 0);
    append_entry(store, note_entry("C4-0017", 5, "after the audit"));
    bw_store_close(store);
    bw_arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, remove_home)
        TEST(a_good_record_has_no_findings),
        TEST(the_root_is_that_of_the_bytes),
        TEST(an_empty_record_is_good),
        TEST(a_changed_byte_is_named),
        TEST(what_was_done_to_entries_is_named),
        TEST(what_was_done_to_checkpoints_is_named),
        TEST(a_record_signed_by_another_key_is_named),
        TEST(an_exchanged_trace_is_named),
        TEST(other_things_in_the_file_are_named),
        TEST(a_damaged_file_is_named),
        TEST(a_thousand_findings_are_enough),
        TEST(a_number_from_the_moon_does_not_take_all_memory),
        TEST(every_entry_of_the_build_is_judged_again),
        TEST(a_checkpoint_from_outside_tells_more),
        TEST(missing_and_damaged_are_told_apart),
        TEST(a_build_that_lacks_entries_is_named),
        TEST(the_writer_can_audit_too),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
