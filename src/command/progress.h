/* progress.h - how far something has come that takes longer than a second.
 *
 * Room: command.  On standard error, and only where that is a terminal: a line that is written over
 * and taken away at the end.  Nothing at all for what is done within a second. */
#ifndef BW_COMMAND_PROGRESS_H
#define BW_COMMAND_PROGRESS_H

#include <stdbool.h>
#include <stdint.h>

typedef struct bw_meter {
    const char *what; /* "entries judged again" */
    uint64_t of;      /* 0: not known */
    int64_t began_ns, told_ns;
    bool watched; /* by somebody at a terminal */
    bool shown;
} bw_meter;

bw_meter bw_meter_begin(const char *what, uint64_t of);
void bw_meter_at(bw_meter *meter, uint64_t done);
void bw_meter_end(bw_meter *meter);

#endif
