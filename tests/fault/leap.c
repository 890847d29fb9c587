/* leap.c - loaded before the C library: the clock that progress goes by leaps two seconds at each
 * look, and no other clock does. */
#include <stdatomic.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

int clock_gettime(clockid_t clock, struct timespec *time);

int clock_gettime(clockid_t clock, struct timespec *time) {
    static atomic_long looks;
    int rc = (int)syscall(SYS_clock_gettime, clock, time);
    if (rc == 0 && clock == CLOCK_MONOTONIC_RAW) {
        time->tv_sec += 2 * atomic_fetch_add(&looks, 1);
    }
    return rc;
}
