/* probe.h - a worker that tries what it must not: the other half of test_wall.c. */
#ifndef BW_TESTS_PROBE_H
#define BW_TESTS_PROBE_H

/* What the probe is asked (the type of the frame).  Acts are answered with PROBE_REFUSED and
 * errno in one byte, or with PROBE_DONE. */
enum probe_ask {
    PROBE_ECHO = 1,
    PROBE_OPEN,
    PROBE_OPEN_FOR_WRITING,
    PROBE_SOCKET,
    PROBE_FORK,
    PROBE_EXEC,
    PROBE_KILL_PARENT,
    PROBE_MAP_CODE,
    PROBE_WRITE_STDERR,
    PROBE_RAISE_LIMIT,
    PROBE_UNLINK,
    PROBE_LOCK_AGAIN, /* the second lock, after the looser one */
    PROBE_HOG,        /* takes memory until none is given; answers the MiB as text */
    PROBE_LOOP,
    PROBE_EXIT_7,
    PROBE_CRASH,
    PROBE_HALF_HEAD, /* two bytes of a frame, then nothing */
    PROBE_HALF_BODY, /* announces 100 bytes, sends 3, ends */
    PROBE_NO_TYPE,   /* a frame of length 0 */
    PROBE_ANNOUNCE_4G,
    PROBE_THREE, /* answers in three frames */
    PROBE_DRIP   /* one byte of an endless frame each few milliseconds */
};

enum probe_reply { PROBE_DONE = 100, PROBE_REFUSED, PROBE_UNWALLED };

/* The worker's main for the roles "probe" (locked) and "loader" (looser lock first). */
int probe_main(const char *role);

#endif
