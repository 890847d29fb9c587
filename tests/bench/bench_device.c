/* bench_device.c - how many samples a second come through the driver's worker.
 *
 * Prints figures and checks none: they depend on the machine.  bench_device [PLUGIN_FOLDER] */
#define _XOPEN_SOURCE 700 /* posix_openpt, grantpt, unlockpt, ptsname */
#include "base/clock.h"
#include "base/text.h"
#include "device/device.h"

#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char line[] = "+0012.34 N.m +045.6 deg @12.345\r\n";

enum { SECONDS = 2, LINES_AT_ONCE = 100 }; /* 100 lines fit a pseudo-terminal's buffer */

typedef struct tally {
    uint64_t samples;
} tally;

static void on_sample(void *ctx, const bw_sample *sample) {
    (void)sample;
    ((tally *)ctx)->samples++;
}

static void on_result(void *ctx, double time_s, double peak_Nm, bool has_turn, double turn_deg) {
    (void)ctx;
    (void)time_s;
    (void)peak_Nm;
    (void)has_turn;
    (void)turn_deg;
}

static void on_say(void *ctx, const char *words) {
    (void)ctx;
    (void)fprintf(stderr, "%s\n", words);
}

/* Sends `lines` lines at once again and again, pumps until they are all there.  0 or 1. */
static int measure(bw_device *device, int master, int lines) {
    char block[LINES_AT_ONCE * sizeof line];
    size_t len = 0;
    for (int i = 0; i < lines; i++) {
        memcpy(block + len, line, sizeof line - 1);
        len += sizeof line - 1;
    }
    tally t = {0};
    const bw_device_sink sink = {
        .ctx = &t, .sample = on_sample, .result = on_result, .say = on_say};
    uint64_t sent = 0;
    uint64_t rounds = 0;
    int64_t began_ns = bw_clock_mono_ns();
    int64_t now_ns = began_ns;
    for (; now_ns - began_ns < (int64_t)SECONDS * 1000000000; rounds++) {
        bw_device_raw_reset(device, now_ns);
        if (write(master, block, len) != (ssize_t)len) {
            return 1;
        }
        sent += (uint64_t)lines;
        while (t.samples < sent) {
            struct pollfd ready = {.fd = bw_device_fd(device), .events = POLLIN};
            bw_err err;
            if (poll(&ready, 1, 5000) != 1 ||
                bw_device_pump(device, bw_clock_mono_ns(), &sink, &err) != BW_OK) {
                return 1;
            }
        }
        now_ns = bw_clock_mono_ns();
    }
    double gone_s = (double)(now_ns - began_ns) * 1e-9;
    (void)printf("%3d lines at once: %.0f samples/s, %.1f us a round\n", lines,
                 (double)t.samples / gone_s, gone_s * 1e6 / (double)rounds);
    return 0;
}

int main(int argc, char **argv) {
    if (argc == 3 && strcmp(argv[1], "--worker") == 0) {
        return bw_driver_worker_main(NULL);
    }
    int master = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
    if (master < 0 || grantpt(master) != 0 || unlockpt(master) != 0 ||
        setenv("BOLTWRIGHT_PLUGINS", argc > 1 ? argv[1] : BW_BINARY_DIR "/plugins", 1) != 0) {
        return 1;
    }
    bw_device *device = NULL;
    bw_err err;
    if (bw_device_open(ptsname(master), &device, &err) != BW_OK) {
        (void)fprintf(stderr, "%s\n", err.text);
        return 1;
    }
    int rc = measure(device, master, 1);
    rc |= measure(device, master, LINES_AT_ONCE);
    bw_device_free(device);
    (void)close(master);
    return rc;
}
