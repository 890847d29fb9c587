/* digits.h - is this decimal the one text of a double?
 *
 * Room-private. */
#ifndef BW_RECORD_DIGITS_H
#define BW_RECORD_DIGITS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* value / 10^behind, written with `digits` significant digits (16 or 17) and no zero at its end:
 * true, and the nearest double in *out, where bw_number_text writes just these digits for it.
 * False also where that cannot be told quickly. */
bool bw_digits_read(uint64_t value, size_t digits, size_t behind, double *out);

#endif
