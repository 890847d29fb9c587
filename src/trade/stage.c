/* stage.c - see stage.h. */
#include "trade/stage.h"

#include <stddef.h>

static const bw_stage_traits traits[BW_STAGE_KIND_COUNT] = {
    [BW_STAGE_TORQUE] = {.word = "torque", .tightens = true},
    [BW_STAGE_TORQUE_ANGLE] = {.word = "torque_angle", .tightens = true, .limits_turn = true},
    [BW_STAGE_ANGLE] = {.word = "angle", .tightens = true, .limits_turn = true},
    [BW_STAGE_BACK_OFF] = {.word = "back_off",
                           .loosens = true,
                           .limits_turn = true,
                           .needs_trace = true},
    [BW_STAGE_YIELD] = {.word = "yield",
                        .tightens = true,
                        .limits_turn = true,
                        .needs_trace = true},
    [BW_STAGE_STRETCH] = {.word = "stretch", .tightens = true, .is_answered = true},
    [BW_STAGE_SLOT] = {.word = "slot", .tightens = true, .is_answered = true},
    [BW_STAGE_CHECK] = {.word = "check", .needs_trace = true},
    [BW_STAGE_PREVAILING] = {.word = "prevailing", .needs_trace = true, .runs = true},
    [BW_STAGE_ROTATING] = {.word = "rotating", .needs_trace = true, .runs = true},
    [BW_STAGE_CREEP] = {.word = "creep", .needs_trace = true, .runs = true},
};

const bw_stage_traits *bw_stage_traits_of(bw_stage_kind kind) {
    return (unsigned)kind < BW_STAGE_KIND_COUNT ? &traits[kind] : NULL;
}

bw_stage bw_stage_for(const bw_stage *stage, double prevailing_Nm) {
    bw_stage out = *stage;
    if (!stage->adds_prevailing) {
        return out;
    }
    out.snug_Nm += stage->snug_Nm > 0 ? prevailing_Nm : 0;
    out.target_Nm += stage->target_Nm > 0 ? prevailing_Nm : 0;
    out.low_Nm += prevailing_Nm; /* what is infinite stays so */
    out.high_Nm += prevailing_Nm;
    return out;
}
