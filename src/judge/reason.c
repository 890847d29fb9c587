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
    const char *look;
} reasons_table[] = {
    {"below_limit", "The torque stayed below its lower limit.",
     "Pull on where it is asked for; where it comes at the end of an angle or at yield, look for a soft "
     "joint, or a bolt that is weaker than it should be or stretched, and replace it."},
    {"above_limit", "The torque went above its upper limit.",
     "Look at the setting and the unit of the wrench; the bolt may be stretched. What only runs: look "
     "at thread and bearing; a sleeve that was crept too far is replaced."},
    {"angle_short", "It has not turned far enough yet.", "Pull on from here."},
    {"angle_over", "It was turned too far.",
     "A bolt that was tightened may be stretched: loosen it, and compare its length with a new one."},
    {"no_turn",
     "The torque came without the turn: it was tight already (perhaps the wrong fastener), "
     "or it is seized.",
     "Look which fastener was pulled; then back it out and look at thread, head and dowel."},
    {"spike", "A single jump that no hand can make was left out: the handle was knocked.",
     "Nothing, where it was one; look at cable and socket where it comes again."},
    {"gap", "Part of the pull was not seen: samples are missing where they mattered.",
     "Look at cable, battery and radio; begin the recording at rest and end it at rest."},
    {"no_trace", "The wrench gave no trace of torque and angle: what needs one was not judged.",
     "Take a wrench that measures angle, or measure the turn another way."},
    {"early_rise",
     "The torque rose where it should still run free: a crossed thread, dirt, or a "
     "bolt that meets the bottom.",
     "Back it out by hand; look at both threads, the depth of the hole and what is in it."},
    {"yielding",
     "The torque rose less and less while it turned on: the bolt, or what it is "
     "screwed into, gives way.",
     "Take it out; compare its length and its thread with a new one, and look into the hole."},
    {"torque_drop",
     "The torque fell while it was turned on: a thread strips, the socket slips, or "
     "the bolt breaks.",
     "Look at socket and head first; then take it out and look at both threads."},
    {"loosened", "It was turned the wrong way under load: it is loose again.",
     "Look which way the ratchet is set, and whether the thread is left-hand."},
    {"steep",
     "The torque rose faster with the turn than on the others of its group: lubricant is missing, "
     "or it is another bolt.",
     "Take it out; look at lubricant, thread, washer and length, and compare it with the others."},
    {"shallow",
     "The torque rose slower with the turn than on the others of its group: another lubricant, "
     "a soft part in between, or a missing washer.",
     "Take it out; look at lubricant, washer and seat, and compare it with the others."},
    {"out_of_range", "The torque lies outside of the range for which this wrench is calibrated.",
     "Take a wrench whose calibrated range holds this torque."},
    {"inside_guard", "It lies within the limits, but nearer to one than the wrench is sure of.",
     "Go nearer to the target, or take a wrench with less uncertainty."},
    {"stretch_short", "The bolt has not grown long enough yet.", "Pull on, and measure again."},
    {"stretch_over", "The bolt has grown too long.",
     "Take it out and measure its free length: what stays longer than it was is done for."},
};

enum { REASONS = sizeof reasons_table / sizeof *reasons_table };

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

const char *bw_reason_look(size_t index) {
    return index < REASONS ? reasons_table[index].look : NULL;
}

const char *bw_reasons_text(uint32_t reasons, char *out, size_t size) {
    bw_text text = bw_text_on(out, size);
    const char *parted = "";
    for (size_t i = 0; i < REASONS; i++) {
        if ((reasons >> i & 1u) != 0) {
            bw_text_add(&text, "%s%s", parted, reasons_table[i].word);
            parted = " ";
        }
    }
    return out;
}
