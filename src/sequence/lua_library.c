/* lua_library.c - what sequences keep of Lua's library, and what is done another way.
 *
 * Nothing that reaches files, processes, time, chance, compiled code, the collector or an address
 * is kept; tables are walked and sorted in one order, the same on every machine.  See
 * lua_sandbox.h. */
#include "sequence/lua_sandbox.h"

#include "base/text.h"

#include <lauxlib.h>
#include <lualib.h>
#include <string.h>

/* ---- values for people ---- */

const char *bw_lua_describe(lua_State *L, int index, char *out, size_t size) {
    bw_text text = bw_text_on(out, size);
    const bw_lua_quantity *quantity = bw_lua_quantity_at(L, index);
    char shown[64];
    switch (lua_type(L, index)) {
    case LUA_TNONE:
    case LUA_TNIL:
        bw_text_add(&text, "nothing (nil)");
        break;
    case LUA_TBOOLEAN:
        bw_text_add(&text, "%s", lua_toboolean(L, index) ? "true" : "false");
        break;
    case LUA_TNUMBER:
        bw_text_add(&text, "the bare number %.14g", lua_tonumber(L, index));
        break;
    case LUA_TSTRING:
        bw_text_add(&text, "the text \"%.32s\"", lua_tostring(L, index));
        break;
    default:
        if (quantity != NULL) {
            bw_text_add(&text, "%s", bw_quantity_text(quantity->quantity, shown, sizeof shown));
        } else {
            bw_text_add(&text, "a %s", luaL_typename(L, index));
        }
    }
    return out;
}

/* ---- no addresses ---- */

/* As Lua's own tostring, but an object without a text of its own is its type's name only. */
static int plain_tostring(lua_State *L) {
    luaL_checkany(L, 1);
    bool own_text = lua_type(L, 1) <= LUA_TSTRING && lua_type(L, 1) != LUA_TLIGHTUSERDATA;
    if (own_text || luaL_getmetafield(L, 1, "__tostring") != LUA_TNIL) {
        (void)luaL_tolstring(L, 1, NULL);
    } else {
        lua_pushstring(L, luaL_typename(L, 1));
    }
    return 1;
}

/* Before string.format: %p is refused, and what %s would show with its address is made text. */
static int plain_format(lua_State *L) {
    size_t len = 0;
    const char *format = luaL_checklstring(L, 1, &len);
    const char *end = format + len;
    int argument = 1;
    for (const char *at = format; (at = memchr(at, '%', (size_t)(end - at))) != NULL; at++) {
        at += 1 + strspn(at + 1, "-+ #0123456789.");
        if (*at == '%') {
            continue;
        }
        argument++;
        if (*at == 'p') {
            return luaL_error(L, "%%p is not to be had: it shows an address");
        }
        if (*at == 's' && lua_type(L, argument) > LUA_TSTRING) {
            lua_pushcfunction(L, plain_tostring);
            lua_pushvalue(L, argument);
            lua_call(L, 1, 1);
            lua_replace(L, argument);
        }
        if (at >= end) {
            break;
        }
    }
    lua_pushvalue(L, lua_upvalueindex(1));
    lua_insert(L, 1);
    lua_call(L, lua_gettop(L) - 1, 1);
    return 1;
}

/* ---- no finalizers, no weak tables ---- */

static int careful_setmetatable(lua_State *L) {
    static const char *const refused[] = {"__gc", "__mode"};
    luaL_checktype(L, 1, LUA_TTABLE);
    for (size_t i = 0; lua_istable(L, 2) && i < sizeof refused / sizeof refused[0]; i++) {
        lua_pushstring(L, refused[i]);
        if (lua_rawget(L, 2) != LUA_TNIL) {
            return luaL_error(L, "%s is not to be had: when memory is collected is no one's affair",
                              refused[i]);
        }
        lua_pop(L, 1);
    }
    lua_pushvalue(L, lua_upvalueindex(1));
    lua_insert(L, 1);
    lua_call(L, lua_gettop(L) - 1, 1);
    return 1;
}

/* ---- one order ---- */

/* Upvalues: the table, its keys, how many were walked.  Keys that have gone are passed over. */
static int next_pair(lua_State *L) {
    lua_Integer walked = lua_tointeger(L, lua_upvalueindex(3));
    for (;;) {
        walked++;
        if (lua_rawgeti(L, lua_upvalueindex(2), walked) == LUA_TNIL) {
            return 1;
        }
        lua_pushvalue(L, -1);
        if (lua_rawget(L, lua_upvalueindex(1)) != LUA_TNIL) {
            break;
        }
        lua_pop(L, 2);
    }
    lua_pushinteger(L, walked);
    lua_replace(L, lua_upvalueindex(3));
    return 2;
}

static int ordered_pairs(lua_State *L) {
    luaL_checktype(L, 1, LUA_TTABLE);
    lua_pushvalue(L, 1);
    (void)bw_lua_push_keys(L, 1);
    lua_pushinteger(L, 0);
    lua_pushcclosure(L, next_pair, 3);
    return 1;
}

/* b before a?  Both are at absolute places; a function may stand at 2. */
static bool comes_before(lua_State *L, int b, int a) {
    if (lua_isnil(L, 2)) {
        return lua_compare(L, b, a, LUA_OPLT);
    }
    lua_pushvalue(L, 2);
    lua_pushvalue(L, b);
    lua_pushvalue(L, a);
    lua_call(L, 2, 1);
    bool before = lua_toboolean(L, -1);
    lua_pop(L, 1);
    return before;
}

/* Merges the runs [low, middle) and [middle, high) of the list at `from` into the one at `into`. */
static void merge(lua_State *L, int from, int into, lua_Integer low, lua_Integer middle,
                  lua_Integer high) {
    lua_Integer left = low;
    lua_Integer right = middle;
    for (lua_Integer k = low; k < high; k++) {
        bool take_right = left == middle;
        if (left < middle && right < high) {
            (void)lua_rawgeti(L, from, right);
            (void)lua_rawgeti(L, from, left);
            take_right = comes_before(L, lua_gettop(L) - 1, lua_gettop(L));
            lua_pop(L, 2);
        }
        (void)lua_rawgeti(L, from, take_right ? right++ : left++);
        lua_rawseti(L, into, k);
    }
}

static lua_Integer least(lua_Integer a, lua_Integer b) {
    return a < b ? a : b;
}

/* A stable merge sort: Lua's own picks its middles by the clock.  stack: list, function or nil */
static int stable_sort(lua_State *L) {
    luaL_checktype(L, 1, LUA_TTABLE);
    lua_settop(L, 2);
    if (!lua_isnil(L, 2)) {
        luaL_checktype(L, 2, LUA_TFUNCTION);
    }
    lua_Integer n = (lua_Integer)lua_rawlen(L, 1);
    lua_createtable(L, 0, 0);
    lua_createtable(L, 0, 0);
    int from = 3;
    int into = 4;
    for (lua_Integer i = 1; i <= n; i++) {
        (void)lua_rawgeti(L, 1, i);
        lua_rawseti(L, from, i);
    }
    for (lua_Integer width = 1; width < n; width *= 2) {
        for (lua_Integer low = 1; low <= n; low += 2 * width) {
            merge(L, from, into, low, least(low + width, n + 1), least(low + 2 * width, n + 1));
        }
        int swap = from;
        from = into;
        into = swap;
    }
    for (lua_Integer i = 1; i <= n; i++) {
        (void)lua_rawgeti(L, from, i);
        lua_rawseti(L, 1, i);
    }
    return 0;
}

/* ---- modules ---- */

static int fetch_module(lua_State *L, const char *name) {
    bw_lua *lua = bw_lua_of(L);
    if (lua->source_n > BW_RUN_MODULES_MAX) {
        return luaL_error(L, "more than %d modules are required", BW_RUN_MODULES_MAX);
    }
    const char *text = NULL;
    const char *why = "it is not there";
    size_t len = 0;
    if (!lua->host.module(lua->host.ctx, name, &text, &len, &why)) {
        return bw_lua_mistake(L, "module `%s` cannot be had: %s", name, why);
    }
    if (!bw_lua_load(L, name, text, len)) {
        return lua_error(L);
    }
    lua_call(L, 0, 1);
    if (lua_isnil(L, -1)) {
        lua_pushboolean(L, 1);
    }
    return 1;
}

/* Upvalue: what was required already, by name; false while it is being loaded. */
static int require(lua_State *L) {
    size_t len = 0;
    const char *name = lua_type(L, 1) == LUA_TSTRING ? lua_tolstring(L, 1, &len) : "";
    if (!bw_module_name_valid(name, len)) {
        return bw_lua_mistake(L, "require takes the name of a module beside the sequence or in its "
                                 "lib folder: lower-case letters, digits, - and _, joined by dots");
    }
    lua_settop(L, 1);
    lua_pushvalue(L, 1);
    if (lua_rawget(L, lua_upvalueindex(1)) != LUA_TNIL) {
        return lua_isboolean(L, -1) && !lua_toboolean(L, -1)
                   ? luaL_error(L, "module `%s` requires itself", name)
                   : 1;
    }
    lua_pushvalue(L, 1);
    lua_pushboolean(L, 0);
    lua_rawset(L, lua_upvalueindex(1));
    (void)fetch_module(L, name);
    lua_pushvalue(L, 1);
    lua_pushvalue(L, -2);
    lua_rawset(L, lua_upvalueindex(1));
    return 1;
}

/* ---- putting it together ---- */

static int refuse_write(lua_State *L) {
    return luaL_error(L, "Lua's own tables cannot be written to");
}

/* Pushes an empty table through which the one on top (popped) can be read and not written. */
static void push_read_only(lua_State *L) {
    lua_newtable(L);
    lua_newtable(L);
    lua_rotate(L, -3, -1); /* proxy, metatable, real */
    lua_setfield(L, -2, "__index");
    lua_pushcfunction(L, refuse_write);
    lua_setfield(L, -2, "__newindex");
    lua_pushboolean(L, 0);
    lua_setfield(L, -2, "__metatable");
    (void)lua_setmetatable(L, -2);
}

/* Replaces the function `name` of the table on top by one that has the old one as its upvalue. */
static void wrap(lua_State *L, const char *name, lua_CFunction function) {
    (void)lua_getfield(L, -1, name);
    lua_pushcclosure(L, function, 1);
    lua_setfield(L, -2, name);
}

static void drop(lua_State *L, const char *name) {
    lua_pushnil(L);
    lua_setfield(L, -2, name);
}

/* stack: environment, library.  The library stays the metatable's index for texts. */
static void close_strings(lua_State *L) {
    drop(L, "dump");
    wrap(L, "format", plain_format);
    lua_pushliteral(L, "");
    (void)lua_getmetatable(L, -1);
    lua_pushboolean(L, 0);
    lua_setfield(L, -2, "__metatable");
    lua_pop(L, 2);
}

static void close_tables(lua_State *L) {
    lua_pushcfunction(L, stable_sort);
    lua_setfield(L, -2, "sort");
}

/* Without chance, and without what only some builds of Lua have. */
static void close_math(lua_State *L) {
    static const char *const dropped[] = {"random", "randomseed", "atan2", "cosh",  "sinh",
                                          "tanh",   "pow",        "frexp", "ldexp", "log10"};
    for (size_t i = 0; i < sizeof dropped / sizeof dropped[0]; i++) {
        drop(L, dropped[i]);
    }
}

static void close_nothing(lua_State *L) {
    (void)L;
}

static const struct {
    const char *name;
    lua_CFunction open;
    void (*close)(lua_State *L);
} libraries[] = {
    {LUA_STRLIBNAME, luaopen_string, close_strings},
    {LUA_TABLIBNAME, luaopen_table, close_tables},
    {LUA_MATHLIBNAME, luaopen_math, close_math},
    {LUA_UTF8LIBNAME, luaopen_utf8, close_nothing},
};

static const char *const kept[] = {"assert",   "error",  "getmetatable", "ipairs",   "pcall",
                                   "rawequal", "rawlen", "select",       "tonumber", "type"};

/* stack: environment, base library */
static void add_base(lua_State *L) {
    for (size_t i = 0; i < sizeof kept / sizeof kept[0]; i++) {
        (void)lua_getfield(L, -1, kept[i]);
        lua_setfield(L, -3, kept[i]);
    }
    (void)lua_getfield(L, -1, "setmetatable");
    lua_pushcclosure(L, careful_setmetatable, 1);
    lua_setfield(L, -3, "setmetatable");
}

void bw_lua_add_library(lua_State *L) {
    luaL_requiref(L, LUA_GNAME, luaopen_base, 0);
    add_base(L);
    lua_pop(L, 1);
    lua_pushcfunction(L, plain_tostring);
    lua_setfield(L, -2, "tostring");
    lua_pushcfunction(L, ordered_pairs);
    lua_setfield(L, -2, "pairs");
    lua_newtable(L);
    lua_pushcclosure(L, require, 1);
    lua_setfield(L, -2, "require");
    for (size_t i = 0; i < sizeof libraries / sizeof libraries[0]; i++) {
        luaL_requiref(L, libraries[i].name, libraries[i].open, 0);
        libraries[i].close(L);
        push_read_only(L);
        lua_setfield(L, -2, libraries[i].name);
    }
}
