/* record_help.h - what the tests of the record share: a folder of their own, and sample entries. */
#ifndef BW_TESTS_RECORD_HELP_H
#define BW_TESTS_RECORD_HELP_H

#include "record/entry.h"
#include "record/key.h"
#include "record/store.h"

/* A fresh folder; in path (4096 bytes).  Removed with all that is in it by remove_folder. */
void make_folder(char *path);
void remove_folder(const char *path);

/* folder/name in path (4096 bytes), which is returned. */
const char *join(const char *folder, const char *name, char *path);

void write_file(const char *path, const void *data, size_t len, unsigned mode);
bool file_exists(const char *path);

/* The home folder of the test that runs, and home/record.db: made and removed around each test. */
extern char home[4096];
extern char record[4096];
int make_home(void **state);
int remove_home(void **state);

/* Of record.db and such a suffix. */
bool beside_exists(const char *suffix);
void remove_beside(const char *suffix);

/* Runs act in a child process and tells its exit code, or 1000 and the signal that ended it. */
int in_child(int (*act)(void));

typedef struct seen {
    size_t n;
    size_t unknown;
    uint64_t last;
    bool in_order;
    char text[64];  /* of the last note */
    size_t stop_at; /* 0: never */
} seen;

/* For bw_store_each, with a seen. */
bool look(void *ctx, const bw_entry *entry, const char *json, size_t len);
seen see(bw_store *store, const char *build);

/* An entry with build, by, bench and a time in the order of `at`, no members. */
bw_entry plain_entry(bw_kind kind, const char *build, int64_t at);

/* As above with a value in each member that the kind must have, and, where all is true, in each
 * that it may have. */
bw_entry full_entry(bw_kind kind, const char *build, int64_t at, bool all);

/* A note that says text. */
bw_entry note_entry(const char *build, int64_t at, const char *text);

/* Opens the record, and fails the test with the message where that does not work. */
bw_store *open_store(const char *folder, bw_store_mode mode);

/* Appends one entry; the test fails where that fails. */
void append_entry(bw_store *store, bw_entry entry);

/* Opens build `build` at `at`. */
void append_opened(bw_store *store, const char *build, int64_t at);

/* The key in folder. */
bw_key *open_key(const char *folder);

#endif
