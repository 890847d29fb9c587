/* leap.c - loaded before the C library: the clock that progress goes by leaps two seconds at each
 * look where BW_LEAPS is set, and stands still where it is not; no other clock does. */
#include <stdatomic.h>
#include <stdlib.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

int clock_gettime(clockid_t clock, struct timespec *time);

int clock_gettime(clockid_t clock, struct timespec *time) {
    static atomic_long looks;
    if (clock != CLOCK_MONOTONIC_RAW) {
        return (int)syscall(SYS_clock_gettime, clock, time);
    }
    long leap_s = getenv("BW_LEAPS") != NULL ? 2 : 0;
    *time = (struct timespec){.tv_sec = leap_s * atomic_fetch_add(&looks, 1)};
    return 0;
}
