/* fault.h - faults that a rehearsal is asked to make.
 *
 * Room: rehearsal (pure).  A list is written `over:main:3,short:rod:2@2,dry:head:7`: the fault, the
 * group, the fastener by label or number, and behind an @ the stage (1 where none is given).
 *
 * What goes wrong in a pull happens once: at the first pull of the first attempt in that stage.
 * What is wrong with the fastener itself is so from the start, in every stage, until the fastener
 * is loosened and seen to. */
#ifndef BW_REHEARSAL_FAULT_H
#define BW_REHEARSAL_FAULT_H

#include "base/status.h"
#include "trade/stage.h"

#include <stdbool.h>
#include <stddef.h>

typedef enum bw_fault_kind {
    BW_FAULT_NONE = 0,
    /* The hand. */
    BW_FAULT_SHORT,     /* stops well below the target */
    BW_FAULT_OVER,      /* passes the upper limit */
    BW_FAULT_REHIT,     /* pulls one that is tight already: torque without turn */
    BW_FAULT_MISSED,    /* passes over this one and pulls the next in the order */
    BW_FAULT_WRONG,     /* pulls the one before in the order once more */
    BW_FAULT_SPIKE,     /* something knocks on the handle: one sample far too high */
    BW_FAULT_OVERCREPT, /* tightens a crush sleeve by one bit too many */
    /* The fastener. */
    BW_FAULT_DRY,       /* no lubricant on thread and head */
    BW_FAULT_CROSSED,   /* crossed thread: rising, rough torque before the head is down */
    BW_FAULT_BOTTOMED,  /* the end meets the bottom of the hole: steep torque, no clamping */
    BW_FAULT_GASKET,    /* soft gasket: a long soft start, and it relaxes */
    BW_FAULT_YIELDING,  /* a weaker bolt: it yields early */
    BW_FAULT_STRIPPED,  /* the thread gives way: torque falls while it turns on */
    BW_FAULT_SEIZED,    /* rusted in: does not turn at all */
    BW_FAULT_RELAXED,   /* lets go of half its preload once the hand is off */
    BW_FAULT_WEAK_LOCK, /* its locking feature is worn: hardly any prevailing torque */
    /* The wrench. */
    BW_FAULT_UNPLUG,  /* goes away in the middle of the pull */
    BW_FAULT_BATTERY, /* falls silent in the middle of the pull, until its battery is changed */
    BW_FAULT_NOISE,   /* twenty times its noise */
    BW_FAULT_LOST,    /* half a second of samples never arrives */
    BW_FAULT_PEAK,    /* in peak mode: reports the result of the pull, sends no samples */
    BW_FAULT_KIND_COUNT
} bw_fault_kind;

/* Who or what is at fault. */
typedef enum bw_fault_at {
    BW_FAULT_AT_HAND = 0,
    BW_FAULT_AT_FASTENER,
    BW_FAULT_AT_WRENCH
} bw_fault_at;

enum { BW_FAULTS_MAX = 64, BW_FAULT_NAME_MAX = 64 };

typedef struct bw_fault {
    bw_fault_kind kind;
    char group[BW_FAULT_NAME_MAX];
    char place[BW_FAULT_NAME_MAX]; /* label or number, as given */
    int stage;                     /* from 1 */
    size_t fastener;               /* index: 0 until the caller, who knows the plan, sets it */
    bool happened;                 /* not the fastener's own: bw_fault_happened sets it */
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

bw_fault_at bw_fault_is_at(bw_fault_kind kind);

/* Whether such a thing can happen in a stage of that kind: what no hand, fastener or wrench can do
 * wrong there, or what would be nothing wrong there, does not. */
bool bw_fault_fits(bw_fault_kind fault, bw_stage_kind stage);

/* MISSED, WRONG: another fastener is pulled than the one that is asked for. */
bool bw_fault_mistakes(bw_fault_kind kind);

/* What goes wrong in this pull: stage and attempt from 1, pulls that this attempt and stage have
 * had.  Never what is wrong with the fastener itself, nor what happened already. */
bw_fault_kind bw_fault_of_pull(const bw_fault_list *list, const char *group, size_t fastener,
                               int stage, int attempt, unsigned pulls);

/* The pull for which bw_fault_of_pull gave a fault was made: it does not happen again. */
void bw_fault_happened(bw_fault_list *list, const char *group, size_t fastener, int stage);

#endif
