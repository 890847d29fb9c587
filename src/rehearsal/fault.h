/* fault.h - faults that a rehearsal is asked to make.
 *
 * Room: rehearsal (pure).  A list is written `over:main:3,short:rod:2@2,dry:head:7`: the fault, the
 * group, the fastener by label or number, and behind an @ the stage (1 where none is given).  A
 * fault happens once: at the first pull of the first attempt in that stage; a dry thread is dry
 * from the start and stays so. */
#ifndef BW_REHEARSAL_FAULT_H
#define BW_REHEARSAL_FAULT_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

typedef enum bw_fault_kind {
    BW_FAULT_NONE = 0,
    BW_FAULT_SHORT,  /* stops well below the target */
    BW_FAULT_OVER,   /* passes the upper limit */
    BW_FAULT_REHIT,  /* pulls one that is tight already: torque without turn */
    BW_FAULT_DRY,    /* no lubricant on thread and head */
    BW_FAULT_SPIKE,  /* something knocks on the handle: one sample far too high */
    BW_FAULT_UNPLUG, /* the wrench goes away in the middle of the pull */
    BW_FAULT_KIND_COUNT
} bw_fault_kind;

enum { BW_FAULTS_MAX = 64, BW_FAULT_NAME_MAX = 64 };

typedef struct bw_fault {
    bw_fault_kind kind;
    char group[BW_FAULT_NAME_MAX];
    char place[BW_FAULT_NAME_MAX]; /* label or number, as given */
    int stage;                     /* from 1 */
    size_t fastener;               /* index: 0 until the caller, who knows the plan, sets it */
} bw_fault;

typedef struct bw_fault_list {
    size_t n;
    bw_fault fault[BW_FAULTS_MAX];
} bw_fault_list;

/* Word and meaning of a fault, static; NULL for BW_FAULT_NONE and outside of the table. */
const char *bw_fault_word(bw_fault_kind kind);
const char *bw_fault_says(bw_fault_kind kind);

/* Reads a list; text "" gives an empty one.  Whether group, place and stage exist is for the caller
 * to check and to set fastener.  BW_E_DATA with one line; out untouched then. */
BW_MUST_USE bw_status bw_fault_parse(const char *text, bw_fault_list *out, bw_err *err);

/* What goes wrong in this pull: stage and attempt from 1, pulls that this attempt and stage have
 * had. BW_FAULT_DRY never: that is a matter of the joint. */
bw_fault_kind bw_fault_of_pull(const bw_fault_list *list, const char *group, size_t fastener,
                               int stage, int attempt, unsigned pulls);

#endif
