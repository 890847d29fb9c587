/* lua_sandbox.c - the state, its limits, and what happens to an error.  See lua_sandbox.h. */
#include "sequence/lua_sandbox.h"

#include "base/clock.h"
#include "base/text.h"

#include <lauxlib.h>
#include <stdlib.h>
#include <string.h>

enum { INSTRUCTIONS_BETWEEN_LOOKS = 100000, ERROR_BYTES_MAX = 300 };

static const char env_key[] = "bw.env";

bw_lua *bw_lua_of(lua_State *L) {
    bw_lua *const *place = lua_getextraspace(L);
    return *place;
}

/* ---- limits ---- */

/* A refusal could be caught by pcall, so there is none: the run ends here. */
static void *refuse_memory(bw_lua *lua) {
    if (lua->L != NULL) {
        lua->host.stop(lua->host.ctx, BW_LIMIT_MEMORY, bw_lua_spot(lua->L));
    }
    return NULL;
}

static void *allocate(void *ctx, void *block, size_t old_size, size_t size) {
    bw_lua *lua = ctx;
    size_t held = block == NULL ? 0 : old_size;
    if (size == 0) {
        free(block);
        lua->memory_bytes -= held;
        return NULL;
    }
    if (size > held && size - held > BW_RUN_MEMORY_BYTES - lua->memory_bytes) {
        return refuse_memory(lua);
    }
    void *fresh = realloc(block, size);
    if (fresh == NULL) {
        return size > held ? refuse_memory(lua) : block;
    }
    lua->memory_bytes = lua->memory_bytes - held + size;
    return fresh;
}

static void look_at_clock(lua_State *L, lua_Debug *ar) {
    (void)ar;
    bw_lua *lua = bw_lua_of(L);
    if (bw_clock_mono_ns() >= lua->stop_ns) {
        lua->host.stop(lua->host.ctx, BW_LIMIT_TIME, bw_lua_spot(L));
        (void)luaL_error(L, "stopped");
    }
}

/* ---- where ---- */

static unsigned source_index(const bw_lua *lua, const char *source) {
    for (size_t i = 0; i < lua->source_n; i++) {
        if (strcmp(lua->source[i], source) == 0) {
            return (unsigned)i;
        }
    }
    return 0;
}

bw_spot bw_lua_spot(lua_State *L) {
    lua_Debug ar;
    for (int level = 0; lua_getstack(L, level, &ar) == 1; level++) {
        if (lua_getinfo(L, "Sl", &ar) != 0 && ar.currentline > 0) {
            return (bw_spot){.source = source_index(bw_lua_of(L), ar.source),
                             .line = (unsigned)ar.currentline};
        }
    }
    return (bw_spot){.source = 0, .line = 1};
}

/* ---- errors ---- */

/* Reads "NAME:LINE: " at the front of a message, where Lua put it.  Returns what is behind it. */
static const char *split_spot(const bw_lua *lua, const char *message, bw_spot *spot) {
    for (size_t i = 0; i < lua->source_n; i++) {
        const char *name = lua->source[i] + 1;
        size_t len = strlen(name);
        if (strncmp(message, name, len) != 0 || message[len] != ':') {
            continue;
        }
        const char *digits = message + len + 1;
        size_t n = strspn(digits, "0123456789");
        if (n == 0 || n > 7 || strncmp(digits + n, ": ", 2) != 0) {
            continue;
        }
        unsigned line = 0;
        for (size_t d = 0; d < n; d++) {
            line = line * 10 + (unsigned)(digits[d] - '0');
        }
        *spot = (bw_spot){.source = (unsigned)i, .line = line > 0 ? line : 1};
        return digits + n + 2;
    }
    return message;
}

static void note_error(lua_State *L, int index) {
    bw_lua *lua = bw_lua_of(L);
    bw_spot spot = bw_lua_spot(L);
    char text[BW_DESCRIBE_MAX + 32];
    const char *message = text;
    if (lua_type(L, index) == LUA_TSTRING) {
        message = split_spot(lua, lua_tostring(L, index), &spot);
    } else {
        char what[BW_DESCRIBE_MAX];
        bw_text line = bw_text_on(text, sizeof text);
        bw_text_add(&line, "stopped by error(), given %s",
                    bw_lua_describe(L, index, what, sizeof what));
    }
    size_t len = strlen(message);
    /* What comes while variables are closed takes the place of what closed them. */
    lua->out_len = lua->error_noted && lua->error_from < lua->out_len ? lua->error_from
                                                                      : lua->out_len;
    lua->error_noted = true;
    lua->error_from = lua->out_len;
    bw_dump_message(L, "error", spot, message, len < ERROR_BYTES_MAX ? len : ERROR_BYTES_MAX);
}

static int on_error(lua_State *L) {
    note_error(L, 1);
    lua_pushnil(L); /* what was noted already */
    return 1;
}

/* ---- one run ---- */

void bw_lua_push_env(lua_State *L) {
    (void)lua_getfield(L, LUA_REGISTRYINDEX, env_key);
}

/* A name that is not there is a mistake of its own; the run goes on, so that the next one is found
 * in the same go. */
static int env_index(lua_State *L) {
    lua_pushvalue(L, 2);
    if (lua_rawget(L, lua_upvalueindex(1)) != LUA_TNIL || lua_type(L, 2) != LUA_TSTRING) {
        return 1;
    }
    size_t len = 0;
    const char *name = lua_tolstring(L, 2, &len);
    bw_dump_message(L, "unknown", bw_lua_spot(L), name, len < 64 ? len : 64);
    (void)lua_getfield(L, LUA_REGISTRYINDEX, "bw.reported");
    return 1;
}

static int env_newindex(lua_State *L) {
    lua_pushvalue(L, 2);
    if (lua_rawget(L, lua_upvalueindex(1)) != LUA_TNIL) {
        return bw_lua_mistake(L,
                              "`%s` is a word of the language and keeps its meaning: choose "
                              "another name",
                              lua_tostring(L, 2));
    }
    lua_pop(L, 1);
    lua_rawset(L, 1);
    return 0;
}

static int build(lua_State *L) {
    lua_newtable(L); /* env */
    lua_newtable(L); /* its metatable */
    lua_newtable(L); /* what can be read through it */
    bw_lua_add_words(L);
    bw_lua_add_library(L);
    bw_lua_add_units(L);
    bw_lua_add_calc(L);
    lua_pushvalue(L, -1);
    lua_pushcclosure(L, env_index, 1);
    lua_setfield(L, -3, "__index");
    lua_pushcclosure(L, env_newindex, 1);
    lua_setfield(L, -2, "__newindex");
    lua_pushboolean(L, 0);
    lua_setfield(L, -2, "__metatable");
    lua_setmetatable(L, -2);
    lua_setfield(L, LUA_REGISTRYINDEX, env_key);
    return 0;
}

bool bw_lua_open(bw_lua *lua, bw_lua_host host) {
    memset(lua, 0, sizeof *lua);
    lua->host = host;
    lua->stop_ns = bw_clock_mono_ns() + (int64_t)BW_RUN_STOP_MS * 1000000;
    lua_State *L = lua_newstate(allocate, lua);
    if (L == NULL) {
        return false;
    }
    lua->L = L;
    bw_lua **place = lua_getextraspace(L);
    *place = lua;
    lua_pushcfunction(L, build);
    if (lua_pcall(L, 0, 0, 0) != LUA_OK) {
        bw_lua_close(lua);
        return false;
    }
    lua_sethook(L, look_at_clock, LUA_MASKCOUNT, INSTRUCTIONS_BETWEEN_LOOKS);
    return true;
}

void bw_lua_close(bw_lua *lua) {
    if (lua->L != NULL) {
        lua_close(lua->L);
        lua->L = NULL;
    }
    free(lua->out);
    lua->out = NULL;
}

/* Adds a source and gives its chunk name. */
static const char *add_source(bw_lua *lua, const char *name) {
    char *source = lua->source[lua->source_n++];
    bw_text text = bw_text_on(source, sizeof lua->source[0]);
    bw_text_add(&text, "=%s", name);
    return source;
}

bool bw_lua_load(lua_State *L, const char *name, const char *text, size_t len) {
    static const char mark[] = "\xEF\xBB\xBF"; /* some editors put it before the text */
    if (len >= 3 && memcmp(text, mark, 3) == 0) {
        text += 3;
        len -= 3;
    }
    const char *source = add_source(bw_lua_of(L), name);
    if (len > 0 && text[0] == LUA_SIGNATURE[0]) {
        (void)lua_pushfstring(L, "%s:1: this is compiled Lua: a sequence must be text", name);
        return false;
    }
    if (luaL_loadbufferx(L, text, len, source, "t") != LUA_OK) {
        return false;
    }
    bw_lua_push_env(L);
    (void)lua_setupvalue(L, -2, 1);
    return true;
}

/* Stack on entry: nothing.  On success one result is left. */
static bool run(bw_lua *lua, const char *name, const char *text, size_t len) {
    lua_State *L = lua->L;
    lua_pushcfunction(L, on_error);
    if (!bw_lua_load(L, name, text, len)) {
        note_error(L, -1);
        return false;
    }
    if (lua_pcall(L, 0, 1, 1) == LUA_OK) {
        return true;
    }
    if (!lua->error_noted) { /* the handler itself could not run */
        static const char text_of_last_resort[] = "failed beyond what can be told";
        bw_dump_message(L, "error", (bw_spot){0, 1}, text_of_last_resort,
                        sizeof text_of_last_resort - 1);
    }
    return false;
}

void bw_lua_run(bw_lua *lua, const char *name, const char *text, size_t len) {
    (void)run(lua, name, text, len);
}

/* stack: 1 expression */
static int dump_result(lua_State *L) {
    lua_createtable(L, 1, 0);
    lua_insert(L, 1);
    lua_rawseti(L, 1, 1);
    (void)bw_dump_node(L, "result", 1);
    return 0;
}

void bw_lua_calc(bw_lua *lua, const char *chunk, size_t len) {
    lua_State *L = lua->L;
    if (run(lua, "calc", chunk, len)) {
        lua_pushcfunction(L, dump_result);
        lua_insert(L, -2);
        (void)lua_pcall(L, 1, 0, 0);
    }
}
