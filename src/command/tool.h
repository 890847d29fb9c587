/* tool.h - what the parts of boltwright tool share.
 *
 * Room: command. */
#ifndef BW_COMMAND_TOOL_H
#define BW_COMMAND_TOOL_H

#include "command/command.h"
#include "command/register.h"

enum {
    OPT_TYPE,
    OPT_RANGE,
    OPT_RESOLUTION,
    OPT_MAKER,
    OPT_MODEL,
    OPT_SERIAL,
    OPT_WRENCH,
    OPT_ADAPTER,
    OPT_BY,
    OPT_DATE,
    OPT_DUE,
    OPT_CERTIFICATE,
    OPT_REFERENCE,
    OPT_WEIGHTS,
    OPT_SPANS,
    OPT_REASON,
    OPT_EXPECT,
    OPT_LIMIT,
    OPT_SETTING,
    OPT_USED,
    OPT_SINCE,
    OPT_ZERO,
    OPT_SHUNT,
    OPT_OUT
};

/* tool_calibrate.c: tool calibrate NAME. */
int bw_tool_calibrate(const bw_args *args, const bw_tool *tool);

/* tool_check.c: tool check NAME. */
int bw_tool_check(const bw_args *args, const bw_tool *tool);

/* tool_used.c: tool show NAME --used. */
int bw_tool_used(const bw_args *args, const bw_tool *tool);

/* Numbers parted by commas, exactly n of them. */
bool bw_numbers_read(const char *text, double *out, size_t n);

#endif
