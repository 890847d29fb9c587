/* adapter.c - the open adapter of hardware/: torque and angle with a clock of its own, every frame
 * with a CRC.  hardware/protocol.md is what this follows, "What a host must do" above all.
 *
 * Nothing is used that the adapter itself calls unusable: samples without a torque are left out, so
 * that the trace has a gap and no invention, and angles are left out where the gyro or a restart
 * has made them worthless. */
#include "boltwright/driver.h"
#include "frame.h"

#include <string.h>

static const uint64_t hello_every_ns = 1000000000;
/* By division, so that 45.125 degrees stay 45.125. */
static const double gains_per_Nm = 1 / ADAPTER_NM_PER_GAIN;
static const double angles_per_deg = 1 / ADAPTER_DEG_PER_ANGLE;

typedef struct adapter {
    bool in_step; /* the zero byte that ends an unknown beginning has come */
    bool counted; /* sequence is that of the last frame */
    uint16_t sequence;
    bool identified;
    uint32_t serial;
    uint16_t boots;
    bool calibrated;
    uint32_t gain_tighten, gain_loosen; /* pN.m a count */
    int32_t shunt_counts;
    bool timed; /* time_us is that of the last sample */
    uint32_t time_us;
    uint64_t clock_us; /* the same without wrapping */
    bool angle_void;   /* what it counts from was lost in this pull */
    uint16_t flags;    /* as told */
    uint16_t missed;
    uint16_t sent;     /* sequence of ours */
    bool heard;        /* a good frame since the last tick */
    bool gone;         /* told that nothing comes */
    uint64_t heard_ns; /* of the last tick that found one */
    uint64_t hello_ns; /* 0: HELLO was not sent since the opening */
} adapter;

/* ---- words ---- */

typedef struct words {
    char text[160];
    size_t len;
} words;

static void add(words *w, const char *text) {
    for (; *text != '\0' && w->len + 1 < sizeof w->text; text++) {
        w->text[w->len++] = *text;
    }
    w->text[w->len] = '\0';
}

static void add_number(words *w, int64_t value) {
    char digits[24];
    size_t at = sizeof digits - 1;
    uint64_t rest = value < 0 ? (uint64_t)0 - (uint64_t)value : (uint64_t)value;
    digits[at] = '\0';
    do {
        digits[--at] = (char)('0' + rest % 10);
        rest /= 10;
    } while (rest > 0);
    add(w, value < 0 ? "-" : "");
    add(w, digits + at);
}

static void say(const bw_driver_host *host, const char *text) {
    host->say(host->ctx, text);
}

/* ---- what the flags mean for the builder ---- */

static const char *const flag_says[16] = {
    [2] = "the adapter was overloaded: it is to be calibrated again",
    [3] = "the adapter has no calibration that can be trusted: no torque",
    [4] = "one copy of the adapter's calibration is damaged: have it calibrated",
    [5] = "the adapter's converter is at the end of its range: no torque",
    [6] = "the adapter's converter does not answer: no torque",
    [7] = "the adapter's bridge is disconnected: no torque",
    [8] = "the adapter does not know its zero: leave it at rest for a moment",
    [10] = "the adapter's shunt is on: no torque",
    [11] = "the adapter is settling: no torque yet",
    [12] = "turned faster than the adapter's gyro can show: no angle for this pull",
    [13] = "the adapter's gyro does not answer: no angle",
    [14] = "the adapter does not know its gyro's drift: leave it at rest for a moment",
    [15] = "the adapter's supply is too low: no torque",
};

static void tell_flags(adapter *a, const bw_driver_host *host, uint16_t flags) {
    for (unsigned bit = 0; bit < 16; bit++) {
        bool rises = ((flags & ~a->flags) >> bit & 1) != 0;
        if (rises && flag_says[bit] != NULL) {
            say(host, flag_says[bit]);
        }
    }
    a->flags = flags;
}

/* ---- frames from the adapter ---- */

/* A time that goes on from nothing before; the host sees its step back. */
static void restart(adapter *a) {
    a->timed = false;
    a->angle_void = true;
    a->flags = 0;
}

static double time_of(adapter *a, uint32_t time_us) {
    a->clock_us = a->timed ? a->clock_us + (uint32_t)(time_us - a->time_us) : time_us;
    a->timed = true;
    a->time_us = time_us;
    return (double)a->clock_us / 1e6;
}

static void on_sample(adapter *a, const bw_driver_host *host, const uint8_t *byte) {
    uint16_t flags = frame_u16(byte, ADAPTER_SAMPLE_FLAGS);
    tell_flags(a, host, flags);
    a->angle_void = a->angle_void && (flags & ADAPTER_FLAG_REST) == 0;
    double time_s = time_of(a, frame_u32(byte, ADAPTER_SAMPLE_TIME_US));
    if (!a->identified || !a->calibrated || (flags & ADAPTER_NO_TORQUE) != 0) {
        return;
    }
    int64_t counts = frame_i32(byte, ADAPTER_SAMPLE_TORQUE_COUNTS);
    int64_t gain = counts < 0 ? a->gain_loosen : a->gain_tighten;
    bool angle = (flags & ADAPTER_NO_ANGLE) == 0 && !a->angle_void;
    const bw_reading reading = {.size = sizeof reading,
                                .has = BW_HAS_TORQUE | BW_HAS_TIME | (angle ? BW_HAS_ANGLE : 0),
                                .torque_Nm = (double)(counts * gain) / gains_per_Nm,
                                .angle_deg = (double)frame_i32(byte, ADAPTER_SAMPLE_ANGLE_MDEG) /
                                             angles_per_deg,
                                .time_s = time_s};
    host->emit(host->ctx, &reading);
}

enum { NOT_SAID = 255 };

static void tell_reset(const bw_driver_host *host, uint8_t why) {
    static const char *const reasons[] = {"its power was gone", "its reset line was pulled",
                                          "its supply was too low", "its program hung"};
    words w = {.len = 0};
    add(&w, "the adapter started anew (");
    add(&w, why < sizeof reasons / sizeof reasons[0] ? reasons[why] : "it does not say why");
    add(&w, "): a pull that was going on is not to be judged");
    say(host, w.text);
}

static void on_identity(adapter *a, const bw_driver_host *host, const uint8_t *byte) {
    uint32_t serial = frame_u32(byte, ADAPTER_IDENTITY_SERIAL);
    uint16_t boots = frame_u16(byte, ADAPTER_IDENTITY_BOOTS);
    bool another = a->serial != serial || a->boots != boots;
    if (a->identified && another) {
        restart(a);
        tell_reset(host, byte[ADAPTER_IDENTITY_RESET]);
    }
    a->calibrated = a->calibrated && a->identified && !another; /* a new one comes right behind */
    a->identified = true;
    a->serial = serial;
    a->boots = boots;
    if (serial != 0) {
        words w = {.len = 0};
        add_number(&w, serial);
        host->identify(host->ctx, w.text);
    }
}

static void on_calibration(adapter *a, const bw_driver_host *host, const uint8_t *byte) {
    bool good = byte[ADAPTER_CALIBRATION_STATE] != ADAPTER_CALIBRATION_NONE;
    if (good && a->identified && frame_u32(byte, ADAPTER_CALIBRATION_SERIAL) != a->serial) {
        say(host, "the adapter's calibration is that of another adapter: no torque");
        good = false;
    }
    a->calibrated = good;
    a->gain_tighten = frame_u32(byte, ADAPTER_CALIBRATION_GAIN_TIGHTEN);
    a->gain_loosen = frame_u32(byte, ADAPTER_CALIBRATION_GAIN_LOOSEN);
    a->shunt_counts = frame_i32(byte, ADAPTER_CALIBRATION_SHUNT_COUNTS);
}

static const char *refusal(uint8_t code) {
    static const char *const says[] = {
        [ADAPTER_REFUSED_NOT_AT_REST] = "the adapter refuses: it is not at rest",
        [ADAPTER_REFUSED_VALUE] = "the adapter refuses: a value is out of range",
        [ADAPTER_REFUSED_LOCKED] = "the adapter refuses: its calibration is locked",
        [ADAPTER_REFUSED_VERSION] = "the adapter speaks another version of the protocol",
        [ADAPTER_REFUSED_TYPE] = "the adapter does not know this command",
        [ADAPTER_REFUSED_FAULT] = "the adapter refuses: its converter or gyro is at fault"};
    return code < sizeof says / sizeof says[0] && says[code] != NULL
               ? says[code]
               : "the adapter refuses, and why is not known";
}

static void on_result(adapter *a, const bw_driver_host *host, const uint8_t *byte) {
    uint8_t code = byte[ADAPTER_RESULT_CODE];
    int32_t value = frame_i32(byte, ADAPTER_RESULT_VALUE);
    words w = {.len = 0};
    if (code != ADAPTER_DONE) {
        say(host, refusal(code));
    } else if (byte[ADAPTER_RESULT_TYPE] == ADAPTER_ZERO) {
        add(&w, "zero taken, moved by ");
        add_number(&w, value);
        add(&w, " counts");
        say(host, w.text);
    } else if (byte[ADAPTER_RESULT_TYPE] == ADAPTER_SHUNT) {
        add(&w, "shunt check: ");
        add_number(&w, value);
        add(&w, " counts; at the calibration ");
        add_number(&w, a->shunt_counts);
        say(host, w.text);
    }
}

static void on_status(adapter *a, const bw_driver_host *host, const uint8_t *byte) {
    uint16_t missed = frame_u16(byte, ADAPTER_STATUS_MISSED);
    if (missed > a->missed) {
        say(host, "the adapter's converter skipped readings");
    }
    a->missed = missed;
}

static void check_sequence(adapter *a, const bw_driver_host *host, const uint8_t *byte) {
    uint16_t sequence = frame_u16(byte, ADAPTER_AT_SEQUENCE);
    uint16_t lost = (uint16_t)(sequence - a->sequence - 1);
    bool starts = sequence == 0 && byte[ADAPTER_AT_TYPE] == ADAPTER_IDENTITY;
    if (a->counted && (starts || lost >= 0x8000)) { /* it counts from the beginning again */
        restart(a);
    }
    if (a->counted && !starts && lost >= 0x8000) {
        a->identified = false; /* it may be another one */
        a->calibrated = false;
        tell_reset(host, NOT_SAID);
    } else if (a->counted && lost != 0 && !starts) {
        words w = {.len = 0};
        add_number(&w, lost);
        add(&w, lost == 1 ? " frame of the adapter was lost" : " frames of the adapter were lost");
        say(host, w.text);
    }
    a->counted = true;
    a->sequence = sequence;
}

/* ---- the driver ---- */

static bw_scan adapter_scan(const void *state, const uint8_t *buf, size_t len, size_t *frame_len) {
    (void)state;
    const uint8_t *end = memchr(buf, 0, len < ADAPTER_CODED_MAX ? len : ADAPTER_CODED_MAX);
    if (end == NULL) {
        return len < ADAPTER_CODED_MAX ? BW_SCAN_MORE : BW_SCAN_BAD;
    }
    *frame_len = (size_t)(end - buf) + 1;
    return BW_SCAN_FRAME;
}

/* A frame that does not hold is dropped whole: of its parts nothing may be used. */
static bw_decode adapter_decode(void *state, const bw_driver_host *host, const uint8_t *coded,
                                size_t len) {
    static const struct {
        uint8_t type;
        void (*on)(adapter *a, const bw_driver_host *host, const uint8_t *byte);
    } rows[] = {{ADAPTER_SAMPLE, on_sample},
                {ADAPTER_IDENTITY, on_identity},
                {ADAPTER_CALIBRATION, on_calibration},
                {ADAPTER_RESULT, on_result},
                {ADAPTER_STATUS, on_status}};
    adapter *a = state;
    frame f;
    bool good = len > 1 && frame_read(coded, len - 1, &f);
    bool passed_over = len == 1 || !a->in_step;
    a->in_step = true;
    if (!good) {
        return passed_over ? BW_DECODE_OK : BW_DECODE_UNKNOWN;
    }
    a->heard = true;
    check_sequence(a, host, f.byte);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (rows[i].type == f.byte[ADAPTER_AT_TYPE]) {
            rows[i].on(a, host, f.byte);
            return BW_DECODE_OK;
        }
    }
    return BW_DECODE_UNKNOWN;
}

/* A silent port still holds the same adapter; one that was opened may hold another. */
static void adapter_event(void *state, const bw_driver_host *host, bw_device_event event) {
    (void)host;
    adapter *a = state;
    a->in_step = event == BW_DEVICE_SILENT;
    if (event == BW_DEVICE_OPENED) {
        const adapter fresh = {.angle_void = a->timed};
        *a = fresh;
    }
}

static void send(adapter *a, const bw_driver_host *host, uint8_t type, const uint8_t *body,
                 size_t n) {
    uint8_t coded[ADAPTER_CODED_MAX];
    size_t len = frame_write(type, a->sent++, body, n, coded);
    (void)host->send(host->ctx, coded, len);
}

static void watch_silence(adapter *a, const bw_driver_host *host, uint64_t now_ns) {
    static const uint64_t quiet_ns = (uint64_t)ADAPTER_QUIET_MAX_ms * 1000000;
    if (a->heard || a->heard_ns == 0) {
        a->gone = false;
        a->heard = false;
        a->heard_ns = now_ns;
    } else if (!a->gone && now_ns - a->heard_ns > quiet_ns) {
        a->gone = true;
        say(host, "nothing comes from the adapter: is it plugged in, and its lamp on?");
    }
}

static void adapter_tick(void *state, const bw_driver_host *host, uint64_t now_ns) {
    static const uint8_t versions[] = {ADAPTER_VERSION, ADAPTER_VERSION};
    adapter *a = state;
    watch_silence(a, host, now_ns);
    if ((!a->identified || !a->calibrated) &&
        (a->hello_ns == 0 || now_ns - a->hello_ns >= hello_every_ns)) {
        a->hello_ns = now_ns;
        send(a, host, ADAPTER_HELLO, versions, sizeof versions);
    }
}

/* The limits in counts; 0 where they do not fit. */
static uint32_t counts_of(const adapter *a, double torque_Nm) {
    double counts = torque_Nm * gains_per_Nm / (double)a->gain_tighten;
    return counts > 0 && counts < 2147483647.0 ? (uint32_t)counts : 0;
}

static int adapter_wish(void *state, const bw_driver_host *host, const bw_wish *wish) {
    adapter *a = state;
    uint8_t body[8];
    switch (wish->kind) {
    case BW_WISH_ZERO:
        send(a, host, ADAPTER_ZERO, NULL, 0);
        return 0;
    case BW_WISH_SHUNT:
        send(a, host, ADAPTER_SHUNT, NULL, 0);
        return 0;
    case BW_WISH_TARGET:
        if (!a->calibrated || a->gain_tighten == 0) {
            return -1;
        }
        frame_put_u32(body, 0, counts_of(a, wish->low_Nm));
        frame_put_u32(body, 4, counts_of(a, wish->high_Nm));
        send(a, host, ADAPTER_LAMP, body, sizeof body);
        return 0;
    default:
        return -1;
    }
}

static const bw_driver adapter_driver = {
    .abi = BW_DRIVER_ABI,
    .size = sizeof(bw_driver),
    .name = "adapter",
    .version = "1",
    .says = "the open square-drive adapter: torque and angle in frames with a CRC",
    .source = "hardware/protocol.md",
    .line = {.baud = ADAPTER_BAUD, .bits = 8, .parity = 'N', .stops = 1},
    .state_size = sizeof(adapter),
    .frame_max = ADAPTER_CODED_MAX,
    .scan = adapter_scan,
    .decode = adapter_decode,
    .event = adapter_event,
    .tick = adapter_tick,
    .can = BW_CAN_STREAM | BW_CAN_ANGLE | BW_CAN_CHECKSUM | BW_CAN_SERIAL | BW_CAN_ZERO |
           BW_CAN_TARGET | BW_CAN_SHUNT,
    .wish = adapter_wish,
};

const bw_driver *bw_driver_entry(void) {
    return &adapter_driver;
}
