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
    OPT_OUT,
    OPT_LIVE,
    OPT_DIRECTION,
    OPT_WINDUP
};

/* tool_calibrate.c: tool calibrate NAME. */
int bw_tool_calibrate(const bw_args *args, const bw_tool *tool);

/* tool_check.c: tool check NAME. */
int bw_tool_check(const bw_args *args, const bw_tool *tool);

/* tool_used.c: tool show NAME --used. */
int bw_tool_used(const bw_args *args, const bw_tool *tool);

/* ---- tool_live.c ---- */

/* What a wrench showed; all zero: nothing yet. */
typedef struct bw_heard {
    double sum_Nm; /* of n samples */
    size_t n;
    double newest_Nm, peak_Nm; /* of the samples, without sign */
    double result_Nm;          /* greatest of the results, likewise; 0: none */
} bw_heard;

/* A sink that adds to *heard and complains of what the driver says. */
bw_device_sink bw_tool_sink(bw_heard *heard);

/* Opens the tool as the register says that it is reached; readings are those at the drive. */
BW_MUST_USE bw_status bw_tool_open(const bw_tool *tool, bw_device **out, bw_err *err);

/* Adds what comes in so long.  Errors as bw_device_pump. */
BW_MUST_USE bw_status bw_tool_hear(bw_device *device, int ms, bw_heard *out, bw_err *err);

/* Passes over what came while nobody listened. */
BW_MUST_USE bw_status bw_tool_catch_up(bw_device *device, bw_err *err);

/* Waits for one pull of least_Nm or more, and its end; its peak.  BW_E_STATE none came. */
BW_MUST_USE bw_status bw_tool_peak(bw_device *device, double least_Nm, int patience_ms,
                                   double *peak_Nm, bw_err *err);

/* Numbers parted by commas, exactly n of them. */
bool bw_numbers_read(const char *text, double *out, size_t n);

#endif
