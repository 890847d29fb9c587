/* digits.c - see digits.h.
 *
 * A double is m * 2^-s; all that is compared is brought to one scale, 10^-k * 2^-s, where it is a
 * whole number of less than 128 bits.  Ties and the edges of a power of two are left to the slow
 * way. */
#include "record/digits.h"

#include <string.h>

__extension__ typedef unsigned __int128 wide;

enum { MANTISSA_BITS = 52, BIAS = 1075, SHIFT_MAX = 62, BEHIND_MAX = 19 };

typedef struct parts {
    uint64_t m;
    unsigned shift;
} parts;

static const uint64_t powers[] = {1u,
                                  10u,
                                  100u,
                                  1000u,
                                  10000u,
                                  100000u,
                                  1000000u,
                                  10000000u,
                                  100000000u,
                                  1000000000u,
                                  10000000000u,
                                  100000000000u,
                                  1000000000000u,
                                  10000000000000u,
                                  100000000000000u,
                                  1000000000000000u,
                                  10000000000000000u,
                                  100000000000000000u,
                                  1000000000000000000u,
                                  10000000000000000000u};

/* False where the double is not of a middling size. */
static bool take_apart(double value, parts *out) {
    uint64_t bits = 0;
    memcpy(&bits, &value, sizeof bits);
    int shift = BIAS - (int)(bits >> MANTISSA_BITS);
    uint64_t fraction = bits & (((uint64_t)1 << MANTISSA_BITS) - 1);
    *out = (parts){fraction | (uint64_t)1 << MANTISSA_BITS, (unsigned)shift};
    return shift >= 1 && shift <= SHIFT_MAX && fraction > 4 &&
           fraction < ((uint64_t)1 << MANTISSA_BITS) - 4;
}

static wide distance(wide a, wide b) {
    return a > b ? a - b : b - a;
}

/* Whether the decimal value / 10^k is nearer to the double than to any other. */
static bool reads_as(uint64_t value, size_t k, const parts *of) {
    return distance((wide)value << of->shift, (wide)of->m * powers[k]) * 2 < powers[k];
}

/* The double rounded to k decimals; false at a tie. */
static bool round_to(const parts *of, size_t k, uint64_t *out) {
    wide exact = (wide)of->m * powers[k];
    wide one = (wide)1 << of->shift;
    wide rest = exact & (one - 1);
    *out = (uint64_t)(exact >> of->shift) + (rest * 2 > one ? 1 : 0);
    return rest * 2 != one;
}

/* Fewer digits do not lead back to it. */
static bool shortest(const parts *of, size_t digits, size_t behind) {
    for (size_t fewer = digits - 1; fewer >= 15; fewer--) {
        size_t cut = digits - fewer;
        uint64_t value = 0;
        if (cut > behind || !round_to(of, behind - cut, &value) ||
            reads_as(value, behind - cut, of)) {
            return false;
        }
    }
    return true;
}

bool bw_digits_read(uint64_t value, size_t digits, size_t behind, double *out) {
    parts is;
    uint64_t rounded = 0;
    if (behind > BEHIND_MAX || digits < 16 || digits > 17) {
        return false;
    }
    /* A few steps of the last place off at the most. */
    double near = (double)value / (double)powers[behind];
    if (!take_apart(near, &is)) {
        return false;
    }
    for (uint64_t m = is.m - 2, i = 0; i < 5; i++) {
        is.m = m + i;
        if (reads_as(value, behind, &is)) {
            break;
        }
    }
    uint64_t bits = 0;
    memcpy(&bits, &near, sizeof bits);
    bits = (bits >> MANTISSA_BITS << MANTISSA_BITS) | (is.m & (((uint64_t)1 << MANTISSA_BITS) - 1));
    memcpy(out, &bits, sizeof bits);
    return reads_as(value, behind, &is) && round_to(&is, behind, &rounded) && rounded == value &&
           shortest(&is, digits, behind);
}
