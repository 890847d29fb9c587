/* lua_driver_int.h - what the parts of a Lua driver share.
 *
 * Room: sequence, private to lua_driver.c and lua_declare.c. */
#ifndef BW_SEQUENCE_LUA_DRIVER_INT_H
#define BW_SEQUENCE_LUA_DRIVER_INT_H

#include "sequence/framing.h"
#include "sequence/lua_driver.h"

#include <lua.h>

enum { SAYS_MAX = 201, VERSION_MAX = 33, SEND_MAX = 256 };

typedef struct bw_lua_driver {
    lua_State *L;
    size_t memory_bytes;
    char name[32];
    char says[SAYS_MAX];
    char version[VERSION_MAX];
    char source[SAYS_MAX];
    char fault[SAYS_MAX]; /* what configure answers */
    bw_line_settings line;
    bw_framing framing;
    uint32_t can; /* BW_CAN_* that it says itself */
    bool declared;
    bool in_step; /* what comes begins a frame */
    uint8_t ask[SEND_MAX];
    size_t ask_len;
    uint64_t every_ns, asked_ns;
    uint8_t opened[BW_FRAMED_MAX];
} bw_lua_driver;

/* Where the registry holds the driver itself, and the table that it declared. */
#define BW_LUA_SELF     "bw.driver"
#define BW_LUA_DECLARED "bw.declared"

bw_lua_driver *bw_lua_driver_of(lua_State *L);

/* Pushes the environment that a driver's text runs in: driver, the framings, decimal, and what is
 * left of Lua's library.  lua_declare.c. */
int bw_lua_driver_env(lua_State *L);

#endif
