/* bench_trade.c - what a call of each of the trade's functions costs, and a trace of a million
 * samples written and read.
 *
 * Prints figures and checks none: they depend on the machine.  The aim is under 1000 ns a call. */
#include "base/clock.h"
#include "expression.h"
#include "trade/trace.h"

#include <stdio.h>
#include <stdlib.h>

enum { CALLS = 500, BATCHES = 40, SAMPLES = 1000000, AIM_ns = 1000 };

static expression e;

/* ns for a call of the function with its example's arguments, in the best of some batches: the
 * others were disturbed. */
static double cost_ns(const bw_calc_function *f) {
    if (!expression_read(&e, f->example)) {
        return -1;
    }
    bw_calc_result result[BW_CALC_RESULTS_MAX];
    size_t n = 0;
    double best_ns = 1e9;
    for (int batch = 0; batch < BATCHES; batch++) {
        int64_t began_ns = bw_clock_mono_ns();
        for (int i = 0; i < CALLS; i++) {
            if (bw_calc_eval(f, e.arg, result, &n, NULL) != BW_OK) {
                return -1;
            }
        }
        double ns = (double)(bw_clock_mono_ns() - began_ns) / CALLS;
        best_ns = ns < best_ns ? ns : best_ns;
    }
    return best_ns;
}

static void print_functions(void) {
    int over = 0;
    for (size_t i = 0; bw_calc_at(i) != NULL; i++) {
        double ns = cost_ns(bw_calc_at(i));
        over += ns > AIM_ns ? 1 : 0;
        printf("%7.0f ns  %s%s\n", ns, bw_calc_at(i)->name, ns > AIM_ns ? "  (over the aim)" : "");
    }
    printf("%d functions over %d ns\n", over, AIM_ns);
}

/* 0 or 1. */
static int print_trace(void) {
    bw_sample *sample = calloc(SAMPLES, sizeof *sample);
    size_t size = bw_trace_text_size(SAMPLES);
    char *text = malloc(size);
    bw_arena *arena = bw_arena_new(SAMPLES * sizeof *sample + 4096);
    int failed = 1;
    if (sample == NULL || text == NULL || arena == NULL) {
        goto out;
    }
    for (int i = 0; i < SAMPLES; i++) {
        sample[i] = (bw_sample){i * 0.001, (double)(i % 6000) / 100, (double)(i % 3600) / 10, true};
    }
    size_t len = 0;
    int64_t began_ns = bw_clock_mono_ns();
    if (bw_trace_write(sample, SAMPLES, text, size, &len, NULL) != BW_OK) {
        goto out;
    }
    int64_t written_ns = bw_clock_mono_ns();
    const bw_sample *read = NULL;
    size_t n = 0;
    if (bw_trace_read(text, len, arena, &read, &n, NULL) != BW_OK || n != SAMPLES) {
        goto out;
    }
    int64_t read_ns = bw_clock_mono_ns();
    printf("trace: %.0f ns a sample written, %.0f ns read\n",
           (double)(written_ns - began_ns) / SAMPLES, (double)(read_ns - written_ns) / SAMPLES);
    failed = 0;
out:
    bw_arena_free(arena);
    free(text);
    free(sample);
    return failed;
}

int main(void) {
    print_functions();
    return print_trace();
}
