/* trace.c - see trace.h.
 *
 * Instruments give few digits: such a number is a whole mantissa over a power of ten, both exact
 * doubles, so one division reads it correctly rounded and no library call is needed.  Only full
 * doubles take the slow way. */
#include "trade/trace.h"

#include "base/decimal.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

static const char heading[] = "time_s,torque_Nm,angle_deg\n";

enum {
    HEADING_LEN = sizeof heading - 1,
    FIELD_MAX = 32,        /* bw_number_text needs as much */
    LINE_MAX = 3 * 25 + 3, /* 24 characters hold any double; comma or newline */
    FAST_DIGITS = 15,      /* a mantissa below 10^15 is an exact double */
    FAST_DECIMALS = 9
};

static const double power_of_ten[] = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                      1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};

size_t bw_trace_text_size(size_t n) {
    return HEADING_LEN + n * LINE_MAX + 1;
}

/* Writes mantissa / 10^decimals; returns the length. */
static size_t put_decimal(bool negative, uint64_t mantissa, int decimals, char *out) {
    char reversed[FIELD_MAX];
    size_t n = 0;
    int behind = 0;
    do {
        reversed[n++] = (char)('0' + mantissa % 10);
        mantissa /= 10;
        if (++behind == decimals) {
            reversed[n++] = '.';
        }
    } while (mantissa > 0 || behind <= decimals);
    size_t len = 0;
    if (negative) {
        out[len++] = '-';
    }
    while (n > 0) {
        out[len++] = reversed[--n];
    }
    return len;
}

/* The text of a finite number that reads back as the same bits; returns its length. */
static size_t put_number(double value, char *out) {
    double magnitude = fabs(value);
    for (int d = 0; d <= FAST_DECIMALS; d++) {
        double scaled = rint(magnitude * power_of_ten[d]);
        if (scaled >= power_of_ten[FAST_DIGITS]) {
            break;
        }
        if (scaled / power_of_ten[d] == magnitude) {
            return put_decimal(signbit(value), (uint64_t)scaled, d, out);
        }
    }
    return strlen(bw_number_text(value, out, FIELD_MAX));
}

static bool sample_finite(const bw_sample *s) {
    return isfinite(s->time_s) && isfinite(s->torque_Nm) &&
           (!s->has_angle || isfinite(s->angle_deg));
}

static size_t put_sample(const bw_sample *s, char *line) {
    size_t len = put_number(s->time_s, line);
    line[len++] = ',';
    len += put_number(s->torque_Nm, line + len);
    line[len++] = ',';
    if (s->has_angle) {
        len += put_number(s->angle_deg, line + len);
    }
    line[len++] = '\n';
    return len;
}

bw_status bw_trace_write(const bw_sample *sample, size_t n, char *out, size_t size, size_t *len,
                         bw_err *err) {
    if (n > BW_TRACE_SAMPLES_MAX || size < HEADING_LEN + 1) {
        return bw_fail(err, BW_E_LIMIT, "a trace holds at most %d samples, and needs room for them",
                       BW_TRACE_SAMPLES_MAX);
    }
    memcpy(out, heading, HEADING_LEN);
    size_t used = HEADING_LEN;
    for (size_t i = 0; i < n; i++) {
        if (!sample_finite(&sample[i])) {
            return bw_fail(err, BW_E_ARG, "sample %zu of the trace is not finite", i + 1);
        }
        char line[3 * FIELD_MAX + 3];
        size_t line_len = put_sample(&sample[i], line);
        if (line_len >= size - used) {
            return bw_fail(err, BW_E_LIMIT, "no room for sample %zu of the trace", i + 1);
        }
        memcpy(out + used, line, line_len);
        used += line_len;
    }
    out[used] = '\0';
    *len = used;
    return BW_OK;
}

/* One field [text, end): digits with one point are read at once, all else the slow way. */
static bool get_number(const char *text, const char *end, double *out) {
    const char *at = text;
    bool negative = at < end && *at == '-';
    at += negative ? 1 : 0;
    uint64_t mantissa = 0;
    int digits = 0;
    int decimals = 0;
    bool point = false;
    for (; at < end && digits <= FAST_DIGITS; at++) {
        if (*at >= '0' && *at <= '9') {
            mantissa = mantissa * 10 + (uint64_t)(*at - '0');
            digits++;
            decimals += point ? 1 : 0;
        } else if (*at == '.' && !point && digits > 0) {
            point = true;
        } else {
            break;
        }
    }
    bool whole = at == end && digits > 0 && digits <= FAST_DIGITS && (!point || decimals > 0);
    if (!whole) {
        return bw_number_parse(text, (size_t)(end - text), out, NULL) == BW_OK;
    }
    double value = (double)mantissa / power_of_ten[decimals];
    *out = negative ? -value : value;
    return true;
}

/* The comma from text on, or NULL. */
static const char *comma(const char *text, const char *end) {
    return memchr(text, ',', (size_t)(end - text));
}

/* One line without its ending. */
static bool get_sample(const char *line, const char *end, bw_sample *out) {
    const char *first = comma(line, end);
    const char *second = first == NULL ? NULL : comma(first + 1, end);
    if (second == NULL || !get_number(line, first, &out->time_s) ||
        !get_number(first + 1, second, &out->torque_Nm)) {
        return false;
    }
    out->has_angle = second + 1 < end;
    out->angle_deg = 0;
    return !out->has_angle || get_number(second + 1, end, &out->angle_deg);
}

/* The end of the line at text, with *next behind its ending. */
static const char *line_end(const char *text, const char *end, const char **next) {
    const char *newline = memchr(text, '\n', (size_t)(end - text));
    const char *stop = newline == NULL ? end : newline;
    *next = newline == NULL ? end : newline + 1;
    return stop > text && stop[-1] == '\r' ? stop - 1 : stop;
}

static size_t count_lines(const char *text, const char *end) {
    size_t n = 0;
    for (const char *next = NULL; text < end; text = next) {
        (void)line_end(text, end, &next);
        n++;
    }
    return n;
}

/* What stands where another text should, as far as it can be shown. */
static const char *found(const char *text, const char *stop, char *out, size_t size) {
    size_t n = 0;
    while (text + n < stop && n + 1 < size && text[n] >= ' ' && text[n] < 0x7f) {
        out[n] = text[n];
        n++;
    }
    out[n] = '\0';
    return out;
}

bw_status bw_trace_read(const char *text, size_t len, bw_arena *arena, const bw_sample **sample,
                        size_t *n, bw_err *err) {
    const char *end = text + len;
    const char *at = NULL;
    const char *stop = line_end(text, end, &at);
    char shown[48];
    if ((size_t)(stop - text) != HEADING_LEN - 1 || memcmp(text, heading, HEADING_LEN - 1) != 0) {
        return bw_fail(err, BW_E_DATA,
                       "line 1: the heading time_s,torque_Nm,angle_deg is needed, and nothing "
                       "before it; there is `%s`",
                       found(text, stop, shown, sizeof shown));
    }
    size_t lines = count_lines(at, end);
    if (lines > BW_TRACE_SAMPLES_MAX) {
        return bw_fail(err, BW_E_DATA, "line %d: a trace holds at most %d samples",
                       BW_TRACE_SAMPLES_MAX + 2, BW_TRACE_SAMPLES_MAX);
    }
    bw_sample *out = bw_arena_alloc(arena, lines, sizeof *out);
    if (out == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory for a trace of %zu samples", lines);
    }
    for (size_t i = 0; i < lines; i++) {
        const char *line = at;
        stop = line_end(line, end, &at);
        if (!get_sample(line, stop, &out[i])) {
            return bw_fail(err, BW_E_DATA,
                           "line %zu: a line such as 0.125,42.5,31.75 is needed (the angle may be "
                           "left out, its comma not); there is `%s`",
                           i + 2, found(line, stop, shown, sizeof shown));
        }
    }
    *sample = out;
    *n = lines;
    return BW_OK;
}
