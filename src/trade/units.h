/* units.h - quantities: a number with its unit, kept as it was written.
 *
 * Room: trade (pure: no I/O, clock, locale, allocation).
 * Factors are exact rationals; sources stand beside each row of the table in units.c.
 * Inside the program everything is in the base unit of its dimension: N.m, N, mm, MPa, degree, s,
 * degC, kg, mm3. */
#ifndef BW_TRADE_UNITS_H
#define BW_TRADE_UNITS_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

typedef enum bw_dimension {
    BW_DIM_NUMBER = 0, /* no unit: a count, a factor */
    BW_DIM_TORQUE,
    BW_DIM_FORCE,
    BW_DIM_LENGTH,
    BW_DIM_STRESS,
    BW_DIM_ANGLE,
    BW_DIM_TEMPERATURE,
    BW_DIM_MASS,
    BW_DIM_VOLUME,
    BW_DIM_TIME,
    BW_DIM_COUNT
} bw_dimension;

typedef enum bw_unit {
    BW_UNIT_NUMBER = 0,
    BW_UNIT_NM, /* N.m */
    BW_UNIT_LBF_FT,
    BW_UNIT_LBF_IN,
    BW_UNIT_KGF_M,
    BW_UNIT_KGF_CM,
    BW_UNIT_OZF_IN,
    BW_UNIT_DNM, /* dN.m */
    BW_UNIT_N,
    BW_UNIT_KN,
    BW_UNIT_LBF,
    BW_UNIT_KGF,
    BW_UNIT_MM,
    BW_UNIT_UM,
    BW_UNIT_CM,
    BW_UNIT_M,
    BW_UNIT_IN,
    BW_UNIT_THOU,
    BW_UNIT_MPA,
    BW_UNIT_PSI,
    BW_UNIT_KSI,
    BW_UNIT_BAR,
    BW_UNIT_DEG,
    BW_UNIT_TURN,
    BW_UNIT_RAD,
    BW_UNIT_DEGC,
    BW_UNIT_DEGF,
    BW_UNIT_KG,
    BW_UNIT_G,
    BW_UNIT_LB,
    BW_UNIT_MM3,
    BW_UNIT_CM3,
    BW_UNIT_IN3,
    BW_UNIT_S,
    BW_UNIT_MIN,
    BW_UNIT_H,
    BW_UNIT_PERCENT,
    BW_UNIT_COUNT
} bw_unit;

/* One row of the table of units. */
typedef struct bw_unit_info {
    bw_unit unit;
    bw_dimension dimension;
    const char *name;   /* stored in records and JSON: "N.m", "lbf.ft", "mm", "deg" */
    const char *symbol; /* shown to people: "N·m", "lbf·ft", "mm", "°" */
    const char *word;   /* the constructor's name in sequences: "Nm", "lbf_ft", "mm", "deg" */
} bw_unit_info;

/* A number as it was written: value in `unit`, decimals as many digits as were written behind the
 * point (>= 0), or -1 where it was computed and has none of its own. */
typedef struct bw_quantity {
    double value;
    bw_unit unit;
    int decimals;
} bw_quantity;

/* Static storage, never NULL for a valid unit; NULL outside of the enum. */
const bw_unit_info *bw_unit_of(bw_unit unit);

/* Finds a unit by its stored name, its constructor's word, its symbol, or any spelling that the
 * reader of quantities accepts ("Nm", "ft-lb", "in lbf", "thou", "um").  The whole of text[0..len).
 * False where it is none. */
bool bw_unit_find(const char *text, size_t len, bw_unit *out);

/* "torque", "length" ...: for messages.  Static, never NULL. */
const char *bw_dimension_name(bw_dimension dimension);

/* The base unit of a dimension. */
bw_unit bw_dimension_base(bw_dimension dimension);

/* To and from the base unit of the quantity's dimension.  value must be finite. */
double bw_to_base(double value, bw_unit unit);
double bw_from_base(double base_value, bw_unit unit);

/* The quantity in another unit of the same dimension, decimals chosen so that the resolution is no
 * coarser than what was written.  BW_E_ARG where the dimensions differ. */
BW_MUST_USE bw_status bw_quantity_to(bw_quantity q, bw_unit unit, bw_quantity *out, bw_err *err);

/* Reads a quantity as people write it: `60 Nm`, `28 ft-lb`, `0,063 mm`, `.0025 in`, `2.5 thou`,
 * `3 1/2 turns`, `90°`.  A bare number takes fallback (BW_UNIT_COUNT: a bare number is refused,
 * unless want is BW_DIM_NUMBER).
 * Anything ambiguous is refused with what would be accepted.  want (BW_DIM_COUNT: any) is the
 * dimension asked for.
 *
 * Returns BW_OK; BW_E_DATA with one line; out untouched then. */
BW_MUST_USE bw_status bw_quantity_parse(const char *text, size_t len, bw_dimension want,
                                        bw_unit fallback, bw_quantity *out, bw_err *err);

/* The fewest decimals, `decimals` or more and at most 12, with which value is seen on the same side
 * of both limits as it is (limits inclusive, -INFINITY or INFINITY: none; all in one unit): 0.1004
 * beside the limit 0.100 is shown with four digits, so that display turns no fail into a pass. */
int bw_decimals_beside_limits(double value, double low, double high, int decimals);

/* "60.0 N·m": value with its decimals (-1: up to six significant digits), a space, the symbol
 * (no space before °).  Returns out. */
const char *bw_quantity_text(bw_quantity q, char *out, size_t size);

#endif
