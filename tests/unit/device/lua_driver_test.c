/* lua_driver_test.c - drivers of one text in Lua: framings, readings, refusals, mischief. */
#include "cmocka_all.h"
#include "pty.h"
#include "scene.h"

#include "base/clock.h"
#include "base/text.h"
#include "sequence/lua_driver.h"

#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

typedef struct made {
    bw_driver driver;
    void *self;
} made;

static made make(const char *text) {
    made m;
    bw_err err = {.code = BW_OK};
    if (bw_lua_driver_make("test", text, strlen(text), &m.driver, &m.self, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
    return m;
}

/* Feeds the bytes to a fresh driver, from a quiet port, and compares what comes. */
static void assert_reads(const char *text, const char *settings, const void *bytes, size_t n,
                         const char *want) {
    made m = make(text);
    test_log log = test_log_new();
    bw_feed_out out = test_feed_out(&log);
    bw_feed *feed = scene_feed(&m.driver, m.self, settings);
    assert_int_equal(bw_feed_event(feed, BW_DEVICE_OPENED, &out, NULL), BW_OK);
    assert_int_equal(bw_feed_event(feed, BW_DEVICE_SILENT, &out, NULL), BW_OK);
    assert_int_equal(bw_feed_bytes(feed, bytes, n, &out, NULL), BW_OK);
    assert_string_equal(log.text, want);
    bw_feed_free(feed);
    test_log_free(&log);
    bw_lua_driver_free(m.self);
}

#define ASSERT_READS(text, bytes, want) assert_reads(text, "", bytes, sizeof(bytes) - 1, want)

#define HEAD "driver { says = 'a test', frame = "
static const char ten_lines[] = "driver {\n"
                                "  says = 'bench wrench, +0012.34 N.m',\n"
                                "  frame = lines {},\n"
                                "  decode = function(line)\n"
                                "    local torque = line:match('^([+-]%d+%.%d+) N%.m$')\n"
                                "    return torque and { torque = torque }\n"
                                "  end,\n"
                                "}\n";

static void ten_lines_are_enough(void **state) {
    (void)state;
    ASSERT_READS(ten_lines, "+0012.34 N.m\r\n-0000.10 N.m\r\nBATTERY LOW\r\n12 N.m\r\n",
                 "sample torque_Nm=12.340000\nsample torque_Nm=-0.100000\n"
                 "unknown BATTERY LOW\nunknown 12 N.m\n");
    made m = make(ten_lines);
    assert_string_equal(m.driver.version, "1");
    assert_string_equal(m.driver.source, "test.lua");
    assert_int_equal(m.driver.line.baud, 9600);
    assert_null(m.driver.tick);
    bw_lua_driver_free(m.self);
}

static void a_reading_has_a_unit_an_angle_a_time_and_may_be_a_result(void **state) {
    (void)state;
    static const char text[] = HEAD
        "lines { max = 40 }, line = '19200 7E1', settings = { unit = 'lbf.ft' },"
        "decode = function(line, set)"
        "  if line == 'READY' then return true end"
        "  if line == 'two' then return { { torque = 1 }, { torque = 2, angle = 3.5 } } end"
        "  if line == 'bad' then return { { torque = 1 }, { torque = 'x' } } end"
        "  local kind, t, a = line:match('^(%a) (%S+) (%S+)$')"
        "  return kind and { torque = t, unit = set.unit, angle = a, time = 7,"
        "                    result = kind == 'P' }"
        " end }";
    ASSERT_READS(text, "READY\nT 1 2,5\nP 10 90\ntwo\nbad\n",
                 "sample torque_Nm=1.355818 angle_deg=2.500000 time_s=7.000000\n"
                 "result torque_Nm=13.558179 angle_deg=90.000000 time_s=7.000000\n"
                 "sample torque_Nm=1.000000\n"
                 "sample torque_Nm=2.000000 angle_deg=3.500000\n"
                 "unknown bad\n");
    assert_reads(text, "unit=N.m", "T 1e5 1\nT 0x10 1\nT 5 1\n", 24,
                 "unknown T 1e5 1\nunknown T 0x10 1\n"
                 "sample torque_Nm=5.000000 angle_deg=1.000000 time_s=7.000000\n");
    assert_reads(text, "unit=mm", "T 1 1\n", 6, "unknown T 1 1\n"); /* no unit of torque */
    made m = make(text);
    assert_int_equal(m.driver.line.bits, 7);
    assert_int_equal(m.driver.line.parity, 'E');
    bw_feed *feed = scene_feed(&m.driver, m.self, "");
    bw_err err = {.code = BW_OK};
    assert_int_equal(bw_feed_set(feed, "colour", "red", &err), BW_E_DATA);
    assert_string_equal(err.text, "colour=red: the driver test has the settings unit");
    bw_feed_free(feed);
    bw_lua_driver_free(m.self);
}

static void it_says_who_it_is_and_what_it_can_do(void **state) {
    (void)state;
    static const char text[] = HEAD
        "lines {}, can = { 'target', 'resends', 'serial' },"
        "wish = function(what, torque) return what == 'target' and 'T' .. torque or nil end,"
        "decode = function(line)"
        "  local id = line:match('^ID (.+)$')"
        "  if id then return { serial = id } end"
        "  if line == 'both' then return { serial = 'B1', torque = 5 } end"
        " end }";
    ASSERT_READS(text, "ID A9047\nboth\nID\n",
                 "serial A9047\nserial B1\nsample torque_Nm=5.000000\nunknown ID\n");
    made m = make(text);
    assert_int_equal(m.driver.can, BW_CAN_TARGET | BW_CAN_RESENDS | BW_CAN_SERIAL);
    bw_lua_driver_free(m.self);
}

#define SHOW " decode = function(f) return { torque = #f, angle = f:byte(1) } end }"

static void every_framing_finds_its_frames(void **state) {
    (void)state;
    ASSERT_READS(HEAD "fixed(3)," SHOW, "abcdef",
                 "sample torque_Nm=3.000000 angle_deg=97.000000\n"
                 "sample torque_Nm=3.000000 angle_deg=100.000000\n");
    ASSERT_READS(HEAD "fixed { size = 3, first = 65 }," SHOW, "xxAbcyAde",
                 "sample torque_Nm=3.000000 angle_deg=65.000000\n"
                 "sample torque_Nm=3.000000 angle_deg=65.000000\n");
    ASSERT_READS(HEAD "between { first = 2, last = 3 }," SHOW, "z\2ab\3\2\3",
                 "sample torque_Nm=3.000000 angle_deg=2.000000\n"
                 "sample torque_Nm=1.000000 angle_deg=2.000000\n");
    ASSERT_READS(HEAD "counted { first = 85, at = 1, adds = 2 }," SHOW, "q\x55\2ab\x55\1c",
                 "sample torque_Nm=4.000000 angle_deg=85.000000\n"
                 "sample torque_Nm=3.000000 angle_deg=85.000000\n");
    ASSERT_READS(HEAD "counted { at = 0, bytes = 2, big_endian = true }," SHOW, "\0\4abx",
                 "sample torque_Nm=4.000000 angle_deg=0.000000\n");
    ASSERT_READS(HEAD "cobs {}," SHOW, "\3ab\0\1\2x\0\5ab\0",
                 "sample torque_Nm=2.000000 angle_deg=97.000000\n"
                 "sample torque_Nm=2.000000 angle_deg=0.000000\n"
                 "unknown \\x05ab\\x00\n");
}

/* Check values of "123456789": catalogues of parametrised CRC algorithms, from memory:
 * CRC-16/MODBUS 4B37, CRC-16/CCITT-FALSE 29B1, CRC-32 CBF43926; the sums were added by hand:
 * 01DD, 31. */
static void every_check_is_held(void **state) {
    (void)state;
    static const char want[] = "sample torque_Nm=9.000000 angle_deg=49.000000\n";
    ASSERT_READS(HEAD "fixed { size = 11, check = 'crc16_modbus' }," SHOW, "123456789\x37\x4b",
                 want);
    ASSERT_READS(HEAD "fixed { size = 11, check = 'crc16_ccitt' }," SHOW, "123456789\x29\xb1",
                 want);
    ASSERT_READS(HEAD "fixed { size = 13, check = 'crc32' }," SHOW, "123456789\x26\x39\xf4\xcb",
                 want);
    ASSERT_READS(HEAD "fixed { size = 10, check = 'sum8' }," SHOW, "123456789\xdd", want);
    ASSERT_READS(HEAD "fixed { size = 10, check = 'xor8' }," SHOW, "123456789\x31", want);
    ASSERT_READS(HEAD "lines { check = 'xor8' }," SHOW, "12345678931\r\n", want);
    ASSERT_READS(HEAD "lines { check = 'crc16_ccitt' }," SHOW, "12345678929b1\n", want);
    ASSERT_READS(HEAD "lines { check = 'xor8' }," SHOW, "12345678932\n1\n",
                 "unknown 12345678932\nunknown 1\n");
    /* Over what stands between # and *: the 31 above; the # alone is no frame. */
    ASSERT_READS(HEAD "lines { check = 'xor8', check_from = 1, check_gap = 1 }," SHOW,
                 "#123456789*31\r\n#123456788*31\n#*00\n",
                 "sample torque_Nm=11.000000 angle_deg=35.000000\n"
                 "unknown #123456788*31\nunknown #*00\n");
    ASSERT_READS(HEAD "fixed { size = 11, check = 'sum8', check_from = 1 }," SHOW,
                 "\1"
                 "123456789\xdd",
                 "sample torque_Nm=10.000000 angle_deg=1.000000\n");
    ASSERT_READS(HEAD "cobs { check = 'crc16_modbus' }," SHOW, "\014123456789\x37\x4b\0", want);
    ASSERT_READS(HEAD "fixed { size = 11, check = 'crc16_modbus' }," SHOW,
                 "x123456789\x37\x4b"
                 "123456789\x37\x4b",
                 "sample torque_Nm=9.000000 angle_deg=49.000000\n"
                 "sample torque_Nm=9.000000 angle_deg=49.000000\n");
}

static void it_asks_and_grants_wishes(void **state) {
    (void)state;
    made m = make(HEAD "ask { send = 'R\\r', every_ms = 50, frame = lines {} },"
                       " event = function(what) return what == 'opened' and 'HELLO\\r' or nil end,"
                       " wish = function(what, torque)"
                       "   if what == 'target' then return ('T%d\\r'):format(torque // 1 | 0) end"
                       " end,"
                       " decode = function(f) return { torque = f }, 'ACK' end }");
    assert_int_equal(m.driver.can, BW_CAN_ASKED);
    test_log log = test_log_new();
    bw_feed_out out = test_feed_out(&log);
    bw_feed *feed = scene_feed(&m.driver, m.self, "");
    assert_int_equal(bw_feed_event(feed, BW_DEVICE_OPENED, &out, NULL), BW_OK);
    assert_int_equal(bw_feed_event(feed, BW_DEVICE_SILENT, &out, NULL), BW_OK);
    assert_int_equal(bw_feed_tick(feed, 1000000000, &out, NULL), BW_OK);
    assert_int_equal(bw_feed_tick(feed, 1049000000, &out, NULL), BW_OK); /* too soon */
    assert_int_equal(bw_feed_tick(feed, 1050000000, &out, NULL), BW_OK);
    assert_int_equal(bw_feed_bytes(feed, (const uint8_t *)"5\n", 2, &out, NULL), BW_OK);
    bool granted = false;
    bw_wish wish = {.size = sizeof wish, .kind = BW_WISH_TARGET, .torque_Nm = 60};
    assert_int_equal(bw_feed_wish(feed, &wish, &out, &granted, NULL), BW_OK);
    assert_true(granted);
    wish.kind = BW_WISH_ZERO;
    assert_int_equal(bw_feed_wish(feed, &wish, &out, &granted, NULL), BW_OK);
    assert_false(granted);
    assert_string_equal(log.text, "send 48454c4c4f0d\nsend 520d\nsend 520d\n"
                                  "sample torque_Nm=5.000000\nsend 41434b\nsend 5436300d\n");
    bw_feed_free(feed);
    test_log_free(&log);
    bw_lua_driver_free(m.self);
}

static void a_mistake_costs_its_frame_and_is_told(void **state) {
    (void)state;
    ASSERT_READS(HEAD "lines {},\ndecode = function(l)\n return { torque = l + {} } end }",
                 "1\n2\n",
                 "say test.lua:3: attempt to add a 'string' with a 'table'\nunknown 1\n"
                 "say test.lua:3: attempt to add a 'string' with a 'table'\nunknown 2\n");
    ASSERT_READS(HEAD "lines {}, decode = function(l) error({}) end }", "1\n",
                 "say stopped by error()\nunknown 1\n");
    ASSERT_READS(HEAD "lines {}, decode = function(l) return { torque = 0/0 } end }", "1\n",
                 "unknown 1\n");
    ASSERT_READS(HEAD "lines {}, decode = function(l) return 5 end }", "1\n", "unknown 1\n");
    /* Nothing of the host can be reached. */
    ASSERT_READS(HEAD "lines {}, decode = function(l)"
                      " return io == nil and os == nil and require == nil and load == nil and"
                      " debug == nil and package == nil and collectgarbage == nil and"
                      " string.dump == nil and math.random == nil end }",
                 "1\n", "");
}

static void a_wrong_text_gets_one_clear_line(void **state) {
    (void)state;
    static const struct {
        const char *text;
        const char *says;
    } rows[] = {
        {"", "test.lua has no driver { ... }"},
        {"driver {", "test.lua:1: "},
        {"\x1bLua", "this is compiled Lua: a driver must be text"},
        {"driver { says = 'x' }", "`frame` is lines {}, fixed(8)"},
        {"driver { frame = lines {} }", "`says` is a line of text"},
        {HEAD "lines {} }", "`decode` is a function, and must be there"},
        {HEAD "lines {}, colour = 1 }", "a driver has no `colour`: it has says, version"},
        {HEAD "fixed {}," SHOW, "fixed needs its size in bytes"},
        {HEAD "between { first = 2 }, line = 9600," SHOW, "`line` is a speed and the bits"},
        {HEAD "between { last = 2 }," SHOW, "between needs first and last"},
        {HEAD "counted { at = 99 }," SHOW, "`at` is a whole number from 0 to 64"},
        {HEAD "lines { check = 'md5' }," SHOW, "`check` is sum8, xor8"},
        {HEAD "ask { frame = lines {} }," SHOW, "ask needs what to send"},
        {HEAD "lines {}, settings = { unit = 5 }," SHOW, "a setting's default is a text"},
        {"driver { says = 'x', frame = lines {}, decode = print }", "`decode` is a function"},
        {"driver {} driver {}", "`says` is a line of text"},
        {"local x = nil + 1", "test.lua:1: attempt to perform arithmetic on a nil value"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_driver driver;
        void *self = NULL;
        bw_err err = {.code = BW_OK};
        bw_status rc = bw_lua_driver_make("test", rows[i].text, strlen(rows[i].text), &driver,
                                          &self, &err);
        assert_int_equal(rc, BW_E_DATA);
        if (strstr(err.text, rows[i].says) == NULL) {
            fail_msg("%s\ngives: %s", rows[i].text, err.text);
        }
    }
}

/* The skeleton's device, read by ten lines of Lua: the same samples, in every division, and nothing
 * wrong where a byte is damaged.  (That frames were lost is for C to say.) */
static void strip_words(char *expected) {
    char *to = expected;
    for (const char *line = expected; *line != '\0';) {
        size_t len = strcspn(line, "\n") + 1;
        if (strncmp(line, "sample", 6) == 0) {
            memmove(to, line, len);
            to += len;
        }
        line += len;
    }
    *to = '\0';
}

static void captures_of_another_driver_read_the_same(void **state) {
    (void)state;
    made m = make(
        "driver { says = 'as the skeleton', settings = { sign = 'normal' },"
        " frame = fixed { size = 6, first = 0xA5, check = 'crc16_modbus' },"
        " decode = function(f, set)"
        "   local hundredths = string.unpack('>i2', f, 3)"
        "   return { torque = (set.sign == 'reversed' and -hundredths or hundredths) / 100 }"
        " end }");
    scene s = scene_read(BW_SOURCE_DIR "/plugins/skeleton/captures", "stream");
    strip_words(s.expected);
    scene_assert_expected(&s, &m.driver, m.self);
    scene_each_damage(&s, &m.driver, m.self, scene_assert_nothing_wrong);
    scene_free(&s);
    bw_lua_driver_free(m.self);
}

/* ---- behind the wall ---- */

/* A wrench whose driver is this text, sent one line.  What became of it into log; the status of the
 * pump that had to deal with it. */
static bw_status run_behind_the_wall(const char *text, test_log *log, bw_err *err) {
    char folder[] = "/tmp/bw_lua_XXXXXX";
    assert_non_null(mkdtemp(folder));
    char path[64];
    bw_text name = bw_text_on(path, sizeof path);
    bw_text_add(&name, "%s/mine.lua", folder);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
    assert_int_equal(setenv("BOLTWRIGHT_PLUGINS", folder, 1), 0);
    test_pty pty = {.link = ""};
    test_pty_open(&pty);
    char spec[256];
    bw_text words = bw_text_on(spec, sizeof spec);
    bw_text_add(&words, "%s,driver=mine", pty.link);
    bw_device *device = NULL;
    const bw_device_sink sink = test_device_sink(log);
    bw_status rc = bw_device_open(spec, &device, err);
    if (rc == BW_OK) {
        test_pty_say(&pty, "1\n");
        struct pollfd ready = {.fd = bw_device_fd(device), .events = POLLIN};
        assert_int_equal(poll(&ready, 1, 5000), 1);
        rc = bw_device_pump(device, bw_clock_mono_ns(), &sink, err);
    }
    bw_device_free(device);
    test_pty_end(&pty);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(rmdir(folder), 0);
    return rc;
}

static void it_runs_behind_the_wall(void **state) {
    (void)state;
    test_log log = test_log_new();
    bw_err err = {.code = BW_OK};
    assert_int_equal(run_behind_the_wall(HEAD "lines {}, decode = function(l)"
                                              " return { torque = l, time = 5 } end }",
                                         &log, &err),
                     BW_OK);
    assert_string_equal(log.text, "sample torque_Nm=1.000000 time_s=5.000000\n");
    test_log_free(&log);
}

static void mischief_ends_the_device_alone(void **state) {
    (void)state;
    static const struct {
        const char *text;
        const char *says;
    } rows[] = {
        {HEAD "lines {}, decode = function() while true do end end }", "did not answer in time"},
        {HEAD "lines {}, decode = function() while true do pcall(error) end end }",
         "did not answer in time"},
        {HEAD "lines {}, decode = function() return ('x'):rep(1e9):find('y') end }",
         "failed (ended with exit code 5)"},
        {HEAD "lines {}, decode = function() local s = ('a'):rep(40000)"
              " return s:find(('a*'):rep(30) .. 'b') end }",
         "did not answer in time"},
        {HEAD "lines {}, decode = function() local t, s = {}, ('x'):rep(1000)"
              " while true do pcall(function() t[#t + 1] = s:rep(200) end) end end }",
         "failed (ended with exit code 5)"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        test_log log = test_log_new();
        bw_err err = {.code = BW_OK};
        assert_int_equal(run_behind_the_wall(rows[i].text, &log, &err), BW_E_DATA);
        if (strstr(err.text, rows[i].says) == NULL) {
            fail_msg("%s\ngives: %s", rows[i].text, err.text);
        }
        assert_int_equal(log.readings, 0);
        test_log_free(&log);
    }
}

int main(int argc, char **argv) {
    if (argc == 3 && strcmp(argv[1], "--worker") == 0) {
        return bw_driver_worker_main(bw_lua_driver_make);
    }
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ten_lines_are_enough),
        cmocka_unit_test(a_reading_has_a_unit_an_angle_a_time_and_may_be_a_result),
        cmocka_unit_test(it_says_who_it_is_and_what_it_can_do),
        cmocka_unit_test(every_framing_finds_its_frames),
        cmocka_unit_test(every_check_is_held),
        cmocka_unit_test(it_asks_and_grants_wishes),
        cmocka_unit_test(a_mistake_costs_its_frame_and_is_told),
        cmocka_unit_test(a_wrong_text_gets_one_clear_line),
        cmocka_unit_test(captures_of_another_driver_read_the_same),
        cmocka_unit_test(it_runs_behind_the_wall),
        cmocka_unit_test(mischief_ends_the_device_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
