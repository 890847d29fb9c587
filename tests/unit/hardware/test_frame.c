/* test_frame.c - the coder against the worked frames of hardware/protocol.md, and against damage.
 */
#include "cmocka_all.h"
#include "frame.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TEXT_BYTES = 65536 };

static char *document(void) {
    char *text = calloc(1, TEXT_BYTES);
    FILE *file = fopen(BW_SOURCE_DIR "/hardware/protocol.md", "rb");
    assert_non_null(text);
    assert_non_null(file);
    assert_in_range(fread(text, 1, TEXT_BYTES - 1, file), 1, TEXT_BYTES - 2);
    fclose(file);
    return text;
}

static int digit(char c) {
    return isdigit((unsigned char)c) ? c - '0' : c - 'a' + 10;
}

/* Bytes in hex, over the lines that go on with them. */
static size_t hex(const char *at, uint8_t *out) {
    size_t n = 0;
    while (isxdigit((unsigned char)at[0]) && isxdigit((unsigned char)at[1])) {
        out[n++] = (uint8_t)(digit(at[0]) << 4 | digit(at[1]));
        at += 2;
        at += strspn(at, " ");
        if (strncmp(at, "\n      ", 7) == 0) {
            at += 7;
        }
    }
    return n;
}

static void check_worked(const uint8_t *plain, size_t n, const uint8_t *wire, size_t wire_n) {
    uint8_t again[ADAPTER_PLAIN_MAX] = {0};
    uint8_t coded[ADAPTER_CODED_MAX];
    ad_reader reader = {0};
    memcpy(again + ADAPTER_AT_BODY, plain + ADAPTER_AT_BODY, n - ADAPTER_AT_BODY);
    size_t length = ad_frame_code(again, (uint8_t)n, plain[ADAPTER_AT_TYPE],
                                  ad_get_u16(plain + ADAPTER_AT_SEQUENCE), coded);
    assert_int_equal(length, wire_n);
    assert_memory_equal(coded, wire, wire_n);
    for (size_t i = 0; i + 1 < wire_n; i++) {
        assert_int_equal(ad_reader_take(&reader, wire[i]), AD_READ_MORE);
    }
    assert_int_equal(ad_reader_take(&reader, wire[wire_n - 1]), AD_READ_FRAME);
    assert_int_equal(reader.n, n);
    assert_memory_equal(reader.plain, plain, n);
}

static void worked_frames(void **state) {
    char *text = document();
    (void)state;
    int frames = 0;
    for (const char *at = strstr(text, "\nplain "); at != NULL; at = strstr(at + 1, "\nplain ")) {
        uint8_t plain[ADAPTER_PLAIN_MAX];
        uint8_t wire[ADAPTER_CODED_MAX];
        const char *second = strstr(at, "\nwire  ");
        assert_non_null(second);
        size_t n = hex(at + 7, plain);
        check_worked(plain, n, wire, hex(second + 7, wire));
        frames++;
    }
    assert_int_equal(frames, 14);
    free(text);
}

/* The check value of the catalogue of parametrised CRC algorithms. */
static void crc_check_value(void **state) {
    (void)state;
    assert_true(ad_crc((const uint8_t *)"123456789", 9) == 0xCBF43926u);
}

static size_t a_frame(uint8_t *coded, uint32_t number) {
    uint8_t plain[ADAPTER_SAMPLE_BYTES] = {0};
    ad_put_u32(plain + ADAPTER_SAMPLE_TIME_US, number);
    return ad_frame_code(plain, sizeof plain, ADAPTER_SAMPLE, (uint16_t)number, coded);
}

static int frames_in(const uint8_t *bytes, size_t n) {
    ad_reader reader = {0};
    int frames = 0;
    for (size_t i = 0; i < n; i++) {
        frames += ad_reader_take(&reader, bytes[i]) == AD_READ_FRAME;
    }
    return frames;
}

static void every_changed_byte(void **state) {
    (void)state;
    uint8_t coded[ADAPTER_CODED_MAX];
    size_t n = a_frame(coded, 0x01020304);
    for (size_t i = 0; i < n; i++) {
        uint8_t right = coded[i];
        for (unsigned wrong = 0; wrong < 256; wrong++) {
            coded[i] = (uint8_t)wrong;
            assert_int_equal(frames_in(coded, n), wrong == right);
        }
        coded[i] = right;
    }
}

static void half_frames(void **state) {
    (void)state;
    uint8_t coded[ADAPTER_CODED_MAX];
    size_t n = a_frame(coded, 77);
    for (size_t cut = 1; cut + 1 < n; cut++) {
        ad_reader reader = {0};
        for (size_t i = cut; i + 1 < n; i++) {
            assert_int_equal(ad_reader_take(&reader, coded[i]), AD_READ_MORE);
        }
        assert_int_equal(ad_reader_take(&reader, 0), AD_READ_BAD);
        for (size_t i = 0; i + 1 < n; i++) {
            assert_int_equal(ad_reader_take(&reader, coded[i]), AD_READ_MORE);
        }
        assert_int_equal(ad_reader_take(&reader, 0), AD_READ_FRAME);
    }
}

static void too_long_and_empty(void **state) {
    (void)state;
    ad_reader reader = {0};
    for (int i = 0; i < 1000; i++) {
        assert_int_equal(ad_reader_take(&reader, 0xFF), AD_READ_MORE);
    }
    assert_int_equal(ad_reader_take(&reader, 0), AD_READ_BAD);
    assert_int_equal(ad_reader_take(&reader, 0), AD_READ_MORE);
    assert_int_equal(ad_reader_take(&reader, 0), AD_READ_MORE);
    assert_int_equal(ad_reader_take(&reader, 1), AD_READ_MORE);
    assert_int_equal(ad_reader_take(&reader, 0), AD_READ_BAD);
}

static void numbers(void **state) {
    (void)state;
    uint8_t bytes[4];
    ad_put_i32(bytes, -2);
    assert_memory_equal(bytes, "\xFE\xFF\xFF\xFF", 4);
    assert_int_equal(ad_get_i32(bytes), -2);
    ad_put_u32(bytes, 0x89ABCDEFu);
    assert_memory_equal(bytes, "\xEF\xCD\xAB\x89", 4);
    assert_true(ad_get_u32(bytes) == 0x89ABCDEFu);
    assert_int_equal(ad_get_u16(bytes), 0xCDEF);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(worked_frames),      cmocka_unit_test(crc_check_value),
        cmocka_unit_test(every_changed_byte), cmocka_unit_test(half_frames),
        cmocka_unit_test(too_long_and_empty), cmocka_unit_test(numbers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
