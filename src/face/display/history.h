/* history.h - the last steps, and the last verdict with its curve, from the record alone.
 *
 * Room: face, this folder. */
#ifndef BW_FACE_DISPLAY_HISTORY_H
#define BW_FACE_DISPLAY_HISTORY_H

#include "face/display/pulled.h"
#include "record/entry.h"
#include "sequence/plan.h"

#include <jansson.h>

enum { BW_HISTORY_LINES = 30, BW_HISTORY_TEXT_MAX = 400 };

typedef struct bw_history {
    const bw_plan *plan;
    struct {
        uint64_t number;
        int64_t time_ms;
        const char *mark; /* "good", "bad", "plain" */
        char by[64];
        char text[BW_HISTORY_TEXT_MAX];
    } line[BW_HISTORY_LINES]; /* a ring */
    size_t next, n;
    json_t *verdict;  /* the last one; owned, NULL: none yet, or none since a step is done anew */
    json_t *accepted; /* the fastener that was accepted last; owned, NULL: none */
    bw_pulled pulled;
} bw_history;

/* store: where traces are read, for the life of the history; NULL: no curves. */
void bw_history_init(bw_history *history, const bw_plan *plan, bw_store *store);
void bw_history_free(bw_history *history);

/* One entry, in order; what is not worth a line changes nothing. */
void bw_history_entry(bw_history *history, const bw_entry *entry);

/* The last verdict, with its curve where there is one; owned by the caller, NULL: none. */
json_t *bw_history_verdict(bw_history *history);

/* The lines, the newest first; owned by the caller. */
json_t *bw_history_lines(const bw_history *history);

#endif
