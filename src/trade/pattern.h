/* pattern.h - orders made from orders: reversed, mirrored, by groups; and flange rounds.
 *
 * Room: trade (pure).  See order.h for what an order is. */
#ifndef BW_TRADE_PATTERN_H
#define BW_TRADE_PATTERN_H

#include "base/status.h"
#include "trade/order.h"

#include <stdbool.h>
#include <stddef.h>

/* The same order from its end: for loosening.  out may be order itself.  n as in bw_order_make. */
void bw_order_reverse(const size_t *order, size_t n, size_t *out);

/* The order for the other bank, whose places lie as in a mirror standing upright (x turned round
 * about the middle): out[k] is the place that lies where order[k] does in the mirror.
 * BW_E_DATA where a place has no counterpart within 0.5 mm. */
BW_MUST_USE bw_status bw_order_mirror(const bw_point *point, size_t n, const size_t *order,
                                      size_t *out, bw_err *err);

/* Places listed side by side in runs of group_n are taken as if they were one bolt: the runs follow
 * `kind` by their middles, the places of a run as listed.  A last run may be shorter. */
BW_MUST_USE bw_status bw_order_in_groups(bw_order_kind kind, const bw_point *point, size_t n,
                                         size_t group_n, size_t *out, bw_err *err);

/* One round over a flange. */
typedef struct bw_flange_round {
    double percent;      /* of the target torque, 0 to 100 */
    double percent_most; /* the same, where the source gives a range */
    bool crosswise;      /* else round the circle */
    bool until_still;    /* repeated until no nut turns any more */
} bw_flange_round;

typedef struct bw_flange_pattern {
    const char *name;
    size_t round_n;
    bw_flange_round round[6];
    const char *source;
} bw_flange_pattern;

/* Static rows; NULL behind the last. */
const bw_flange_pattern *bw_flange_pattern_at(size_t index);
BW_MUST_USE bw_status bw_flange_pattern_find(const char *name, const bw_flange_pattern **out,
                                             bw_err *err);

#endif
