/* words.c - see words.h. */
#include "words.h"

#include <stddef.h>
#include <string.h>

/* N.m in one of each.  All follow without rounding from three definitions: the pound is
 * 0.45359237 kg and the yard 0.9144 m (international agreement of 1959), the standard gravity is
 * 9.80665 m/s2 (3rd CGPM, 1901).  So lbf = 4.4482216152605 N, ft = 0.3048 m, in = 0.0254 m. */
static const double unit_factor_Nm[] = {
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

double unit_Nm(unit_kind unit) {
    return unit_factor_Nm[unit];
}

bool is_digit(uint8_t c) {
    return c >= '0' && c <= '9';
}

uint8_t peek(const cursor *c) {
    return c->at < c->end ? *c->at : 0; /* a NUL in the line matches nothing either */
}

bool take_byte(cursor *c, uint8_t byte) {
    if (c->at < c->end && *c->at == byte) {
        c->at++;
        return true;
    }
    return false;
}

/* Takes word, in capitals where asked. */
bool take_word(cursor *c, const char *word, bool in_capitals) {
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

void skip_blanks(cursor *c) {
    while (peek(c) == ' ' || peek(c) == '\t') {
        c->at++;
    }
}

bool at_word_end(const cursor *c) {
    return c->at == c->end || *c->at == ' ' || *c->at == '\t' || *c->at == '@';
}

/* Digits with at most one point or comma, and a digit behind it. */
bool take_digits(cursor *c, double *out) {
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
bool take_number(cursor *c, double *out) {
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
bool take_sign(cursor *c, uint8_t latin1) {
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

unit_kind take_unit(cursor *c) {
    for (size_t i = 0; i < sizeof spellings / sizeof spellings[0]; i++) {
        const spelling *s = &spellings[i];
        if (take_spelling(c, s, false) || (s->capitals && take_spelling(c, s, true))) {
            return s->kind;
        }
    }
    return UNIT_NONE;
}

/* ---- settings ---- */

int word_index(const char *value, const char *const *words) {
    for (int i = 0; words[i] != NULL; i++) {
        if (strcmp(value, words[i]) == 0) {
            return i;
        }
    }
    return -1;
}

static cursor cursor_on(const char *value) {
    const uint8_t *at = (const uint8_t *)value;
    return (cursor){at, at + strlen(value)};
}

bool whole_number(const char *value, unsigned least, unsigned most, unsigned *out) {
    unsigned number = 0;
    size_t digits = strspn(value, "0123456789");
    for (size_t i = 0; i < digits && number <= most; i++) {
        number = number * 10 + (unsigned)(value[i] - '0');
    }
    if (digits == 0 || digits > 9 || value[digits] != '\0' || number < least || number > most) {
        return false;
    }
    *out = number;
    return true;
}

bool whole_decimal(const char *value, double *out) {
    cursor c = cursor_on(value);
    return take_number(&c, out) && c.at == c.end;
}

bool whole_unit(const char *value, unit_kind *out) {
    cursor c = cursor_on(value);
    *out = take_unit(&c);
    return *out != UNIT_NONE && c.at == c.end;
}
