/* bench_key.c - see bench_key.h.
 *
 * A change goes: key.next is written; the entry is signed by the old key; key.next becomes key. Cut
 * off before the entry, key.next means nothing and is removed; after it, it is the key. */
#include "record/bench_key.h"

#include "base/clock.h"
#include "base/text.h"
#include "record/files.h"
#include "record/key_int.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static bw_status read_public_file(const char *home, char *line, bw_err *err) {
    char path[BW_PATH_MAX];
    size_t len = 0;
    bw_status status = bw_files_path(home, "key.pub", path, err);
    if (status == BW_OK) {
        status = bw_files_read_own(path, line, BW_VERIFIER_MAX, &len, err);
    }
    if (status == BW_OK) {
        line[strcspn(line, "\n")] = '\0';
    }
    return status;
}

static bw_status write_public_file(const char *home, const bw_key *key, bw_err *err) {
    char path[BW_PATH_MAX];
    char line[BW_VERIFIER_MAX];
    char said[BW_VERIFIER_MAX + 1];
    bw_text text = bw_text_on(said, sizeof said);
    bw_status status = bw_files_path(home, "key.pub", path, err);
    if (status == BW_OK) {
        status = bw_key_verifier(key, line, err);
    }
    if (status != BW_OK) {
        return status;
    }
    bw_text_add(&text, "%s\n", line);
    return bw_files_replace(path, said, text.len, err);
}

bw_status bw_bench_key_public(const char *home, bw_verifier *out, bw_err *err) {
    char path[BW_PATH_MAX];
    char line[BW_VERIFIER_MAX];
    bw_key *key = NULL;
    bw_status status = bw_files_path(home, "key", path, err);
    if (status == BW_OK) {
        status = bw_key_read(path, &key, err);
    }
    if (status == BW_OK) {
        status = bw_key_verifier(key, line, err);
    } else if (status == BW_E_STATE || status == BW_E_ABSENT) {
        status = read_public_file(home, line, err);
    }
    bw_key_free(key);
    return status == BW_OK ? bw_verifier_parse(line, out, err) : status;
}

typedef struct wanted {
    const char *name; /* not NUL-ended */
    size_t len;
    bool found;
    bw_verifier *out;
} wanted;

static bool is_called(const bw_verifier *key, const wanted *w) {
    return strncmp(key->name, w->name, w->len) == 0 && key->name[w->len] == '\0';
}

static bool take_named(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    wanted *w = ctx;
    const char *lines[] = {bw_entry_text(entry, BW_M_KEY, ""),
                           bw_entry_text(entry, BW_M_KEY_BEFORE, "")};
    (void)json;
    (void)len;
    for (size_t i = 0; i < 2 && entry->kind == BW_KIND_KEY_CHANGED; i++) {
        bw_verifier key;
        if (bw_verifier_parse(lines[i], &key, NULL) == BW_OK && is_called(&key, w)) {
            w->found = true;
            *w->out = key;
        }
    }
    return true;
}

bw_status bw_bench_key_signer(const char *home, bw_store *store, const char *note, bw_verifier *out,
                              bw_err *err) {
    bw_status status = bw_bench_key_public(home, out, err);
    wanted w = {.name = note, .len = note == NULL ? 0 : strcspn(note, "\n"), .out = out};
    if (note == NULL || (status == BW_OK && is_called(out, &w)) ||
        (status != BW_OK && status != BW_E_ABSENT)) {
        return status;
    }
    status = bw_store_each(store, BW_BUILD_NONE, take_named, &w, err);
    return status == BW_OK && !w.found
               ? bw_fail(err, BW_E_ABSENT,
                         "the key of %.*s, who signed the newest checkpoint, is not "
                         "known here",
                         (int)w.len, w.name)
               : status;
}

/* The name of who signed the newest checkpoint: its first line.  Empty: there is none. */
static bw_status newest_signer(bw_store *store, char *out, size_t size, bw_err *err) {
    bw_arena *arena = bw_arena_new(0);
    const char *note = NULL;
    bw_status status = arena == NULL ? bw_fail(err, BW_E_MEM, "no memory for a checkpoint")
                                     : bw_store_newest_checkpoint(store, arena, &note, err);
    out[0] = '\0';
    if (status == BW_OK && note != NULL) {
        (void)bw_text_copy(out, size, note);
        out[strcspn(out, "\n")] = '\0';
    }
    bw_arena_free(arena);
    return status;
}

typedef struct change {
    const char *key;    /* verifier line */
    const char *before; /* NULL: not known */
    const char *by, *reason;
} change;

static bw_status append_change(bw_store *store, const bw_key *signer, const change *what,
                               bw_err *err) {
    bw_entry entry = bw_entry_of(BW_KIND_KEY_CHANGED);
    int64_t newest_ms = bw_store_newest_ms(store);
    entry.time_ms = bw_clock_wall_ms();
    entry.time_ms = entry.time_ms < newest_ms ? newest_ms : entry.time_ms;
    entry.build = BW_BUILD_NONE;
    entry.by = what->by;
    entry.bench = bw_key_bench(signer);
    bw_entry_set_text(&entry, BW_M_KEY, what->key);
    bw_entry_set_text(&entry, BW_M_KEY_BEFORE, what->before);
    bw_entry_set_text(&entry, BW_M_REASON, what->reason);
    bw_status status = bw_store_append(store, &entry, 1, NULL, 0, err);
    return status == BW_OK ? bw_store_checkpoint(store, signer, err) : status;
}

static bool cut_off(const char *home, char *next) {
    return bw_files_path(home, "key.next", next, NULL) == BW_OK && access(next, F_OK) == 0;
}

/* The key that signed the newest checkpoint is not this one: it was lost.  Its public key may still
 * lie there. */
static bw_status say_lost(bw_store *store, const bw_key *key, const char *signer,
                          const char *old_line, const char *by, bw_err *err) {
    char line[BW_VERIFIER_MAX];
    bw_verifier old;
    bool known = bw_verifier_parse(old_line, &old, NULL) == BW_OK && strcmp(old.name, signer) == 0;
    bw_status status = bw_key_verifier(key, line, err);
    const change what = {.key = line,
                         .before = known ? old_line : NULL,
                         .by = by,
                         .reason = "the key before is not there any more"};
    return status == BW_OK ? append_change(store, key, &what, err) : status;
}

/* Whether the newest key change of the record names this key. */
static bool take_line(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    char *line = ctx;
    (void)json;
    (void)len;
    if (entry->kind == BW_KIND_KEY_CHANGED) {
        (void)bw_text_copy(line, BW_VERIFIER_MAX, bw_entry_text(entry, BW_M_KEY, ""));
    }
    return true;
}

static bw_status is_recorded(bw_store *store, const bw_key *key, bool *recorded, bw_err *err) {
    char newest[BW_VERIFIER_MAX] = "";
    char line[BW_VERIFIER_MAX] = "";
    bw_status status = bw_store_each(store, BW_BUILD_NONE, take_line, newest, err);
    if (status == BW_OK) {
        status = bw_key_verifier(key, line, err);
    }
    *recorded = status == BW_OK && strcmp(line, newest) == 0;
    return status;
}

static bw_status settle(const char *home, bw_store *store, const bw_key *key, const char *by,
                        bw_err *err) {
    char signer[BW_BENCH_MAX];
    char old_line[BW_VERIFIER_MAX] = "";
    char own_line[BW_VERIFIER_MAX] = "";
    bw_status status = newest_signer(store, signer, sizeof signer, err);
    bool kept = read_public_file(home, old_line, NULL) == BW_OK;
    if (status == BW_OK) {
        status = bw_key_verifier(key, own_line, err);
    }
    bool recorded = signer[0] == '\0' || strcmp(signer, key->verifier.name) == 0;
    if (status == BW_OK && !recorded) {
        status = is_recorded(store, key, &recorded, err);
    }
    if (status == BW_OK && !recorded) {
        status = say_lost(store, key, signer, old_line, by, err);
    }
    bool same = kept && strcmp(old_line, own_line) == 0;
    return status == BW_OK && !same ? write_public_file(home, key, err) : status;
}

bw_status bw_bench_key_open(const char *home, const char *passphrase, bw_store *store,
                            const char *by, bw_key **out, bw_err *err) {
    char path[BW_PATH_MAX];
    bw_key *key = NULL;
    bw_status status = bw_files_path(home, "key", path, err);
    if (status == BW_OK && cut_off(home, (char[BW_PATH_MAX]){0})) {
        status = bw_fail(err, BW_E_STATE,
                         "a change of the key was cut off: run `boltwright key new` once more");
    }
    if (status == BW_OK) {
        status = passphrase == NULL ? bw_key_open(path, &key, err)
                                    : bw_key_unlock(path, passphrase, &key, err);
    }
    if (status == BW_OK) {
        status = settle(home, store, key, by, err);
    }
    if (status != BW_OK) {
        bw_key_free(key);
        return status;
    }
    *out = key;
    return BW_OK;
}

static bw_status put_in_place(const char *home, const char *next, const char *path,
                              const bw_key *key, bw_err *err) {
    if (rename(next, path) != 0) {
        return bw_fail(err, BW_E_IO, "cannot replace %s: %s", path, strerror(errno));
    }
    return write_public_file(home, key, err); /* flushes the folder too */
}

/* A change that was cut off: ended where its entry is there, else taken back. */
static bw_status end_cut_off(const char *home, const char *next, const char *path,
                             const char *passphrase, bw_store *store, bool *ended, bw_err *err) {
    bw_key *key = NULL;
    bool recorded = false;
    bw_status status = bw_key_unlock(next, passphrase, &key, err);
    if (status == BW_OK) {
        status = is_recorded(store, key, &recorded, err);
    }
    if (status == BW_OK && recorded) {
        *ended = true;
        status = put_in_place(home, next, path, key, err);
    } else if (status == BW_OK && unlink(next) != 0) {
        status = bw_fail(err, BW_E_IO, "cannot remove %s: %s", next, strerror(errno));
    }
    bw_key_free(key);
    return status;
}

static bw_status hand_over(const char *home, const char *next, const char *path, const bw_key *old,
                           const bw_key *fresh, bw_store *store, const char *by, const char *reason,
                           bw_err *err) {
    char before[BW_VERIFIER_MAX];
    char line[BW_VERIFIER_MAX];
    bw_status status = bw_key_verifier(old, before, err);
    if (status == BW_OK) {
        status = bw_key_verifier(fresh, line, err);
    }
    const change what = {.key = line, .before = before, .by = by, .reason = reason};
    if (status == BW_OK) {
        status = append_change(store, old, &what, err);
    }
    return status == BW_OK ? put_in_place(home, next, path, fresh, err) : status;
}

bw_status bw_bench_key_change(const char *home, const char *old_passphrase,
                              const char *new_passphrase, bw_store *store, const char *by,
                              const char *reason, bw_err *err) {
    char path[BW_PATH_MAX];
    char next[BW_PATH_MAX];
    bw_key *old = NULL;
    bw_key *fresh = NULL;
    bool ended = false;
    bw_status status = bw_files_path(home, "key", path, err);
    if (status == BW_OK && cut_off(home, next)) {
        status = end_cut_off(home, next, path, new_passphrase, store, &ended, err);
    }
    if (status != BW_OK || ended) {
        return status;
    }
    status = bw_files_path(home, "key.next", next, err);
    if (status == BW_OK) {
        status = bw_key_unlock(path, old_passphrase, &old, err);
    }
    if (status == BW_E_ABSENT) { /* the first one, or the old one was lost */
        status = bw_key_make(path, new_passphrase, err);
        if (status == BW_OK) {
            status = bw_key_unlock(path, new_passphrase, &fresh, err);
        }
        status = status == BW_OK ? settle(home, store, fresh, by, err) : status;
    } else if (status == BW_OK) {
        status = bw_key_make(next, new_passphrase, err);
        if (status == BW_OK) {
            status = bw_key_unlock(next, new_passphrase, &fresh, err);
        }
        if (status == BW_OK) {
            status = hand_over(home, next, path, old, fresh, store, by, reason, err);
        }
    }
    bw_key_free(old);
    bw_key_free(fresh);
    return status;
}
