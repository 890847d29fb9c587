/* answer.c - see answer.h. */
#include "rehearsal/answer.h"

#include "base/decimal.h"
#include "rehearsal/chance.h"

static const double set_share = 0.04;
static const double point_share = 0.01;

static const double misread_mm = 0.001; /* rounding adds half a step of 0.001 mm */

const char *bw_answer_reading(uint64_t seed, const bw_answer_set *set, const char *at, char *out,
                              size_t size) {
    uint64_t key = bw_chance_key_text(bw_chance_key_text(seed, set->step), set->set);
    bw_chance of_set = {key};
    bw_chance of_point = {bw_chance_key_text(key, at)};
    double share = 0.5 + bw_chance_between(&of_set, -set_share, set_share) +
                   bw_chance_between(&of_point, -point_share, point_share);
    double value = set->least + share * (set->most - set->least);
    return bw_decimal_format(bw_from_base(value, set->unit), set->decimals, out, size);
}

const char *bw_answer_length(uint64_t key, double length_mm, bw_unit unit, char *out, size_t size) {
    bw_chance chance = {key};
    double seen_mm = length_mm + bw_chance_between(&chance, -misread_mm, misread_mm);
    return bw_decimal_format(bw_from_base(seen_mm, unit), unit == BW_UNIT_MM ? 3 : 4, out, size);
}
