/* main.c - adapter-sim: the simulated adapter behind a pseudo-terminal.
 *
 *   adapter-sim IMAGE [LINK]
 *
 * IMAGE is the firmware; LINK a name that its port is to have.  Prints `port PATH`; then does what
 * the lines of its input say, one after the other:
 *
 *   go SECONDS TORQUE_Nm TURN_deg   from what is on now in a straight line to this
 *   speed X                         all that is to go goes X times as fast as a clock; 0: at once
 *   fault NAME 0|1                  order.c has the names
 *   jumper 0|1                      opens or closes the calibration jumper
 *   brown-out                       the supply drops for a moment
 *   unplug, plug                    its port and its power go, and come again
 *   tell                            prints `done SECONDS`
 *   quit
 *
 * With nothing to do it rests, in real time.  It is calibrated for the usual parts. */
#include "board.h"
#include "calibrated.h"
#include "order.h"
#include "sim.h"
#include "store.h"
#include "track.h"

#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

enum { INPUT_BYTES = 4096, OUT_BYTES = 1024, TURN_ms = 5, PATIENCE_ms = 1000 };

/* A turn of the loop goes on by at most so much. */
static const double stride_s = 0.1;

typedef struct bench {
    ad_sim *sim;
    ad_track track;
    ad_world world;
    int port, other;  /* both ends; -1: unplugged */
    const char *link; /* to the other; NULL: none */
    FILE *said;
    double speed;
    double wall_s; /* at the last turn */
    char input[INPUT_BYTES];
    size_t input_n;
    bool unread; /* the port */
    bool ended;  /* the input */
    bool over, failed;
} bench;

/* ad_store_save writes here. */
static uint8_t store[BOARD_STORE_BYTES];

uint8_t board_store_read(uint16_t address) {
    return store[address];
}

void board_store_write(uint16_t address, uint8_t byte) {
    store[address] = byte;
}

static bool calibrate(ad_sim *sim, const ad_parts *parts) {
    memset(store, 0xFF, sizeof store);
    ad_calibration calibration = ad_calibration_of(parts);
    bool saved = ad_store_save(&calibration);
    ad_sim_store_put(sim, 0, store, sizeof store);
    return saved;
}

static double wall_now_s(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

static void unplug(bench *b) {
    int *const ends[] = {&b->port, &b->other};
    for (size_t k = 0; k < 2; k++) {
        if (*ends[k] >= 0) {
            close(*ends[k]);
        }
        *ends[k] = -1;
    }
    if (b->link != NULL) {
        (void)unlink(b->link);
    }
}

static bool make_raw(int end) {
    struct termios raw;
    if (tcgetattr(end, &raw) != 0) {
        return false;
    }
    raw.c_iflag = 0;
    raw.c_oflag = 0;
    raw.c_lflag = 0;
    raw.c_cflag = CS8 | CREAD | CLOCAL;
    return tcsetattr(end, TCSANOW, &raw) == 0;
}

/* The other end is kept open, so that no reader's leaving hangs up. */
static bool plug(bench *b) {
    b->port = posix_openpt(O_RDWR | O_NOCTTY);
    if (b->port < 0 || grantpt(b->port) != 0 || unlockpt(b->port) != 0) {
        return false;
    }
    const char *name = ptsname(b->port);
    b->other = name == NULL ? -1 : open(name, O_RDWR | O_NOCTTY);
    if (b->other < 0 || !make_raw(b->other) || fcntl(b->port, F_SETFL, O_NONBLOCK) != 0 ||
        (b->link != NULL && symlink(name, b->link) != 0)) {
        return false;
    }
    fprintf(b->said, "port %s\n", b->link != NULL ? b->link : name);
    fflush(b->said);
    return true;
}

static void plug_again(bench *b) {
    if (b->port < 0) {
        ad_sim_power_cycle(b->sim);
        b->failed = !plug(b);
        b->over = b->over || b->failed;
    }
}

/* What is left to go; less than a few of the chip's cycles is nothing. */
static double left_s(const bench *b) {
    double left = ad_track_end_s(&b->track) - ad_sim_now_s(b->sim);
    return left > 1e-6 ? left : 0;
}

/* False where it has to wait. */
static bool do_order(bench *b, const ad_order *order) {
    double now_s = ad_sim_now_s(b->sim);
    if (order->kind == AD_ORDER_GO) {
        return ad_track_go(&b->track, now_s, order->for_s, order->torque_Nm, order->turn_deg);
    }
    if (order->kind != AD_ORDER_NONE && left_s(b) > 0) {
        return false;
    }
    switch (order->kind) {
    case AD_ORDER_SPEED:
        b->speed = order->speed;
        break;
    case AD_ORDER_FAULT:
        *(bool *)((char *)ad_sim_faults(b->sim) + order->fault) = order->on;
        break;
    case AD_ORDER_JUMPER:
        ad_sim_jumper(b->sim, order->on);
        break;
    case AD_ORDER_BROWN_OUT:
        ad_sim_brown_out(b->sim);
        break;
    case AD_ORDER_UNPLUG:
        unplug(b);
        break;
    case AD_ORDER_PLUG:
        plug_again(b);
        break;
    case AD_ORDER_TELL:
        fprintf(b->said, "done %.6f\n", now_s);
        fflush(b->said);
        break;
    case AD_ORDER_QUIT:
        b->over = true;
        break;
    default:
        break;
    }
    return true;
}

/* Does the first line of what has come; false where it is not whole, or has to wait. */
static bool do_line(bench *b) {
    char *end = memchr(b->input, '\n', b->input_n);
    if (end == NULL) {
        b->over = b->over || b->ended || b->input_n == sizeof b->input;
        return false;
    }
    *end = '\0';
    ad_order order = ad_order_read(b->input);
    if (order.kind == AD_ORDER_UNKNOWN) {
        fprintf(stderr, "adapter-sim: unknown order \"%s\"; the head of main.c has them\n",
                b->input);
        b->over = true;
        b->failed = true;
        return false;
    }
    bool done = do_order(b, &order);
    *end = '\n';
    if (done) {
        b->input_n -= (size_t)(end + 1 - b->input);
        memmove(b->input, end + 1, b->input_n);
    }
    return done && !b->over;
}

static void read_input(bench *b) {
    struct pollfd from = {.fd = STDIN_FILENO, .events = POLLIN};
    while (!b->ended && b->input_n < sizeof b->input && poll(&from, 1, 0) > 0) {
        ssize_t n = read(STDIN_FILENO, b->input + b->input_n, sizeof b->input - b->input_n);
        b->ended = n <= 0;
        b->input_n += n > 0 ? (size_t)n : 0;
        while (do_line(b)) {
        }
    }
    while (do_line(b)) {
    }
}

/* Whoever reads slowly is waited for; where nobody reads, bytes are lost as on a line. */
static bool write_port(bench *b, const uint8_t *bytes, size_t n) {
    size_t put = 0;
    while (put < n) {
        struct pollfd to = {.fd = b->port, .events = POLLOUT};
        ssize_t wrote = write(b->port, bytes + put, n - put);
        put += wrote > 0 ? (size_t)wrote : 0;
        b->unread = put < n && poll(&to, 1, b->unread ? 0 : PATIENCE_ms) <= 0;
        if (b->unread) {
            return false;
        }
    }
    return true;
}

static void serve_port(bench *b) {
    uint8_t bytes[OUT_BYTES];
    ssize_t got = read(b->port, bytes, sizeof bytes);
    if (got > 0 && !ad_sim_give(b->sim, bytes, (size_t)got)) {
        fprintf(stderr, "adapter-sim: more is sent than the line can carry\n");
    }
    size_t n = ad_sim_take(b->sim, bytes, sizeof bytes);
    while (n > 0 && write_port(b, bytes, n)) {
        n = ad_sim_take(b->sim, bytes, sizeof bytes);
    }
}

/* How far this turn goes: with the clock, faster where there is something to go. */
static double until_s(bench *b) {
    double wall_s = wall_now_s();
    double passed_s = wall_s - b->wall_s;
    double now_s = ad_sim_now_s(b->sim);
    double left = left_s(b);
    b->wall_s = wall_s;
    if (left <= 0) {
        return now_s + fmin(passed_s, stride_s);
    }
    double wanted_s = b->speed > 0 ? passed_s * b->speed : stride_s;
    return now_s + fmin(fmin(wanted_s, left), stride_s);
}

static bool run(bench *b) {
    b->wall_s = wall_now_s();
    while (!b->over) {
        read_input(b);
        bool busy = b->speed <= 0 && left_s(b) > 0;
        double until = until_s(b);
        bool on = b->port >= 0; /* without power its time stands still */
        if (on && !ad_sim_run(b->sim, until)) {
            fprintf(stderr, "adapter-sim: the firmware crashed\n");
            return false;
        }
        if (on) {
            serve_port(b);
        }
        struct pollfd from = {.fd = b->ended ? -1 : STDIN_FILENO, .events = POLLIN};
        (void)poll(&from, b->input_n < sizeof b->input ? 1 : 0, busy ? 0 : TURN_ms);
    }
    return !b->failed;
}

/* The simulator's library prints where it likes: it gets standard error. */
static FILE *own_output(void) {
    int copy = dup(STDOUT_FILENO);
    return copy < 0 || dup2(STDERR_FILENO, STDOUT_FILENO) < 0 ? NULL : fdopen(copy, "w");
}

int main(int argc, char **argv) {
    if (argc != 2 && argc != 3) {
        fprintf(stderr, "usage: adapter-sim IMAGE [LINK]\n");
        return 2;
    }
    FILE *said = own_output();
    bench *b = said == NULL ? NULL : calloc(1, sizeof *b);
    if (b == NULL) {
        return 1;
    }
    b->said = said;
    b->link = argc == 3 ? argv[2] : NULL;
    b->port = -1;
    b->other = -1;
    ad_parts parts = ad_parts_usual();
    b->world = (ad_world){.ctx = &b->track, .at = ad_track_at};
    b->speed = 1;
    b->sim = ad_sim_new(argv[1], &parts, &b->world);
    bool good = b->sim != NULL && calibrate(b->sim, &parts) && plug(b);
    if (!good) {
        fprintf(stderr, "adapter-sim: no image in %s, or no pseudo-terminal here\n", argv[1]);
    }
    good = good && run(b);
    unplug(b);
    ad_sim_free(b->sim);
    fclose(b->said);
    free(b);
    return good ? 0 : 1;
}
