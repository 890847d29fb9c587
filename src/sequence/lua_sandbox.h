/* lua_sandbox.h - one run of one stranger's text, inside the worker.
 *
 * Room: sequence; only its lua_*.c and worker_main.c include this.  The wall (wall/worker.h) keeps
 * the stranger in; what is here keeps the language small, its answers the same every time, and
 * its mistakes named by line. */
#ifndef BW_SEQUENCE_LUA_SANDBOX_H
#define BW_SEQUENCE_LUA_SANDBOX_H

#include "base/status.h"
#include "sequence/wire.h"
#include "trade/units.h"

#include <lua.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* How the sandbox reaches the outside; in the worker by frames, in a test as the test likes. */
typedef struct bw_lua_host {
    void *ctx;
    /* The text of a module: *text borrowed until the next call; *why where there is none. */
    bool (*module)(void *ctx, const char *name, const char **text, size_t *len, const char **why);
    /* A limit was hit: must not return into Lua (the worker ends here). */
    void (*stop)(void *ctx, bw_sequence_limit limit, bw_spot spot);
} bw_lua_host;

/* One run.  Reached from Lua's functions by bw_lua_of. */
typedef struct bw_lua {
    lua_State *L;
    bw_lua_host host;
    int64_t stop_ns; /* monotonic */
    size_t memory_bytes;
    uint8_t *out; /* the answer, see wire.h */
    size_t out_len;
    size_t out_size;
    int dump_depth;    /* tables around the one that is being dumped */
    bool error_noted;  /* the error that ended the run is in the answer */
    size_t error_from; /* and begins there */
    size_t source_n;
    char source[BW_RUN_MODULES_MAX + 1][BW_MODULE_NAME_MAX + 2]; /* "=name" */
} bw_lua;

/* A quantity as Lua holds it; immutable. */
typedef struct bw_lua_quantity {
    bw_quantity quantity;
    bw_spot spot; /* where it was written */
} bw_lua_quantity;

/* ---- one run (lua_sandbox.c) ---- */

/* Fills in *lua with a fresh state.  False where memory is out. */
BW_MUST_USE bool bw_lua_open(bw_lua *lua, bw_lua_host host);
void bw_lua_close(bw_lua *lua);

/* Runs a text, or one that returns a value; mistakes and errors are nodes in lua->out. */
void bw_lua_run(bw_lua *lua, const char *name, const char *text, size_t len);
void bw_lua_calc(bw_lua *lua, const char *chunk, size_t len);

/* Pushes the compiled text with the environment in it, or the message why not (false). */
bool bw_lua_load(lua_State *L, const char *name, const char *text, size_t len);

bw_lua *bw_lua_of(lua_State *L);

/* The line that is being run. */
bw_spot bw_lua_spot(lua_State *L);

/* Pushes the environment that every chunk gets. */
void bw_lua_push_env(lua_State *L);

/* ---- mistakes that do not stop the run (lua_words.c) ---- */

/* Notes a mistake at the line that is being run and pushes a value that stands for what should
 * have been there: whatever is done with it gives itself again.  Returns 1. */
int bw_lua_mistake(lua_State *L, const char *format, ...);
bool bw_lua_is_reported(lua_State *L, int index);

/* ---- the answer (lua_dump.c) ---- */

/* A node with the table at index as its body.  Returns how deep it is nested. */
int bw_dump_node(lua_State *L, const char *word, int index);

/* A node whose one list value is a text. */
void bw_dump_message(lua_State *L, const char *word, bw_spot spot, const char *text, size_t len);

/* Takes what was dumped since `from` back out and pushes it as an inner node. */
void bw_dump_keep_inner(lua_State *L, size_t from, int height);

/* ---- what the environment is made of ---- */

/* Each adds its functions to the table at the top of the stack. */
void bw_lua_add_library(lua_State *L); /* lua_library.c */
void bw_lua_add_words(lua_State *L);   /* lua_words.c */
void bw_lua_add_units(lua_State *L);   /* lua_units.c */
void bw_lua_add_calc(lua_State *L);    /* lua_calc.c */

/* Pushes t's keys in their fixed order - numbers ascending, words by bytes, false, true - as a
 * list, and returns how many.  A key of another kind is an error. */
size_t bw_lua_push_keys(lua_State *L, int index);

/* The quantity at index, NULL where it is none. */
const bw_lua_quantity *bw_lua_quantity_at(lua_State *L, int index);
void bw_lua_push_quantity(lua_State *L, bw_quantity quantity);

/* A value of any type for people, without running a line of script: "a table", "60 N·m".  Into
 * out, of BW_DESCRIBE_MAX bytes; returned. */
enum { BW_DESCRIBE_MAX = 80 };
const char *bw_lua_describe(lua_State *L, int index, char *out, size_t size);

#endif
