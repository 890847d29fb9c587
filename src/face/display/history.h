/* history.h - the last steps, and the last verdict with its curve, from the entries alone.
 *
 * Room: face, this folder. */
#ifndef BW_FACE_DISPLAY_HISTORY_H
#define BW_FACE_DISPLAY_HISTORY_H

#include "judge/judge.h"
#include "record/entry.h"
#include "sequence/plan.h"

#include <jansson.h>

enum { BW_HISTORY_LINES = 30, BW_HISTORY_TEXT_MAX = 400, BW_CURVE_POINTS_MAX = 400 };

typedef struct bw_curve_point {
    double turn_deg, torque_Nm;
} bw_curve_point;

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
    json_t *verdict;  /* the last one; owned, NULL: none yet */
    json_t *accepted; /* the fastener that was accepted last; owned, NULL: none */
    bw_curve_point point[BW_CURVE_POINTS_MAX];
    size_t point_n, skip, skipped; /* every skip-th sample is kept */
    bool has_turn;
} bw_history;

void bw_history_init(bw_history *history, const bw_plan *plan);
void bw_history_free(bw_history *history);

/* One entry, in order; what is not worth a line changes nothing. */
void bw_history_entry(bw_history *history, const bw_entry *entry);

/* A pull begins; a sample of it. */
void bw_history_pull(bw_history *history);
void bw_history_sample(bw_history *history, const bw_live *live);

/* The lines, the newest first; owned by the caller. */
json_t *bw_history_lines(const bw_history *history);

#endif
