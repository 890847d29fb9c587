/* lua_driver.h - a driver of one text in Lua, made into what a C driver is.
 *
 * Room: sequence, because Lua lives here; it knows nothing of ports and workers.  command/main.c
 * hands bw_lua_driver_make to the driver worker (device/device.h: bw_driver_maker), whose wall and
 * deadline hold the text in.  docs/drivers-in-lua.md says what such a text may say. */
#ifndef BW_SEQUENCE_LUA_DRIVER_H
#define BW_SEQUENCE_LUA_DRIVER_H

#include "base/status.h"
#include "boltwright/driver.h"

#include <stddef.h>

/* Runs the text once and fills in *out and *self (freed by bw_lua_driver_free, or with the
 * process). The process ends where the text takes more memory than BW_LUA_DRIVER_MEMORY. BW_E_DATA
 * with one line: "NAME.lua:LINE: what is wrong". */
enum { BW_LUA_DRIVER_MEMORY = 16 << 20, BW_LUA_DRIVER_EXIT = 5 };
BW_MUST_USE bw_status bw_lua_driver_make(const char *name, const char *text, size_t len,
                                         bw_driver *out, void **self, bw_err *err);
void bw_lua_driver_free(void *self);

#endif
