/* memory.h - what the simulated builder and the joints have behind them: a fold of the record.
 *
 * Room: command.  Nothing but bw_memory_fold changes it, given the entries in their order, so that
 * a rehearsal that was broken off goes on as if it had not been. */
#ifndef BW_COMMAND_MEMORY_H
#define BW_COMMAND_MEMORY_H

#include "record/entry.h"
#include "rehearsal/fault.h"
#include "rehearsal/joint.h"
#include "sequence/plan.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* One fastener in one stage and attempt, as the record names them. */
typedef struct bw_memory_spot {
    size_t group, fastener;
    int64_t stage, attempt;
    char step[BW_PLAN_ID_MAX];
} bw_memory_spot;

typedef struct bw_memory {
    const bw_plan *plan; /* borrowed, as are the joints [plan->group_n] */
    bw_joint **joint;
    bw_fault_list faults;
    bw_memory_spot pulled;   /* last */
    int pulls;               /* on it, one after the other */
    bw_memory_spot repeated; /* where he last said that another one was pulled */
    bool mistaken;           /* the last pull was on another one than was asked for ... */
    bool owns_up;            /* ... was accepted, and is not put right yet */
    size_t instead;          /* that one */
} bw_memory;

void bw_memory_fold(bw_memory *memory, const bw_entry *e);

/* A step that begins by looking at what another one left, or by turning that back, goes on with it:
 * to be called before its fastener is looked at, too. */
void bw_memory_goes_on(const bw_memory *memory, const bw_memory_spot *at);

/* True where he said at this very place already that another one was pulled. */
bool bw_memory_repeated(const bw_memory *memory);

/* Which one is pulled by mistake, MISSED or WRONG: the next in the order, or the one before; at an
 * end of the order the only neighbour that there is.  The group has two places or more. */
size_t bw_memory_mistaken_for(const bw_group *group, size_t fastener, bw_fault_kind fault);

#endif
