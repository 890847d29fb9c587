/* modbus_test.c - the modbus driver behind the wall against libmodbus's slave, which is another
 * implementation: over two pseudo-terminals that this program joins, as a cable does. */
#include "cmocka_all.h"
#include "log.h"
#include "pty.h"

#include "base/clock.h"
#include "base/text.h"
#include "device/device.h"

#include <modbus/modbus.h>
#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { REGISTERS = 16, ADDRESS = 17 };

typedef struct line {
    test_pty ours;   /* what the driver opens */
    test_pty theirs; /* what the slave opens */
    pid_t slave;
    bw_device *device;
    test_log log;
} line;

/* The slave, in a process of its own: 60.5 at 4 and -12.25 at 6, last byte first.  Registers as
 * IEEE 754 has them, written by hand: 60.5 is 42720000, -12.25 is C1440000. */
static void be_slave(const char *path) {
    modbus_t *bus = modbus_new_rtu(path, 19200, 'E', 8, 1);
    modbus_mapping_t *map = modbus_mapping_new(0, 0, REGISTERS, REGISTERS);
    if (bus == NULL || map == NULL || modbus_set_slave(bus, ADDRESS) != 0 ||
        modbus_connect(bus) != 0) {
        _exit(2);
    }
    map->tab_registers[4] = 0x4272;
    map->tab_registers[7] = 0x44C1;
    map->tab_input_registers[2] = 1234;
    for (;;) {
        uint8_t query[MODBUS_RTU_MAX_ADU_LENGTH];
        int n = modbus_receive(bus, query);
        if (n > 0) {
            (void)modbus_reply(bus, query, n, map);
        } else if (n < 0) {
            (void)modbus_flush(bus);
        }
    }
}

static int set_up(void **state) {
    static line l;
    memset(&l, 0, sizeof l);
    l.log = test_log_new();
    test_pty_open(&l.ours);
    test_pty_open(&l.theirs);
    l.slave = fork();
    if (l.slave == 0) {
        be_slave(l.theirs.name);
    }
    *state = &l;
    return setenv("BOLTWRIGHT_PLUGINS", BW_BINARY_DIR "/plugins", 1);
}

static int tear_down(void **state) {
    line *l = *state;
    bw_device_free(l->device);
    (void)kill(l->slave, SIGKILL);
    (void)waitpid(l->slave, NULL, 0);
    test_pty_end(&l->ours);
    test_pty_end(&l->theirs);
    test_log_free(&l->log);
    return 0;
}

static void carry(int from, int to) {
    uint8_t bytes[512];
    ssize_t n = read(from, bytes, sizeof bytes);
    if (n > 0) {
        assert_int_equal(write(to, bytes, (size_t)n), n);
    }
}

static void open_line(line *l, const char *settings) {
    char spec[256];
    bw_err err = {.code = BW_OK};
    bw_text text = bw_text_on(spec, sizeof spec);
    bw_text_add(&text, "%s,driver=modbus,%s", l->ours.link, settings);
    if (bw_device_open(spec, &l->device, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
}

/* Carries bytes and pumps until the log has so many lines, at most 10 s. */
static void run_line(line *l, size_t lines) {
    const bw_device_sink sink = test_device_sink(&l->log);
    int64_t end_ns = bw_clock_mono_ns() + 10000000000;
    size_t have = 0;
    while (have < lines && bw_clock_mono_ns() < end_ns) {
        struct pollfd on[] = {{.fd = l->ours.master, .events = POLLIN},
                              {.fd = l->theirs.master, .events = POLLIN},
                              {.fd = bw_device_fd(l->device), .events = POLLIN}};
        (void)poll(on, 3, 5);
        if ((on[0].revents & POLLIN) != 0) {
            carry(l->ours.master, l->theirs.master);
        }
        if ((on[1].revents & POLLIN) != 0) {
            carry(l->theirs.master, l->ours.master);
        }
        assert_int_equal(bw_device_pump(l->device, bw_clock_mono_ns(), &sink, NULL), BW_OK);
        have = 0;
        for (const char *at = l->log.text; *at != '\0'; at++) {
            have += *at == '\n' ? 1 : 0;
        }
    }
    assert_true(have >= lines);
}

static void a_float_is_read_again_and_again(void **state) {
    line *l = *state;
    open_line(l, "address=17,torque=4");
    run_line(l, 5);
    assert_memory_equal(l->log.text, "sample torque_Nm=60.500000 time_s=", 34);
    assert_null(strstr(l->log.text, "say"));
    assert_int_equal(bw_device_unread(l->device), 0);
}

static void the_last_byte_may_come_first(void **state) {
    line *l = *state;
    open_line(l, "address=17,torque=6,angle=4,order=dcba,unit=lbf.ft");
    run_line(l, 1);
    /* -12.25 lbf.ft; 4 and 5 hold 60.5 the other way round, which is 4.3e-41 */
    assert_memory_equal(l->log.text, "sample torque_Nm=-16.608770 angle_deg=0.000000 ", 47);
}

static void input_registers_are_read(void **state) {
    line *l = *state;
    open_line(l, "address=17,function=4,torque=2,type=int16,scale=0.01,every_ms=20");
    run_line(l, 2);
    assert_memory_equal(l->log.text, "sample torque_Nm=12.340000 time_s=", 34);
}

static void a_register_that_is_not_there_is_told(void **state) {
    line *l = *state;
    open_line(l, "address=17,torque=500");
    run_line(l, 1);
    assert_memory_equal(l->log.text, "say the device has no such register", 35);
}

static void a_device_that_does_not_answer_is_told(void **state) {
    line *l = *state;
    open_line(l, "address=18,torque=4");
    run_line(l, 1);
    assert_memory_equal(l->log.text, "say the device does not answer: are address=", 44);
    assert_int_equal(l->log.readings, 0);
}

int main(int argc, char **argv) {
    if (argc == 3 && strcmp(argv[1], "--worker") == 0) {
        return strcmp(argv[2], "driver") == 0 ? bw_driver_worker_main(NULL) : 2;
    }
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        TEST(a_float_is_read_again_and_again),
        TEST(the_last_byte_may_come_first),
        TEST(input_registers_are_read),
        TEST(a_register_that_is_not_there_is_told),
        TEST(a_device_that_does_not_answer_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
