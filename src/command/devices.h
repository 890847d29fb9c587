/* devices.h - names for devices: $XDG_CONFIG_HOME/boltwright/devices.lua, else
 * ~/.config/boltwright/devices.lua.
 *
 * Room: command. */
#ifndef BW_COMMAND_DEVICES_H
#define BW_COMMAND_DEVICES_H

#include "base/status.h"
#include "device/device.h"

/* Puts the settings of the device that spec names before its first comma in the place of that name,
 * and what stands behind it behind them.  Copies spec where the file is not there or knows no such
 * name.  out has BW_SPEC_MAX bytes.
 * BW_E_ARG the file cannot be read as what it should be, or the result is too long. */
BW_MUST_USE bw_status bw_devices_expand(const char *spec, char *out, bw_err *err);

#endif
