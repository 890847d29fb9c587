/* register.h - the register of tools: a fold of the record's entries about them.
 *
 * Room: command.  Tools belong to the bench, so their entries name no build (BW_BUILD_NONE). */
#ifndef BW_COMMAND_REGISTER_H
#define BW_COMMAND_REGISTER_H

#include "device/device.h"
#include "record/store.h"
#include "trade/units.h"

enum { BW_TOOLS_MAX = 500, BW_TOOL_WORD_MAX = 64, BW_DATE_MAX = 11 };

/* One tool as its newest entries have it; texts "" and numbers 0 where nothing is known. */
typedef struct bw_tool {
    char name[BW_TOOL_WORD_MAX];
    char type[BW_TOOL_WORD_MAX];
    char maker[BW_TOOL_WORD_MAX];
    char model[BW_TOOL_WORD_MAX];
    char serial[BW_TOOL_WORD_MAX];
    char wrench[BW_SPEC_MAX];
    bw_unit unit; /* of the six below */
    double range_low, range_high;
    double resolution;
    double calibrated_low, calibrated_high;
    double factor; /* 1 where none was given */
    double windup_deg_per_Nm;
    char direction[BW_TOOL_WORD_MAX]; /* both, tighten, loosen */
    char calibrated[BW_DATE_MAX], due[BW_DATE_MAX];
    char certificate[BW_TOOL_WORD_MAX];
    double deviation_share, uncertainty_share;
    char retired[BW_TOOL_WORD_MAX]; /* why; "": it is not */
    char checked[BW_DATE_MAX];      /* day of the newest check */
    char check[BW_TOOL_WORD_MAX];   /* its verdict */
} bw_tool;

typedef struct bw_register {
    bw_tool tool[BW_TOOLS_MAX];
    size_t n;
} bw_register;

/* Reads it from the record of home; empty where there is none.  Owned by the caller, freed with
 * free(). */
BW_MUST_USE bw_status bw_register_read(const char *home, bw_register **out, bw_err *err);

/* The tool that --wrench names, whatever stands behind its name; NULL: it names none. */
const bw_tool *bw_register_tool(const bw_register *reg, const char *wrench);

/* NULL where it holds none of that name. */
const bw_tool *bw_register_find(const bw_register *reg, const char *name);

/* True for 1 to 63 of letters, digits, point, dash, underline, beginning with a letter: so that a
 * tool's name is never taken for a port's. */
bool bw_tool_name_good(const char *name);

/* Writes one entry about a tool, flushed and covered by a checkpoint.  entry's kind and members are
 * the caller's; by NULL: the login name. */
BW_MUST_USE bw_status bw_register_write(const char *home, bw_entry *entry, const char *by,
                                        bw_err *err);

/* What --wrench names: a device of devices.lua (see devices.h), a registered tool (then out is its
 * own SPEC, with range, uncertainty, name and factor as the register has them, and whatever stood
 * behind the name), or a SPEC (copied). out has BW_SPEC_MAX bytes.  *warning: a sentence to tell,
 * "" for none; BW_ERR_TEXT_MAX bytes. BW_E_ARG a tool that is retired, or has no SPEC. */
BW_MUST_USE bw_status bw_register_wrench(const bw_register *reg, const char *wrench, char *out,
                                         char *warning, bw_err *err);

/* The same, with the register of home. */
BW_MUST_USE bw_status bw_wrench_spec(const char *home, const char *wrench, char *out, char *warning,
                                     bw_err *err);

/* Today as 2026-11-25, in UTC. */
void bw_today(char out[BW_DATE_MAX]);

/* True for a day of the calendar written so. */
bool bw_date_good(const char *text);

#endif
