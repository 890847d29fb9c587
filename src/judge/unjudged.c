/* unjudged.c - see unjudged.h. */
#include "judge/unjudged.h"

/* Everything that is read off the curve of torque over turn needs a trace with angles; the turn
 * itself can be told by a bare result too. */
static bool has_curve(const bw_verdict *v) {
    bool gap = (v->reasons & (uint32_t)BW_REASON_GAP) != 0;
    return (v->reasons & (uint32_t)BW_REASON_NO_TRACE) == 0 && (v->has_turn || gap);
}

static bool yields(const bw_stage *stage) {
    return stage->kind == BW_STAGE_YIELD;
}

static bool checks(const bw_stage *stage) {
    return stage->kind == BW_STAGE_CHECK;
}

static bool runs(const bw_stage *stage) {
    return bw_stage_traits_of(stage->kind)->runs;
}

static bool tightens(const bw_stage *stage) {
    return bw_stage_traits_of(stage->kind)->tightens;
}

/* From loose, as it may be; an angle goes on from where it stood. */
static bool runs_down(const bw_stage *stage) {
    return tightens(stage) && stage->kind != BW_STAGE_ANGLE;
}

static bool loosens(const bw_stage *stage) {
    return bw_stage_traits_of(stage->kind)->loosens;
}

/* Where the stage must not go beyond yield. */
static bool stays_elastic(const bw_stage *stage) {
    return stage->kind == BW_STAGE_TORQUE || stage->kind == BW_STAGE_SLOT;
}

static const struct {
    const char *what;
    bool (*concerns)(const bw_stage *stage);
} rows[] = {
    {"where it yields", yields},
    {"its first movement", checks},
    {"the torque while it turns", runs},
    {"whether it came loose", loosens},
    {"early rise", runs_down},
    {"yielding", stays_elastic},
    {"torque drop", tightens},
    {"turning back", tightens},
    {"slope beside the others", tightens},
};

const char *bw_judge_not_judged(const bw_stage *stage, const bw_verdict *verdict, char *out,
                                size_t size) {
    bool needs_turn = bw_stage_traits_of(stage->kind)->limits_turn || stage->least_turn_deg > 0;
    bw_text text = bw_text_on(out, size);
    if (needs_turn && !verdict->has_turn) {
        bw_text_add(&text, "Not judged: turn");
    }
    for (size_t i = 0; i < sizeof rows / sizeof rows[0] && !has_curve(verdict); i++) {
        if (rows[i].concerns(stage)) {
            bw_text_add(&text, "%s%s", text.len > 0 ? ", " : "Not judged: ", rows[i].what);
        }
    }
    if (text.len > 0) {
        bw_text_add(&text, ".");
    }
    return out;
}
