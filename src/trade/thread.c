/* thread.c - see thread.h. */
#include "trade/thread.h"

#include "base/decimal.h"
#include "trade/check.h"
#include "trade/units.h"

#include <math.h>
#include <string.h>

static const double pi = 3.14159265358979323846;
static const double inch_mm = 25.4;

/* Two figures typed from a table are the same within this (mm). */
static const double same_mm = 1e-6;

/* ISO 261: coarse pitch first (0: none), then the fine ones.  From memory, not seen. */
static const struct {
    double d_mm;
    double pitch_mm[5];
} metric[] = {
    {1, {0.25, 0.2}},
    {1.2, {0.25, 0.2}},
    {1.4, {0.3, 0.2}},
    {1.6, {0.35, 0.2}},
    {1.8, {0.35, 0.2}},
    {2, {0.4, 0.25}},
    {2.5, {0.45, 0.35}},
    {3, {0.5, 0.35}},
    {3.5, {0.6, 0.35}},
    {4, {0.7, 0.5}},
    {5, {0.8, 0.5}},
    {6, {1, 0.75}},
    {7, {1, 0.75}},
    {8, {1.25, 1, 0.75}},
    {9, {1.25, 1, 0.75}},
    {10, {1.5, 1.25, 1, 0.75}},
    {11, {1.5, 1, 0.75}},
    {12, {1.75, 1.5, 1.25, 1}},
    {14, {2, 1.5, 1.25, 1}},
    {15, {0, 1.5, 1}},
    {16, {2, 1.5, 1}},
    {17, {0, 1.5, 1}},
    {18, {2.5, 2, 1.5, 1}},
    {20, {2.5, 2, 1.5, 1}},
    {22, {2.5, 2, 1.5, 1}},
    {24, {3, 2, 1.5, 1}},
    {25, {0, 2, 1.5, 1}},
    {27, {3, 2, 1.5, 1}},
    {28, {0, 2, 1.5, 1}},
    {30, {3.5, 3, 2, 1.5, 1}},
    {33, {3.5, 3, 2, 1.5}},
    {36, {4, 3, 2, 1.5}},
    {39, {4, 3, 2, 1.5}},
    {42, {4.5, 4, 3, 2, 1.5}},
    {45, {4.5, 4, 3, 2, 1.5}},
    {48, {5, 4, 3, 2, 1.5}},
    {52, {5, 4, 3, 2, 1.5}},
    {56, {5.5, 4, 3, 2, 1.5}},
    {60, {5.5, 4, 3, 2, 1.5}},
    {64, {6, 4, 3, 2, 1.5}},
};

/* ASME B1.1, threads per inch (0: none).  Number n has 0.060 + 0.013 n inch.  From memory, not
 * seen. */
typedef struct inch_row {
    int number; /* -1: a size in inches */
    double d_in;
    int unc, unf;
} inch_row;

static const inch_row inch[] = {
    {0, 0.060, 0, 80},   {1, 0.073, 64, 72},   {2, 0.086, 56, 64}, {3, 0.099, 48, 56},
    {4, 0.112, 40, 48},  {5, 0.125, 40, 44},   {6, 0.138, 32, 40}, {8, 0.164, 32, 36},
    {10, 0.190, 24, 32}, {12, 0.216, 24, 28},  {-1, 0.25, 20, 28}, {-1, 0.3125, 18, 24},
    {-1, 0.375, 16, 24}, {-1, 0.4375, 14, 20}, {-1, 0.5, 13, 20},  {-1, 0.5625, 12, 18},
    {-1, 0.625, 11, 18}, {-1, 0.75, 10, 16},   {-1, 0.875, 9, 14}, {-1, 1, 8, 12},
    {-1, 1.125, 7, 12},  {-1, 1.25, 7, 12},    {-1, 1.375, 6, 12}, {-1, 1.5, 6, 12},
};

enum { METRIC_N = sizeof metric / sizeof metric[0], INCH_N = sizeof inch / sizeof inch[0] };

static const char needed[] =
    "a thread such as M10x1.25, M10, 3/8-24, 3/8-24 UNF, #10-32 or 1 1/8-7 is needed";

static bool same(double a, double b) {
    return fabs(a - b) <= same_mm;
}

static bool metric_standard(const bw_thread *t) {
    for (size_t i = 0; i < METRIC_N; i++) {
        for (size_t k = 0; k < 5 && same(metric[i].d_mm, t->d_mm); k++) {
            if (same(metric[i].pitch_mm[k], t->pitch_mm)) {
                return true;
            }
        }
    }
    return false;
}

/* The row of that size on which n threads per inch are standard; NULL where there is none. */
static const inch_row *inch_standard(double d_in, double n) {
    for (size_t i = 0; i < INCH_N; i++) {
        if (same(inch[i].d_in, d_in) && (same(inch[i].unc, n) || same(inch[i].unf, n))) {
            return &inch[i];
        }
    }
    return NULL;
}

static const inch_row *number_row(double number) {
    for (size_t i = 0; i < INCH_N; i++) {
        if (same(inch[i].number, number)) {
            return &inch[i];
        }
    }
    return NULL;
}

/* Text that is being read; spaces at its ends do not count. */
typedef struct span {
    const char *at;
    size_t len;
} span;

static span trimmed(const char *at, size_t len) {
    span s = {at, len};
    while (s.len > 0 && s.at[0] == ' ') {
        s = (span){s.at + 1, s.len - 1};
    }
    while (s.len > 0 && s.at[s.len - 1] == ' ') {
        s.len--;
    }
    return s;
}

/* Where the x between diameter and pitch begins (s.len: nowhere), and how many bytes it has. */
static size_t find_times(span s, size_t *bytes) {
    for (size_t i = 0; i < s.len; i++) {
        if (s.at[i] == 'x' || s.at[i] == 'X') {
            *bytes = 1;
            return i;
        }
        if (s.len - i >= 2 && memcmp(s.at + i, "×", 2) == 0) {
            *bytes = 2;
            return i;
        }
    }
    *bytes = 0;
    return s.len;
}

static bw_status coarse_pitch(double d_mm, double *pitch_mm, bw_err *err) {
    for (size_t i = 0; i < METRIC_N; i++) {
        if (same(metric[i].d_mm, d_mm) && metric[i].pitch_mm[0] > 0) {
            *pitch_mm = metric[i].pitch_mm[0];
            return BW_OK;
        }
    }
    return bw_fail(err, BW_E_DATA, "M%.9g has no coarse pitch: write its pitch, such as M%.9gx1.5",
                   d_mm, d_mm);
}

static bw_status parse_metric(span s, bw_thread *out, bw_err *err) {
    size_t bytes = 0;
    size_t times = find_times(s, &bytes);
    bw_decimal d = {0, 0};
    bw_decimal pitch = {0, 0};
    span before = trimmed(s.at, times);
    span behind = trimmed(s.at + times + bytes, s.len - times - bytes);
    bool read = bw_decimal_parse(before.at, before.len, &d, NULL) == BW_OK &&
                (bytes == 0 || bw_decimal_parse(behind.at, behind.len, &pitch, NULL) == BW_OK);
    if (!read) {
        return bw_fail(err, BW_E_DATA, "%s", needed);
    }
    bw_status status = bytes == 0 ? coarse_pitch(d.value, &pitch.value, err) : BW_OK;
    if (status == BW_OK) {
        *out = (bw_thread){d.value, pitch.value, false};
    }
    return status;
}

/* A series name must not contradict the threads per inch; UN and UNS say nothing about them. */
static bool series_fits(span series, double d_in, double n) {
    const inch_row *row = inch_standard(d_in, n);
    if (series.len == 0) {
        return true;
    }
    if (series.len != 3 || memcmp(series.at, "UN", 2) != 0) {
        return series.len == 2 && memcmp(series.at, "UN", 2) == 0;
    }
    bool coarse = row != NULL && same(row->unc, n);
    bool fine = row != NULL && same(row->unf, n);
    char letter = series.at[2];
    return (letter == 'C' && coarse) || (letter == 'F' && fine) || letter == 'S';
}

/* "#10" or "10" is a number size, "3/8" and "1.125" are inches; a bare whole number is what makes
 * the pair a standard one ("1-64" number 1, "1-8" one inch). */
static bool parse_inch_size(span s, double n, double *d_in) {
    bool numbered = s.len > 0 && s.at[0] == '#';
    span digits = numbered ? trimmed(s.at + 1, s.len - 1) : s;
    bw_quantity q = {0, BW_UNIT_IN, 0};
    if (bw_quantity_parse(digits.at, digits.len, BW_DIM_LENGTH, BW_UNIT_IN, &q, NULL) != BW_OK ||
        q.unit != BW_UNIT_IN) {
        return false;
    }
    const inch_row *row = number_row(q.value);
    if (row != NULL && (numbered || inch_standard(row->d_in, n) == row)) {
        *d_in = row->d_in;
        return true;
    }
    *d_in = q.value;
    return !numbered;
}

static bw_status parse_inch(span s, bw_thread *out, bw_err *err) {
    size_t hyphen = s.len;
    while (hyphen > 0 && s.at[hyphen - 1] != '-') {
        hyphen--;
    }
    span size = trimmed(s.at, hyphen > 0 ? hyphen - 1 : 0);
    span behind = trimmed(s.at + hyphen, s.len - hyphen);
    size_t digits = 0;
    while (digits < behind.len && memchr("0123456789.", behind.at[digits], 11) != NULL) {
        digits++;
    }
    span series = trimmed(behind.at + digits, behind.len - digits);
    bw_decimal n = {0, 0};
    double d_in = 0;
    if (bw_decimal_parse(behind.at, digits, &n, NULL) != BW_OK || n.value < 1 ||
        !parse_inch_size(size, n.value, &d_in)) {
        return bw_fail(err, BW_E_DATA, "%s", needed);
    }
    if (!series_fits(series, d_in, n.value)) {
        return bw_fail(err, BW_E_DATA, "'%.*s' does not go with %.9g threads per inch on %.9g in",
                       (int)(series.len > 8 ? 8 : series.len), series.at, n.value, d_in);
    }
    *out = (bw_thread){d_in * inch_mm, inch_mm / n.value, true};
    return BW_OK;
}

bw_status bw_thread_parse(const char *text, size_t len, bw_thread *out, bw_err *err) {
    span s = trimmed(text, len);
    if (s.len > 0 && s.at[0] == 'M') {
        return parse_metric((span){s.at + 1, s.len - 1}, out, err);
    }
    return parse_inch(s, out, err);
}

bw_status bw_thread_size_of(const bw_thread *thread, bw_thread_size *out, bw_err *err) {
    double d = thread->d_mm;
    double p = thread->pitch_mm;
    bw_status s = BW_CHECK(err, {"d", d, 0.3, 500, " mm"}, {"pitch", p, 0.05, d / 2, " mm"});
    if (s != BW_OK) {
        return s;
    }
    double h = p * sqrt(3) / 2;
    bw_thread_size size = {
        .d2_mm = d - 0.75 * h,
        .d3_mm = d - 17.0 / 12 * h,
        .D1_mm = d - 1.25 * h,
        .standard = thread->inch ? inch_standard(d / inch_mm, inch_mm / p) != NULL
                                 : metric_standard(thread),
    };
    size.d0_mm = thread->inch ? d - 0.9743 * p : (size.d2_mm + size.d3_mm) / 2;
    size.stress_area_mm2 = pi / 4 * size.d0_mm * size.d0_mm;
    size.lead_deg = atan(p / (pi * size.d2_mm)) * 180 / pi;
    *out = size;
    return BW_OK;
}

bw_status bw_bearing_of(double outer_mm, double inner_mm, bw_bearing *out, bw_err *err) {
    bw_status s = BW_CHECK(err, BW_RANGE_DIAMETER("bearing_outer", outer_mm),
                           {"bearing_inner", inner_mm, 0, 0.9999 * outer_mm, " mm"});
    if (s != BW_OK) {
        return s;
    }
    double square = outer_mm * outer_mm - inner_mm * inner_mm;
    double cube = outer_mm * outer_mm * outer_mm - inner_mm * inner_mm * inner_mm;
    *out = (bw_bearing){(outer_mm + inner_mm) / 2, 2.0 / 3 * cube / square, pi / 4 * square};
    return BW_OK;
}

static const struct {
    double d_mm, face_mm;
    double hole_mm[3];
} heads[] = {
    {6, 8.88, {6.4, 6.6, 7}},      {8, 11.63, {8.4, 9, 10}},      {10, 14.63, {10.5, 11, 12}},
    {12, 16.63, {13, 13.5, 14.5}}, {14, 19.64, {15, 15.5, 16.5}}, {16, 22.49, {17, 17.5, 18.5}},
};

static const char *const fits[] = {"fine", "medium", "coarse"};

bw_status bw_hexagon_head(double d_mm, const char *fit, double *outer_mm, double *inner_mm,
                          bw_err *err) {
    size_t column = 0;
    while (column < 3 && strcmp(fits[column], fit) != 0) {
        column++;
    }
    for (size_t i = 0; column < 3 && i < sizeof heads / sizeof heads[0]; i++) {
        if (same(heads[i].d_mm, d_mm)) {
            *outer_mm = heads[i].face_mm;
            *inner_mm = heads[i].hole_mm[column];
            return BW_OK;
        }
    }
    return bw_fail(
        err, BW_E_DATA,
        "no hexagon head for d %.9g mm with fit '%s' here: M6 to M16 with fine, medium or "
        "coarse are; give bearing_outer and bearing_inner",
        d_mm, fit);
}
