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
enum { LINE_MAX_BYTES = 200, FORMAT_MAX = 128, SKIP_MAX = 16 };

typedef struct line_state {
    unit_kind unit;          /* of numbers without one; UNIT_NONE: every line must say */
    bool bare_angle;         /* a second number without a unit is the angle */
    bool reversed;           /* the device counts tightening as negative */
    bool results;            /* every line is the result of a pull */
    uint8_t thousands;       /* mark between groups of three digits; 0: none */
    char format[FORMAT_MAX]; /* "": as README.md describes a line */
    char skip[SKIP_MAX];     /* lines that begin so are passed over; "": none */
    bool from_the_middle;    /* what comes up to the next line's end is no whole line */
    bool broken;             /* likewise, but it may be one, and is told */
} line_state;

/* ---- numbers ---- */

/* 1.234,5 where the point marks thousands: groups of three behind one to three digits, no mark at
 * all, and the other mark before the decimals. */
static bool take_grouped(const line_state *line, cursor *c, double *out) {
    uint8_t plain[LINE_MAX_BYTES];
    size_t n = 0;
    size_t group = 0;
    bool marked = false;
    for (; is_digit(peek(c)) || (peek(c) == line->thousands && n > 0); c->at++) {
        if (is_digit(*c->at)) {
            plain[n++] = *c->at;
            group++;
        } else if (c->at + 1 == c->end || !is_digit(c->at[1])) {
            break; /* a blank behind the number is no mark */
        } else if (group > 3 || (marked && group != 3)) {
            return false;
        } else {
            marked = true;
            group = 0;
        }
    }
    if (marked && group != 3) {
        return false;
    }
    uint8_t point = line->thousands == '.' ? ',' : '.';
    if (peek(c) == point && n < sizeof plain) {
        plain[n++] = *c->at++;
        while (is_digit(peek(c)) && n < sizeof plain) {
            plain[n++] = *c->at++;
        }
    }
    cursor whole = {plain, plain + n};
    return take_digits(&whole, out) && whole.at == whole.end;
}

static bool take_value(const line_state *line, cursor *c, double *out) {
    if (line->thousands == 0) {
        return take_number(c, out);
    }
    bool negative = take_byte(c, '-');
    if (negative || take_byte(c, '+')) {
        skip_blanks(c);
    }
    double value = 0;
    if (!take_grouped(line, c, &value)) {
        return false;
    }
    *out = negative && value > 0 ? -value : value;
    return true;
}

/* ---- a line as it is unless a format is set ---- */

static bool take_degrees(cursor *c) {
    return take_sign(c, 0xB0) || take_word(c, "deg", false) || take_word(c, "deg", true);
}

/* TORQUE and UNIT.  A unit on the line that is not the one set means that somebody pressed the
 * unit key: no line is read until it is set right again. */
static bool read_torque(const line_state *line, cursor *c, bw_reading *reading) {
    double torque = 0;
    if (!take_value(line, c, &torque)) {
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
    if (!take_value(line, c, &reading->angle_deg)) {
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

/* ---- a line by its format ---- */

/* What stands between the braces of a format. */
typedef struct field {
    const char *word;
    bool (*take)(const line_state *line, cursor *c, bw_reading *reading, uint8_t behind);
} field;

static bool take_torque(const line_state *line, cursor *c, bw_reading *reading, uint8_t behind) {
    (void)behind;
    reading->has |= BW_HAS_TORQUE;
    skip_blanks(c);
    return take_value(line, c, &reading->torque_Nm);
}

static bool take_unit_field(const line_state *line, cursor *c, bw_reading *reading,
                            uint8_t behind) {
    static const char ends[] = " \t,;@"; /* a unit ends its word, whatever stands behind it */
    skip_blanks(c);
    cursor word = *c;
    while (word.at < word.end && strchr(ends, *word.at) == NULL && *word.at != behind) {
        word.at++;
    }
    cursor whole = {c->at, word.at};
    unit_kind unit = take_unit(&whole);
    if (unit == UNIT_NONE || whole.at != whole.end ||
        (line->unit != UNIT_NONE && unit != line->unit)) {
        return false;
    }
    c->at = word.at;
    reading->torque_Nm *= unit_Nm(unit); /* 1 until the torque is read, so the order is free */
    return true;
}

static bool take_angle_field(const line_state *line, cursor *c, bw_reading *reading,
                             uint8_t behind) {
    (void)behind;
    reading->has |= BW_HAS_ANGLE;
    skip_blanks(c);
    return take_value(line, c, &reading->angle_deg);
}

static bool take_time_field(const line_state *line, cursor *c, bw_reading *reading,
                            uint8_t behind) {
    (void)line;
    (void)behind;
    reading->has |= BW_HAS_TIME;
    skip_blanks(c);
    return take_digits(c, &reading->time_s);
}

/* Anything up to the byte behind it in the format; to the end where it is the last. */
static bool take_any(const line_state *line, cursor *c, bw_reading *reading, uint8_t behind) {
    (void)line;
    (void)reading;
    while (c->at < c->end && (behind == 0 || *c->at != behind)) {
        c->at++;
    }
    return behind == 0 || c->at < c->end;
}

static bool take_comma(const line_state *line, cursor *c, bw_reading *reading, uint8_t behind) {
    (void)line;
    (void)reading;
    (void)behind;
    return take_byte(c, ',');
}

static const field fields[] = {{"{torque}", take_torque},     {"{unit}", take_unit_field},
                               {"{angle}", take_angle_field}, {"{time}", take_time_field},
                               {"{any}", take_any},           {"{comma}", take_comma}};
enum { FIELDS = sizeof fields / sizeof fields[0] };

/* The field that the format has here, or NULL. */
static const field *field_at(const char *format) {
    for (size_t i = 0; i < FIELDS; i++) {
        if (strncmp(format, fields[i].word, strlen(fields[i].word)) == 0) {
            return &fields[i];
        }
    }
    return NULL;
}

static uint8_t byte_behind(const char *format) {
    return strncmp(format, "{comma}", strlen("{comma}")) == 0 ? ',' : (uint8_t)*format;
}

/* A blank of the format stands for any number of blanks, at least one. */
static bool take_literal(cursor *c, char literal) {
    if (literal != ' ') {
        return take_byte(c, (uint8_t)literal);
    }
    bool there = peek(c) == ' ' || peek(c) == '\t';
    skip_blanks(c);
    return there;
}

static bool read_formatted(const line_state *line, cursor c, bw_reading *reading) {
    bool has_unit = strstr(line->format, "{unit}") != NULL;
    bw_reading unit = {.torque_Nm = 1};
    for (const char *at = line->format; *at != '\0';) {
        const field *f = field_at(at);
        if (f == NULL) {
            if (!take_literal(&c, *at++)) {
                return false;
            }
            continue;
        }
        at += strlen(f->word);
        bw_reading *into = f->take == take_unit_field ? &unit : reading;
        if (!f->take(line, &c, into, byte_behind(at))) {
            return false;
        }
    }
    if (!has_unit && line->unit == UNIT_NONE) {
        return false;
    }
    reading->torque_Nm *= has_unit ? unit.torque_Nm : unit_Nm(line->unit);
    skip_blanks(&c);
    return c.at == c.end;
}

static bool read_described(const line_state *line, cursor c, bw_reading *reading) {
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
    return c.at == c.end;
}

static bool read_line(const line_state *line, cursor c, bw_reading *reading) {
    bool read = line->format[0] != '\0' ? read_formatted(line, c, reading)
                                        : read_described(line, c, reading);
    if (line->reversed) {
        reverse(reading);
    }
    reading->has |= line->results ? BW_HAS_RESULT : 0;
    return read;
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
        return line->broken ? BW_DECODE_UNKNOWN : BW_DECODE_OK;
    }
    cursor c = {frame, frame + len - 1};
    skip_blanks(&c);
    cursor skipped = c;
    if (c.at == c.end || (line->skip[0] != '\0' && take_word(&skipped, line->skip, false))) {
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
 * port, or behind half a line and a silence, counts only where the line was quiet before it. */
static void line_event(void *state, const bw_driver_host *host, bw_device_event event) {
    (void)host;
    line_state *line = state;
    line->from_the_middle = event != BW_DEVICE_SILENT;
    line->broken = event == BW_DEVICE_BROKEN;
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

static const char *set_lines(line_state *line, const char *value) {
    static const char *const words[] = {"samples", "results", NULL};
    int word = word_index(value, words);
    line->results = word == 1;
    return word < 0 ? "lines is samples or results (every line is the peak of a pull)" : NULL;
}

static const char *set_thousands(line_state *line, const char *value) {
    static const char *const words[] = {"none", "point", "comma", "blank", NULL};
    static const uint8_t marks[] = {0, '.', ',', ' '};
    int word = word_index(value, words);
    line->thousands = word < 0 ? 0 : marks[word];
    return word < 0 ? "thousands is none, point, comma or blank" : NULL;
}

static const char *set_format(line_state *line, const char *value) {
    size_t len = strlen(value);
    if (len >= sizeof line->format || strstr(value, "{torque}") == NULL) {
        return "format is up to 127 characters with {torque} among them";
    }
    for (const char *at = value; (at = strchr(at, '{')) != NULL; at++) {
        if (field_at(at) == NULL) {
            return "format has {torque}, {unit}, {angle}, {time}, {comma} and {any} (up to the "
                   "character behind it)";
        }
    }
    memcpy(line->format, value, len + 1);
    return NULL;
}

static const char *set_skip(line_state *line, const char *value) {
    size_t len = strlen(value);
    if (len >= sizeof line->skip) {
        return "skip is up to 15 characters with which lines begin that are passed over";
    }
    memcpy(line->skip, value, len + 1);
    return NULL;
}

static const char *line_configure(void *state, const char *key, const char *value) {
    static const struct {
        const char *key;
        const char *(*set)(line_state *line, const char *value);
    } settings[] = {{"unit", set_unit},   {"angle", set_angle},         {"sign", set_sign},
                    {"lines", set_lines}, {"thousands", set_thousands}, {"format", set_format},
                    {"skip", set_skip}};
    for (size_t i = 0; i < sizeof settings / sizeof settings[0]; i++) {
        if (strcmp(key, settings[i].key) == 0) {
            return settings[i].set(state, value);
        }
    }
    return "the line driver has the settings unit, angle, sign, lines, thousands, format and skip";
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
