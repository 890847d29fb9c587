/* lock.c - see lock.h. */
#include "record/lock.h"

#include "record/files.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <unistd.h>

enum { PID_TEXT_MAX = 24 };

static bw_status busy(int fd, const char *home, bw_err *err) {
    char text[PID_TEXT_MAX] = {0};
    ssize_t n = pread(fd, text, sizeof text - 1, 0);
    size_t digits = n > 0 ? strspn(text, "0123456789") : 0;
    if (digits == 0) {
        /* Its holder has the lock, but has not yet written its number. */
        return bw_fail(err, BW_E_BUSY, "the record in %s is in use by another process", home);
    }
    text[digits] = '\0';
    return bw_fail(err, BW_E_BUSY, "the record in %s is in use by process %s", home, text);
}

static bool write_pid(int fd) {
    char text[PID_TEXT_MAX];
    int n = snprintf(text, sizeof text, "%ld\n", (long)getpid());
    return ftruncate(fd, 0) == 0 && pwrite(fd, text, (size_t)n, 0) == n;
}

bw_status bw_lock_take(const char *home, int *fd, bw_err *err) {
    char path[BW_PATH_MAX];
    bw_status status = bw_files_path(home, "lock", path, err);
    if (status != BW_OK) {
        return status;
    }
    int lock = open(path, O_RDWR | O_CREAT | O_NOFOLLOW | O_CLOEXEC, 0600);
    if (lock < 0) {
        return bw_fail(err, BW_E_IO, "cannot open %s: %s", path, strerror(errno));
    }
    if (flock(lock, LOCK_EX | LOCK_NB) != 0) {
        status = errno == EWOULDBLOCK
                     ? busy(lock, home, err)
                     : bw_fail(err, BW_E_IO, "cannot lock %s: %s", path, strerror(errno));
    } else if (!write_pid(lock)) {
        status = bw_fail(err, BW_E_IO, "cannot write %s: %s", path, strerror(errno));
    }
    if (status != BW_OK) {
        (void)close(lock);
        return status;
    }
    *fd = lock;
    return BW_OK;
}

void bw_lock_drop(int fd) {
    if (fd >= 0) {
        int emptied = ftruncate(fd, 0);
        (void)emptied; /* a stale number misleads nobody who asks for the lock */
        (void)close(fd);
    }
}
