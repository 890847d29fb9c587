/* session_make.c - entries in the making: what every handler shares. */
#include "session/session_int.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

const char *bw_make_text(bw_actions *out, const char *text) {
    size_t len = strlen(text);
    if (len >= sizeof out->pool - out->pool_used) {
        out->overflow = true;
        return "";
    }
    char *copy = out->pool + out->pool_used;
    memcpy(copy, text, len);
    copy[len] = '\0';
    out->pool_used += len + 1;
    return copy;
}

const char *bw_make_source(const bw_session *s, const bw_plan_stage *stage, bw_actions *out) {
    char text[BW_SOURCE_TEXT_MAX];
    return bw_make_text(out, bw_source_text(s->plan, stage, text, sizeof text));
}

bw_entry *bw_make_entry(bw_session *s, const bw_event *ev, bw_actions *out, bw_kind kind) {
    out->overflow = out->overflow || out->entry_n == BW_ACTIONS_ENTRIES_MAX;
    size_t index = out->overflow ? BW_ACTIONS_ENTRIES_MAX - 1 : out->entry_n++;
    bw_entry *e = &out->entry[index];
    *e = bw_entry_of(kind);
    e->time_ms = ev->now_ms;
    e->build = s->build;
    e->bench = s->bench;
    e->by = s->by;
    e->rehearsal = s->rehearsal;
    if (bw_kind_member(kind, BW_M_ENTRIES) != BW_MEMBER_NEVER) {
        bw_entry_set_whole(e, BW_M_ENTRIES, (int64_t)(s->entries + index));
    }
    return e;
}

const bw_step *bw_session_active_step(const bw_session *s) {
    return s->active < s->plan->step_n ? &s->plan->step[s->active] : NULL;
}

bw_entry *bw_make_at_step(bw_session *s, const bw_event *ev, bw_actions *out, bw_kind kind) {
    bw_entry *e = bw_make_entry(s, ev, out, kind);
    const bw_step *step = bw_session_active_step(s);
    bw_entry_set_text(e, BW_M_STEP, step != NULL ? step->id : NULL);
    return e;
}

void bw_make_spot(const bw_session *s, const bw_spot *spot, bw_entry *e) {
    const bw_step *step = &s->plan->step[spot->step];
    const bw_group *group = &s->plan->group[step->group];
    bw_entry_set_text(e, BW_M_STEP, step->id);
    bw_entry_set_text(e, BW_M_GROUP, group->name);
    bw_entry_set_whole(e, BW_M_FASTENER, (int64_t)spot->place + 1);
    bw_entry_set_text(e, BW_M_LABEL, group->place[spot->place].label);
    bw_entry_set_whole(e, BW_M_STAGE, (int64_t)spot->stage + 1);
    bw_entry_set_whole(e, BW_M_ATTEMPT, s->step[spot->step].progress[spot->place].attempt);
}

void bw_say(bw_actions *out, bw_tone tone, const char *text) {
    (void)bw_text_copy(out->say, sizeof out->say, text);
    out->tone = tone;
}

/* A limit that is none has no member. */
void bw_make_limit(bw_entry *e, bw_member member, double limit) {
    if (isfinite(limit)) {
        bw_entry_set_number(e, member, limit);
    }
}

void bw_make_person(bw_session *s, const bw_event *ev, bw_actions *out, const char *name) {
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_PERSON_ON);
    e->by = bw_make_text(out, name);
    bw_entry_set_text(e, BW_M_PERSON, e->by);
}

bw_entry *bw_make_decision(bw_session *s, const bw_event *ev, bw_actions *out, const char *word) {
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_DECISION);
    size_t derived = 0;
    bw_entry_set_text(e, BW_M_DECISION, word);
    if (s->undecided || s->waits || s->draft.decides) {
        bw_make_spot(s, &s->spot, e);
        bw_entry_set_whole(e, BW_M_OF, (int64_t)(s->waits ? s->pulled.entry : s->verdict_entry));
    } else if (bw_session_open_value(s, s->active, &derived)) {
        bw_entry_set_text(e, BW_M_STEP, s->plan->step[s->active].id);
        bw_entry_set_text(e, BW_M_DERIVED, s->plan->step[s->active].derived[derived].id);
        bw_entry_set_whole(e, BW_M_OF, (int64_t)s->step[s->active].derived[derived].entry);
    }
    return e;
}
