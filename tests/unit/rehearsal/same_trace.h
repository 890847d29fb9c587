/* same_trace.h - two traces bit for bit, without the bytes between the members. */
#ifndef BW_TESTS_SAME_TRACE_H
#define BW_TESTS_SAME_TRACE_H

#include "trade/trace.h"

#include <stddef.h>
#include <string.h>

static inline bool same_trace(const bw_sample *a, const bw_sample *b, size_t n) {
    bool same = true;
    for (size_t i = 0; same && i < n; i++) {
        same = memcmp(&a[i].time_s, &b[i].time_s, sizeof a[i].time_s) == 0 &&
               memcmp(&a[i].torque_Nm, &b[i].torque_Nm, sizeof a[i].torque_Nm) == 0 &&
               memcmp(&a[i].angle_deg, &b[i].angle_deg, sizeof a[i].angle_deg) == 0 &&
               a[i].has_angle == b[i].has_angle;
    }
    return same;
}

#endif
