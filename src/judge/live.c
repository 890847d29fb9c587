/* live.c - see judge.h: what to tell the hand while it pulls, a word for each sample. */
#include "judge/judge_int.h"

#include <math.h>

/* Near: the last tenth of the way. */
static const double near_share = 0.9;

static double live_turn_deg(const bw_judge *judge, const bw_sample *now) {
    const bw_stroke *stroke = &judge->stroke;
    double turn_deg = bw_judge_turn_before_deg(&judge->stage, &judge->standing);
    if (!bw_judge_counts_yet(&judge->stage, stroke->snug_reached)) {
        return turn_deg;
    }
    turn_deg += stroke->turn_deg;
    if (!stroke->loaded) {
        return turn_deg;
    }
    double windup_deg = judge->terms.windup_deg_per_Nm * (now->torque_Nm - stroke->mark_Nm);
    return turn_deg + (now->torque_Nm >= stroke->mark_Nm
                           ? now->angle_deg - stroke->start_deg - windup_deg
                           : stroke->end_deg - stroke->start_deg);
}

/* How far it is to where the hand should stop. */
typedef struct way {
    double at, to;
} way;

/* The mean is not worth a word before it is over enough turn. */
static bw_live_word while_running(const bw_judge *judge, double turn_deg) {
    const bw_stage *stage = &judge->stage;
    double mean_Nm = 0;
    if (bw_judge_under(turn_deg, stage->least_turn_deg) || !bw_judge_mean_Nm(judge, &mean_Nm)) {
        return turn_deg >= near_share * stage->least_turn_deg ? BW_LIVE_NEAR : BW_LIVE_FREE;
    }
    if (bw_judge_beyond(mean_Nm, stage->high_Nm)) {
        return BW_LIVE_OVER;
    }
    return bw_judge_under(mean_Nm, stage->low_Nm) ? BW_LIVE_FREE : BW_LIVE_STOP;
}

/* Movement that is not wind-up can only be told where that is known. */
static bool moves(const bw_judge *judge, double turn_deg) {
    return judge->has_angle && judge->terms.windup_deg_per_Nm > 0 && bw_movement_is(turn_deg);
}

static way way_of(const bw_judge *judge, const bw_live *live) {
    const bw_stage *stage = &judge->stage;
    way torque = {live->torque_Nm, stage->low_Nm};
    switch (stage->kind) {
    case BW_STAGE_TORQUE_ANGLE:
    case BW_STAGE_ANGLE:
    case BW_STAGE_BACK_OFF:
        return (way){live->turn_deg, stage->until_loose ? INFINITY : stage->low_deg};
    case BW_STAGE_STRETCH: /* behind the first measuring only the gauge knows */
        return (way){live->torque_Nm, judge->standing.pulls == 0 && stage->target_Nm > 0
                                          ? stage->target_Nm
                                          : INFINITY};
    case BW_STAGE_CHECK:
        return (way){live->torque_Nm, isfinite(stage->low_Nm) ? stage->low_Nm : INFINITY};
    default:
        break;
    }
    return torque;
}

static bw_live_word live_word(const bw_judge *judge, const bw_live *live) {
    const bw_stage *stage = &judge->stage;
    bool unyielding = stage->kind == BW_STAGE_YIELD && !judge->yield.found;
    if (judge->stroke.over || (unyielding && bw_judge_beyond(live->torque_Nm, stage->high_Nm))) {
        return BW_LIVE_OVER;
    }
    if (bw_stage_traits_of(stage->kind)->runs) {
        return while_running(judge, live->turn_deg);
    }
    bool there = stage->kind == BW_STAGE_CHECK && moves(judge, live->turn_deg);
    if (there || judge->yield.found || judge->slack.loose) {
        return BW_LIVE_STOP;
    }
    if (unyielding) { /* it may yield with any sample now */
        bool soon = live->torque_Nm >= fmax(near_share * stage->low_Nm, stage->snug_Nm);
        return soon ? BW_LIVE_NEAR : BW_LIVE_FREE;
    }
    way left = way_of(judge, live);
    if (!bw_judge_under(left.at, left.to)) {
        return BW_LIVE_STOP;
    }
    return left.at >= near_share * left.to ? BW_LIVE_NEAR : BW_LIVE_FREE;
}

/* Beyond a limit at this sample, for good.  What runs has a limit for its mean only, and where it
 * yields is known a while later.  Of a check's turn nothing is known while the wind-up is not. */
static bool is_over(const bw_judge *judge, const bw_live *live) {
    const bw_stage *stage = &judge->stage;
    bool turn_told = stage->kind != BW_STAGE_CHECK || judge->terms.windup_deg_per_Nm > 0;
    bool turned = bw_judge_counts_angle(stage) && live->has_turn && turn_told &&
                  bw_judge_beyond(live->turn_deg, stage->high_deg);
    bool held = !bw_stage_traits_of(stage->kind)->runs && stage->kind != BW_STAGE_YIELD;
    return turned || (held && bw_judge_beyond(live->torque_Nm, stage->high_Nm));
}

void bw_judge_update_live(bw_judge *judge, const bw_sample *sample) {
    bw_live *live = &judge->live;
    live->torque_Nm = sample->torque_Nm;
    live->has_turn = judge->has_angle;
    live->turn_deg = live->has_turn ? live_turn_deg(judge, sample) : 0.0;
    judge->stroke.over = judge->stroke.over || is_over(judge, live);
    live->word = live_word(judge, live);
}
