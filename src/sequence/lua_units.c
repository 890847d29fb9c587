/* lua_units.c - quantities in Lua: `Nm(60)`, sums, comparisons, `to(q, "lbf.ft")`.
 *
 * A quantity remembers where it was written, so that a mistake about it names that line.  See
 * lua_sandbox.h. */
#include "sequence/lua_sandbox.h"

#include "base/decimal.h"
#include "base/text.h"

#include <lauxlib.h>
#include <math.h>
#include <string.h>

enum { TEXT_MAX = 64, DECIMALS_MAX = 12 };

static const char quantity_name[] = "quantity";

/* Two quantities this near to each other, relative to their size, are the same: what a conversion
 * there and back leaves. */
static const double same_share = 1e-12;

const bw_lua_quantity *bw_lua_quantity_at(lua_State *L, int index) {
    return luaL_testudata(L, index, quantity_name);
}

void bw_lua_push_quantity(lua_State *L, bw_quantity quantity) {
    bw_lua_quantity *held = lua_newuserdatauv(L, sizeof *held, 0);
    *held = (bw_lua_quantity){.quantity = quantity, .spot = bw_lua_spot(L)};
    luaL_setmetatable(L, quantity_name);
}

static bw_dimension dimension_of(bw_quantity q) {
    return bw_unit_of(q.unit)->dimension;
}

static double base_of(bw_quantity q) {
    return bw_to_base(q.value, q.unit);
}

/* ---- making ---- */

/* Digits behind the point in the shortest text of the number: the author's own digits. */
static int decimals_written(double value) {
    char text[TEXT_MAX];
    (void)bw_number_text(value, text, sizeof text);
    const char *point = strchr(text, '.');
    if (!isfinite(value) || strchr(text, 'e') != NULL) {
        return -1;
    }
    size_t n = point == NULL ? 0 : strlen(point + 1);
    return n <= DECIMALS_MAX ? (int)n : -1;
}

static int make_quantity(lua_State *L) {
    bw_unit unit = (bw_unit)lua_tointeger(L, lua_upvalueindex(1));
    const char *word = bw_unit_of(unit)->word;
    if (bw_lua_is_reported(L, 1)) {
        lua_settop(L, 1);
        return 1;
    }
    const bw_lua_quantity *already = bw_lua_quantity_at(L, 1);
    if (already != NULL) {
        return bw_lua_mistake(L,
                              "%s takes a bare number; a quantity is converted by to(..., \"%s\")",
                              word, bw_unit_of(unit)->name);
    }
    if (lua_gettop(L) != 1 || lua_type(L, 1) != LUA_TNUMBER) {
        char what[BW_DESCRIBE_MAX];
        return bw_lua_mistake(L, "%s takes one number, as in %s(12.5), not %s", word, word,
                              bw_lua_describe(L, 1, what, sizeof what));
    }
    double value = lua_tonumber(L, 1);
    bw_lua_push_quantity(L, (bw_quantity){value, unit, decimals_written(value)});
    return 1;
}

/* to(q, "lbf.ft") */
static int convert(lua_State *L) {
    if (bw_lua_is_reported(L, 1)) {
        lua_settop(L, 1);
        return 1;
    }
    const bw_lua_quantity *from = bw_lua_quantity_at(L, 1);
    size_t len = 0;
    const char *name = lua_type(L, 2) == LUA_TSTRING ? lua_tolstring(L, 2, &len) : NULL;
    bw_unit unit = BW_UNIT_NUMBER;
    if (from == NULL || name == NULL) {
        return bw_lua_mistake(L,
                              "to takes a quantity and a unit in quotes: to(Nm(60), \"lbf.ft\")");
    }
    if (!bw_unit_find(name, len, &unit)) {
        return bw_lua_mistake(L, "`%s` is no unit that is known here", name);
    }
    bw_quantity out = {0, unit, -1};
    bw_err err = {.code = BW_OK, .text = ""};
    if (!isfinite(from->quantity.value) ||
        bw_quantity_to(from->quantity, unit, &out, &err) != BW_OK) {
        return bw_lua_mistake(L, "a %s cannot be given in %s",
                              bw_dimension_name(dimension_of(from->quantity)), name);
    }
    bw_lua_push_quantity(L, out);
    return 1;
}

/* ---- a figure that the manual gives twice ---- */

/* Half of the last digit that was written, in the base unit: what rounding may have taken. */
static double rounding_of(bw_quantity q) {
    double one = bw_to_base(1, q.unit) - bw_to_base(0, q.unit);
    return q.decimals < 0 ? 0 : one * pow(10, -q.decimals) / 2;
}

/* both(Nm(60), lbf_ft(44)): the first, where one may be the other, converted and rounded. */
static int both(lua_State *L) {
    for (int i = 1; i <= 2; i++) {
        if (bw_lua_is_reported(L, i)) {
            lua_pushvalue(L, i);
            return 1;
        }
    }
    const bw_lua_quantity *a = bw_lua_quantity_at(L, 1);
    const bw_lua_quantity *b = bw_lua_quantity_at(L, 2);
    if (a == NULL || b == NULL || dimension_of(a->quantity) != dimension_of(b->quantity)) {
        return bw_lua_mistake(L, "both takes one figure in two units: both(Nm(60), lbf_ft(44))");
    }
    double apart = fabs(base_of(a->quantity) - base_of(b->quantity));
    double allowed = fmax(rounding_of(a->quantity), rounding_of(b->quantity));
    double hair = same_share * fabs(base_of(a->quantity));
    if (!(apart <= allowed + hair)) {
        char one[TEXT_MAX];
        char other[TEXT_MAX];
        return bw_lua_mistake(
            L, "%s and %s are not the same: neither is the other, converted and rounded",
            bw_quantity_text(a->quantity, one, sizeof one),
            bw_quantity_text(b->quantity, other, sizeof other));
    }
    lua_settop(L, 1);
    return 1;
}

/* ---- reckoning ---- */

/* An operand: a quantity, or a bare number as a quantity without unit.  False for anything else. */
static bool operand(lua_State *L, int index, bw_quantity *out) {
    const bw_lua_quantity *held = bw_lua_quantity_at(L, index);
    if (held != NULL) {
        *out = held->quantity;
        return true;
    }
    *out = (bw_quantity){0, BW_UNIT_NUMBER, -1};
    if (lua_type(L, index) != LUA_TNUMBER) {
        return false;
    }
    out->value = lua_tonumber(L, index);
    return true;
}

typedef enum operation { ADD, SUBTRACT, MULTIPLY, DIVIDE } operation;

static const char *const symbols[] = {
    [ADD] = "+", [SUBTRACT] = "-", [MULTIPLY] = "*", [DIVIDE] = "/"};

static int refuse(lua_State *L, operation op) {
    char a[BW_DESCRIBE_MAX];
    char b[BW_DESCRIBE_MAX];
    return bw_lua_mistake(L,
                          "%s %s %s has no meaning: both sides need the same kind of unit, or a "
                          "bare number as the factor of * and /",
                          bw_lua_describe(L, 1, a, sizeof a), symbols[op],
                          bw_lua_describe(L, 2, b, sizeof b));
}

static int push_computed(lua_State *L, double value, bw_unit unit) {
    bw_lua_push_quantity(L, (bw_quantity){value, unit, -1});
    return 1;
}

/* Sum or difference in a's unit.  Temperatures have no common zero: one unit only. */
static int add_up(lua_State *L, operation op, bw_quantity a, bw_quantity b) {
    bool offset = dimension_of(a) == BW_DIM_TEMPERATURE && a.unit != b.unit;
    if (dimension_of(a) != dimension_of(b) || offset) {
        return refuse(L, op);
    }
    double other = a.unit == b.unit ? b.value : bw_from_base(base_of(b), a.unit);
    return push_computed(L, op == ADD ? a.value + other : a.value - other, a.unit);
}

static int scale(lua_State *L, operation op, bw_quantity a, bw_quantity b) {
    bool a_bare = dimension_of(a) == BW_DIM_NUMBER;
    bool b_bare = dimension_of(b) == BW_DIM_NUMBER;
    bool temperature = dimension_of(a) == BW_DIM_TEMPERATURE ||
                       dimension_of(b) == BW_DIM_TEMPERATURE;
    if (op == DIVIDE && !b_bare && dimension_of(a) == dimension_of(b) && !temperature) {
        lua_pushnumber(L, base_of(a) / base_of(b));
        return 1;
    }
    if (temperature || (op == DIVIDE && !b_bare) || (!a_bare && !b_bare)) {
        return refuse(L, op);
    }
    if (b_bare) {
        double factor = base_of(b);
        return push_computed(L, op == MULTIPLY ? a.value * factor : a.value / factor, a.unit);
    }
    return push_computed(L, base_of(a) * b.value, b.unit);
}

static int reckon(lua_State *L) {
    operation op = (operation)lua_tointeger(L, lua_upvalueindex(1));
    for (int i = 1; i <= 2; i++) {
        if (bw_lua_is_reported(L, i)) {
            lua_pushvalue(L, i);
            return 1;
        }
    }
    bw_quantity a;
    bw_quantity b;
    if (!operand(L, 1, &a) || !operand(L, 2, &b)) {
        return refuse(L, op);
    }
    return op == ADD || op == SUBTRACT ? add_up(L, op, a, b) : scale(L, op, a, b);
}

static int negate(lua_State *L) {
    bw_quantity q = {0, BW_UNIT_NUMBER, -1};
    (void)operand(L, 1, &q);
    q.value = -q.value;
    bw_lua_push_quantity(L, q);
    return 1;
}

/* ---- comparing ---- */

/* -1, 0 or 1; false, with a mistake noted, where the two cannot be compared. */
static bool compare(lua_State *L, int *order) {
    bw_quantity a;
    bw_quantity b;
    if (bw_lua_is_reported(L, 1) || bw_lua_is_reported(L, 2)) {
        return false;
    }
    bool both = operand(L, 1, &a) && operand(L, 2, &b);
    if (!both || dimension_of(a) != dimension_of(b)) {
        char what_a[BW_DESCRIBE_MAX];
        char what_b[BW_DESCRIBE_MAX];
        (void)bw_lua_mistake(L, "%s cannot be compared with %s",
                             bw_lua_describe(L, 1, what_a, sizeof what_a),
                             bw_lua_describe(L, 2, what_b, sizeof what_b));
        lua_pop(L, 1);
        return false;
    }
    double x = base_of(a);
    double y = base_of(b);
    bool same = fabs(x - y) <= same_share * fmax(fabs(x), fabs(y));
    *order = same ? 0 : (x > y) - (x < y);
    return !isnan(x) && !isnan(y);
}

static int is_equal(lua_State *L) {
    const bw_lua_quantity *a = bw_lua_quantity_at(L, 1);
    const bw_lua_quantity *b = bw_lua_quantity_at(L, 2);
    int order = 1;
    bool alike = a != NULL && b != NULL && dimension_of(a->quantity) == dimension_of(b->quantity);
    lua_pushboolean(L, alike && compare(L, &order) && order == 0);
    return 1;
}

static int is_less(lua_State *L) {
    int order = 0;
    lua_pushboolean(L, compare(L, &order) && order < 0);
    return 1;
}

static int is_less_or_equal(lua_State *L) {
    int order = 0;
    lua_pushboolean(L, compare(L, &order) && order <= 0);
    return 1;
}

/* ---- as text ---- */

static void push_text(lua_State *L, int index) {
    const bw_lua_quantity *held = bw_lua_quantity_at(L, index);
    if (held != NULL) {
        char text[TEXT_MAX];
        lua_pushstring(L, bw_quantity_text(held->quantity, text, sizeof text));
    } else if (lua_isstring(L, index)) {
        lua_pushvalue(L, index);
    } else {
        char what[BW_DESCRIBE_MAX];
        (void)luaL_error(L, "%s cannot be joined to a text",
                         bw_lua_describe(L, index, what, sizeof what));
    }
}

static int to_text(lua_State *L) {
    push_text(L, 1);
    return 1;
}

static int join(lua_State *L) {
    push_text(L, 1);
    push_text(L, 2);
    lua_concat(L, 2);
    return 1;
}

static const luaL_Reg quantity_events[] = {
    {"__unm", negate},       {"__eq", is_equal}, {"__lt", is_less}, {"__le", is_less_or_equal},
    {"__tostring", to_text}, {"__concat", join}, {NULL, NULL},
};

static void make_metatable(lua_State *L) {
    static const char *const events[] = {
        [ADD] = "__add", [SUBTRACT] = "__sub", [MULTIPLY] = "__mul", [DIVIDE] = "__div"};
    (void)luaL_newmetatable(L, quantity_name);
    luaL_setfuncs(L, quantity_events, 0);
    for (size_t i = 0; i < sizeof events / sizeof events[0]; i++) {
        lua_pushinteger(L, (lua_Integer)i);
        lua_pushcclosure(L, reckon, 1);
        lua_setfield(L, -2, events[i]);
    }
    lua_pushboolean(L, 0);
    lua_setfield(L, -2, "__metatable");
    lua_pop(L, 1);
}

void bw_lua_add_units(lua_State *L) {
    make_metatable(L);
    for (bw_unit unit = BW_UNIT_NM; unit < BW_UNIT_COUNT; unit++) {
        lua_pushinteger(L, unit);
        lua_pushcclosure(L, make_quantity, 1);
        lua_setfield(L, -2, bw_unit_of(unit)->word);
    }
    lua_pushcfunction(L, convert);
    lua_setfield(L, -2, "to");
    lua_pushcfunction(L, both);
    lua_setfield(L, -2, "both");
}
