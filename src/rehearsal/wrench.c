/* wrench.c - see wrench.h.
 *
 * The device's end is held open by the wrench too, so that it keeps its settings and its bytes
 * while nobody else has it open. */
#define _XOPEN_SOURCE 700 /* posix_openpt, ptsname */

#include "rehearsal/wrench.h"

#include "base/decimal.h"
#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

enum { PATH_MAX_BYTES = 200 };

/* Where a sample's line ends in the bytes. */
typedef struct line {
    double time_s;
    size_t end;
} line;

struct bw_wrench {
    char folder[PATH_MAX_BYTES];
    char path[PATH_MAX_BYTES];
    int master;
    int slave;
    char *bytes;
    size_t bytes_n, bytes_room;
    size_t sent;
    line *lines;
    size_t lines_n, lines_room;
    size_t lines_sent; /* lines that are gone as a whole */
};

static void close_end(int *fd) {
    if (*fd >= 0) {
        (void)close(*fd);
        *fd = -1;
    }
}

static bool keep_from_children(int fd) {
    return fcntl(fd, F_SETFD, FD_CLOEXEC) == 0;
}

/* As a serial port with nothing between the wires: no echo, no line editing, 8 bits. */
static bool make_raw(int fd) {
    struct termios t;
    if (tcgetattr(fd, &t) != 0) {
        return false;
    }
    t.c_iflag &= ~(tcflag_t)(IGNBRK | BRKINT | PARMRK | ISTRIP | INLCR | IGNCR | ICRNL | IXON);
    t.c_oflag &= ~(tcflag_t)OPOST;
    t.c_lflag &= ~(tcflag_t)(ECHO | ECHONL | ICANON | ISIG | IEXTEN);
    t.c_cflag &= ~(tcflag_t)(CSIZE | PARENB);
    t.c_cflag |= CS8;
    return tcsetattr(fd, TCSANOW, &t) == 0;
}

static bool open_pair(bw_wrench *wrench) {
    wrench->master = posix_openpt(O_RDWR | O_NOCTTY);
    if (wrench->master < 0 || grantpt(wrench->master) != 0 || unlockpt(wrench->master) != 0) {
        return false;
    }
    const char *name = ptsname(wrench->master);
    wrench->slave = name == NULL ? -1 : open(name, O_RDWR | O_NOCTTY | O_CLOEXEC);
    return wrench->slave >= 0 && make_raw(wrench->slave) && keep_from_children(wrench->master) &&
           fcntl(wrench->master, F_SETFL, O_NONBLOCK) == 0 && symlink(name, wrench->path) == 0;
}

bw_status bw_wrench_plug(bw_wrench *wrench, bw_err *err) {
    if (wrench->master >= 0) {
        return bw_fail(err, BW_E_STATE, "the simulated wrench is plugged in already");
    }
    if (!open_pair(wrench)) {
        int why = errno;
        bw_wrench_unplug(wrench);
        return bw_fail(err, BW_E_IO, "no pseudo-terminal for the simulated wrench: %s",
                       strerror(why));
    }
    return BW_OK;
}

void bw_wrench_unplug(bw_wrench *wrench) {
    close_end(&wrench->master);
    close_end(&wrench->slave);
    (void)unlink(wrench->path);
    wrench->bytes_n = 0;
    wrench->sent = 0;
    wrench->lines_n = 0;
    wrench->lines_sent = 0;
}

static bw_status make_folder(bw_wrench *wrench, bw_err *err) {
    const char *place = getenv("TMPDIR");
    if (place == NULL || strlen(place) > PATH_MAX_BYTES / 2) {
        place = "/tmp";
    }
    bw_text folder = bw_text_on(wrench->folder, sizeof wrench->folder);
    bw_text_add(&folder, "%s/boltwright-XXXXXX", place);
    if (mkdtemp(wrench->folder) == NULL) {
        bw_status status = bw_fail(err, BW_E_IO, "no folder for the simulated wrench in %s: %s",
                                   place, strerror(errno));
        wrench->folder[0] = '\0';
        return status;
    }
    bw_text path = bw_text_on(wrench->path, sizeof wrench->path);
    bw_text_add(&path, "%s/wrench", wrench->folder);
    return BW_OK;
}

bw_status bw_wrench_open(bw_wrench **out, bw_err *err) {
    bw_wrench *wrench = calloc(1, sizeof *wrench);
    if (wrench == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory for the simulated wrench");
    }
    wrench->master = -1;
    wrench->slave = -1;
    bw_status status = make_folder(wrench, err);
    if (status == BW_OK) {
        status = bw_wrench_plug(wrench, err);
    }
    if (status != BW_OK) {
        bw_wrench_free(wrench);
        return status;
    }
    *out = wrench;
    return BW_OK;
}

void bw_wrench_free(bw_wrench *wrench) {
    if (wrench == NULL) {
        return;
    }
    if (wrench->folder[0] != '\0') {
        bw_wrench_unplug(wrench);
        (void)rmdir(wrench->folder);
    }
    free(wrench->bytes);
    free(wrench->lines);
    free(wrench);
}

const char *bw_wrench_path(const bw_wrench *wrench) {
    return wrench->path;
}

int bw_wrench_fd(const bw_wrench *wrench) {
    return wrench->master;
}

/* Sign, zeros up to `whole` digits before the point, digits, and a point in every locale. */
static void add_number(bw_text *text, double value, int whole, int decimals) {
    char digits[64];
    (void)bw_decimal_format(fabs(value), decimals, digits, sizeof digits);
    bool zero = strspn(digits, "0.") == strlen(digits);
    bw_text_add(text, "%c", value < 0 && !zero ? '-' : '+');
    for (size_t n = strcspn(digits, "."); n < (size_t)whole; n++) {
        bw_text_add(text, "0");
    }
    bw_text_add(text, "%s", digits);
}

size_t bw_wrench_line(const bw_sample *sample, char out[BW_WRENCH_LINE_MAX]) {
    char time[64];
    bw_text text = bw_text_on(out, BW_WRENCH_LINE_MAX);
    add_number(&text, sample->torque_Nm, 4, 2);
    bw_text_add(&text, " N.m ");
    if (sample->has_angle) {
        add_number(&text, sample->angle_deg, 3, 1);
        bw_text_add(&text, " deg ");
    }
    bw_text_add(&text, "@%s\r\n", bw_decimal_format(sample->time_s, 3, time, sizeof time));
    return text.len;
}

/* Room for need items in all; false when memory is out. */
static bool grow(void **items, size_t *room, size_t need, size_t size) {
    if (need <= *room) {
        return true;
    }
    size_t more = need * 2;
    void *grown = realloc(*items, more * size);
    if (grown == NULL) {
        return false;
    }
    *items = grown;
    *room = more;
    return true;
}

static void forget_sent(bw_wrench *wrench) {
    if (wrench->sent == wrench->bytes_n) {
        wrench->bytes_n = 0;
        wrench->sent = 0;
        wrench->lines_n = 0;
        wrench->lines_sent = 0;
    }
}

static bool make_room(bw_wrench *wrench, size_t len) {
    void *bytes = wrench->bytes;
    void *lines = wrench->lines;
    bool made = grow(&bytes, &wrench->bytes_room, wrench->bytes_n + len, 1) &&
                grow(&lines, &wrench->lines_room, wrench->lines_n + 1, sizeof *wrench->lines);
    wrench->bytes = bytes;
    wrench->lines = lines;
    return made;
}

static bw_status put_line(bw_wrench *wrench, double time_s, const char *text, size_t len,
                          bw_err *err) {
    if (wrench->master < 0) {
        return bw_fail(err, BW_E_STATE, "the simulated wrench is unplugged");
    }
    if (wrench->bytes_n + len > BW_WRENCH_QUEUE_MAX) {
        return bw_fail(err, BW_E_LIMIT, "nobody reads the simulated wrench: %d bytes wait",
                       BW_WRENCH_QUEUE_MAX);
    }
    if (!make_room(wrench, len)) {
        return bw_fail(err, BW_E_MEM, "out of memory for the simulated wrench");
    }
    memcpy(wrench->bytes + wrench->bytes_n, text, len);
    wrench->bytes_n += len;
    wrench->lines[wrench->lines_n++] = (line){time_s, wrench->bytes_n};
    return BW_OK;
}

bw_status bw_wrench_put(bw_wrench *wrench, const bw_sample *sample, bw_err *err) {
    char text[BW_WRENCH_LINE_MAX];
    size_t len = bw_wrench_line(sample, text);
    return put_line(wrench, sample->time_s, text, len, err);
}

bw_status bw_wrench_put_result(bw_wrench *wrench, const bw_sample *result, bw_err *err) {
    static const char mark[] = "PEAK ";
    char text[sizeof mark + BW_WRENCH_LINE_MAX];
    memcpy(text, mark, sizeof mark - 1);
    size_t len = sizeof mark - 1 + bw_wrench_line(result, text + sizeof mark - 1);
    return put_line(wrench, result->time_s, text, len, err);
}

size_t bw_wrench_due(const bw_wrench *wrench, double until_s) {
    size_t end = wrench->sent;
    for (size_t i = wrench->lines_sent; i < wrench->lines_n && wrench->lines[i].time_s <= until_s;
         i++) {
        end = wrench->lines[i].end;
    }
    return end - wrench->sent;
}

double bw_wrench_next_s(const bw_wrench *wrench) {
    return wrench->lines_sent < wrench->lines_n ? wrench->lines[wrench->lines_sent].time_s
                                                : HUGE_VAL;
}

static void drop_input(int fd) {
    char dropped[256];
    while (read(fd, dropped, sizeof dropped) > 0) {
    }
}

bw_status bw_wrench_send(bw_wrench *wrench, double until_s, bw_err *err) {
    if (wrench->master < 0) {
        return bw_fail(err, BW_E_STATE, "the simulated wrench is unplugged");
    }
    drop_input(wrench->master);
    size_t due = bw_wrench_due(wrench, until_s);
    ssize_t n = due == 0 ? 0 : write(wrench->master, wrench->bytes + wrench->sent, due);
    if (n < 0 && errno != EAGAIN && errno != EINTR) {
        return bw_fail(err, BW_E_IO, "the simulated wrench can't send: %s", strerror(errno));
    }
    wrench->sent += n > 0 ? (size_t)n : 0;
    while (wrench->lines_sent < wrench->lines_n &&
           wrench->lines[wrench->lines_sent].end <= wrench->sent) {
        wrench->lines_sent++;
    }
    forget_sent(wrench);
    return BW_OK;
}
