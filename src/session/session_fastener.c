/* session_fastener.c - one fastener in one stage: what it is judged by. */
#include "session/session_int.h"

#include "judge/slope.h"
#include "trade/statistics.h"

#include <string.h>

bw_fastener_state *bw_fastener_at(const bw_session *s, const bw_spot *spot) {
    return &s->step[spot->step].fastener[spot->place];
}

bw_progress *bw_progress_at(const bw_session *s, const bw_spot *spot) {
    return &s->step[spot->step].progress[spot->place];
}

const bw_plan_stage *bw_spot_stage(const bw_session *s, const bw_spot *spot) {
    return &s->plan->step[spot->step].stage[spot->stage];
}

/* The stage before it: of this step, or the last one of the step that it continues. */
static bool stage_before(const bw_session *s, const bw_spot *spot, bw_spot *out) {
    const bw_step *step = &s->plan->step[spot->step];
    *out = *spot;
    if (spot->stage > 0) {
        out->stage--;
        return true;
    }
    out->step = step->before;
    out->stage = s->plan->step[out->step].stage_n;
    return step->goes_on && out->stage-- > 0;
}

bw_left bw_left_before(const bw_session *s, const bw_spot *spot) {
    bw_spot before;
    return stage_before(s, spot, &before) ? bw_fastener_at(s, &before)->left[before.stage]
                                          : (bw_left){0};
}

bool bw_step_continued(const bw_session *s, size_t step, size_t *by) {
    for (size_t i = step + 1; i < s->plan->step_n; i++) {
        if (s->plan->step[i].goes_on && s->plan->step[i].before == step) {
            *by = i;
            return true;
        }
    }
    return false;
}

/* ---- how often one was made tight ---- */

static bool is_new_cycle(const bw_session *s, const bw_spot *spot) {
    const bw_stage_traits *traits = bw_stage_traits_of(bw_spot_stage(s, spot)->stage.kind);
    return traits->tightens && !traits->loosens && !bw_fastener_at(s, spot)->counted;
}

int bw_cycle_with(const bw_session *s, const bw_spot *spot) {
    return s->cycles[s->plan->step[spot->step].group][spot->place] +
           (is_new_cycle(s, spot) ? 1 : 0);
}

bool bw_count_cycle(bw_session *s, const bw_spot *spot) {
    bool counts = is_new_cycle(s, spot);
    if (counts) {
        s->cycles[s->plan->step[spot->step].group][spot->place]++;
        bw_fastener_at(s, spot)->counted = true;
    }
    return counts;
}

void bw_uncount_cycle(bw_session *s, const bw_spot *spot) {
    s->cycles[s->plan->step[spot->step].group][spot->place]--;
    bw_fastener_at(s, spot)->counted = false;
}

/* Loosened once more it would have to be tightened once more, and as often as is still to come. */
bool bw_has_cycle_left(const bw_session *s, const bw_spot *spot) {
    size_t group = s->plan->step[spot->step].group;
    int most = s->plan->group[group].cycles;
    int needed = s->cycles[group][spot->place] + 1;
    for (size_t i = spot->step + 1; i < s->plan->step_n; i++) {
        const bw_step *step = &s->plan->step[i];
        bool same = step->kind == BW_STEP_TIGHTEN && step->group == group && !s->step[i].skipped;
        needed += same ? bw_step_cycles(step) : 0;
    }
    return most == 0 || needed <= most;
}

bw_stage bw_spot_aim(const bw_session *s, const bw_spot *spot) {
    return bw_stage_for(&bw_spot_stage(s, spot)->stage, bw_left_before(s, spot).prevailing_Nm);
}

/* ---- beside the others ---- */

/* The slope that this stage showed at each place where it is accepted; 0: none to compare. */
static size_t slopes_of(const bw_session *s, const bw_spot *spot, double *slope_Nm_per_deg) {
    const bw_step_state *state = &s->step[spot->step];
    size_t place_n = s->plan->group[s->plan->step[spot->step].group].place_n;
    for (size_t place = 0; place < place_n; place++) {
        bool accepted = state->progress[place].stages_done > spot->stage;
        slope_Nm_per_deg[place] = accepted
                                      ? state->fastener[place].left[spot->stage].slope_Nm_per_deg
                                      : 0;
    }
    return place_n;
}

static bw_siblings siblings_of(const double *slope_Nm_per_deg, size_t place_n, size_t but) {
    double slope[BW_ORDER_MAX];
    double scratch[BW_ORDER_MAX];
    bw_siblings out = {0};
    for (size_t place = 0; place < place_n; place++) {
        if (place != but && slope_Nm_per_deg[place] > 0) {
            slope[out.n++] = slope_Nm_per_deg[place];
        }
    }
    if (out.n > 0 && bw_median_of(slope, out.n, scratch, &out.median_Nm_per_deg,
                                  &out.mad_Nm_per_deg, NULL) != BW_OK) {
        out = (bw_siblings){0};
    }
    return out;
}

static bool is_last_of_stage(const bw_session *s, const bw_spot *spot, size_t place_n) {
    for (size_t place = 0; place < place_n; place++) {
        if (place != spot->place &&
            s->step[spot->step].progress[place].stages_done <= spot->stage) {
            return false;
        }
    }
    return true;
}

static size_t count_reasons(const uint32_t *reason, size_t n, uint32_t wanted) {
    size_t count = 0;
    for (size_t i = 0; i < n; i++) {
        count += reason[i] == wanted ? 1 : 0;
    }
    return count;
}

/* As many labels as there is room for up to `most` bytes of text; then how many more there are. */
static void add_labels(const bw_group *group, const char *how, const uint32_t *reason,
                       uint32_t wanted, size_t most, bw_text *text) {
    static const char rest[] = " and 512 more";
    size_t left = count_reasons(reason, group->place_n, wanted);
    const char *between = how;
    for (size_t place = 0; place < group->place_n; place++) {
        const char *label = group->place[place].label;
        if (reason[place] != wanted) {
            continue;
        }
        if (text->len + strlen(between) + 1 + strlen(label) + sizeof rest > most) {
            bw_text_add(text, " and %zu more", left);
            return;
        }
        bw_text_add(text, "%s %s", between, label);
        between = ",";
        left--;
    }
}

bool bw_look_back(const bw_session *s, const bw_spot *spot, double slope_Nm_per_deg, char *out,
                  size_t size) {
    double slope[BW_ORDER_MAX];
    uint32_t reason[BW_ORDER_MAX] = {0};
    uint32_t any = 0;
    static const char ask[] = ": are bolt, washer and lubricant there as they should be?";
    const bw_group *group = &s->plan->group[s->plan->step[spot->step].group];
    bw_text text = bw_text_on(out, size);
    size_t place_n = slopes_of(s, spot, slope);
    if (!is_last_of_stage(s, spot, place_n)) {
        return false;
    }
    slope[spot->place] = slope_Nm_per_deg;
    for (size_t place = 0; place < place_n; place++) {
        bw_siblings others = siblings_of(slope, place_n, place);
        reason[place] = place == spot->place ? 0 : bw_slope_reason(slope[place], &others);
        any |= reason[place];
    }
    if (any != 0) {
        bool both = any == ((uint32_t)BW_REASON_STEEP | (uint32_t)BW_REASON_SHALLOW);
        size_t most = size - sizeof ask;
        bw_text_add(&text, "Beside the whole group the torque rose");
        add_labels(group, " faster on", reason, BW_REASON_STEEP, both ? most / 2 : most, &text);
        add_labels(group, both ? "; slower on" : " slower on", reason, BW_REASON_SHALLOW, most,
                   &text);
        bw_text_add(&text, "%s", ask);
    }
    return any != 0;
}

bw_standing bw_spot_standing(const bw_session *s, const bw_spot *spot) {
    bw_standing standing = bw_fastener_at(s, spot)->standing;
    double slope_Nm_per_deg[BW_ORDER_MAX];
    size_t place_n = slopes_of(s, spot, slope_Nm_per_deg);
    standing.siblings = siblings_of(slope_Nm_per_deg, place_n, spot->place);
    return standing;
}

bool bw_step_tightens(const bw_step *step) {
    for (size_t i = 0; i < step->stage_n; i++) {
        if (bw_stage_traits_of(step->stage[i].stage.kind)->tightens) {
            return true;
        }
    }
    return false;
}

bool bw_step_stretches(const bw_step *step) {
    for (size_t i = 0; i < step->stage_n; i++) {
        if (step->stage[i].stage.kind == BW_STAGE_STRETCH) {
            return true;
        }
    }
    return false;
}

/* Not where it was judged by something of the other one's own: its prevailing torque, its length,
 * what was seen at it. */
bool bw_carries_over(const bw_session *s, const bw_spot *to) {
    const bw_step *step = &s->plan->step[to->step];
    const bw_stage *stage = &bw_spot_stage(s, to)->stage;
    bool measured = !bw_step_stretches(step) || bw_fastener_at(s, to)->free_mm > 0;
    return bw_progress_at(s, to)->stages_done == to->stage && !stage->adds_prevailing &&
           !bw_stage_traits_of(stage->kind)->is_answered && measured;
}

bw_spot bw_session_spot(const bw_session *s) {
    bw_spot spot = s->spot;
    const bw_step *step = bw_session_active_step(s);
    bool tightens = step != NULL && step->kind == BW_STEP_TIGHTEN;
    if (tightens && !s->pulling && !s->undecided && !s->waits) {
        (void)bw_session_next_spot(s, s->active, &spot);
    }
    return spot;
}

/* It may be that no other pull will ever come: a thread that has given way to a wrench that tells
 * only peaks, a nut that is loose and gives no torque any more. */
bool bw_session_may_decide(const bw_session *s) {
    bw_spot next;
    const bw_step *step = bw_session_active_step(s);
    bool last = step != NULL && step->kind == BW_STEP_TIGHTEN && s->verdict_entry != 0 &&
                s->verdict.more && bw_session_next_spot(s, s->active, &next) &&
                next.step == s->spot.step && next.place == s->spot.place &&
                next.stage == s->spot.stage;
    return last && !s->pulling && !s->undecided && !s->waits &&
           bw_fastener_at(s, &next)->standing.pulls > 0;
}

static bool is_fastener(const bw_session *s, const bw_spot *spot) {
    return s->plan->step_n > 0 && s->plan->step[spot->step].kind == BW_STEP_TIGHTEN;
}

void bw_session_ask(bw_session *s) {
    bw_spot spot = bw_session_spot(s);
    if (is_fastener(s, &spot)) {
        s->asked = bw_spot_aim(s, &spot);
    }
}

/* ---- the door ---- */

const bw_stage *bw_session_stage(const bw_session *session) {
    bw_spot spot = bw_session_spot(session);
    return is_fastener(session, &spot) ? &session->asked : NULL;
}

bw_standing bw_session_standing(const bw_session *session) {
    bw_spot spot = bw_session_spot(session);
    return is_fastener(session, &spot) ? bw_spot_standing(session, &spot) : (bw_standing){0};
}

bw_terms bw_session_terms(const bw_session *session) {
    bw_terms terms = session->tool_terms;
    terms.rule = session->plan->rule;
    return terms;
}
