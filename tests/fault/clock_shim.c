/* clock_shim.c - a wall clock that is set while a program runs: preloaded, it adds the seconds that
 * BW_CLOCK_FILE holds.  The monotonic clock stays what it is. */
#include <stdio.h>
#include <stdlib.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

static long ahead_s(void) {
    const char *path = getenv("BW_CLOCK_FILE");
    FILE *file = path != NULL ? fopen(path, "r") : NULL;
    char line[32] = "";
    if (file != NULL) {
        (void)fgets(line, sizeof line, file);
        (void)fclose(file);
    }
    return strtol(line, NULL, 10);
}

int clock_gettime(clockid_t clock, struct timespec *out) {
    int rc = (int)syscall(SYS_clock_gettime, clock, out);
    if (rc == 0 && clock == CLOCK_REALTIME) {
        out->tv_sec += ahead_s();
    }
    return rc;
}
