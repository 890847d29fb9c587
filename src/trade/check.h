/* check.h - an argument inside the range in which it has a meaning, or one line that says so.
 *
 * Room: trade (pure).  The names are those that sequences and `calc` use for the arguments. */
#ifndef BW_TRADE_CHECK_H
#define BW_TRADE_CHECK_H

#include "base/status.h"

#include <stddef.h>

/* One argument: both ends belong to the range.  unit is put behind the numbers as it is (" mm"). */
typedef struct bw_range {
    const char *name;
    double value;
    double least, most;
    const char *unit;
} bw_range;

/* BW_OK where every value lies in its range; BW_E_DATA with "friction_thread is 1.7: 0 to 1.5 is
 * needed" for the first that does not (NaN lies in none). */
BW_MUST_USE bw_status bw_check(const bw_range *range, size_t n, bw_err *err);

/* The same over a list written on the spot: BW_CHECK(err, {...}, {...}). */
#define BW_CHECK(err, ...)                                                                         \
    bw_check((const bw_range[]){__VA_ARGS__},                                                      \
             sizeof((const bw_range[]){__VA_ARGS__}) / sizeof(bw_range), err)

/* Every value of a list in one range, and at least n_least of them; "readings 3 is ...". */
BW_MUST_USE bw_status bw_check_list(const char *name, const double *value, size_t n, size_t n_least,
                                    double least, double most, const char *unit, bw_err *err);

/* The usual ranges.  Upper ends are far beyond any bench and only catch slips of unit. */
#define BW_RANGE_DIAMETER(name, v)                                                                 \
    { name, v, 0.1, 10000, " mm" }
#define BW_RANGE_LENGTH(name, v)                                                                   \
    { name, v, 0, 100000, " mm" }
#define BW_RANGE_GAP(name, v)                                                                      \
    { name, v, -1000, 1000, " mm" }
#define BW_RANGE_FRICTION(name, v)                                                                 \
    { name, v, 0, 1.5, "" }
#define BW_RANGE_TORQUE(name, v)                                                                   \
    { name, v, 0, 1000000, " N.m" }
#define BW_RANGE_FORCE(name, v)                                                                    \
    { name, v, 0, 100000000, " N" }
#define BW_RANGE_STRESS(name, v)                                                                   \
    { name, v, 1, 5000, " MPa" }
#define BW_RANGE_MODULUS(name, v)                                                                  \
    { name, v, 100, 1000000, " MPa" }
#define BW_RANGE_FACTOR(name, v)                                                                   \
    { name, v, 0.01, 2, "" }

#endif
