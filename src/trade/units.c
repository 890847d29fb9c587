/* units.c - the table of units and their exact factors; see units.h.
 *
 * Room: trade (pure).  Numerator and denominator of every factor are whole numbers that a double
 * holds exactly (the radian apart, whose factor is irrational), so a conversion rounds twice at
 * most and no factor is itself rounded.
 *
 * Sources.  1 in = 25.4 mm and 1 lb = 0.45359237 kg: international yard and pound, 1959.
 * g0 = 9.80665 m/s2: 3rd CGPM, 1901.  Everything else follows from these:
 *   lbf    = 0.45359237 * 9.80665          = 4.4482216152605 N
 *   lbf.ft = lbf * 0.3048 m                = 1.3558179483314004 N.m
 *   psi    = lbf / (25.4 mm)^2             = 0.006894757293168361... MPa
 *   ozf    = lbf / 16;  kgf = 9.80665 N;  in3 = 25.4^3 mm3. */
#include "trade/units.h"

#include <stddef.h>

typedef struct unit_row {
    bw_unit_info info;
    double numerator, denominator; /* base = (value - zero) * numerator / denominator */
    double zero;                   /* degF only: where the base unit's zero lies */
} unit_row;

static const double pi = 3.14159265358979323846;

#define ROW(unit, dimension, name, symbol, word, numerator, denominator, zero)                     \
    [BW_UNIT_##unit] = {                                                                           \
        {BW_UNIT_##unit, BW_DIM_##dimension, name, symbol, word}, numerator, denominator, zero}

static const unit_row rows[BW_UNIT_COUNT] = {
    ROW(NUMBER, NUMBER, "1", "", "number", 1, 1, 0),
    ROW(NM, TORQUE, "N.m", "N·m", "Nm", 1, 1, 0),
    ROW(LBF_FT, TORQUE, "lbf.ft", "lbf·ft", "lbf_ft", 3389544870828501, 2.5e15, 0),
    ROW(LBF_IN, TORQUE, "lbf.in", "lbf·in", "lbf_in", 1129848290276167, 1e16, 0),
    ROW(KGF_M, TORQUE, "kgf.m", "kgf·m", "kgf_m", 196133, 20000, 0),
    ROW(KGF_CM, TORQUE, "kgf.cm", "kgf·cm", "kgf_cm", 196133, 2000000, 0),
    ROW(OZF_IN, TORQUE, "ozf.in", "ozf·in", "ozf_in", 1129848290276167, 1.6e17, 0),
    ROW(DNM, TORQUE, "dN.m", "dN·m", "dNm", 1, 10, 0),
    ROW(N, FORCE, "N", "N", "N", 1, 1, 0),
    ROW(KN, FORCE, "kN", "kN", "kN", 1000, 1, 0),
    ROW(LBF, FORCE, "lbf", "lbf", "lbf", 8896443230521, 2e12, 0),
    ROW(KGF, FORCE, "kgf", "kgf", "kgf", 196133, 20000, 0),
    ROW(MM, LENGTH, "mm", "mm", "mm", 1, 1, 0),
    ROW(UM, LENGTH, "um", "µm", "um", 1, 1000, 0),
    ROW(CM, LENGTH, "cm", "cm", "cm", 10, 1, 0),
    ROW(M, LENGTH, "m", "m", "m", 1000, 1, 0),
    ROW(IN, LENGTH, "in", "in", "inch", 127, 5, 0),
    ROW(THOU, LENGTH, "thou", "thou", "thou", 127, 5000, 0),
    ROW(MPA, STRESS, "MPa", "MPa", "MPa", 1, 1, 0),
    ROW(PSI, STRESS, "psi", "psi", "psi", 8896443230521, 1.29032e15, 0),
    ROW(KSI, STRESS, "ksi", "ksi", "ksi", 8896443230521, 1.29032e12, 0),
    ROW(BAR, STRESS, "bar", "bar", "bar", 1, 10, 0),
    ROW(DEG, ANGLE, "deg", "°", "deg", 1, 1, 0),
    ROW(TURN, ANGLE, "turn", "turn", "turn", 360, 1, 0),
    ROW(RAD, ANGLE, "rad", "rad", "rad", 180, pi, 0),
    ROW(DEGC, TEMPERATURE, "degC", "°C", "degC", 1, 1, 0),
    ROW(DEGF, TEMPERATURE, "degF", "°F", "degF", 5, 9, 32),
    ROW(KG, MASS, "kg", "kg", "kg", 1, 1, 0),
    ROW(G, MASS, "g", "g", "g", 1, 1000, 0),
    ROW(LB, MASS, "lb", "lb", "lb", 45359237, 1e8, 0),
    ROW(MM3, VOLUME, "mm3", "mm³", "mm3", 1, 1, 0),
    ROW(CM3, VOLUME, "cm3", "cm³", "cm3", 1000, 1, 0),
    ROW(IN3, VOLUME, "in3", "in³", "in3", 2048383, 125, 0),
    ROW(S, TIME, "s", "s", "s", 1, 1, 0),
    ROW(MIN, TIME, "min", "min", "min", 60, 1, 0),
    ROW(H, TIME, "h", "h", "h", 3600, 1, 0),
    ROW(PERCENT, NUMBER, "%", "%", "percent", 1, 100, 0),
};

static const struct {
    const char *name;
    bw_unit base;
} dimensions[BW_DIM_COUNT] = {
    [BW_DIM_NUMBER] = {"number", BW_UNIT_NUMBER},
    [BW_DIM_TORQUE] = {"torque", BW_UNIT_NM},
    [BW_DIM_FORCE] = {"force", BW_UNIT_N},
    [BW_DIM_LENGTH] = {"length", BW_UNIT_MM},
    [BW_DIM_STRESS] = {"stress", BW_UNIT_MPA},
    [BW_DIM_ANGLE] = {"angle", BW_UNIT_DEG},
    [BW_DIM_TEMPERATURE] = {"temperature", BW_UNIT_DEGC},
    [BW_DIM_MASS] = {"mass", BW_UNIT_KG},
    [BW_DIM_VOLUME] = {"volume", BW_UNIT_MM3},
    [BW_DIM_TIME] = {"time", BW_UNIT_S},
};

static const unit_row *row_of(bw_unit unit) {
    return (unsigned)unit < BW_UNIT_COUNT ? &rows[unit] : &rows[BW_UNIT_NUMBER];
}

const bw_unit_info *bw_unit_of(bw_unit unit) {
    return (unsigned)unit < BW_UNIT_COUNT ? &rows[unit].info : NULL;
}

const char *bw_dimension_name(bw_dimension dimension) {
    return (unsigned)dimension < BW_DIM_COUNT ? dimensions[dimension].name : "unknown quantity";
}

bw_unit bw_dimension_base(bw_dimension dimension) {
    return (unsigned)dimension < BW_DIM_COUNT ? dimensions[dimension].base : BW_UNIT_COUNT;
}

double bw_to_base(double value, bw_unit unit) {
    const unit_row *row = row_of(unit);
    return (value - row->zero) * row->numerator / row->denominator;
}

double bw_from_base(double base_value, bw_unit unit) {
    const unit_row *row = row_of(unit);
    return base_value * row->denominator / row->numerator + row->zero;
}
