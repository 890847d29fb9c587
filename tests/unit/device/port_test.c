/* port_test.c - one port, on pseudo-terminals.  libserialport knows none of those, so this is the
 * way without it; serial_test.c has the way with it. */
#define _DEFAULT_SOURCE /* CRTSCTS, flock */
#include "cmocka_all.h"
#include "pty.h"

#include "base/text.h"
#include "device/port.h"

#include <fcntl.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

static const bw_line_settings line_8n1 = {9600, 8, 'N', 1};

typedef struct fixture {
    test_pty pty;
    bw_port port;
    bw_err err;
} fixture;

static int set_up(void **state) {
    static fixture f;
    memset(&f, 0, sizeof f);
    test_pty_open(&f.pty);
    bw_port_init(&f.port, f.pty.link);
    *state = &f;
    return 0;
}

static int tear_down(void **state) {
    fixture *f = *state;
    bw_port_close(&f->port);
    test_pty_end(&f->pty);
    return 0;
}

/* Waits, at most 5 s, until the handle has something (or its end) to read. */
static void wait_ready(const bw_port *port) {
    struct pollfd ready = {.fd = port->fd, .events = POLLIN};
    assert_int_equal(poll(&ready, 1, 5000), 1);
}

static void it_is_opened_raw_and_for_us_alone(void **state) {
    fixture *f = *state;
    const bw_line_settings line = {115200, 7, 'E', 2};
    assert_int_equal(bw_port_open(&f->port, &line, &f->err), BW_OK);
    assert_true(f->port.quiet);
    assert_null(f->port.serial);
    struct termios t;
    assert_int_equal(tcgetattr(f->port.fd, &t), 0);
    assert_int_equal(cfgetispeed(&t), B115200);
    assert_int_equal(cfgetospeed(&t), B115200);
    assert_int_equal(t.c_cc[VMIN], 1);
    assert_int_equal(t.c_iflag & (ICRNL | INLCR | IGNCR | IXON | IXOFF | ISTRIP | IGNPAR), 0);
    assert_int_equal(t.c_lflag & (ICANON | ECHO | ISIG), 0);
    assert_int_equal(t.c_oflag & OPOST, 0);
    assert_int_equal(t.c_cflag & (CSTOPB | CRTSCTS), CSTOPB);
    assert_true((fcntl(f->port.fd, F_GETFD) & FD_CLOEXEC) != 0);
    assert_true((fcntl(f->port.fd, F_GETFL) & O_NONBLOCK) != 0);
    int exclusive = 0;
    assert_int_equal(ioctl(f->port.fd, TIOCGEXCL, &exclusive), 0);
    assert_int_equal(exclusive, 1);
}

static void control_characters_are_bytes_like_any(void **state) {
    fixture *f = *state;
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_OK);
    static const char bytes[] = "\x03\x04\x11\x13\x1a\x1c\r\n\x7f\x00\xff";
    test_pty_write(&f->pty, bytes, sizeof bytes - 1);
    uint8_t got[64];
    size_t n = 0;
    wait_ready(&f->port);
    assert_int_equal(bw_port_read(&f->port, got, sizeof got, &n, &f->err), BW_OK);
    assert_int_equal(n, sizeof bytes - 1);
    assert_memory_equal(got, bytes, n);
    assert_int_equal(bw_port_read(&f->port, got, sizeof got, &n, &f->err), BW_OK);
    assert_int_equal(n, 0); /* silence */
    assert_int_equal(bw_port_write(&f->port, (const uint8_t *)"\n\x03", 2, &f->err), BW_OK);
    char heard[8];
    test_pty_hear(&f->pty, heard, sizeof heard);
    assert_string_equal(heard, "\n\x03");
}

static void a_hang_up_is_told_from_silence(void **state) {
    fixture *f = *state;
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_OK);
    uint8_t got[8];
    size_t n = 99;
    assert_int_equal(bw_port_read(&f->port, got, sizeof got, &n, &f->err), BW_OK);
    assert_int_equal(n, 0);
    test_pty_hang_up(&f->pty);
    assert_int_equal(bw_port_read(&f->port, got, sizeof got, &n, &f->err), BW_E_ABSENT);
    assert_non_null(strstr(f->err.text, "is gone: it was unplugged or switched off"));
    assert_int_equal(bw_port_write(&f->port, got, 1, &f->err), BW_E_ABSENT);
    bw_port_close(&f->port);
    bw_port_close(&f->port);
    assert_int_equal(f->port.fd, -1);
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_E_ABSENT);
    assert_non_null(strstr(f->err.text, "there is no port "));
    test_pty_open(&f->pty); /* another one behind the same link */
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_OK);
}

static void a_port_in_use_is_refused_with_its_holder(void **state) {
    fixture *f = *state;
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_OK);
    bw_port second;
    bw_port_init(&second, f->pty.name);
    assert_int_equal(bw_port_open(&second, &line_8n1, &f->err), BW_E_BUSY);
    assert_int_equal(second.fd, -1);
    char want[128];
    bw_text text = bw_text_on(want, sizeof want);
    bw_text_add(&text, "%s is in use by process %d: end that first", f->pty.name, (int)getpid());
    assert_string_equal(f->err.text, want);
    bw_port_close(&f->port);
    assert_int_equal(bw_port_open(&second, &line_8n1, &f->err), BW_OK);
    bw_port_close(&second);
}

static void settings_of_a_port_in_use_are_left_alone(void **state) {
    fixture *f = *state;
    int fd = open(f->pty.name, O_RDWR | O_NOCTTY | O_CLOEXEC);
    assert_true(fd >= 0);
    assert_int_equal(flock(fd, LOCK_EX), 0);
    struct termios before;
    struct termios after;
    assert_int_equal(tcgetattr(fd, &before), 0);
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_E_BUSY);
    assert_int_equal(tcgetattr(fd, &after), 0);
    assert_int_equal(before.c_lflag, after.c_lflag);
    assert_int_equal(before.c_iflag, after.c_iflag);
    assert_int_equal(cfgetispeed(&before), cfgetispeed(&after));
    assert_int_equal(close(fd), 0);
}

/* As an unprivileged user, in a child: the superuser may open anything. */
static void a_port_that_may_not_be_opened_says_what_to_do(void **state) {
    fixture *f = *state;
    assert_int_equal(chmod(f->pty.name, 0600), 0);
    pid_t pid = fork();
    if (pid == 0) {
        bool privileged = getuid() == 0;
        bool dropped = !privileged || (setgid(65534) == 0 && setuid(65534) == 0);
        bw_status want = privileged ? BW_E_IO : BW_OK;
        bw_status rc = bw_port_open(&f->port, &line_8n1, &f->err);
        bool told = rc == BW_OK || strstr(f->err.text, "must be in the port's group") != NULL;
        _exit(dropped && rc == want && told ? 0 : 1);
    }
    int status = -1;
    assert_int_equal(waitpid(pid, &status, 0), pid);
    assert_int_equal(status, 0);
}

static void what_is_no_serial_port_is_refused(void **state) {
    fixture *f = *state;
    static const struct {
        const char *path;
        bw_status want;
        const char *says;
    } rows[] = {
        {"/dev/null", BW_E_DATA, "/dev/null is no serial port"},
        {"null", BW_E_DATA, "null is no serial port"},
        {"/tmp", BW_E_DATA, "/tmp is no serial port"},
        {"/proc/self/exe", BW_E_DATA, "/proc/self/exe is no serial port"},
        {"/dev/ttyNONE7", BW_E_ABSENT, "there is no port /dev/ttyNONE7: is the cable plugged in?"},
        {"ttyNONE7", BW_E_ABSENT, "there is no port ttyNONE7: is the cable plugged in?"},
        {"/dev/null/x", BW_E_ABSENT, "there is no port /dev/null/x: is the cable plugged in?"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_port port;
        bw_port_init(&port, rows[i].path);
        assert_int_equal(bw_port_open(&port, &line_8n1, &f->err), rows[i].want);
        assert_string_equal(f->err.text, rows[i].says);
        assert_int_equal(port.fd, -1);
    }
}

static void a_speed_that_it_cannot_have_is_refused(void **state) {
    fixture *f = *state;
    const bw_line_settings line = {12345, 8, 'N', 1};
    assert_int_equal(bw_port_open(&f->port, &line, &f->err), BW_E_DATA);
    assert_non_null(strstr(f->err.text, " cannot be set to 12345 baud 8N1"));
    assert_int_equal(f->port.fd, -1);
    assert_int_equal(bw_port_open(&f->port, &line_8n1, &f->err), BW_OK); /* nothing held */
}

static void the_builder_s_own_terminal_is_no_wrench(void **state) {
    fixture *f = *state;
    int before = dup(0);
    int fd = open(f->pty.name, O_RDWR | O_NOCTTY | O_CLOEXEC);
    assert_true(before >= 0 && fd >= 0);
    assert_int_equal(dup2(fd, 0), 0);
    bw_status rc = bw_port_open(&f->port, &line_8n1, &f->err);
    assert_int_equal(dup2(before, 0), 0);
    assert_int_equal(close(fd), 0);
    assert_int_equal(close(before), 0);
    assert_int_equal(rc, BW_E_DATA);
    assert_non_null(strstr(f->err.text, " is this terminal, not a wrench's port"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(it_is_opened_raw_and_for_us_alone, set_up, tear_down),
        cmocka_unit_test_setup_teardown(control_characters_are_bytes_like_any, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_hang_up_is_told_from_silence, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_port_in_use_is_refused_with_its_holder, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(settings_of_a_port_in_use_are_left_alone, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_port_that_may_not_be_opened_says_what_to_do, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(what_is_no_serial_port_is_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_speed_that_it_cannot_have_is_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_builder_s_own_terminal_is_no_wrench, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
