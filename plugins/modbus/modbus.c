/* modbus.c - transducers and displays that are asked over Modbus RTU.  README.md has the settings.
 *
 * A master for one device and one request: read a span of registers, take torque and angle out of
 * it.  Frames follow the open MODBUS specifications (README.md names them).  Whatever the address,
 * the function, the length or the CRC do not make certain is no answer.
 *
 * Tests: tests/unit/device/modbus_test.c (against another implementation's slave), captures. */
#include "boltwright/driver.h"
#include "words.h"

#include <math.h>
#include <string.h>

enum {
    REQUEST_LEN = 8,
    SPAN_MAX = 125,               /* registers in one answer, by the specification */
    FRAME_MAX = 5 + 2 * SPAN_MAX, /* address, function, count, data, CRC */
    EXCEPTION_LEN = 5,
    EXCEPTION_BIT = 0x80
};

/* A device answers within this; then it is asked again (common practice, no source). */
static const uint64_t patience_ns = 300000000;
/* 3.5 characters at 9600 baud 8E1 and above, with a margin: the pause that ends a frame. */
static const uint64_t pause_ns = 5000000;
enum { SILENCES_TOLD = 3 };

typedef enum number_kind {
    KIND_FLOAT = 0,
    KIND_INT16,
    KIND_UINT16,
    KIND_INT32,
    KIND_UINT32
} number_kind;
static const char *const kind_words[] = {"float", "int16", "uint16", "int32", "uint32", NULL};

/* Which byte of the number comes first, second ...: A is the highest. */
typedef enum byte_order { ORDER_ABCD = 0, ORDER_CDAB, ORDER_BADC, ORDER_DCBA } byte_order;
static const char *const order_words[] = {"abcd", "cdab", "badc", "dcba", NULL};

typedef struct modbus {
    /* settings; `given` marks what was set */
    unsigned address;  /* 0: 1 */
    unsigned function; /* 0: 3 */
    unsigned torque, angle;
    bool torque_given, angle_given;
    number_kind kind;
    byte_order order;
    double scale, angle_scale; /* 0: 1 */
    unit_kind unit;
    bool reversed;
    unsigned every_ms;
    /* asking */
    bool waiting;
    bool answered;
    bool settled; /* settled_ns is the time of the newest answer */
    uint64_t settled_ns;
    uint64_t asked_ns;
    unsigned silences;
} modbus;

/* ---- frames ---- */

/* Four bits at a time: what the polynomial A001 makes of each. */
static unsigned crc_of(const uint8_t *byte, size_t n) {
    static const uint16_t of[16] = {0x0000, 0xCC01, 0xD801, 0x1400, 0xF001, 0x3C00, 0x2800, 0xE401,
                                    0xA001, 0x6C00, 0x7800, 0xB401, 0x5000, 0x9C01, 0x8801, 0x4400};
    unsigned crc = 0xFFFF;
    for (size_t i = 0; i < n; i++) {
        crc ^= byte[i];
        crc = (crc >> 4) ^ of[crc & 0xF];
        crc = (crc >> 4) ^ of[crc & 0xF];
    }
    return crc;
}

static void put_crc(uint8_t *byte, size_t n) {
    unsigned crc = crc_of(byte, n);
    byte[n] = (uint8_t)(crc & 0xFF);
    byte[n + 1] = (uint8_t)(crc >> 8);
}

static bool crc_holds(const uint8_t *byte, size_t n) {
    return crc_of(byte, n - 2) == (unsigned)(byte[n - 2] | byte[n - 1] << 8);
}

static unsigned width_of(const modbus *m) {
    return m->kind == KIND_INT16 || m->kind == KIND_UINT16 ? 1 : 2;
}

static unsigned first_of(const modbus *m) {
    return m->angle_given && m->angle < m->torque ? m->angle : m->torque;
}

/* Registers from the first to the last that is wanted. */
static unsigned span_of(const modbus *m) {
    unsigned last = m->angle_given && m->angle > m->torque ? m->angle : m->torque;
    return last - first_of(m) + width_of(m);
}

static uint8_t address_of(const modbus *m) {
    return (uint8_t)(m->address != 0 ? m->address : 1);
}

static uint8_t function_of(const modbus *m) {
    return (uint8_t)(m->function != 0 ? m->function : 3);
}

static void write_request(const modbus *m, uint8_t *out) {
    unsigned first = first_of(m);
    unsigned span = span_of(m);
    out[0] = address_of(m);
    out[1] = function_of(m);
    out[2] = (uint8_t)(first >> 8);
    out[3] = (uint8_t)(first & 0xFF);
    out[4] = (uint8_t)(span >> 8);
    out[5] = (uint8_t)(span & 0xFF);
    put_crc(out, REQUEST_LEN - 2);
}

/* ---- scan ---- */

static bw_scan take(const uint8_t *buf, size_t len, size_t whole, size_t *frame_len) {
    if (len < whole) {
        return BW_SCAN_MORE;
    }
    if (!crc_holds(buf, whole)) {
        return BW_SCAN_BAD;
    }
    *frame_len = whole;
    return BW_SCAN_FRAME;
}

/* On a two-wire line our own request may come back; it is told from an answer by its length. */
static bw_scan modbus_scan(const void *state, const uint8_t *buf, size_t len, size_t *frame_len) {
    const modbus *m = state;
    uint8_t request[REQUEST_LEN];
    write_request(m, request);
    size_t same = len < REQUEST_LEN ? len : REQUEST_LEN;
    if (memcmp(buf, request, same) == 0) {
        *frame_len = REQUEST_LEN;
        return len < REQUEST_LEN ? BW_SCAN_MORE : BW_SCAN_FRAME;
    }
    if (buf[0] != request[0]) {
        return BW_SCAN_BAD;
    }
    if (len < 2) {
        return BW_SCAN_MORE;
    }
    if (buf[1] == (request[1] | EXCEPTION_BIT)) {
        return take(buf, len, EXCEPTION_LEN, frame_len);
    }
    unsigned bytes = 2 * span_of(m);
    if (buf[1] != request[1] || (len > 2 && buf[2] != bytes)) {
        return BW_SCAN_BAD;
    }
    return len < 3 ? BW_SCAN_MORE : take(buf, len, 5 + (size_t)bytes, frame_len);
}

/* ---- decode ---- */

static uint32_t four_bytes(const uint8_t *at, byte_order order) {
    static const uint8_t places[][4] = {[ORDER_ABCD] = {0, 1, 2, 3},
                                        [ORDER_CDAB] = {2, 3, 0, 1},
                                        [ORDER_BADC] = {1, 0, 3, 2},
                                        [ORDER_DCBA] = {3, 2, 1, 0}};
    uint32_t value = 0;
    for (size_t i = 0; i < 4; i++) {
        value = value << 8 | at[places[order][i]];
    }
    return value;
}

/* IEEE 754 single precision, read without one: exact, and without a float. */
static double single(uint32_t bits) {
    int exponent = (int)(bits >> 23 & 0xFF);
    double fraction = (double)(bits & 0x7FFFFF);
    double value = 0;
    if (exponent == 0xFF) {
        value = fraction > 0 ? NAN : INFINITY;
    } else if (exponent == 0) {
        value = ldexp(fraction, -149);
    } else {
        value = ldexp(fraction + 8388608.0, exponent - 150);
    }
    return (bits & 0x80000000u) != 0 ? 0 - value : value;
}

static double number_of(const modbus *m, const uint8_t *at) {
    uint32_t bits = width_of(m) == 2 ? four_bytes(at, m->order) : (uint32_t)(at[0] << 8 | at[1]);
    switch (m->kind) {
    case KIND_INT16:
        return (double)bits - ((bits & 0x8000u) != 0 ? 65536.0 : 0.0);
    case KIND_INT32:
        return (double)bits - ((bits & 0x80000000u) != 0 ? 4294967296.0 : 0.0);
    case KIND_UINT16:
    case KIND_UINT32:
        return (double)bits;
    case KIND_FLOAT:
    default:
        return single(bits);
    }
}

static double scaled(const modbus *m, double value, double scale) {
    double turned = m->reversed ? 0 - value : value + 0.0;
    return turned * (scale > 0 ? scale : 1);
}

static bw_decode on_answer(const modbus *m, const bw_driver_host *host, const uint8_t *frame) {
    const uint8_t *data = frame + 3;
    double torque = number_of(m, data + 2 * (size_t)(m->torque - first_of(m)));
    bw_reading reading = {.size = sizeof reading, .has = BW_HAS_TORQUE};
    reading.torque_Nm = scaled(m, torque, m->scale) *
                        unit_Nm(m->unit != UNIT_NONE ? m->unit : UNIT_NM);
    if (m->angle_given) {
        double angle = number_of(m, data + 2 * (size_t)(m->angle - first_of(m)));
        reading.angle_deg = scaled(m, angle, m->angle_scale);
        reading.has |= BW_HAS_ANGLE;
    }
    if (!isfinite(reading.torque_Nm) || !isfinite(reading.angle_deg)) {
        return BW_DECODE_UNKNOWN; /* how many devices say that they are beyond their range */
    }
    host->emit(host->ctx, &reading);
    return BW_DECODE_OK;
}

static void tell_exception(const bw_driver_host *host, uint8_t code) {
    static const char *const says[] = {
        [1] = "the device does not know this function: function= 3 or 4?",
        [2] = "the device has no such register: is torque= (or angle=) right? They count from 0",
        [3] = "the device refuses so many registers at once",
        [4] = "the device has failed",
        [6] = "the device is busy"};
    bool known = code < sizeof says / sizeof says[0] && says[code] != NULL;
    host->say(host->ctx, known ? says[code] : "the device refuses, and why is not known");
}

static bw_decode modbus_decode(void *state, const bw_driver_host *host, const uint8_t *frame,
                               size_t len) {
    modbus *m = state;
    uint8_t request[REQUEST_LEN];
    write_request(m, request);
    if (len == REQUEST_LEN && memcmp(frame, request, REQUEST_LEN) == 0) {
        return BW_DECODE_OK;
    }
    m->answered = true;
    if ((frame[1] & EXCEPTION_BIT) != 0) {
        tell_exception(host, frame[2]);
        return BW_DECODE_OK;
    }
    return on_answer(m, host, frame);
}

/* ---- asking ---- */

static void ask(modbus *m, const bw_driver_host *host, uint64_t now_ns) {
    uint8_t request[REQUEST_LEN];
    write_request(m, request);
    m->waiting = host->send(host->ctx, request, sizeof request) == 0;
    m->answered = false;
    m->settled = false;
    m->asked_ns = now_ns;
}

/* True once the answer that was waited for has come, or is waited for no more. */
static bool wait_is_over(modbus *m, const bw_driver_host *host, uint64_t now_ns) {
    if (m->answered) {
        m->silences = 0;
        return true;
    }
    if (now_ns - m->asked_ns < patience_ns) {
        return false;
    }
    if (++m->silences == SILENCES_TOLD) {
        host->say(host->ctx, "the device does not answer: are address=, baud=, bits= (8E1 is "
                             "Modbus's own) and the two wires right?");
    }
    return true;
}

static void modbus_tick(void *state, const bw_driver_host *host, uint64_t now_ns) {
    modbus *m = state;
    if (!m->torque_given) {
        return;
    }
    if (m->waiting) {
        if (!wait_is_over(m, host, now_ns)) {
            return;
        }
        m->waiting = false;
        m->settled_ns = now_ns;
        m->settled = true;
    }
    bool paused = !m->settled || now_ns - m->settled_ns >= pause_ns;
    if (paused && (m->asked_ns == 0 || now_ns - m->asked_ns >= (uint64_t)m->every_ms * 1000000)) {
        ask(m, host, now_ns);
    }
}

static void modbus_event(void *state, const bw_driver_host *host, bw_device_event event) {
    modbus *m = state;
    if (event == BW_DEVICE_OPENED) {
        m->waiting = false;
        m->asked_ns = 0;
        m->silences = 0;
        if (!m->torque_given) {
            host->say(host->ctx, "modbus needs torque=REGISTER, counted from 0");
        } else if (span_of(m) > SPAN_MAX) {
            host->say(host->ctx, "torque= and angle= are too far apart to be read at once: leave "
                                 "angle= out");
            m->torque_given = false;
        }
    }
}

/* ---- settings ---- */

static const char *set_address(modbus *m, const char *value) {
    return whole_number(value, 1, 247, &m->address) ? NULL : "address is 1 to 247";
}

static const char *set_function(modbus *m, const char *value) {
    return whole_number(value, 3, 4, &m->function)
               ? NULL
               : "function is 3 (holding registers) or 4 (input registers)";
}

static const char *set_torque(modbus *m, const char *value) {
    m->torque_given = whole_number(value, 0, 65534, &m->torque);
    return m->torque_given ? NULL : "torque is a register, 0 to 65534";
}

static const char *set_angle(modbus *m, const char *value) {
    m->angle_given = whole_number(value, 0, 65534, &m->angle);
    return m->angle_given ? NULL : "angle is a register, 0 to 65534";
}

static const char *set_type(modbus *m, const char *value) {
    int word = word_index(value, kind_words);
    m->kind = word < 0 ? KIND_FLOAT : (number_kind)word;
    return word < 0 ? "type is float, int16, uint16, int32 or uint32" : NULL;
}

static const char *set_order(modbus *m, const char *value) {
    int word = word_index(value, order_words);
    m->order = word < 0 ? ORDER_ABCD : (byte_order)word;
    return word < 0 ? "order is abcd, cdab, badc or dcba: which byte comes first, a the highest"
                    : NULL;
}

static const char *set_scale(modbus *m, const char *value) {
    return whole_decimal(value, &m->scale) && m->scale > 0
               ? NULL
               : "scale is what one count is, a number greater than 0 such as 0.01";
}

static const char *set_angle_scale(modbus *m, const char *value) {
    return whole_decimal(value, &m->angle_scale) && m->angle_scale > 0
               ? NULL
               : "angle_scale is how many degrees one count is, such as 0.1";
}

static const char *set_unit(modbus *m, const char *value) {
    return whole_unit(value, &m->unit)
               ? NULL
               : "unit is N.m, dN.m, cN.m, mN.m, kN.m, lbf.ft, lbf.in, ozf.in, kgf.m or kgf.cm";
}

static const char *set_sign(modbus *m, const char *value) {
    static const char *const words[] = {"normal", "reversed", NULL};
    int word = word_index(value, words);
    m->reversed = word == 1;
    return word < 0 ? "sign is normal or reversed (the device counts tightening as negative)"
                    : NULL;
}

static const char *set_every(modbus *m, const char *value) {
    return whole_number(value, 0, 60000, &m->every_ms)
               ? NULL
               : "every_ms is how often it is asked: 0 (as soon as it has answered) to 60000";
}

static const char *modbus_configure(void *state, const char *key, const char *value) {
    static const struct {
        const char *key;
        const char *(*set)(modbus *m, const char *value);
    } settings[] = {{"address", set_address}, {"function", set_function},
                    {"torque", set_torque},   {"angle", set_angle},
                    {"type", set_type},       {"order", set_order},
                    {"scale", set_scale},     {"angle_scale", set_angle_scale},
                    {"unit", set_unit},       {"sign", set_sign},
                    {"every_ms", set_every}};
    for (size_t i = 0; i < sizeof settings / sizeof settings[0]; i++) {
        if (strcmp(key, settings[i].key) == 0) {
            return settings[i].set(state, value);
        }
    }
    return "the modbus driver has the settings address, function, torque, angle, type, order, "
           "scale, angle_scale, unit, sign and every_ms";
}

static const bw_driver modbus_driver = {
    .abi = BW_DRIVER_ABI,
    .size = sizeof(bw_driver),
    .name = "modbus",
    .version = "1",
    .says = "transducers and displays that are asked over Modbus RTU",
    .source = "MODBUS Application Protocol V1.1b3, MODBUS over Serial Line V1.02",
    .line = {.baud = 19200, .bits = 8, .parity = 'E', .stops = 1},
    .state_size = sizeof(modbus),
    .frame_max = FRAME_MAX,
    .configure = modbus_configure,
    .scan = modbus_scan,
    .decode = modbus_decode,
    .event = modbus_event,
    .tick = modbus_tick,
    .can = BW_CAN_STREAM | BW_CAN_ANGLE | BW_CAN_CHECKSUM | BW_CAN_ASKED,
};

const bw_driver *bw_driver_entry(void) {
    return &modbus_driver;
}
