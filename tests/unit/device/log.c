/* log.c - see log.h. */
#include "cmocka_all.h"
#include "log.h"

#include "base/decimal.h"
#include "base/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

test_log test_log_new(void) {
    test_log log = {.text = calloc(1, 1024), .size = 1024};
    assert_non_null(log.text);
    return log;
}

void test_log_free(test_log *log) {
    free(log->text);
    memset(log, 0, sizeof *log);
}

void test_log_clear(test_log *log) {
    log->len = 0;
    log->text[0] = '\0';
    log->readings = 0;
}

void test_log_add(test_log *log, const char *format, ...) {
    if (log->size - log->len < 2048) {
        log->size = log->size * 2 + 2048;
        log->text = realloc(log->text, log->size);
        assert_non_null(log->text);
    }
    bw_text text = bw_text_on(log->text + log->len, log->size - log->len);
    va_list args;
    va_start(args, format);
    bw_text_add_v(&text, format, args);
    va_end(args);
    log->len += text.len;
}

static void add_figure(test_log *log, const char *name, double value) {
    char text[64];
    test_log_add(log, " %s=%s", name, bw_decimal_format(value, 6, text, sizeof text));
}

static void add_plain(test_log *log, const uint8_t *bytes, size_t n) {
    while (n > 0 && (bytes[n - 1] == '\r' || bytes[n - 1] == '\n')) {
        n--;
    }
    for (size_t i = 0; i < n; i++) {
        test_log_add(log, bytes[i] >= ' ' && bytes[i] <= '~' ? "%c" : "\\x%02x", bytes[i]);
    }
    test_log_add(log, "\n");
}

/* ---- of a feed ---- */

static void feed_reading(void *ctx, const bw_reading *reading) {
    test_log *log = ctx;
    log->readings++;
    test_log_add(log, "%s", (reading->has & BW_HAS_RESULT) != 0 ? "result" : "sample");
    if ((reading->has & BW_HAS_TORQUE) != 0) {
        add_figure(log, "torque_Nm", reading->torque_Nm);
    }
    if ((reading->has & BW_HAS_ANGLE) != 0) {
        add_figure(log, "angle_deg", reading->angle_deg);
    }
    if ((reading->has & BW_HAS_TIME) != 0) {
        add_figure(log, "time_s", reading->time_s);
    }
    test_log_add(log, "\n");
}

static int feed_send(void *ctx, const uint8_t *bytes, size_t n) {
    test_log_add(ctx, "send ");
    for (size_t i = 0; i < n; i++) {
        test_log_add(ctx, "%02x", bytes[i]);
    }
    test_log_add(ctx, "\n");
    return 0;
}

static void feed_say(void *ctx, const char *text) {
    test_log_add(ctx, "say %s\n", text);
}

static void feed_unknown(void *ctx, const uint8_t *frame, size_t len) {
    test_log_add(ctx, "unknown ");
    add_plain(ctx, frame, len);
}

static void feed_identify(void *ctx, const char *serial) {
    test_log_add(ctx, "serial %s\n", serial);
}

bw_feed_out test_feed_out(test_log *log) {
    return (bw_feed_out){.ctx = log,
                         .reading = feed_reading,
                         .send = feed_send,
                         .say = feed_say,
                         .unknown = feed_unknown,
                         .identify = feed_identify};
}

/* ---- of a device ---- */

static void device_sample(void *ctx, const bw_sample *sample) {
    test_log *log = ctx;
    log->readings++;
    test_log_add(log, "sample");
    add_figure(log, "torque_Nm", sample->torque_Nm);
    if (sample->has_angle) {
        add_figure(log, "angle_deg", sample->angle_deg);
    }
    add_figure(log, "time_s", sample->time_s);
    test_log_add(log, "\n");
}

static void device_result(void *ctx, double time_s, double peak_Nm, bool has_turn,
                          double turn_deg) {
    test_log *log = ctx;
    log->readings++;
    test_log_add(log, "result");
    add_figure(log, "torque_Nm", peak_Nm);
    if (has_turn) {
        add_figure(log, "angle_deg", turn_deg);
    }
    add_figure(log, "time_s", time_s);
    test_log_add(log, "\n");
}

static void device_say(void *ctx, const char *line) {
    test_log_add(ctx, "say %s\n", line);
}

bw_device_sink test_device_sink(test_log *log) {
    return (bw_device_sink){
        .ctx = log, .sample = device_sample, .result = device_result, .say = device_say};
}

/* ---- files ---- */

char *test_read_file(const char *path, size_t *len) {
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        fail_msg("%s cannot be opened", path);
    }
    size_t size = 1 << 20;
    char *text = malloc(size);
    assert_non_null(text);
    *len = fread(text, 1, size - 1, file);
    assert_true(*len < size - 1);
    text[*len] = '\0';
    (void)fclose(file);
    return text;
}
