/* bench_wrench.c - a million samples from a pseudo-terminal through driver worker, judge and trace
 * store, beside a bare loop of reads and a script with python3-serial; and how long it takes from
 * the last byte of a line to the verdict on the disk, beside a bare append.
 *
 * Usage: bench_wrench [SAMPLES [FOLDER]].  Prints figures and checks only that nothing was lost;
 * the record is removed at the end. */
#define _GNU_SOURCE /* posix_openpt, ptsname, wait4 */
#include "base/clock.h"
#include "base/text.h"
#include "device/device.h"
#include "judge/judge.h"
#include "record/store.h"
#include "record/tree.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

enum { PULL_SAMPLES = 10000, BLOCK_LINES = 50, SCRIPT_SAMPLES = 200000, ROUNDS = 300 };

static void must(bool good, const char *what) {
    if (!good) {
        (void)fprintf(stderr, "bench_wrench: %s\n", what);
        exit(1);
    }
}

static double seconds(const struct timeval *t) {
    return (double)t->tv_sec + (double)t->tv_usec * 1e-6;
}

/* Of this process and of those of its children that have ended. */
static double cpu_s(void) {
    double sum = 0;
    const int who[] = {RUSAGE_SELF, RUSAGE_CHILDREN};
    for (size_t i = 0; i < 2; i++) {
        struct rusage use;
        must(getrusage((__rusage_who_t)who[i], &use) == 0, "getrusage");
        sum += seconds(&use.ru_utime) + seconds(&use.ru_stime);
    }
    return sum;
}

/* ---- the far end ---- */

typedef struct far_end {
    int master;
    char path[64];
    pid_t sender; /* 0: none */
} far_end;

static far_end open_line(void) {
    far_end f = {.master = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC)};
    must(f.master >= 0 && grantpt(f.master) == 0 && unlockpt(f.master) == 0, "no pseudo-terminal");
    (void)bw_text_copy(f.path, sizeof f.path, ptsname(f.master));
    int slave = open(f.path, O_RDWR | O_NOCTTY | O_CLOEXEC);
    struct termios t;
    must(slave >= 0 && tcgetattr(slave, &t) == 0, "the line cannot be set");
    cfmakeraw(&t);
    must(tcsetattr(slave, TCSANOW, &t) == 0, "the line cannot be set");
    (void)close(slave);
    return f;
}

static void send_all(int master, size_t samples) {
    char block[BLOCK_LINES * 64];
    for (size_t i = 0; i < samples;) {
        bw_text text = bw_text_on(block, sizeof block);
        for (int k = 0; k < BLOCK_LINES && i < samples; k++, i++) {
            bw_text_add(&text, "+%07.2f N.m @%.3f\r\n", (double)(i % 6000) / 100, (double)i / 1000);
        }
        for (size_t at = 0; at < text.len;) {
            ssize_t n = write(master, block + at, text.len - at);
            if (n < 0) {
                _exit(1);
            }
            at += (size_t)n;
        }
    }
}

static void start_sender(far_end *f, size_t samples) {
    f->sender = fork();
    must(f->sender >= 0, "fork");
    if (f->sender == 0) {
        send_all(f->master, samples);
        _exit(0);
    }
}

/* Its own time, to be taken off. */
static double end_sender(far_end *f) {
    struct rusage use;
    int status = 0;
    must(wait4(f->sender, &status, 0, &use) == f->sender && status == 0, "the sender failed");
    f->sender = 0;
    return seconds(&use.ru_utime) + seconds(&use.ru_stime);
}

static void print_rate(const char *what, size_t samples, double wall_s, double used_s) {
    (void)printf("%-34s %9.0f samples/s  %6.2f us of processor a sample\n", what,
                 (double)samples / wall_s, used_s * 1e6 / (double)samples);
}

/* ---- a bare loop of reads ---- */

static void measure_bare(size_t samples) {
    far_end f = open_line();
    int slave = open(f.path, O_RDONLY | O_NOCTTY | O_CLOEXEC);
    must(slave >= 0, "the line cannot be opened");
    double used_s = cpu_s();
    int64_t began_ns = bw_clock_mono_ns();
    start_sender(&f, samples);
    size_t lines = 0;
    while (lines < samples) {
        char bytes[4096];
        ssize_t n = read(slave, bytes, sizeof bytes);
        must(n > 0, "read");
        for (ssize_t i = 0; i < n; i++) {
            lines += bytes[i] == '\n' ? 1 : 0;
        }
    }
    double wall_s = (double)(bw_clock_mono_ns() - began_ns) * 1e-9;
    double sender_s = end_sender(&f);
    print_rate("bare loop of reads", samples, wall_s, cpu_s() - used_s - sender_s);
    (void)close(slave);
    (void)close(f.master);
}

/* ---- a script ---- */

static void measure_script(size_t samples) {
    static const char script[] = "import sys, serial\n"
                                 "port = serial.Serial(sys.argv[1], 115200, timeout=20)\n"
                                 "print(flush=True)\n"
                                 "n = 0\n"
                                 "while n < int(sys.argv[2]):\n"
                                 "    line = port.readline()\n"
                                 "    torque = float(line.split()[0])\n"
                                 "    n += 1\n";
    far_end f = open_line();
    char count[32];
    bw_text text = bw_text_on(count, sizeof count);
    bw_text_add(&text, "%zu", samples);
    int ready[2];
    must(pipe(ready) == 0, "no pipe");
    int keep = open(f.path, O_RDONLY | O_NOCTTY | O_CLOEXEC);
    double used_s = cpu_s();
    pid_t child = fork();
    if (child == 0) {
        (void)dup2(ready[1], STDOUT_FILENO);
        (void)execl("/usr/bin/python3", "python3", "-c", script, f.path, count, (char *)NULL);
        _exit(127);
    }
    char byte = 0;
    (void)close(ready[1]);
    (void)!read(ready[0], &byte, 1); /* it has opened, and emptied, the port */
    (void)close(ready[0]);
    int64_t began_ns = bw_clock_mono_ns();
    start_sender(&f, samples);
    int status = 0;
    bool done = child > 0 && waitpid(child, &status, 0) == child && status == 0;
    if (!done) {
        (void)kill(f.sender, SIGKILL);
        (void)waitpid(f.sender, NULL, 0);
        (void)printf("%-34s not here (python3-serial)\n", "script with python3-serial");
    } else {
        double wall_s = (double)(bw_clock_mono_ns() - began_ns) * 1e-9;
        double sender_s = end_sender(&f);
        print_rate("script with python3-serial", samples, wall_s, cpu_s() - used_s - sender_s);
    }
    (void)close(keep);
    (void)close(f.master);
}

/* ---- the whole way ---- */

typedef struct way {
    bw_store *store;
    bw_judge judge;
    bw_sample *sample;
    size_t n;
    size_t all;
    char *text;
    double result_Nm; /* of a result; below 0: none yet */
} way;

static const bw_stage stage = {.kind = BW_STAGE_TORQUE, .low_Nm = 57, .high_Nm = 63};

static bw_entry entry_of(bw_kind kind) {
    bw_entry e = bw_entry_of(kind);
    e.build = "bench";
    e.by = "bench";
    e.bench = "bench-00000000";
    e.time_ms = bw_clock_wall_ms();
    return e;
}

static void append(way *w, bw_entry *e, const bw_blob *blob, size_t blob_n) {
    bw_err err = {.text = ""};
    bw_status rc = bw_store_append(w->store, e, 1, blob, blob_n, &err);
    must(rc == BW_OK, err.text);
}

static void store_pull(way *w, double peak_Nm) {
    size_t len = 0;
    bw_hash hash;
    char hex[BW_HASH_HEX];
    must(bw_trace_write(w->sample, w->n, w->text, bw_trace_text_size(PULL_SAMPLES), &len, NULL) ==
             BW_OK,
         "the trace cannot be written");
    must(bw_sha256(w->text, len, &hash) == BW_OK, "the hash failed");
    bw_hex(hash.byte, BW_HASH_BYTES, hex);
    bw_entry e = entry_of(BW_KIND_PULL);
    bw_entry_set_flag(&e, BW_M_ASKED, true);
    bw_entry_set_flag(&e, BW_M_COMPLETE, true);
    bw_entry_set_whole(&e, BW_M_SAMPLES, (int64_t)w->n);
    bw_entry_set_number(&e, BW_M_PEAK_NM, peak_Nm);
    bw_entry_set_text(&e, BW_M_TRACE, hex);
    bw_entry_set_text(&e, BW_M_RAW, hex);
    bw_entry_set_text(&e, BW_M_TOOL, "bench");
    const bw_blob blob = {w->text, len};
    append(w, &e, &blob, 1);
}

static void begin_pull(way *w) {
    static const bw_standing standing = {0};
    static const bw_terms terms = {0};
    bw_judge_begin(&w->judge, &stage, &standing, &terms);
    w->n = 0;
}

static void on_sample(void *ctx, const bw_sample *sample) {
    way *w = ctx;
    (void)bw_judge_sample(&w->judge, sample);
    w->sample[w->n++] = *sample;
    w->all++;
    if (w->n == PULL_SAMPLES) {
        bw_verdict verdict = bw_judge_end(&w->judge, true);
        store_pull(w, verdict.peak_Nm);
        begin_pull(w);
    }
}

static void on_result(void *ctx, double time_s, double peak_Nm, bool has_turn, double turn_deg) {
    way *w = ctx;
    (void)time_s;
    (void)has_turn;
    (void)turn_deg;
    w->result_Nm = peak_Nm;
}

static void on_say(void *ctx, const char *line) {
    (void)ctx;
    must(false, line);
}

static void pump(way *w, bw_device *device) {
    const bw_device_sink sink = {.ctx = w, .sample = on_sample, .result = on_result, .say = on_say};
    struct pollfd ready = {.fd = bw_device_fd(device), .events = POLLIN};
    bw_err err = {.text = ""};
    must(poll(&ready, 1, 20000) == 1, "nothing comes");
    must(bw_device_pump(device, bw_clock_mono_ns(), &sink, &err) == BW_OK, err.text);
}

static bw_device *open_device(const char *path) {
    bw_device *device = NULL;
    bw_err err = {.text = ""};
    must(bw_device_open(path, &device, &err) == BW_OK, err.text);
    return device;
}

static void measure_way(way *w, size_t samples) {
    far_end f = open_line();
    double used_s = cpu_s();
    bw_device *device = open_device(f.path);
    begin_pull(w);
    w->all = 0;
    int64_t began_ns = bw_clock_mono_ns();
    start_sender(&f, samples);
    while (w->all < samples) {
        if (w->n == 0) {
            bw_device_raw_reset(device, bw_clock_mono_ns());
        }
        pump(w, device);
    }
    double wall_s = (double)(bw_clock_mono_ns() - began_ns) * 1e-9;
    must(bw_device_unread(device) == 0, "something was not read");
    bw_device_free(device);
    double sender_s = end_sender(&f);
    print_rate("driver worker, judge, trace store", samples, wall_s, cpu_s() - used_s - sender_s);
    (void)close(f.master);
}

/* ---- from the last byte to the disk ---- */

static int by_value(const void *a, const void *b) {
    double left = *(const double *)a;
    double right = *(const double *)b;
    return left < right ? -1 : left > right ? 1 : 0;
}

static void print_latency(const char *what, double *us) {
    qsort(us, ROUNDS, sizeof *us, by_value);
    (void)printf("%-34s p50 %6.0f us  p99 %6.0f us\n", what, us[ROUNDS / 2], us[ROUNDS * 99 / 100]);
}

static void measure_latency(way *w, double *us) {
    static const char line[] = "PEAK 60.2 N.m\r\n";
    far_end f = open_line();
    bw_device *device = open_device(f.path);
    for (int i = 0; i < ROUNDS; i++) {
        w->result_Nm = -1;
        w->n = 0;
        int64_t began_ns = bw_clock_mono_ns();
        must(write(f.master, line, sizeof line - 1) == (ssize_t)sizeof line - 1, "write");
        while (w->result_Nm < 0) {
            pump(w, device);
        }
        static const bw_standing standing = {0};
        static const bw_terms terms = {0};
        bw_verdict v = bw_judge_result(&stage, &standing, &terms, w->result_Nm, false, 0);
        store_pull(w, v.peak_Nm);
        us[i] = (double)(bw_clock_mono_ns() - began_ns) * 1e-3;
    }
    print_latency("last byte to committed verdict", us);
    bw_device_free(device);
    (void)close(f.master);
}

static void measure_append(const char *folder, double *us) {
    char path[4200];
    char bytes[400];
    bw_text text = bw_text_on(path, sizeof path);
    bw_text_add(&text, "%s/append", folder);
    memset(bytes, 'x', sizeof bytes);
    int fd = open(path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
    must(fd >= 0, "the folder cannot be written to");
    for (int i = 0; i < ROUNDS; i++) {
        int64_t began_ns = bw_clock_mono_ns();
        must(write(fd, bytes, sizeof bytes) == (ssize_t)sizeof bytes && fdatasync(fd) == 0,
             "append");
        us[i] = (double)(bw_clock_mono_ns() - began_ns) * 1e-3;
    }
    print_latency("bare append and fdatasync", us);
    (void)close(fd);
    (void)unlink(path);
}

static void remove_record(const char *folder) {
    static const char *const names[] = {"record.db", "record.db-wal", "record.db-shm", "lock"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char path[4200];
        bw_text text = bw_text_on(path, sizeof path);
        bw_text_add(&text, "%s/%s", folder, names[i]);
        (void)unlink(path);
    }
    (void)rmdir(folder);
}

int main(int argc, char **argv) {
    if (argc == 3 && strcmp(argv[1], "--worker") == 0) {
        return bw_driver_worker_main(NULL);
    }
    char folder[4096] = "/tmp/bench_wrench_XXXXXX";
    size_t samples = argc > 1 ? strtoul(argv[1], NULL, 10) : 1000000;
    if (argc > 2) {
        (void)bw_text_copy(folder, sizeof folder, argv[2]);
    } else {
        must(mkdtemp(folder) != NULL, "no folder");
    }
    must(setenv("BOLTWRIGHT_PLUGINS", BW_BINARY_DIR "/plugins", 1) == 0, "setenv");
    way w = {.sample = calloc(PULL_SAMPLES, sizeof *w.sample),
             .text = malloc(bw_trace_text_size(PULL_SAMPLES))};
    static double us[ROUNDS];
    bw_err err = {.text = ""};
    must(w.sample != NULL && w.text != NULL, "no memory");
    must(bw_store_open(folder, BW_STORE_WRITE, &w.store, &err) == BW_OK, err.text);
    bw_entry opened = entry_of(BW_KIND_BUILD_OPENED);
    bw_entry_set_text(&opened, BW_M_PROGRAM, "bench_wrench");
    append(&w, &opened, NULL, 0);
    measure_bare(samples);
    measure_script(samples < SCRIPT_SAMPLES ? samples : SCRIPT_SAMPLES);
    measure_way(&w, samples - samples % PULL_SAMPLES);
    measure_append(folder, us);
    measure_latency(&w, us);
    bw_store_close(w.store);
    free(w.sample);
    free(w.text);
    remove_record(folder);
    return 0;
}
