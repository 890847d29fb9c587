/* feed_test.c - the loop around a driver, and what it does with a driver that lies. */
#include "cmocka_all.h"
#include "log.h"

#include "device/driver_load.h"

#include <stdlib.h>
#include <string.h>

/* A frame is '<', a digit, so many bytes, '>'; the digit is its torque.  The setting do= has it
 * break one rule of driver.h. */
typedef struct toy_state {
    char deed;
} toy_state;

enum { TOY_FRAME_MAX = 12 };

static const char *toy_configure(void *state, const char *key, const char *value) {
    toy_state *toy = state;
    if (strcmp(key, "do") != 0) {
        return "do is the only setting";
    }
    toy->deed = value[0];
    return NULL;
}

static bw_scan toy_scan(const void *state, const uint8_t *buf, size_t len, size_t *frame_len) {
    const toy_state *toy = state;
    if (toy->deed == 's') {
        return (bw_scan)7;
    }
    if (toy->deed == '0' || toy->deed == '9') {
        *frame_len = toy->deed == '0' ? 0 : len + 1;
        return BW_SCAN_FRAME;
    }
    if (toy->deed == 'w') {
        return BW_SCAN_MORE; /* for ever */
    }
    if (toy->deed == 'l') {
        *frame_len = len;
        return len > TOY_FRAME_MAX ? BW_SCAN_FRAME : BW_SCAN_MORE;
    }
    if (buf[0] != '<') {
        return BW_SCAN_BAD;
    }
    if (len < 2) {
        return BW_SCAN_MORE;
    }
    if (buf[1] < '0' || buf[1] > '9') {
        return BW_SCAN_BAD;
    }
    size_t want = (size_t)(buf[1] - '0') + 3;
    if (len < want) {
        return BW_SCAN_MORE;
    }
    *frame_len = want;
    return buf[want - 1] == '>' ? BW_SCAN_FRAME : BW_SCAN_BAD;
}

static bw_decode toy_decode(void *state, const bw_driver_host *host, const uint8_t *frame,
                            size_t len) {
    const toy_state *toy = state;
    if (toy->deed == 'd') {
        return (bw_decode)-3;
    }
    if (frame[2] == '?') {
        return BW_DECODE_UNKNOWN;
    }
    if (frame[2] == '!') {
        host->say(host->ctx, "hello");
        host->say(host->ctx, NULL);
        return host->send(host->ctx, frame, len) == 0 && host->send(host->ctx, NULL, 3) == -1
                   ? BW_DECODE_OK
                   : BW_DECODE_UNKNOWN;
    }
    const bw_reading reading = {.size = toy->deed == 'r' ? 3 : sizeof reading,
                                .has = BW_HAS_TORQUE,
                                .torque_Nm = frame[1] - '0'};
    host->emit(host->ctx, toy->deed == 'n' ? NULL : &reading);
    return BW_DECODE_OK;
}

static void toy_event(void *state, const bw_driver_host *host, bw_device_event event) {
    (void)state;
    static const char *const words[] = {"", "opened", "silent", "lost"};
    host->say(host->ctx, words[event]);
}

static void toy_tick(void *state, const bw_driver_host *host, uint64_t now_ns) {
    (void)state;
    const uint8_t byte = (uint8_t)now_ns;
    (void)host->send(host->ctx, &byte, 1);
}

static bw_driver toy_driver(void) {
    return (bw_driver){.abi = BW_DRIVER_ABI,
                       .size = sizeof(bw_driver),
                       .name = "toy",
                       .version = "1",
                       .says = "a toy",
                       .source = "none",
                       .line = {9600, 8, 'N', 1},
                       .state_size = sizeof(toy_state),
                       .frame_max = TOY_FRAME_MAX,
                       .configure = toy_configure,
                       .scan = toy_scan,
                       .decode = toy_decode,
                       .event = toy_event,
                       .tick = toy_tick};
}

typedef struct fixture {
    bw_feed *feed;
    test_log log;
    bw_feed_out out;
    bw_err err;
} fixture;

static void begin(fixture *f, const char *deed) {
    const bw_driver driver = toy_driver();
    assert_int_equal(bw_driver_check(&driver, "toy", NULL), BW_OK);
    assert_int_equal(bw_feed_new(&driver, &f->feed, NULL), BW_OK);
    assert_int_equal(bw_feed_set(f->feed, "do", deed, NULL), BW_OK);
    f->log = test_log_new();
    f->out = test_feed_out(&f->log);
    f->err = (bw_err){.code = BW_OK};
}

static void end(fixture *f) {
    bw_feed_free(f->feed);
    test_log_free(&f->log);
}

static bw_status feed_text(fixture *f, const char *text) {
    return bw_feed_bytes(f->feed, (const uint8_t *)text, strlen(text), &f->out, &f->err);
}

static void frames_are_found_in_any_division(void **state) {
    (void)state;
    static const char bytes[] = "xx<1a><2?b><<3cde><9><0>>";
    static const char want[] = "sample torque_Nm=1.000000\nunknown <2?b>\n"
                               "sample torque_Nm=3.000000\nsample torque_Nm=0.000000\n";
    for (size_t at = 0; at < sizeof bytes; at++) {
        fixture f = {0};
        begin(&f, "-");
        const uint8_t *b = (const uint8_t *)bytes;
        assert_int_equal(bw_feed_bytes(f.feed, b, at, &f.out, &f.err), BW_OK);
        assert_int_equal(bw_feed_bytes(f.feed, b + at, sizeof bytes - 1 - at, &f.out, &f.err),
                         BW_OK);
        /* "<9><0>>" may be the beginning of a frame of 12 bytes. */
        assert_int_equal(bw_feed_dropped(f.feed), 3);
        assert_int_equal(feed_text(&f, "......"), BW_OK);
        assert_string_equal(f.log.text, want);
        assert_int_equal(bw_feed_dropped(f.feed), 3 + 3 + 7);
        end(&f);
    }
}

static void a_flood_of_bytes_needs_no_more_room(void **state) {
    (void)state;
    fixture f = {0};
    begin(&f, "-");
    size_t n = 100000;
    uint8_t *bytes = malloc(n);
    assert_non_null(bytes);
    for (size_t i = 0; i < n; i++) {
        bytes[i] = (uint8_t) "<1a>"[i % 4];
    }
    assert_int_equal(bw_feed_bytes(f.feed, bytes, n, &f.out, &f.err), BW_OK);
    assert_int_equal(f.log.readings, n / 4);
    assert_int_equal(bw_feed_dropped(f.feed), 0);
    free(bytes);
    end(&f);
}

static void a_frame_that_never_ends_is_dropped(void **state) {
    (void)state;
    fixture f = {0};
    begin(&f, "w");
    assert_int_equal(feed_text(&f, "0123456789a"), BW_OK);
    assert_int_equal(bw_feed_dropped(f.feed), 0);
    assert_int_equal(feed_text(&f, "bcd"), BW_OK);
    assert_int_equal(bw_feed_dropped(f.feed), 3); /* 11 wait for the 12th */
    end(&f);
}

static void words_go_both_ways(void **state) {
    (void)state;
    fixture f = {0};
    begin(&f, "-");
    assert_int_equal(feed_text(&f, "<1!><5"), BW_OK);
    assert_string_equal(f.log.text, "say hello\nsend 3c31213e\n");
    test_log_clear(&f.log);
    assert_int_equal(bw_feed_tick(f.feed, 0x42, &f.out, &f.err), BW_OK);
    assert_int_equal(bw_feed_event(f.feed, BW_DEVICE_LOST, &f.out, &f.err), BW_OK);
    assert_string_equal(f.log.text, "send 42\nsay lost\n");
    assert_int_equal(bw_feed_dropped(f.feed), 2);
    assert_int_equal(feed_text(&f, "abcde>"), BW_OK); /* the other half is none */
    assert_int_equal(f.log.readings, 0);
    end(&f);
}

static void a_driver_that_lies_is_caught(void **state) {
    (void)state;
    static const struct {
        const char *deed;
        const char *says;
    } rows[] = {{"s", "the driver toy answers scan with what is no answer"},
                {"0", "the driver toy finds a frame where there are no such bytes"},
                {"9", "the driver toy finds a frame where there are no such bytes"},
                {"l", "the driver toy finds a frame where there are no such bytes"},
                {"d", "the driver toy answers decode with what is no answer"},
                {"r", "the driver toy emits a reading of another size"},
                {"n", "the driver toy emits a reading of another size"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        fixture f = {0};
        begin(&f, rows[i].deed);
        assert_int_equal(feed_text(&f, "<1a><1a><1a><1a>"), BW_E_DATA);
        assert_string_equal(f.err.text, rows[i].says);
        assert_int_equal(f.log.readings, 0);
        end(&f);
    }
}

static void members_that_may_be_missing_may_be_missing(void **state) {
    (void)state;
    bw_driver driver = toy_driver();
    driver.configure = NULL;
    driver.event = NULL;
    driver.tick = NULL;
    assert_int_equal(bw_driver_check(&driver, "toy", NULL), BW_OK);
    fixture f = {.log = test_log_new()};
    f.out = test_feed_out(&f.log);
    assert_int_equal(bw_feed_new(&driver, &f.feed, NULL), BW_OK);
    assert_int_equal(bw_feed_set(f.feed, "a", "b", &f.err), BW_E_DATA);
    assert_string_equal(f.err.text, "a=b: the driver toy has no settings");
    assert_int_equal(bw_feed_tick(f.feed, 1, &f.out, &f.err), BW_OK);
    assert_int_equal(bw_feed_event(f.feed, BW_DEVICE_OPENED, &f.out, &f.err), BW_OK);
    assert_int_equal(f.log.len, 0);
    end(&f);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(frames_are_found_in_any_division),
        cmocka_unit_test(a_flood_of_bytes_needs_no_more_room),
        cmocka_unit_test(a_frame_that_never_ends_is_dropped),
        cmocka_unit_test(words_go_both_ways),
        cmocka_unit_test(a_driver_that_lies_is_caught),
        cmocka_unit_test(members_that_may_be_missing_may_be_missing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
