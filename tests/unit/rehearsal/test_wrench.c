/* test_wrench.c - the wrench on its pseudo-terminal, read back through the end that a device room
 * opens. */
#include "cmocka_all.h"

#include "base/decimal.h"
#include "rehearsal/wrench.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <math.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

static const struct {
    bw_sample sample;
    const char *line;
} lines[] = {
    {{12.345, 12.34, 45.6, true}, "+0012.34 N.m +045.6 deg @12.345\r\n"},
    {{0, 0, 0, true}, "+0000.00 N.m +000.0 deg @0.000\r\n"},
    {{1, -0.001, -0.04, true}, "+0000.00 N.m +000.0 deg @1.000\r\n"},
    {{1, -3.5, -720.25, true}, "-0003.50 N.m -720.3 deg @1.000\r\n"},
    {{86400.5, 12345.678, 1080, true}, "+12345.68 N.m +1080.0 deg @86400.500\r\n"},
    {{2, 60.2, 99, false}, "+0060.20 N.m @2.000\r\n"},
};

static void test_lines(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        char line[BW_WRENCH_LINE_MAX];
        assert_int_equal(bw_wrench_line(&lines[i].sample, line), strlen(lines[i].line));
        assert_string_equal(line, lines[i].line);
    }
}

static void test_longest_line_fits(void **state) {
    (void)state;
    const bw_sample sample = {1e9, -1e9, -1e9, true};
    char line[BW_WRENCH_LINE_MAX];
    size_t len = bw_wrench_line(&sample, line);
    assert_true(len < BW_WRENCH_LINE_MAX);
    assert_string_equal(line + len - 2, "\r\n");
}

static bw_wrench *plugged(void) {
    bw_wrench *wrench = NULL;
    bw_err err;
    if (bw_wrench_open(&wrench, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
    return wrench;
}

static int opened(const bw_wrench *wrench) {
    int fd = open(bw_wrench_path(wrench), O_RDWR | O_NOCTTY | O_NONBLOCK);
    assert_true(fd >= 0);
    return fd;
}

/* What has come so far; at most a second is given to the kernel to hand it over. */
static size_t read_some(int fd, char *out, size_t size) {
    struct pollfd wait = {.fd = fd, .events = POLLIN};
    if (poll(&wait, 1, 1000) <= 0) {
        return 0;
    }
    ssize_t n = read(fd, out, size);
    return n > 0 ? (size_t)n : 0;
}

static size_t read_exactly(int fd, char *out, size_t size) {
    size_t got = 0;
    for (size_t n = 1; n > 0 && got < size; got += n) {
        n = read_some(fd, out + got, size - got);
    }
    return got;
}

static bw_sample sample_at(int i) {
    return (bw_sample){.time_s = 3 + i * 0.01,
                       .torque_Nm = 0.25 * i,
                       .angle_deg = 0.5 * i - 20,
                       .has_angle = true};
}

static void put(bw_wrench *wrench, int first, int last) {
    for (int i = first; i <= last; i++) {
        bw_sample sample = sample_at(i);
        assert_int_equal(bw_wrench_put(wrench, &sample, NULL), BW_OK);
    }
}

/* One number of a line, from *at on up to its end mark. */
static double number(const char **at, const char *end_mark) {
    const char *end = strstr(*at, end_mark);
    bw_decimal value;
    assert_non_null(end);
    assert_int_equal(bw_decimal_parse(*at, (size_t)(end - *at), &value, NULL), BW_OK);
    *at = end + strlen(end_mark);
    return value.value;
}

/* The form of plugins/line/README.md, in its turn between samples. */
static void test_result_of_a_pull(void **state) {
    (void)state;
    static const char wanted[] = "PEAK +0060.20 N.m +045.0 deg @3.010\r\n"
                                 "PEAK +0007.05 N.m @3.020\r\n";
    bw_wrench *wrench = plugged();
    int fd = opened(wrench);
    bw_sample result = {.time_s = 3.01, .torque_Nm = 60.2, .angle_deg = 45, .has_angle = true};
    bw_sample bare = {.time_s = 3.02, .torque_Nm = 7.05};
    assert_int_equal(bw_wrench_put_result(wrench, &result, NULL), BW_OK);
    assert_int_equal(bw_wrench_put_result(wrench, &bare, NULL), BW_OK);
    assert_int_equal(bw_wrench_due(wrench, 3.015), strcspn(wanted, "\n") + 1);
    assert_int_equal(bw_wrench_send(wrench, INFINITY, NULL), BW_OK);
    char got[sizeof wanted] = "";
    assert_int_equal(read_exactly(fd, got, sizeof wanted - 1), sizeof wanted - 1);
    assert_string_equal(got, wanted);
    (void)close(fd);
    bw_wrench_unplug(wrench);
    assert_int_equal(bw_wrench_put_result(wrench, &bare, NULL), BW_E_STATE);
    bw_wrench_free(wrench);
}

/* Far more than a pseudo-terminal holds: it fills up, is read, and goes on. */
static void test_everything_arrives(void **state) {
    (void)state;
    enum { N = 5000, BYTES = N * BW_WRENCH_LINE_MAX };
    bw_wrench *wrench = plugged();
    int fd = opened(wrench);
    put(wrench, 0, N - 1);
    size_t all = bw_wrench_due(wrench, INFINITY);
    char *text = malloc(BYTES);
    assert_non_null(text);
    size_t got = 0;
    bool filled_up = false;
    for (size_t n = 1; n > 0 && got < all; got += n) {
        assert_int_equal(bw_wrench_send(wrench, INFINITY, NULL), BW_OK);
        filled_up = filled_up || bw_wrench_due(wrench, INFINITY) > 0;
        n = read_some(fd, text + got, BYTES - 1 - got);
    }
    assert_int_equal(got, all);
    assert_true(filled_up);
    assert_int_equal(bw_wrench_due(wrench, INFINITY), 0);
    assert_true(isinf(bw_wrench_next_s(wrench)));
    text[got] = '\0';
    const char *at = text;
    for (int i = 0; i < N; i++) {
        bw_sample sent = sample_at(i);
        assert_true(fabs(number(&at, " N.m ") - sent.torque_Nm) < 0.00501);
        assert_true(fabs(number(&at, " deg @") - sent.angle_deg) < 0.0501);
        assert_true(fabs(number(&at, "\r\n") - sent.time_s) < 0.000501);
    }
    assert_true(*at == '\0');
    free(text);
    (void)close(fd);
    bw_wrench_free(wrench);
}

static void test_paced_by_the_samples_times(void **state) {
    (void)state;
    bw_wrench *wrench = plugged();
    int fd = opened(wrench);
    put(wrench, 0, 9);
    size_t all = bw_wrench_due(wrench, INFINITY);
    size_t line = all / 10;
    assert_true(bw_wrench_next_s(wrench) == 3);
    assert_int_equal(bw_wrench_due(wrench, 2.999), 0);
    assert_int_equal(bw_wrench_due(wrench, 3.0), line);
    assert_int_equal(bw_wrench_due(wrench, 3.035), 4 * line);
    assert_int_equal(bw_wrench_send(wrench, 3.035, NULL), BW_OK);
    assert_int_equal(bw_wrench_due(wrench, 3.035), 0);
    assert_true(bw_wrench_next_s(wrench) == 3.04);
    assert_int_equal(bw_wrench_due(wrench, 4), 6 * line);
    char text[1024];
    assert_int_equal(read_exactly(fd, text, 4 * line), 4 * line);
    assert_int_equal(bw_wrench_send(wrench, 2, NULL), BW_OK);
    assert_int_equal(bw_wrench_due(wrench, 4), 6 * line);
    (void)close(fd);
    bw_wrench_free(wrench);
}

/* What the other end writes is dropped and does not come back as an echo. */
static void test_raw_and_silent(void **state) {
    (void)state;
    bw_wrench *wrench = plugged();
    int fd = opened(wrench);
    struct termios t;
    assert_int_equal(tcgetattr(fd, &t), 0);
    assert_int_equal(t.c_lflag & (tcflag_t)(ECHO | ICANON | ISIG), 0);
    assert_int_equal(t.c_oflag & (tcflag_t)OPOST, 0);
    assert_int_equal(t.c_iflag & (tcflag_t)(ICRNL | INLCR | IGNCR | IXON), 0);
    assert_int_equal(write(fd, "set 60\r\n\003", 9), 9);
    put(wrench, 1, 1);
    size_t line = bw_wrench_due(wrench, INFINITY);
    assert_int_equal(bw_wrench_send(wrench, INFINITY, NULL), BW_OK);
    char text[BW_WRENCH_LINE_MAX] = "";
    assert_int_equal(read_exactly(fd, text, line), line);
    assert_string_equal(text, "+0000.25 N.m -019.5 deg @3.010\r\n");
    assert_int_equal(fcntl(bw_wrench_fd(wrench), F_GETFD) & FD_CLOEXEC, FD_CLOEXEC);
    assert_int_equal(fcntl(bw_wrench_fd(wrench), F_GETFL) & O_NONBLOCK, O_NONBLOCK);
    (void)close(fd);
    bw_wrench_free(wrench);
}

static void test_bytes_wait_for_the_port_to_be_opened(void **state) {
    (void)state;
    bw_wrench *wrench = plugged();
    put(wrench, 1, 3);
    size_t all = bw_wrench_due(wrench, INFINITY);
    assert_int_equal(bw_wrench_send(wrench, INFINITY, NULL), BW_OK);
    int fd = opened(wrench);
    char text[1024];
    assert_int_equal(read_exactly(fd, text, all), all);
    (void)close(fd);
    bw_wrench_free(wrench);
}

static void test_unplug_and_plug_in_again(void **state) {
    (void)state;
    bw_wrench *wrench = plugged();
    int fd = opened(wrench);
    char path[PATH_MAX];
    (void)strncpy(path, bw_wrench_path(wrench), sizeof path - 1);
    path[sizeof path - 1] = '\0';
    put(wrench, 0, 5);
    bw_err err;
    assert_int_equal(bw_wrench_plug(wrench, &err), BW_E_STATE);
    bw_wrench_unplug(wrench);
    bw_wrench_unplug(wrench);
    assert_int_equal(bw_wrench_fd(wrench), -1);
    struct pollfd hung = {.fd = fd, .events = POLLIN};
    assert_int_equal(poll(&hung, 1, 1000), 1);
    assert_true((hung.revents & POLLHUP) != 0);
    struct stat there;
    assert_int_equal(lstat(path, &there), -1);
    assert_int_equal(errno, ENOENT);
    bw_sample sample = sample_at(1);
    assert_int_equal(bw_wrench_put(wrench, &sample, &err), BW_E_STATE);
    assert_int_equal(bw_wrench_send(wrench, INFINITY, &err), BW_E_STATE);
    (void)close(fd);
    assert_int_equal(bw_wrench_plug(wrench, &err), BW_OK);
    assert_string_equal(bw_wrench_path(wrench), path);
    assert_int_equal(bw_wrench_due(wrench, INFINITY), 0);
    fd = opened(wrench);
    put(wrench, 2, 2);
    size_t line = bw_wrench_due(wrench, INFINITY);
    assert_int_equal(bw_wrench_send(wrench, INFINITY, NULL), BW_OK);
    char text[BW_WRENCH_LINE_MAX] = "";
    assert_int_equal(read_exactly(fd, text, line), line);
    assert_non_null(strstr(text, "+0000.50 N.m"));
    (void)close(fd);
    bw_wrench_free(wrench);
}

static void test_leaves_nothing_behind(void **state) {
    (void)state;
    bw_wrench *wrench = plugged();
    char folder[PATH_MAX];
    (void)strncpy(folder, bw_wrench_path(wrench), sizeof folder - 1);
    folder[sizeof folder - 1] = '\0';
    *strrchr(folder, '/') = '\0';
    struct stat there;
    assert_int_equal(stat(folder, &there), 0);
    assert_int_equal(there.st_mode & 0777, 0700);
    bw_wrench_free(wrench);
    assert_int_equal(stat(folder, &there), -1);
    assert_int_equal(errno, ENOENT);
    bw_wrench_free(NULL);
}

/* Never more in memory than was promised, whoever forgets to read. */
static void test_queue_has_an_end(void **state) {
    (void)state;
    bw_wrench *wrench = plugged();
    bw_sample sample = sample_at(1);
    bw_status status = BW_OK;
    bw_err err = {0};
    size_t n = 0;
    while (status == BW_OK && n < BW_WRENCH_QUEUE_MAX) {
        status = bw_wrench_put(wrench, &sample, &err);
        n++;
    }
    assert_int_equal(status, BW_E_LIMIT);
    assert_non_null(strstr(err.text, "nobody reads"));
    assert_true(bw_wrench_due(wrench, INFINITY) <= BW_WRENCH_QUEUE_MAX);
    bw_wrench_free(wrench);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lines),
        cmocka_unit_test(test_longest_line_fits),
        cmocka_unit_test(test_result_of_a_pull),
        cmocka_unit_test(test_everything_arrives),
        cmocka_unit_test(test_paced_by_the_samples_times),
        cmocka_unit_test(test_raw_and_silent),
        cmocka_unit_test(test_bytes_wait_for_the_port_to_be_opened),
        cmocka_unit_test(test_unplug_and_plug_in_again),
        cmocka_unit_test(test_leaves_nothing_behind),
        cmocka_unit_test(test_queue_has_an_end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
