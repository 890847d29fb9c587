/* broken.c - drivers that must not be loaded: one fault each, chosen when it is built. */
#include "boltwright/driver.h"

static bw_scan scan(const void *state, const uint8_t *buf, size_t len, size_t *frame_len) {
    (void)state;
    (void)buf;
    *frame_len = len;
    return BW_SCAN_FRAME;
}

static bw_decode decode(void *state, const bw_driver_host *host, const uint8_t *frame, size_t len) {
    (void)state;
    (void)host;
    (void)frame;
    (void)len;
    return BW_DECODE_OK;
}

#if !defined(FAULT_NO_ENTRY)

static const bw_driver broken = {
#if defined(FAULT_ABI)
    .abi = BW_DRIVER_ABI + 1,
#else
    .abi = BW_DRIVER_ABI,
#endif
#if defined(FAULT_SIZE)
    .size = sizeof(bw_driver) + 8,
#else
    .size = sizeof(bw_driver),
#endif
#if defined(FAULT_NAME)
    .name = "line",
#else
    .name = DRIVER_NAME,
#endif
#if defined(FAULT_MANY)
    .says = "two\nlines",
    .line = {0, 9, 'x', 0},
    .state_size = (size_t)1 << 30,
#else
    .version = "1",
    .says = "a broken driver",
    .source = "none",
    .line = {9600, 8, 'N', 1},
    .frame_max = 8,
    .scan = scan,
    .decode = decode,
#endif
};

const bw_driver *bw_driver_entry(void) {
#if defined(FAULT_CRASH)
    volatile int *nowhere = NULL;
    *nowhere = 1;
#elif defined(FAULT_HANG)
    volatile int on = 1;
    while (on) {
    }
#elif defined(FAULT_NULL)
    return NULL;
#endif
    return &broken;
}

#endif

/* What a variant does not use is used here. */
BW_DRIVER_EXPORT void bw_test_unused(void);
void bw_test_unused(void) {
    size_t n = 0;
    (void)scan(NULL, NULL, 0, &n);
    (void)decode(NULL, NULL, NULL, 0);
}
