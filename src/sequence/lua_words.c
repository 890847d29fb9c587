/* lua_words.c - the words of the language as Lua functions, and what stands for a mistake.
 *
 * A word copies its table into the answer and judges nothing: the host does that, for all of them
 * in one go.  See lua_sandbox.h and words.h. */
#include "sequence/lua_sandbox.h"

#include "sequence/words.h"

#include <lauxlib.h>
#include <string.h>

static const char reported_key[] = "bw.reported";

/* ---- the value that stands for a mistake ---- */

static int give_reported(lua_State *L) {
    (void)lua_getfield(L, LUA_REGISTRYINDEX, reported_key);
    return 1;
}

/* An unknown word with its table: the host still learns the ids in it, so that one slip of the pen
 * is one mistake and not five. */
static int call_reported(lua_State *L) {
    if (lua_istable(L, 2)) {
        (void)bw_dump_node(L, "dropped", 2);
    }
    return give_reported(L);
}

static int give_false(lua_State *L) {
    lua_pushboolean(L, 0);
    return 1;
}

static int give_nothing(lua_State *L) {
    (void)L;
    return 0;
}

static int give_zero(lua_State *L) {
    lua_pushinteger(L, 0);
    return 1;
}

static int give_question_mark(lua_State *L) {
    lua_pushliteral(L, "?");
    return 1;
}

static const luaL_Reg reported_events[] = {
    {"__index", give_reported},
    {"__newindex", give_nothing},
    {"__call", call_reported},
    {"__add", give_reported},
    {"__sub", give_reported},
    {"__mul", give_reported},
    {"__div", give_reported},
    {"__mod", give_reported},
    {"__pow", give_reported},
    {"__unm", give_reported},
    {"__idiv", give_reported},
    {"__concat", give_question_mark},
    {"__len", give_zero},
    {"__lt", give_false},
    {"__le", give_false},
    {"__tostring", give_question_mark},
    {NULL, NULL},
};

static void make_reported(lua_State *L) {
    (void)lua_newuserdatauv(L, 0, 0);
    lua_newtable(L);
    luaL_setfuncs(L, reported_events, 0);
    lua_pushboolean(L, 0);
    lua_setfield(L, -2, "__metatable");
    (void)lua_setmetatable(L, -2);
    lua_setfield(L, LUA_REGISTRYINDEX, reported_key);
}

bool bw_lua_is_reported(lua_State *L, int index) {
    if (lua_type(L, index) != LUA_TUSERDATA) {
        return false;
    }
    index = lua_absindex(L, index);
    (void)lua_getfield(L, LUA_REGISTRYINDEX, reported_key);
    bool same = lua_rawequal(L, index, -1);
    lua_pop(L, 1);
    return same;
}

int bw_lua_mistake(lua_State *L, const char *format, ...) {
    va_list args;
    va_start(args, format);
    (void)lua_pushvfstring(L, format, args);
    va_end(args);
    size_t len = 0;
    const char *text = lua_tolstring(L, -1, &len);
    bw_dump_message(L, "mistake", bw_lua_spot(L), text, len);
    lua_pop(L, 1);
    return give_reported(L);
}

/* ---- words ---- */

/* A declaration gives its id or name back, so that `local oil = confirm{...}` can stand in
 * `after`. */
static void push_own_name(lua_State *L) {
    static const char *const keys[] = {"id", "name"};
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        lua_pushstring(L, keys[i]);
        if (lua_rawget(L, 1) == LUA_TSTRING) {
            return;
        }
        lua_pop(L, 1);
    }
    (void)give_reported(L);
}

static int declare(lua_State *L) {
    const bw_word *word = bw_word_at((size_t)lua_tointeger(L, lua_upvalueindex(1)));
    if (lua_gettop(L) != 1 || !lua_istable(L, 1)) {
        return bw_lua_mistake(L, "`%s` takes one table in braces: %s{ ... }", word->word,
                              word->word);
    }
    size_t from = bw_lua_of(L)->out_len;
    int height = bw_dump_node(L, word->word, 1);
    if (word->declares) {
        push_own_name(L);
    } else {
        bw_dump_keep_inner(L, from, height);
    }
    return 1;
}

void bw_lua_add_words(lua_State *L) {
    make_reported(L);
    for (size_t i = 0; bw_word_at(i) != NULL; i++) {
        lua_pushinteger(L, (lua_Integer)i);
        lua_pushcclosure(L, declare, 1);
        lua_setfield(L, -2, bw_word_at(i)->word);
    }
}
