/* store.h - the record file: SQLite as commands.md promises it, one writer, flushed before return.
 *
 * Room: record; the one user of SQLite.
 * WAL, synchronous=FULL, one writing connection, pragmas read back at every open.  A failed write
 * or flush is the end of trust (architecture rule 7): the store then refuses everything but
 * bw_store_close. */
#ifndef BW_RECORD_STORE_H
#define BW_RECORD_STORE_H

#include "base/arena.h"
#include "base/status.h"
#include "record/entry.h"
#include "record/key.h"
#include "record/tree.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct bw_store bw_store;

typedef enum bw_store_mode {
    BW_STORE_READ = 0, /* read-only, one consistent size from open to close; never makes a file */
    BW_STORE_WRITE     /* the one writer; makes the file where there is none */
} bw_store_mode;

/* Opens home/record.db.
 *
 * WRITE takes the lock file home/lock: BW_E_BUSY with who holds it (process id) where another
 * writer has it.  BW_E_ABSENT no record (READ); BW_E_DATA a foreign, newer or damaged file, which
 * is left untouched, or (WRITE) one that is older than, or another history as, the newest
 * checkpoint that was ever written in this home; BW_E_IO no permission, disk. */
BW_MUST_USE bw_status bw_store_open(const char *home, bw_store_mode mode, bw_store **out,
                                    bw_err *err);
void bw_store_close(bw_store *store);

/* As above; what was signed is remembered in the folder `state` too, outside of the home folder, so
 * that a home folder that was put back as a whole is noticed.  NULL: nowhere else.  Where it cannot
 * be written there, the home's own memory has to do. */
BW_MUST_USE bw_status bw_store_open_with(const char *home, const char *state, bw_store_mode mode,
                                         bw_store **out, bw_err *err);
/* The file that remembers it there; "" where there is none to be. */
const char *bw_store_elsewhere(const bw_store *store);

/* Bytes named by their SHA-256, for the table trace. */
typedef struct bw_blob {
    const void *data;
    size_t len;
} bw_blob;

/* Writes entries and blobs in one transaction and flushes.  Sets entry[i].number.  On failure
 * nothing of it counts as recorded, and the store is dead; after a flush that failed it may still
 * be found in the record when that is opened again.
 * Nothing was written and the store lives on:
 * BW_E_ARG an entry against the registry; `trace` or `raw` that is neither among the blobs nor in
 *          the record; `of` or `corrects` not earlier than the entry; a time before
 *          that of the entry before it, unless the entry is a clock_step.
 * BW_E_BUSY another program holds the file.  BW_E_MEM before anything was written. */
BW_MUST_USE bw_status bw_store_append(bw_store *store, bw_entry *entry, size_t n,
                                      const bw_blob *blob, size_t blob_n, bw_err *err);

/* Signs and writes a checkpoint over everything so far (none where the newest covers it), and
 * remembers it outside of the record.  BW_E_IO where that fails; the store lives on if the
 * checkpoint itself is written. */
BW_MUST_USE bw_status bw_store_checkpoint(bw_store *store, const bw_key *key, bw_err *err);

uint64_t bw_store_size(const bw_store *store);

/* Time of the newest entry of any build; INT64_MIN where there is none, and for a reader.  A wall
 * clock that is behind it was set back: append a clock_step entry first. */
int64_t bw_store_newest_ms(const bw_store *store);

/* The newest checkpoint note, in the arena; NULL where there is none. */
BW_MUST_USE bw_status bw_store_newest_checkpoint(bw_store *store, bw_arena *arena,
                                                 const char **note, bw_err *err);

/* Calls take for each entry in order (of one build, or of all where build is NULL); stops early
 * where take returns false.  The entry and json are valid during the call only.  An entry that
 * cannot be decoded comes as kind UNKNOWN with an empty kind_name and build, whatever build was
 * asked for: it may be one of it. */
typedef bool bw_take_entry(void *ctx, const bw_entry *entry, const char *json, size_t len);
BW_MUST_USE bw_status bw_store_each(bw_store *store, const char *build, bw_take_entry *take,
                                    void *ctx, bw_err *err);

/* From here on told hears the number of each entry that bw_store_each, or a bundle in the making,
 * reads: for whoever shows how far a long reading has come.  NULL: nobody hears. */
typedef void bw_store_told(void *ctx, uint64_t number);
void bw_store_watch(bw_store *store, bw_store_told *told, void *ctx);

/* The bytes of a trace by its hex hash, in the arena.  BW_E_ABSENT where there is none; BW_E_DATA
 * where its bytes do not have that hash. */
BW_MUST_USE bw_status bw_store_blob(bw_store *store, const char *hex, bw_arena *arena,
                                    const void **data, size_t *len, bw_err *err);

#endif
