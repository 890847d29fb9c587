/* test_hostile.c - sequences from strangers, by class: each ends in time, as a mistake or as
 * nothing, and the host goes on as if it had not been. */
#include "kit.h"

#include "base/clock.h"
#include "sequence/wire.h"
#include "wall/frame_int.h"

#include <dirent.h>
#include <errno.h>
#include <lauxlib.h>
#include <lualib.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>

#include "cmocka_all.h"

#define NOTE "note{id = 'n', say = 's'}\n"

enum { GRACE_MS = 250, SANITIZER_GRACE_MS = 2000 };

typedef struct row {
    const char *text; /* behind KIT_HEAD and NOTE, so from line 3 on */
    int line;
    const char *part; /* NULL: a plan, nothing came of it */
} row;

static void check(const row *r) {
    char *text = malloc(strlen(r->text) + 256);
    assert_non_null(text);
    (void)snprintf(text, strlen(r->text) + 256, KIT_HEAD NOTE "%s", r->text);
    int64_t begin_ns = bw_clock_mono_ns();
    kit_run run = kit_load(text);
    int64_t took_ms = (bw_clock_mono_ns() - begin_ns) / 1000000;
    int grace_ms = BW_WALL_SANITIZED ? SANITIZER_GRACE_MS : GRACE_MS;
    if (took_ms > BW_RUN_LIMIT_MS + grace_ms) {
        fail_msg("took %d ms: %s", (int)took_ms, r->text);
    }
    if (r->part == NULL) {
        kit_assert_plan(&run);
        assert_int_equal(run.loaded.plan->step_n, 1);
    } else {
        kit_assert_has(&run, r->line, r->part);
    }
    kit_end(&run);
    free(text);
}

static void check_rows(const row *rows, size_t n) {
    for (size_t i = 0; i < n; i++) {
        check(&rows[i]);
    }
}

#define CHECK(rows) check_rows(rows, sizeof rows / sizeof rows[0])
#define TIME        "ran for more than a second and was stopped here"
#define KILLED      "something in it goes on without an end"
#define MEMORY      "needed more than 64 MiB of memory"

static void test_loops(void **state) {
    (void)state;
    static const row rows[] = {
        {"\nwhile true do end", 4, TIME},
        {"repeat until false", 3, TIME},
        {"for i = 1, math.huge do end", 3, TIME},
        {"::again:: goto again", 3, TIME},
        {"local function f() return f() end f()", 3, TIME},
    };
    CHECK(rows);
}

/* The stop cannot be caught: not by a protected call, a handler, a closing variable, a method. */
static void test_swallowing_the_stop(void **state) {
    (void)state;
    static const row rows[] = {
        {"while true do pcall(function() while true do end end) end", 3, TIME},
        {"local mt = {__close = function() while true do end end}\n"
         "while true do pcall(function() local x <close> = setmetatable({}, mt) error('') end) end",
         3, TIME},
        {"local t = setmetatable({}, {__index = function(t, k) return t[k + 1] end})\n"
         "while true do pcall(function() return t[1] end) end",
         3, TIME},
        {"while true do pcall(string.rep, 'x', 1 << 30) end", 3, MEMORY},
        {"while true do pcall(function() local t = {} while true do t[#t + 1] = {} end end) end", 3,
         MEMORY},
        {"xpcall(function() while true do end end, function() end)\n", 3, "unknown word `xpcall`"},
        {"coroutine.wrap(function() while true do end end)()", 3, "unknown word `coroutine`"},
    };
    CHECK(rows);
}

/* Where no hook fires only the wall clock outside helps. */
static void test_one_call_without_end(void **state) {
    (void)state;
    static const row rows[] = {
        {"local s = ('a'):rep(40) s:find(('a*'):rep(20) .. 'b')", 1, KILLED},
        {"local s = ('a'):rep(300000) s:find('.-b')", 1, KILLED},
        {"table.move({}, 1, 1 << 40, 2)", 1, KILLED},
        {"pcall(table.move, {}, 1, 1 << 40, 2)", 1, KILLED},
    };
    CHECK(rows);
}

static void test_memory(void **state) {
    (void)state;
    static const row rows[] = {
        {"local s = 'x' while true do s = s .. s end", 3, MEMORY},
        {"local _ = ('x'):rep(1 << 30)", 3, MEMORY},
        {"local _ = ('x'):rep(1 << 62)", 3, "resulting string too large"},
        {"local t = {} for i = 1, 1e9 do t[i] = i end", 3, MEMORY},
        {"local t = {} while true do t = {t, t, {}} end", 3, MEMORY},
        {"table.concat(setmetatable({}, {__len = function() return 1 << 40 end, __index = "
         "function() return ('x'):rep(1 << 16) end}))",
         3, MEMORY},
        {"string.format(('%99s'):rep(1 << 19), table.unpack({}, 1, 1 << 19))", 3, ""},
        {"local f = {} for i = 1, 1e9 do f[i] = function() return i end end", 3, MEMORY},
        {"local _ = ('x'):rep(1 << 20):gsub('.', ('y'):rep(1 << 10))", 3, MEMORY},
        {"utf8.char(table.unpack({}, 1, 1e8))", 3, "too many results to unpack"},
    };
    CHECK(rows);
}

static void test_output(void **state) {
    (void)state;
    static const row rows[] = {
        {"while true do note{id = 'm', say = ('x'):rep(100)} end", 3, "declares more than 4 MiB"},
        {"note{id = 'm', say = ('x'):rep(5 << 20)}", 3, "declares more than 4 MiB"},
        {"while true do pcall(note, {id = 'm', say = ('x'):rep(100000)}) end", 3,
         "more than 4 MiB"},
        {"while true do local x = unknown end", 3, "more than 4 MiB"},
        {"local t = {1} for i = 1, 7 do t = {t, t, t, t, t, t, t, t} end note{t}", 3,
         "more than 4 MiB"},
        {"local t = {} t.t = t note{id = 'm', say = t}", 3, "not a list in braces"},
        {"local t = {} t[1] = t note{id = 'm', say = t}", 3, "not a list in braces"},
        {"local v = grid{} for i = 1, 60 do v = grid{v, v} end note{id = 'm', say = v}", 3, ""},
    };
    CHECK(rows);
}

static void test_depth(void **state) {
    (void)state;
    static const row rows[] = {
        {"local function f() return 1 + f() end f()", 3, MEMORY},
        {"local t = setmetatable({}, {}) getmetatable(t).__index = function(t, k) return t[k] end\n"
         "local _ = t.x",
         3, "stack overflow"},
        {"local f f = function() return ('x'):gsub('x', f) end f()", 3, "overflow"},
        {"local t = setmetatable({}, {__concat = function(a, b) return a .. b end}) return t .. t",
         3, "overflow"},
        {"local f f = function() pcall(f) end f()", 3, NULL},
        {"local f f = function(...) return pcall(f, ...) end f()", 3, NULL},
        {"local _ = ('x'):rep(1000):find(('('):rep(1000))", 3, "too many captures"},
    };
    CHECK(rows);
}

static void check_nested(const char *front, const char *open, const char *middle, const char *close,
                         size_t n, int line, const char *part) {
    size_t size = strlen(front) + n * (strlen(open) + strlen(close)) + strlen(middle) + 1;
    char *text = malloc(size);
    assert_non_null(text);
    memcpy(text, front, strlen(front));
    char *at = text + strlen(front);
    for (size_t i = 0; i < n; i++, at += strlen(open)) {
        memcpy(at, open, strlen(open));
    }
    memcpy(at, middle, strlen(middle));
    at += strlen(middle);
    for (size_t i = 0; i < n; i++, at += strlen(close)) {
        memcpy(at, close, strlen(close));
    }
    *at = '\0';
    row r = {text, line, part};
    check(&r);
    free(text);
}

static void test_parser_limits(void **state) {
    (void)state;
    check_nested("local x = ", "(", "1", ")", 100000, 1, "C stack overflow");
    check_nested("local x = ", "{", "1", "}", 50000, 1, "C stack overflow");
    check_nested("", "if 1 then ", "", " end", 50000, 1, "C stack overflow");
    check_nested("", "do ", "", " end", 500, 1, "C stack overflow");
    check_nested("local x = ", "- ", "1", "", 10000, 1, "C stack overflow");
    check_nested("", "local a = 1 ", "", "", 300, 3, "too many local variables");
    static const row rows[] = {
        {"x = [==[", 3, "unfinished long string"},
        {"x = '", 3, "unfinished string"},
        {"x = '\\400'", 3, "decimal escape too large"},
        {"x = 0x", 3, "malformed number"},
        {"goto nowhere", 3, "no visible label 'nowhere'"},
        {"x <const> = 1", 3, ""},
        {"#!/bin/lua", 3, ""},
    };
    CHECK(rows);
}

/* ---- compiled code ---- */

static int append(lua_State *L, const void *bytes, size_t n, void *buffer) {
    (void)L;
    luaL_addlstring(buffer, bytes, n);
    return 0;
}

/* Compiled code holds NUL bytes, so that it is no text to begin with; the worker, which is what
 * would run it, must refuse it too. */
static void test_compiled_code(void **state) {
    (void)state;
    lua_State *L = luaL_newstate();
    assert_non_null(L);
    assert_int_equal(luaL_loadstring(L, "return 1"), LUA_OK);
    luaL_Buffer code;
    luaL_buffinit(L, &code);
    lua_pushvalue(L, 1);
    assert_int_equal(lua_dump(L, append, &code, 0), 0);
    lua_pop(L, 1);
    luaL_pushresult(&code);
    size_t len = 0;
    const char *bytes = lua_tolstring(L, -1, &len);
    bw_arena *arena = bw_arena_new(0);
    bw_loaded loaded;
    bw_source source = {.name = "test.lua", .text = bytes, .len = len};
    assert_int_equal(bw_sequence_load_sources(&source, 1, arena, &loaded, NULL), BW_E_DATA);
    bw_arena_free(arena);
    lua_close(L);
    static const char *const starts[] = {"\x1bLua", "\xEF\xBB\xBF\x1bLua", "\x1b", "\x1bLuaT\x01"};
    for (size_t i = 0; i < sizeof starts / sizeof starts[0]; i++) {
        kit_run run = kit_load(starts[i]);
        kit_assert_one(&run, 1, "this is compiled Lua: a sequence must be text");
        kit_end(&run);
    }
    kit_run run = kit_load("# a line before it\n\x1bLua");
    kit_assert_one(&run, 1, "unexpected symbol near '#'");
    kit_end(&run);
    static const row rows[] = {
        {"string.dump(function() end)", 3, "attempt to call a nil value (field 'dump')"},
        {"load('x')", 3, "unknown word `load`"},
        {"loadstring('x')", 3, "unknown word `loadstring`"},
        {"dofile('x')", 3, "unknown word `dofile`"},
        {"loadfile('x')", 3, "unknown word `loadfile`"},
    };
    CHECK(rows);
}

/* ---- what is not there, what cannot be changed ---- */

static void test_ways_out(void **state) {
    (void)state;
    static const row rows[] = {
        {"os.exit()", 3, "unknown word `os`"},
        {"io.open('x')", 3, "unknown word `io`"},
        {"debug.getregistry()", 3, "unknown word `debug`"},
        {"package.loadlib('x', '*')", 3, "unknown word `package`"},
        {"collectgarbage()", 3, "unknown word `collectgarbage`"},
        {"local _ = _G", 3, "unknown word `_G`"},
        {"math.random()", 3, "attempt to call a nil value (field 'random')"},
        {"next({})", 3, "unknown word `next`"},
        {"rawset(_ENV, 'x', 1)", 3, "unknown word `rawset`"},
        {"setmetatable({}, {__gc = function() end})", 3, "__gc is not to be had"},
        {"setmetatable({}, {__mode = 'k'})", 3, "__mode is not to be had"},
        {"setmetatable(_ENV, nil)", 3, "cannot change a protected metatable"},
        {"setmetatable(string, {})", 3, "cannot change a protected metatable"},
        {"setmetatable(Nm(1), {})", 3, "table expected"},
        {"getmetatable('').__index = nil", 3, "attempt to index a boolean value"},
        {"string.upper = nil", 3, "cannot be written to"},
        {"table.insert = nil", 3, "cannot be written to"},
        {"Nm = nil", 3, "keeps its meaning"},
        {"_ENV.note = nil", 3, "keeps its meaning"},
        {"string.format('%p', {})", 3, "it shows an address"},
        {"string.format('\\0%p', {})", 3, "it shows an address"},
        {"string.format('%-10p', 'x')", 3, "it shows an address"},
        {"assert(tostring({}) == 'table')", 3, NULL},
        {"assert(tostring(print) == '?')", 3, "unknown word `print`"},
        {"assert(tostring(pairs) == 'function')", 3, NULL},
        {"assert(string.format('%s|%10s', {}, pairs) == 'table|  function')", 3, NULL},
        {"assert(not pcall(string.format, '%s'))", 3, NULL},
        {"local _ENV = {} x = 1", 3, NULL},
        {"local mt = {} setmetatable({}, mt) mt.__gc = function() while true do end end", 3, NULL},
    };
    CHECK(rows);
}

/* ---- strange errors ---- */

static void test_strange_errors(void **state) {
    (void)state;
    static const row rows[] = {
        {"error()", 3, "given nothing"},
        {"error(setmetatable({}, {__tostring = function() while true do end end}))", 3,
         "given a table"},
        {"error(setmetatable({}, {__tostring = function() error('x') end}))", 3, "given a table"},
        {"error(setmetatable({}, {__name = ('x'):rep(1000)}))", 3, "given a table"},
        {"error(('x'):rep(20000000), 0)", 3, "xxx"},
        {"error('\\27[2J\\0hidden', 0)", 3, "\\x1B[2J"},
        {"error('\\xff\\xfe', 0)", 3, "\\xFF\\xFE"},
        {"error('test.lua:1: a lie', 0)", 1, "a lie"},
        {"error('test.lua:99999999: a lie', 0)", 3, "test.lua:99999999"},
        {"error(true)", 3, "given true"},
        {"error(1/0)", 3, "inf"},
        {"error(pairs)", 3, "given a function"},
        {"local t = setmetatable({}, {__close = function() error('while closing') end})\n"
         "do local x <close> = t error('first') end",
         3, "while closing"},
    };
    CHECK(rows);
    /* One error that others take the place of while it goes up is one. */
    kit_run run = kit_load(KIT_HEAD
                           "local function f(n) local x <close> = setmetatable({}, {__close = "
                           "function() error(n) end}) if n > 0 then f(n - 1) end end f(150)");
    kit_assert_one(&run, 2, "150");
    kit_end(&run);
    run = kit_load(KIT_HEAD "error(('x'):rep(20000000), 0)");
    assert_true(strlen(run.loaded.mistake[0].text) <= 400);
    kit_end(&run);
}

/* ---- tables that lie ---- */

static void test_lying_tables(void **state) {
    (void)state;
    static const row rows[] = {
        {"note(setmetatable({}, {__index = {id = 'm', say = 's'}}))", 3, "note lacks `id`"},
        {"note(setmetatable({id = 'm', say = 's'}, {__index = error, __pairs = error, __len = "
         "error}))\nnote{id = 'm', say = 's'}",
         4, "stands already in line 3"},
        {"local t = {Nm(60), within = percent(5)} local s = torque(t) t[1] = mm(1)\n"
         "group{name = 'g', say = 's', lubricant = 'oil', places = labels{'a'}}\n"
         "tighten{id = 'n', say = 's', group = 'g', stages = {s}}",
         5, "stands already in line 2"},
        {"note{id = 'm', say = 's', [{}] = 1}", 3, "only names can stand"},
        {"note{id = 'm', say = 's', [3] = 1}", 3, "only names can stand"},
        {"note{id = 'm', say = 's', ['\\0'] = 1}", 3, "only names can stand"},
        {"note{id = 'm', say = 's', [('x'):rep(300)] = 1}", 3, "only names can stand"},
        {"note{id = 'm', say = 's', ['\\27[2J'] = 1}", 3, "no field `\\x1B[2J`"},
        {"note{id = 'm', say = 's', ['sa\\u{200B}y'] = 1}", 3, "no field"},
    };
    CHECK(rows);
}

/* ---- the host afterwards ---- */

static size_t open_handles(void) {
    size_t n = 0;
    DIR *folder = opendir("/proc/self/fd");
    assert_non_null(folder);
    while (readdir(folder) != NULL) {
        n++;
    }
    assert_int_equal(closedir(folder), 0);
    return n;
}

static void test_host_goes_on(void **state) {
    (void)state;
    static const char *const texts[] = {
        "while true do end",        "('x'):rep(1 << 30)", "error({})", ")", "note{",
        "note{id = 'n', say = 's'}"};
    size_t before = open_handles();
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        kit_run run = kit_load(texts[i]);
        kit_end(&run);
    }
    kit_run run = kit_load(KIT_HEAD NOTE);
    kit_assert_plan(&run);
    kit_end(&run);
    assert_int_equal(open_handles(), before);
    assert_int_equal(waitpid(-1, NULL, WNOHANG), -1); /* no child is left, dead or alive */
    assert_int_equal(errno, ECHILD);
}

static void test_host_memory_stays_small(void **state) {
    (void)state;
    enum { CAP_KIB = 64 << 10 };
    struct rusage before;
    struct rusage after;
    assert_int_equal(getrusage(RUSAGE_SELF, &before), 0);
    kit_run run = kit_load("while true do note{id = 'm', say = ('x'):rep(1000)} end");
    kit_end(&run);
    run = kit_load(KIT_HEAD "local t = {} for i = 1, 400 do t[i] = {} end\n"
                            "for i = 1, 700 do note{id = 'm' .. i, say = t} end");
    kit_end(&run);
    assert_int_equal(getrusage(RUSAGE_SELF, &after), 0);
    if (!BW_WALL_SANITIZED) {
        assert_true(after.ru_maxrss - before.ru_maxrss < CAP_KIB);
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_loops),
    cmocka_unit_test(test_swallowing_the_stop),
    cmocka_unit_test(test_one_call_without_end),
    cmocka_unit_test(test_memory),
    cmocka_unit_test(test_output),
    cmocka_unit_test(test_depth),
    cmocka_unit_test(test_parser_limits),
    cmocka_unit_test(test_compiled_code),
    cmocka_unit_test(test_ways_out),
    cmocka_unit_test(test_strange_errors),
    cmocka_unit_test(test_lying_tables),
    cmocka_unit_test(test_host_goes_on),
    cmocka_unit_test(test_host_memory_stays_small),
};

KIT_MAIN(tests)
