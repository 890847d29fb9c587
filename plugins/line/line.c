/* line.c - wrenches and displays that send lines of text.  README.md has the format.
 *
 * A line has no checksum, so a damaged one must never be read as a whole one: a line is taken as
 * it stands or not at all, down to its last byte.  For the same reason scan never says BAD.  The
 * host would then drop one byte and try again, and what is left of "1<NUL>2.34 N.m" reads well.
 *
 * Tests: tests/unit/device/line_test.c, captures beside this file. */
#include "boltwright/driver.h"
#include "words.h"

#include <string.h>

/* LINE_MAX_BYTES with the line's end.  No instrument's line comes near it. */
enum { LINE_MAX_BYTES = 200 };

typedef struct line_state {
    unit_kind unit;       /* of numbers without one; UNIT_NONE: every line must say */
    bool bare_angle;      /* a second number without a unit is the angle */
    bool reversed;        /* the device counts tightening as negative */
    bool from_the_middle; /* what comes up to the next line's end is no whole line */
} line_state;

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
    reading->torque_Nm = torque * unit_Nm(unit);
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

static const char *set_unit(line_state *line, const char *value) {
    unit_kind unit = UNIT_NONE;
    if (!whole_unit(value, &unit)) {
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
    .can = BW_CAN_STREAM | BW_CAN_RESULT | BW_CAN_ANGLE,
};

const bw_driver *bw_driver_entry(void) {
    return &line_driver;
}
