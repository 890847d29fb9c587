/* late.c - for LD_PRELOAD in a test: the steady clock of a program, ahead by what stands in a file.
 *
 * BW_LATE names a file of eight bytes, whole seconds in the machine's order; it is read anew at
 * each look at the clock, so that a test lets two minutes go by in no time. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <time.h>
#include <unistd.h>

typedef int look(clockid_t clock, struct timespec *out);

static const volatile int64_t *ahead_s;

__attribute__((constructor)) static void begin(void) {
    const char *path = getenv("BW_LATE");
    int fd = path != NULL ? open(path, O_RDONLY | O_CLOEXEC) : -1;
    void *seen = fd >= 0 ? mmap(NULL, sizeof *ahead_s, PROT_READ, MAP_SHARED, fd, 0) : MAP_FAILED;
    ahead_s = seen != MAP_FAILED ? seen : NULL;
    if (fd >= 0) {
        close(fd);
    }
}

int clock_gettime(clockid_t clock, struct timespec *out);

int clock_gettime(clockid_t clock, struct timespec *out) {
    static look *next; /* asked for before begin() by some */
    if (next == NULL) {
        void *found = dlsym(RTLD_NEXT, "clock_gettime");
        memcpy(&next, &found, sizeof next);
    }
    int done = next(clock, out);
    if (done == 0 && ahead_s != NULL &&
        (clock == CLOCK_MONOTONIC || clock == CLOCK_MONOTONIC_COARSE)) {
        out->tv_sec += *ahead_s;
    }
    return done;
}
