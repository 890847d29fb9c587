/* capture_test.c - raw bytes with their times. */
#include "cmocka_all.h"

#include "device/capture.h"

#include <string.h>

static void assert_text(bw_capture *capture, const char *want) {
    size_t len = 99;
    assert_string_equal(bw_capture_text(capture, &len), want);
    assert_int_equal(len, strlen(want));
}

static void add(bw_capture *capture, int64_t now_ns, const char *bytes) {
    bw_capture_add(capture, now_ns, (const uint8_t *)bytes, strlen(bytes));
}

static void a_read_is_a_line(void **state) {
    (void)state;
    bw_capture capture = {0};
    assert_text(&capture, "");
    bw_capture_reset(&capture, 5000000);
    add(&capture, 5000999, "1 Nm\r\n");
    bw_capture_add(&capture, 6234567000, (const uint8_t *)"\x00\xff", 2);
    add(&capture, 1, "x"); /* before it began */
    assert_text(&capture, "@0 31204e6d0d0a\n@6229567 00ff\n@0 78\n");
    assert_false(capture.cut);
    bw_capture_reset(&capture, 7000000000);
    assert_text(&capture, "");
    add(&capture, 7000001000, "y");
    assert_text(&capture, "@1 79\n");
    bw_capture_fini(&capture);
}

/* Whole reads, by their times; what is left keeps its order and its times from there. */
static void what_is_old_is_forgotten(void **state) {
    (void)state;
    bw_capture capture = {0};
    bw_capture_forget(&capture, 1000);
    for (int i = 1; i <= 5; i++) {
        add(&capture, i * 1000000, &"abcde"[i - 1]);
    }
    bw_capture_forget(&capture, 3000000);
    assert_text(&capture, "@0 636465\n@1000 6465\n@2000 65\n");
    bw_capture_forget(&capture, 3000001);
    assert_text(&capture, "@999 6465\n@1999 65\n");
    bw_capture_forget(&capture, 9000000);
    assert_text(&capture, "");
    for (int i = 0; i < 100000; i++) { /* a stream at rest takes no more room than its window */
        add(&capture, 9000000 + i * INT64_C(1000), "+0012.34 N.m\r\n");
        bw_capture_forget(&capture, 9000000 + (i - 100) * INT64_C(1000));
    }
    assert_true(capture.size <= 16 << 10);
    bw_capture_fini(&capture);
}

static void very_much_at_rest_leaves_room_for_a_pull(void **state) {
    (void)state;
    static const uint8_t bytes[4096] = {0};
    bw_capture capture = {0};
    for (int i = 0; i < 5000; i++) {
        bw_capture_forget(&capture, 0);
        bw_capture_add(&capture, i, bytes, sizeof bytes);
        assert_false(capture.cut);
    }
    for (int i = 0; i < 400; i++) { /* 3 MB of text */
        bw_capture_add(&capture, i, bytes, sizeof bytes);
    }
    assert_false(capture.cut);
    for (int i = 0; i < 1000; i++) {
        bw_capture_add(&capture, i, bytes, sizeof bytes);
    }
    assert_true(capture.cut);
    bw_capture_forget(&capture, 5); /* a hole: nothing before it counts */
    assert_text(&capture, "");
    assert_false(capture.cut);
    bw_capture_fini(&capture);
}

static void what_was_written_reads_back(void **state) {
    (void)state;
    uint8_t bytes[256];
    for (size_t i = 0; i < sizeof bytes; i++) {
        bytes[i] = (uint8_t)i;
    }
    bw_capture capture = {0};
    bw_capture_add(&capture, 123456000, bytes, sizeof bytes);
    uint8_t out[BW_CAPTURE_READ_MAX];
    bw_capture_line line;
    size_t len = 0;
    const char *text = bw_capture_text(&capture, &len);
    assert_int_equal(bw_capture_parse(text, len, out, &line, NULL), BW_OK);
    assert_int_equal(line.kind, BW_CAPTURE_BYTES);
    assert_int_equal(line.time_us, 123456);
    assert_int_equal(line.n, sizeof bytes);
    assert_memory_equal(line.bytes, bytes, line.n);
    bw_capture_fini(&capture);
}

static void every_kind_of_line_is_written_and_read(void **state) {
    (void)state;
    static const uint8_t bytes[] = {1, 255};
    static const struct {
        bw_capture_line line;
        const char *text;
    } rows[] = {
        {{.kind = BW_CAPTURE_BYTES, .time_us = 7, .bytes = bytes, .n = 2}, "@7 01ff\n"},
        {{.kind = BW_CAPTURE_SENT, .time_us = 8, .bytes = bytes, .n = 1}, "@8 > 01\n"},
        {{.kind = BW_CAPTURE_EVENT, .event = BW_DEVICE_OPENED}, "@0 opened\n"},
        {{.kind = BW_CAPTURE_EVENT, .time_us = 9, .event = BW_DEVICE_SILENT}, "@9 silent\n"},
        {{.kind = BW_CAPTURE_EVENT, .time_us = 9, .event = BW_DEVICE_LOST}, "@9 lost\n"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[BW_CAPTURE_TEXT_MAX];
        uint8_t store[BW_CAPTURE_READ_MAX];
        bw_capture_line line;
        size_t len = bw_capture_write(&rows[i].line, text);
        assert_string_equal(text, rows[i].text);
        assert_int_equal(bw_capture_parse(text, len, store, &line, NULL), BW_OK);
        assert_int_equal(line.kind, rows[i].line.kind);
        assert_int_equal(line.time_us, rows[i].line.time_us);
        assert_int_equal(line.event, rows[i].line.event);
        assert_int_equal(line.n, rows[i].line.n);
    }
}

static void it_is_cut_at_its_limit_and_has_no_hole(void **state) {
    (void)state;
    static const uint8_t bytes[4096] = {0};
    bw_capture capture = {0};
    size_t kept = 0;
    size_t len = 0;
    for (int i = 0; i < 2000; i++) {
        bw_capture_add(&capture, 0, bytes, sizeof bytes);
        kept += capture.cut ? 0 : 1;
    }
    assert_true(capture.cut);
    (void)bw_capture_text(&capture, &len);
    assert_int_equal(len, kept * (sizeof "@0 " - 1 + 2 * sizeof bytes + 1));
    assert_true(len <= BW_RAW_BYTES_MAX && len > BW_RAW_BYTES_MAX - 40000);
    assert_true(capture.size <= BW_RAW_BYTES_MAX);
    bw_capture_add(&capture, 0, bytes, 1); /* would still fit */
    size_t then = 0;
    (void)bw_capture_text(&capture, &then);
    assert_int_equal(then, len);
    bw_capture_reset(&capture, 0);
    bw_capture_add(&capture, 0, bytes, 1);
    assert_text(&capture, "@0 00\n");
    assert_false(capture.cut);
    bw_capture_fini(&capture);
}

static void lines_of_a_capture_are_checked(void **state) {
    (void)state;
    static const struct {
        const char *line;
        bool good;
        size_t n;
    } rows[] = {
        {"", true, 0},           {"\r\n", true, 0},
        {"# a remark", true, 0}, {"@1 00 0aFf\r\n", true, 3},
        {"@1 0", false, 0},      {"@1 00 0", false, 0},
        {"@1 zz", false, 0},     {"@1", false, 0},
        {"@ 00", false, 0},      {"@-1 00", false, 0},
        {"@1\t00", false, 0},    {"@1234567890123456789 00", false, 0},
        {"1 00", false, 0},      {"00", false, 0},
        {"@1 ", false, 0},       {"@1 >", false, 0},
        {"@1 > 0f", true, 1},    {"@1 > > 0f", false, 0},
        {"@1 opened", true, 0},  {"@1 open", false, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        uint8_t out[BW_CAPTURE_READ_MAX];
        bw_capture_line line;
        bw_err err = {.code = BW_OK};
        bw_status rc = bw_capture_parse(rows[i].line, strlen(rows[i].line), out, &line, &err);
        assert_int_equal(rc, rows[i].good ? BW_OK : BW_E_DATA);
        if (rc == BW_OK) {
            assert_int_equal(line.n, rows[i].n);
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_read_is_a_line),
        cmocka_unit_test(what_is_old_is_forgotten),
        cmocka_unit_test(very_much_at_rest_leaves_room_for_a_pull),
        cmocka_unit_test(what_was_written_reads_back),
        cmocka_unit_test(every_kind_of_line_is_written_and_read),
        cmocka_unit_test(it_is_cut_at_its_limit_and_has_no_hole),
        cmocka_unit_test(lines_of_a_capture_are_checked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
