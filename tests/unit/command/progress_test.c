/* progress_test.c - a meter shows itself after a second, to somebody at a terminal, and cleans up.
 */
#include "cmocka_all.h"

#include "command/progress.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

enum { OUT_BYTES = 1000 };

static const int64_t ms_ns = 1000000;

/* A terminal, and a clock that stands where the test puts it. */
typedef struct bench {
    int master;
    FILE *terminal;
    int64_t now_ns;
    char out[OUT_BYTES];
} bench;

static int64_t told_time(void *ctx) {
    return *(const int64_t *)ctx;
}

static int set_up(void **state) {
    bench *b = test_calloc(1, sizeof *b);
    struct termios raw;
    b->master = posix_openpt(O_RDWR | O_NOCTTY);
    if (b->master < 0 || grantpt(b->master) != 0 || unlockpt(b->master) != 0) {
        return -1;
    }
    int slave = open(ptsname(b->master), O_RDWR | O_NOCTTY);
    if (slave < 0 || tcgetattr(slave, &raw) != 0) {
        return -1;
    }
    raw.c_oflag &= ~(tcflag_t)OPOST;
    b->terminal = tcsetattr(slave, TCSANOW, &raw) == 0 ? fdopen(slave, "w") : NULL;
    b->now_ns = 5000 * ms_ns;
    *state = b;
    return b->terminal != NULL ? 0 : -1;
}

static int take_down(void **state) {
    bench *b = *state;
    (void)fclose(b->terminal);
    (void)close(b->master);
    test_free(b);
    return 0;
}

/* What came to the terminal since the last time. */
static const char *seen(bench *b) {
    ssize_t n = 0;
    (void)fputc('$', b->terminal); /* so that there is something to wait for */
    (void)fflush(b->terminal);
    size_t len = 0;
    while (n >= 0 && (len == 0 || b->out[len - 1] != '$')) {
        n = read(b->master, b->out + len, OUT_BYTES - 1 - len);
        len += n > 0 ? (size_t)n : 0;
    }
    b->out[len - 1] = '\0';
    return b->out;
}

static bw_meter begun(bench *b, uint64_t of) {
    return bw_meter_begin_on(b->terminal, told_time, &b->now_ns, "entries read", of);
}

static void is_silent_within_a_second(void **state) {
    bench *b = *state;
    bw_meter meter = begun(b, 10);
    b->now_ns += 999 * ms_ns;
    bw_meter_at(&meter, 1);
    bw_meter_end(&meter);
    assert_string_equal(seen(b), "");
}

static void tells_after_a_second_and_goes(void **state) {
    bench *b = *state;
    bw_meter meter = begun(b, 10);
    b->now_ns += 1000 * ms_ns;
    bw_meter_at(&meter, 7);
    assert_string_equal(seen(b), "\r7 of 10 entries read");
    b->now_ns += 99 * ms_ns; /* not more often than an eye follows */
    bw_meter_at(&meter, 8);
    assert_string_equal(seen(b), "");
    b->now_ns += 1 * ms_ns;
    bw_meter_at(&meter, 9);
    assert_string_equal(seen(b), "\r9 of 10 entries read");
    bw_meter_end(&meter);
    assert_string_equal(seen(b), "\r                    \r");
    bw_meter_end(&meter); /* once */
    assert_string_equal(seen(b), "");
}

static void a_shorter_line_leaves_nothing_of_a_longer_one(void **state) {
    bench *b = *state;
    bw_meter meter = begun(b, 0);
    b->now_ns += 2000 * ms_ns;
    bw_meter_at(&meter, 123456);
    assert_string_equal(seen(b), "\r123456 entries read");
    bw_meter_next(&meter, "pages drawn", 9);
    b->now_ns += 200 * ms_ns;
    bw_meter_at(&meter, 3);
    assert_string_equal(seen(b), "\r3 of 9 pages drawn ");
    bw_meter_end(&meter);
    assert_string_equal(seen(b), "\r                   \r");
}

static void after_something_was_printed_it_goes_on(void **state) {
    bench *b = *state;
    bw_meter meter = begun(b, 3);
    b->now_ns += 1500 * ms_ns;
    bw_meter_at(&meter, 1);
    bw_meter_end(&meter);
    (void)seen(b);
    b->now_ns += 500 * ms_ns;
    bw_meter_at(&meter, 2);
    assert_string_equal(seen(b), "\r2 of 3 entries read");
}

static void nobody_there_nothing_told(void **state) {
    bench *b = *state;
    FILE *file = tmpfile();
    assert_non_null(file);
    bw_meter meter = bw_meter_begin_on(file, told_time, &b->now_ns, "entries read", 10);
    b->now_ns += 9000 * ms_ns;
    bw_meter_at(&meter, 7);
    bw_meter_end(&meter);
    assert_int_equal(ftell(file), 0);
    (void)fclose(file);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, take_down)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(is_silent_within_a_second),
        TEST(tells_after_a_second_and_goes),
        TEST(a_shorter_line_leaves_nothing_of_a_longer_one),
        TEST(after_something_was_printed_it_goes_on),
        TEST(nobody_there_nothing_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
