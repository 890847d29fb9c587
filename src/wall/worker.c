/* worker.c - the host's side of the wall: start, ask with a deadline, kill.  See worker.h.
 *
 * Nothing that the worker does can hold the host up: every byte is sent and received without
 * blocking, under one deadline, and whatever is not as it should be ends the worker. */
#define _GNU_SOURCE /* close_range */
#include "wall/worker.h"

#include "base/clock.h"
#include "base/text.h"
#include "wall/frame_int.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

enum { END_TEXT_MAX = 96, EXEC_FAILED = 127 };

struct bw_worker {
    pid_t pid; /* 0: reaped */
    int fd;
    uint8_t *buffer;
    size_t size;
    char end[END_TEXT_MAX];
};

/* ---- start ---- */

/* From here to execve only async-signal-safe calls: the host may have threads. */

static void signals_to_default(void) {
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = SIG_DFL;
    for (int number = 1; number < NSIG; number++) {
        (void)sigaction(number, &action, NULL);
    }
    sigset_t none;
    (void)sigemptyset(&none);
    (void)sigprocmask(SIG_SETMASK, &none, NULL);
}

/* Descriptors: 0 and 1 /dev/null, 2 kept, 3 the socket, no other. */
static bool descriptors_in_place(int fd) {
    int sock = fcntl(fd, F_DUPFD, BW_WORKER_FD + 1);
    int null = open("/dev/null", O_RDWR);
    return sock >= 0 && null >= 0 && dup2(null, 0) == 0 && dup2(null, 1) == 1 &&
           dup2(sock, BW_WORKER_FD) == BW_WORKER_FD && close_range(BW_WORKER_FD + 1, ~0U, 0) == 0;
}

static bool limit_to(int resource, rlim_t value) {
    struct rlimit limit = {value, value};
    return setrlimit((__rlimit_resource_t)resource, &limit) == 0;
}

static void become_worker(int fd, pid_t host, rlim_t cpu_s, char *const argv[],
                          char *const envp[]) {
    signals_to_default();
    /* Its own session: Ctrl-C at the terminal is the host's affair. */
    (void)setsid();
    bool ready = prctl(PR_SET_PDEATHSIG, SIGKILL, 0, 0, 0) == 0 && getppid() == host &&
                 descriptors_in_place(fd) && limit_to(RLIMIT_CORE, 0) &&
                 limit_to(RLIMIT_FSIZE, 0) && limit_to(RLIMIT_CPU, cpu_s);
    if (ready) {
        (void)execve("/proc/self/exe", argv, envp);
    }
    _exit(EXEC_FAILED);
}

static pid_t start(int fd, const char *role, bw_worker_limits limits) {
    char memory[64];
    bw_text text = bw_text_on(memory, sizeof memory);
    bw_text_add(&text, BW_WALL_MEMORY "=%zu", limits.memory_bytes);
    char program[] = "boltwright";
    char flag[] = "--worker";
    char name[32];
    (void)bw_text_copy(name, sizeof name, role);
    char *const argv[] = {program, flag, name, NULL};
    char quiet[] = "ASAN_OPTIONS=detect_leaks=0"; /* read by the sanitizer's builds only */
    char *const envp[] = {memory, quiet, NULL};
    sigset_t all;
    sigset_t before;
    (void)sigfillset(&all);
    (void)sigprocmask(SIG_SETMASK, &all, &before);
    pid_t host = getpid();
    pid_t pid = fork();
    if (pid == 0) {
        become_worker(fd, host, (rlim_t)limits.cpu_s, argv, envp);
    }
    (void)sigprocmask(SIG_SETMASK, &before, NULL);
    return pid;
}

bw_status bw_worker_new(const char *role, bw_worker_limits limits, bw_worker **out, bw_err *err) {
    bw_worker *worker = calloc(1, sizeof *worker);
    if (worker == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory");
    }
    int pair[2];
    if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, pair) != 0) {
        free(worker);
        return bw_fail(err, BW_E_IO, "no socket for a worker: %s", strerror(errno));
    }
    worker->fd = pair[0];
    worker->pid = start(pair[1], role, limits);
    int why = errno;
    (void)close(pair[1]);
    if (worker->pid < 0) {
        worker->pid = 0;
        bw_worker_free(worker);
        return bw_fail(err, BW_E_IO, "no process for a worker: %s", strerror(why));
    }
    *out = worker;
    return BW_OK;
}

/* ---- end ---- */

static const char *signal_words(int number) {
    static const struct {
        int number;
        const char *words;
    } rows[] = {{SIGKILL, "killed"},           {SIGSEGV, "bad memory access"},
                {SIGBUS, "bad memory access"}, {SIGABRT, "gave up on a fault of its own"},
                {SIGXCPU, "processor time"},   {SIGSYS, "forbidden system call"},
                {SIGFPE, "bad arithmetic"},    {SIGILL, "bad instruction"},
                {SIGPIPE, "host gone"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (rows[i].number == number) {
            return rows[i].words;
        }
    }
    return "see signal(7)";
}

static void describe_end(bw_worker *worker, int status) {
    bw_text text = bw_text_on(worker->end, sizeof worker->end);
    if (WIFSIGNALED(status)) {
        bw_text_add(&text, "ended by signal %d (%s)", WTERMSIG(status),
                    signal_words(WTERMSIG(status)));
    } else {
        bw_text_add(&text, "ended with exit code %d", WEXITSTATUS(status));
    }
}

static void end_worker(bw_worker *worker) {
    if (worker->pid == 0) {
        return;
    }
    (void)kill(worker->pid, SIGKILL);
    int status = 0;
    pid_t got = -1;
    do {
        got = waitpid(worker->pid, &status, 0);
    } while (got < 0 && errno == EINTR);
    if (got == worker->pid) {
        describe_end(worker, status);
    } else {
        (void)bw_text_copy(worker->end, sizeof worker->end, "ended unseen");
    }
    worker->pid = 0;
}

void bw_worker_free(bw_worker *worker) {
    if (worker == NULL) {
        return;
    }
    end_worker(worker);
    (void)close(worker->fd);
    free(worker->buffer);
    free(worker);
}

const char *bw_worker_end(const bw_worker *worker) {
    return worker->pid != 0 ? "still running" : worker->end;
}

/* ---- ask ---- */

static bw_status give_up(bw_worker *worker, bw_err *err, bw_status code, const char *what) {
    end_worker(worker);
    return bw_fail(err, code, "the worker %s (%s)", what, worker->end);
}

/* Waits until the socket is ready for `events`; the deadline is on the monotonic clock. */
static bw_status wait_for(bw_worker *worker, short events, int64_t deadline_ns, bw_err *err) {
    for (;;) {
        int64_t left_ns = deadline_ns - bw_clock_mono_ns();
        if (left_ns <= 0) {
            return give_up(worker, err, BW_E_TIMEOUT, "took too long");
        }
        struct pollfd poll_fd = {.fd = worker->fd, .events = events};
        int n = poll(&poll_fd, 1, (int)(left_ns / 1000000) + 1);
        if (n > 0) {
            return BW_OK;
        }
        if (n < 0 && errno != EINTR) {
            return give_up(worker, err, BW_E_IO, "could not be waited for");
        }
    }
}

static bool worth_retrying(int code) {
    return code == EAGAIN || code == EWOULDBLOCK || code == EINTR;
}

static bw_status send_all(bw_worker *worker, const uint8_t *data, size_t len, int64_t deadline_ns,
                          bw_err *err) {
    for (size_t done = 0; done < len;) {
        bw_status rc = wait_for(worker, POLLOUT, deadline_ns, err);
        if (rc != BW_OK) {
            return rc;
        }
        ssize_t n = send(worker->fd, data + done, len - done, MSG_DONTWAIT | MSG_NOSIGNAL);
        if (n >= 0) {
            done += (size_t)n;
        } else if (!worth_retrying(errno)) {
            return give_up(worker, err, BW_E_IO, "ended before it was asked");
        }
    }
    return BW_OK;
}

static bw_status receive_all(bw_worker *worker, uint8_t *out, size_t len, int64_t deadline_ns,
                             bw_err *err) {
    for (size_t got = 0; got < len;) {
        bw_status rc = wait_for(worker, POLLIN, deadline_ns, err);
        if (rc != BW_OK) {
            return rc;
        }
        ssize_t n = recv(worker->fd, out + got, len - got, MSG_DONTWAIT);
        if (n > 0) {
            got += (size_t)n;
        } else if (n == 0 || !worth_retrying(errno)) {
            return give_up(worker, err, BW_E_IO, "ended without an answer");
        }
    }
    return BW_OK;
}

static bw_status make_room(bw_worker *worker, size_t len, bw_err *err) {
    if (len <= worker->size) {
        return BW_OK;
    }
    uint8_t *larger = realloc(worker->buffer, len);
    if (larger == NULL) {
        end_worker(worker);
        return bw_fail(err, BW_E_MEM, "out of memory for a worker's answer");
    }
    worker->buffer = larger;
    worker->size = len;
    return BW_OK;
}

static bw_status receive_frame(bw_worker *worker, int64_t deadline_ns, bw_frame *reply,
                               bw_err *err) {
    uint8_t head[BW_FRAME_HEAD];
    bw_status rc = receive_all(worker, head, sizeof head, deadline_ns, err);
    if (rc != BW_OK) {
        return rc;
    }
    uint32_t announced = bw_frame_announced(head);
    if (announced == 0) {
        return give_up(worker, err, BW_E_IO, "broke the framing");
    }
    size_t len = announced - 1;
    if (len > BW_FRAME_BYTES_MAX) {
        return give_up(worker, err, BW_E_LIMIT, "answered at more length than is allowed");
    }
    rc = make_room(worker, len, err);
    if (rc == BW_OK) {
        rc = receive_all(worker, worker->buffer, len, deadline_ns, err);
    }
    if (rc == BW_OK) {
        *reply = (bw_frame){.type = head[4], .data = worker->buffer, .len = len};
    }
    return rc;
}

static int64_t deadline_in(int deadline_ms) {
    return bw_clock_mono_ns() + (int64_t)deadline_ms * 1000000;
}

static bw_status refuse_dead(const bw_worker *worker, bw_err *err) {
    return worker->pid != 0 ? BW_OK : bw_fail(err, BW_E_IO, "the worker is gone (%s)", worker->end);
}

bw_status bw_worker_ask(bw_worker *worker, uint8_t type, const void *data, size_t len,
                        int deadline_ms, bw_frame *reply, bw_err *err) {
    bw_status rc = refuse_dead(worker, err);
    if (rc != BW_OK) {
        return rc;
    }
    if (len > BW_FRAME_BYTES_MAX) {
        return give_up(worker, err, BW_E_LIMIT, "cannot be asked at such length");
    }
    int64_t deadline_ns = deadline_in(deadline_ms);
    uint8_t head[BW_FRAME_HEAD];
    bw_frame_put_head(head, type, len);
    rc = send_all(worker, head, sizeof head, deadline_ns, err);
    if (rc == BW_OK) {
        rc = send_all(worker, data, len, deadline_ns, err);
    }
    return rc == BW_OK ? receive_frame(worker, deadline_ns, reply, err) : rc;
}

bw_status bw_worker_more(bw_worker *worker, int deadline_ms, bw_frame *reply, bw_err *err) {
    bw_status rc = refuse_dead(worker, err);
    return rc == BW_OK ? receive_frame(worker, deadline_in(deadline_ms), reply, err) : rc;
}
