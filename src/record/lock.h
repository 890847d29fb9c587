/* lock.h - one writer for a home folder: an flock on the file home/lock, which says who holds it.
 *
 * Room-private.  The lock goes with the process, however that ends; the file stays. */
#ifndef BW_RECORD_LOCK_H
#define BW_RECORD_LOCK_H

#include "base/status.h"

/* *fd is the caller's, for bw_lock_drop.  BW_E_BUSY names the process that holds it. */
BW_MUST_USE bw_status bw_lock_take(const char *home, int *fd, bw_err *err);

/* fd < 0 is a no-op. */
void bw_lock_drop(int fd);

#endif
