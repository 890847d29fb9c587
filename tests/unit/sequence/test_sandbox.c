/* test_sandbox.c - what a sequence can reach, walked from its environment through tables and
 * metatables; and that order and sorting are the same every time. */
#include "kit.h"

#include "base/text.h"
#include "sequence/lua_sandbox.h"
#include "trade/calc.h"

#include <lauxlib.h>
#include <lualib.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cmocka_all.h"

#define GOLDEN BW_SOURCE_DIR "/tests/golden/sequences/reachable-names.txt"

enum { NAMES_BYTES = 1 << 16, FORBIDDEN_MAX = 256 };

static bool no_module(void *ctx, const char *name, const char **text, size_t *len,
                      const char **why) {
    (void)ctx;
    (void)name;
    *text = "";
    *len = 0;
    *why = "there are none";
    return false;
}

static void note_stop(void *ctx, bw_sequence_limit limit, bw_spot spot) {
    (void)spot;
    *(bw_sequence_limit *)ctx = limit;
}

static bw_lua *open_lua(bw_sequence_limit *limit) {
    bw_lua *lua = malloc(sizeof *lua);
    assert_non_null(lua);
    bw_lua_host host = {.ctx = limit, .module = no_module, .stop = note_stop};
    assert_true(bw_lua_open(lua, host));
    return lua;
}

static void close_lua(bw_lua *lua) {
    bw_lua_close(lua);
    free(lua);
}

/* ---- names ---- */

/* Runs a text that returns a text, in a fresh sandbox. */
static char *run_for_text(const char *text) {
    bw_sequence_limit limit = (bw_sequence_limit)0;
    bw_lua *lua = open_lua(&limit);
    lua_State *L = lua->L;
    assert_true(bw_lua_load(L, "test", text, strlen(text)));
    if (lua_pcall(L, 0, 1, 0) != LUA_OK) {
        fail_msg("%s", lua_tostring(L, -1));
    }
    const char *result = luaL_checkstring(L, -1);
    size_t size = strlen(result) + 1;
    char *copy = malloc(size);
    assert_non_null(copy);
    memcpy(copy, result, size);
    close_lua(lua);
    return copy;
}

/* The words behind the environment: the upvalue of its __index. */
static void push_words(lua_State *L) {
    bw_lua_push_env(L);
    assert_true(lua_getmetatable(L, -1));
    (void)lua_getfield(L, -1, "__index");
    assert_non_null(lua_getupvalue(L, -1, 1));
    lua_insert(L, -4);
    lua_pop(L, 3);
}

/* Units and formulas have their own tables, and tests that walk them. */
static bool is_of_trade(const char *name) {
    bool found = bw_calc_find(name) != NULL;
    for (bw_unit unit = BW_UNIT_NM; unit < BW_UNIT_COUNT; unit++) {
        found = found || strcmp(bw_unit_of(unit)->word, name) == 0;
    }
    return found;
}

static void add_names(lua_State *L, const char *prefix, bw_text *out) {
    size_t n = bw_lua_push_keys(L, -1);
    for (size_t i = 1; i <= n; i++) {
        (void)lua_rawgeti(L, -1, (lua_Integer)i);
        const char *name = lua_tostring(L, -1);
        if (prefix[0] != '\0' || !is_of_trade(name)) {
            bw_text_add(out, "%s%s\n", prefix, name);
        }
        lua_pop(L, 1);
    }
    lua_pop(L, 1);
}

/* The library behind a read-only table. */
static void add_library(lua_State *L, const char *name, bw_text *out) {
    char prefix[32];
    (void)snprintf(prefix, sizeof prefix, "%s.", name);
    (void)lua_getfield(L, -1, name);
    assert_true(lua_getmetatable(L, -1));
    (void)lua_getfield(L, -1, "__index");
    add_names(L, prefix, out);
    lua_pop(L, 3);
}

static void test_reachable_names(void **state) {
    (void)state;
    bw_sequence_limit limit = (bw_sequence_limit)0;
    bw_lua *lua = open_lua(&limit);
    char *names = malloc(NAMES_BYTES);
    assert_non_null(names);
    bw_text out = bw_text_on(names, NAMES_BYTES);
    push_words(lua->L);
    add_names(lua->L, "", &out);
    static const char *const libraries[] = {"math", "string", "table", "utf8"};
    for (size_t i = 0; i < sizeof libraries / sizeof libraries[0]; i++) {
        add_library(lua->L, libraries[i], &out);
    }
    assert_false(out.cut);
    size_t len = 0;
    char *golden = kit_read(GOLDEN, &len);
    assert_string_equal(names, golden);
    free(golden);
    free(names);
    close_lua(lua);
}

/* ---- functions that must not be reached under any name ---- */

typedef struct forbidden {
    lua_CFunction function[FORBIDDEN_MAX];
    size_t n;
} forbidden;

static void forbid(lua_State *L, forbidden *f, const char *table, const char *name) {
    (void)lua_getglobal(L, table);
    for (lua_pushnil(L); lua_next(L, -2) != 0; lua_pop(L, 1)) {
        bool wanted = name == NULL || strcmp(lua_tostring(L, -2), name) == 0;
        if (wanted && lua_iscfunction(L, -1)) {
            assert_true(f->n < FORBIDDEN_MAX);
            f->function[f->n++] = lua_tocfunction(L, -1);
        }
    }
    lua_pop(L, 1);
}

static forbidden all_forbidden(void) {
    static const char *const whole[] = {"io", "os", "debug", "package", "coroutine"};
    static const char *const single[][2] = {
        {"_G", "load"},        {"_G", "loadfile"}, {"_G", "dofile"},   {"_G", "collectgarbage"},
        {"_G", "next"},        {"_G", "print"},    {"_G", "rawset"},   {"_G", "rawget"},
        {"_G", "xpcall"},      {"_G", "warn"},     {"_G", "pairs"},    {"_G", "tostring"},
        {"_G", "require"},     {"string", "dump"}, {"math", "random"}, {"table", "sort"},
        {"math", "randomseed"}};
    lua_State *L = luaL_newstate();
    assert_non_null(L);
    luaL_openlibs(L);
    forbidden f = {.n = 0};
    for (size_t i = 0; i < sizeof whole / sizeof whole[0]; i++) {
        forbid(L, &f, whole[i], NULL);
    }
    for (size_t i = 0; i < sizeof single / sizeof single[0]; i++) {
        forbid(L, &f, single[i][0], single[i][1]);
    }
    lua_close(L);
    assert_true(f.n > 60);
    return f;
}

static void walk(lua_State *L, int seen, const forbidden *f);

static void walk_table(lua_State *L, int seen, const forbidden *f) {
    for (lua_pushnil(L); lua_next(L, -2) != 0;) {
        walk(L, seen, f);
        lua_pushvalue(L, -1);
        walk(L, seen, f);
    }
}

static void walk_upvalues(lua_State *L, int seen, const forbidden *f) {
    for (int i = 1; lua_getupvalue(L, -1, i) != NULL; i++) {
        walk(L, seen, f);
    }
}

/* Pops a value and visits what it leads to. */
static void walk(lua_State *L, int seen, const forbidden *f) {
    luaL_checkstack(L, 16, NULL);
    const void *address = lua_topointer(L, -1);
    if (address != NULL && lua_rawgetp(L, seen, address) == LUA_TNIL) {
        lua_pushboolean(L, 1);
        lua_rawsetp(L, seen, address);
        lua_pop(L, 1);
        for (size_t i = 0; i < f->n; i++) {
            assert_true(!lua_iscfunction(L, -1) || lua_tocfunction(L, -1) != f->function[i]);
        }
        if (lua_istable(L, -1)) {
            walk_table(L, seen, f);
        }
        if (lua_isfunction(L, -1)) {
            walk_upvalues(L, seen, f);
        }
        if (lua_getmetatable(L, -1)) {
            walk(L, seen, f);
        }
    } else if (address != NULL) {
        lua_pop(L, 1);
    }
    lua_pop(L, 1);
}

static void test_nothing_forbidden_is_reached(void **state) {
    (void)state;
    forbidden f = all_forbidden();
    bw_sequence_limit limit = (bw_sequence_limit)0;
    bw_lua *lua = open_lua(&limit);
    lua_newtable(lua->L);
    int seen = lua_gettop(lua->L);
    bw_lua_push_env(lua->L);
    walk(lua->L, seen, &f);
    lua_pushliteral(lua->L, "");
    walk(lua->L, seen, &f); /* the metatable of texts */
    bw_lua_push_quantity(lua->L, (bw_quantity){1, BW_UNIT_NM, 0});
    walk(lua->L, seen, &f);
    size_t visited = 0;
    for (lua_pushnil(lua->L); lua_next(lua->L, seen) != 0; lua_pop(lua->L, 1)) {
        visited++;
    }
    assert_true(visited > 150); /* words, units, formulas, Lua's own */
    close_lua(lua);
}

/* ---- one order ---- */

static const char walk_text[] =
    "local t = {}\n"
    "for _, k in ipairs{'zeta', 'alpha', 'Beta', 'a', 'aa', ''} do t[k] = true end\n"
    "t[3] = 1 t[1] = 1 t[2.5] = 1 t[-7] = 1 t[1e100] = 1 t[true] = 1 t[false] = 1\n"
    "t[math.maxinteger] = 1 t[math.maxinteger - 1] = 1\n"
    "local s = ''\n"
    "for k in pairs(t) do s = s .. tostring(k) .. ' ' end\n"
    "return s";

static void test_pairs_has_one_order(void **state) {
    (void)state;
    for (int i = 0; i < 5; i++) {
        char *text = run_for_text(walk_text);
        assert_string_equal(text, "-7 1 2.5 3 9223372036854775806 9223372036854775807 1e+100  Beta "
                                  "a aa alpha zeta false true ");
        free(text);
    }
}

static void test_pairs_while_the_table_changes(void **state) {
    (void)state;
    char *text = run_for_text("local t, s = {a = 1, b = 2, c = 3}, ''\n"
                              "for k, v in pairs(t) do s = s .. k t.b = nil t.d = 4 end\n"
                              "return s");
    assert_string_equal(text, "ac");
    free(text);
}

static void test_sort_is_stable(void **state) {
    (void)state;
    char *text = run_for_text(
        "local t = {}\n"
        "for i = 1, 300 do t[i] = {key = (i * 7919) % 5, at = i} end\n"
        "table.sort(t, function(a, b) return a.key < b.key end)\n"
        "for i = 2, 300 do\n"
        "  local a, b = t[i - 1], t[i]\n"
        "  assert(a.key < b.key or (a.key == b.key and a.at < b.at))\n"
        "end\n"
        "local u = {5, 3, 9, 1} table.sort(u)\n"
        "local v = {} table.sort(v) local w = {'b'} table.sort(w)\n"
        "local x = {Nm(3), lbf_ft(1), Nm(1)} table.sort(x)\n"
        "local lies = {3, 1, 2} table.sort(lies, function() return true end)\n"
        "return table.concat(u, ' ') .. ' ' .. #lies .. ' ' .. tostring(x[2])");
    assert_string_equal(text, "1 3 5 9 3 1 lbf·ft");
    free(text);
}

static void test_each_run_is_fresh(void **state) {
    (void)state;
    char *text = run_for_text("leftover = 'x' return leftover");
    free(text);
    text = run_for_text("return type(leftover)");
    assert_string_equal(text, "userdata"); /* what stands for a mistake: it is not set */
    free(text);
}

static void test_limits_stop_in_process_too(void **state) {
    (void)state;
    static const struct {
        const char *text;
        bw_sequence_limit limit;
    } rows[] = {{"while true do end", BW_LIMIT_TIME},
                {"local s = 'x' while true do s = s .. s end", BW_LIMIT_MEMORY},
                {"while true do note{say = ('x'):rep(1000)} end", BW_LIMIT_OUTPUT}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_sequence_limit limit = (bw_sequence_limit)0;
        bw_lua *lua = open_lua(&limit);
        bw_lua_run(lua, "test", rows[i].text, strlen(rows[i].text));
        assert_int_equal(limit, rows[i].limit);
        assert_true(lua->memory_bytes <= BW_RUN_MEMORY_BYTES);
        assert_true(lua->out_len <= BW_RUN_OUTPUT_BYTES);
        close_lua(lua);
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_reachable_names),
    cmocka_unit_test(test_nothing_forbidden_is_reached),
    cmocka_unit_test(test_pairs_has_one_order),
    cmocka_unit_test(test_pairs_while_the_table_changes),
    cmocka_unit_test(test_sort_is_stable),
    cmocka_unit_test(test_each_run_is_fresh),
    cmocka_unit_test(test_limits_stop_in_process_too),
};

KIT_MAIN(tests)
