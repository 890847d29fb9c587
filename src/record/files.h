/* files.h - folders and files that are there whole, and still there after a power cut, or not at
 * all.
 *
 * Room-private. */
#ifndef BW_RECORD_FILES_H
#define BW_RECORD_FILES_H

#include "base/status.h"

#include <stddef.h>

enum { BW_PATH_MAX = 4096 };

/* folder/name in out of BW_PATH_MAX bytes.  BW_E_ARG where it does not fit. */
BW_MUST_USE bw_status bw_files_path(const char *folder, const char *name, char *out, bw_err *err);

/* Makes the folder and those above it that are missing, mode 0700.  One that is there stays as it
 * is. */
BW_MUST_USE bw_status bw_files_make_folder(const char *folder, bw_err *err);

/* Writes a new file, mode 0600, complete and flushed before it has its name.
 * BW_E_STATE where path is there already: it is left alone. */
BW_MUST_USE bw_status bw_files_write_new(const char *path, const void *data, size_t len,
                                         bw_err *err);

/* As above, in the place of what is there: after a power cut it is the old file or the new one. */
BW_MUST_USE bw_status bw_files_replace(const char *path, const void *data, size_t len, bw_err *err);

/* Removes what a process that was killed inside one of the two left beside the bench's own files in
 * folder.  Only for who holds the lock: nobody else writes them. */
void bw_files_tidy(const char *folder);

/* Gives the complete and flushed file temp the name path, and flushes the folder; temp is gone
 * then.  BW_E_STATE where path is there already. */
BW_MUST_USE bw_status bw_files_publish(const char *temp, const char *path, bw_err *err);

/* Reads a regular file that only its owner can read, of at most size - 1 bytes; a NUL is put
 * behind them.  BW_E_ABSENT, BW_E_IO, or BW_E_DATA where it is not such a file. */
BW_MUST_USE bw_status bw_files_read_own(const char *path, char *out, size_t size, size_t *len,
                                        bw_err *err);

/* Opens descriptors 0 to 2 on /dev/null where they are closed: else a file opened next would get
 * such a number, and a stray message to standard error would be written into it. */
BW_MUST_USE bw_status bw_files_guard_standard(bw_err *err);

#endif
