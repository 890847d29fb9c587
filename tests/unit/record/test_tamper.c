/* test_tamper.c - every byte of a small record flipped, and every field of every kind changed and
 * written anew: each is named, or the logical content is proved to be the same.
 *
 * Of the bytes every eleventh, other ones by each BW_SEED; all of them where BW_FLIPS is `all`. */
#include "cmocka_all.h"
#include "record_help.h"

#include "base/text.h"
#include "record/audit.h"
#include "record/schema.h"

#include <fcntl.h>
#include <inttypes.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { EVERY = 11, ENTRIES_MAX = 100, DATA_MAX = 4000 };

static bw_verifier verifier;
static const char trace[] = "0.00,0.0,0\n0.10,30.5,12\n0.20,60.1,20\n";

/* ---- a record with an entry of every kind, each signed by a checkpoint of its own ---- */

static void fill_in(bw_entry *entry, const char *trace_hex, int64_t before) {
    for (bw_member m = 0; m < BW_M_COUNT; m++) {
        if (entry->value[m].type == BW_VALUE_NONE) {
            continue;
        }
        if (m == BW_M_OF || m == BW_M_CORRECTS) {
            bw_entry_set_whole(entry, m, 1);
        } else if (m == BW_M_ENTRIES) {
            bw_entry_set_whole(entry, m, before);
        } else if (m == BW_M_TRACE || m == BW_M_RAW) {
            bw_entry_set_text(entry, m, trace_hex);
        }
    }
}

static void sign(bw_store *store, const bw_key *key) {
    assert_int_equal(bw_store_checkpoint(store, key, NULL), BW_OK);
}

static void find_verifier(const bw_key *key) {
    char line[BW_VERIFIER_MAX];
    assert_int_equal(bw_key_verifier(key, line, NULL), BW_OK);
    assert_int_equal(bw_verifier_parse(line, &verifier, NULL), BW_OK);
}

/* Key changes have tests of their own: what is signed behind one depends on it. */
static int64_t make_record(bool every_kind) {
    char trace_hex[BW_HASH_HEX];
    bw_hash hash;
    const bw_blob blob = {trace, strlen(trace)};
    bw_store *store = open_store(home, BW_STORE_WRITE);
    bw_key *key = open_key(home);
    int64_t n = 1;
    assert_int_equal(bw_sha256(trace, strlen(trace), &hash), BW_OK);
    bw_hex(hash.byte, BW_HASH_BYTES, trace_hex);
    find_verifier(key);
    append_opened(store, "A", 1);
    sign(store, key);
    for (bw_kind kind = 1; kind < BW_KIND_COUNT; kind++) {
        bool wanted = kind != BW_KIND_KEY_CHANGED &&
                      (every_kind || kind == BW_KIND_PULL || kind == BW_KIND_VERDICT ||
                       kind == BW_KIND_NOTE || kind == BW_KIND_BUILD_CLOSED);
        if (!wanted) {
            continue;
        }
        bw_entry entry = full_entry(kind, "A", n + 1, true);
        bw_err err = {0};
        fill_in(&entry, trace_hex, n);
        if (bw_store_append(store, &entry, 1, &blob, 1, &err) != BW_OK) {
            fail_msg("%s: %s", bw_kind_name(kind), err.text);
        }
        n++;
        sign(store, key);
    }
    bw_key_free(key);
    bw_store_close(store);
    remove_beside("-wal");
    remove_beside("-shm");
    return n;
}

/* ---- what the audit says ---- */

typedef struct answer {
    bool refused;
    bool named; /* something is wrong */
    bool about; /* ... and of the entry asked for it says so */
    uint64_t entries;
    bw_hash root;
} answer;

static answer ask(uint64_t about) {
    answer out = {0};
    bw_store *store = NULL;
    bw_audit audit;
    char words[64];
    bw_arena *arena = bw_arena_new(0);
    const bw_audit_setup setup = {.verifier = &verifier, .verifier_n = 1};
    (void)snprintf(words, sizeof words, "of the entries %" PRIu64 " to %" PRIu64, about, about);
    bw_err err = {0};
    bw_status status = bw_store_open(home, BW_STORE_READ, &store, &err);
    if (status == BW_OK) {
        status = bw_audit_run(store, &setup, arena, &audit, &err);
    }
    out.refused = status != BW_OK;
    if (out.refused && status != BW_E_DATA && status != BW_E_IO) {
        fail_msg("%s: %s", bw_status_name(status), err.text);
    } else if (!out.refused) {
        out.entries = audit.entries;
        out.root = audit.root;
        out.named = audit.finding_n > 0 || audit.outcome != BW_AUDIT_INTACT;
        for (size_t i = 0; i < audit.finding_n; i++) {
            out.about = out.about || (about != 0 && audit.finding[i].entry == about);
        }
    }
    bw_store_close(store);
    bw_arena_free(arena);
    return out;
}

/* ---- bytes ---- */

static void every_byte_flipped(void **state) {
    (void)state;
    static unsigned char good[1 << 20];
    const char *said = getenv("BW_FLIPS");
    const char *seed_said = getenv("BW_SEED");
    size_t step = said != NULL && strcmp(said, "all") == 0 ? 1 : EVERY;
    size_t first = seed_said == NULL ? 3 : (size_t)strtoull(seed_said, NULL, 10) % EVERY;
    (void)make_record(false);
    answer whole = ask(0);
    assert_true(!whole.refused && !whole.named);
    int fd = open(record, O_RDWR);
    ssize_t len = fd < 0 ? -1 : pread(fd, good, sizeof good, 0);
    assert_true(len > 8192 && (size_t)len < sizeof good);
    size_t named = 0;
    size_t same = 0;
    for (size_t at = step == 1 ? 0 : first; at < (size_t)len; at += step) {
        unsigned char bent = good[at] ^ (unsigned char)(1u << at % 8);
        assert_int_equal(pwrite(fd, &bent, 1, (off_t)at), 1);
        answer now = ask(0);
        bool equal = !now.refused && now.entries == whole.entries &&
                     memcmp(&now.root, &whole.root, sizeof now.root) == 0;
        if (!now.refused && !now.named && !equal) {
            fail_msg("byte %zu flipped: nothing is named", at);
        }
        named += now.refused || now.named ? 1 : 0;
        same += !now.refused && !now.named ? 1 : 0;
        assert_int_equal(pwrite(fd, &good[at], 1, (off_t)at), 1);
        remove_beside("-wal");
        remove_beside("-shm");
    }
    (void)close(fd);
    answer again = ask(0);
    assert_true(!again.refused && !again.named);
    print_message("%zu of %zd bytes flipped: %zu named, %zu with the same logical content\n",
                  named + same, len, named, same);
    assert_true(named > 300 * (step == 1 ? EVERY : 1));
}

/* ---- fields ---- */

static sqlite3 *break_in(void) {
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(record, &db), SQLITE_OK);
    assert_int_equal(
        sqlite3_exec(db, "PRAGMA synchronous = OFF; DROP TRIGGER entry_same", NULL, NULL, NULL),
        SQLITE_OK);
    return db;
}

static void put(sqlite3 *db, int64_t number, const char *json, size_t len) {
    sqlite3_stmt *statement = NULL;
    assert_int_equal(sqlite3_prepare_v2(db, "UPDATE entry SET data = ?1 WHERE number = ?2", -1,
                                        &statement, NULL),
                     SQLITE_OK);
    (void)sqlite3_bind_blob64(statement, 1, json, len, SQLITE_STATIC);
    (void)sqlite3_bind_int64(statement, 2, number);
    assert_int_equal(sqlite3_step(statement), SQLITE_DONE);
    (void)sqlite3_finalize(statement);
}

static size_t get(sqlite3 *db, int64_t number, char *out) {
    sqlite3_stmt *statement = NULL;
    assert_int_equal(
        sqlite3_prepare_v2(db, "SELECT data FROM entry WHERE number = ?1", -1, &statement, NULL),
        SQLITE_OK);
    (void)sqlite3_bind_int64(statement, 1, number);
    assert_int_equal(sqlite3_step(statement), SQLITE_ROW);
    size_t len = (size_t)sqlite3_column_bytes(statement, 0);
    assert_true(len < DATA_MAX);
    memcpy(out, sqlite3_column_blob(statement, 0), len);
    (void)sqlite3_finalize(statement);
    return len;
}

static void change_value(bw_entry *entry, bw_member m, char *text, size_t size) {
    bw_value *value = &entry->value[m];
    switch (value->type) {
    case BW_VALUE_TEXT:
    case BW_VALUE_WORDS:
        (void)snprintf(text, size, "%s%sx", value->as.text,
                       value->type == BW_VALUE_WORDS && value->as.text[0] != '\0' ? " " : "");
        value->as.text = text;
        break;
    case BW_VALUE_NUMBER:
        value->as.number += 0.25;
        break;
    case BW_VALUE_WHOLE:
        value->as.whole += 1;
        break;
    case BW_VALUE_FLAG:
        value->as.flag = !value->as.flag;
        break;
    case BW_VALUE_NONE:
        break;
    }
}

/* What every entry has. */
static void change_common(bw_entry *entry, size_t which, char *text, size_t size) {
    const char **texts[] = {&entry->build, &entry->by, &entry->bench};
    if (which == 0) {
        entry->time_ms += 1;
    } else if (which == 1) {
        entry->rehearsal = !entry->rehearsal;
    } else {
        (void)snprintf(text, size, "%sx", *texts[which - 2]);
        *texts[which - 2] = text;
    }
}

enum { COMMON = 5, FIELDS = BW_M_COUNT + COMMON };

/* The entry with one field changed, in its one form; false where it has no such field. */
static bool change(const bw_entry *good, size_t field, bw_arena *arena, const char **json,
                   size_t *len) {
    static char text[DATA_MAX];
    bw_entry bent = *good;
    if (field >= BW_M_COUNT) {
        change_common(&bent, field - BW_M_COUNT, text, sizeof text);
    } else if (bent.value[field].type != BW_VALUE_NONE) {
        change_value(&bent, (bw_member)field, text, sizeof text);
    } else {
        return false;
    }
    bw_err err = {0};
    if (bw_entry_encode(&bent, arena, json, len, &err) != BW_OK) {
        fail_msg("%s, field %zu: %s", good->kind_name, field, err.text);
    }
    return true;
}

static void every_field_of_every_kind(void **state) {
    (void)state;
    int64_t n = make_record(true);
    sqlite3 *db = break_in();
    size_t changed = 0;
    for (int64_t number = 1; number <= n; number++) {
        char good[DATA_MAX];
        bw_entry entry;
        size_t good_len = get(db, number, good);
        bw_arena *arena = bw_arena_new(0);
        assert_int_equal(bw_entry_decode(good, good_len, arena, &entry, NULL), BW_OK);
        for (size_t field = 0; field < FIELDS; field++) {
            const char *json = NULL;
            size_t len = 0;
            if (!change(&entry, field, arena, &json, &len)) {
                continue;
            }
            put(db, number, json, len);
            answer now = ask((uint64_t)number);
            if (now.refused || !now.named || !now.about) {
                fail_msg("%s, field %zu changed: the entry is not named", entry.kind_name, field);
            }
            changed++;
        }
        put(db, number, good, good_len);
        bw_arena_free(arena);
    }
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    print_message("%zu fields of %" PRId64 " kinds changed, each named by its entry\n", changed, n);
    assert_true(changed > 400);
}

int main(void) {
    const struct CMUnitTest tests[] = {
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_home, remove_home)
        TEST(every_byte_flipped),
        TEST(every_field_of_every_kind),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
