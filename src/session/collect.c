/* collect.c - see collect.h. */
#include "session/collect.h"

#include <math.h>
#include <stdlib.h>

/* The torque has to stay below the threshold for so long before a pull is over: a second reach for
 * the handle is quicker than half a second only where the hand never let go. */
static const double rest_s = 0.3;

/* A pull that nobody asked for is noticed from here on. */
static const double aside_threshold_Nm = 2.0;

void bw_collect_init(bw_collect *collect) {
    *collect = (bw_collect){.watch = {.threshold_Nm = aside_threshold_Nm, .rest_s = rest_s}};
    bw_collect_arm(collect, NULL, NULL);
}

void bw_collect_free(bw_collect *collect) {
    free(collect->sample);
    *collect = (bw_collect){0};
}

void bw_collect_arm(bw_collect *collect, const bw_stage *stage, const bw_standing *standing) {
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
    keep(collect, sample);
    return bw_judge_sample(&collect->judge, sample);
}

static void begin(bw_collect *collect) {
    collect->n = 0;
    collect->cut = false;
    collect->has_result = false;
    bw_judge_begin(&collect->judge, &collect->stage, &collect->standing, &collect->terms);
    if (collect->has_before) {
        (void)take(collect, &collect->before);
    }
}

bw_pull_event bw_collect_sample(bw_collect *collect, const bw_sample *sample, bw_live *live) {
    bw_pull_event event = bw_pull_sample(&collect->watch, sample);
    if (event == BW_PULL_BEGAN) {
        begin(collect);
    }
    if (event != BW_PULL_REST) {
        *live = take(collect, sample);
    }
    if (event == BW_PULL_ENDED) {
        double seen = bw_judge_windup_deg_per_Nm(&collect->judge);
        collect->terms.windup_deg_per_Nm = seen > 0 ? seen : collect->terms.windup_deg_per_Nm;
    }
    if (event == BW_PULL_REST || event == BW_PULL_ENDED) {
        collect->before = *sample;
        collect->has_before = true;
    }
    return event;
}

bool bw_collect_on(const bw_collect *collect, bool *loaded) {
    *loaded = collect->watch.on && !collect->watch.below;
    return collect->watch.on;
}

void bw_collect_stop(bw_collect *collect) {
    collect->watch.on = false;
    collect->has_before = false;
}

void bw_collect_result(bw_collect *collect, double peak_Nm, bool has_turn, double turn_deg) {
    collect->n = 0;
    collect->cut = false;
    collect->has_result = true;
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
