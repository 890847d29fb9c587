/* decimal.h - numbers as people and instruments write them, the same under every locale.
 *
 * Room: base.  Pure. */
#ifndef BW_BASE_DECIMAL_H
#define BW_BASE_DECIMAL_H

#include "base/status.h"

#include <stddef.h>

/* What a decimal text says: its value, and how many digits stand behind the point. */
typedef struct bw_decimal {
    double value; /* correctly rounded; finite */
    int decimals; /* >= 0; the resolution is 10^-decimals */
} bw_decimal;

/* Reads one decimal number that fills text[0..len): optional sign, digits, optional one point or
 * comma with digits on at least one side.  No exponent, no spaces, no thousands marks, no
 * hexadecimal, no nan or inf, at most 30 characters.
 *
 * Returns BW_OK; BW_E_DATA with a line that names what is wrong; out untouched then. */
BW_MUST_USE bw_status bw_decimal_parse(const char *text, size_t len, bw_decimal *out, bw_err *err);

/* Writes value with exactly `decimals` digits (0 to 15), rounded half away from zero on the decimal
 * value to within 1 in 10^12; always with a point; minus zero is written as zero.  Not finite: "-".
 * Returns out. */
const char *bw_decimal_format(double value, int decimals, char *out, size_t size);

/* The shortest text that reads back as exactly this double (17 digits at most), with a point or
 * exponent only where needed; locale-free.  Returns out; size >= 32.  Not finite: "null". */
const char *bw_number_text(double value, char *out, size_t size);

/* Reads what bw_number_text wrote and JSON or CSV numbers (sign, digits, point, exponent), the
 * whole of text[0..len).  BW_E_DATA for anything else, nan, inf and overflow included. */
BW_MUST_USE bw_status bw_number_parse(const char *text, size_t len, double *out, bw_err *err);

/* value rounded to a multiple of 10^-decimals (half away from zero).  Comparison with a limit is
 * done on values rounded so, never on a hair of a double.  decimals 0 to 12. */
double bw_round_decimals(double value, int decimals);

#endif
