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

/* An entry with build, by, bench and a time in the order of `at`, no members. */
bw_entry plain_entry(bw_kind kind, const char *build, int64_t at);

/* As above with a value in each member that the kind must have, and, where all is true, in each
 * that it may have. */
bw_entry full_entry(bw_kind kind, const char *build, int64_t at, bool all);

/* A note that says text. */
bw_entry note_entry(const char *build, int64_t at, const char *text);

/* Opens for writing, and fails the test with the message where that does not work. */
bw_store *open_store(const char *home, bw_store_mode mode);

/* Appends one entry; the test fails where that fails. */
void append_entry(bw_store *store, bw_entry entry);

/* Opens build `build` at `at`. */
void append_opened(bw_store *store, const char *build, int64_t at);

/* The key in home. */
bw_key *open_key(const char *home);

#endif
