/* kind_bench.c - see kind_bench.h. */
#include "cmocka_all.h"

#include "kind_bench.h"

#include <math.h>

double kind_number(const bw_entry *e, bw_member member) {
    return bw_entry_number(e, member, NAN);
}

bool kind_lacks(const bw_entry *e, bw_member member) {
    return e->value[member].type == BW_VALUE_NONE;
}

void kind_low(bench *b, double judged_Nm, bool more) {
    bench_verdict(b, (bw_verdict){.outcome = BW_VERDICT_LOW,
                                  .reasons = BW_REASON_BELOW_LIMIT,
                                  .judged_Nm = judged_Nm,
                                  .has_turn = true,
                                  .turn_deg = 400,
                                  .more = more});
}

void kind_high(bench *b, uint32_t reason, double judged_Nm) {
    bench_verdict(b, (bw_verdict){.outcome = BW_VERDICT_HIGH,
                                  .reasons = reason,
                                  .judged_Nm = judged_Nm,
                                  .has_turn = true,
                                  .turn_deg = 130});
}
