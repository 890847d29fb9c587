/* fuzz_trace.c - traces from a file: read, judged, written again. */
#include "fuzz/fuzz.h"

#include "judge/judge.h"
#include "trade/trace.h"

#include <math.h>

/* One of each kind; what a kind does not use does not matter. */
static bw_stage stage_of(bw_stage_kind kind) {
    return (bw_stage){.kind = kind,
                      .snug_Nm = 20,
                      .target_Nm = 60,
                      .low_Nm = kind == BW_STAGE_STRETCH ? -INFINITY : 57,
                      .high_Nm = kind == BW_STAGE_ANGLE ? 160 : 63,
                      .target_deg = 90,
                      .low_deg = kind == BW_STAGE_TORQUE ? -INFINITY : 86,
                      .high_deg = kind == BW_STAGE_TORQUE ? INFINITY : 94,
                      .least_turn_deg = 2,
                      .slope_share = 0.5,
                      .low_mm = 0.1,
                      .high_mm = 0.2};
}

static void judge_one(const bw_stage *stage, const bw_standing *standing, const bw_terms *terms,
                      const bw_sample *sample, size_t n) {
    bw_judge judge;
    bw_judge_begin(&judge, stage, standing, terms);
    for (size_t i = 0; i < n; i++) {
        bw_live live = bw_judge_sample(&judge, &sample[i]);
        FUZZ_CHECK(live.word >= BW_LIVE_FREE && live.word <= BW_LIVE_OVER);
    }
    bw_verdict whole = bw_judge_end(&judge, true);
    bw_verdict cut = bw_judge_end(&judge, false);
    bw_verdict seen = bw_judge_seen(stage, &whole, &(bw_seen){50, 50.15, true});
    FUZZ_CHECK(cut.outcome != BW_VERDICT_PASS);
    FUZZ_CHECK(whole.outcome != BW_VERDICT_PASS || n > 1);
    FUZZ_CHECK(whole.outcome == BW_VERDICT_PASS || seen.outcome == whole.outcome);
    FUZZ_CHECK(whole.outcome == BW_VERDICT_PASS || whole.reasons != 0);
    FUZZ_CHECK(isfinite(whole.judged_Nm) && isfinite(whole.turn_deg));
    FUZZ_CHECK(bw_outcome_word(whole.outcome) != NULL);
    for (size_t i = 0; i < BW_REASON_COUNT; i++) {
        double at_s = 0;
        bool told = bw_judge_when(&judge, (bw_reason)(1u << i), &at_s);
        FUZZ_CHECK(!told || isfinite(at_s));
    }
}

static void judge_all(const bw_sample *sample, size_t n) {
    static const bw_terms terms[] = {
        {.windup_deg_per_Nm = 0.05},
        {BW_RULE_GUARDED, .range_low_Nm = 20, .range_high_Nm = 100, .uncertainty_share = 0.02}};
    for (int kind = 0; kind < BW_STAGE_KIND_COUNT; kind++) {
        bw_stage stage = stage_of((bw_stage_kind)kind);
        bw_standing standing = {
            .torque_Nm = 60, .turn_known = true, .siblings = {.n = 5, 1.5, 0.1}};
        judge_one(&stage, &standing, &terms[0], sample, n);
        standing.torque_Nm = 0;
        stage.until_loose = kind == BW_STAGE_BACK_OFF;
        judge_one(&stage, &standing, &terms[1], sample, n);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    bw_arena *arena = bw_arena_new(0);
    const bw_sample *sample = NULL;
    size_t n = 0;
    if (arena != NULL &&
        bw_trace_read((const char *)data, size, arena, &sample, &n, NULL) == BW_OK) {
        size_t room = bw_trace_text_size(n);
        char *text = bw_arena_alloc(arena, room, 1);
        size_t len = 0;
        judge_all(sample, n);
        FUZZ_CHECK(text == NULL || bw_trace_write(sample, n, text, room, &len, NULL) == BW_OK);
    }
    bw_arena_free(arena);
    return 0;
}
