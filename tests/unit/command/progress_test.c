/* progress_test.c - a meter shows itself after a second, to somebody at a terminal, and cleans up.
 */
#include "cmocka_all.h"

#include "base/clock.h"
#include "command/progress.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

static const int64_t second_ns = 1000000000;

/* What the calls write on standard error. */
static void caught(bw_meter *meter, const uint64_t *done, size_t n, char *out, size_t size) {
    FILE *file = tmpfile();
    int kept = dup(STDERR_FILENO);
    assert_non_null(file);
    (void)fflush(stderr);
    assert_true(dup2(fileno(file), STDERR_FILENO) >= 0);
    for (size_t i = 0; i < n; i++) {
        bw_meter_at(meter, done[i]);
    }
    bw_meter_end(meter);
    (void)fflush(stderr);
    assert_true(dup2(kept, STDERR_FILENO) >= 0);
    (void)close(kept);
    rewind(file);
    size_t len = fread(out, 1, size - 1, file);
    out[len] = '\0';
    (void)fclose(file);
}

static void is_silent_within_a_second(void **state) {
    (void)state;
    const uint64_t done[] = {1, 2, 3};
    char out[200];
    bw_meter meter = bw_meter_begin("entries", 10);
    meter.watched = true;
    caught(&meter, done, 3, out, sizeof out);
    assert_string_equal(out, "");
}

static void tells_after_a_second_and_goes(void **state) {
    (void)state;
    const uint64_t done[] = {7, 8}; /* the second comes at once: it is not told */
    char out[300];
    bw_meter meter = bw_meter_begin("entries", 10);
    meter.watched = true;
    meter.began_ns = bw_clock_mono_ns() - 2 * second_ns;
    caught(&meter, done, 2, out, sizeof out);
    const char *told = "\r7 of 10 entries ";
    assert_memory_equal(out, told, strlen(told));
    assert_null(strstr(out, "8 of"));
    size_t len = strlen(out);
    assert_int_equal(out[strlen(told)], '\r');
    assert_int_equal(out[len - 1], '\r');
    assert_int_equal(strspn(out + strlen(told) + 1, " "), len - strlen(told) - 2);
}

static void nobody_there_nothing_told(void **state) {
    (void)state;
    const uint64_t done[] = {7};
    char out[200];
    bw_meter meter = bw_meter_begin("entries", 0);
    meter.watched = false;
    meter.began_ns = bw_clock_mono_ns() - 2 * second_ns;
    caught(&meter, done, 1, out, sizeof out);
    assert_string_equal(out, "");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(is_silent_within_a_second),
        cmocka_unit_test(tells_after_a_second_and_goes),
        cmocka_unit_test(nobody_there_nothing_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
