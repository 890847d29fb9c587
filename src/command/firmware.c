/* firmware.c - see firmware.h. */
#include "command/firmware.h"

#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { PATH_BYTES = 4096, LINE_BYTES = 128, KEPT_BYTES = 4 << 20, START_ms = 5000 };

/* Between samples of a hand that shows all; and what the adapter needs to find its zero. */
static const double hole_s = 0.3;
static const double zero_s = 1.5;

struct bw_firmware {
    pid_t child;
    int to, from;            /* its input and output; -1: closed */
    char folder[LINE_BYTES]; /* "" none */
    char link[LINE_BYTES];   /* what its port is called, unplugged too */
    bool there;              /* its port, so far as it said */
    char *kept;              /* lines that were not handed on yet */
    size_t kept_n;
    char line[LINE_BYTES]; /* of its output */
    size_t line_n;
    unsigned told, done; /* pulls */
};

/* "/usr/bin/adapter-sim" for "adapter-sim", where this program is /usr/bin/boltwright. */
static bool beside(const char *name, char path[PATH_BYTES]) {
    ssize_t n = readlink("/proc/self/exe", path, PATH_BYTES - 1);
    if (n <= 0) {
        return false;
    }
    path[n] = '\0';
    char *slash = strrchr(path, '/');
    if (slash == NULL) {
        return false;
    }
    bw_text text = bw_text_on(slash + 1, (size_t)(path + PATH_BYTES - slash - 1));
    bw_text_add(&text, "%s", name);
    return !text.cut && access(path, R_OK) == 0;
}

/* In the child: nothing but what is safe after a fork. */
static _Noreturn void become(const char *program, const char *image, const char *link, int in,
                             int out) {
    int nowhere = open("/dev/null", O_WRONLY | O_CLOEXEC);
    if (dup2(in, STDIN_FILENO) < 0 || dup2(out, STDOUT_FILENO) < 0 ||
        dup2(nowhere, STDERR_FILENO) < 0) {
        _exit(126);
    }
    (void)execl(program, program, image, link, (char *)NULL);
    _exit(127);
}

static bool pipe_of_own(int ends[2]) {
    return pipe(ends) == 0 && fcntl(ends[0], F_SETFD, FD_CLOEXEC) == 0 &&
           fcntl(ends[1], F_SETFD, FD_CLOEXEC) == 0;
}

static bool spawn(bw_firmware *f, const char *program, const char *image) {
    int in[2];
    int out[2];
    if (!pipe_of_own(in) || !pipe_of_own(out)) {
        return false;
    }
    f->child = fork();
    if (f->child == 0) {
        become(program, image, f->link, in[0], out[1]);
    }
    (void)close(in[0]);
    (void)close(out[1]);
    f->to = in[1];
    f->from = out[0];
    return f->child > 0 && fcntl(f->to, F_SETFL, O_NONBLOCK) == 0 &&
           fcntl(f->from, F_SETFL, O_NONBLOCK) == 0;
}

static void take_line(bw_firmware *f) {
    f->there = f->there || strncmp(f->line, "port ", 5) == 0;
    f->done += strncmp(f->line, "done ", 5) == 0;
}

static void hang_up(bw_firmware *f) {
    (void)close(f->from);
    f->from = -1;
}

static void read_lines(bw_firmware *f) {
    char byte;
    ssize_t n = f->from < 0 ? -1 : read(f->from, &byte, 1);
    for (; n == 1; n = read(f->from, &byte, 1)) {
        if (byte == '\n') {
            f->line[f->line_n] = '\0';
            take_line(f);
            f->line_n = 0;
        } else if (f->line_n + 1 < sizeof f->line) {
            f->line[f->line_n++] = byte;
        }
    }
    if (n == 0) {
        hang_up(f);
    }
}

static void hand_on(bw_firmware *f) {
    ssize_t n = f->kept_n > 0 ? write(f->to, f->kept, f->kept_n) : 0;
    if (n > 0) {
        f->kept_n -= (size_t)n;
        memmove(f->kept, f->kept + n, f->kept_n);
    }
}

bool bw_firmware_busy(bw_firmware *firmware) {
    hand_on(firmware);
    read_lines(firmware);
    return firmware->from >= 0 && firmware->done != firmware->told;
}

static bw_status keep(bw_firmware *f, const bw_text *line, bw_err *err) {
    if (f->kept_n + line->len > KEPT_BYTES) {
        return bw_fail(err, BW_E_MEM, "the simulated adapter takes nothing any more");
    }
    memcpy(f->kept + f->kept_n, line->data, line->len);
    f->kept_n += line->len;
    return BW_OK;
}

static bw_status go(bw_firmware *f, double for_s, double torque_Nm, double turn_deg, bw_err *err) {
    char data[LINE_BYTES];
    bw_text line = bw_text_on(data, sizeof data);
    bw_text_add(&line, "go %.6f %.5f %.5f\n", for_s, torque_Nm, turn_deg);
    return keep(f, &line, err);
}

static bw_status order(bw_firmware *f, const char *words, bw_err *err) {
    char data[LINE_BYTES];
    bw_text line = bw_text_on(data, sizeof data);
    bw_text_add(&line, "%s\n", words);
    return keep(f, &line, err);
}

static bw_status ask_to_tell(bw_firmware *f, bw_err *err) {
    f->told++;
    return order(f, "tell", err);
}

bw_hand_wrench bw_firmware_hand_wrench(void) {
    bw_hand_wrench wrench = bw_hand_usual_wrench();
    wrench.noise_Nm = 0;
    wrench.step_Nm = 1e-6;
    wrench.drift_deg_per_s = 0;
    wrench.step_deg = 1e-6;
    return wrench;
}

/* A hole in what the hand showed is one of the line: the adapter went on all the while. */
static bw_status go_on(bw_firmware *f, const bw_sample *sample, double for_s, double turn_deg,
                       bw_err *err) {
    bool hole = for_s > hole_s;
    bw_status status = hole ? order(f, "fault line-cut 1", err) : BW_OK;
    status = status == BW_OK ? go(f, for_s, sample->torque_Nm, turn_deg, err) : status;
    return status == BW_OK && hole ? order(f, "fault line-cut 0", err) : status;
}

bw_status bw_firmware_pull(bw_firmware *firmware, bw_hand *hand, double rest_s, bool noisy,
                           double *clock_s, bw_err *err) {
    bw_sample sample;
    double angle_deg = 0;
    bw_status status = go(firmware, rest_s, 0, 0, err);
    status = status == BW_OK && noisy ? order(firmware, "fault line-noise 1", err) : status;
    while (status == BW_OK && bw_hand_next(hand, &sample)) {
        status = go_on(firmware, &sample, fmax(0, sample.time_s - *clock_s),
                       sample.angle_deg - angle_deg, err);
        *clock_s = sample.time_s;
        angle_deg = sample.angle_deg;
    }
    status = status == BW_OK && noisy ? order(firmware, "fault line-noise 0", err) : status;
    return status == BW_OK ? ask_to_tell(firmware, err) : status;
}

bw_status bw_firmware_unplug(bw_firmware *firmware, bw_err *err) {
    return order(firmware, "unplug", err);
}

/* The hand has let go meanwhile; the adapter then rests until it knows its zero. */
bw_status bw_firmware_plug(bw_firmware *firmware, bw_err *err) {
    bw_status status = order(firmware, "plug", err);
    status = status == BW_OK ? go(firmware, 0.1, 0, 0, err) : status;
    status = status == BW_OK ? go(firmware, zero_s, 0, 0, err) : status;
    return status == BW_OK ? ask_to_tell(firmware, err) : status;
}

static bw_status wait_for_port(bw_firmware *f, bw_err *err) {
    struct pollfd from = {.fd = f->from, .events = POLLIN};
    while (!f->there && f->from >= 0 && poll(&from, 1, START_ms) > 0) {
        read_lines(f);
    }
    return f->there ? BW_OK : bw_fail(err, BW_E_IO, "the simulated adapter won't start");
}

/* In a folder of its own, so that the port keeps its name when it is plugged in again. */
static bw_status make_link(bw_firmware *f, bw_err *err) {
    const char *place = getenv("TMPDIR");
    if (place == NULL || strlen(place) > LINE_BYTES / 2) {
        place = "/tmp";
    }
    bw_text folder = bw_text_on(f->folder, sizeof f->folder);
    bw_text_add(&folder, "%s/boltwright-XXXXXX", place);
    if (mkdtemp(f->folder) == NULL) {
        bw_status status = bw_fail(err, BW_E_IO, "no folder for the simulated adapter in %s: %s",
                                   place, strerror(errno));
        f->folder[0] = '\0';
        return status;
    }
    bw_text link = bw_text_on(f->link, sizeof f->link);
    bw_text_add(&link, "%s/adapter", f->folder);
    return BW_OK;
}

/* Beyond 1000 times a clock it is as fast as it goes. */
static bw_status begin(bw_firmware *f, double speed, bw_err *err) {
    char program[PATH_BYTES];
    char image[PATH_BYTES];
    char data[LINE_BYTES];
    bw_text line = bw_text_on(data, sizeof data);
    if (!beside("adapter-sim", program) || !beside("adapter.elf", image)) {
        return bw_fail(err, BW_E_STATE,
                       "--wrench firmware: no adapter-sim beside the program; right would be: "
                       "sh .ci/setup test, then configure and build anew");
    }
    bw_status status = make_link(f, err);
    if (status != BW_OK) {
        return status;
    }
    if (!spawn(f, program, image)) {
        return bw_fail(err, BW_E_IO, "the simulated adapter won't start: %s", strerror(errno));
    }
    bw_text_add(&line, "speed %.3f\n", speed);
    status = keep(f, &line, err);
    return status == BW_OK ? wait_for_port(f, err) : status;
}

bw_status bw_firmware_start(double speed, bw_firmware **out, bw_err *err) {
    bw_firmware *f = calloc(1, sizeof *f);
    char *kept = malloc(KEPT_BYTES);
    if (f == NULL || kept == NULL) {
        free(f);
        free(kept);
        return bw_fail(err, BW_E_MEM, "no memory for a simulated adapter");
    }
    *f = (bw_firmware){.to = -1, .from = -1, .kept = kept};
    bw_status status = begin(f, speed, err);
    if (status != BW_OK) {
        bw_firmware_free(f);
        return status;
    }
    *out = f;
    return BW_OK;
}

void bw_firmware_free(bw_firmware *firmware) {
    if (firmware == NULL) {
        return;
    }
    if (firmware->to >= 0) {
        (void)close(firmware->to);
    }
    if (firmware->from >= 0) {
        (void)close(firmware->from);
    }
    if (firmware->child > 0) {
        (void)kill(firmware->child, SIGTERM);
        (void)waitpid(firmware->child, NULL, 0);
    }
    if (firmware->folder[0] != '\0') {
        (void)unlink(firmware->link);
        (void)rmdir(firmware->folder);
    }
    free(firmware->kept);
    free(firmware);
}

const char *bw_firmware_port(const bw_firmware *firmware) {
    return firmware->link;
}
