/* bench_expect.c - see bench_expect.h.  Written from physics and the stages' meaning, not from what
 * the judge does. */
#include "bench_expect.h"

#include <math.h>
#include <stddef.h>

static const char goes_by_one[] = "the one that was pulled is as good as this one";
static const char asks_no_turn[] = "the stage asks for no turn, and none is what is right there";
static const char no_load[] = "shows under load only, and there is none";
static const char had_it[] = "one that had it already stands as this one should";
static const char stands_right[] = "what it stands at was reached before, and is not looked at";
static const char after_hand[] = "happens once the hand is off";
static const char turn_is_right[] = "the turn is right, and no torque is asked for";
static const char held_fast[] = "what does not move holds";

/* By fault: one letter a situation, in their order (torque, again, lock nut, snug then angle,
 * angle, back by angle, back to loose, yield, stretch, slot, check, prevailing, rotating, creep).
 * . not made, n numbers, A always, y where it yielded, w late, k knock, s siblings, o safe; others:
 * unseen, see reasons. */
static const char *const table[BW_FAULT_KIND_COUNT] = {
    [BW_FAULT_NONE] = "nnnnnnnnnnnnnn",      [BW_FAULT_SHORT] = "nnnnnnnnnnnnnn",
    [BW_FAULT_OVER] = "nnnnnn.nnnn...",      [BW_FAULT_REHIT] = "AtAAA..A.t....",
    [BW_FAULT_MISSED] = "gggggggggggg..",    [BW_FAULT_WRONG] = "AhAwwooA.hhn..",
    [BW_FAULT_SPIKE] = "kkkkkkkkkkkkkk",     [BW_FAULT_OVERCREPT] = ".............n",
    [BW_FAULT_DRY] = "sdsooddoosdu..",       [BW_FAULT_CROSSED] = "AdAAsddAAAdn..",
    [BW_FAULT_BOTTOMED] = "sdsssddsnsdu..",  [BW_FAULT_GASKET] = "sdsssddsosnu..",
    [BW_FAULT_YIELDING] = "yyyaaddnyynu..",  [BW_FAULT_STRIPPED] = "yyyyyddnyynu..",
    [BW_FAULT_SEIZED] = "AtAAAAAAAtfA..",    [BW_FAULT_RELAXED] = "lllllddllln...",
    [BW_FAULT_WEAK_LOCK] = "..o........n..", [BW_FAULT_UNPLUG] = "AAAAAAAAAAAAAA",
    [BW_FAULT_BATTERY] = "AAAAAAAAAAAAAA",   [BW_FAULT_NOISE] = "oooooooooooooo",
    [BW_FAULT_LOST] = "oooooooooooooo",      [BW_FAULT_PEAK] = "oooooAAAooAAAA",
};

static char letter(bw_fault_kind fault, situation s) {
    return table[fault] == NULL ? '.' : table[fault][s];
}

shows how_it_shows(bw_fault_kind fault, situation s) {
    switch (letter(fault, s)) {
    case '.':
        return SHOWS_NOT_MADE;
    case 'n':
        return SHOWS_NUMBERS;
    case 'A':
        return SHOWS_ALWAYS;
    case 'y':
        return SHOWS_YIELDED;
    case 's':
        return SHOWS_SIBLINGS;
    case 'w':
        return SHOWS_LATE;
    case 'k':
        return SHOWS_KNOCK;
    case 'o':
        return SHOWS_SAFE;
    default:
        return SHOWS_NOTHING;
    }
}

const char *why_unseen(bw_fault_kind fault, situation s) {
    static const struct {
        char letter;
        const char *why;
    } reasons[] = {{'g', goes_by_one},   {'t', asks_no_turn}, {'u', no_load},
                   {'h', had_it},        {'d', stands_right}, {'l', after_hand},
                   {'a', turn_is_right}, {'f', held_fast}};
    for (size_t i = 0; i < sizeof reasons / sizeof reasons[0]; i++) {
        if (reasons[i].letter == letter(fault, s)) {
            return reasons[i].why;
        }
    }
    return NULL;
}

/* Friction at rest is 15 % at most, and the torque may have been reached a little above its aim:
 * half as much again is neither. */
static const double late_share = 1.5;

/* Slopes of torque over turn take some degrees to be seen; friction at rest makes a torque fall by
 * up to 15 %, so that what falls by a quarter while it turns is none. */
static const double plain_yield_deg = 8;
static const double plain_fall_share = 0.25;

/* Groups that are dry by order have none that is dry by mistake. */
static const double lubricated_most = 0.16;
static const double straight_deg = 4;

static bool gave_way(const whole_truth *t) {
    const bw_fastener *f = &t->last.fastener;
    return f->yielded_slope < 0 ? bw_fastener_turning_Nm(f) < (1 - plain_fall_share) * t->peak_Nm
                                : t->lost_deg > plain_yield_deg;
}

/* Friction of one lot may differ by this, as torque wrenches' tightening factor has it (1.6: VDI
 * 2230, as seen in open copies of its table): a dry one within the root of it is one of the lot. */
static const double lot_alpha = 1.6;

/* A dry one that comes to its torque while it still beds in has no slope that could be compared:
 * how long that takes differs more than friction does. */
static bool is_straight(const world *w, const whole_truth *t) {
    const bw_fastener *f = &t->last.fastener;
    bool dry = f->bind_Nm_per_deg <= 0 && !isfinite(f->bottom_deg) && f->relax_share <= 0;
    return !dry || (w->trial.joint.friction_thread < lubricated_most &&
                    f->torque_per_N > sqrt(lot_alpha) * w->Nm_per_N &&
                    f->closed_deg > f->soft_deg + straight_deg);
}

/* A hand lets go within 0.12 s; a knock that is no faster than twice that looks like one. */
bool is_knock_plain(const world *w, const whole_truth *t) {
    const bw_stage *stage = &w->trial.stage;
    double knock_Nm = fmax(fmax(stage->target_Nm, stage->snug_Nm), w->standing_Nm);
    if (knock_Nm <= 0) {
        knock_Nm = (stage->low_Nm + stage->high_Nm) / 2;
    }
    return knock_Nm * w->trial.wrench.rate_Hz > 2 * t->peak_Nm / 0.12;
}

bool is_plain(shows how, const world *w, const whole_truth *t, bool siblings) {
    const bw_stage *stage = &w->trial.stage;
    switch (how) {
    case SHOWS_ALWAYS:
        return true;
    case SHOWS_YIELDED:
        return t->yielded && gave_way(t);
    case SHOWS_LATE:
        return t->began_Nm > late_share * fmax(stage->snug_Nm, w->standing_Nm);
    case SHOWS_SIBLINGS:
        return siblings && is_straight(w, t);
    default:
        return false;
    }
}

/* ---- numbers ---- */

static truth_is both(truth_is a, truth_is b) {
    return a == TRUE_BAD || b == TRUE_BAD ? TRUE_BAD : a == TRUE_EDGE ? a : b;
}

static truth_is inside(double value, double low, double high, double edge) {
    if (value < low - edge || value > high + edge) {
        return TRUE_BAD;
    }
    return value < low + edge || value > high - edge ? TRUE_EDGE : TRUE_GOOD;
}

/* Six standard deviations of noise, two steps; a hand that rises within a second passes by some of
 * it between two samples, and by all of what breaks away. */
static double edge_Nm(const world *w, const bw_stage *stage) {
    const bw_hand_wrench *wrench = &w->trial.wrench;
    bool sudden = stage->kind == BW_STAGE_CHECK;
    return 6 * wrench->noise_Nm + 2 * wrench->step_Nm +
           (sudden ? stage->high_Nm / wrench->rate_Hz : 0);
}

static truth_is peak_numbers(const world *w, const bw_stage *stage, const whole_truth *t) {
    double edge = edge_Nm(w, stage);
    double broke_Nm = t->last.peak_Nm <= t->last.first_move_Nm ? 0.15 * t->last.peak_Nm : 0;
    return both(inside(t->last.peak_Nm, stage->low_Nm, INFINITY, fmax(edge, broke_Nm)),
                inside(t->peak_Nm, -INFINITY, stage->high_Nm, fmax(edge, broke_Nm)));
}

/* What judging.md promises for a turn: one degree. */
static truth_is turn_numbers(const bw_stage *stage, const whole_truth *t) {
    return inside(t->counted_deg, stage->low_deg, stage->high_deg, 1);
}

static truth_is torque_numbers(const world *w, const bw_stage *stage, const whole_truth *t) {
    truth_is turned = stage->least_turn_deg > 0
                          ? inside(t->counted_deg, stage->least_turn_deg, INFINITY, 1)
                          : TRUE_GOOD;
    return both(peak_numbers(w, stage, t), turned);
}

static truth_is angle_numbers(const world *w, const bw_stage *stage, const whole_truth *t) {
    return both(peak_numbers(w, stage, t), turn_numbers(stage, t));
}

/* Once it is loose, turning on does nothing, and no torque shows it. */
static truth_is back_numbers(const world *w, const bw_stage *stage, const whole_truth *t) {
    (void)w;
    if (stage->until_loose) {
        return t->last.loose ? TRUE_GOOD : TRUE_BAD;
    }
    truth_is turned = turn_numbers(stage, t);
    return turned == TRUE_BAD && t->last.loose ? TRUE_EDGE : turned;
}

/* The bend is found within a few degrees of turn. */
static truth_is yield_numbers(const world *w, const bw_stage *stage, const whole_truth *t) {
    double edge = edge_Nm(w, stage) + 0.05 * w->yield_Nm;
    truth_is yields = t->yielded ? inside(t->yield_Nm, stage->low_Nm, stage->high_Nm, edge)
                                 : TRUE_BAD;
    return both(yields, turn_numbers(stage, t));
}

static truth_is stretch_numbers(const world *w, const bw_stage *stage, const whole_truth *t) {
    return both(inside(t->growth_mm, stage->low_mm, stage->high_mm, 6 * w->gauge_mm),
                inside(t->peak_Nm, -INFINITY, stage->high_Nm, edge_Nm(w, stage)));
}

static truth_is slot_numbers(const world *w, const bw_stage *stage, const whole_truth *t) {
    truth_is meets = t->last.slot_meets ? TRUE_GOOD : TRUE_BAD;
    return both(meets, peak_numbers(w, stage, t));
}

/* Held where it did not move: then the highest torque is what it holds. */
static truth_is check_numbers(const world *w, const bw_stage *stage, const whole_truth *t) {
    double edge = edge_Nm(w, stage);
    double holds_Nm = fmin(t->last.first_move_Nm, t->last.peak_Nm);
    return both(inside(holds_Nm, stage->low_Nm, INFINITY, edge),
                both(inside(t->peak_Nm, -INFINITY, stage->high_Nm, edge),
                     inside(t->last.turned_deg, -INFINITY, stage->high_deg, 1)));
}

/* The mean over a turn's ups and downs depends a little on where it begins. */
static truth_is running_numbers(const world *w, const bw_stage *stage, const whole_truth *t) {
    double edge = 2 * w->trial.wrench.step_Nm + w->trial.wrench.noise_Nm + 0.03 * t->last.mean_Nm;
    return both(inside(t->last.mean_Nm, stage->low_Nm, stage->high_Nm, edge),
                inside(t->counted_deg, stage->least_turn_deg, INFINITY, 2));
}

static truth_is (*const numbers[BW_STAGE_KIND_COUNT])(const world *w, const bw_stage *stage,
                                                      const whole_truth *t) = {
    [BW_STAGE_TORQUE] = torque_numbers,      [BW_STAGE_TORQUE_ANGLE] = angle_numbers,
    [BW_STAGE_ANGLE] = angle_numbers,        [BW_STAGE_BACK_OFF] = back_numbers,
    [BW_STAGE_YIELD] = yield_numbers,        [BW_STAGE_STRETCH] = stretch_numbers,
    [BW_STAGE_SLOT] = slot_numbers,          [BW_STAGE_CHECK] = check_numbers,
    [BW_STAGE_PREVAILING] = running_numbers, [BW_STAGE_ROTATING] = running_numbers,
    [BW_STAGE_CREEP] = running_numbers,
};

truth_is true_numbers(const world *w, const bw_stage *stage, const whole_truth *t) {
    return numbers[stage->kind](w, stage, t);
}
