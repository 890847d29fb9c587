/* test_wall.c - the process wall, leaned on from both sides.
 *
 * The test program is its own worker: started with `--worker ROLE` it is the probe. */
#include "probe.h"

#include "base/clock.h"
#include "base/decimal.h"
#include "wall/frame_int.h"
#include "wall/worker.h"

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cmocka_all.h"

enum { PATIENT_MS = 5000, MIB = 1 << 20, MEMORY_MIB = 32 };

static const bw_worker_limits limits = {.memory_bytes = MEMORY_MIB * (size_t)MIB, .cpu_s = 20};

static bw_worker *start(const char *role) {
    bw_worker *worker = NULL;
    bw_err err = {.code = BW_OK, .text = ""};
    assert_int_equal(bw_worker_new(role, limits, &worker, &err), BW_OK);
    return worker;
}

static bw_frame ask(bw_worker *worker, uint8_t type) {
    bw_frame reply = {0, NULL, 0};
    bw_err err = {.code = BW_OK, .text = ""};
    bw_status rc = bw_worker_ask(worker, type, NULL, 0, PATIENT_MS, &reply, &err);
    if (rc != BW_OK) {
        print_error("%s\n", err.text);
    }
    assert_int_equal(rc, BW_OK);
    return reply;
}

static void test_echo_of_every_size(void **state) {
    (void)state;
    bw_worker *worker = start("probe");
    static const size_t sizes[] = {0, 1, 4095, 65536};
    uint8_t *data = malloc(65536);
    assert_non_null(data);
    for (size_t i = 0; i < 65536; i++) {
        data[i] = (uint8_t)(i * 7);
    }
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        bw_frame reply = {0, NULL, 0};
        assert_int_equal(
            bw_worker_ask(worker, PROBE_ECHO, data, sizes[i], PATIENT_MS, &reply, NULL), BW_OK);
        assert_int_equal(reply.type, PROBE_DONE);
        assert_int_equal(reply.len, sizes[i]);
        assert_true(sizes[i] == 0 || memcmp(reply.data, data, sizes[i]) == 0);
    }
    assert_string_equal(bw_worker_end(worker), "still running");
    free(data);
    bw_worker_free(worker);
}

static void test_several_frames(void **state) {
    (void)state;
    bw_worker *worker = start("probe");
    bw_frame reply = ask(worker, PROBE_THREE);
    assert_int_equal(reply.type, 1);
    assert_int_equal(bw_worker_more(worker, PATIENT_MS, &reply, NULL), BW_OK);
    assert_int_equal(reply.type, 2);
    assert_memory_equal(reply.data, "bc", 2);
    assert_int_equal(bw_worker_more(worker, PATIENT_MS, &reply, NULL), BW_OK);
    assert_int_equal(reply.type, 3);
    assert_int_equal(reply.len, 0);
    bw_worker_free(worker);
}

static void assert_refused(bw_worker *worker, uint8_t act) {
    bw_frame reply = ask(worker, act);
    assert_int_equal(reply.type, PROBE_REFUSED);
    assert_int_equal(reply.data[0], EPERM);
}

static void test_forbidden_acts(void **state) {
    (void)state;
    static const uint8_t acts[] = {
        PROBE_OPEN,        PROBE_OPEN_FOR_WRITING, PROBE_SOCKET,   PROBE_FORK,       PROBE_EXEC,
        PROBE_KILL_PARENT, PROBE_UNLINK,           PROBE_MAP_CODE, PROBE_RAISE_LIMIT};
    bw_worker *worker = start("probe");
    for (size_t i = 0; i < sizeof acts; i++) {
        assert_refused(worker, acts[i]);
    }
    if (!BW_WALL_SANITIZED) {
        assert_refused(worker, PROBE_WRITE_STDERR);
    }
    bw_worker_free(worker);
}

static void test_loading_stage_reads_but_no_more(void **state) {
    (void)state;
    static const uint8_t refused[] = {PROBE_OPEN_FOR_WRITING, PROBE_SOCKET, PROBE_FORK, PROBE_EXEC,
                                      PROBE_KILL_PARENT,      PROBE_UNLINK};
    bw_worker *worker = start("loader");
    assert_int_equal(ask(worker, PROBE_OPEN).type, PROBE_DONE);
    assert_int_equal(ask(worker, PROBE_MAP_CODE).type, PROBE_DONE);
    for (size_t i = 0; i < sizeof refused; i++) {
        assert_refused(worker, refused[i]);
    }
    assert_int_equal(ask(worker, PROBE_LOCK_AGAIN).type, PROBE_DONE);
    assert_refused(worker, PROBE_OPEN);
    assert_refused(worker, PROBE_MAP_CODE);
    bw_worker_free(worker);
}

static void test_memory_hog_is_stopped(void **state) {
    (void)state;
    if (BW_WALL_SANITIZED) {
        skip(); /* no address-space limit under the sanitizer; the allocator's cap is tested */
    }
    bw_worker *worker = start("probe");
    bw_frame reply = ask(worker, PROBE_HOG);
    double mib = 0;
    assert_int_equal(bw_number_parse((const char *)reply.data, reply.len, &mib, NULL), BW_OK);
    assert_true(mib <= MEMORY_MIB);
    assert_true(mib >= MEMORY_MIB / 2.0); /* the limit counts from what the program itself maps */
    bw_worker_free(worker);
}

/* Asks with a short deadline and checks that it held. */
static void assert_killed_in_time(uint8_t type, const void *data, size_t len) {
    enum { LIMIT_MS = 150, GRACE_MS = 250 };
    bw_worker *worker = start("probe");
    (void)ask(worker, PROBE_ECHO); /* up and locked */
    bw_frame reply = {0, NULL, 0};
    bw_err err = {.code = BW_OK, .text = ""};
    int64_t begin_ns = bw_clock_mono_ns();
    bw_status rc = bw_worker_ask(worker, type, data, len, LIMIT_MS, &reply, &err);
    int64_t took_ms = (bw_clock_mono_ns() - begin_ns) / 1000000;
    assert_int_equal(rc, BW_E_TIMEOUT);
    assert_true(took_ms >= LIMIT_MS - 1 && took_ms <= LIMIT_MS + GRACE_MS);
    assert_string_equal(bw_worker_end(worker), "ended by signal 9 (killed)");
    assert_string_equal(err.text, "the worker took too long (ended by signal 9 (killed))");
    assert_int_equal(bw_worker_ask(worker, PROBE_ECHO, NULL, 0, PATIENT_MS, &reply, NULL), BW_E_IO);
    bw_worker_free(worker);
}

static void test_deadline_kills(void **state) {
    (void)state;
    assert_killed_in_time(PROBE_LOOP, NULL, 0);
    assert_killed_in_time(PROBE_HALF_HEAD, NULL, 0);
    assert_killed_in_time(PROBE_DRIP, NULL, 0);
}

static void test_deadline_kills_one_that_does_not_read(void **state) {
    (void)state;
    enum { LIMIT_MS = 150 };
    bw_worker *worker = start("sleeper");
    uint8_t *data = calloc(1, BW_FRAME_BYTES_MAX);
    assert_non_null(data);
    bw_frame reply = {0, NULL, 0};
    bw_status rc = bw_worker_ask(worker, PROBE_ECHO, data, BW_FRAME_BYTES_MAX, LIMIT_MS, &reply,
                                 NULL);
    assert_int_equal(rc, BW_E_TIMEOUT);
    free(data);
    bw_worker_free(worker);
}

static void assert_ends(uint8_t type, bw_status expected, const char *end) {
    bw_worker *worker = start("probe");
    bw_frame reply = {0, NULL, 0};
    assert_int_equal(bw_worker_ask(worker, type, NULL, 0, PATIENT_MS, &reply, NULL), expected);
    assert_string_equal(bw_worker_end(worker), end);
    bw_worker_free(worker);
}

static void test_ends_and_broken_frames(void **state) {
    (void)state;
    assert_ends(PROBE_EXIT_7, BW_E_IO, "ended with exit code 7");
    assert_ends(PROBE_HALF_BODY, BW_E_IO, "ended with exit code 3");
    assert_ends(PROBE_NO_TYPE, BW_E_IO, "ended by signal 9 (killed)");
    assert_ends(PROBE_ANNOUNCE_4G, BW_E_LIMIT, "ended by signal 9 (killed)");
    if (!BW_WALL_SANITIZED) {
        assert_ends(PROBE_CRASH, BW_E_IO, "ended by signal 11 (bad memory access)");
    }
}

static void test_asking_too_much(void **state) {
    (void)state;
    bw_worker *worker = start("probe");
    uint8_t *data = calloc(1, (size_t)BW_FRAME_BYTES_MAX + 1);
    assert_non_null(data);
    bw_frame reply = {0, NULL, 0};
    assert_int_equal(bw_worker_ask(worker, PROBE_ECHO, data, (size_t)BW_FRAME_BYTES_MAX + 1,
                                   PATIENT_MS, &reply, NULL),
                     BW_E_LIMIT);
    free(data);
    bw_worker_free(worker);
    /* Longer than the worker's own buffer: it ends, and the host is told. */
    worker = start("probe");
    data = calloc(1, 100000);
    assert_non_null(data);
    assert_int_equal(bw_worker_ask(worker, PROBE_ECHO, data, 100000, PATIENT_MS, &reply, NULL),
                     BW_E_IO);
    free(data);
    bw_worker_free(worker);
}

static void test_freeing_a_running_worker(void **state) {
    (void)state;
    for (int i = 0; i < 10; i++) {
        bw_worker_free(start("probe")); /* while it starts */
    }
    bw_worker *worker = start("probe");
    (void)ask(worker, PROBE_ECHO);
    bw_worker_free(worker);
    bw_worker_free(NULL);
}

static int run_worker(const char *role) {
    if (strcmp(role, "sleeper") != 0) {
        return probe_main(role);
    }
    for (volatile unsigned i = 0;; i++) { /* reads nothing, ends at the host's kill */
    }
}

int main(int argc, char *argv[]) {
    if (argc == 3 && strcmp(argv[1], "--worker") == 0) {
        return run_worker(argv[2]);
    }
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_echo_of_every_size),
        cmocka_unit_test(test_several_frames),
        cmocka_unit_test(test_forbidden_acts),
        cmocka_unit_test(test_loading_stage_reads_but_no_more),
        cmocka_unit_test(test_memory_hog_is_stopped),
        cmocka_unit_test(test_deadline_kills),
        cmocka_unit_test(test_deadline_kills_one_that_does_not_read),
        cmocka_unit_test(test_ends_and_broken_frames),
        cmocka_unit_test(test_asking_too_much),
        cmocka_unit_test(test_freeing_a_running_worker),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
