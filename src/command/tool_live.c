/* tool_live.c - what a wrench shows now, for checks and calibrations. */
#include "command/devices.h"
#include "command/tool.h"

#include "base/clock.h"

#include <math.h>
#include <poll.h>

enum { SLICE_MS = 100, REST_MS = 200, STALE_MS = 200, STALE_MOST_MS = 3000 };

static void on_sample(void *ctx, const bw_sample *sample) {
    bw_heard *h = ctx;
    h->sum_Nm += sample->torque_Nm;
    h->n++;
    h->newest_Nm = fabs(sample->torque_Nm);
    h->peak_Nm = fmax(h->peak_Nm, h->newest_Nm);
}

static void on_result(void *ctx, double time_s, double peak_Nm, bool has_turn, double turn_deg) {
    bw_heard *h = ctx;
    (void)time_s;
    (void)has_turn;
    (void)turn_deg;
    h->result_Nm = fmax(h->result_Nm, fabs(peak_Nm));
}

static void on_say(void *ctx, const char *line) {
    (void)ctx;
    bw_complain("%s", line);
}

bw_device_sink bw_tool_sink(bw_heard *heard) {
    return (bw_device_sink){.ctx = heard, .sample = on_sample, .result = on_result, .say = on_say};
}

bw_status bw_tool_open(const bw_tool *tool, bw_device **out, bw_err *err) {
    char spec[BW_SPEC_MAX];
    bw_status rc = bw_devices_expand(tool->wrench, spec, err);
    return rc == BW_OK ? bw_device_open(spec, out, err) : rc;
}

bw_status bw_tool_hear(bw_device *device, int ms, bw_heard *out, bw_err *err) {
    const bw_device_sink sink = bw_tool_sink(out);
    int64_t end_ns = bw_clock_mono_ns() + (int64_t)ms * 1000000;
    bw_status rc = BW_OK;
    while (rc == BW_OK && bw_clock_mono_ns() < end_ns) {
        struct pollfd ready = {.fd = bw_device_fd(device), .events = POLLIN};
        (void)poll(&ready, 1, bw_device_every_ms(device));
        rc = bw_device_pump(device, bw_clock_mono_ns(), &sink, err);
    }
    return rc;
}

/* What came while nobody listened was for nothing, and its end may be half a line: all of it, and
 * a moment more, is passed over. */
bw_status bw_tool_catch_up(bw_device *device, bw_err *err) {
    bw_heard stale = {0};
    const bw_device_sink sink = bw_tool_sink(&stale);
    struct pollfd ready = {.fd = bw_device_fd(device), .events = POLLIN};
    int64_t end_ns = bw_clock_mono_ns() + (int64_t)STALE_MOST_MS * 1000000;
    bw_status rc = BW_OK;
    while (rc == BW_OK && poll(&ready, 1, 0) == 1 && bw_clock_mono_ns() < end_ns) {
        rc = bw_device_pump(device, bw_clock_mono_ns(), &sink, err);
    }
    return rc == BW_OK ? bw_tool_hear(device, STALE_MS, &stale, err) : rc;
}

/* A result is a pull's end; a stream's end is that it rests again. */
bw_status bw_tool_peak(bw_device *device, double least_Nm, int patience_ms, double *peak_Nm,
                       bw_err *err) {
    bw_heard h = {0};
    int rest_ms = 0;
    bw_status rc = BW_OK;
    for (int gone_ms = 0; rc == BW_OK && gone_ms < patience_ms; gone_ms += SLICE_MS) {
        rc = bw_tool_hear(device, SLICE_MS, &h, err);
        if (rc == BW_OK && h.result_Nm >= least_Nm) {
            *peak_Nm = h.result_Nm;
            return BW_OK;
        }
        rest_ms = h.newest_Nm < least_Nm / 2 ? rest_ms + SLICE_MS : 0;
        if (rc == BW_OK && h.peak_Nm >= least_Nm && rest_ms >= REST_MS) {
            *peak_Nm = h.peak_Nm;
            return BW_OK;
        }
    }
    return rc != BW_OK ? rc
                       : bw_fail(err, BW_E_STATE, "no pull came from the wrench in %d seconds",
                                 patience_ms / 1000);
}
