/* pulled.h - the curves of the last pulls at one stage, drawn from the record: the fastener that
 * was judged last, and its siblings to be laid behind it.
 *
 * Room: face, this folder.  What was pulled is noted entry by entry; a trace is read when its curve
 * is first shown, so that a long record opens as fast as a short one. */
#ifndef BW_FACE_DISPLAY_PULLED_H
#define BW_FACE_DISPLAY_PULLED_H

#include "record/entry.h"
#include "record/store.h"
#include "sequence/plan.h"

#include <jansson.h>

enum {
    BW_PULLED_PLACES = 13, /* one and a dozen siblings, the newest */
    BW_PULLED_STROKES = 8, /* pulls of one attempt; what came before them is left out */
    BW_PULLED_HASH_MAX = 65
};

typedef struct bw_pulled_place {
    int64_t fastener, attempt; /* fastener: from 1 */
    size_t stroke_n;
    char stroke[BW_PULLED_STROKES][BW_PULLED_HASH_MAX];
    bool judged, odd; /* odd: judged, and not as a pass */
    double final_deg; /* by the judge; NAN: none */
    bool by_time;     /* of the curve */
    json_t *curve;    /* owned; NULL: not drawn yet */
} bw_pulled_place;

typedef struct bw_pulled {
    const bw_plan *plan; /* borrowed */
    bw_store *store;     /* borrowed; NULL: no curves */
    char step[BW_PLAN_ID_MAX + 1];
    int64_t stage;
    size_t n;
    bw_pulled_place place[BW_PULLED_PLACES]; /* in the order in which they were begun */
} bw_pulled;

void bw_pulled_free(bw_pulled *pulled);

/* One entry, in order. */
void bw_pulled_entry(bw_pulled *pulled, const bw_entry *entry);

/* Into object: `curve`, a list of [turn or time, N.m] with null where a new stroke begins;
 * `has_turn`; `siblings`, a list of {place, odd, curve}.  Nothing where this stage has no curve of
 * it. */
void bw_pulled_set(bw_pulled *pulled, int64_t fastener, json_t *object);

#endif
