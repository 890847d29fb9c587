/* log.h - what a feed or a device gave, as text that a test can compare.
 *
 * A line each: "sample torque_Nm=1.000000 angle_deg=2.000000 time_s=3.000000", "result ...",
 * "unknown TEXT", "say TEXT", "send HEX". */
#ifndef BW_TESTS_DEVICE_LOG_H
#define BW_TESTS_DEVICE_LOG_H

#include "device/device.h"
#include "device/driver_feed.h"

typedef struct test_log {
    char *text; /* NUL-ended, never NULL */
    size_t len;
    size_t size;
    size_t readings;
} test_log;

test_log test_log_new(void);
void test_log_free(test_log *log);
void test_log_clear(test_log *log);
void test_log_add(test_log *log, const char *format, ...) BW_PRINTF(2, 3);

bw_feed_out test_feed_out(test_log *log);
bw_device_sink test_device_sink(test_log *log);

/* The whole of a file, NUL-ended; freed by the caller. */
char *test_read_file(const char *path, size_t *len);

#endif
