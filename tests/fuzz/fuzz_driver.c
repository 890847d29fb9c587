/* fuzz_driver.c - one driver's scan and decode, in the host's own feed loop.  Built once for each.
 *
 * The first byte of the input chooses one of the driver's settings (FUZZ_SETTINGS, parted by |);
 * the rest comes in two reads, with a silence between them where the byte's highest bit is set. */
#include "fuzz/fuzz.h"

#include "device/driver_feed.h"

#include <math.h>
#include <string.h>

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

static void identify(void *ctx, const char *serial) {
    (void)ctx;
    FUZZ_CHECK(serial != NULL && strlen(serial) <= 60);
}

enum { SETTINGS_MAX = 200 };

/* The nth of FUZZ_SETTINGS, set word by word. */
static void set_up(bw_feed *feed, unsigned nth) {
    char words[SETTINGS_MAX] = FUZZ_SETTINGS;
    char *from = words;
    for (char *bar = strchr(words, '|'); bar != NULL; bar = strchr(from, '|')) {
        if (nth-- == 0) {
            *bar = '\0';
            break;
        }
        from = bar + 1;
    }
    while (*from != '\0') {
        char *end = from + strcspn(from, ",");
        char *next = *end == ',' ? end + 1 : end;
        *end = '\0';
        char *equals = strchr(from, '=');
        FUZZ_CHECK(equals != NULL);
        *equals = '\0';
        FUZZ_CHECK(bw_feed_set(feed, from, equals + 1, NULL) == BW_OK);
        from = next;
    }
}

static unsigned count_settings(void) {
    unsigned n = 1;
    for (const char *at = FUZZ_SETTINGS; *at != '\0'; at++) {
        n += *at == '|' ? 1 : 0;
    }
    return n;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    bw_feed *feed = NULL;
    bw_feed_out out = {
        .reading = reading_, .send = send_, .say = say, .unknown = unknown, .identify = identify};
    if (size == 0) {
        return 0;
    }
    size_t half = (size - 1) / 2;
    FUZZ_CHECK(bw_feed_new(bw_driver_entry(), &feed, NULL) == BW_OK);
    set_up(feed, (data[0] & 0x7Fu) % count_settings());
    FUZZ_CHECK(bw_feed_event(feed, BW_DEVICE_OPENED, &out, NULL) == BW_OK);
    FUZZ_CHECK(bw_feed_event(feed, BW_DEVICE_SILENT, &out, NULL) == BW_OK);
    FUZZ_CHECK(bw_feed_bytes(feed, data + 1, half, &out, NULL) == BW_OK);
    if ((data[0] & 0x80) != 0) {
        FUZZ_CHECK(bw_feed_event(feed, BW_DEVICE_SILENT, &out, NULL) == BW_OK);
    }
    FUZZ_CHECK(bw_feed_bytes(feed, data + 1 + half, size - 1 - half, &out, NULL) == BW_OK);
    FUZZ_CHECK(bw_feed_tick(feed, 1000000000, &out, NULL) == BW_OK);
    bw_feed_free(feed);
    return 0;
}
