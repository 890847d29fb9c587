/* progress.c - see progress.h. */
#include "command/progress.h"

#include "base/text.h"

#include <time.h>
#include <unistd.h>

enum { LINE_BYTES = 80 };

static const int64_t patience_ns = 1000000000, every_ns = 100000000;

/* A clock that nothing else goes by: a test lets it leap, and no deadline with it. */
static int64_t own_clock(void *ctx) {
    struct timespec t = {0};
    (void)ctx;
    (void)clock_gettime(CLOCK_MONOTONIC_RAW, &t);
    return (int64_t)t.tv_sec * 1000000000 + t.tv_nsec;
}

bw_meter bw_meter_begin_on(FILE *out, bw_meter_clock *clock, void *clock_ctx, const char *what,
                           uint64_t of) {
    return (bw_meter){.what = what,
                      .of = of,
                      .out = out,
                      .clock = clock,
                      .clock_ctx = clock_ctx,
                      .began_ns = clock(clock_ctx),
                      .watched = isatty(fileno(out)) == 1};
}

bw_meter bw_meter_begin(const char *what, uint64_t of) {
    return bw_meter_begin_on(stderr, own_clock, NULL, what, of);
}

bw_meter bw_meter_begin_beside(const char *what, uint64_t of) {
    bw_meter meter = bw_meter_begin(what, of);
    meter.watched = meter.watched && isatty(STDOUT_FILENO) != 1;
    return meter;
}

void bw_meter_at(bw_meter *meter, uint64_t done) {
    if (!meter->watched) {
        return;
    }
    int64_t now_ns = meter->clock(meter->clock_ctx);
    if (now_ns - meter->began_ns < patience_ns || now_ns - meter->told_ns < every_ns) {
        return;
    }
    char line[LINE_BYTES];
    bw_text text = bw_text_on(line, sizeof line);
    bw_text_add(&text, "%llu", (unsigned long long)done);
    if (meter->of > 0) {
        bw_text_add(&text, " of %llu", (unsigned long long)meter->of);
    }
    bw_text_add(&text, " %s", meter->what);
    size_t columns = bw_text_columns(line);
    size_t over = meter->shown > columns ? meter->shown - columns : 0;
    (void)fprintf(meter->out, "\r%s%*s", line, (int)over, "");
    (void)fflush(meter->out);
    meter->told_ns = now_ns;
    meter->shown = columns + over;
}

void bw_meter_next(bw_meter *meter, const char *what, uint64_t of) {
    meter->what = what;
    meter->of = of;
}

void bw_meter_end(bw_meter *meter) {
    if (meter->shown > 0) {
        (void)fprintf(meter->out, "\r%*s\r", (int)meter->shown, "");
        (void)fflush(meter->out);
        meter->shown = 0;
    }
}

static void told(void *ctx, uint64_t number) {
    bw_meter_at(ctx, number);
}

void bw_meter_watch(bw_meter *meter, bw_store *store) {
    meter->of = bw_store_size(store);
    bw_store_watch(store, told, meter);
}
