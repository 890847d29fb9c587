/* device_test.c - a wrench at work, on a pseudo-terminal, its driver behind the wall.
 *
 * This program is its own worker: see main. */
#include "cmocka_all.h"
#include "log.h"
#include "pty.h"

#include "base/clock.h"
#include "base/text.h"
#include "device/drivers.h"
#include "device/playback.h"

#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

typedef struct fixture {
    test_pty pty;
    bw_device *device;
    test_log log;
    bw_device_sink sink;
    bw_err err;
} fixture;

static int set_up(void **state) {
    static fixture f;
    memset(&f, 0, sizeof f);
    f.log = test_log_new();
    test_pty_open(&f.pty);
    *state = &f;
    return setenv("BOLTWRIGHT_PLUGINS", BW_BINARY_DIR "/tests/drivers:" BW_BINARY_DIR "/plugins",
                  1);
}

static int tear_down(void **state) {
    fixture *f = *state;
    bw_device_free(f->device);
    test_pty_end(&f->pty);
    test_log_free(&f->log);
    return 0;
}

/* rest: "" or ",KEY=VALUE...". */
static bw_status open_device(fixture *f, const char *rest) {
    char spec[256];
    bw_text text = bw_text_on(spec, sizeof spec);
    bw_text_add(&text, "%s%s", f->pty.link, rest);
    f->sink = test_device_sink(&f->log);
    return bw_device_open(spec, &f->device, &f->err);
}

static bw_status pump(fixture *f) {
    return bw_device_pump(f->device, bw_clock_mono_ns(), &f->sink, &f->err);
}

/* Pumps what was just sent, waiting for it at most 5 s. */
static bw_status pump_ready(fixture *f) {
    struct pollfd ready = {.fd = bw_device_fd(f->device), .events = POLLIN};
    assert_int_equal(poll(&ready, 1, 5000), 1);
    return pump(f);
}

/* ---- good company ---- */

static void samples_and_results_come_through(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ",unit=N.m"), BW_OK);
    test_pty_say(&f->pty,
                 "+0012.34 N.m +045.6 deg @12.345\r\nhello\r\nPEAK 60,2Nm 45 deg @12.5\r\n");
    assert_int_equal(pump_ready(f), BW_OK);
    assert_string_equal(f->log.text,
                        "sample torque_Nm=12.340000 angle_deg=45.600000 time_s=12.345000\n"
                        "say not understood: \"hello\"\n"
                        "result torque_Nm=60.200000 angle_deg=45.000000 time_s=12.500000\n");
    assert_int_equal(bw_device_unread(f->device), 1);
    char name[200];
    bw_text text = bw_text_on(name, sizeof name);
    bw_text_add(&text, "line on %s", f->pty.link);
    assert_string_equal(bw_device_name(f->device), name);
    assert_string_equal(bw_device_port(f->device), f->pty.link);
    assert_string_equal(bw_device_driver(f->device), "line 1");
    assert_string_equal(bw_device_settings(f->device), "unit=N.m");
}

static void arrival_times_go_on_from_the_opening(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ""), BW_OK);
    int64_t opened_ns = bw_clock_mono_ns();
    test_pty_say(&f->pty, "1 Nm\n2 Nm\n");
    struct pollfd ready = {.fd = bw_device_fd(f->device), .events = POLLIN};
    assert_int_equal(poll(&ready, 1, 5000), 1);
    assert_int_equal(bw_device_pump(f->device, opened_ns + 2000000000, &f->sink, &f->err), BW_OK);
    double first_s = 0;
    double second_s = 0;
    assert_int_equal(sscanf(f->log.text,
                            "sample torque_Nm=1.000000 time_s=%lf\n"
                            "sample torque_Nm=2.000000 time_s=%lf\n",
                            &first_s, &second_s),
                     2);
    assert_true(second_s > 1.99 && second_s < 7);
    double step_s = second_s - first_s;
    assert_true(step_s > 0.0999 && step_s < 0.1001);
}

static void raw_bytes_are_kept_with_their_times(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ""), BW_OK);
    size_t len = 99;
    bool cut = true;
    assert_string_equal(bw_device_raw(f->device, &len, &cut), "");
    assert_int_equal(len, 0);
    int64_t now_ns = bw_clock_mono_ns();
    bw_device_raw_reset(f->device, now_ns);
    struct pollfd ready = {.fd = bw_device_fd(f->device), .events = POLLIN};
    test_pty_say(&f->pty, "1 N");
    assert_int_equal(poll(&ready, 1, 5000), 1);
    assert_int_equal(bw_device_pump(f->device, now_ns + 1500, &f->sink, &f->err), BW_OK);
    test_pty_say(&f->pty, "m\n");
    assert_int_equal(poll(&ready, 1, 5000), 1);
    assert_int_equal(bw_device_pump(f->device, now_ns + 20000000, &f->sink, &f->err), BW_OK);
    assert_string_equal(bw_device_raw(f->device, &len, &cut), "@1 31204e\n@20000 6d0a\n");
    assert_int_equal(len, 22);
    assert_false(cut);
    assert_int_equal(f->log.readings, 1);
}

/* What comes behind half a line and a silence may be its rest: 12 must not become 2. */
static void half_a_line_and_silence_are_not_joined_with_the_next(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ""), BW_OK);
    test_pty_say(&f->pty, "1");
    assert_int_equal(pump_ready(f), BW_OK);
    int64_t later_ns = bw_clock_mono_ns() + 600000000;
    assert_int_equal(bw_device_pump(f->device, later_ns, &f->sink, &f->err), BW_OK); /* nothing */
    test_pty_say(&f->pty, "2 Nm\n3 Nm\n");
    assert_int_equal(pump_ready(f), BW_OK);
    static const char want[] = "say not understood: \"2 Nm\"\nsample torque_Nm=3.000000 ";
    assert_memory_equal(f->log.text, want, sizeof want - 1);
    assert_int_equal(bw_device_unread(f->device), 2);
}

static void a_caller_who_comes_late_loses_nothing(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ""), BW_OK);
    test_pty_say(&f->pty, "1");
    assert_int_equal(pump_ready(f), BW_OK);
    test_pty_say(&f->pty, "2 Nm\n");
    struct pollfd ready = {.fd = bw_device_fd(f->device), .events = POLLIN};
    assert_int_equal(poll(&ready, 1, 5000), 1);
    int64_t later_ns = bw_clock_mono_ns() + 5000000000;
    assert_int_equal(bw_device_pump(f->device, later_ns, &f->sink, &f->err), BW_OK);
    assert_memory_equal(f->log.text, "sample torque_Nm=12.000000 ", 27);
}

static void nothing_understood_is_told_as_a_wrong_speed(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ",baud=19200"), BW_OK);
    char noise[400];
    memset(noise, 0x80, sizeof noise);
    test_pty_write(&f->pty, noise, sizeof noise);
    while (f->log.len == 0 || strstr(f->log.text, "sends, but") == NULL) {
        assert_int_equal(pump_ready(f), BW_OK);
    }
    assert_non_null(strstr(f->log.text, "sends, but nothing that the driver line reads at 19200 "
                                        "baud 8N1: are speed (baud=) and driver right?\n"));
    test_log_clear(&f->log);
    test_pty_write(&f->pty, noise, sizeof noise);
    assert_int_equal(pump_ready(f), BW_OK);
    assert_null(strstr(f->log.text, "sends, but")); /* once is enough */
    assert_true(bw_device_unread(f->device) >= 2);
}

static void a_flood_is_read_in_portions(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ""), BW_OK);
    size_t lines = 0;
    for (int round = 0; round < 200; round++) {
        test_pty_say(&f->pty, "1 Nm\n2 Nm\n3 Nm\n4 Nm\n5 Nm\n6 Nm\n7 Nm\n8 Nm\n");
        lines += 8;
        assert_int_equal(pump_ready(f), BW_OK);
    }
    while (f->log.readings < lines) {
        assert_int_equal(pump_ready(f), BW_OK);
    }
    assert_int_equal(f->log.readings, lines);
    assert_int_equal(bw_device_unread(f->device), 0);
}

/* ---- going and coming back ---- */

static void an_unplugged_wrench_comes_back(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ""), BW_OK);
    test_pty_say(&f->pty, "1 Nm\n2");
    assert_int_equal(pump_ready(f), BW_OK);
    test_pty_hang_up(&f->pty); /* in mid-line */
    assert_int_equal(pump_ready(f), BW_E_ABSENT);
    char want[256];
    bw_text text = bw_text_on(want, sizeof want);
    bw_text_add(&text, "the wrench on %s is gone: it was unplugged or switched off", f->pty.link);
    assert_string_equal(f->err.text, want);
    assert_int_equal(bw_device_fd(f->device), -1);
    assert_int_equal(pump(f), BW_E_ABSENT);
    assert_int_equal(bw_device_reopen(f->device, &f->err), BW_E_ABSENT);
    assert_non_null(strstr(f->err.text, "there is no port "));

    test_pty_open(&f->pty);
    assert_int_equal(bw_device_reopen(f->device, &f->err), BW_OK);
    assert_int_equal(bw_device_reopen(f->device, &f->err), BW_OK); /* nothing to do */
    assert_true(bw_device_fd(f->device) >= 0);
    test_log_clear(&f->log);
    test_pty_say(&f->pty, "3 Nm\n");
    assert_int_equal(pump_ready(f), BW_OK);
    assert_memory_equal(f->log.text, "sample torque_Nm=3.000000 ", 26); /* not 23 */
    assert_int_equal(bw_device_unread(f->device), 1);
}

static void what_came_before_the_hang_up_is_read(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ",driver=naughty,do=events"), BW_OK);
    assert_int_equal(pump(f), BW_OK);
    char heard[16];
    test_pty_hear(&f->pty, heard, sizeof heard);
    assert_string_equal(heard, "go\ngo\n");
    assert_string_equal(f->log.text, "say opened\nsay silent\n");
    test_log_clear(&f->log);
    test_pty_say(&f->pty, "x\n");
    struct pollfd ready = {.fd = bw_device_fd(f->device), .events = POLLIN};
    assert_int_equal(poll(&ready, 1, 5000), 1);
    assert_int_equal(pump(f), BW_OK);
    test_pty_hang_up(&f->pty);
    assert_int_equal(pump_ready(f), BW_E_ABSENT);
    assert_memory_equal(f->log.text, "sample torque_Nm=1.000000 ", 26);
    assert_non_null(strstr(f->log.text, "\nsay lost\n"));
}

static void a_driver_that_polls_is_let_speak(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ",driver=naughty,do=poll"), BW_OK);
    assert_int_equal(pump(f), BW_OK);
    char heard[16];
    test_pty_hear(&f->pty, heard, sizeof heard);
    assert_string_equal(heard, "?");
}

static bw_status ask(fixture *f, bw_wish_kind kind) {
    const bw_wish wish = {
        .size = sizeof wish, .kind = (uint32_t)kind, .torque_Nm = 60, .low_Nm = 57, .high_Nm = 63};
    return bw_device_wish(f->device, &wish, &f->sink, &f->err);
}

static void a_wish_reaches_the_device_and_its_name_is_watched(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ",driver=naughty"), BW_OK);
    assert_int_equal(bw_device_can(f->device), BW_CAN_STREAM | BW_CAN_ZERO | BW_CAN_TARGET);
    assert_int_equal(ask(f, BW_WISH_ZERO), BW_OK);
    char heard[16];
    test_pty_hear(&f->pty, heard, sizeof heard);
    assert_string_equal(heard, "zero");
    assert_int_equal(ask(f, BW_WISH_TARGET), BW_OK);
    test_pty_hear(&f->pty, heard, sizeof heard);
    assert_string_equal(heard, "60");
    assert_int_equal(ask(f, BW_WISH_SHUNT), BW_E_ABSENT);
    assert_string_equal(f->err.text, "the driver naughty cannot do that");
    test_pty_say(&f->pty, "serial A1\nserial A1\n");
    assert_int_equal(pump_ready(f), BW_OK);
    assert_string_equal(f->log.text, "");
    test_pty_say(&f->pty, "serial B2\n");
    assert_int_equal(pump_ready(f), BW_E_DATA);
    assert_string_equal(bw_device_serial(f->device), "B2");
    assert_non_null(strstr(f->err.text, "serial number B2, before it was A1"));
    test_pty_say(&f->pty, "serial B2\n1\n"); /* told once, and read on */
    assert_int_equal(pump_ready(f), BW_OK);
    assert_int_equal(f->log.readings, 1);
}

static void a_wrench_that_never_speaks_is_told_once(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ""), BW_OK);
    int64_t now_ns = bw_clock_mono_ns();
    for (int s = 0; s <= 40; s++) {
        test_log_clear(&f->log);
        assert_int_equal(
            bw_device_pump(f->device, now_ns + s * INT64_C(1000000000), &f->sink, &f->err), BW_OK);
        assert_int_equal(strstr(f->log.text, "nothing has come") != NULL, s == 20);
    }
    bw_device_free(f->device);
    f->device = NULL;
    assert_int_equal(open_device(f, ""), BW_OK);
    now_ns = bw_clock_mono_ns();
    test_pty_say(&f->pty, "1 Nm\n");
    assert_int_equal(pump_ready(f), BW_OK);
    test_log_clear(&f->log);
    assert_int_equal(bw_device_pump(f->device, now_ns + INT64_C(30000000000), &f->sink, &f->err),
                     BW_OK);
    assert_string_equal(f->log.text, "");
}

/* The same result again is one pull: where it is said that the wrench repeats itself, for so long
 * after each of them; or where the wrench's own time says so. */
static void a_result_sent_again_counts_once(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ",resends=2"), BW_OK);
    int64_t now_ns = bw_clock_mono_ns();
    static const struct {
        double at_s;
        const char *line;
        size_t results;
    } rows[] = {{0, "PEAK 60.2 N.m\r\n", 1},   {1.9, "PEAK 60.2 N.m\r\n", 1},
                {3.8, "PEAK 60.2 N.m\r\n", 1}, {3.9, "PEAK 60.3 N.m\r\n", 2},
                {4.0, "PEAK 60.2 N.m\r\n", 3}, {6.1, "PEAK 60.2 N.m\r\n", 4}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct pollfd ready = {.fd = bw_device_fd(f->device), .events = POLLIN};
        test_pty_say(&f->pty, rows[i].line);
        assert_int_equal(poll(&ready, 1, 5000), 1);
        assert_int_equal(
            bw_device_pump(f->device, now_ns + (int64_t)(rows[i].at_s * 1e9), &f->sink, &f->err),
            BW_OK);
        assert_int_equal(f->log.readings, rows[i].results);
    }
    assert_non_null(strstr(f->log.text, "sent its last result of 60.2 N.m again"));
}

static void a_result_with_its_time_is_never_taken_twice(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ""), BW_OK);
    test_pty_say(&f->pty, "PEAK 60.2 N.m @12.5\r\n");
    assert_int_equal(pump_ready(f), BW_OK);
    test_pty_say(&f->pty, "PEAK 60.2 N.m @12.5\r\n");
    assert_int_equal(pump_ready(f), BW_OK);
    assert_int_equal(f->log.readings, 1);
    test_pty_say(&f->pty, "PEAK 60.2 N.m @12.6\r\n");
    assert_int_equal(pump_ready(f), BW_OK);
    assert_int_equal(f->log.readings, 2);
    test_log_clear(&f->log); /* without time, and nobody says that it repeats itself */
    test_pty_say(&f->pty, "PEAK 60.2 N.m\r\nPEAK 60.2 N.m\r\n");
    assert_int_equal(pump_ready(f), BW_OK);
    assert_int_equal(f->log.readings, 2);
}

/* What a tap kept, played back, gives the same readings at the same times. */
typedef struct kept {
    char text[4096];
    size_t len;
} kept;

static void keep(void *ctx, const char *line, size_t len) {
    kept *k = ctx;
    assert_true(k->len + len < sizeof k->text);
    memcpy(k->text + k->len, line, len + 1);
    k->len += len;
}

static void play_back(kept *k, const char *driver, test_log *log) {
    FILE *file = fmemopen(k->text, k->len, "r");
    assert_non_null(file);
    bw_playback *playback = NULL;
    bw_err err = {.code = BW_OK};
    assert_int_equal(bw_playback_new(file, driver, &playback, &err), BW_OK);
    const bw_device_sink sink = test_device_sink(log);
    double time_s = 0;
    for (bool more = true; more;) {
        assert_int_equal(bw_playback_next(playback, &sink, &time_s, &more, &err), BW_OK);
    }
    bw_playback_free(playback);
    (void)fclose(file);
}

static void what_a_tap_kept_plays_back_the_same(void **state) {
    fixture *f = *state;
    kept k = {.len = 0};
    assert_int_equal(open_device(f, ",unit=lbf.ft"), BW_OK);
    bw_device_tap(f->device, keep, &k);
    test_pty_say(&f->pty, "1\n2 ft.lb\nPEAK 3\nhello\n4");
    assert_int_equal(pump_ready(f), BW_OK);
    test_pty_say(&f->pty, ".5\n");
    assert_int_equal(pump_ready(f), BW_OK);
    test_pty_hang_up(&f->pty);
    assert_int_equal(pump_ready(f), BW_E_ABSENT);
    assert_int_equal(f->log.readings, 4);
    assert_non_null(strstr(k.text, " lost\n"));
    test_log log = test_log_new();
    play_back(&k, "line,unit=lbf.ft", &log);
    assert_string_equal(log.text, f->log.text);
    test_log_clear(&log);
    char spec[] = "# spec: /dev/ttyUSB0,driver=line,unit=lbf.ft\n"; /* named by the capture */
    memmove(k.text + strlen(spec), k.text, k.len + 1);
    memcpy(k.text, spec, strlen(spec));
    k.len += strlen(spec);
    play_back(&k, NULL, &log);
    assert_string_equal(log.text, f->log.text);
    test_log_free(&log);
}

static void a_damaged_capture_is_told_by_its_line(void **state) {
    (void)state;
    char text[] = "@0 opened\n@0 silent\n@1 310a\n@2 xx\n";
    FILE *file = fmemopen(text, strlen(text), "r");
    bw_playback *playback = NULL;
    bw_err err = {.code = BW_OK};
    test_log log = test_log_new();
    const bw_device_sink sink = test_device_sink(&log);
    double time_s = 0;
    bool more = true;
    assert_int_equal(bw_playback_new(file, "line,unit=N.m", &playback, &err), BW_OK);
    bw_status rc = BW_OK;
    while (rc == BW_OK && more) {
        rc = bw_playback_next(playback, &sink, &time_s, &more, &err);
    }
    assert_int_equal(rc, BW_E_DATA);
    assert_memory_equal(err.text, "line 4: a capture's line is needed", 34);
    assert_int_equal(log.readings, 1);
    bw_playback_free(playback);
    assert_int_equal(bw_playback_new(file, "none", &playback, &err), BW_E_DATA);
    (void)fclose(file);
    test_log_free(&log);
}

/* ---- which driver ---- */

static void drivers_are_listed_with_their_faults(void **state) {
    (void)state;
    bw_driver_row *row = NULL;
    size_t n = 0;
    size_t good = 0;
    assert_int_equal(bw_drivers_list(&row, &n, NULL), BW_OK);
    for (size_t i = 0; i < n; i++) {
        assert_true(i == 0 || strcmp(row[i - 1].name, row[i].name) < 0);
        assert_true(row[i].fault[0] != '\0' || row[i].says[0] != '\0');
        good += row[i].fault[0] == '\0' ? 1 : 0;
        if (strcmp(row[i].name, "abi") == 0) {
            assert_non_null(strstr(row[i].fault, "was built for interface 2"));
        }
        if (strcmp(row[i].name, "line") == 0) {
            assert_int_equal(row[i].line.baud, 9600);
            assert_int_equal(row[i].can & BW_CAN_CHECKSUM, 0);
        }
    }
    assert_true(good >= 2 && n >= good + 8);
    free(row);
}

/* ---- refusals ---- */

static void a_wrong_spec_gets_one_clear_line(void **state) {
    fixture *f = *state;
    static const struct {
        const char *rest;
        const char *says;
    } rows[] = {
        {",driver=none", "there is no driver `none`: no none.so or none.lua in "},
        {",driver=No", "driver=No: a driver's name is 1 to 16 letters a-z, digits and _"},
        {",unit=stone", "unit=stone: unit is N.m, dN.m, "},
        {",colour=red", "colour=red: the line driver has the settings unit, angle, sign"},
        {",baud=0", "baud=0: a whole number from 50 to 4000000 is needed, as in 9600"},
        {",baud=12345", " cannot be set to 12345 baud 8N1"},
        {",driver=abi", "the driver abi was built for interface 2"},
        {",driver=many", "the driver many is not as driver.h asks: version is a text"},
        {",driver=crash", "the driver crash failed (ended by signal 11 (bad memory access))"},
    };
    size_t n = sizeof rows / sizeof rows[0];
#if defined(__SANITIZE_ADDRESS__)
    n--; /* the sanitizer ends a crash in its own way */
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
    n--;
#endif
#endif
    for (size_t i = 0; i < n; i++) {
        assert_int_equal(open_device(f, rows[i].rest), BW_E_DATA);
        assert_non_null(strstr(f->err.text, rows[i].says));
        assert_null(strchr(f->err.text, '\n'));
        assert_null(f->device);
    }
}

static void a_port_that_cannot_be_had_is_told(void **state) {
    fixture *f = *state;
    bw_device *device = NULL;
    assert_int_equal(bw_device_open("/dev/ttyNONE7", &device, &f->err), BW_E_ABSENT);
    assert_string_equal(f->err.text, "there is no port /dev/ttyNONE7: is the cable plugged in?");
    assert_int_equal(bw_device_open("/dev/null", &device, &f->err), BW_E_DATA);
    assert_string_equal(f->err.text, "/dev/null is no serial port");
    assert_int_equal(open_device(f, ""), BW_OK);
    assert_int_equal(bw_device_open(f->pty.name, &device, &f->err), BW_E_BUSY);
    assert_non_null(strstr(f->err.text, " is in use by process "));
    assert_null(device);
}

/* ---- bad company ---- */

/* The driver fails at "bad" in the way of do=, is told and started again three times, works in
 * between, and is given up at the fourth. */
static void assert_given_up(fixture *f, const char *rest, const char *says) {
    assert_int_equal(open_device(f, rest), BW_OK);
    for (int i = 1; i <= 3; i++) {
        test_log_clear(&f->log);
        test_pty_say(&f->pty, "good\n");
        assert_int_equal(pump_ready(f), BW_OK);
        assert_int_equal(f->log.readings, 1);
        test_pty_say(&f->pty, "bad\n");
        assert_int_equal(pump_ready(f), BW_E_DATA);
        char want[64];
        bw_text text = bw_text_on(want, sizeof want);
        bw_text_add(&text, "; it was started again (%d of 3 times)", i);
        assert_non_null(strstr(f->err.text, want));
        assert_non_null(strstr(f->err.text, says));
        assert_true(bw_device_fd(f->device) >= 0);
    }
    test_pty_say(&f->pty, "bad\n");
    assert_int_equal(pump_ready(f), BW_E_STATE);
    assert_non_null(strstr(f->err.text, " is not read any more"));
    assert_int_equal(bw_device_fd(f->device), -1);
    assert_int_equal(pump(f), BW_E_STATE);
    assert_int_equal(f->log.readings, 1);
    assert_int_equal(bw_device_reopen(f->device, &f->err), BW_OK); /* the builder asks for it */
    test_pty_say(&f->pty, "good\n");
    assert_int_equal(pump_ready(f), BW_OK);
    assert_int_equal(f->log.readings, 2);
}

/* Three failures in a long day are no reason to give a driver up. */
static void a_driver_that_fails_once_an_hour_is_kept(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ",driver=naughty,do=exit"), BW_OK);
    int64_t now_ns = bw_clock_mono_ns();
    for (int i = 0; i < 6; i++) {
        struct pollfd ready = {.fd = bw_device_fd(f->device), .events = POLLIN};
        test_pty_say(&f->pty, "bad\n");
        assert_int_equal(poll(&ready, 1, 5000), 1);
        now_ns += 3600000000000;
        assert_int_equal(bw_device_pump(f->device, now_ns, &f->sink, &f->err), BW_E_DATA);
        assert_non_null(strstr(f->err.text, "; it was started again (1 of 3 times)"));
    }
}

static void a_driver_that_crashes_is_given_up(void **state) {
    assert_given_up(*state, ",driver=naughty,do=crash", "the driver naughty failed (ended ");
}

static void a_driver_that_hangs_is_given_up(void **state) {
    assert_given_up(*state, ",driver=naughty,do=hang",
                    "the driver naughty did not answer in time (ended by signal 9 (killed))");
}

static void a_driver_that_ends_is_given_up(void **state) {
    assert_given_up(*state, ",driver=naughty,do=exit",
                    "the driver naughty failed (ended with exit code 0)");
}

static void a_driver_that_lies_of_a_frame_is_given_up(void **state) {
    assert_given_up(*state, ",driver=naughty,do=lie",
                    "the driver naughty finds a frame where there are no such bytes");
}

static void a_driver_that_gives_a_wrong_answer_is_given_up(void **state) {
    assert_given_up(*state, ",driver=naughty,do=answer",
                    "the driver naughty answers decode with what is no answer");
}

static void a_driver_that_floods_is_given_up(void **state) {
    assert_given_up(*state, ",driver=naughty,do=flood",
                    "gives more readings than a device can send");
}

static void a_driver_that_forges_answers_is_given_up(void **state) {
    assert_given_up(*state, ",driver=naughty,do=forge",
                    "the driver naughty failed: its answers make no sense");
}

static void nonsense_is_refused_and_counted(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ",driver=naughty,do=nonsense"), BW_OK);
    test_pty_say(&f->pty, "bad\n");
    assert_int_equal(pump_ready(f), BW_OK);
    assert_int_equal(f->log.readings, 0);
    assert_int_equal(bw_device_unread(f->device), 7);
    assert_non_null(strstr(f->log.text, "say a reading beyond all bounds was refused\n"));
}

static void a_driver_s_words_cannot_act_on_a_terminal(void **state) {
    fixture *f = *state;
    assert_int_equal(open_device(f, ",driver=naughty,do=say"), BW_OK);
    test_pty_say(&f->pty, "bad\n");
    assert_int_equal(pump_ready(f), BW_OK);
    assert_string_equal(f->log.text, "say \\x1b[2J\\x0awords\n");
}

static void a_driver_cannot_leave_its_process(void **state) {
    fixture *f = *state;
    (void)unlink("/tmp/naughty");
    assert_int_equal(open_device(f, ",driver=naughty,do=escape"), BW_OK);
    test_pty_say(&f->pty, "bad\n");
    assert_int_equal(pump_ready(f), BW_OK);
    assert_string_equal(f->log.text,
                        "say refused:\nsay read a file\nsay refused:\nsay write a file\n"
                        "say refused:\nsay open a port\nsay refused:\nsay make a socket\n"
                        "say refused:\nsay start a process\n"
                        "say refused:\nsay send a signal\n");
    struct stat there;
    assert_int_equal(stat("/tmp/naughty", &there), -1);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(int argc, char **argv) {
    if (argc == 3 && strcmp(argv[1], "--worker") == 0) {
        return strcmp(argv[2], "driver") == 0 ? bw_driver_worker_main(NULL) : 2;
    }
    const struct CMUnitTest tests[] = {
        TEST(samples_and_results_come_through),
        TEST(arrival_times_go_on_from_the_opening),
        TEST(raw_bytes_are_kept_with_their_times),
        TEST(half_a_line_and_silence_are_not_joined_with_the_next),
        TEST(a_caller_who_comes_late_loses_nothing),
        TEST(nothing_understood_is_told_as_a_wrong_speed),
        TEST(a_flood_is_read_in_portions),
        TEST(an_unplugged_wrench_comes_back),
        TEST(what_came_before_the_hang_up_is_read),
        TEST(a_driver_that_polls_is_let_speak),
        TEST(a_wish_reaches_the_device_and_its_name_is_watched),
        TEST(a_wrench_that_never_speaks_is_told_once),
        TEST(a_result_sent_again_counts_once),
        TEST(a_result_with_its_time_is_never_taken_twice),
        TEST(what_a_tap_kept_plays_back_the_same),
        TEST(a_damaged_capture_is_told_by_its_line),
        TEST(drivers_are_listed_with_their_faults),
        TEST(a_wrong_spec_gets_one_clear_line),
        TEST(a_port_that_cannot_be_had_is_told),
        TEST(a_driver_that_fails_once_an_hour_is_kept),
        TEST(a_driver_that_crashes_is_given_up),
        TEST(a_driver_that_hangs_is_given_up),
        TEST(a_driver_that_ends_is_given_up),
        TEST(a_driver_that_lies_of_a_frame_is_given_up),
        TEST(a_driver_that_gives_a_wrong_answer_is_given_up),
        TEST(a_driver_that_floods_is_given_up),
        TEST(a_driver_that_forges_answers_is_given_up),
        TEST(nonsense_is_refused_and_counted),
        TEST(a_driver_s_words_cannot_act_on_a_terminal),
        TEST(a_driver_cannot_leave_its_process),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
