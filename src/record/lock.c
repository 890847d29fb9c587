/* lock.c - see lock.h. */
#include "record/lock.h"

#include "record/files.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <time.h>
#include <unistd.h>

enum { PID_TEXT_MAX = 24, WAITS_MAX = 100 };

/* The number in the file where such a process lives; else 0. */
static long holder(int fd) {
    char text[PID_TEXT_MAX] = {0};
    ssize_t n = pread(fd, text, sizeof text - 1, 0);
    long pid = 0;
    bool whole = n > 0 && text[n - 1] == '\n';
    for (size_t i = 0; whole && text[i] >= '0' && text[i] <= '9' && pid < INT_MAX / 10; i++) {
        pid = pid * 10 + (text[i] - '0');
    }
    return pid > 0 && (kill((pid_t)pid, 0) == 0 || errno == EPERM) ? pid : 0;
}

/* Its holder has the lock a moment before its number stands in the file. */
static bw_status busy(int fd, const char *home, bw_err *err) {
    static const struct timespec moment = {.tv_nsec = 2000000};
    long pid = holder(fd);
    for (int i = 0; i < WAITS_MAX && pid == 0; i++) {
        (void)nanosleep(&moment, NULL);
        pid = holder(fd);
    }
    return pid == 0
               ? bw_fail(err, BW_E_BUSY, "the record in %s is in use by another process", home)
               : bw_fail(err, BW_E_BUSY, "the record in %s is in use by process %ld", home, pid);
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
