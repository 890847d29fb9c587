/* collect.c - see collect.h. */
#include "session/collect.h"

#include <math.h>
#include <stdlib.h>

/* The torque has to stay below the threshold for so long before a pull is over: a second reach for
 * the handle is quicker than half a second only where the hand never let go. */
static const double rest_s = 0.3;

/* A pull that nobody asked for is noticed from here on. */
static const double aside_threshold_Nm = 2.0;

/* A hand runs a fastener down within so long; at most so many samples of it are kept: five seconds
 * at a thousand a second. */
static const double before_s = BW_COLLECT_BEFORE_S;
enum { BEFORE_MAX = 5000 };

/* Five periods of the slowest wrench that is judged by its trace (10 Hz). */
static const double hole_s = 0.5;

/* Nobody takes a socket off a fastener and onto another one in less. */
static const double too_soon_s = 1.0;

void bw_collect_init(bw_collect *collect) {
    *collect = (bw_collect){.watch = {.threshold_Nm = aside_threshold_Nm, .rest_s = rest_s},
                            .last_peak_s = -INFINITY,
                            .accepted_peak_s = -INFINITY};
    bw_collect_arm(collect, NULL, NULL, NULL);
}

void bw_collect_free(bw_collect *collect) {
    free(collect->sample);
    free(collect->before);
    *collect = (bw_collect){0};
}

void bw_collect_arm(bw_collect *collect, const bw_stage *stage, const bw_standing *standing,
                    const bw_terms *terms) {
    static const bw_stage none = {.kind = BW_STAGE_TORQUE,
                                  .target_Nm = 40.0, /* whose threshold is the one for asides */
                                  .low_Nm = -INFINITY,
                                  .high_Nm = INFINITY,
                                  .low_deg = -INFINITY,
                                  .high_deg = INFINITY};
    if (collect->watch.on) {
        return;
    }
    collect->stage = stage != NULL ? *stage : none;
    collect->standing = standing != NULL ? *standing : (bw_standing){0};
    double windup_deg_per_Nm = collect->terms.windup_deg_per_Nm;
    collect->terms = terms != NULL ? *terms : (bw_terms){0};
    collect->terms.windup_deg_per_Nm = windup_deg_per_Nm;
    bw_pull_arm(&collect->watch, stage != NULL
                                     ? bw_judge_threshold_Nm(&collect->stage, &collect->standing)
                                     : aside_threshold_Nm);
}

static void keep(bw_collect *collect, const bw_sample *sample) {
    if (collect->n == collect->room) {
        size_t room = collect->room == 0 ? 1024 : collect->room * 2;
        bw_sample *more = room > BW_TRACE_SAMPLES_MAX
                              ? NULL
                              : realloc(collect->sample, room * sizeof *more);
        if (more == NULL) {
            collect->cut = true;
            return;
        }
        collect->sample = more;
        collect->room = room;
    }
    collect->sample[collect->n++] = *sample;
}

static bw_live take(bw_collect *collect, const bw_sample *sample) {
    double torque_Nm = fabs(sample->torque_Nm);
    keep(collect, sample);
    if (torque_Nm > collect->peak_Nm) {
        collect->peak_Nm = torque_Nm;
        collect->peak_s = sample->time_s;
    }
    if (torque_Nm >= collect->watch.threshold_Nm) {
        collect->loaded_s = sample->time_s;
    }
    return bw_judge_sample(&collect->judge, sample);
}

/* ---- before a pull ---- */

/* What is not kept of this only helps: without memory there is less of it. */
static void keep_before(bw_collect *collect, const bw_sample *sample) {
    if (collect->before == NULL) {
        collect->before = malloc(BEFORE_MAX * sizeof *collect->before);
    }
    if (collect->before == NULL) {
        return;
    }
    collect->before[collect->before_next] = *sample;
    collect->before_next = (collect->before_next + 1) % BEFORE_MAX;
    collect->before_n += collect->before_n < BEFORE_MAX ? 1 : 0;
}

static const bw_sample *before_at(const bw_collect *collect, size_t back) {
    return &collect->before[(collect->before_next + BEFORE_MAX - 1 - back) % BEFORE_MAX];
}

/* Whether an older sample and the one behind it are one piece of rest: no load, which belonged to
 * something else, no hole, no clock that went back. */
static bool follows(const bw_collect *collect, const bw_sample *older, const bw_sample *newer) {
    double step_s = newer->time_s - older->time_s;
    return fabs(older->torque_Nm) < collect->watch.threshold_Nm && step_s >= 0 && step_s <= hole_s;
}

/* How many of the newest belong in front of a pull: back to so long ago.  The newest one always, so
 * that the torque is seen to rise. */
static size_t count_before(const bw_collect *collect, double began_s) {
    size_t n = collect->before_n < 1 ? 0 : 1;
    while (n < collect->before_n && began_s - before_at(collect, n)->time_s <= before_s &&
           follows(collect, before_at(collect, n), before_at(collect, n - 1))) {
        n++;
    }
    return n;
}

static void forget_before(bw_collect *collect) {
    collect->before_n = 0;
    collect->before_next = 0;
}

static void begin(bw_collect *collect, double began_s) {
    collect->n = 0;
    collect->cut = false;
    collect->has_result = false;
    collect->peak_Nm = 0;
    bw_judge_begin(&collect->judge, &collect->stage, &collect->standing, &collect->terms);
    for (size_t back = count_before(collect, began_s); back > 0; back--) {
        (void)take(collect, before_at(collect, back - 1));
    }
    forget_before(collect);
}

bw_pull_event bw_collect_sample(bw_collect *collect, const bw_sample *sample, bw_live *live) {
    bw_pull_event event = bw_pull_sample(&collect->watch, sample);
    if (event == BW_PULL_BEGAN) {
        begin(collect, sample->time_s);
    }
    if (event != BW_PULL_REST) {
        *live = take(collect, sample);
    }
    if (event == BW_PULL_ENDED) {
        double seen = bw_judge_windup_deg_per_Nm(&collect->judge);
        collect->terms.windup_deg_per_Nm = seen > 0 ? seen : collect->terms.windup_deg_per_Nm;
    }
    if (event == BW_PULL_REST || event == BW_PULL_ENDED) {
        keep_before(collect, sample);
    }
    return event;
}

/* ---- the pull and the one before it ---- */

bool bw_collect_too_soon(const bw_collect *collect) {
    double since_s = collect->loaded_s - collect->accepted_peak_s;
    return since_s >= 0 && since_s < too_soon_s;
}

double bw_collect_peaks_apart_s(const bw_collect *collect) {
    if (collect->has_result) {
        return INFINITY;
    }
    double own_s = bw_judge_peaks_apart_s(&collect->judge);
    bool both = collect->last_peak_Nm >= collect->stage.low_Nm &&
                collect->peak_Nm >= collect->stage.low_Nm && collect->peak_s > collect->last_peak_s;
    return both ? fmin(own_s, collect->peak_s - collect->last_peak_s) : own_s;
}

void bw_collect_judged(bw_collect *collect, bool asked, bool accepted) {
    collect->last_peak_Nm = collect->peak_Nm;
    collect->last_peak_s = asked && !collect->has_result ? collect->peak_s : -INFINITY;
    collect->accepted_peak_s = asked && accepted ? collect->peak_s : -INFINITY;
}

bool bw_collect_on(const bw_collect *collect, bool *loaded) {
    *loaded = collect->watch.on && !collect->watch.below;
    return collect->watch.on;
}

void bw_collect_stop(bw_collect *collect) {
    collect->watch.on = false;
    forget_before(collect);
}

void bw_collect_result(bw_collect *collect, double time_s, double peak_Nm, bool has_turn,
                       double turn_deg) {
    collect->n = 0;
    collect->cut = false;
    collect->has_result = true;
    collect->peak_Nm = fabs(peak_Nm);
    collect->peak_s = time_s;
    collect->loaded_s = time_s;
    collect->result = bw_judge_result(&collect->stage, &collect->standing, &collect->terms, peak_Nm,
                                      has_turn, turn_deg);
}

bw_verdict bw_collect_verdict(const bw_collect *collect, bool complete) {
    if (collect->has_result) {
        return collect->result;
    }
    return bw_judge_end(&collect->judge, complete && !collect->cut);
}

bw_status bw_collect_text(const bw_collect *collect, char **text, size_t *len, bw_err *err) {
    size_t size = bw_trace_text_size(collect->n);
    char *out = malloc(size);
    if (out == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory for a trace of %zu samples", collect->n);
    }
    bw_status status = bw_trace_write(collect->sample, collect->n, out, size, len, err);
    if (status != BW_OK) {
        free(out);
        return status;
    }
    *text = out;
    return BW_OK;
}
