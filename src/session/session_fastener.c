/* session_fastener.c - one fastener in one stage: what it is judged by. */
#include "session/session_int.h"

#include "trade/statistics.h"

bw_fastener_state *bw_fastener_at(const bw_session *s, const bw_spot *spot) {
    return &s->step[spot->step].fastener[spot->place];
}

bw_progress *bw_progress_at(const bw_session *s, const bw_spot *spot) {
    return &s->step[spot->step].progress[spot->place];
}

const bw_plan_stage *bw_spot_stage(const bw_session *s, const bw_spot *spot) {
    return &s->plan->step[spot->step].stage[spot->stage];
}

bw_left bw_left_before(const bw_session *s, const bw_spot *spot) {
    return spot->stage > 0 ? bw_fastener_at(s, spot)->left[spot->stage - 1] : (bw_left){0};
}

bw_stage bw_spot_aim(const bw_session *s, const bw_spot *spot) {
    return bw_stage_for(&bw_spot_stage(s, spot)->stage, bw_left_before(s, spot).prevailing_Nm);
}

/* Those of its group that had this stage accepted, as far as their slope was seen. */
static bw_siblings siblings(const bw_session *s, const bw_spot *spot) {
    double slope[BW_ORDER_MAX];
    double scratch[BW_ORDER_MAX];
    bw_siblings out = {0};
    size_t place_n = s->plan->group[s->plan->step[spot->step].group].place_n;
    for (size_t place = 0; place < place_n && place < BW_ORDER_MAX; place++) {
        const bw_step_state *state = &s->step[spot->step];
        bool accepted = place != spot->place && state->progress[place].stages_done > spot->stage;
        double seen = state->fastener[place].left[spot->stage].slope_Nm_per_deg;
        if (accepted && seen > 0) {
            slope[out.n++] = seen;
        }
    }
    if (out.n > 0 && bw_median_of(slope, out.n, scratch, &out.median_Nm_per_deg,
                                  &out.mad_Nm_per_deg, NULL) != BW_OK) {
        out = (bw_siblings){0};
    }
    return out;
}

bw_standing bw_spot_standing(const bw_session *s, const bw_spot *spot) {
    bw_standing standing = bw_fastener_at(s, spot)->standing;
    standing.siblings = siblings(s, spot);
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
