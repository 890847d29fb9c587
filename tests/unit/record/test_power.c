/* test_power.c - the power goes, or the disk fails, at every call: nothing confirmed is lost,
 * nothing is invented, and the record goes on.
 *
 * A record of 200 entries is written once over a VFS that logs every write, truncation and flush.
 * For each of these points the disk is then put together as it may be after a cut there: all that
 * was written (the process alone was killed), only what was flushed, or any part of the rest, out
 * of order and torn.  A sample of 2,000 such disks at the least, by the seed BW_SEED; all of them
 * where BW_POWER is `all`. */
#include "cmocka_all.h"
#include "power.h"
#include "record_help.h"

#include "base/text.h"
#include "record/audit.h"
#include "record/seen.h"

#include <inttypes.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    EVENTS = 200,
    SIGN_EVERY = 40,
    DAMAGES = 10,
    LEAST = 2000,
    SAMPLE = 2200, /* drawn one by one: some more or less */
    SECTOR = 512,
    FAULT_EVENTS = 12
};

static uint64_t seed = 20261125;

static uint64_t draw(uint64_t below) {
    seed = seed * 6364136223846793005u + 1442695040888963407u; /* Knuth's MMIX constants */
    return (seed >> 33) % below;
}

/* In memory where that can be, since thousands of disks are made. */
static int make_quick_home(void **state) {
    (void)state;
    (void)bw_text_copy(home, sizeof home, "/dev/shm/bw-power-XXXXXX");
    if (access("/dev/shm", W_OK) != 0 || mkdtemp(home) == NULL) {
        make_folder(home);
    }
    (void)join(home, "record.db", record);
    return 0;
}

typedef struct image {
    unsigned char *data;
    size_t size, room;
} image;

static void make_room(image *to, size_t size) {
    if (size > to->room) {
        to->data = realloc(to->data, size * 2);
        assert_non_null(to->data);
        to->room = size * 2;
    }
    if (size > to->size) {
        memset(to->data + to->size, 0, size - to->size);
        to->size = size;
    }
}

static void put(image *to, const power_op *op, size_t from, size_t len) {
    make_room(to, (size_t)op->at + from + len);
    memcpy(to->data + (size_t)op->at + from, op->data + from, len);
}

static void apply(image *to, const power_op *op) {
    if (op->act == POWER_WRITE) {
        put(to, op, 0, op->len);
    } else if (op->act == POWER_TRUNCATE) {
        make_room(to, (size_t)op->at);
        to->size = (size_t)op->at;
    }
}

/* A part of it: some sectors, or the first bytes. */
static void apply_torn(image *to, const power_op *op) {
    if (op->act != POWER_WRITE) {
        return;
    }
    if (draw(2) == 0) {
        put(to, op, 0, (size_t)draw(op->len));
        return;
    }
    for (size_t from = 0; from < op->len; from += SECTOR) {
        if (draw(2) == 0) {
            put(to, op, from, op->len - from < SECTOR ? op->len - from : SECTOR);
        }
    }
}

static void copy_image(image *to, const image *from) {
    to->size = 0;
    make_room(to, from->size);
    if (from->size > 0) {
        memcpy(to->data, from->data, from->size);
    }
}

/* What is certain at a moment of the log. */
typedef struct mark {
    size_t op;     /* from here on */
    uint64_t acks; /* entries that were acknowledged */
    char seen[BW_NOTE_MAX], edge[4096];
} mark;

static mark marks[EVENTS + EVENTS / SIGN_EVERY + 8];
static size_t mark_n;

static void read_text(const char *name, char *out, size_t size) {
    char path[4096];
    FILE *in = fopen(join(home, name, path), "r");
    size_t n = in == NULL ? 0 : fread(out, 1, size - 1, in);
    out[n] = '\0';
    if (in != NULL) {
        (void)fclose(in);
    }
}

static void set_mark(uint64_t acks) {
    mark *to = &marks[mark_n++];
    to->op = power_log_size();
    to->acks = acks;
    read_text("seen", to->seen, sizeof to->seen);
    read_text("edge", to->edge, sizeof to->edge);
}

static bw_entry numbered(uint64_t number, char *text, size_t size) {
    (void)snprintf(text, size, "line %" PRIu64, number);
    return note_entry("A", (int64_t)number, text);
}

/* 200 entries, every fifth with a trace, a checkpoint behind every 40th. */
static void write_record(void) {
    bw_store *store = open_store(home, BW_STORE_WRITE);
    bw_key *key = open_key(home);
    append_opened(store, "A", 1);
    set_mark(1);
    for (uint64_t number = 2; number <= EVENTS; number++) {
        char text[32];
        bw_entry entry = numbered(number, text, sizeof text);
        const bw_blob blob = {text, strlen(text)};
        assert_int_equal(bw_store_append(store, &entry, 1, &blob, number % 5 == 0 ? 1 : 0, NULL),
                         BW_OK);
        set_mark(number);
        if (number % SIGN_EVERY == 0) {
            assert_int_equal(bw_store_checkpoint(store, key, NULL), BW_OK);
            set_mark(number);
        }
    }
    bw_key_free(key);
    bw_store_close(store);
    set_mark(EVENTS);
}

static bool check_text(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    bool *fine = ctx;
    char text[32];
    (void)json;
    (void)len;
    (void)snprintf(text, sizeof text, "line %" PRIu64, entry->number);
    *fine = *fine && (entry->number == 1 || strcmp(bw_entry_text(entry, BW_M_TEXT, ""), text) == 0);
    return true;
}

/* Opens what is left, and goes on with it. */
static void check_record(uint64_t least, uint64_t most, const char *when) {
    bw_store *store = NULL;
    bw_err err = {0};
    bool fine = true;
    bw_arena *arena = bw_arena_new(0);
    bw_audit audit = {0};
    if (bw_store_open(home, BW_STORE_WRITE, &store, &err) != BW_OK) {
        fail_msg("%s: %s", when, err.text);
    }
    uint64_t size = bw_store_size(store);
    if (size < least || size > most) {
        fail_msg("%s: %" PRIu64 " entries, not %" PRIu64 " to %" PRIu64, when, size, least, most);
    }
    assert_int_equal(bw_store_each(store, NULL, check_text, &fine, NULL), BW_OK);
    assert_true(fine);
    assert_int_equal(bw_audit_run(store, &(bw_audit_setup){0}, arena, &audit, &err), BW_OK);
    if (audit.finding_n > 0) {
        fail_msg("%s: %s", when, audit.finding[0].text);
    }
    if (size == 0) {
        append_opened(store, "A", 1);
    } else {
        char text[32];
        append_entry(store, numbered(size + 1, text, sizeof text));
    }
    bw_store_close(store);
    bw_arena_free(arena);
}

typedef struct disk {
    image flushed[POWER_FILES], now[POWER_FILES];
    const power_op *log;
    size_t *pending; /* of log */
    size_t pending_n;
} disk;

static void damage(disk *d, int way) {
    for (int f = 0; f < POWER_FILES; f++) {
        copy_image(&d->now[f], &d->flushed[f]);
    }
    size_t order[1024];
    size_t n = d->pending_n < 1024 ? d->pending_n : 1024;
    memcpy(order, d->pending, n * sizeof order[0]);
    for (size_t i = n; way > 1 && i > 1; i--) {
        size_t other = (size_t)draw(i);
        size_t kept = order[i - 1];
        order[i - 1] = order[other];
        order[other] = kept;
    }
    for (size_t i = 0; way != 1 && i < n; i++) {
        const power_op *op = &d->log[order[i]];
        uint64_t lot = way == 0 ? 1 : draw(3);
        if (lot == 1) {
            apply(&d->now[op->file], op);
        } else if (lot == 2) {
            apply_torn(&d->now[op->file], op);
        }
    }
}

static void write_disk(const disk *d, const mark *at) {
    char path[4200];
    char key[4096];
    write_file(record, d->now[POWER_DB].data, d->now[POWER_DB].size, 0600);
    (void)snprintf(path, sizeof path, "%s-wal", record);
    write_file(path, d->now[POWER_WAL].data, d->now[POWER_WAL].size, 0600);
    remove_beside("-shm");
    const struct { const char *name, *text; } files[] = {{"seen", at->seen}, {"edge", at->edge}};
    for (size_t i = 0; i < 2; i++) {
        if (files[i].text[0] == '\0') {
            (void)unlink(join(home, files[i].name, key));
        } else {
            write_file(join(home, files[i].name, key), files[i].text, strlen(files[i].text), 0600);
        }
    }
}

static void read_image(const char *path, image *out) {
    FILE *in = fopen(path, "rb");
    out->size = 0;
    if (in != NULL) {
        assert_int_equal(fseek(in, 0, SEEK_END), 0);
        make_room(out, (size_t)ftell(in));
        rewind(in);
        assert_int_equal(fread(out->data, 1, out->size, in), out->size);
        (void)fclose(in);
    }
}

/* The op comes: what was pending is certain after a flush of its file. */
static void advance(disk *d, size_t op) {
    if (d->log[op].act != POWER_SYNC) {
        d->pending[d->pending_n++] = op;
        return;
    }
    size_t n = 0;
    for (size_t i = 0; i < d->pending_n; i++) {
        const power_op *one = &d->log[d->pending[i]];
        if (one->file == d->log[op].file) {
            apply(&d->flushed[one->file], one);
        } else {
            d->pending[n++] = d->pending[i];
        }
    }
    d->pending_n = n;
}

static size_t cut_everywhere(disk *d, size_t ops, bool all) {
    size_t disks = 0;
    size_t at = 0;
    for (size_t op = 0; op <= ops; op++) {
        while (at + 1 < mark_n && marks[at + 1].op <= op) {
            at++;
        }
        for (int way = 0; way < DAMAGES; way++) {
            if (!all && draw((ops + 1) * DAMAGES) >= SAMPLE) {
                continue;
            }
            char when[64];
            (void)snprintf(when, sizeof when, "cut before call %zu of %zu, damage %d", op, ops,
                           way);
            damage(d, way);
            write_disk(d, &marks[at]);
            check_record(marks[at].op <= op ? marks[at].acks : 0, marks[at].acks + 1, when);
            disks++;
        }
        if (op < ops) {
            advance(d, op);
        }
    }
    return disks;
}

static void the_power_goes_at_every_call(void **state) {
    (void)state;
    const char *said = getenv("BW_POWER");
    bool all = said != NULL && strcmp(said, "all") == 0;
    disk d = {0};
    size_t ops = 0;
    bw_store_close(open_store(home, BW_STORE_WRITE));
    bw_key_free(open_key(home));
    read_image(record, &d.flushed[POWER_DB]);
    mark_n = 0;
    power_log_begin();
    set_mark(0);
    write_record();
    d.log = power_log_end(&ops);
    d.pending = calloc(ops + 1, sizeof *d.pending);
    assert_non_null(d.pending);
    size_t disks = cut_everywhere(&d, ops, all);
    print_message("%zu writes, truncations and flushes of %d entries; %zu disks after a cut\n", ops,
                  EVENTS, disks);
    assert_true(ops > 600 && disks >= LEAST);
    for (int f = 0; f < POWER_FILES; f++) {
        free(d.flushed[f].data);
        free(d.now[f].data);
    }
    free(d.pending);
    power_log_free();
}

/* As far as the disk lets it; how many entries it was told are recorded. */
static uint64_t work_until_it_fails(void) {
    bw_store *store = NULL;
    bw_key *key = open_key(home);
    uint64_t acks = 0;
    bool dead = false;
    bw_status status = bw_store_open(home, BW_STORE_WRITE, &store, NULL);
    for (uint64_t number = 1; status == BW_OK && number <= FAULT_EVENTS; number++) {
        char text[32];
        bw_entry entry = numbered(number, text, sizeof text);
        if (number == 1) {
            entry = plain_entry(BW_KIND_BUILD_OPENED, "A", 1);
            bw_entry_set_text(&entry, BW_M_PROGRAM, "p");
        }
        const bw_blob blob = {text, strlen(text)};
        bw_status one = bw_store_append(store, &entry, 1, &blob, number % 3 == 0 ? 1 : 0, NULL);
        /* After the first failure nothing is taken any more: there is no second try. */
        assert_true(!dead || one == BW_E_STATE);
        dead = dead || one != BW_OK;
        acks += one == BW_OK ? 1 : 0;
        if (number % 5 == 0) {
            dead = bw_store_checkpoint(store, key, NULL) != BW_OK || dead;
        }
    }
    if (status == BW_OK) {
        bw_store_close(store);
    }
    bw_key_free(key);
    return acks;
}

static size_t fail_everywhere(unsigned kinds, int code, bool lasting) {
    uint64_t n = 1;
    for (bool failed = true; failed; n++) {
        char when[80];
        bw_store_close(open_store(home, BW_STORE_WRITE));
        power_fail_at(kinds, n, code, lasting);
        uint64_t acks = work_until_it_fails();
        failed = power_failed();
        power_fail_at(0, 0, 0, false);
        (void)snprintf(when, sizeof when, "call %" PRIu64 " of kinds %u fails with %d%s", n, kinds,
                       code, lasting ? " for good" : "");
        check_record(acks, acks + 1, when);
        remove_folder(home);
        (void)make_quick_home(NULL);
    }
    return (size_t)n - 1;
}

static void the_disk_fails_at_every_call(void **state) {
    (void)state;
    static const struct {
        unsigned kinds;
        int code;
    } rows[] = {{FAIL_READ, SQLITE_IOERR_READ},
                {FAIL_WRITE, SQLITE_IOERR_WRITE},
                {FAIL_WRITE, SQLITE_FULL},
                {FAIL_SYNC, SQLITE_IOERR_FSYNC},
                {FAIL_TRUNCATE, SQLITE_IOERR_TRUNCATE},
                {FAIL_OPEN, SQLITE_CANTOPEN}};
    size_t points = 0;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        points += fail_everywhere(rows[i].kinds, rows[i].code, false);
        points += fail_everywhere(rows[i].kinds, rows[i].code, true);
    }
    print_message("%zu failures of reads, writes, flushes, truncations and opens\n", points);
    assert_true(points > 200);
}

static int remove_quick_home(void **state) {
    return remove_home(state);
}

int main(void) {
    const char *said = getenv("BW_SEED");
    seed = said == NULL ? seed : strtoull(said, NULL, 10);
    print_message("seed %" PRIu64 "\n", seed);
    power_install();
    const struct CMUnitTest tests[] = {
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_quick_home, remove_quick_home)
        TEST(the_power_goes_at_every_call),
        TEST(the_disk_fails_at_every_call),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
