/* probe.c - see probe.h. */
#define _GNU_SOURCE /* MAP_ANONYMOUS */
#include "probe.h"

#include "wall/worker.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <unistd.h>

enum { BUFFER_BYTES = 1 << 16, MIB = 1 << 20 };

static bool answer(uint8_t type, const void *data, size_t len) {
    return bw_frame_write(type, data, len, NULL) == BW_OK;
}

static bool raw(const void *data, size_t len) {
    return write(BW_WORKER_FD, data, len) == (ssize_t)len;
}

static bool try_open(void) {
    return open("/etc/passwd", O_RDONLY) >= 0;
}

static bool try_open_for_writing(void) {
    return open("/dev/null", O_WRONLY) >= 0;
}

static bool try_socket(void) {
    return socket(AF_INET, SOCK_STREAM, 0) >= 0;
}

static bool try_fork(void) {
    pid_t pid = fork();
    if (pid == 0) {
        _exit(0);
    }
    return pid > 0;
}

static bool try_exec(void) {
    char name[] = "true";
    char *const argv[] = {name, NULL};
    char *const envp[] = {NULL};
    return execve("/bin/true", argv, envp) == 0;
}

static bool try_kill_parent(void) {
    return kill(getppid(), 0) == 0;
}

static bool try_map_code(void) {
    int flags = MAP_PRIVATE | MAP_ANONYMOUS;
    return mmap(NULL, 1, PROT_READ | PROT_EXEC, flags, -1, 0) != MAP_FAILED;
}

static bool try_write_stderr(void) {
    return write(STDERR_FILENO, "", 0) == 0;
}

static bool try_raise_limit(void) {
    struct rlimit limit = {1 << 30, 1 << 30};
    return setrlimit(RLIMIT_FSIZE, &limit) == 0;
}

static bool try_unlink(void) {
    /* Not there: an unlink that the wall lets through says ENOENT, not EPERM. */
    return unlink("/nowhere/at/all") == 0 || errno == ENOENT;
}

static bool try_lock_again(void) {
    return bw_wall_lock(NULL) == BW_OK;
}

/* Touches every page, so that the memory is really taken. */
static bool hog(void) {
    size_t mib = 0;
    for (char *block = malloc(MIB); block != NULL; block = malloc(MIB)) {
        memset(block, (int)mib, MIB);
        mib++;
    }
    char text[32];
    int len = snprintf(text, sizeof text, "%zu", mib);
    return answer(PROBE_DONE, text, (size_t)len);
}

static void loop_forever(void) {
    for (volatile unsigned i = 0;; i++) {
    }
}

static void crash(void) {
    (void)signal(SIGSEGV, SIG_DFL);
    (void)raise(SIGSEGV); /* refused: no signals */
    volatile char *volatile nowhere = NULL;
    *nowhere = 1;
}

static void drip(void) {
    static const uint8_t head[5] = {0, 0, 1, 0, PROBE_DONE};
    if (!raw(head, sizeof head)) {
        return;
    }
    while (raw("x", 1)) {
        for (volatile unsigned i = 0; i < 1000000; i++) {
        }
    }
}

static const struct {
    enum probe_ask ask;
    bool (*act)(void);
} acts[] = {
    {PROBE_OPEN, try_open},
    {PROBE_OPEN_FOR_WRITING, try_open_for_writing},
    {PROBE_SOCKET, try_socket},
    {PROBE_FORK, try_fork},
    {PROBE_EXEC, try_exec},
    {PROBE_KILL_PARENT, try_kill_parent},
    {PROBE_MAP_CODE, try_map_code},
    {PROBE_WRITE_STDERR, try_write_stderr},
    {PROBE_RAISE_LIMIT, try_raise_limit},
    {PROBE_UNLINK, try_unlink},
    {PROBE_LOCK_AGAIN, try_lock_again},
};

static bool misbehave(uint8_t ask) {
    static const uint8_t half_body[8] = {101, 0, 0, 0, PROBE_DONE, 'a', 'b', 'c'};
    switch (ask) {
    case PROBE_HOG:
        return hog();
    case PROBE_LOOP:
        loop_forever();
        return false;
    case PROBE_EXIT_7:
        _exit(7);
    case PROBE_CRASH:
        crash();
        return false;
    case PROBE_HALF_HEAD:
        (void)raw("\1", 2);
        loop_forever();
        return false;
    case PROBE_HALF_BODY:
        (void)raw(half_body, sizeof half_body);
        return false;
    case PROBE_NO_TYPE:
        (void)raw("\0\0\0\0\0", 5);
        loop_forever();
        return false;
    case PROBE_ANNOUNCE_4G:
        (void)raw("\xff\xff\xff\xff\1", 5);
        loop_forever();
        return false;
    case PROBE_DRIP:
        drip();
        return false;
    default:
        return false;
    }
}

static bool handle(uint8_t ask, const uint8_t *data, size_t len) {
    if (ask == PROBE_ECHO) {
        return answer(PROBE_DONE, data, len);
    }
    if (ask == PROBE_THREE) {
        return answer(1, "a", 1) && answer(2, "bc", 2) && answer(3, NULL, 0);
    }
    for (size_t i = 0; i < sizeof acts / sizeof acts[0]; i++) {
        if (acts[i].ask == ask) {
            errno = 0;
            bool done = acts[i].act();
            uint8_t why = (uint8_t)errno;
            return answer(done ? PROBE_DONE : PROBE_REFUSED, &why, 1);
        }
    }
    return misbehave(ask);
}

int probe_main(const char *role) {
    bw_err err = {.code = BW_OK, .text = ""};
    bool loader = strcmp(role, "loader") == 0;
    bw_status rc = loader ? bw_wall_lock_loading(&err) : bw_wall_lock(&err);
    uint8_t *buffer = malloc(BUFFER_BYTES);
    uint8_t ask = 0;
    size_t len = 0;
    while (buffer != NULL && bw_frame_read(buffer, BUFFER_BYTES, &ask, &len, NULL) == BW_OK) {
        bool go_on = rc == BW_OK ? handle(ask, buffer, len)
                                 : answer(PROBE_UNWALLED, err.text, strlen(err.text));
        if (!go_on) {
            break;
        }
    }
    free(buffer);
    return 3;
}
