/* order.h - in which order the fasteners of a group are tightened.
 *
 * Room: trade (pure).  An order is a permutation of 0..n-1 over the group's places as they are
 * listed: every place once.  Source: common practice, no source, for spiral and crosswise; the
 * workshop manual's own numbering goes first and is given as BW_ORDER_LISTED. */
#ifndef BW_TRADE_ORDER_H
#define BW_TRADE_ORDER_H

#include "base/status.h"

#include <stddef.h>

enum { BW_ORDER_MAX = 512 }; /* places in one group */

typedef enum bw_order_kind {
    BW_ORDER_LISTED = 0, /* as the places are listed */
    BW_ORDER_SPIRAL,     /* from the middle outward; opposite places follow each other */
    BW_ORDER_CROSSWISE,  /* on a circle: each next place as far from the last ones as can be */
    BW_ORDER_ROWS,       /* along each row from left to right, rows as first listed */
    BW_ORDER_RINGS,      /* circle by circle from the middle outward, crosswise on each */
    BW_ORDER_KIND_COUNT
} bw_order_kind;

/* Where a place is, in the plane of the joint as the builder sees it: x to the right, y up. */
typedef struct bw_point {
    double x_mm, y_mm;
} bw_point;

/* The word used in sequences: "listed", "spiral", "crosswise", "rows", "rings".  Static; NULL
 * outside. */
const char *bw_order_word(bw_order_kind kind);

/* Works out the order of n places.
 *
 * point  [n], finite; may be NULL for BW_ORDER_LISTED only.
 * out    [n], caller's storage: out[k] is the index of the place tightened as the k-th.
 *
 * Returns BW_OK; BW_E_ARG where n is 0 or above BW_ORDER_MAX, or points are missing; BW_E_DATA
 * where the points do not allow the order (two at one spot; crosswise over points that lie on no
 * circle).  Ties are broken by the place's index, so the order never depends on anything else. */
BW_MUST_USE bw_status bw_order_make(bw_order_kind kind, const bw_point *point, size_t n,
                                    size_t *out, bw_err *err);

#endif
