/* check_stages.c - what each stage makes of a fastener, and what may therefore come next: torques
 * that must go up, turns that need a beginning, figures that a fastener must bear.  See draft.h. */
#include "sequence/draft.h"

#include "trade/grade.h"
#include "trade/preload.h"
#include "trade/thread.h"

#include <string.h>

/* An elastic joint turns well beyond this where its torque rises by a fifth or more, or from
 * nothing (common practice, no source). */
static const double turn_by_default_deg = 2.0;
static const double rise_that_turns = 1.2;

/* Friction that no fastener of the kind exceeds (textbook values for black and for oiled threads,
 * trade/scatter.c): a torque that goes beyond proof even so is a mistake whatever is used. */
static const double dry_nut_factor = 0.30;
static const double oiled_nut_factor = 0.20;

/* How the stages before left a group's fasteners. */
typedef struct standing {
    bool unsure;     /* one of them has a mistake of its own: what it left is not known */
    bool before;     /* an earlier step tightened them, and this one has not loosened them */
    bool tight;      /* this step tightened them */
    bool backed_off; /* this step turned them back last, by an angle */
    bool crept;      /* this step crushed a sleeve */
    bool prevailing; /* this step measured their prevailing torque */
    bool above_it;   /* this step reckoned from it */
    bool exact;      /* a torque stage came last: they stand at `torque` */
    bw_quantity torque;
    double least_Nm; /* `torque`, which they have at least; 0: not known */
} standing;

typedef struct look {
    bw_draft *draft;
    const bw_group *group;
    const bw_plan_stage *stage;
    const standing *before;  /* as this step left them so far */
    const standing *earlier; /* as the step before left them */
} look;

static bw_spot spot_of(const look *at) {
    const bw_mistakes *mistakes = at->draft->mistakes;
    for (size_t i = 0; i < mistakes->file_n; i++) {
        if (mistakes->file[i] == at->stage->where.file) {
            return (bw_spot){.source = (unsigned)i, .line = (unsigned)at->stage->where.line};
        }
    }
    return (bw_spot){0, 1};
}

static const char *word_of(const look *at) {
    return bw_stage_traits_of(at->stage->stage.kind)->word;
}

static void note(const look *at, const char *what) {
    bw_mistake_add(at->draft->mistakes, spot_of(at), "%s", what);
}

enum { FIGURE_BYTES = 64 };

static bool is_tight(const standing *s) {
    return s->tight || s->before;
}

/* ---- what must have come before ---- */

static void check_begin(const look *at) {
    static const char *const needs_tight[BW_STAGE_KIND_COUNT] = {
        [BW_STAGE_ANGLE] =
            ("an angle has no beginning before a torque: put a torque{} stage before "
             "it, or use torque_angle{} with snug"),
        [BW_STAGE_BACK_OFF] = "there is nothing to back off: no stage before has tightened it",
        [BW_STAGE_CHECK] = "there is nothing to check: no stage before has tightened it",
    };
    const char *what = needs_tight[at->stage->stage.kind];
    if (what != NULL && !is_tight(at->before)) {
        note(at, what);
    }
}

/* A locking feature is felt alone only while nothing is clamped. */
static void check_free(const look *at) {
    if (at->stage->stage.kind == BW_STAGE_PREVAILING && at->before->tight) {
        note(at, "a prevailing torque is felt while a fastener is run down free: put this stage "
                 "before the first one that tightens");
    }
}

/* Its length is taken before the stage's first pull, and must be that of a loose one. */
static void check_free_length(const look *at) {
    if (at->stage->stage.kind == BW_STAGE_STRETCH && at->before->tight) {
        note(at, "a stretch is reckoned from the free length, and a stage before has tightened it: "
                 "put stretch{} first, or loosen it fully before");
    }
}

static bool tightens_to_torque(const bw_stage *stage) {
    return stage->kind == BW_STAGE_TORQUE || stage->kind == BW_STAGE_TORQUE_ANGLE ||
           stage->kind == BW_STAGE_YIELD || stage->kind == BW_STAGE_SLOT;
}

static void check_prevailing(const look *at) {
    const bw_stage *stage = &at->stage->stage;
    if (stage->adds_prevailing && !at->before->prevailing) {
        note(at, "`above_prevailing` has nothing to add: put a prevailing{} stage before this one, "
                 "in the same step");
    } else if (tightens_to_torque(stage) && !stage->adds_prevailing && at->before->above_it) {
        note(at, "a stage before came on top of the prevailing torque, and so must this one: "
                 "above_prevailing = true");
    }
}

static void check_creep(const look *at) {
    if (at->stage->stage.kind == BW_STAGE_CREEP && at->group->place_n > 1) {
        bw_mistake_add(at->draft->mistakes, spot_of(at),
                       "creep is for one nut on one shaft: its group has one place, not %zu",
                       at->group->place_n);
    }
    if (bw_stage_traits_of(at->stage->stage.kind)->loosens && at->before->crept) {
        note(at, "a sleeve that was crushed by creep{} never goes back: it is replaced");
    }
}

/* ---- only up ---- */

/* The most that a stage may come to, NULL where it says nothing of it. */
static const bw_quantity *most_of(const bw_plan_stage *stage) {
    switch (stage->stage.kind) {
    case BW_STAGE_TORQUE:
        return &stage->target;
    case BW_STAGE_SLOT:
        return &stage->low; /* from there on it is the slot that counts */
    case BW_STAGE_YIELD:
        return &stage->high;
    default:
        return stage->has_ceiling ? &stage->ceiling : NULL;
    }
}

static double torque_Nm(bw_quantity q) {
    return bw_to_base(q.value, q.unit);
}

/* Room for the hair by which units differ once they are converted. */
static bool is_below(double torque, double other) {
    return torque < other * (1 - 1e-9);
}

static void check_rise(const look *at) {
    const bw_quantity *most = most_of(at->stage);
    if (most != NULL && is_below(torque_Nm(*most), at->before->least_Nm)) {
        char now[FIGURE_BYTES];
        char then[FIGURE_BYTES];
        bw_mistake_add(at->draft->mistakes, spot_of(at),
                       "this stage goes down to %s after %s: without backing off a stage can "
                       "only go up",
                       bw_quantity_text(*most, now, sizeof now),
                       bw_quantity_text(at->before->torque, then, sizeof then));
    }
}

/* What stands above the torque from which the turn is counted does not turn before that is long
 * passed: it would be counted from where it stood. */
static void check_counted(const look *at) {
    const bw_plan_stage *stage = at->stage;
    if (stage->stage.snug_Nm > 0 && is_below(stage->stage.snug_Nm, at->before->least_Nm)) {
        char from[FIGURE_BYTES];
        char stands[FIGURE_BYTES];
        bw_mistake_add(at->draft->mistakes, spot_of(at),
                       "%s: the turn cannot be counted from %s where %s stands already: the "
                       "figure must be no lower than that",
                       stage->from_torque ? "angle" : word_of(at),
                       bw_quantity_text(stage->snug, from, sizeof from),
                       bw_quantity_text(at->before->torque, stands, sizeof stands));
    }
}

static void check_again(const look *at) {
    const standing *before = at->before;
    double target_Nm = at->stage->stage.target_Nm;
    bool same = before->exact && !is_below(target_Nm, before->least_Nm) &&
                !is_below(before->least_Nm, target_Nm);
    if (at->stage->again && !same) {
        char target[FIGURE_BYTES];
        bw_mistake_add(at->draft->mistakes, spot_of(at),
                       "`again` is a pass once more at a torque that stands: no torque{} stage of "
                       "this step has left it at %s",
                       bw_quantity_text(at->stage->target, target, sizeof target));
    }
}

/* A sound fastener first moves at about the torque that it was tightened to: a little above by
 * friction at rest, below by settling.  Where that lies outside of the limits, each one fails. */
static void check_window(const look *at) {
    bool moved = at->before->tight || at->before->backed_off;
    const standing *s = moved ? at->before : at->earlier;
    const bw_plan_stage *stage = at->stage;
    if (stage->stage.kind != BW_STAGE_CHECK || !is_tight(at->before) || s->least_Nm == 0) {
        return;
    }
    char torque[FIGURE_BYTES];
    char high[FIGURE_BYTES];
    char low[FIGURE_BYTES];
    (void)bw_quantity_text(s->torque, torque, sizeof torque);
    if (is_below(stage->stage.high_Nm, s->least_Nm)) {
        bw_mistake_add(at->draft->mistakes, spot_of(at),
                       "check: high is %s, below the %s to which it was tightened: every sound one "
                       "would fail",
                       bw_quantity_text(stage->high, high, sizeof high), torque);
    } else if (s->exact && is_below(s->least_Nm, stage->stage.low_Nm)) {
        bw_mistake_add(at->draft->mistakes, spot_of(at),
                       "check: low is %s, above the %s to which it was tightened: every sound one "
                       "would fail",
                       bw_quantity_text(stage->low, low, sizeof low), torque);
    }
}

/* ---- what a fastener bears ---- */

/* The torque that a stage is sure to come near and that must be elastic.  How far a stage goes
 * through an angle or to yield beyond that is past proof on purpose. */
static const bw_quantity *elastic_of(const bw_plan_stage *stage) {
    switch (stage->stage.kind) {
    case BW_STAGE_TORQUE:
        return &stage->target;
    case BW_STAGE_SLOT:
        return &stage->high;
    case BW_STAGE_TORQUE_ANGLE:
    case BW_STAGE_YIELD:
        return &stage->snug;
    case BW_STAGE_STRETCH:
        return stage->has_ceiling ? &stage->ceiling : &stage->about;
    default:
        return NULL;
    }
}

static bool proof_torque(const bw_group *group, double nut_factor, double *out_Nm) {
    bw_thread thread = {group->thread_d_mm, group->thread_pitch_mm, false};
    bw_thread_size size;
    const bw_grade *grade = NULL;
    return group->thread_d_mm > 0 && group->property_class != NULL &&
           bw_thread_size_of(&thread, &size, NULL) == BW_OK &&
           bw_grade_find(group->property_class, thread.d_mm, &grade, NULL) == BW_OK &&
           bw_torque_from_nut_factor(nut_factor, thread.d_mm,
                                     grade->proof_MPa * size.stress_area_mm2, out_Nm,
                                     NULL) == BW_OK;
}

static void check_proof(const look *at) {
    const bw_quantity *torque = elastic_of(at->stage);
    const char *lubricant = at->group->lubricant;
    bool dry = lubricant != NULL && strcmp(lubricant, "dry") == 0;
    double factor = dry ? dry_nut_factor : oiled_nut_factor;
    double most_Nm = 0;
    if (torque == NULL || !proof_torque(at->group, factor, &most_Nm) ||
        torque_Nm(*torque) <= most_Nm) {
        return;
    }
    char target[FIGURE_BYTES];
    char most[FIGURE_BYTES];
    bw_quantity proof = {bw_from_base(most_Nm, torque->unit), torque->unit, 0};
    bw_mistake_add(at->draft->mistakes, spot_of(at),
                   "%s is beyond what this fastener (class %s) bears: its proof load is reached at "
                   "%s even with %s thread, nut factor %.2f",
                   bw_quantity_text(*torque, target, sizeof target), at->group->property_class,
                   bw_quantity_text(proof, most, sizeof most), dry ? "a dry" : "an oiled", factor);
}

/* ---- what a stage leaves ---- */

static void settle_turn(bw_plan_stage *stage, const standing *before) {
    bw_stage *s = &stage->stage;
    if (s->least_turn_deg != bw_turn_not_given) {
        return;
    }
    bool from_nothing = !before->tight || before->backed_off;
    bool rises = before->exact && s->target_Nm >= rise_that_turns * before->least_Nm;
    s->least_turn_deg = !stage->again && (from_nothing || rises) ? turn_by_default_deg : 0;
}

/* What a stage that tightens has reached at least; false where it does not say. */
static bool reaches(const bw_plan_stage *stage, bw_quantity *out) {
    switch (stage->stage.kind) {
    case BW_STAGE_TORQUE:
        *out = stage->target;
        return true;
    case BW_STAGE_SLOT:
    case BW_STAGE_YIELD:
        *out = stage->low;
        return true;
    case BW_STAGE_TORQUE_ANGLE:
        *out = stage->has_floor ? stage->floor : stage->snug;
        return true;
    default:
        *out = stage->floor;
        return stage->has_floor;
    }
}

static void leave_looser(const bw_plan_stage *stage, standing *s) {
    s->exact = false;
    s->least_Nm = 0;
    s->backed_off = !stage->stage.until_loose;
    s->tight = s->tight && !stage->stage.until_loose;
    s->before = s->before && !stage->stage.until_loose;
}

/* What turns on further is never the looser for it. */
static void leave_tighter(const bw_plan_stage *stage, standing *s) {
    bw_quantity torque;
    s->tight = true;
    s->backed_off = false;
    s->exact = stage->stage.kind == BW_STAGE_TORQUE;
    if (reaches(stage, &torque) && (s->exact || torque_Nm(torque) > s->least_Nm)) {
        s->torque = torque;
        s->least_Nm = torque_Nm(torque);
    }
}

static void leave(const bw_plan_stage *stage, standing *s) {
    const bw_stage_traits *traits = bw_stage_traits_of(stage->stage.kind);
    bool creeps = stage->stage.kind == BW_STAGE_CREEP;
    if (traits->loosens) {
        leave_looser(stage, s);
    } else if (traits->tightens || creeps) {
        leave_tighter(stage, s);
    }
    s->crept = s->crept || creeps;
    s->prevailing = s->prevailing || stage->stage.kind == BW_STAGE_PREVAILING;
    s->above_it = s->above_it || stage->stage.adds_prevailing;
}

/* ---- stage by stage ---- */

static void check_stage(const look *at) {
    static void (*const rules[])(const look *at) = {
        check_begin, check_free,    check_free_length, check_prevailing, check_creep,
        check_rise,  check_counted, check_again,       check_window,
    };
    for (size_t i = 0; !at->before->unsure && i < sizeof rules / sizeof rules[0]; i++) {
        rules[i](at);
    }
    check_proof(at);
}

/* Each step that tightens the group begins anew, since it may have been taken apart between; what
 * needs a tight fastener goes on from what an earlier step left. */
static void check_step(bw_draft *draft, const bw_group *group, size_t index, standing *earlier) {
    const bw_draft_step *named = &draft->named[index];
    const bw_step *step = &draft->step[index];
    standing now = {.before = is_tight(earlier) || earlier->unsure};
    if (step->goes_on) {
        now = *earlier;
    }
    for (size_t i = 0; i < step->stage_n; i++) {
        look at = {draft, group, &named->stage[i], &now, earlier};
        if (!named->stage_whole[i]) {
            now.unsure = true;
            continue;
        }
        check_stage(&at);
        settle_turn(&named->stage[i], &now);
        leave(&named->stage[i], &now);
    }
    bool only_felt = !now.tight && !now.backed_off && now.before;
    if (!only_felt) {
        *earlier = now;
    }
    if (now.unsure) {
        earlier->unsure = true;
        earlier->least_Nm = 0;
    }
}

void bw_check_stages(bw_draft *draft, size_t group) {
    standing earlier = {0};
    bool trial = false;
    for (size_t i = 0; i < draft->plan.step_n; i++) {
        const bw_draft_step *named = &draft->named[i];
        bool here = draft->step[i].kind == BW_STEP_TIGHTEN && named->group != NULL &&
                    strcmp(named->group, draft->group[group].name) == 0;
        if (here) {
            /* Taken apart after a trial. */
            if (trial && !draft->step[i].trial) {
                earlier = (standing){0};
            }
            trial = draft->step[i].trial;
            check_step(draft, &draft->group[group], i, &earlier);
        }
    }
}
