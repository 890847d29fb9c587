/* power.h - a VFS for SQLite that keeps a log of what reaches the disk, or fails at a given call.
 *
 * Wraps the standard one, as its default; the files themselves are written as ever. */
#ifndef BW_TESTS_RECORD_POWER_H
#define BW_TESTS_RECORD_POWER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum power_file { POWER_DB = 0, POWER_WAL, POWER_FILES } power_file;

typedef enum power_act { POWER_WRITE = 0, POWER_TRUNCATE, POWER_SYNC } power_act;

typedef struct power_op {
    power_file file;
    power_act act;
    int64_t at; /* WRITE: where; TRUNCATE: the new size */
    size_t len;
    unsigned char *data; /* WRITE */
} power_op;

/* Which calls count, and fail. */
enum { FAIL_READ = 1, FAIL_WRITE = 2, FAIL_SYNC = 4, FAIL_TRUNCATE = 8, FAIL_OPEN = 16 };

void power_install(void);

/* Begins a fresh log; power_log_end stops and gives it (the VFS owns it until the next begin). */
void power_log_begin(void);
size_t power_log_size(void);
const power_op *power_log_end(size_t *n);
void power_log_free(void);

/* The n-th call (from 1) of those kinds fails with that result code of SQLite; all after it too
 * where lasting.  n 0: none. */
void power_fail_at(unsigned kinds, uint64_t n, int code, bool lasting);
/* Whether it came to that. */
bool power_failed(void);

#endif
