/* skeleton.c - a whole driver to begin with: copy the folder, rename, change.  README.md has the
 * frame that it reads; docs/drivers-in-c.md walks through it.
 *
 * Tests: tests/unit/device/captures_test.c with the captures beside this file. */
#include "boltwright/driver.h"

#include <stdbool.h>
#include <string.h>

/* The frame: mark, count, torque (2 bytes, 0.01 N.m, two's complement, high byte first), CRC (2
 * bytes, low byte first). */
enum { MARK = 0xA5, BODY_LEN = 4, FRAME_LEN = 6 };

/* Set aside by the host, zeroed: so zero must mean what holds when nothing was set. */
typedef struct skeleton {
    bool reversed;
    bool counted;  /* a frame was read since the port was opened */
    uint8_t count; /* its number */
} skeleton;

/* CRC-16/MODBUS: polynomial 8005 reflected, from FFFF. */
static unsigned crc_of(const uint8_t *bytes, size_t n) {
    unsigned crc = 0xFFFF;
    for (size_t i = 0; i < n; i++) {
        crc ^= bytes[i];
        for (int bit = 0; bit < 8; bit++) {
            crc = (crc >> 1) ^ ((crc & 1) != 0 ? 0xA001u : 0u);
        }
    }
    return crc;
}

static const char *skeleton_configure(void *state, const char *key, const char *value) {
    skeleton *s = state;
    if (strcmp(key, "sign") != 0) {
        return "the skeleton driver has the setting sign";
    }
    if (strcmp(value, "normal") != 0 && strcmp(value, "reversed") != 0) {
        return "sign is normal or reversed (the device counts tightening as negative)";
    }
    s->reversed = strcmp(value, "reversed") == 0;
    return NULL;
}

/* As soon as it is certain that no frame begins here it says BAD: the host then tries the next
 * byte, so that noise costs no more than itself. */
static bw_scan skeleton_scan(const void *state, const uint8_t *buf, size_t len, size_t *frame_len) {
    (void)state;
    if (buf[0] != MARK) {
        return BW_SCAN_BAD;
    }
    if (len < FRAME_LEN) {
        return BW_SCAN_MORE;
    }
    if (crc_of(buf, BODY_LEN) != (unsigned)(buf[BODY_LEN] | buf[BODY_LEN + 1] << 8)) {
        return BW_SCAN_BAD;
    }
    *frame_len = FRAME_LEN;
    return BW_SCAN_FRAME;
}

static bw_decode skeleton_decode(void *state, const bw_driver_host *host, const uint8_t *frame,
                                 size_t len) {
    skeleton *s = state;
    (void)len; /* scan finds frames of one length only */
    if (s->counted && frame[1] != (uint8_t)(s->count + 1)) {
        host->say(host->ctx, "frames were lost");
    }
    s->counted = true;
    s->count = frame[1];
    int hundredths = frame[2] << 8 | frame[3];
    hundredths -= (hundredths & 0x8000) != 0 ? 0x10000 : 0;
    const bw_reading reading = {.size = sizeof reading,
                                .has = BW_HAS_TORQUE,
                                .torque_Nm = (s->reversed ? 0 - hundredths : hundredths) / 100.0};
    host->emit(host->ctx, &reading);
    return BW_DECODE_OK;
}

/* What was counted before the cable was pulled says nothing of what comes after. */
static void skeleton_event(void *state, const bw_driver_host *host, bw_device_event event) {
    (void)host;
    skeleton *s = state;
    s->counted = s->counted && event != BW_DEVICE_OPENED;
}

static const bw_driver skeleton_driver = {
    .abi = BW_DRIVER_ABI,
    .size = sizeof(bw_driver),
    .name = "skeleton",
    .version = "1",
    .says = "an example: six bytes a sample, with a CRC",
    .source = "plugins/skeleton/README.md",
    .line = {.baud = 19200, .bits = 8, .parity = 'N', .stops = 1},
    .state_size = sizeof(skeleton),
    .frame_max = FRAME_LEN,
    .configure = skeleton_configure,
    .scan = skeleton_scan,
    .decode = skeleton_decode,
    .event = skeleton_event,
    .can = BW_CAN_STREAM | BW_CAN_CHECKSUM,
};

const bw_driver *bw_driver_entry(void) {
    return &skeleton_driver;
}
