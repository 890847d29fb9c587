/* bench_record.c - a record of many entries: append, open, audit, each beside what it is held to.
 *
 * Usage: bench_record [ENTRIES [FOLDER [TRACE_BYTES]]]; a million entries in a folder under /tmp
 * where none is said, a trace of 64 bytes at every third.  A wrench leaves some 17,000 bytes at
 * each: bench_record 30000 /tmp 17000.  The folder is removed at the end. */
#include "base/clock.h"
#include "base/text.h"
#include "record/audit.h"
#include "record/hash.h"
#include "record/store.h"

#include <inttypes.h>
#include <math.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum {
    BATCH = 500,
    SINGLE = 1500,
    OF_BUILD = 400,
    PATH_SIZE = 4200,
    TRACE_BYTES_MAX = 20000,
    ROUNDS = 5
};

static double now_s(void) {
    struct timespec t;
    (void)clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static const bw_err no_reason = {.text = "a hash failed"};

static void must(bw_status status, const bw_err *err) {
    if (status != BW_OK) {
        (void)fprintf(stderr, "bench_record: %s\n", err->text);
        exit(1);
    }
}

typedef struct bench {
    const char *home;
    bw_store *store;
    bw_key *key;
    char bench_name[BW_BENCH_MAX];
    char build[32];
    uint64_t next; /* number of the next entry */
    char trace[TRACE_BYTES_MAX];
    size_t trace_bytes;
    char hex[BW_HASH_HEX];
} bench;

/* One fastener after the other, stage by stage. */
static void set_place(const bench *b, bw_entry *entry) {
    static const char *const labels[] = {"1", "2", "3", "4", "5", "6", "7", "8", "9", "10"};
    uint64_t pull = (b->next - 1) % OF_BUILD / 3;
    bw_entry_set_text(entry, BW_M_STEP, "head-bolts");
    bw_entry_set_text(entry, BW_M_GROUP, "head");
    bw_entry_set_text(entry, BW_M_LABEL, labels[pull * 7 % 10]);
    bw_entry_set_whole(entry, BW_M_FASTENER, (int64_t)(pull * 7 % 10) + 1);
    bw_entry_set_whole(entry, BW_M_STAGE, (int64_t)(pull / 10) + 1);
    bw_entry_set_whole(entry, BW_M_ATTEMPT, 1);
}

static void set_pull(bench *b, bw_entry *entry, bw_blob *blob, size_t *blob_n) {
    bw_hash hash;
    (void)snprintf(b->trace, sizeof b->trace, "%" PRIu64, b->next);
    *blob = (bw_blob){b->trace, b->trace_bytes};
    must(bw_sha256(blob->data, blob->len, &hash), &no_reason);
    bw_hex(hash.byte, BW_HASH_BYTES, b->hex);
    *blob_n = 1;
    bw_entry_set_text(entry, BW_M_TRACE, b->hex);
    bw_entry_set_text(entry, BW_M_RAW, b->hex);
    bw_entry_set_whole(entry, BW_M_SAMPLES, 812);
    bw_entry_set_flag(entry, BW_M_ASKED, true);
    bw_entry_set_flag(entry, BW_M_COMPLETE, true);
    bw_entry_set_number(entry, BW_M_PEAK_NM, 61.25 + (double)(b->next % 100) / 64);
    bw_entry_set_text(entry, BW_M_TOOL, "W-3");
}

static void set_verdict(const bench *b, bw_entry *entry) {
    bw_entry_set_whole(entry, BW_M_OF, (int64_t)b->next - 1);
    bw_entry_set_text(entry, BW_M_VERDICT, "pass");
    bw_entry_set_text(entry, BW_M_REASONS, "");
    bw_entry_set_number(entry, BW_M_PEAK_NM, 61.25 + (double)(b->next % 100) / 64);
    bw_entry_set_number(entry, BW_M_FINAL_DEG, 12.0 + (double)(b->next % 1000) / 37);
    bw_entry_set_whole(entry, BW_M_PULLS, 1);
    bw_entry_set_text(entry, BW_M_LUBRICANT, "engine oil");
    bw_entry_set_text(entry, BW_M_TOOL, "W-3");
    bw_entry_set_text(entry, BW_M_RULE, "simple");
    bw_entry_set_flag(entry, BW_M_MORE, false);
    bw_entry_set_number(entry, BW_M_LOW_NM, 57);
    bw_entry_set_number(entry, BW_M_HIGH_NM, 63);
}

/* As a build goes: opened, then pull begun, pull, verdict again and again. */
static bw_entry make_entry(bench *b, bw_blob *blob, size_t *blob_n) {
    static const bw_kind kinds[] = {BW_KIND_PULL_BEGUN, BW_KIND_PULL, BW_KIND_VERDICT};
    uint64_t at = (b->next - 1) % OF_BUILD;
    bw_entry entry = bw_entry_of(at == 0 ? BW_KIND_BUILD_OPENED : kinds[(at - 1) % 3]);
    entry.time_ms = 1795600000000 + (int64_t)b->next * 700;
    entry.by = "M. Voss";
    entry.bench = b->bench_name;
    if (at == 0) {
        (void)snprintf(b->build, sizeof b->build, "C4-%06" PRIu64, b->next / OF_BUILD);
        bw_entry_set_text(&entry, BW_M_PROGRAM, "boltwright bench");
    } else {
        set_place(b, &entry);
    }
    entry.build = b->build;
    if (entry.kind == BW_KIND_PULL) {
        set_pull(b, &entry, blob, blob_n);
    } else if (entry.kind == BW_KIND_VERDICT) {
        set_verdict(b, &entry);
    }
    b->next++;
    return entry;
}

static void add_single(bench *b) {
    bw_err err = {0};
    bw_blob blob = {0};
    size_t blob_n = 0;
    bw_entry entry = make_entry(b, &blob, &blob_n);
    must(bw_store_append(b->store, &entry, 1, &blob, blob_n, &err), &err);
}

/* Milliseconds an append, the median of SINGLE ones, so that a slow disk's hiccup does not count.
 */
static int by_size(const void *a, const void *b) {
    double d = *(const double *)a - *(const double *)b;
    return d < 0 ? -1 : d > 0 ? 1 : 0;
}

static double append_ms(bench *b) {
    static double took[SINGLE];
    for (size_t i = 0; i < SINGLE; i++) {
        double began = now_s();
        add_single(b);
        took[i] = (now_s() - began) * 1000;
    }
    qsort(took, SINGLE, sizeof took[0], by_size);
    return took[SINGLE / 2];
}

/* Many entries in one transaction; their texts need not outlive the call. */
static void fill(bench *b, uint64_t entries) {
    while (b->next <= entries) {
        static bw_entry entry[BATCH];
        static bw_blob blob[BATCH];
        static char kept[BATCH][TRACE_BYTES_MAX];
        static char hex[BATCH][BW_HASH_HEX];
        static char build[BATCH][32];
        bw_err err = {0};
        size_t blobs = 0;
        size_t n = 0;
        for (; n < BATCH && b->next <= entries; n++) {
            size_t got = 0;
            entry[n] = make_entry(b, &blob[blobs], &got);
            (void)bw_text_copy(build[n], sizeof build[n], b->build);
            entry[n].build = build[n];
            if (got == 1) {
                memcpy(kept[blobs], blob[blobs].data, blob[blobs].len);
                (void)bw_text_copy(hex[blobs], BW_HASH_HEX, b->hex);
                blob[blobs].data = kept[blobs];
                bw_entry_set_text(&entry[n], BW_M_TRACE, hex[blobs]);
                bw_entry_set_text(&entry[n], BW_M_RAW, hex[blobs]);
                blobs++;
            }
        }
        must(bw_store_append(b->store, entry, n, blob, blobs, &err), &err);
    }
}

static void open_store(bench *b) {
    bw_err err = {0};
    must(bw_store_open(b->home, BW_STORE_WRITE, &b->store, &err), &err);
}

static double open_s(bench *b) {
    bw_store_close(b->store);
    double began = now_s();
    open_store(b);
    return now_s() - began;
}

/* What nobody can do without: every entry and every trace read, hashed, and the tree over them. */
static double bare_s(const char *home, bw_hash *root) {
    char path[PATH_SIZE + 16];
    sqlite3 *db = NULL;
    sqlite3_stmt *row = NULL;
    bw_hasher *hasher = bw_hasher_new();
    bw_tree tree;
    bw_hash hash;
    bw_tree_init(&tree);
    (void)snprintf(path, sizeof path, "%s/record.db", home);
    double began = now_s();
    int rc = sqlite3_open_v2(path, &db, SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX, NULL);
    rc |= sqlite3_prepare_v2(db, "SELECT data FROM entry ORDER BY number", -1, &row, NULL);
    while (rc == SQLITE_OK && sqlite3_step(row) == SQLITE_ROW) {
        bw_status status = bw_hasher_leaf(hasher, sqlite3_column_blob(row, 0),
                                          (size_t)sqlite3_column_bytes(row, 0), &hash);
        rc = status == BW_OK && bw_hasher_append(hasher, &tree, &hash) == BW_OK ? rc : -1;
    }
    (void)sqlite3_finalize(row);
    row = NULL;
    rc |= sqlite3_prepare_v2(db, "SELECT data FROM trace", -1, &row, NULL);
    while (rc == SQLITE_OK && sqlite3_step(row) == SQLITE_ROW) {
        const bw_piece piece = {sqlite3_column_blob(row, 0), (size_t)sqlite3_column_bytes(row, 0)};
        rc = bw_hasher_sum(hasher, &piece, 1, &hash) == BW_OK ? rc : -1;
    }
    (void)sqlite3_finalize(row);
    (void)sqlite3_close(db);
    if (rc != SQLITE_OK || bw_hasher_root(hasher, &tree, root) != BW_OK) {
        exit(1);
    }
    bw_hasher_free(hasher);
    return now_s() - began;
}

static double audit_s(bench *b, bw_hash *root) {
    bw_store *store = NULL;
    bw_err err = {0};
    bw_audit audit;
    bw_arena *arena = bw_arena_new(0);
    char line[BW_VERIFIER_MAX];
    bw_verifier verifier;
    const bw_audit_setup setup = {.verifier = &verifier, .verifier_n = 1};
    must(bw_key_verifier(b->key, line, &err), &err);
    must(bw_verifier_parse(line, &verifier, &err), &err);
    double began = now_s();
    must(bw_store_open(b->home, BW_STORE_READ, &store, &err), &err);
    must(bw_audit_run(store, &setup, arena, &audit, &err), &err);
    double took = now_s() - began;
    if (audit.finding_n > 0) {
        (void)fprintf(stderr, "bench_record: %s\n", audit.finding[0].text);
        exit(1);
    }
    *root = audit.root;
    bw_store_close(store);
    bw_arena_free(arena);
    return took;
}

static void measure(bench *b, uint64_t entries) {
    bw_err err = {0};
    bw_hash bare_root;
    bw_hash audit_root;
    open_store(b);
    double first_ms = append_ms(b);
    double began = now_s();
    fill(b, entries - SINGLE);
    (void)printf("%" PRIu64 " entries, filled in %.1f s\n", entries, now_s() - began);
    double last_ms = append_ms(b);
    (void)printf("append, flushed: %.3f ms among the first, %.3f ms among the last: %.2f\n",
                 first_ms, last_ms, last_ms / first_ms);
    must(bw_store_checkpoint(b->store, b->key, &err), &err);
    (void)printf("open for writing: %.3f s\n", open_s(b));
    add_single(b); /* on the tree's edge: the audit below proves that it goes on rightly */
    must(bw_store_checkpoint(b->store, b->key, &err), &err);
    bw_store_close(b->store);
    double bare_least = INFINITY;
    double audit_least = INFINITY;
    for (int i = 0; i < ROUNDS; i++) {
        bare_least = fmin(bare_least, bare_s(b->home, &bare_root));
        audit_least = fmin(audit_least, audit_s(b, &audit_root));
    }
    (void)printf(
        "read and hash in a bare loop %.3f s, audit %.3f s (the quickest of %d): %.2f; %s\n",
        bare_least, audit_least, ROUNDS, audit_least / bare_least,
        memcmp(&bare_root, &audit_root, sizeof bare_root) == 0 ? "same root" : "ANOTHER ROOT");
}

static void remove_all(const char *home) {
    static const char *const names[] = {"record.db", "record.db-wal", "record.db-shm", "key",
                                        "key.pub",   "lock",          "seen",          "edge"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char path[PATH_SIZE + 16];
        (void)snprintf(path, sizeof path, "%s/%s", home, names[i]);
        (void)unlink(path);
    }
    (void)rmdir(home);
}

int main(int argc, char **argv) {
    static bench b = {.next = 1};
    static char home[PATH_SIZE];
    char path[PATH_SIZE + 8];
    bw_err err = {0};
    uint64_t entries = argc > 1 ? strtoull(argv[1], NULL, 10) : 1000000;
    (void)snprintf(home, sizeof home, "%s/bw-bench-XXXXXX", argc > 2 ? argv[2] : "/tmp");
    b.trace_bytes = argc > 3 ? (size_t)strtoull(argv[3], NULL, 10) : 64;
    if (entries < 3 * SINGLE || b.trace_bytes < 64 || b.trace_bytes > TRACE_BYTES_MAX ||
        mkdtemp(home) == NULL) {
        (void)fprintf(
            stderr,
            "usage: bench_record [ENTRIES, at least %d [FOLDER [TRACE_BYTES, 64 to 20000]]]\n",
            3 * SINGLE);
        return 2;
    }
    (void)snprintf(path, sizeof path, "%s/key", home);
    b.home = home;
    must(bw_key_open(path, &b.key, &err), &err);
    (void)bw_text_copy(b.bench_name, sizeof b.bench_name, bw_key_bench(b.key));
    measure(&b, entries);
    bw_key_free(b.key);
    remove_all(home);
    return 0;
}
