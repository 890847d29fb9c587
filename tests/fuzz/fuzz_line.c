/* fuzz_line.c - the driver for lines of text, in the host's own feed loop. */
#include "fuzz/fuzz.h"

#include "device/driver_feed.h"

#include <math.h>

static void reading_(void *ctx, const bw_reading *reading) {
    (void)ctx;
    FUZZ_CHECK((reading->has & ~(BW_HAS_TORQUE | BW_HAS_ANGLE | BW_HAS_TIME | BW_HAS_RESULT)) == 0);
    FUZZ_CHECK((reading->has & BW_HAS_TORQUE) == 0 || isfinite(reading->torque_Nm));
    FUZZ_CHECK((reading->has & BW_HAS_ANGLE) == 0 || isfinite(reading->angle_deg));
}

static void say(void *ctx, const char *text) {
    (void)ctx;
    FUZZ_CHECK(text != NULL);
}

static int send_(void *ctx, const uint8_t *bytes, size_t n) {
    (void)ctx;
    FUZZ_CHECK(bytes != NULL || n == 0);
    return 0;
}

static void unknown(void *ctx, const uint8_t *frame, size_t len) {
    (void)ctx;
    FUZZ_CHECK(frame != NULL && len > 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    bw_feed *feed = NULL;
    bw_feed_out out = {.reading = reading_, .send = send_, .say = say, .unknown = unknown};
    size_t half = size / 2;
    FUZZ_CHECK(bw_feed_new(bw_driver_entry(), &feed, NULL) == BW_OK);
    FUZZ_CHECK(bw_feed_bytes(feed, data, half, &out, NULL) == BW_OK);
    FUZZ_CHECK(bw_feed_bytes(feed, data + half, size - half, &out, NULL) == BW_OK);
    bw_feed_free(feed);
    return 0;
}
