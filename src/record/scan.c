/* scan.c - see scan.h. */
#include "record/scan.h"

#include "record/digits.h"
#include "record/json.h"

#include <string.h>

enum {
    DIGITS_MAX = 15, /* a double keeps so many, whatever they are */
    DECIMALS_MAX = 17
};

bool bw_scan_eat(bw_scan *s, char c) {
    bool met = s->at < s->end && *s->at == c;
    s->at += met ? 1 : 0;
    return met;
}

/* Zero where all eight bytes stand for themselves: ASCII that can be shown, no quote, no backslash.
 * A byte that does not makes its high bit come out, and perhaps that of the byte above. */
static uint64_t odd_bytes(uint64_t x) {
    const uint64_t ones = 0x0101010101010101u;
    uint64_t below_space = x - ones * 0x20;
    uint64_t quote = (x ^ ones * '"') - ones;
    uint64_t backslash = (x ^ ones * '\\') - ones;
    uint64_t delete = x + ones;
    return (x | below_space | quote | backslash | delete) & ones * 0x80;
}

/* Copies bytes that stand for themselves, eight at a time; how many it were. */
static size_t copy_plain(const bw_scan *s, char *to) {
    size_t n = 0;
    while (s->end - s->at >= (ptrdiff_t)(n + 8) && s->room_end - to >= (ptrdiff_t)(n + 8)) {
        uint64_t x = 0;
        memcpy(&x, s->at + n, sizeof x);
        if (odd_bytes(x) != 0) {
            break;
        }
        memcpy(to + n, &x, sizeof x);
        n += 8;
    }
    return n;
}

/* The character that the escape behind a backslash stands for; 0: none that is allowed. */
static char escaped(char c, bool lines) {
    return c == '"' || c == '\\' ? c : !lines ? '\0' : c == 'n' ? '\n' : c == 't' ? '\t' : '\0';
}

/* One character, or a part of one; '\0' where it may not stand there. */
static char take_char(bw_scan *s, bool lines) {
    unsigned char c = (unsigned char)*s->at++;
    if (c == '\\') {
        return s->at < s->end ? escaped(*s->at++, lines) : '\0';
    }
    return c >= 0x20 && c != 0x7F ? (char)c : '\0';
}

bool bw_scan_text(bw_scan *s, bool lines, const char **out, size_t *len) {
    bool ascii = true;
    char *to = s->room;
    if (!bw_scan_eat(s, '"')) {
        return false;
    }
    while (s->at < s->end && *s->at != '"') {
        size_t n = copy_plain(s, to);
        s->at += n;
        to += n;
        if (n == 0) {
            if (to >= s->room_end || (*to = take_char(s, lines)) == '\0') {
                return false;
            }
            ascii = ascii && (unsigned char)*to < 0x80;
            to++;
        }
    }
    if (to >= s->room_end) {
        return false;
    }
    *to = '\0';
    *out = s->room;
    *len = (size_t)(to - s->room);
    s->room = to + 1;
    return bw_scan_eat(s, '"') && (ascii || bw_json_readable(*out, *len, lines));
}

/* A list of words, into the room as one text. */
bool bw_scan_words(bw_scan *s, const char **out) {
    const char *word = NULL;
    size_t len = 0;
    char *begin = s->room;
    if (!bw_scan_eat(s, '[') || begin >= s->room_end) {
        return false;
    }
    *begin = '\0';
    *out = begin;
    if (bw_scan_eat(s, ']')) {
        s->room = begin + 1;
        return true;
    }
    do {
        if (s->room > begin) {
            s->room[-1] = ' ';
        }
        if (!bw_scan_text(s, false, &word, &len) || len == 0 || memchr(word, ' ', len) != NULL) {
            return false;
        }
    } while (bw_scan_eat(s, ','));
    return bw_scan_eat(s, ']');
}

/* Digits without a leading zero, at most max; false where there are none or more. */
static bool take_digits(bw_scan *s, size_t max, uint64_t *value, size_t *n) {
    const char *begin = s->at;
    *value = 0;
    while (s->at < s->end && *s->at >= '0' && *s->at <= '9' && (size_t)(s->at - begin) <= max) {
        *value = *value * 10 + (uint64_t)(*s->at++ - '0');
    }
    *n = (size_t)(s->at - begin);
    return *n > 0 && *n <= max && (*n == 1 || *begin != '0');
}

bool bw_scan_whole(bw_scan *s, int64_t *out) {
    uint64_t value = 0;
    size_t n = 0;
    bool minus = bw_scan_eat(s, '-');
    if (!take_digits(s, 18, &value, &n) || (minus && value == 0)) {
        return false;
    }
    *out = minus ? -(int64_t)value : (int64_t)value;
    return true;
}

/* Up to 15 digits are the same again when C's %.15g writes them: no exponent, none of the zeros
 * that it leaves out.  Both parts of the quotient are exact, so it is rounded once and rightly. */
bool bw_scan_number(bw_scan *s, double *out) {
    static const double powers[] = {1e0, 1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,
                                    1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17};
    uint64_t value = 0;
    size_t before = 0;
    size_t behind = 0;
    size_t zeros_behind = 0; /* before the first digit that counts */
    bool minus = bw_scan_eat(s, '-');
    if (!take_digits(s, DIGITS_MAX, &value, &before)) {
        return false;
    }
    bool below_one = value == 0;
    if (bw_scan_eat(s, '.')) {
        for (; s->at < s->end && *s->at >= '0' && *s->at <= '9' && behind < DECIMALS_MAX;
             behind++) {
            zeros_behind += value == 0 && *s->at == '0' ? 1 : 0;
            value = value * 10 + (uint64_t)(*s->at++ - '0');
        }
        if (behind == 0 || s->at[-1] == '0') {
            return false;
        }
    }
    /* Below a thousandth it may be written with an exponent. */
    size_t digits = below_one ? behind - zeros_behind : before + behind;
    if (zeros_behind > 2 || digits > DIGITS_MAX + 2 || (value == 0 && (minus || behind > 0))) {
        return false;
    }
    double number = 0;
    if (digits <= DIGITS_MAX) {
        number = (double)value / powers[behind];
    } else if (!bw_digits_read(value, digits, behind, &number)) {
        return false;
    }
    *out = minus ? -number : number;
    return true;
}

bool bw_scan_word(bw_scan *s, const char *word, size_t len) {
    bool met = (size_t)(s->end - s->at) >= len && memcmp(s->at, word, len) == 0;
    s->at += met ? len : 0;
    return met;
}

bool bw_scan_flag(bw_scan *s, bool *out) {
    *out = bw_scan_word(s, "true", 4);
    return *out || bw_scan_word(s, "false", 5);
}
