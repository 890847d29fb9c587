/* naughty.c - a driver for tests: a line of text is 1 N.m, but at the line "bad" it does what the
 * setting do= says. */
#include "boltwright/driver.h"

#include <fcntl.h>
#include <math.h>
#include <signal.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

enum { DEED_MAX = 16, WORKER_FD = 3 };

typedef struct naughty {
    char deed[DEED_MAX];
} naughty;

static const char *configure(void *state, const char *key, const char *value) {
    naughty *n = state;
    if (strcmp(key, "do") != 0 || strlen(value) >= DEED_MAX) {
        return "do is a short word";
    }
    memcpy(n->deed, value, strlen(value) + 1);
    return NULL;
}

static int does(const naughty *n, const char *deed) {
    return strcmp(n->deed, deed) == 0;
}

static bw_scan scan(const void *state, const uint8_t *buf, size_t len, size_t *frame_len) {
    const naughty *n = state;
    const uint8_t *end = memchr(buf, '\n', len);
    if (end == NULL) {
        return BW_SCAN_MORE;
    }
    *frame_len = (size_t)(end - buf) + 1;
    if (does(n, "lie") && memcmp(buf, "bad", 3) == 0) {
        *frame_len = 1000000;
    }
    return BW_SCAN_FRAME;
}

static void emit(const bw_driver_host *host, uint32_t has, double torque_Nm, double angle_deg,
                 double time_s) {
    const bw_reading reading = {sizeof reading, has, torque_Nm, angle_deg, time_s};
    host->emit(host->ctx, &reading);
}

static void emit_nonsense(const bw_driver_host *host) {
    enum { ALL = BW_HAS_TORQUE | BW_HAS_ANGLE | BW_HAS_TIME };
    emit(host, ALL, NAN, 0, 0);
    emit(host, ALL, 1, INFINITY, 0);
    emit(host, ALL, 1, 0, NAN);
    emit(host, ALL, 100001, 0, 0);
    emit(host, ALL, -1, -1000001, 0);
    emit(host, ALL, 1, 0, 1e10);
    emit(host, BW_HAS_ANGLE, 0, 5, 0);
}

static void try_to_escape(const bw_driver_host *host) {
    const struct {
        const char *act;
        int went_through;
    } acts[] = {
        {"read a file", open("/etc/hostname", O_RDONLY) >= 0},
        {"write a file", open("/tmp/naughty", O_WRONLY | O_CREAT, 0600) >= 0},
        {"open a port", open("/dev/tty", O_RDWR) >= 0},
        {"make a socket", socket(AF_INET, SOCK_STREAM, 0) >= 0},
        {"start a process", fork() >= 0},
        {"send a signal", kill(getppid(), 0) == 0},
    };
    for (size_t i = 0; i < sizeof acts / sizeof acts[0]; i++) {
        host->say(host->ctx, acts[i].went_through ? "escaped:" : "refused:");
        host->say(host->ctx, acts[i].act);
    }
}

static void forge(void) {
    static const uint8_t answer[] = {6, 0, 0, 0, 4, 1, 255, 255, 255, 255};
    (void)!write(WORKER_FD, answer, sizeof answer);
}

static void misbehave(const naughty *n, const bw_driver_host *host) {
    if (does(n, "crash")) {
        volatile int *nowhere = NULL;
        *nowhere = 1;
    } else if (does(n, "hang")) {
        volatile int on = 1;
        while (on) {
        }
    } else if (does(n, "exit")) {
        _exit(0);
    } else if (does(n, "flood")) {
        for (int i = 0; i < 1000000; i++) {
            emit(host, BW_HAS_TORQUE, 1, 0, 0);
        }
    } else if (does(n, "nonsense")) {
        emit_nonsense(host);
    } else if (does(n, "escape")) {
        try_to_escape(host);
    } else if (does(n, "forge")) {
        forge();
    } else if (does(n, "say")) {
        host->say(host->ctx, "\x1b[2J\nwords");
        host->say(host->ctx, "");
    }
}

static bw_decode decode(void *state, const bw_driver_host *host, const uint8_t *frame, size_t len) {
    const naughty *n = state;
    if (len == 4 && memcmp(frame, "bad\n", 4) == 0) {
        misbehave(n, host);
        return does(n, "answer") ? (bw_decode)42 : BW_DECODE_OK;
    }
    if (len > 7 && memcmp(frame, "serial ", 7) == 0 && len < 7 + DEED_MAX) {
        char serial[DEED_MAX] = {0};
        memcpy(serial, frame + 7, len - 8);
        host->identify(host->ctx, serial);
        return BW_DECODE_OK;
    }
    emit(host, BW_HAS_TORQUE, 1, 0, 0);
    return BW_DECODE_OK;
}

static void event(void *state, const bw_driver_host *host, bw_device_event what) {
    const naughty *n = state;
    static const char *const words[] = {"", "opened", "silent", "lost", "broken"};
    if (does(n, "events")) {
        host->say(host->ctx, words[what]);
        (void)host->send(host->ctx, (const uint8_t *)"go\n", 3);
    }
}

static void tick(void *state, const bw_driver_host *host, uint64_t now_ns) {
    (void)now_ns;
    const naughty *n = state;
    if (does(n, "poll")) {
        (void)host->send(host->ctx, (const uint8_t *)"?", 1);
    }
}

static int wish(void *state, const bw_driver_host *host, const bw_wish *what) {
    (void)state;
    switch (what->kind) {
    case BW_WISH_ZERO:
        return host->send(host->ctx, (const uint8_t *)"zero", 4);
    case BW_WISH_TARGET: {
        const uint8_t digits[] = {(uint8_t)('0' + (int)what->torque_Nm / 10),
                                  (uint8_t)('0' + (int)what->torque_Nm % 10)};
        return host->send(host->ctx, digits, sizeof digits);
    }
    default:
        return -1;
    }
}

static const bw_driver driver = {
    .abi = BW_DRIVER_ABI,
    .size = sizeof(bw_driver),
    .name = DRIVER_NAME,
    .version = "0.1",
    .says = "does what it must not",
    .source = "none",
    .line = {9600, 8, 'N', 1},
    .state_size = sizeof(naughty),
    .frame_max = 512,
    .configure = configure,
    .scan = scan,
    .decode = decode,
    .event = event,
    .tick = tick,
    .can = BW_CAN_STREAM | BW_CAN_ZERO | BW_CAN_TARGET,
    .wish = wish,
};

const bw_driver *bw_driver_entry(void) {
    return &driver;
}
