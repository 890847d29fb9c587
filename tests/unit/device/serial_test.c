/* serial_test.c - one port through libserialport, which is shown pseudo-terminals as serial ports
 * (sysfs_shim.h). */
#define _DEFAULT_SOURCE /* TIOCM_DTR, TIOCM_RTS, CRTSCTS */
#include "cmocka_all.h"
#include "pty.h"
#include "sysfs_shim.h"

#include "base/text.h"
#include "device/port.h"
#include "device/ports.h"

#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

static const bw_line_settings line_8n1 = {9600, 8, 'N', 1};

typedef struct fixture {
    test_pty pty;
    test_pty other;
    bw_port port;
    bw_err err;
} fixture;

static void plug_in(test_plug *plug, const test_pty *pty, const char *serial) {
    *plug = (test_plug){
        .vendor = "1209\n", .product = "0001\n", .serial = serial, .modem_lines = true};
    assert_true(bw_text_copy(plug->name, sizeof plug->name, pty->name + strlen("/dev/")));
}

static int set_up(void **state) {
    static fixture f;
    memset(&f, 0, sizeof f);
    memset(test_plugs, 0, sizeof test_plugs);
    f.other.master = -1;
    test_pty_open(&f.pty);
    bw_port_init(&f.port, f.pty.link);
    *state = &f;
    return 0;
}

static int tear_down(void **state) {
    fixture *f = *state;
    bw_port_close(&f->port);
    test_pty_end(&f->pty);
    if (f->other.link[0] != '\0') {
        test_pty_end(&f->other);
    }
    return 0;
}

static void a_real_port_is_opened_through_the_library(void **state) {
    fixture *f = *state;
    plug_in(&test_plugs[1], &f->pty, "W-100\n");
    const bw_line_settings line = {115200, 7, 'E', 2};
    assert_int_equal(bw_port_open(&f->port, &line, &f->err), BW_OK);
    assert_non_null(f->port.serial);
    assert_true(f->port.fd != f->port.lock_fd);
    assert_int_equal(f->port.usb.vendor, 0x1209);
    assert_int_equal(f->port.usb.product, 1);
    assert_string_equal(f->port.usb.serial, "W-100");
    assert_int_equal(test_plugs[1].lines & (TIOCM_RTS | TIOCM_DTR), TIOCM_RTS | TIOCM_DTR);
    struct termios t;
    assert_int_equal(tcgetattr(f->port.fd, &t), 0);
    assert_int_equal(cfgetospeed(&t), B115200);
    assert_int_equal(t.c_cc[VMIN], 1);
    assert_int_equal(t.c_iflag, INPCK);
    assert_int_equal(t.c_lflag & (ICANON | ECHO | ISIG), 0);
    assert_int_equal(t.c_cflag & (CSTOPB | CRTSCTS), CSTOPB);

    struct pollfd ready = {.fd = f->port.fd, .events = POLLIN};
    uint8_t got[16];
    size_t n = 99;
    assert_int_equal(bw_port_read(&f->port, got, sizeof got, &n, &f->err), BW_OK);
    assert_int_equal(n, 0);
    test_pty_say(&f->pty, "1 Nm\r\n");
    assert_int_equal(poll(&ready, 1, 5000), 1);
    assert_int_equal(bw_port_read(&f->port, got, sizeof got, &n, &f->err), BW_OK);
    assert_int_equal(n, 6);
    assert_memory_equal(got, "1 Nm\r\n", 6);
    assert_int_equal(bw_port_write(&f->port, (const uint8_t *)"?\n", 2, &f->err), BW_OK);
    char heard[8];
    test_pty_hear(&f->pty, heard, sizeof heard);
    assert_string_equal(heard, "?\n");
}

static void a_quiet_port_is_told_from_a_stream(void **state) {
    fixture *f = *state;
    plug_in(&test_plugs[0], &f->pty, "W-100\n");
    test_pty_say(&f->pty, "for somebody else");
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_OK);
    assert_true(f->port.quiet);
    uint8_t got[16];
    size_t n = 99;
    assert_int_equal(bw_port_read(&f->port, got, sizeof got, &n, &f->err), BW_OK);
    assert_int_equal(n, 0);
    bw_port_close(&f->port);

    pid_t pid = fork();
    if (pid == 0) {
        while (write(f->pty.master, "1 Nm\r\n", 6) > 0) {
        }
        _exit(0);
    }
    bw_status rc = bw_port_open(&f->port, &line_8n1, &f->err);
    assert_int_equal(kill(pid, SIGKILL), 0);
    assert_int_equal(waitpid(pid, NULL, 0), pid);
    assert_int_equal(rc, BW_OK);
    assert_false(f->port.quiet);
}

static void an_odd_speed_is_no_hindrance_there(void **state) {
    fixture *f = *state;
    plug_in(&test_plugs[0], &f->pty, "W-100\n");
    const bw_line_settings line = {12345, 8, 'N', 1};
    assert_int_equal(bw_port_open(&f->port, &line, &f->err), BW_OK);
    assert_non_null(f->port.serial);
}

static void it_is_ours_alone_there_too(void **state) {
    fixture *f = *state;
    plug_in(&test_plugs[0], &f->pty, "W-100\n");
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_OK);
    test_plugs[0].lines = 0;
    bw_port second;
    bw_port_init(&second, f->pty.name);
    assert_int_equal(bw_port_open(&second, &line_8n1, &f->err), BW_E_BUSY);
    assert_int_equal(test_plugs[0].lines, 0); /* a reset would interrupt whoever has it */
    bw_port_close(&f->port);
    assert_int_equal(bw_port_open(&second, &line_8n1, &f->err), BW_OK);
    bw_port_close(&second);
}

static void a_port_without_modem_lines_is_opened_without_it(void **state) {
    fixture *f = *state;
    plug_in(&test_plugs[0], &f->pty, "W-100\n");
    test_plugs[0].modem_lines = false;
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_OK);
    assert_null(f->port.serial);
    assert_int_equal(f->port.fd, f->port.lock_fd);
    assert_string_equal(f->port.usb.serial, "W-100"); /* known all the same */
}

static void a_built_in_port_has_no_identity(void **state) {
    fixture *f = *state;
    plug_in(&test_plugs[0], &f->pty, NULL);
    test_plugs[0].vendor = NULL;
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_OK);
    assert_non_null(f->port.serial);
    assert_int_equal(f->port.usb.vendor, 0);
    assert_string_equal(f->port.usb.serial, "");
}

static void a_usb_device_is_named_by_its_serial_number(void **state) {
    fixture *f = *state;
    bw_port_init(&f->port, "usb:W-100");
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_E_ABSENT);
    assert_string_equal(f->err.text, "no device with the USB serial number W-100 is plugged in");
    test_pty_open(&f->other);
    plug_in(&test_plugs[0], &f->other, "W-200\n");
    plug_in(&test_plugs[1], &f->pty, "W-100\n");
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_OK);
    uint8_t got[16];
    size_t n = 0;
    test_pty_say(&f->other, "2");
    test_pty_say(&f->pty, "1");
    struct pollfd ready = {.fd = f->port.fd, .events = POLLIN};
    assert_int_equal(poll(&ready, 1, 5000), 1);
    assert_int_equal(bw_port_read(&f->port, got, sizeof got, &n, &f->err), BW_OK);
    assert_int_equal(n, 1);
    assert_int_equal(got[0], '1');
    bw_port_close(&f->port);
    plug_in(&test_plugs[0], &f->other, "W-100\n"); /* some makers give all the same */
    bw_port_init(&f->port, "usb:W-100");
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_E_ABSENT);
    assert_non_null(strstr(f->err.text, "more than one device"));
    bw_port_init(&f->port, "usb:");
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_E_ABSENT);
}

static void what_is_there_is_listed(void **state) {
    fixture *f = *state;
    bw_port_row *row = NULL;
    size_t n = 0;
    plug_in(&test_plugs[0], &f->pty, "W-100\n");
    assert_int_equal(bw_ports_list(&row, &n, &f->err), BW_OK);
    size_t found = 0;
    for (size_t i = 0; i < n; i++) {
        if (strcmp(row[i].path, f->pty.name) == 0) {
            found++;
            assert_string_equal(row[i].serial, "W-100");
            assert_int_equal(row[i].vendor_id, 0x1209);
            assert_int_equal(row[i].product_id, 1);
        }
    }
    free(row);
    assert_int_equal(found, 1);
}

static void only_the_same_usb_device_will_do(void **state) {
    fixture *f = *state;
    plug_in(&test_plugs[0], &f->pty, "W-100\n");
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_OK);
    uint8_t got[16];
    size_t n = 0;
    test_pty_hang_up(&f->pty);
    memset(&test_plugs[0], 0, sizeof test_plugs[0]);
    assert_int_equal(bw_port_read(&f->port, got, sizeof got, &n, &f->err), BW_E_ABSENT);
    bw_port_close(&f->port);

    test_pty_open(&f->pty); /* another wrench in the same place */
    plug_in(&test_plugs[0], &f->pty, "W-200\n");
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_E_ABSENT);
    assert_non_null(strstr(f->err.text, "the wrench that was on "));
    assert_non_null(strstr(f->err.text, " (USB serial number W-100) is not plugged in"));

    test_pty_open(&f->other); /* ours in another place */
    plug_in(&test_plugs[2], &f->other, "W-100\n");
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_OK);
    assert_string_equal(f->port.usb.serial, "W-100");
    struct pollfd ready = {.fd = f->port.fd, .events = POLLIN};
    test_pty_say(&f->pty, "2");
    test_pty_say(&f->other, "1");
    assert_int_equal(poll(&ready, 1, 5000), 1);
    assert_int_equal(bw_port_read(&f->port, got, sizeof got, &n, &f->err), BW_OK);
    assert_int_equal(n, 1);
    assert_int_equal(got[0], '1');
}

static void the_old_place_comes_first_among_equals(void **state) {
    fixture *f = *state;
    test_pty_open(&f->other);
    plug_in(&test_plugs[0], &f->other, "0001\n"); /* some makers number every device the same */
    plug_in(&test_plugs[1], &f->pty, "0001\n");
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_OK);
    bw_port_close(&f->port);
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_OK);
    struct pollfd ready = {.fd = f->port.fd, .events = POLLIN};
    test_pty_say(&f->pty, "1");
    assert_int_equal(poll(&ready, 1, 5000), 1);
}

static void without_a_number_the_kind_must_be_the_same(void **state) {
    fixture *f = *state;
    plug_in(&test_plugs[0], &f->pty, NULL);
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_OK);
    assert_string_equal(f->port.usb.serial, "");
    bw_port_close(&f->port);
    test_plugs[0].product = "0002\n";
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_E_ABSENT);
    assert_non_null(strstr(f->err.text, "another device is on "));
    test_plugs[0].product = "0001\n";
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_OK);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(a_real_port_is_opened_through_the_library),
        TEST(a_quiet_port_is_told_from_a_stream),
        TEST(an_odd_speed_is_no_hindrance_there),
        TEST(it_is_ours_alone_there_too),
        TEST(a_port_without_modem_lines_is_opened_without_it),
        TEST(a_built_in_port_has_no_identity),
        TEST(a_usb_device_is_named_by_its_serial_number),
        TEST(what_is_there_is_listed),
        TEST(only_the_same_usb_device_will_do),
        TEST(the_old_place_comes_first_among_equals),
        TEST(without_a_number_the_kind_must_be_the_same),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
