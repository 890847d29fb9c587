/* main.c - adapter-sim: the simulated adapter behind a pseudo-terminal.
 *
 *   adapter-sim IMAGE
 *
 * IMAGE is the firmware.  Prints `port PATH`; then does what the lines of its input say, one after
 * the other:
 *
 *   go SECONDS TORQUE_Nm TURN_deg   from what is on now in a straight line to this
 *   speed X                         all that is to go goes X times as fast as a clock; 0: at once
 *   fault NAME 0|1                  order.c has the names
 *   brown-out                       the supply drops for a moment
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

enum { INPUT_BYTES = 4096, OUT_BYTES = 1024, TURN_ms = 5 };

/* A turn of the loop goes on by at most so much. */
static const double stride_s = 0.1;

typedef struct bench {
    ad_sim *sim;
    ad_track track;
    ad_world world;
    int port;
    double speed;
    double wall_s; /* at the last turn */
    char input[INPUT_BYTES];
    size_t input_n;
    bool ended; /* the input */
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

/* The other end is kept open, so that no reader's leaving hangs up. */
static int open_port(void) {
    struct termios raw;
    int port = posix_openpt(O_RDWR | O_NOCTTY);
    if (port < 0 || grantpt(port) != 0 || unlockpt(port) != 0) {
        return -1;
    }
    const char *name = ptsname(port);
    int other = name == NULL ? -1 : open(name, O_RDWR | O_NOCTTY);
    if (other < 0 || tcgetattr(other, &raw) != 0) {
        return -1;
    }
    raw.c_iflag = 0;
    raw.c_oflag = 0;
    raw.c_lflag = 0;
    raw.c_cflag = CS8 | CREAD | CLOCAL;
    if (tcsetattr(other, TCSANOW, &raw) != 0 || fcntl(port, F_SETFL, O_NONBLOCK) != 0) {
        return -1;
    }
    printf("port %s\n", name);
    fflush(stdout);
    return port;
}

/* False where it has to wait. */
static bool do_order(bench *b, const ad_order *order) {
    double now_s = ad_sim_now_s(b->sim);
    if (order->kind == AD_ORDER_GO) {
        return ad_track_go(&b->track, now_s, order->for_s, order->torque_Nm, order->turn_deg);
    }
    if (order->kind != AD_ORDER_NONE && ad_track_end_s(&b->track) > now_s) {
        return false;
    }
    switch (order->kind) {
    case AD_ORDER_SPEED:
        b->speed = order->speed;
        break;
    case AD_ORDER_FAULT:
        *(bool *)((char *)ad_sim_faults(b->sim) + order->fault) = order->on;
        break;
    case AD_ORDER_BROWN_OUT:
        ad_sim_brown_out(b->sim);
        break;
    case AD_ORDER_TELL:
        printf("done %.6f\n", now_s);
        fflush(stdout);
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

static void serve_port(bench *b) {
    uint8_t bytes[OUT_BYTES];
    ssize_t got = read(b->port, bytes, sizeof bytes);
    if (got > 0 && !ad_sim_give(b->sim, bytes, (size_t)got)) {
        fprintf(stderr, "adapter-sim: more is sent than the line can carry\n");
    }
    size_t n = ad_sim_take(b->sim, bytes, sizeof bytes);
    while (n > 0) {
        size_t put = 0;
        while (put < n) {
            struct pollfd to = {.fd = b->port, .events = POLLOUT};
            ssize_t wrote = write(b->port, bytes + put, n - put);
            put += wrote > 0 ? (size_t)wrote : 0;
            if (put < n && poll(&to, 1, 1000) <= 0) {
                return; /* nobody reads: as on a line, it is lost */
            }
        }
        n = ad_sim_take(b->sim, bytes, sizeof bytes);
    }
}

/* How far this turn goes: with the clock, faster where there is something to go. */
static double until_s(bench *b) {
    double wall_s = wall_now_s();
    double passed_s = wall_s - b->wall_s;
    double now_s = ad_sim_now_s(b->sim);
    double left_s = ad_track_end_s(&b->track) - now_s;
    b->wall_s = wall_s;
    if (left_s <= 0) {
        return now_s + fmin(passed_s, stride_s);
    }
    double wanted_s = b->speed > 0 ? passed_s * b->speed : stride_s;
    return now_s + fmin(fmin(wanted_s, left_s), stride_s);
}

static bool run(bench *b) {
    b->wall_s = wall_now_s();
    while (!b->over) {
        read_input(b);
        bool busy = b->speed <= 0 && ad_track_end_s(&b->track) > ad_sim_now_s(b->sim);
        if (!ad_sim_run(b->sim, until_s(b))) {
            fprintf(stderr, "adapter-sim: the firmware crashed\n");
            return false;
        }
        serve_port(b);
        struct pollfd from = {.fd = b->ended ? -1 : STDIN_FILENO, .events = POLLIN};
        (void)poll(&from, b->input_n < sizeof b->input ? 1 : 0, busy ? 0 : TURN_ms);
    }
    return !b->failed;
}

int main(int argc, char **argv) {
    if (argc != 2) {
        fprintf(stderr, "usage: adapter-sim IMAGE\n");
        return 2;
    }
    bench *b = calloc(1, sizeof *b);
    if (b == NULL) {
        return 1;
    }
    ad_parts parts = ad_parts_usual();
    b->world = (ad_world){.ctx = &b->track, .at = ad_track_at};
    b->speed = 1;
    b->sim = ad_sim_new(argv[1], &parts, &b->world);
    b->port = b->sim == NULL || !calibrate(b->sim, &parts) ? -1 : open_port();
    if (b->port < 0) {
        fprintf(stderr, "adapter-sim: no image in %s, or no pseudo-terminal here\n", argv[1]);
    }
    bool good = b->port >= 0 && run(b);
    ad_sim_free(b->sim);
    free(b);
    return good ? 0 : 1;
}
