/* adopt.c - see adopt.h. */
#include "session/adopt.h"

#include "session/session_int.h"

#include <string.h>

static bool same_text(const char *a, const char *b) {
    return a == b || (a != NULL && b != NULL && strcmp(a, b) == 0);
}

/* No number of a plan is NaN, and infinite limits are the same ones. */
static bool same_number(double a, double b) {
    return !(a < b) && !(a > b);
}

static bool same_texts(const char *const *a, size_t a_n, const char *const *b, size_t b_n) {
    for (size_t i = 0; i < a_n && a_n == b_n; i++) {
        if (!same_text(a[i], b[i])) {
            return false;
        }
    }
    return a_n == b_n;
}

/* ---- what was tightened ---- */

static bool same_stage(const bw_stage *a, const bw_stage *b) {
    const double of_a[] = {a->snug_Nm,     a->target_Nm, a->low_Nm,   a->high_Nm,
                           a->target_deg,  a->low_deg,   a->high_deg, a->least_turn_deg,
                           a->slope_share, a->target_mm, a->low_mm,   a->high_mm};
    const double of_b[] = {b->snug_Nm,     b->target_Nm, b->low_Nm,   b->high_Nm,
                           b->target_deg,  b->low_deg,   b->high_deg, b->least_turn_deg,
                           b->slope_share, b->target_mm, b->low_mm,   b->high_mm};
    for (size_t i = 0; i < sizeof of_a / sizeof of_a[0]; i++) {
        if (!same_number(of_a[i], of_b[i])) {
            return false;
        }
    }
    return a->kind == b->kind && a->adds_prevailing == b->adds_prevailing &&
           a->until_loose == b->until_loose && a->needs_trace == b->needs_trace;
}

static bool same_group(const bw_group *a, const bw_group *b) {
    bool same = same_text(a->name, b->name) && same_text(a->lubricant, b->lubricant) &&
                same_text(a->reuse_check, b->reuse_check) && a->joint_class == b->joint_class &&
                a->cycles == b->cycles && a->place_n == b->place_n;
    for (size_t i = 0; same && i < a->place_n; i++) {
        same = same_text(a->place[i].label, b->place[i].label);
    }
    return same;
}

static bool same_tighten(const bw_plan *a, const bw_step *x, const bw_plan *b, const bw_step *y) {
    bool same = same_group(&a->group[x->group], &b->group[y->group]) && x->trial == y->trial &&
                x->goes_on == y->goes_on && x->stage_n == y->stage_n && a->rule == b->rule;
    same = same && (!x->goes_on || same_text(a->step[x->before].id, b->step[y->before].id));
    for (size_t i = 0; same && i < x->stage_n; i++) {
        same = same_stage(&x->stage[i].stage, &y->stage[i].stage);
    }
    return same;
}

/* ---- what was measured ---- */

static bool same_set(const bw_reading_set *a, const bw_reading_set *b) {
    return same_text(a->id, b->id) && a->unit == b->unit && same_number(a->least, b->least) &&
           same_number(a->most, b->most) && same_texts(a->at, a->at_n, b->at, b->at_n) &&
           bw_set_repeats(a) == bw_set_repeats(b) && a->has_spread == b->has_spread &&
           same_number(a->spread, b->spread);
}

static bool same_derived(const bw_derived *a, const bw_derived *b) {
    bool same = same_text(a->id, b->id) && a->formula == b->formula && a->of_n == b->of_n &&
                a->unit == b->unit && same_number(a->low, b->low) && same_number(a->high, b->high);
    for (size_t i = 0; same && i < a->of_n; i++) {
        same = a->of[i] == b->of[i];
    }
    return same;
}

static bool same_measure(const bw_step *x, const bw_step *y) {
    bool same = x->set_n == y->set_n && x->derived_n == y->derived_n &&
                x->has_temperature == y->has_temperature;
    for (size_t i = 0; same && i < x->set_n; i++) {
        same = same_set(&x->set[i], &y->set[i]);
    }
    for (size_t i = 0; same && i < x->derived_n; i++) {
        same = same_derived(&x->derived[i], &y->derived[i]);
    }
    return same;
}

/* ---- one step, and all of them ---- */

static bool same_asked(const bw_plan *a, const bw_step *x, const bw_plan *b, const bw_step *y) {
    bool same = x->kind == y->kind && x->has_when == y->has_when &&
                same_texts(x->answer, x->answer_n, y->answer, y->answer_n) &&
                same_text(x->fits, y->fits) && same_texts(x->to, x->to_n, y->to, y->to_n);
    if (same && x->kind == BW_STEP_TIGHTEN) {
        return same_tighten(a, x, b, y);
    }
    return same && (x->kind != BW_STEP_MEASURE || same_measure(x, y));
}

/* A table or a drawer may change as long as it gives the part that was taken. */
static bw_status hold_chosen(const bw_session *before, size_t step, const bw_session *after,
                             size_t now, bw_err *err) {
    const char *took = bw_session_chosen(before, step);
    const char *takes = bw_session_chosen(after, now);
    if (same_text(took, takes)) {
        return BW_OK;
    }
    return bw_fail(
        err, BW_E_STATE, "step \"%s\" is done and took \"%s\"; by the new text %s%s%s (line %d)",
        before->plan->step[step].id, took != NULL ? took : "none",
        takes != NULL ? "it would be \"" : "there would be none", takes != NULL ? takes : "",
        takes != NULL ? "\"" : "", after->plan->step[now].where.line);
}

/* Marks may change where no part is yet. */
static bw_status hold_fitted(const bw_session *before, size_t step, const bw_session *after,
                             size_t now, bw_err *err) {
    const bw_step *st = &after->plan->step[now];
    for (size_t to = 0; to < st->to_n; to++) {
        const bw_fitted *fitted = &before->step[step].fitted[to];
        const char *mark = bw_session_mark_for(after, now, to);
        if (fitted->entry != 0 && mark != NULL && strcmp(mark, fitted->mark) != 0) {
            return bw_fail(err, BW_E_STATE,
                           "step \"%s\" has begun: \"%s\" is at %s, where the new text wants "
                           "\"%s\" (line %d)",
                           st->id, fitted->mark, st->to[to], mark, st->where.line);
        }
    }
    return BW_OK;
}

static bw_status hold_parts(const bw_session *before, size_t step, const bw_session *after,
                            size_t now, bw_err *err) {
    switch (before->plan->step[step].kind) {
    case BW_STEP_CHOOSE:
        return hold_chosen(before, step, after, now, err);
    case BW_STEP_FIT:
        return hold_fitted(before, step, after, now, err);
    default:
        return BW_OK;
    }
}

/* Where a fastener was begun anew, nothing may be left but its attempts. */
static bool was_begun(const bw_session *s, size_t step) {
    const bw_step *st = &s->plan->step[step];
    size_t place_n = st->kind == BW_STEP_TIGHTEN ? s->plan->group[st->group].place_n : 0;
    bool begun = bw_session_has_begun(s, step);
    for (size_t i = 0; i < place_n; i++) {
        begun = begun || s->step[step].progress[i].attempt > 1;
    }
    return begun;
}

static bw_status hold(const bw_session *before, size_t step, const bw_session *after, bw_err *err) {
    const bw_step *was = &before->plan->step[step];
    size_t now = 0;
    if (!bw_plan_find_step(after->plan, was->id, &now)) {
        return bw_fail(err, BW_E_STATE, "step \"%s\" has begun, and the new text has no such step",
                       was->id);
    }
    const bw_step *st = &after->plan->step[now];
    if (!same_asked(before->plan, was, after->plan, st)) {
        return bw_fail(
            err, BW_E_STATE,
            "step \"%s\" has begun, and the new text asks something else there (line %d)", was->id,
            st->where.line);
    }
    for (size_t i = 0; i < st->after_n; i++) {
        if (!after->step[st->after[i]].done) {
            return bw_fail(err, BW_E_STATE,
                           "step \"%s\" has begun, and the new text wants \"%s\" done before it",
                           was->id, after->plan->step[st->after[i]].id);
        }
    }
    if (before->step[step].done != after->step[now].done) {
        return bw_fail(err, BW_E_STATE,
                       "step \"%s\" is %s, and by the new text it would be %s (line %d)", was->id,
                       before->step[step].done ? "done" : "open",
                       before->step[step].done ? "open" : "done", st->where.line);
    }
    return hold_parts(before, step, after, now, err);
}

bw_status bw_adopt(const bw_session *before, bw_session *after, const bw_entry *entry,
                   size_t entry_n, bw_err *err) {
    for (size_t i = 0; i < entry_n; i++) {
        bw_session_apply(after, &entry[i]);
    }
    for (size_t i = 0; i < before->plan->step_n; i++) {
        bw_status status = was_begun(before, i) ? hold(before, i, after, err) : BW_OK;
        if (status != BW_OK) {
            return status;
        }
    }
    if (bw_session_misfits(after) != bw_session_misfits(before)) {
        return bw_fail(err, BW_E_STATE,
                       "the new text has no place for something that was recorded");
    }
    return BW_OK;
}
