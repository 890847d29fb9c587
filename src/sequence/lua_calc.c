/* lua_calc.c - the trade's functions as Lua functions: one for each row of trade/calc.h.
 *
 * Arguments go in by name, with their units; results come out as quantities, several of them as a
 * table.  See lua_sandbox.h. */
#include "sequence/lua_sandbox.h"

#include "base/text.h"
#include "sequence/words.h"
#include "trade/calc.h"

#include <lauxlib.h>
#include <string.h>

/* Why an argument was not taken; empty: nothing was wrong. */
typedef struct complaint {
    char text[200];
} complaint;

static void complain(complaint *c, const bw_calc_arg *arg, const char *needs, lua_State *L,
                     int index) {
    char what[BW_DESCRIBE_MAX];
    bw_text text = bw_text_on(c->text, sizeof c->text);
    bw_text_add(&text, "`%s` needs %s, not %s", arg->name, needs,
                bw_lua_describe(L, index, what, sizeof what));
}

/* A number in the base unit of the argument's dimension. */
static bool read_number(lua_State *L, int index, bw_dimension dimension, double *out) {
    const bw_lua_quantity *held = bw_lua_quantity_at(L, index);
    if (held != NULL && bw_unit_of(held->quantity.unit)->dimension == dimension) {
        *out = bw_to_base(held->quantity.value, held->quantity.unit);
        return true;
    }
    if (held == NULL && dimension == BW_DIM_NUMBER && lua_type(L, index) == LUA_TNUMBER) {
        *out = lua_tonumber(L, index);
        return true;
    }
    return false;
}

static const char *dimension_needs(bw_dimension dimension, char *out, size_t size) {
    bw_text text = bw_text_on(out, size);
    if (dimension == BW_DIM_NUMBER) {
        bw_text_add(&text, "a bare number");
    } else {
        bw_text_add(&text, "a %s such as %s(...)", bw_dimension_name(dimension),
                    bw_unit_of(bw_dimension_base(dimension))->word);
    }
    return out;
}

/* The list stays in a block on Lua's stack until the call is over. */
static bool read_list(lua_State *L, int index, const bw_calc_arg *arg, bw_calc_value *out) {
    size_t n = lua_istable(L, index) ? (size_t)lua_rawlen(L, index) : 0;
    if (n == 0 || n > BW_CALC_LIST_MAX) {
        return false;
    }
    double *list = lua_newuserdatauv(L, n * sizeof *list, 0);
    for (size_t i = 0; i < n; i++) {
        (void)lua_rawgeti(L, index, (lua_Integer)i + 1);
        bool good = read_number(L, -1, arg->dimension, &list[i]);
        lua_pop(L, 1);
        if (!good) {
            return false;
        }
    }
    out->list = list;
    out->list_n = n;
    return true;
}

static void read_arg(lua_State *L, int index, const bw_calc_arg *arg, bw_calc_value *out,
                     complaint *c) {
    char needs[64];
    bool good = false;
    switch (arg->type) {
    case BW_CALC_QUANTITY:
        good = read_number(L, index, arg->dimension, &out->number);
        (void)dimension_needs(arg->dimension, needs, sizeof needs);
        break;
    case BW_CALC_LIST:
        good = read_list(L, index, arg, out);
        (void)bw_text_copy(needs, sizeof needs, "a list of values with one kind of unit");
        break;
    case BW_CALC_TEXT:
        good = lua_type(L, index) == LUA_TSTRING;
        out->text = good ? lua_tostring(L, index) : NULL;
        (void)bw_text_copy(needs, sizeof needs, "a text in quotes");
        break;
    case BW_CALC_FLAG:
        good = lua_isboolean(L, index);
        out->flag = lua_toboolean(L, index);
        (void)bw_text_copy(needs, sizeof needs, "true or false");
        break;
    }
    out->given = good;
    if (!good) {
        complain(c, arg, needs, L, index);
    }
}

/* Fills value from the table at 1; its items stay on the stack.  False where a mistake was noted
 * before, so that there is nothing to compute. */
static bool read_args(lua_State *L, const bw_calc_function *function, bw_calc_value *value,
                      complaint *c) {
    luaL_checkstack(L, 2 * BW_CALC_ARGS_MAX + 8, NULL);
    for (size_t i = 0; function->arg[i].name != NULL && c->text[0] == '\0'; i++) {
        const bw_calc_arg *arg = &function->arg[i];
        value[i].type = arg->type;
        lua_pushstring(L, arg->name);
        if (lua_rawget(L, 1) == LUA_TNIL) {
            continue;
        }
        if (bw_lua_is_reported(L, -1)) {
            return false;
        }
        read_arg(L, lua_gettop(L), arg, &value[i], c);
    }
    return true;
}

static void say_unknown(const bw_calc_function *function, const char *key, complaint *c) {
    bw_nearest nearest = bw_nearest_to(key);
    for (size_t i = 0; function->arg[i].name != NULL; i++) {
        bw_nearest_offer(&nearest, function->arg[i].name, strlen(function->arg[i].name));
    }
    bw_text text = bw_text_on(c->text, sizeof c->text);
    bw_text_add(&text, "`%.40s` is not known to it", key);
    if (nearest.best != NULL) {
        bw_text_add(&text, "; did you mean `%s`?", nearest.best);
    }
}

static bool takes(const bw_calc_function *function, const char *name) {
    for (size_t i = 0; function->arg[i].name != NULL; i++) {
        if (strcmp(function->arg[i].name, name) == 0) {
            return true;
        }
    }
    return false;
}

static void find_unknown(lua_State *L, const bw_calc_function *function, complaint *c) {
    size_t n = bw_lua_push_keys(L, 1);
    for (size_t k = 1; k <= n && c->text[0] == '\0'; k++) {
        (void)lua_rawgeti(L, -1, (lua_Integer)k);
        const char *key = lua_type(L, -1) == LUA_TSTRING ? lua_tostring(L, -1) : "1";
        if (!takes(function, key)) {
            say_unknown(function, key, c);
        }
        lua_pop(L, 1);
    }
    lua_pop(L, 1);
}

static void push_number(lua_State *L, double base_value, bw_unit unit) {
    if (bw_unit_of(unit) == NULL || unit == BW_UNIT_NUMBER) {
        lua_pushnumber(L, base_value);
    } else {
        bw_lua_push_quantity(L, (bw_quantity){bw_from_base(base_value, unit), unit, -1});
    }
}

static void push_result(lua_State *L, const bw_calc_value *value) {
    switch (value->type) {
    case BW_CALC_QUANTITY:
        push_number(L, value->number, value->unit);
        break;
    case BW_CALC_LIST:
        lua_createtable(L, (int)value->list_n, 0);
        for (size_t i = 0; i < value->list_n; i++) {
            push_number(L, value->list[i], value->unit);
            lua_rawseti(L, -2, (lua_Integer)i + 1);
        }
        break;
    case BW_CALC_TEXT:
        lua_pushstring(L, value->text);
        break;
    case BW_CALC_FLAG:
        lua_pushboolean(L, value->flag);
        break;
    }
}

static void push_results(lua_State *L, const bw_calc_result *result, size_t n) {
    if (n == 1 && strcmp(result[0].name, "value") == 0) {
        push_result(L, &result[0].value);
        return;
    }
    lua_createtable(L, 0, (int)n);
    for (size_t i = 0; i < n; i++) {
        push_result(L, &result[i].value);
        lua_setfield(L, -2, result[i].name);
    }
}

static int call(lua_State *L) {
    const bw_calc_function *function = bw_calc_at((size_t)lua_tointeger(L, lua_upvalueindex(1)));
    if (lua_gettop(L) != 1 || !lua_istable(L, 1)) {
        return bw_lua_mistake(L, "`%s` takes one table in braces, as in %s", function->name,
                              function->example);
    }
    bw_calc_value value[BW_CALC_ARGS_MAX];
    memset(value, 0, sizeof value);
    complaint c = {""};
    find_unknown(L, function, &c);
    if (!read_args(L, function, value, &c)) {
        return 1;
    }
    bw_calc_result result[BW_CALC_RESULTS_MAX];
    memset(result, 0, sizeof result);
    size_t n = 0;
    bw_err err = {.code = BW_OK, .text = ""};
    if (c.text[0] == '\0' && bw_calc_eval(function, value, result, &n, &err) == BW_OK) {
        push_results(L, result, n);
        return 1;
    }
    return bw_lua_mistake(L, "%s: %s", function->name, c.text[0] != '\0' ? c.text : err.text);
}

void bw_lua_add_calc(lua_State *L) {
    for (size_t i = 0; bw_calc_at(i) != NULL; i++) {
        lua_pushinteger(L, (lua_Integer)i);
        lua_pushcclosure(L, call, 1);
        lua_setfield(L, -2, bw_calc_at(i)->name);
    }
}
