/* fuzz_trace.c - traces from a file: read, judged, written again. */
#include "fuzz/fuzz.h"

#include "judge/judge.h"
#include "trade/trace.h"

#include <math.h>

static const bw_stage stages[] = {
    {.kind = BW_STAGE_TORQUE,
     .target_Nm = 60,
     .low_Nm = 57,
     .high_Nm = 63,
     .low_deg = -INFINITY,
     .high_deg = INFINITY,
     .least_turn_deg = 2},
    {.kind = BW_STAGE_TORQUE_ANGLE,
     .snug_Nm = 20,
     .low_Nm = -INFINITY,
     .high_Nm = INFINITY,
     .target_deg = 90,
     .low_deg = 86,
     .high_deg = 94},
    {.kind = BW_STAGE_ANGLE,
     .low_Nm = 75,
     .high_Nm = 160,
     .target_deg = 60,
     .low_deg = 56,
     .high_deg = 64},
};

static void judge_all(const bw_sample *sample, size_t n) {
    bw_standing standing = {.torque_Nm = 60, .turn_known = true};
    for (size_t s = 0; s < sizeof stages / sizeof stages[0]; s++) {
        bw_judge judge;
        bw_judge_begin(&judge, &stages[s], &standing, &(bw_terms){0});
        for (size_t i = 0; i < n; i++) {
            bw_live live = bw_judge_sample(&judge, &sample[i]);
            FUZZ_CHECK(live.word >= BW_LIVE_FREE && live.word <= BW_LIVE_OVER);
        }
        bw_verdict whole = bw_judge_end(&judge, true);
        bw_verdict cut = bw_judge_end(&judge, false);
        FUZZ_CHECK(cut.outcome != BW_VERDICT_PASS);
        FUZZ_CHECK(whole.outcome != BW_VERDICT_PASS || n > 1);
        FUZZ_CHECK(bw_outcome_word(whole.outcome) != NULL);
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
