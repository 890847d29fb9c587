/* ask.c - see ask.h. */
#include "face/ask.h"

#include "base/clock.h"
#include "face/figures.h"

#include <math.h>
#include <stdint.h>

/* "14:52:10 UTC": the record's clock, whatever the laptop shows. */
static void add_clock(int64_t time_ms, bw_text *text) {
    char time[BW_TIME_TEXT_MAX];
    (void)bw_time_text(time_ms, time);
    bw_text_add(text, "%.8s UTC", time + 11);
}

void bw_ask_bans_add(const bw_prompt *p, bw_text *text) {
    for (size_t i = 0; i < p->ban_n; i++) {
        bw_text_add(text, "  MUST NOT HAPPEN NOW: %s%s%s\n", p->ban[i]->say,
                    p->ban[i]->why != NULL ? ". Why: " : "",
                    p->ban[i]->why != NULL ? p->ban[i]->why : "");
    }
}

void bw_ask_clock_add(const bw_prompt *p, bw_text *text) {
    if (p->step == NULL || p->since_ms == 0) {
        return;
    }
    bool wait = p->step->kind == BW_STEP_WAIT;
    double s = wait ? p->step->least_s : p->step->most_s;
    bw_text_add(text, wait ? "  Not before " : "  To be done by ");
    add_clock(p->since_ms + (int64_t)(s * 1000), text);
    bw_text_add(text, ": %g minutes after it began.\n", s / 60);
}

/* What the hand must know of this kind, in a line; NULL where the target says it all. */
static const char *const hints[BW_STAGE_KIND_COUNT] = {
    [BW_STAGE_BACK_OFF] = "Set the wrench to turn back.",
    [BW_STAGE_YIELD] = "Slowly, without a stop, until the wrench says so.",
    [BW_STAGE_STRETCH] = "After each pull its length is asked for.",
    [BW_STAGE_SLOT] = "Never turn it back, not even a little.",
    [BW_STAGE_CHECK] = "Slowly, and stop at the first movement: this tightens nothing.",
    [BW_STAGE_PREVAILING] = "Turn it evenly, while it runs free of its seat.",
    [BW_STAGE_ROTATING] = "Turn it evenly; where it breaks away does not count.",
    [BW_STAGE_CREEP] = "Never turn it back, not even a little; turn the shaft evenly.",
};

/* "Tighten  60 N·m (...)"; what says itself what is done begins with its own word. */
void bw_ask_task_add(const bw_prompt *p, bw_text *text) {
    static const uint32_t bare = 1u << BW_STAGE_TORQUE | 1u << BW_STAGE_TORQUE_ANGLE |
                                 1u << BW_STAGE_SLOT;
    bool tighten = (bare >> p->aim.kind & 1u) != 0 && !p->stage->from_torque;
    bw_text_add(text, tighten ? "  Tighten  " : "  ");
    size_t first = text->len;
    bw_target_add(text, p->stage);
    if (!tighten && first < text->len && text->data[first] >= 'a' && text->data[first] <= 'z') {
        text->data[first] = (char)(text->data[first] - 'a' + 'A');
    }
    bw_text_add(text, ".\n");
}

/* The manual's figures stand above; these are the ones that count for this fastener. */
static void add_prevailing(const bw_prompt *p, bw_text *text) {
    if (!p->aim.adds_prevailing) {
        return;
    }
    bw_text_add(text, "  With its own prevailing torque of ");
    bw_torque_add(text, p->prevailing_Nm, p->plan->torque_unit);
    bw_text_add(text, ":");
    if (p->aim.target_Nm > 0) {
        bw_text_add(text, " to ");
        bw_torque_add(text, p->aim.target_Nm, p->plan->torque_unit);
    }
    if (isfinite(p->aim.low_Nm)) {
        bw_text_add(text, ", at least ");
        bw_torque_add(text, p->aim.low_Nm, p->plan->torque_unit);
    }
    if (isfinite(p->aim.high_Nm)) {
        bw_text_add(text, ", at most ");
        bw_torque_add(text, p->aim.high_Nm, p->plan->torque_unit);
    }
    bw_text_add(text, "\n");
}

static bool counts_turn(const bw_stage *stage) {
    return stage->kind != BW_STAGE_CHECK &&
           (bw_stage_traits_of(stage->kind)->limits_turn || bw_stage_traits_of(stage->kind)->runs);
}

void bw_ask_class_add(const bw_group *group, bw_text *text) {
    if (group->joint_class == 'A') {
        bw_text_add(text, "  JOINT CLASS A, danger to life: needs a trace and a second person.\n");
    } else if (group->joint_class != 0) {
        bw_text_add(text, "  Joint class %c.\n", group->joint_class);
    }
}

/* Each tightening takes something from a fastener. */
void bw_ask_cycles_add(const bw_prompt *p, bw_text *text) {
    if (p->group->cycles > 0) {
        bw_text_add(text, "  This one was tightened %d of %d times so far.\n", p->cycles,
                    p->group->cycles);
    }
}

void bw_ask_hand_add(const bw_prompt *p, bw_text *text) {
    add_prevailing(p, text);
    if (hints[p->aim.kind] != NULL) {
        bw_text_add(text, "  %s\n", hints[p->aim.kind]);
    }
}

void bw_ask_notes_add(const bw_prompt *p, bw_text *text) {
    if (p->group->new_each_time && p->stage_index == 0) {
        bw_text_add(text, "  A new one each time.\n");
    }
    if (p->step->trial) {
        bw_text_add(text, "  On trial only: it is taken apart again.\n");
    }
    bw_ask_cycles_add(p, text);
    if (p->attempt > 1) {
        bw_text_add(text, "  Begun anew: attempt %d.\n", p->attempt);
    }
    if (!p->torque_known) {
        bw_text_add(text, "  It was backed off: what torque is left in it is not known.\n");
    }
    if (counts_turn(&p->aim) && p->standing.pulls > 0) {
        bw_text_add(text, "  Turned so far: %.0f°.\n", p->standing.turn_deg);
    }
}

static const char *const live_words[] = {[BW_LIVE_FREE] = "go on",
                                         [BW_LIVE_NEAR] = "near",
                                         [BW_LIVE_STOP] = "STOP",
                                         [BW_LIVE_OVER] = "OVER - let go"};

const char *bw_ask_live_word(bw_live_word word) {
    return live_words[word];
}

double bw_ask_follows_to(const bw_stage *stage) {
    switch (stage->kind) {
    case BW_STAGE_TORQUE_ANGLE:
    case BW_STAGE_ANGLE:
    case BW_STAGE_BACK_OFF:
        return stage->target_deg;
    case BW_STAGE_PREVAILING:
    case BW_STAGE_ROTATING:
    case BW_STAGE_CREEP:
        return stage->least_turn_deg;
    case BW_STAGE_STRETCH:
        return stage->target_Nm > 0 ? stage->target_Nm : stage->high_Nm;
    case BW_STAGE_YIELD:
    case BW_STAGE_CHECK:
        return stage->low_Nm;
    default:
        break;
    }
    return stage->target_Nm;
}

bool bw_ask_follows_turn(const bw_stage *stage) {
    return stage->kind != BW_STAGE_YIELD && counts_turn(stage);
}
