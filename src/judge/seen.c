/* seen.c - see judge.h: the verdict of what was measured or seen at the fastener behind a pull. */
#include "judge/judge_int.h"

/* Where the pull came up to the upper limit already, pulling on is no way any more. */
static bool has_room(const bw_stage *stage, const bw_verdict *pull) {
    return bw_judge_under(pull->peak_Nm, stage->high_Nm);
}

static void see_stretch(const bw_stage *stage, const bw_seen *seen, bw_verdict *verdict) {
    double stretch_mm = seen->after_mm - seen->before_mm;
    if (!bw_judge_believable(stretch_mm)) {
        bw_judge_say(verdict, BW_VERDICT_SUSPECT, BW_REASON_GAP, false);
        return;
    }
    verdict->has_stretch = true;
    verdict->stretch_mm = stretch_mm;
    if (bw_judge_beyond(stretch_mm, stage->high_mm)) {
        bw_judge_say(verdict, BW_VERDICT_HIGH, BW_REASON_STRETCH_OVER, false);
    } else if (bw_judge_under(stretch_mm, stage->low_mm)) {
        bw_judge_say(verdict, BW_VERDICT_LOW, BW_REASON_STRETCH_SHORT, has_room(stage, verdict));
    }
}

bw_verdict bw_judge_seen(const bw_stage *stage, const bw_verdict *pull, const bw_seen *seen) {
    bw_verdict verdict = *pull;
    if (pull->outcome != BW_VERDICT_PASS) {
        return verdict;
    }
    if (stage->kind == BW_STAGE_STRETCH) {
        see_stretch(stage, seen, &verdict);
    } else if (stage->kind == BW_STAGE_SLOT && !seen->slot_meets) {
        bw_judge_say(&verdict, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, has_room(stage, pull));
    }
    return verdict;
}
