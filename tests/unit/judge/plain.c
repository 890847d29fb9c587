/* plain.c - see plain.h. */
#include "plain.h"

#include <math.h>

static bool runs(const bw_stage *stage) {
    return stage->kind == BW_STAGE_PREVAILING || stage->kind == BW_STAGE_ROTATING ||
           stage->kind == BW_STAGE_CREEP;
}

/* A turn decides, and one that was not seen is lost. */
static bool by_turn(const bw_stage *stage) {
    return stage->kind == BW_STAGE_TORQUE_ANGLE || stage->kind == BW_STAGE_ANGLE ||
           (stage->kind == BW_STAGE_BACK_OFF && !stage->until_loose);
}

/* Where the turn is counted from; 0: from where it stands. */
static double from_Nm(const bw_stage *stage) {
    return stage->kind == BW_STAGE_TORQUE_ANGLE ? stage->snug_Nm
           : stage->kind == BW_STAGE_SLOT       ? stage->target_Nm
                                                : 0;
}

static double about_Nm(const bw_stage *stage, const bw_standing *standing) {
    if (stage->kind == BW_STAGE_TORQUE || stage->kind == BW_STAGE_SLOT) {
        return stage->target_Nm;
    }
    if (stage->kind == BW_STAGE_TORQUE_ANGLE) {
        return stage->snug_Nm;
    }
    if (stage->kind == BW_STAGE_STRETCH) {
        double stood_Nm = fmax(standing->torque_Nm, standing->peak_Nm);
        return stage->target_Nm > 0 ? stage->target_Nm : stood_Nm;
    }
    if (runs(stage)) {
        return stage->low_Nm > 0 ? stage->low_Nm : 0;
    }
    return isfinite(stage->low_Nm) && stage->low_Nm > standing->torque_Nm ? stage->low_Nm
                                                                          : standing->torque_Nm;
}

static double rest_below_Nm(const bw_stage *stage, const bw_standing *standing) {
    double share = about_Nm(stage, standing) / 20;
    return share > 0.3 ? share : 0.3;
}

/* One sample far above both its neighbours, or far below them, faster than 20 targets a second, or
 * peaks. */
static bool knocked(const bw_stage *stage, const bw_standing *standing, double peak_Nm,
                    const bw_sample *a, const bw_sample *b, const bw_sample *c) {
    double fastest = 20 * fmax(about_Nm(stage, standing), peak_Nm);
    double least_Nm = 2 * rest_below_Nm(stage, standing);
    double up_Nm = b->torque_Nm - a->torque_Nm;
    double down_Nm = b->torque_Nm - c->torque_Nm;
    bool above = up_Nm > 0 && down_Nm > c->torque_Nm / 5;
    bool below = up_Nm < 0 && down_Nm < 0;
    return about_Nm(stage, standing) > 0 && (above || below) && fabs(up_Nm) > least_Nm &&
           fabs(down_Nm) > least_Nm && fabs(up_Nm) > fastest * (b->time_s - a->time_s) &&
           b->time_s > a->time_s && fabs(down_Nm) > fastest * (c->time_s - b->time_s) &&
           c->time_s > b->time_s;
}

static trace without_knocks(const bw_stage *stage, const bw_standing *standing, const trace *all,
                            bool *any) {
    trace kept = {0};
    *any = false;
    for (size_t i = 0; i < all->n; i++) {
        double peak_Nm = 0;
        for (size_t k = 0; k + 1 < kept.n; k++) {
            peak_Nm = fmax(peak_Nm, kept.s[k].torque_Nm);
        }
        if (kept.n >= 2 && knocked(stage, standing, peak_Nm, &kept.s[kept.n - 2],
                                   &kept.s[kept.n - 1], &all->s[i])) {
            kept.n--;
            *any = true;
        }
        kept.s[kept.n++] = all->s[i];
    }
    return kept;
}

/* Under load: it was at the threshold, and has not been at rest since. */
static bool loaded_at(const trace *t, size_t i, double threshold_Nm) {
    while (t->s[i].torque_Nm < threshold_Nm) {
        if (t->s[i].torque_Nm < 0.6 * threshold_Nm || i == 0) {
            return false;
        }
        i--;
    }
    return true;
}

static double angle_at(const trace *t, size_t i, double torque_Nm) {
    const bw_sample *a = &t->s[i - 1];
    const bw_sample *b = &t->s[i];
    return a->angle_deg + (torque_Nm - a->torque_Nm) / (b->torque_Nm - a->torque_Nm) *
                              (b->angle_deg - a->angle_deg);
}

static bool rises(const trace *t, size_t i, double mark_Nm) {
    return i > 0 && t->s[i - 1].torque_Nm < mark_Nm && t->s[i].torque_Nm >= mark_Nm;
}

/* Turn of the stroke that begins with sample `from`, between its rise through the mark and its
 * last fall through it, backed off as far as it went on below it; *next: the first sample at rest
 * behind it, n where there is none. */
static double stroke_deg(const trace *t, size_t from, double mark_Nm, double threshold_Nm,
                         bool back, size_t *next) {
    double start_deg = rises(t, from, mark_Nm) ? angle_at(t, from, mark_Nm) : t->s[from].angle_deg;
    double end_deg = start_deg;
    size_t i = from + 1;
    for (; i < t->n; i++) {
        if (t->s[i - 1].torque_Nm >= mark_Nm && t->s[i].torque_Nm < mark_Nm) {
            end_deg = angle_at(t, i, mark_Nm);
        } else if (back && t->s[i].torque_Nm < mark_Nm) {
            end_deg = fmax(end_deg, t->s[i].angle_deg);
        }
        if (t->s[i].torque_Nm < 0.6 * threshold_Nm) {
            break;
        }
    }
    *next = i;
    return end_deg - start_deg;
}

/* Turn of all strokes that are over, from sample `from` on. */
static double strokes_deg(const trace *t, size_t from, double threshold_Nm, bool back) {
    double total_deg = 0;
    for (size_t i = from; i < t->n; i++) {
        size_t next = 0;
        if (rises(t, i, threshold_Nm) || (i == 0 && t->s[0].torque_Nm >= threshold_Nm)) {
            double deg = stroke_deg(t, i, threshold_Nm, threshold_Nm, back, &next);
            total_deg += next < t->n ? deg : 0;
            i = next - 1;
        }
    }
    return total_deg;
}

/* Turn of the pull that counts; *snug: the snug torque was reached, now or before. */
static double counted_deg(const bw_stage *stage, const trace *t, double threshold_Nm, bool *snug) {
    if (from_Nm(stage) == 0 || *snug) {
        return strokes_deg(t, 0, threshold_Nm, stage->kind == BW_STAGE_BACK_OFF);
    }
    size_t i = 0;
    while (i < t->n && !rises(t, i, from_Nm(stage))) {
        i++;
    }
    if (i == t->n) {
        return 0;
    }
    *snug = true;
    size_t next = 0;
    double deg = stroke_deg(t, i, from_Nm(stage), threshold_Nm, false, &next);
    return next < t->n ? deg + strokes_deg(t, next, threshold_Nm, false) : 0;
}

static bool begins_late(const bw_stage *stage, const bw_standing *standing, double first_Nm,
                        double threshold_Nm) {
    bool torque = stage->kind == BW_STAGE_TORQUE || stage->kind == BW_STAGE_SLOT;
    double late_from_Nm = torque ? fmax(standing->torque_Nm, standing->peak_Nm) : threshold_Nm;
    if (stage->kind == BW_STAGE_TORQUE_ANGLE && !standing->snug_reached) {
        late_from_Nm = stage->snug_Nm;
    }
    return first_Nm >= threshold_Nm && first_Nm >= late_from_Nm;
}

static bool pulled_back_at_the_end(const bw_stage *stage, const bw_standing *standing,
                                   const trace *t) {
    double mark_Nm = -fmax(about_Nm(stage, standing) / 5, 2);
    size_t n = t->n > 0 ? t->n - 1 : 0;
    while (n > 0 && t->s[n - 1].torque_Nm > mark_Nm && t->s[n - 1].torque_Nm <= 0.6 * mark_Nm) {
        n--;
    }
    return n > 0 && t->s[n - 1].torque_Nm <= mark_Nm;
}

static bool not_seen(const bw_stage *stage, const bw_standing *standing, const trace *t,
                     bool complete) {
    double threshold_Nm = rest_below_Nm(stage, standing);
    bool unseen = !complete || t->n == 0 || pulled_back_at_the_end(stage, standing, t) ||
                  loaded_at(t, t->n - 1, threshold_Nm) ||
                  begins_late(stage, standing, t->s[0].torque_Nm, threshold_Nm);
    for (size_t i = 1; i < t->n; i++) {
        bool under_load = loaded_at(t, i - 1, threshold_Nm) || t->s[i].torque_Nm >= threshold_Nm;
        unseen = unseen || (under_load && t->s[i].time_s - t->s[i - 1].time_s > 0.3);
    }
    bool lost = standing->pulls > 0 && !standing->turn_known;
    return unseen || (lost && by_turn(stage));
}

/* Torque that falls while it is turned on.  Sample i stands in a run of samples which begins
 * behind the last one that was at rest, and was not just flying on behind a fall. */
static bool rests(const trace *t, size_t i, double threshold_Nm);

static double two_in_a_row_Nm(const trace *t, size_t i, double threshold_Nm, size_t *from) {
    *from = i;
    while (*from > 0 && !rests(t, *from - 1, threshold_Nm)) {
        (*from)--;
    }
    double peak_Nm = 0;
    for (size_t k = *from > 0 ? *from : 1; k <= i; k++) {
        peak_Nm = fmax(peak_Nm, fmin(t->s[k - 1].torque_Nm, t->s[k].torque_Nm));
    }
    return peak_Nm;
}

static bool fell(const trace *t, size_t i, double threshold_Nm) {
    size_t from = 0;
    return t->s[i].torque_Nm < 0.8 * two_in_a_row_Nm(t, i, threshold_Nm, &from);
}

/* The first sample of the fall that sample i is in. */
static size_t fall_of(const trace *t, size_t i, double threshold_Nm) {
    size_t from = 0;
    (void)two_in_a_row_Nm(t, i, threshold_Nm, &from);
    while (i > from && fell(t, i - 1, threshold_Nm)) {
        i--;
    }
    return i;
}

static bool rests(const trace *t, size_t i, double threshold_Nm) {
    if (t->s[i].torque_Nm >= 0.6 * threshold_Nm) {
        return false;
    }
    size_t first = fall_of(t, i, threshold_Nm);
    return !fell(t, i, threshold_Nm) || first == 0 ||
           t->s[i].time_s - t->s[first - 1].time_s > 0.5 ||
           t->s[i].angle_deg < t->s[first - 1].angle_deg - 0.5;
}

static bool drops_at(const trace *t, size_t i, double threshold_Nm, double about) {
    size_t from = 0;
    double peak_Nm = two_in_a_row_Nm(t, i, threshold_Nm, &from);
    if (!fell(t, i, threshold_Nm) || peak_Nm < about / 2 || peak_Nm < 4 * threshold_Nm) {
        return false;
    }
    size_t first = fall_of(t, i, threshold_Nm);
    const bw_sample *held = &t->s[first - 1];
    double fastest = 0;
    for (size_t k = from > 0 ? from : 1; k < first; k++) {
        bool held_on = !fell(t, k, threshold_Nm) && (k == from || !fell(t, k - 1, threshold_Nm));
        double deg_per_s = (t->s[k].angle_deg - t->s[k - 1].angle_deg) /
                           (t->s[k].time_s - t->s[k - 1].time_s);
        fastest = held_on ? fmax(fastest, deg_per_s) : fastest;
    }
    double hand_deg = fastest * (t->s[first].time_s - held->time_s);
    return t->s[i].angle_deg - held->angle_deg > 3 + hand_deg;
}

/* Turned back under load: by the angles at which the torque passed the mark both ways. */
static bool turned_back(const trace *t, size_t n, double about) {
    double mark_Nm = -fmax(about / 5, 2);
    for (size_t i = 0; i < n; i++) {
        if (t->s[i].torque_Nm > mark_Nm) {
            continue;
        }
        double from_deg = i > 0 ? angle_at(t, i, mark_Nm) : t->s[0].angle_deg;
        double to_deg = from_deg;
        for (i++; i < n && t->s[i - 1].torque_Nm <= 0.6 * mark_Nm; i++) {
            bool out = t->s[i - 1].torque_Nm <= mark_Nm && t->s[i].torque_Nm > mark_Nm;
            to_deg = out ? angle_at(t, i, mark_Nm) : to_deg;
            if (t->s[i].torque_Nm > 0.6 * mark_Nm && from_deg - to_deg >= 2) {
                return true;
            }
        }
        i--;
    }
    return false;
}

static double rise_deg(const trace *t, size_t i, double mark_Nm) {
    return i > 0 ? angle_at(t, i, mark_Nm) : t->s[0].angle_deg;
}

/* How far the handle went under load until sample i.  A stroke that passed snug_Nm for the first
 * time ended where it fell through it again, any other at the threshold. */
static double travelled_deg(const trace *t, size_t i, double threshold_Nm, double snug_Nm) {
    double total_deg = 0;
    bool snug = snug_Nm == 0;
    for (size_t k = 0; k <= i; k++) {
        if (!rises(t, k, threshold_Nm) && !(k == 0 && t->s[0].torque_Nm >= threshold_Nm)) {
            continue;
        }
        double start_deg = rise_deg(t, k, threshold_Nm);
        size_t next = 0;
        double deg = stroke_deg(t, k, threshold_Nm, threshold_Nm, false, &next);
        if (next > i) {
            return total_deg + t->s[i].angle_deg - start_deg;
        }
        for (size_t j = k; j < next && !snug; j++) {
            if (rises(t, j, snug_Nm)) {
                snug = true;
                deg = rise_deg(t, j, snug_Nm) - start_deg +
                      stroke_deg(t, j, snug_Nm, threshold_Nm, false, &next);
            }
        }
        total_deg += deg;
        k = next - 1;
    }
    return total_deg;
}

/* More than 1.3 times what it stands at before it moved by a degree.  In this world nothing winds
 * up. */
static bool tight_before(const bw_stage *stage, const bw_standing *standing, const trace *t) {
    double threshold_Nm = rest_below_Nm(stage, standing);
    double stands_Nm = fmax(standing->torque_Nm, from_Nm(stage));
    bool first = standing->pulls == 0;
    double highest_Nm = 0;
    if (!bw_stage_traits_of(stage->kind)->tightens || !first || stands_Nm <= 0) {
        return false;
    }
    for (size_t i = 0; i + 1 < t->n; i++) {
        if (!loaded_at(t, i, threshold_Nm)) {
            continue;
        }
        bool higher = t->s[i].torque_Nm > highest_Nm && t->s[i].torque_Nm >= threshold_Nm;
        if (higher && travelled_deg(t, i, threshold_Nm, from_Nm(stage)) > 1) {
            return highest_Nm > 1.3 * stands_Nm;
        }
        highest_Nm = fmax(highest_Nm, t->s[i].torque_Nm);
    }
    bool snug = false;
    return counted_deg(stage, t, threshold_Nm, &snug) > 1 && highest_Nm > 1.3 * stands_Nm;
}

/* The newest sample may prove a knock and shows nothing yet; this world is too short for a bend of
 * the curve. */
static uint32_t plain_troubles(const bw_stage *stage, const bw_standing *standing, const trace *t) {
    double about = about_Nm(stage, standing);
    size_t n = t->n > 0 ? t->n - 1 : 0;
    bool dropped = false;
    if (runs(stage) || stage->kind == BW_STAGE_BACK_OFF) {
        return 0;
    }
    for (size_t i = 0; i < n; i++) {
        dropped = dropped || drops_at(t, i, rest_below_Nm(stage, standing), about);
    }
    return (uint32_t)(dropped ? BW_REASON_TORQUE_DROP : 0) |
           (uint32_t)(turned_back(t, n, about) ? BW_REASON_LOOSENED : 0);
}

/* Backed off: hardly any torque left, at once or over a sample or two, and turned on by 1.5 degree
 * within half a second of that; or dragged on for 30 degrees with less than a fifth of the peak. */
static bool comes_loose(const bw_stage *stage, const bw_standing *standing, const trace *t,
                        double *pull_Nm) {
    double threshold_Nm = rest_below_Nm(stage, standing);
    double peak_Nm = standing->peak_Nm;
    bool loose = false;
    for (size_t i = 0; i + 1 < t->n; i++) {
        peak_Nm = fmax(peak_Nm, t->s[i].torque_Nm);
        double gone_Nm = fmax(0.02 * peak_Nm, 0.3);
        bool falls = i > 0 && t->s[i - 1].torque_Nm >= gone_Nm && t->s[i].torque_Nm < gone_Nm;
        double at_deg = falls ? angle_at(t, i, gone_Nm) : 0;
        for (size_t k = i; falls && k + 1 < t->n; k++) {
            double on_deg = t->s[k].angle_deg - at_deg;
            falls = t->s[k].torque_Nm < gone_Nm && on_deg >= -0.5 &&
                    t->s[k].time_s - t->s[i].time_s <= 0.5;
            loose = loose || (falls && on_deg >= 1.5);
        }
        for (size_t k = i; k + 1 < t->n; k++) {
            bool drags = t->s[k].torque_Nm >= threshold_Nm && t->s[k].torque_Nm < peak_Nm / 5;
            if (!drags) {
                break;
            }
            loose = loose || (t->s[k].angle_deg - t->s[i].angle_deg >= 30 &&
                              t->s[k].torque_Nm >= t->s[i].torque_Nm / 2);
        }
    }
    *pull_Nm = peak_Nm;
    return loose;
}

/* The mean over all travel of the handle beyond five degrees into each stroke; the newest sample
 * may prove a knock. */
static bool mean_of(const trace *t, double threshold_Nm, double before_Nm, double before_deg,
                    double *mean_Nm) {
    double work = 0;
    double over_deg = 0;
    for (size_t i = 0; i + 1 < t->n; i++) {
        bool begins = loaded_at(t, i, threshold_Nm) &&
                      (i == 0 || !loaded_at(t, i - 1, threshold_Nm));
        if (!begins) {
            continue;
        }
        double start_deg = i > 0 ? angle_at(t, i, threshold_Nm) : t->s[0].angle_deg;
        double far_deg = t->s[i].angle_deg - start_deg;
        for (size_t k = i + 1; k + 1 < t->n && loaded_at(t, k, threshold_Nm); k++) {
            double travel_deg = t->s[k].angle_deg - start_deg;
            double step_deg = travel_deg - fmax(far_deg, 5);
            if (step_deg > 0) {
                work += step_deg * (t->s[k - 1].torque_Nm + t->s[k].torque_Nm) / 2;
                over_deg += step_deg;
            }
            far_deg = fmax(far_deg, travel_deg);
        }
    }
    *mean_Nm = over_deg > 0 ? (work + before_Nm * before_deg) / (over_deg + before_deg) : 0;
    return over_deg > 0;
}

/* What was found, before it is said. */
typedef struct found {
    double pull_Nm, most_Nm, deg;
    bool known, unseen;
    bool loose, forward;
    bool has_mean;
    double mean_Nm;
} found;

static void say(bw_verdict *v, bw_outcome outcome, uint32_t reasons, bool more) {
    v->outcome = outcome;
    v->reasons |= reasons;
    v->more = more;
}

static void plain_torque(const bw_stage *stage, const bw_standing *standing, const found *f,
                         bw_verdict *v) {
    bool again = stage->kind == BW_STAGE_TORQUE && 1.2 * standing->torque_Nm >= stage->target_Nm;
    bool over_deg = stage->kind == BW_STAGE_SLOT && f->known && f->deg > stage->high_deg + 1e-6;
    bool over_Nm = f->most_Nm > stage->high_Nm + 1e-6;
    if (over_Nm || over_deg) {
        say(v, BW_VERDICT_HIGH,
            (uint32_t)(over_Nm ? BW_REASON_ABOVE_LIMIT : 0) |
                (uint32_t)(over_deg ? BW_REASON_ANGLE_OVER : 0),
            false);
    } else if (f->pull_Nm < stage->low_Nm - 1e-6) {
        say(v, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, true);
    } else if (f->known && stage->least_turn_deg > 0 && f->deg < stage->least_turn_deg - 1e-6) {
        say(v, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
    } else if (f->known && again && f->deg > 30) {
        say(v, BW_VERDICT_SUSPECT, BW_REASON_YIELDING, false);
    }
}

static void plain_angle(const bw_stage *stage, const bw_standing *standing, const found *f,
                        bw_verdict *v) {
    double stood_Nm = stage->kind == BW_STAGE_ANGLE ? standing->torque_Nm : stage->snug_Nm;
    bool over_Nm = f->most_Nm > stage->high_Nm + 1e-6;
    bool over_deg = f->known && f->deg > stage->high_deg + 1e-6;
    if (over_Nm || over_deg) {
        say(v, BW_VERDICT_HIGH,
            (uint32_t)(over_Nm ? BW_REASON_ABOVE_LIMIT : 0) |
                (uint32_t)(over_deg ? BW_REASON_ANGLE_OVER : 0),
            false);
    } else if (!f->known) {
        v->outcome = BW_VERDICT_SUSPECT;
    } else if (stood_Nm > 0 && f->most_Nm > 1.3 * stood_Nm && f->deg < stage->low_deg / 10) {
        say(v, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
    } else if (f->deg < stage->low_deg - 1e-6) {
        say(v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    } else if (f->most_Nm < stage->low_Nm - 1e-6) {
        say(v, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, false);
    }
}

static void plain_back_off(const bw_stage *stage, const bw_standing *standing, const found *f,
                           bw_verdict *v) {
    bool stuck = standing->torque_Nm > 0 && f->most_Nm > 1.3 * standing->torque_Nm &&
                 f->deg < stage->low_deg / 10;
    if (!f->known) {
        v->outcome = stage->until_loose ? BW_VERDICT_PASS : BW_VERDICT_SUSPECT;
    } else if (f->deg > stage->high_deg + 1e-6) {
        say(v, BW_VERDICT_HIGH, BW_REASON_ANGLE_OVER, false);
    } else if (f->loose && f->forward) {
        say(v, BW_VERDICT_SUSPECT, BW_REASON_LOOSENED, false);
    } else if (!f->loose && stuck && !stage->until_loose) {
        say(v, BW_VERDICT_SUSPECT, BW_REASON_NO_TURN, false);
    } else if (!f->loose && (stage->until_loose || f->forward || f->deg < stage->low_deg - 1e-6)) {
        say(v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    }
}

static void plain_stretch(const bw_stage *stage, const bw_standing *standing, const found *f,
                          bw_verdict *v) {
    if (f->most_Nm > stage->high_Nm + 1e-6) {
        say(v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
    } else if (f->pull_Nm < rest_below_Nm(stage, standing)) {
        say(v, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, true);
    }
}

static void plain_running(const bw_stage *stage, const found *f, bw_verdict *v) {
    if (!f->known) {
        return;
    }
    if (!f->has_mean || f->deg < stage->least_turn_deg - 1e-6) {
        say(v, BW_VERDICT_LOW, BW_REASON_ANGLE_SHORT, true);
    } else if (f->mean_Nm > stage->high_Nm + 1e-6) {
        say(v, BW_VERDICT_HIGH, BW_REASON_ABOVE_LIMIT, false);
    } else if (f->mean_Nm < stage->low_Nm - 1e-6) {
        say(v, BW_VERDICT_LOW, BW_REASON_BELOW_LIMIT, stage->kind == BW_STAGE_CREEP);
    }
}

static void plain_by_kind(const bw_stage *stage, const bw_standing *standing, const found *f,
                          bw_verdict *v) {
    switch (stage->kind) {
    case BW_STAGE_TORQUE:
    case BW_STAGE_SLOT:
        plain_torque(stage, standing, f, v);
        break;
    case BW_STAGE_BACK_OFF:
        plain_back_off(stage, standing, f, v);
        break;
    case BW_STAGE_STRETCH:
        plain_stretch(stage, standing, f, v);
        break;
    case BW_STAGE_TORQUE_ANGLE:
    case BW_STAGE_ANGLE:
        plain_angle(stage, standing, f, v);
        break;
    default:
        plain_running(stage, f, v);
        break;
    }
}

/* A mean that was whole, or was lost, begins anew. */
static double before_deg(const bw_stage *stage, const bw_standing *standing) {
    bool anew = runs(stage) &&
                (!standing->turn_known || standing->turn_deg >= stage->least_turn_deg - 1e-6);
    return anew ? 0 : standing->turn_deg;
}

static found look(const bw_stage *stage, const bw_standing *standing, const trace *t, bool complete,
                  bool *snug) {
    double threshold_Nm = rest_below_Nm(stage, standing);
    bool lost = standing->pulls > 0 && !standing->turn_known && !runs(stage) && !stage->until_loose;
    double peak_Nm = 0;
    found f = {.unseen = not_seen(stage, standing, t, complete),
               .deg = before_deg(stage, standing) + counted_deg(stage, t, threshold_Nm, snug)};
    for (size_t i = 0; i < t->n; i++) {
        f.pull_Nm = fmax(f.pull_Nm, t->s[i].torque_Nm);
    }
    f.most_Nm = fmax(f.pull_Nm, standing->peak_Nm);
    f.known = !f.unseen && !lost;
    if (stage->kind == BW_STAGE_BACK_OFF) {
        f.loose = comes_loose(stage, standing, t, &peak_Nm);
        f.forward = turned_back(t, t->n > 0 ? t->n - 1 : 0, about_Nm(stage, standing));
    }
    double mean_deg = standing->judged_Nm > 0 ? before_deg(stage, standing) : 0;
    f.has_mean = runs(stage) && mean_of(t, threshold_Nm, standing->judged_Nm, mean_deg, &f.mean_Nm);
    return f;
}

bw_verdict plain_verdict(const bw_stage *stage, const bw_standing *standing, const trace *all,
                         bool complete) {
    bool knock = false;
    trace t = without_knocks(stage, standing, all, &knock);
    bool snug = standing->snug_reached;
    found f = look(stage, standing, &t, complete, &snug);
    bw_verdict v = {.peak_Nm = f.most_Nm,
                    .pull_peak_Nm = f.pull_Nm,
                    .has_turn = f.known,
                    .turn_deg = f.known ? f.deg : 0,
                    .snug_reached = snug,
                    .loose = f.loose,
                    .pulls = standing->pulls + 1};
    plain_by_kind(stage, standing, &f, &v);
    if (f.unseen && v.outcome == BW_VERDICT_PASS) {
        say(&v, BW_VERDICT_SUSPECT, BW_REASON_GAP, !by_turn(stage));
    }
    uint32_t troubles = plain_troubles(stage, standing, &t);
    troubles |= !f.unseen && tight_before(stage, standing, &t) ? (uint32_t)BW_REASON_NO_TURN : 0;
    if (troubles != 0 && v.outcome != BW_VERDICT_HIGH) {
        say(&v, BW_VERDICT_SUSPECT, 0, false);
    }
    v.reasons |= troubles | (uint32_t)(knock ? BW_REASON_SPIKE : 0) |
                 (uint32_t)(f.unseen ? BW_REASON_GAP : 0);
    return v;
}
