/* session_fold_pull.c - entries about fasteners: pulls, what was measured at them, verdicts,
 * decisions, corrections. */
#include "session/session_int.h"

#include <math.h>
#include <string.h>

/* ---- stages done and begun anew ---- */

static bw_left left_by(const bw_session *s, const bw_spot *spot, const bw_verdict *v,
                       bool by_decision) {
    bw_stage_kind kind = bw_spot_stage(s, spot)->stage.kind;
    const bw_stage_traits *traits = bw_stage_traits_of(kind);
    bw_left left = bw_left_before(s, spot);
    left.slope_Nm_per_deg = by_decision ? 0 : v->slope_Nm_per_deg;
    left.joint_Nm_per_deg = fmax(left.joint_Nm_per_deg, left.slope_Nm_per_deg);
    if (traits->loosens) {
        left.torque_Nm = 0;
        left.loosened = !v->loose;
    } else if (traits->tightens) {
        left.torque_Nm = fmax(v->peak_Nm, 0.0);
        left.loosened = false;
    }
    if (kind == BW_STAGE_PREVAILING) {
        left.prevailing_Nm = v->has_judged ? fmax(v->judged_Nm, 0.0) : 0.0;
    }
    return left;
}

/* The next stage starts with nothing but what the ones before it left. */
static void begin_stage(bw_session *s, const bw_spot *spot) {
    bw_left left = bw_left_before(s, spot);
    bw_fastener_at(s, spot)->standing = (bw_standing){.torque_Nm = left.torque_Nm,
                                                      .joint_Nm_per_deg = left.joint_Nm_per_deg};
}

/* Stages are accepted one after the other: anything else is a misfit, and leaves the stage open. */
static bool accept(bw_session *s, const bw_spot *spot, const bw_verdict *v, bool by_decision) {
    bw_fastener_state *fastener = bw_fastener_at(s, spot);
    bw_progress *progress = bw_progress_at(s, spot);
    if (progress->stages_done != spot->stage) {
        return false;
    }
    (void)bw_count_cycle(s, spot);
    if (by_decision) {
        fastener->overridden |= 1u << spot->stage;
    }
    fastener->left[spot->stage] = left_by(s, spot, v, by_decision);
    progress->overridden = fastener->overridden != 0;
    progress->stages_done = spot->stage + 1;
    fastener->counted = fastener->counted && !bw_spot_stage(s, spot)->stage.until_loose;
    bw_spot next = {.step = spot->step, .place = spot->place, .stage = spot->stage + 1};
    bool goes_on = next.stage == s->plan->step[spot->step].stage_n &&
                   bw_step_continued(s, spot->step, &next.step);
    if (goes_on) {
        next.stage = 0;
        bw_fastener_at(s, &next)->counted = fastener->counted;
    }
    begin_stage(s, &next);
    bw_session_settle(s, spot->step);
    return true;
}

static void begin_step_anew(bw_session *s, size_t step, size_t place) {
    bw_fastener_state *fastener = &s->step[step].fastener[place];
    bw_progress *progress = &s->step[step].progress[place];
    *fastener = (bw_fastener_state){.left = fastener->left};
    *progress = (bw_progress){.attempt = progress->attempt + 1, .reuse = progress->reuse};
    bw_session_settle(s, step);
}

/* What went on from a step falls with it. */
static void begin_anew(bw_session *s, size_t step, size_t place) {
    while (s->plan->step[step].goes_on) {
        step = s->plan->step[step].before;
    }
    begin_step_anew(s, step, place);
    while (bw_step_continued(s, step, &step)) {
        begin_step_anew(s, step, place);
    }
}

void bw_tighten_step_anew(bw_session *s, size_t step) {
    const bw_group *group = &s->plan->group[s->plan->step[step].group];
    for (size_t place = 0; place < group->place_n; place++) {
        begin_anew(s, step, place);
    }
}

/* What a step found that tightens nothing itself is put right where the fastener was tightened. */
static void tighten_anew(bw_session *s, const bw_spot *spot) {
    const bw_step *step = &s->plan->step[spot->step];
    begin_anew(s, spot->step, spot->place);
    for (size_t i = spot->step; i-- > 0 && !bw_step_tightens(step);) {
        const bw_step *before = &s->plan->step[i];
        if (before->kind == BW_STEP_TIGHTEN && before->group == step->group &&
            bw_step_tightens(before)) {
            begin_anew(s, i, spot->place);
            return;
        }
    }
}

/* ---- pulls ---- */

bool bw_apply_pull_begun(bw_session *s, const bw_entry *e) {
    bw_spot spot = {0};
    if (!bw_session_entry_spot(s, e, &spot)) {
        return false;
    }
    s->pulling = true;
    s->spot = spot;
    s->last_reading_entry = 0;
    s->answered.entry = 0;
    s->confirmed_entry = 0;
    return true;
}

/* One that says how many pulls there were is one that waits: its verdict is still to come. */
bool bw_apply_pull(bw_session *s, const bw_entry *e) {
    bw_spot spot = {0};
    s->tally.pulls++;
    if (!bw_entry_flag(e, BW_M_ASKED, false)) {
        bw_keep_aside(s, e);
        return true;
    }
    s->pulling = false;
    if (e->value[BW_M_PULLS].type == BW_VALUE_NONE) {
        return true;
    }
    if (!bw_session_entry_spot(s, e, &spot)) {
        return false;
    }
    s->waits = true;
    s->spot = spot;
    s->pulled = (bw_pulled){.entry = e->number, .uncertainty_deg = s->tool_terms.uncertainty_deg};
    (void)bw_text_copy(s->pulled.tool, sizeof s->pulled.tool, bw_entry_text(e, BW_M_TOOL, ""));
    s->verdict = bw_verdict_of(e);
    s->verdict.outcome = BW_VERDICT_PASS;
    s->verdict.peak_Nm = fmax(s->verdict.pull_peak_Nm, bw_fastener_at(s, &spot)->standing.peak_Nm);
    return true;
}

static bool is_turn_lost(const bw_stage *stage) {
    bool judged = bw_stage_traits_of(stage->kind)->limits_turn || stage->kind == BW_STAGE_CHECK;
    return judged && !stage->until_loose;
}

/* A pull of which nothing was kept.  A torque can be pulled again; a turn is lost. */
bool bw_apply_interrupted(bw_session *s, const bw_entry *e) {
    s->pulling = false;
    bw_spot spot = {0};
    if (e->value[BW_M_FASTENER].type == BW_VALUE_NONE) {
        return true;
    }
    if (!bw_session_entry_spot(s, e, &spot)) {
        return false;
    }
    bw_standing *standing = &bw_fastener_at(s, &spot)->standing;
    s->before_lost = *standing;
    standing->pulls++;
    standing->turn_known = false;
    if (is_turn_lost(&bw_spot_stage(s, &spot)->stage)) {
        s->undecided = true;
        s->lost = true;
        s->moved = false;
        s->spot = spot;
        s->verdict_entry = e->number;
        s->verdict_counted = false;
        s->verdict = (bw_verdict){.outcome = BW_VERDICT_SUSPECT,
                                  .reasons = BW_REASON_GAP,
                                  .peak_Nm = standing->peak_Nm,
                                  .pulls = standing->pulls};
    }
    return true;
}

/* ---- what is measured or seen at a fastener ---- */

static void keep_answered(bw_session *s, const bw_entry *e, const bw_spot *spot) {
    s->last_reading_entry = 0;
    s->answered = (bw_answered){.entry = e->number,
                                .after_pull = s->waits,
                                .spot = *spot,
                                .fastener = *bw_fastener_at(s, spot),
                                .progress = *bw_progress_at(s, spot),
                                .verdict = s->verdict,
                                .pulled = s->pulled};
}

bool bw_apply_length(bw_session *s, const bw_entry *e) {
    bw_spot spot = {0};
    bw_unit unit = BW_UNIT_NUMBER;
    const char *name = bw_entry_text(e, BW_M_UNIT, "");
    if (!bw_session_entry_spot(s, e, &spot) || !bw_unit_find(name, strlen(name), &unit)) {
        return false;
    }
    bw_fastener_state *fastener = bw_fastener_at(s, &spot);
    double length_mm = bw_to_base(bw_entry_number(e, BW_M_VALUE, 0), unit);
    keep_answered(s, e, &spot);
    if (!s->waits) {
        fastener->free_mm = length_mm;
    }
    s->seen = (bw_seen){.before_mm = fastener->free_mm, .after_mm = length_mm};
    return true;
}

bool bw_apply_slot(bw_session *s, const bw_entry *e) {
    bw_spot spot = {0};
    if (!bw_session_entry_spot(s, e, &spot) || !s->waits) {
        return false;
    }
    keep_answered(s, e, &spot);
    s->seen = (bw_seen){.slot_meets = bw_entry_flag(e, BW_M_SLOT_MEETS, false)};
    return true;
}

/* It was read or typed wrongly: all is as before it, and it is asked for again. */
static void take_back(bw_session *s) {
    const bw_answered *a = &s->answered;
    if (a->after_pull && s->verdict_counted) {
        bw_uncount_cycle(s, &a->spot);
        s->verdict_counted = false;
    }
    *bw_fastener_at(s, &a->spot) = a->fastener;
    *bw_progress_at(s, &a->spot) = a->progress;
    if (a->after_pull) {
        s->waits = true;
        s->undecided = false;
        s->spot = a->spot;
        s->verdict = a->verdict;
        s->pulled = a->pulled;
        s->accepted_entry = 0;
    }
    bw_session_settle(s, a->spot.step);
    s->answered.entry = 0;
}

/* ---- verdicts ---- */

static void stand_after(bw_standing *standing, const bw_verdict *v) {
    standing->peak_Nm = v->peak_Nm;
    standing->turn_deg = v->turn_deg;
    standing->turn_known = v->has_turn;
    standing->snug_reached = v->snug_reached;
    standing->pulls = v->pulls;
    standing->judged_Nm = v->has_judged ? v->judged_Nm : 0;
    standing->slope_Nm_per_deg = v->slope_Nm_per_deg;
}

/* A wrench may still be set for the joint before. */
static void keep_setting(bw_session *s, const bw_spot *spot) {
    if (s->setting_Nm > 0 && s->setting_step != spot->step) {
        s->last_setting_Nm = s->setting_Nm;
    }
    s->setting_step = spot->step;
    s->setting_Nm = bw_spot_aim(s, spot).target_Nm;
}

bool bw_apply_verdict(bw_session *s, const bw_entry *e) {
    bw_spot spot = {0};
    if (!bw_session_entry_spot(s, e, &spot)) {
        return false;
    }
    bw_standing *standing = &bw_fastener_at(s, &spot)->standing;
    s->spot = spot;
    s->verdict = bw_verdict_of(e);
    s->verdict_entry = e->number;
    s->before_pull = *standing;
    keep_setting(s, &spot);
    s->verdict_counted = bw_count_cycle(s, &spot);
    s->waits = false;
    s->lost = false;
    s->moved = false;
    if (s->verdict.outcome == BW_VERDICT_PASS) {
        s->accepted_entry = e->number;
        s->accepted = spot;
        s->accepted_counted = s->verdict_counted;
        s->accepted_verdict = s->verdict;
        return accept(s, &spot, &s->verdict, false);
    }
    stand_after(standing, &s->verdict);
    s->undecided = !s->verdict.more;
    return true;
}

/* ---- decisions and corrections ---- */

bool bw_apply_fastener_decision(bw_session *s, const bw_entry *e) {
    const char *word = bw_entry_text(e, BW_M_DECISION, "");
    bw_spot spot = {0};
    if (!bw_session_entry_spot(s, e, &spot)) {
        return false;
    }
    s->undecided = false;
    s->waits = false;
    s->answered.entry = 0;
    if (strcmp(word, "override") == 0) {
        s->accepted_entry = 0; /* the last acceptance is this one, and no verdict */
        return accept(s, &spot, &s->verdict, true);
    }
    if (strcmp(word, "loosen") == 0 || strcmp(word, "replace") == 0) {
        s->accepted_entry = 0; /* the one it may have been instead stands no longer as it did */
        if (strcmp(word, "replace") == 0) {
            s->cycles[s->plan->step[spot.step].group][spot.place] = 0;
            bw_keep_replaced(s, &spot);
        }
        tighten_anew(s, &spot);
    } else if (strcmp(word, "unmoved") == 0 && s->lost) {
        bw_fastener_at(s, &spot)->standing = s->before_lost;
    } else {
        begin_stage(s, &spot);
    }
    return true;
}

/* The accepted pull was on another fastener: the one that was asked for is open again; the other
 * one has this stage now, where it can count for it. */
static void correct_accepted(bw_session *s, const char *label) {
    bw_spot was = s->accepted;
    bw_spot other = was;
    bw_progress_at(s, &was)->stages_done = was.stage;
    begin_stage(s, &was);
    if (s->accepted_counted) {
        bw_uncount_cycle(s, &was);
    }
    if (bw_group_find_place(&s->plan->group[s->plan->step[was.step].group], label, &other.place) &&
        bw_carries_over(s, &other)) {
        (void)accept(s, &other, &s->accepted_verdict, false);
        /* A question about that one is answered by this. */
        bool asked = s->spot.step == other.step && s->spot.place == other.place;
        s->undecided = s->undecided && !asked;
    }
    bw_session_settle(s, was.step);
}

/* The pull that waits for a decision was on another fastener: that one is decided on. */
static void move_verdict(bw_session *s, const char *label) {
    bw_spot other = s->spot;
    if (bw_group_find_place(&s->plan->group[s->plan->step[other.step].group], label,
                            &other.place) &&
        other.place != s->spot.place) {
        bw_fastener_at(s, &s->spot)->standing = s->before_pull;
        if (s->verdict_counted) {
            bw_uncount_cycle(s, &s->spot);
        }
        s->verdict_counted = bw_count_cycle(s, &other);
        s->spot = other;
        s->moved = true;
    }
}

bool bw_apply_fastener_correction(bw_session *s, const bw_entry *e) {
    uint64_t corrects = (uint64_t)bw_entry_whole(e, BW_M_CORRECTS, 0);
    const char *label = bw_entry_text(e, BW_M_LABEL, NULL);
    if (label == NULL && corrects != 0 && corrects == s->answered.entry) {
        take_back(s);
        return true;
    }
    if (label == NULL || corrects == 0) {
        return label != NULL;
    }
    if (s->undecided && corrects == s->verdict_entry) {
        move_verdict(s, label);
    } else if (corrects == s->accepted_entry) {
        correct_accepted(s, label);
    }
    s->accepted_entry = 0;
    s->answered.entry = 0;
    return true;
}
