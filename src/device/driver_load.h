/* driver_load.h - a driver's shared object: where it is (host), loaded and checked (worker).
 *
 * Room: device, private to it. */
#ifndef BW_DEVICE_DRIVER_LOAD_H
#define BW_DEVICE_DRIVER_LOAD_H

#include "base/status.h"
#include "boltwright/driver.h"

#include <stddef.h>

/* Finds NAME.so or NAME.lua in, one after another: the folders of $BOLTWRIGHT_PLUGINS (colons
 * between them), plugins beside the program, boltwright/plugins under the ../lib of its folder and
 * under each folder in there, and plugins in the home folder of the program.  path has PATH_MAX
 * bytes.
 *
 * BW_E_DATA no such driver, or a file that anybody may write to. */
BW_MUST_USE bw_status bw_driver_find(const char *name, char *path, bw_err *err);

/* Calls take for the name of every file that could be a driver in those folders; one that is in two
 * of them comes twice. */
typedef void bw_driver_take_name(void *ctx, const char *name);
void bw_driver_names(bw_driver_take_name *take, void *ctx);

/* Loads path and checks what it exports.  out is a copy, with members that its build did not know
 * zero; the shared object stays loaded to the end of the process.  BW_E_DATA names every fault. */
BW_MUST_USE bw_status bw_driver_load(const char *path, const char *name, bw_driver *out,
                                     bw_err *err);

/* The check alone.  name: the name it was asked for by. */
BW_MUST_USE bw_status bw_driver_check(const bw_driver *driver, const char *name, bw_err *err);

#endif
