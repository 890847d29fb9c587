/* reason.c - the words of outcomes and reasons, one row each. */
#include "judge/judge.h"

static const char *const outcomes[BW_VERDICT_COUNT] = {
    [BW_VERDICT_PASS] = "pass",
    [BW_VERDICT_LOW] = "low",
    [BW_VERDICT_HIGH] = "high",
    [BW_VERDICT_SUSPECT] = "suspect",
};

/* In the order of the bits of bw_reason. */
static const struct {
    const char *word;
    const char *says;
} reasons_table[] = {
    {"below_limit", "The torque stayed below its lower limit."},
    {"above_limit", "The torque went above its upper limit."},
    {"angle_short", "It has not turned far enough yet."},
    {"angle_over", "It was turned too far."},
    {"no_turn",
     "The torque came without the turn: it was tight already (perhaps the wrong fastener), "
     "or it is seized."},
    {"spike", "A single jump that no hand can make was left out: the handle was knocked."},
    {"gap", "Part of the pull was not seen: samples are missing where they mattered."},
    {"no_trace", "The wrench gave no trace of torque and angle: what needs one was not judged."},
    {"early_rise", "The torque rose where it should still run free: a crossed thread, dirt, or a "
                   "bolt that meets the bottom."},
    {"yielding", "The torque rose less and less while it turned on: the bolt, or what it is "
                 "screwed into, gives way."},
    {"torque_drop", "The torque fell while it was turned on: a thread strips, the socket slips, or "
                    "the bolt breaks."},
    {"loosened", "It was turned the wrong way under load: it is loose again."},
};

enum { REASONS = sizeof reasons_table / sizeof reasons_table[0] };

_Static_assert((int)REASONS == (int)BW_REASON_COUNT, "a row for each bit of bw_reason");

const char *bw_outcome_word(bw_outcome outcome) {
    return (unsigned)outcome < BW_VERDICT_COUNT ? outcomes[outcome] : NULL;
}

const char *bw_reason_word(size_t index) {
    return index < REASONS ? reasons_table[index].word : NULL;
}

const char *bw_reason_says(size_t index) {
    return index < REASONS ? reasons_table[index].says : NULL;
}

const char *bw_reasons_text(uint32_t reasons, char *out, size_t size) {
    bw_text text = bw_text_on(out, size);
    for (size_t i = 0; i < REASONS; i++) {
        if ((reasons >> i & 1u) != 0) {
            bw_text_add(&text, "%s%s", text.len > 0 ? " " : "", reasons_table[i].word);
        }
    }
    return out;
}
