/* quantity.c - quantities read from and written for people; see units.h.
 *
 * Room: trade (pure).  A unit is compared with its separators (space, point, middle dot, hyphen,
 * star) taken out, so that one row stands for `ft-lb`, `ft lb`, `ft·lb` and `ft.lb`.  Spellings
 * that mean two things in a workshop have a row of their own that says what to write instead. */
#include "trade/units.h"

#include "base/decimal.h"

#include <ctype.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

enum { UNIT_TEXT_MAX = 32, DECIMALS_MAX = 12, SIGNIFICANT = 6, NUMBER_TEXT_MAX = 64 };

typedef struct spelling {
    const char *text; /* separators taken out; lower case where any_case */
    bw_unit unit;
    bool any_case;
} spelling;

static const spelling spellings[] = {
    {"Nm", BW_UNIT_NM, false},
    {"newtonmetre", BW_UNIT_NM, true},
    {"newtonmetres", BW_UNIT_NM, true},
    {"newtonmeter", BW_UNIT_NM, true},
    {"newtonmeters", BW_UNIT_NM, true},
    {"lbfft", BW_UNIT_LBF_FT, true},
    {"lbft", BW_UNIT_LBF_FT, true},
    {"lbsft", BW_UNIT_LBF_FT, true},
    {"ftlb", BW_UNIT_LBF_FT, true},
    {"ftlbs", BW_UNIT_LBF_FT, true},
    {"ftlbf", BW_UNIT_LBF_FT, true},
    {"footpound", BW_UNIT_LBF_FT, true},
    {"footpounds", BW_UNIT_LBF_FT, true},
    {"poundfoot", BW_UNIT_LBF_FT, true},
    {"poundfeet", BW_UNIT_LBF_FT, true},
    {"lbfin", BW_UNIT_LBF_IN, true},
    {"lbin", BW_UNIT_LBF_IN, true},
    {"lbsin", BW_UNIT_LBF_IN, true},
    {"inlb", BW_UNIT_LBF_IN, true},
    {"inlbs", BW_UNIT_LBF_IN, true},
    {"inlbf", BW_UNIT_LBF_IN, true},
    {"inchpound", BW_UNIT_LBF_IN, true},
    {"inchpounds", BW_UNIT_LBF_IN, true},
    {"poundinch", BW_UNIT_LBF_IN, true},
    {"poundinches", BW_UNIT_LBF_IN, true},
    {"kgfm", BW_UNIT_KGF_M, true},
    {"kgm", BW_UNIT_KGF_M, true},
    {"mkgf", BW_UNIT_KGF_M, true},
    {"mkg", BW_UNIT_KGF_M, true},
    {"kgfcm", BW_UNIT_KGF_CM, true},
    {"kgcm", BW_UNIT_KGF_CM, true},
    {"ozfin", BW_UNIT_OZF_IN, true},
    {"ozin", BW_UNIT_OZF_IN, true},
    {"inoz", BW_UNIT_OZF_IN, true},
    {"inozf", BW_UNIT_OZF_IN, true},
    {"dNm", BW_UNIT_DNM, false},
    {"N", BW_UNIT_N, false},
    {"newton", BW_UNIT_N, true},
    {"newtons", BW_UNIT_N, true},
    {"kN", BW_UNIT_KN, false},
    {"lbf", BW_UNIT_LBF, true},
    {"kgf", BW_UNIT_KGF, true},
    {"mm", BW_UNIT_MM, false},
    {"millimetre", BW_UNIT_MM, true},
    {"millimetres", BW_UNIT_MM, true},
    {"millimeter", BW_UNIT_MM, true},
    {"millimeters", BW_UNIT_MM, true},
    {"um", BW_UNIT_UM, false},
    {"µm", BW_UNIT_UM, false},
    {"μm", BW_UNIT_UM, false}, /* the Greek letter, as some keyboards give it */
    {"micron", BW_UNIT_UM, true},
    {"microns", BW_UNIT_UM, true},
    {"micrometre", BW_UNIT_UM, true},
    {"micrometres", BW_UNIT_UM, true},
    {"cm", BW_UNIT_CM, false},
    {"m", BW_UNIT_M, false},
    {"metre", BW_UNIT_M, true},
    {"metres", BW_UNIT_M, true},
    {"meter", BW_UNIT_M, true},
    {"meters", BW_UNIT_M, true},
    {"in", BW_UNIT_IN, true},
    {"inch", BW_UNIT_IN, true},
    {"inches", BW_UNIT_IN, true},
    {"\"", BW_UNIT_IN, false},
    {"″", BW_UNIT_IN, false},
    {"thou", BW_UNIT_THOU, true},
    {"thous", BW_UNIT_THOU, true},
    {"MPa", BW_UNIT_MPA, false},
    {"N/mm2", BW_UNIT_MPA, false},
    {"N/mm²", BW_UNIT_MPA, false},
    {"psi", BW_UNIT_PSI, true},
    {"ksi", BW_UNIT_KSI, true},
    {"bar", BW_UNIT_BAR, true},
    {"°", BW_UNIT_DEG, false},
    {"deg", BW_UNIT_DEG, true},
    {"degree", BW_UNIT_DEG, true},
    {"degrees", BW_UNIT_DEG, true},
    {"turn", BW_UNIT_TURN, true},
    {"turns", BW_UNIT_TURN, true},
    {"rev", BW_UNIT_TURN, true},
    {"revs", BW_UNIT_TURN, true},
    {"rad", BW_UNIT_RAD, true},
    {"radian", BW_UNIT_RAD, true},
    {"radians", BW_UNIT_RAD, true},
    {"°C", BW_UNIT_DEGC, false},
    {"degC", BW_UNIT_DEGC, false},
    {"C", BW_UNIT_DEGC, false},
    {"celsius", BW_UNIT_DEGC, true},
    {"°F", BW_UNIT_DEGF, false},
    {"degF", BW_UNIT_DEGF, false},
    {"F", BW_UNIT_DEGF, false},
    {"fahrenheit", BW_UNIT_DEGF, true},
    {"kg", BW_UNIT_KG, true},
    {"g", BW_UNIT_G, false},
    {"gram", BW_UNIT_G, true},
    {"grams", BW_UNIT_G, true},
    {"lb", BW_UNIT_LB, true},
    {"lbs", BW_UNIT_LB, true},
    {"mm3", BW_UNIT_MM3, false},
    {"mm³", BW_UNIT_MM3, false},
    {"cm3", BW_UNIT_CM3, false},
    {"cm³", BW_UNIT_CM3, false},
    {"cc", BW_UNIT_CM3, true},
    {"ml", BW_UNIT_CM3, true},
    {"in3", BW_UNIT_IN3, true},
    {"in³", BW_UNIT_IN3, true},
    {"cuin", BW_UNIT_IN3, true},
    {"s", BW_UNIT_S, false},
    {"sec", BW_UNIT_S, true},
    {"second", BW_UNIT_S, true},
    {"seconds", BW_UNIT_S, true},
    {"min", BW_UNIT_MIN, true},
    {"minute", BW_UNIT_MIN, true},
    {"minutes", BW_UNIT_MIN, true},
    {"h", BW_UNIT_H, false},
    {"hour", BW_UNIT_H, true},
    {"hours", BW_UNIT_H, true},
    {"%", BW_UNIT_PERCENT, false},
    {"percent", BW_UNIT_PERCENT, true},
};

/* What two workshops would read differently.  want BW_DIM_COUNT: whatever is asked for. */
static const struct {
    const char *text;
    bw_dimension want;
    const char *instead;
} ambiguous[] = {
    {"nm", BW_DIM_COUNT, "could be nanometres: write Nm for newton metres, um for micrometres"},
    {"NM", BW_DIM_COUNT, "could be nautical miles: write Nm for newton metres"},
    {"mNm", BW_DIM_COUNT, "could be a slip for N·m: write Nm or dNm"},
    {"mil", BW_DIM_COUNT, "could be a thousandth of an inch or a millimetre: write thou or mm"},
    {"mils", BW_DIM_COUNT, "could be thousandths of an inch or millimetres: write thou or mm"},
    {"tenth", BW_DIM_COUNT, "could be of a millimetre or of a thou: write mm, thou or in"},
    {"tenths", BW_DIM_COUNT, "could be of a millimetre or of a thou: write mm, thou or in"},
    {"'", BW_DIM_COUNT, "could be feet or minutes: write in, deg or min"},
    {"mPa", BW_DIM_COUNT, "could be millipascals: write MPa"},
    {"oz", BW_DIM_COUNT, "could be a weight or a volume: write g, or ozf.in for a torque"},
    {"lb", BW_DIM_FORCE, "is a mass: write lbf for a force"},
    {"lbs", BW_DIM_FORCE, "is a mass: write lbf for a force"},
    {"lb", BW_DIM_TORQUE, "leaves the lever out: write lbf.ft or lbf.in"},
    {"lbs", BW_DIM_TORQUE, "leaves the lever out: write lbf.ft or lbf.in"},
    {"kg", BW_DIM_FORCE, "is a mass: write kgf for a force"},
    {"kg", BW_DIM_TORQUE, "leaves the lever out: write kgf.m or kgf.cm"},
    {"°", BW_DIM_TEMPERATURE, "could be Celsius or Fahrenheit: write °C or °F"},
    {"deg", BW_DIM_TEMPERATURE, "could be Celsius or Fahrenheit: write degC or degF"},
    {"m", BW_DIM_TIME, "is a metre: write min for minutes"},
};

/* What an author may write for each dimension; shown where something else was written. */
static const char *const accepted[BW_DIM_COUNT] = {
    [BW_DIM_NUMBER] = "a plain number such as 0.12",
    [BW_DIM_TORQUE] = "a torque such as 60 Nm, 28 lbf.ft, 90 lbf.in or 6.1 kgf.m",
    [BW_DIM_FORCE] = "a force such as 32 kN, 32000 N or 7200 lbf",
    [BW_DIM_LENGTH] = "a length such as 0.063 mm, 63 um, 0.0025 in or 2.5 thou",
    [BW_DIM_STRESS] = "a stress such as 640 MPa, 92 ksi or 4 bar",
    [BW_DIM_ANGLE] = "an angle such as 90 deg or 3 1/2 turns",
    [BW_DIM_TEMPERATURE] = "a temperature such as 20 °C or 68 °F",
    [BW_DIM_MASS] = "a mass such as 412.5 g, 0.4 kg or 0.9 lb",
    [BW_DIM_VOLUME] = "a volume such as 42.5 cm3 or 2.6 in3",
    [BW_DIM_TIME] = "a time such as 30 s, 10 min or 4 h",
};

static const char *accepts(bw_dimension want) {
    return want < BW_DIM_COUNT ? accepted[want]
                               : "a number and its unit, such as 60 Nm or 0.063 mm";
}

/* Bytes of the separator at text (len >= 1), 0 where there is none. */
static size_t separator(const char *text, size_t len) {
    if (memchr(" .-*", text[0], 4) != NULL) {
        return 1;
    }
    if (len >= 2 && memcmp(text, "·", 2) == 0) {
        return 2;
    }
    return len >= 3 && memcmp(text, "⋅", 3) == 0 ? 3 : 0;
}

/* The unit's letters without separators, NUL-ended; false where they are too many, or where a
 * separator ends the text ("60 Nm." may be a sentence; "60 N-" is a slip). */
static bool squeeze(const char *text, size_t len, char out[UNIT_TEXT_MAX]) {
    size_t n = 0;
    size_t skipped = 0;
    for (size_t i = 0; i<len; i += skipped> 0 ? skipped : 1) {
        skipped = separator(text + i, len - i);
        if (skipped > 0 && i + skipped == len) {
            return false;
        }
        if (skipped == 0) {
            if (n + 1 == UNIT_TEXT_MAX) {
                return false;
            }
            out[n++] = text[i];
        }
    }
    out[n] = '\0';
    return n > 0;
}

static bool same_any_case(const char *lower, const char *text) {
    while (*lower != '\0' && *lower == (*text >= 'A' && *text <= 'Z' ? *text - 'A' + 'a' : *text)) {
        lower++;
        text++;
    }
    return *lower == *text;
}

static const spelling *find_spelling(const char *squeezed) {
    for (size_t i = 0; i < sizeof spellings / sizeof spellings[0]; i++) {
        const spelling *s = &spellings[i];
        if (s->any_case ? same_any_case(s->text, squeezed) : strcmp(s->text, squeezed) == 0) {
            return s;
        }
    }
    return NULL;
}

static const char *find_ambiguous(const char *squeezed, bw_dimension want) {
    for (size_t i = 0; i < sizeof ambiguous / sizeof ambiguous[0]; i++) {
        bool asked = ambiguous[i].want == BW_DIM_COUNT || ambiguous[i].want == want;
        if (asked && strcmp(ambiguous[i].text, squeezed) == 0) {
            return ambiguous[i].instead;
        }
    }
    return NULL;
}

static bool equals(const char *whole, const char *text, size_t len) {
    return strlen(whole) == len && memcmp(whole, text, len) == 0;
}

bool bw_unit_find(const char *text, size_t len, bw_unit *out) {
    for (bw_unit unit = BW_UNIT_NUMBER; unit < BW_UNIT_COUNT; unit++) {
        const bw_unit_info *info = bw_unit_of(unit);
        bool symbol = info->symbol[0] != '\0' && equals(info->symbol, text, len);
        if (symbol || equals(info->name, text, len) || equals(info->word, text, len)) {
            *out = unit;
            return true;
        }
    }
    char squeezed[UNIT_TEXT_MAX];
    const spelling *found = squeeze(text, len, squeezed) ? find_spelling(squeezed) : NULL;
    if (found == NULL) {
        return false;
    }
    *out = found->unit;
    return true;
}

/* What is left to read. */
typedef struct rest {
    const char *at;
    size_t len;
} rest;

static void skip(rest *r, size_t n) {
    r->at += n;
    r->len -= n;
}

static void trim(rest *r) {
    while (r->len > 0 && (r->at[0] == ' ' || r->at[0] == '\t')) {
        skip(r, 1);
    }
    while (r->len > 0 && (r->at[r->len - 1] == ' ' || r->at[r->len - 1] == '\t')) {
        r->len--;
    }
}

static size_t digits(const char *text, size_t len) {
    size_t n = 0;
    while (n < len && text[n] >= '0' && text[n] <= '9') {
        n++;
    }
    return n;
}

/* Bytes of digits and points at the front, with one sign before them. */
static size_t number_length(const rest *r) {
    size_t n = r->len > 0 && (r->at[0] == '+' || r->at[0] == '-') ? 1 : 0;
    while (n < r->len && ((r->at[n] >= '0' && r->at[n] <= '9') || memchr(".,", r->at[n], 2))) {
        n++;
    }
    return n;
}

/* 1,500 is one and a half to one reader and fifteen hundred to another; 0,063 and 54,9 are not. */
static bool thousands_like(const char *text, size_t len) {
    size_t sign = text[0] == '+' || text[0] == '-' ? 1 : 0;
    size_t whole = digits(text + sign, len - sign);
    size_t comma = sign + whole;
    return whole >= 1 && whole <= 3 && text[sign] != '0' && comma < len && text[comma] == ',' &&
           len - comma - 1 == 3;
}

/* Reads "N/D" at the front: N below D, D one of the rule's divisions.  *n is 0 where there is no
 * fraction. */
static bw_status read_fraction(const rest *r, size_t *n, bw_decimal *out, bw_err *err) {
    size_t above = digits(r->at, r->len);
    *n = 0;
    if (above == 0 || above >= r->len || r->at[above] != '/') {
        return BW_OK;
    }
    size_t below = digits(r->at + above + 1, r->len - above - 1);
    int top = 0;
    for (size_t i = 0; i < above && top < 100; i++) {
        top = top * 10 + (r->at[i] - '0');
    }
    int bottom = 0;
    for (size_t i = 0; i < below && bottom < 100; i++) {
        bottom = bottom * 10 + (r->at[above + 1 + i] - '0');
    }
    static const int divisions[] = {2, 4, 8, 16, 32, 64};
    for (int k = 0; k < 6; k++) {
        if (bottom == divisions[k] && top > 0 && top < bottom) {
            /* 1/2^k has exactly k decimals. */
            *out = (bw_decimal){(double)top / bottom, k + 1};
            *n = above + 1 + below;
            return BW_OK;
        }
    }
    return bw_fail(err, BW_E_DATA,
                   "a fraction such as 1/2, 3/4 or 3 1/2 is needed, with 2, 4, 8, 16, 32 or 64 "
                   "below and less above");
}

/* "3 1/2", "1/2", "-2.5", "0,063": moves r behind it. */
static bw_status read_number(rest *r, bw_decimal *out, bw_err *err) {
    size_t used = 0;
    bw_decimal fraction = {0, 0};
    bw_status s = read_fraction(r, &used, &fraction, err);
    if (s != BW_OK || used > 0) {
        *out = fraction;
        skip(r, used);
        return s;
    }
    size_t len = number_length(r);
    if (len > 0 && thousands_like(r->at, len)) {
        int comma = (int)len - 4;
        return bw_fail(err, BW_E_DATA, "%.*s can be read two ways: write %.*s.%.3s or %.*s%.3s",
                       (int)len, r->at, comma, r->at, r->at + comma + 1, comma, r->at,
                       r->at + comma + 1);
    }
    s = bw_decimal_parse(r->at, len, out, err);
    if (s != BW_OK) {
        return s;
    }
    skip(r, len);
    rest behind = *r;
    trim(&behind);
    if (out->decimals > 0 || behind.len == r->len) {
        return BW_OK; /* a mixed number is whole digits, a space, a fraction */
    }
    s = read_fraction(&behind, &used, &fraction, err);
    if (s == BW_OK && used > 0) {
        out->value = out->value +
                     (r->at[-(ptrdiff_t)len] == '-' ? -fraction.value : fraction.value);
        out->decimals = fraction.decimals;
        skip(&behind, used);
        *r = behind;
    }
    return s;
}

/* The unit that is left in r; an empty r takes the fallback. */
static bw_status read_unit(rest r, bw_dimension want, bw_unit fallback, bw_unit *out, bw_err *err) {
    if (r.len == 0) {
        if (fallback != BW_UNIT_COUNT || want == BW_DIM_NUMBER) {
            *out = fallback != BW_UNIT_COUNT ? fallback : BW_UNIT_NUMBER;
            return BW_OK;
        }
        return bw_fail(err, BW_E_DATA, "the unit is missing: write %s", accepts(want));
    }
    char squeezed[UNIT_TEXT_MAX];
    bool short_enough = squeeze(r.at, r.len, squeezed);
    const char *instead = short_enough ? find_ambiguous(squeezed, want) : NULL;
    if (instead != NULL) {
        return bw_fail(err, BW_E_DATA, "'%s' %s", squeezed, instead);
    }
    const spelling *found = short_enough ? find_spelling(squeezed) : NULL;
    if (found == NULL) {
        return bw_fail(err, BW_E_DATA, "'%.*s' is no unit known here: write %s",
                       r.len > 40 ? 40 : (int)r.len, r.at, accepts(want));
    }
    *out = found->unit;
    return BW_OK;
}

bw_status bw_quantity_parse(const char *text, size_t len, bw_dimension want, bw_unit fallback,
                            bw_quantity *out, bw_err *err) {
    rest r = {text, len};
    trim(&r);
    bw_decimal number = {0, 0};
    bw_status s = read_number(&r, &number, err);
    if (s != BW_OK) {
        return s;
    }
    trim(&r);
    bw_unit unit = BW_UNIT_NUMBER;
    s = read_unit(r, want, fallback, &unit, err);
    if (s != BW_OK) {
        return s;
    }
    bw_dimension is = bw_unit_of(unit)->dimension;
    if (want != BW_DIM_COUNT && is != want) {
        return bw_fail(err, BW_E_DATA, "'%s' is a unit of %s: %s is needed", bw_unit_of(unit)->name,
                       bw_dimension_name(is), accepts(want));
    }
    *out = (bw_quantity){number.value, unit, number.decimals};
    return BW_OK;
}

/* One unit of `from` in units of `to`, both of one dimension. */
static double ratio(bw_unit from, bw_unit to) {
    double zero = bw_from_base(bw_to_base(0, from), to);
    return fabs(bw_from_base(bw_to_base(1, from), to) - zero);
}

bw_status bw_quantity_to(bw_quantity q, bw_unit unit, bw_quantity *out, bw_err *err) {
    const bw_unit_info *from = bw_unit_of(q.unit);
    const bw_unit_info *to = bw_unit_of(unit);
    if (from == NULL || to == NULL || from->dimension != to->dimension) {
        return bw_fail(err, BW_E_ARG, "a %s cannot be given in a unit of %s",
                       from == NULL ? "quantity without unit" : bw_dimension_name(from->dimension),
                       to == NULL ? "nothing" : bw_dimension_name(to->dimension));
    }
    bw_quantity result = {bw_from_base(bw_to_base(q.value, q.unit), unit), unit, q.decimals};
    if (q.unit == unit) {
        result.value = q.value;
    } else if (q.decimals >= 0) {
        double step = pow(10, -q.decimals) * ratio(q.unit, unit) * (1 + 1e-12);
        result.decimals = 0;
        for (double unit_step = 1; unit_step > step && result.decimals < DECIMALS_MAX;
             unit_step = pow(10, -result.decimals)) {
            result.decimals++;
        }
    }
    *out = result;
    return BW_OK;
}

int bw_decimals_beside_limits(double value, double low, double high, int decimals) {
    for (int d = decimals; d < DECIMALS_MAX; d++) {
        double seen = bw_round_decimals(value, d);
        if ((seen < low) == (value < low) && (seen > high) == (value > high)) {
            return d;
        }
    }
    return DECIMALS_MAX;
}

/* Decimals for six significant digits, none of them a trailing zero. */
static void text_computed(double value, char *out, size_t size) {
    double magnitude = fabs(value);
    int decimals = 0;
    if (magnitude > 0 && magnitude < 1e6) {
        decimals = SIGNIFICANT - 1 - (int)floor(log10(magnitude));
        decimals = decimals > DECIMALS_MAX ? DECIMALS_MAX : decimals;
    }
    (void)bw_decimal_format(value, decimals, out, size);
    size_t len = strlen(out);
    while (decimals > 0 && (out[len - 1] == '0' || out[len - 1] == '.')) {
        decimals = out[len - 1] == '.' ? 0 : decimals;
        out[--len] = '\0';
    }
}

const char *bw_quantity_text(bw_quantity q, char *out, size_t size) {
    char number[NUMBER_TEXT_MAX];
    if (q.decimals < 0) {
        text_computed(q.value, number, sizeof number);
    } else {
        (void)bw_decimal_format(q.value, q.decimals > DECIMALS_MAX ? DECIMALS_MAX : q.decimals,
                                number, sizeof number);
    }
    const bw_unit_info *info = bw_unit_of(q.unit);
    const char *symbol = info == NULL ? "?" : info->symbol;
    const char *space = q.unit == BW_UNIT_DEG || symbol[0] == '\0' ? "" : " ";
    (void)snprintf(out, size, "%s%s%s", number, space, symbol);
    return out;
}
