/* line.c - wrenches and displays that send lines of text.  README.md has the format.
 *
 * A line has no checksum, so a damaged one must never be read as a whole one: a line is taken as
 * it stands or not at all, down to its last byte.  For the same reason scan never says BAD.  The
 * host would then drop one byte and try again, and what is left of "1<NUL>2.34 N.m" reads well.
 *
 * Tests: tests/unit/device/line_test.c, captures beside this file. */
#include "boltwright/driver.h"

#include <stdbool.h>
#include <string.h>

/* LINE_MAX_BYTES with the line's end.  No instrument's line comes near it. */
enum { LINE_MAX_BYTES = 200, DIGITS_MAX = 12 };

typedef enum unit_kind {
    UNIT_NONE = 0,
    UNIT_NM,
    UNIT_DNM,
    UNIT_CNM,
    UNIT_MNM,
    UNIT_KNM,
    UNIT_LBF_FT,
    UNIT_LBF_IN,
    UNIT_OZF_IN,
    UNIT_KGF_M,
    UNIT_KGF_CM
} unit_kind;

/* N.m in one of each.  All follow without rounding from three definitions: the pound is
 * 0.45359237 kg and the yard 0.9144 m (international agreement of 1959), the standard gravity is
 * 9.80665 m/s2 (3rd CGPM, 1901).  So lbf = 4.4482216152605 N, ft = 0.3048 m, in = 0.0254 m. */
static const double unit_Nm[] = {
    [UNIT_NM] = 1.0,
    [UNIT_DNM] = 0.1,
    [UNIT_CNM] = 0.01,
    [UNIT_MNM] = 0.001,
    [UNIT_KNM] = 1000.0,
    [UNIT_LBF_FT] = 1.3558179483314004,
    [UNIT_LBF_IN] = 0.1129848290276167,
    [UNIT_OZF_IN] = 0.00706155181422604375,
    [UNIT_KGF_M] = 9.80665,
    [UNIT_KGF_CM] = 0.0980665,
};

/* A spelling: two words, joined or with one of . - * a middle dot or a blank between them.
 * capitals: also known in capitals, where that can mean nothing else (MNM could be two units). */
typedef struct spelling {
    const char *first;
    const char *second;
    unit_kind kind;
    bool capitals;
} spelling;

static const spelling spellings[] = {
    {"N", "m", UNIT_NM, true},        {"dN", "m", UNIT_DNM, true},
    {"cN", "m", UNIT_CNM, true},      {"mN", "m", UNIT_MNM, false},
    {"kN", "m", UNIT_KNM, true},      {"lbf", "ft", UNIT_LBF_FT, true},
    {"lb", "ft", UNIT_LBF_FT, true},  {"ft", "lbf", UNIT_LBF_FT, true},
    {"ft", "lbs", UNIT_LBF_FT, true}, {"ft", "lb", UNIT_LBF_FT, true},
    {"lbf", "in", UNIT_LBF_IN, true}, {"lb", "in", UNIT_LBF_IN, true},
    {"in", "lbf", UNIT_LBF_IN, true}, {"in", "lbs", UNIT_LBF_IN, true},
    {"in", "lb", UNIT_LBF_IN, true},  {"ozf", "in", UNIT_OZF_IN, true},
    {"oz", "in", UNIT_OZF_IN, true},  {"in", "ozf", UNIT_OZF_IN, true},
    {"in", "oz", UNIT_OZF_IN, true},  {"kgf", "m", UNIT_KGF_M, true},
    {"kg", "m", UNIT_KGF_M, true},    {"kgf", "cm", UNIT_KGF_CM, true},
    {"kg", "cm", UNIT_KGF_CM, true},
};

typedef struct line_state {
    unit_kind unit;       /* of numbers without one; UNIT_NONE: every line must say */
    bool bare_angle;      /* a second number without a unit is the angle */
    bool reversed;        /* the device counts tightening as negative */
    bool from_the_middle; /* what comes up to the next line's end is no whole line */
} line_state;

/* What is left to read of a line. */
typedef struct cursor {
    const uint8_t *at;
    const uint8_t *end;
} cursor;

static bool is_digit(uint8_t c) {
    return c >= '0' && c <= '9';
}

static uint8_t peek(const cursor *c) {
    return c->at < c->end ? *c->at : 0; /* a NUL in the line matches nothing either */
}

static bool take_byte(cursor *c, uint8_t byte) {
    if (c->at < c->end && *c->at == byte) {
        c->at++;
        return true;
    }
    return false;
}

/* Takes word, in capitals where asked. */
static bool take_word(cursor *c, const char *word, bool in_capitals) {
    const uint8_t *at = c->at;
    for (; *word != '\0'; word++, at++) {
        char want = in_capitals && *word >= 'a' && *word <= 'z' ? (char)(*word - 'a' + 'A') : *word;
        if (at == c->end || *at != (uint8_t)want) {
            return false;
        }
    }
    c->at = at;
    return true;
}

static void skip_blanks(cursor *c) {
    while (peek(c) == ' ' || peek(c) == '\t') {
        c->at++;
    }
}

static bool at_word_end(const cursor *c) {
    return c->at == c->end || *c->at == ' ' || *c->at == '\t' || *c->at == '@';
}

/* Digits with at most one point or comma, and a digit behind it. */
static bool take_digits(cursor *c, double *out) {
    static const double power_of_ten[] = {1e0, 1e1, 1e2, 1e3,  1e4,  1e5, 1e6,
                                          1e7, 1e8, 1e9, 1e10, 1e11, 1e12};
    uint64_t mantissa = 0;
    int digits = 0;
    int decimals = 0;
    bool point = false;
    for (; is_digit(peek(c)) || (!point && (peek(c) == '.' || peek(c) == ',')); c->at++) {
        if (!is_digit(*c->at)) {
            point = true;
        } else if (++digits > DIGITS_MAX) {
            return false;
        } else {
            mantissa = mantissa * 10 + (uint64_t)(*c->at - '0');
            decimals += point ? 1 : 0;
        }
    }
    if (digits == 0 || (point && decimals == 0)) {
        return false;
    }
    *out = (double)mantissa / power_of_ten[decimals]; /* both exact: rounded once */
    return true;
}

/* A sign may stand apart from its digits, as in columns of fixed width. */
static bool take_number(cursor *c, double *out) {
    bool negative = take_byte(c, '-');
    if (negative || take_byte(c, '+')) {
        skip_blanks(c);
    }
    double value = 0;
    if (!take_digits(c, &value)) {
        return false;
    }
    *out = negative && value > 0 ? -value : value;
    return true;
}

/* A sign that is two bytes in UTF-8 and its second alone in Latin-1. */
static bool take_sign(cursor *c, uint8_t latin1) {
    const cursor before = *c;
    (void)take_byte(c, 0xC2);
    if (take_byte(c, latin1)) {
        return true;
    }
    *c = before;
    return false;
}

static void take_joint(cursor *c) {
    static const char joints[] = ".-* ";
    for (size_t i = 0; joints[i] != '\0'; i++) {
        if (take_byte(c, (uint8_t)joints[i])) {
            return;
        }
    }
    (void)take_sign(c, 0xB7); /* middle dot */
}

static bool take_spelling(cursor *c, const spelling *s, bool in_capitals) {
    cursor trial = *c;
    if (!take_word(&trial, s->first, in_capitals)) {
        return false;
    }
    take_joint(&trial);
    if (!take_word(&trial, s->second, in_capitals) || !at_word_end(&trial)) {
        return false;
    }
    *c = trial;
    return true;
}

static unit_kind take_unit(cursor *c) {
    for (size_t i = 0; i < sizeof spellings / sizeof spellings[0]; i++) {
        const spelling *s = &spellings[i];
        if (take_spelling(c, s, false) || (s->capitals && take_spelling(c, s, true))) {
            return s->kind;
        }
    }
    return UNIT_NONE;
}

static bool take_degrees(cursor *c) {
    return take_sign(c, 0xB0) || take_word(c, "deg", false) || take_word(c, "deg", true);
}

/* TORQUE and UNIT.  A unit on the line that is not the one set means that somebody pressed the
 * unit key: no line is read until it is set right again. */
static bool read_torque(const line_state *line, cursor *c, bw_reading *reading) {
    double torque = 0;
    if (!take_number(c, &torque)) {
        return false;
    }
    const cursor behind_number = *c;
    skip_blanks(c);
    unit_kind unit = take_unit(c);
    if (unit == UNIT_NONE) {
        *c = behind_number;
        unit = line->unit;
    }
    if (unit == UNIT_NONE || (line->unit != UNIT_NONE && unit != line->unit) || !at_word_end(c)) {
        return false;
    }
    reading->has |= BW_HAS_TORQUE;
    reading->torque_Nm = torque * unit_Nm[unit];
    return true;
}

/* ANGLE, which may be missing: false only where something stands there that is none. */
static bool read_angle(const line_state *line, cursor *c, bw_reading *reading) {
    skip_blanks(c);
    if (c->at == c->end || *c->at == '@') {
        return true;
    }
    if (!take_number(c, &reading->angle_deg)) {
        return false;
    }
    const cursor behind_number = *c;
    skip_blanks(c);
    if (!take_degrees(c)) {
        *c = behind_number;
        if (!line->bare_angle) {
            return false;
        }
    }
    reading->has |= BW_HAS_ANGLE;
    return at_word_end(c);
}

static bool read_time(cursor *c, bw_reading *reading) {
    skip_blanks(c);
    if (!take_byte(c, '@')) {
        return true;
    }
    reading->has |= BW_HAS_TIME;
    return take_digits(c, &reading->time_s);
}

static void reverse(bw_reading *reading) {
    reading->torque_Nm = 0.0 - reading->torque_Nm; /* keeps zero without a sign */
    reading->angle_deg = 0.0 - reading->angle_deg;
}

static bool read_line(const line_state *line, cursor c, bw_reading *reading) {
    if (take_word(&c, "PEAK", false)) {
        if (peek(&c) != ' ' && peek(&c) != '\t') {
            return false;
        }
        reading->has |= BW_HAS_RESULT;
        skip_blanks(&c);
    }
    if (!read_torque(line, &c, reading) || !read_angle(line, &c, reading) ||
        !read_time(&c, reading)) {
        return false;
    }
    skip_blanks(&c);
    if (line->reversed) {
        reverse(reading);
    }
    return c.at == c.end;
}

static bool is_line_end(uint8_t byte) {
    return byte == '\r' || byte == '\n';
}

/* A CR ends a line at once: to wait for an LF would hold a result back until the next pull.  The
 * LF of a CRLF is then an empty line. */
static bw_scan line_scan(const void *state, const uint8_t *buf, size_t len, size_t *frame_len) {
    (void)state;
    for (size_t i = 0; i < len && i < LINE_MAX_BYTES; i++) {
        if (is_line_end(buf[i])) {
            *frame_len = i + 1;
            return BW_SCAN_FRAME;
        }
    }
    if (len < LINE_MAX_BYTES) {
        return BW_SCAN_MORE;
    }
    *frame_len = LINE_MAX_BYTES; /* no line: decode refuses it and the rest of it */
    return BW_SCAN_FRAME;
}

static bw_decode line_decode(void *state, const bw_driver_host *host, const uint8_t *frame,
                             size_t len) {
    line_state *line = state;
    if (!is_line_end(frame[len - 1])) {
        line->from_the_middle = true;
        return BW_DECODE_UNKNOWN;
    }
    if (line->from_the_middle) {
        line->from_the_middle = false;
        return BW_DECODE_OK;
    }
    cursor c = {frame, frame + len - 1};
    skip_blanks(&c);
    if (c.at == c.end) {
        return BW_DECODE_OK;
    }
    bw_reading reading = {.size = sizeof reading};
    if (!read_line(line, c, &reading)) {
        return BW_DECODE_UNKNOWN;
    }
    host->emit(host->ctx, &reading);
    return BW_DECODE_OK;
}

/* The end of "112.34 N.m" is a good line with a wrong number, so the first line behind an opened
 * port counts only where the line was quiet before it. */
static void line_event(void *state, const bw_driver_host *host, bw_device_event event) {
    (void)host;
    line_state *line = state;
    line->from_the_middle = event != BW_DEVICE_SILENT;
}

/* Index of value in words (NULL-ended), or -1. */
static int word_index(const char *value, const char *const *words) {
    for (int i = 0; words[i] != NULL; i++) {
        if (strcmp(value, words[i]) == 0) {
            return i;
        }
    }
    return -1;
}

static const char *set_unit(line_state *line, const char *value) {
    cursor c = {(const uint8_t *)value, (const uint8_t *)value + strlen(value)};
    unit_kind unit = take_unit(&c);
    if (unit == UNIT_NONE || c.at != c.end) {
        return "unit is N.m, dN.m, cN.m, mN.m, kN.m, lbf.ft, lbf.in, ozf.in, kgf.m or kgf.cm";
    }
    line->unit = unit;
    return NULL;
}

static const char *set_angle(line_state *line, const char *value) {
    static const char *const words[] = {"no", "yes", NULL};
    int word = word_index(value, words);
    if (word < 0) {
        return "angle is yes (a second number without a unit is the angle) or no";
    }
    line->bare_angle = word == 1;
    return NULL;
}

static const char *set_sign(line_state *line, const char *value) {
    static const char *const words[] = {"normal", "reversed", NULL};
    int word = word_index(value, words);
    if (word < 0) {
        return "sign is normal or reversed (the device counts tightening as negative)";
    }
    line->reversed = word == 1;
    return NULL;
}

static const char *line_configure(void *state, const char *key, const char *value) {
    static const struct {
        const char *key;
        const char *(*set)(line_state *line, const char *value);
    } settings[] = {{"unit", set_unit}, {"angle", set_angle}, {"sign", set_sign}};
    for (size_t i = 0; i < sizeof settings / sizeof settings[0]; i++) {
        if (strcmp(key, settings[i].key) == 0) {
            return settings[i].set(state, value);
        }
    }
    return "the line driver has the settings unit, angle and sign";
}

static const bw_driver line_driver = {
    .abi = BW_DRIVER_ABI,
    .size = sizeof(bw_driver),
    .name = "line",
    .version = "1",
    .says = "lines of text: torque with its unit, perhaps an angle and a time",
    .source = "plugins/line/README.md",
    .line = {.baud = 9600, .bits = 8, .parity = 'N', .stops = 1},
    .state_size = sizeof(line_state),
    .frame_max = LINE_MAX_BYTES,
    .configure = line_configure,
    .scan = line_scan,
    .decode = line_decode,
    .event = line_event,
};

const bw_driver *bw_driver_entry(void) {
    return &line_driver;
}
