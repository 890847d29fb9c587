/* lock.c - the worker gives up its rights, for good.  See worker.h.
 *
 * Every system call that is not on a list below fails with EPERM; seccomp filters only ever add
 * up, so the stranger's code cannot widen them.  Where the kernel has Landlock, the file system is
 * closed a second time.  A wall that nobody has leaned on is not trusted: each lock ends with
 * forbidden acts, and reports a failure if one of them went through. */
#define _GNU_SOURCE /* close_range, syscall */
#include "wall/worker.h"

#include "base/decimal.h"
#include "wall/frame_int.h"

#include <errno.h>
#include <fcntl.h>
#include <linux/landlock.h>
#include <seccomp.h>
#include <signal.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <unistd.h>

/* One system call that is let through, where `condition` holds. */
typedef struct allowed {
    int call;
    unsigned condition_n; /* 0: always */
    struct scmp_arg_cmp condition;
} allowed;

#define ALWAYS(name)                                                                               \
    {                                                                                              \
        SCMP_SYS(name), 0, {                                                                       \
            0, SCMP_CMP_EQ, 0, 0                                                                   \
        }                                                                                          \
    }
#define WHERE_EQUAL(name, argument, value)                                                         \
    {                                                                                              \
        SCMP_SYS(name), 1, {                                                                       \
            argument, SCMP_CMP_EQ, value, 0                                                        \
        }                                                                                          \
    }
#define WHERE_WITHOUT(name, argument, bits)                                                        \
    {                                                                                              \
        SCMP_SYS(name), 1, {                                                                       \
            argument, SCMP_CMP_MASKED_EQ, bits, 0                                                  \
        }                                                                                          \
    }

/* What a worker needs at any time: its socket, memory that holds no code, an end. */
static const allowed always[] = {
    ALWAYS(read),
    WHERE_EQUAL(write, 0, BW_WORKER_FD),
#if BW_WALL_SANITIZED
    WHERE_EQUAL(write, 0, STDERR_FILENO),
    ALWAYS(gettid),
    ALWAYS(sched_yield),
#endif
    ALWAYS(brk),
    ALWAYS(munmap),
    ALWAYS(mremap),
    ALWAYS(madvise),
    WHERE_WITHOUT(mmap, 2, PROT_EXEC),
    WHERE_WITHOUT(mmap2, 2, PROT_EXEC),
    WHERE_WITHOUT(mprotect, 2, PROT_EXEC),
    ALWAYS(futex),
    ALWAYS(close),
    ALWAYS(getpid),
    ALWAYS(clock_gettime),
    ALWAYS(gettimeofday),
    ALWAYS(rt_sigprocmask),
    ALWAYS(rt_sigreturn),
    ALWAYS(sigaltstack),
    ALWAYS(restart_syscall),
    ALWAYS(exit),
    ALWAYS(exit_group),
};

enum { WRITES = O_ACCMODE | O_CREAT | O_TRUNC | O_APPEND };

/* What the dynamic loader needs besides, and what the second lock then needs to close itself. */
static const allowed loading[] = {
    WHERE_WITHOUT(open, 1, WRITES),
    WHERE_WITHOUT(openat, 2, WRITES),
    ALWAYS(pread64),
    ALWAYS(fstat),
    ALWAYS(stat),
    ALWAYS(newfstatat),
    ALWAYS(statx),
    ALWAYS(lseek),
    ALWAYS(access),
    ALWAYS(faccessat),
    ALWAYS(readlink),
    ALWAYS(readlinkat),
    ALWAYS(getcwd),
    ALWAYS(getrandom),
    ALWAYS(mmap),
    ALWAYS(mmap2),
    ALWAYS(mprotect),
    ALWAYS(close_range),
    WHERE_EQUAL(prlimit64, 0, 0),
    ALWAYS(setrlimit),
    ALWAYS(getrlimit),
    WHERE_EQUAL(prctl, 0, PR_SET_NO_NEW_PRIVS),
    WHERE_EQUAL(prctl, 0, PR_SET_SECCOMP),
    WHERE_EQUAL(prctl, 0, PR_SET_DUMPABLE),
    ALWAYS(seccomp),
    ALWAYS(landlock_create_ruleset),
    ALWAYS(landlock_restrict_self),
};

static bool allow(scmp_filter_ctx filter, const allowed *row, size_t n) {
    for (size_t i = 0; i < n; i++) {
        int rc = seccomp_rule_add_array(filter, SCMP_ACT_ALLOW, row[i].call, row[i].condition_n,
                                        &row[i].condition);
        if (rc != 0) {
            return false;
        }
    }
    return true;
}

static bw_status raise_filter(bool while_loading, bw_err *err) {
    scmp_filter_ctx filter = seccomp_init(SCMP_ACT_ERRNO(EPERM));
    bool up = filter != NULL &&
              seccomp_attr_set(filter, SCMP_FLTATR_ACT_BADARCH, SCMP_ACT_KILL_PROCESS) == 0 &&
              allow(filter, always, sizeof always / sizeof always[0]) &&
              (!while_loading || allow(filter, loading, sizeof loading / sizeof loading[0])) &&
              seccomp_load(filter) == 0;
    seccomp_release(filter);
    return up ? BW_OK : bw_fail(err, BW_E_STATE, "the system-call filter could not be raised");
}

/* ---- limits ---- */

static bool limit_to(int resource, rlim_t value) {
    struct rlimit limit = {value, value};
    return setrlimit((__rlimit_resource_t)resource, &limit) == 0;
}

/* Pages mapped by this process, the first number in /proc/self/statm. */
static bool mapped_bytes(rlim_t *out) {
    char text[128];
    int fd = open("/proc/self/statm", O_RDONLY | O_CLOEXEC);
    ssize_t n = fd >= 0 ? read(fd, text, sizeof text - 1) : -1;
    if (fd >= 0) {
        (void)close(fd);
    }
    if (n <= 0) {
        return false;
    }
    text[n] = '\0';
    double pages = 0;
    if (bw_number_parse(text, strcspn(text, " "), &pages, NULL) != BW_OK) {
        return false;
    }
    *out = (rlim_t)pages * (rlim_t)sysconf(_SC_PAGESIZE);
    return true;
}

/* The host's limit counts from what the program itself maps.  No variable: no worker of a host. */
static bw_status limit_memory(bw_err *err) {
    const char *text = getenv(BW_WALL_MEMORY);
    double wanted = 0;
    rlim_t mapped = 0;
    bool known = text != NULL && bw_number_parse(text, strlen(text), &wanted, NULL) == BW_OK &&
                 wanted >= 0 && wanted < 1e15 && mapped_bytes(&mapped);
    if (!known) {
        return bw_fail(err, BW_E_STATE, "the memory limit is not known");
    }
    if (BW_WALL_SANITIZED || limit_to(RLIMIT_AS, mapped + (rlim_t)wanted)) {
        return BW_OK;
    }
    return bw_fail(err, BW_E_STATE, "the memory limit could not be set");
}

/* ---- the file system, closed a second time ---- */

/* Landlock's first version (Linux 5.13): every access it knows is handled and none is granted.
 * Without it the filter stands alone. */
static void close_file_system(void) {
    struct landlock_ruleset_attr attr;
    memset(&attr, 0, sizeof attr);
    attr.handled_access_fs = (LANDLOCK_ACCESS_FS_MAKE_SYM << 1) - 1;
    long ruleset = syscall(SYS_landlock_create_ruleset, &attr, sizeof attr, 0);
    if (ruleset >= 0) {
        (void)syscall(SYS_landlock_restrict_self, ruleset, 0);
        (void)close((int)ruleset);
    }
}

/* ---- leaning on the wall ---- */

/* An act that gave a handle after all: it is closed again, though the worker ends. */
static bool refused(int handle) {
    int why = errno;
    if (handle >= 0) {
        (void)close(handle);
    }
    return handle < 0 && why == EPERM;
}

static bool no_open(void) {
    return refused(open("/dev/null", O_RDONLY));
}

static bool no_write_open(void) {
    return refused(open("/dev/null", O_WRONLY));
}

static bool no_socket(void) {
    return refused(socket(AF_UNIX, SOCK_STREAM, 0));
}

static bool no_signal(void) {
    return kill(getpid(), 0) < 0 && errno == EPERM;
}

static bool no_code(void) {
    int flags = MAP_PRIVATE | MAP_ANONYMOUS;
    /* cppcheck-suppress invalidFunctionArg ; an anonymous mapping has no handle, which is -1 */
    void *page = mmap(NULL, 1, PROT_READ | PROT_EXEC, flags, -1, 0);
    bool mapped = page != MAP_FAILED;
    int why = errno;
    if (mapped) {
        (void)munmap(page, 1);
    }
    return !mapped && why == EPERM;
}

typedef struct forbidden_act {
    bool (*is_refused)(void);
    const char *act;
} forbidden_act;

static bw_status lean(const forbidden_act *act, size_t n, bw_err *err) {
    for (size_t i = 0; i < n; i++) {
        if (!act[i].is_refused()) {
            return bw_fail(err, BW_E_STATE, "the wall does not stand: %s went through", act[i].act);
        }
    }
    return BW_OK;
}

/* ---- the two locks ---- */

static bw_status renounce(bw_err *err) {
    bool done = prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 &&
                prctl(PR_SET_DUMPABLE, 0, 0, 0, 0) == 0 && limit_to(RLIMIT_CORE, 0) &&
                limit_to(RLIMIT_FSIZE, 0);
    return done ? BW_OK : bw_fail(err, BW_E_STATE, "the rights could not be given up");
}

bw_status bw_wall_lock_loading(bw_err *err) {
    static const forbidden_act acts[] = {{no_write_open, "opening a file for writing"},
                                         {no_socket, "making a socket"},
                                         {no_signal, "a signal"}};
    bw_status rc = renounce(err);
    if (rc == BW_OK) {
        rc = raise_filter(true, err);
    }
    return rc == BW_OK ? lean(acts, sizeof acts / sizeof acts[0], err) : rc;
}

bw_status bw_wall_lock(bw_err *err) {
    static const forbidden_act acts[] = {{no_open, "opening a file"},
                                         {no_socket, "making a socket"},
                                         {no_signal, "a signal"},
                                         {no_code, "mapping code"}};
    bw_status rc = renounce(err);
    if (rc == BW_OK) {
        rc = limit_memory(err);
    }
    if (rc != BW_OK) {
        return rc;
    }
    close_file_system();
    if (close_range(BW_WORKER_FD + 1, ~0U, 0) != 0 || !limit_to(RLIMIT_NOFILE, BW_WORKER_FD + 1)) {
        return bw_fail(err, BW_E_STATE, "the descriptors could not be closed");
    }
    rc = raise_filter(false, err);
    return rc == BW_OK ? lean(acts, sizeof acts / sizeof acts[0], err) : rc;
}
