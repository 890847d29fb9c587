/* progress.c - see progress.h. */
#include "command/progress.h"

#include "base/clock.h"

#include <stdio.h>
#include <unistd.h>

static const int64_t patience_ns = 1000000000, every_ns = 100000000;

bw_meter bw_meter_begin(const char *what, uint64_t of) {
    return (bw_meter){.what = what,
                      .of = of,
                      .began_ns = bw_clock_mono_ns(),
                      .watched = isatty(STDERR_FILENO) == 1};
}

void bw_meter_at(bw_meter *meter, uint64_t done) {
    if (!meter->watched) {
        return;
    }
    int64_t now_ns = bw_clock_mono_ns();
    if (now_ns - meter->began_ns < patience_ns || now_ns - meter->told_ns < every_ns) {
        return;
    }
    meter->told_ns = now_ns;
    meter->shown = true;
    if (meter->of > 0) {
        (void)fprintf(stderr, "\r%llu of %llu %s ", (unsigned long long)done,
                      (unsigned long long)meter->of, meter->what);
    } else {
        (void)fprintf(stderr, "\r%llu %s ", (unsigned long long)done, meter->what);
    }
    (void)fflush(stderr);
}

void bw_meter_end(bw_meter *meter) {
    enum { COLUMNS = 79 };
    if (meter->shown) {
        (void)fprintf(stderr, "\r%*s\r", COLUMNS, "");
        (void)fflush(stderr);
    }
}
