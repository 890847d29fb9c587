/* calibration.c - see calibration.h. */
#include "device/calibration.h"

#include "trade/uncertainty.h"
#include "trade/weight.h"

#include <math.h>
#include <string.h>

static const bw_tool_kind kinds[] = {
    {"indicating", "shows the torque: dial, beam with a scale, or electronic", 5, 0.06, 0.04},
    {"setting", "is set to a torque and clicks or slips there", 5, 0.06, 0.04},
    {"ungraduated", "is set to a torque without a scale of its own", 10, 0.06, 0.06},
};

const bw_tool_kind *bw_tool_kind_at(size_t index) {
    return index < sizeof kinds / sizeof kinds[0] ? &kinds[index] : NULL;
}

const bw_tool_kind *bw_tool_kind_find(const char *word) {
    for (size_t i = 0; bw_tool_kind_at(i) != NULL; i++) {
        if (strcmp(kinds[i].word, word) == 0) {
            return &kinds[i];
        }
    }
    return NULL;
}

static bw_status deviations(const bw_calibration_point *p, double *out, bw_err *err) {
    for (size_t i = 0; i < p->n; i++) {
        if (!isfinite(p->tool[i]) || !isfinite(p->reference[i]) || p->reference[i] <= 0) {
            return bw_fail(err, BW_E_DATA, "a reference reading must be greater than 0");
        }
        double percent = 0;
        bw_status rc = bw_tool_error(p->tool[i], &p->reference[i], 1, &percent, err);
        if (rc != BW_OK) {
            return rc;
        }
        out[i] = percent / 100;
    }
    return BW_OK;
}

/* Each as a share of the target.  A span b of means counts as b/(2 sqrt 3), like a rectangle. */
static bw_status combine(const bw_calibration_point *p, const bw_type_a *a, double resolution,
                         double reference_share, const bw_calibration_spans *spans, double *u,
                         bw_err *err) {
    const double spread[] = {spans->reproducibility, spans->drive, spans->interface, spans->hand,
                             resolution};
    enum { SPREADS = sizeof spread / sizeof spread[0], ALL = SPREADS + 2 };
    bw_component part[ALL] = {{.u = a->s, .sensitivity = 1},
                              {.u = reference_share / 2, .sensitivity = 1}};
    for (size_t i = 0; i < SPREADS; i++) {
        double half = 0;
        bw_status rc = spread[i] > 0 ? bw_type_b_of(spread[i] / 2, BW_SHAPE_RECTANGULAR, &half, err)
                                     : BW_OK;
        if (rc != BW_OK) {
            return rc;
        }
        part[2 + i] = (bw_component){.u = half / p->target, .sensitivity = 1};
    }
    bw_combined all;
    bw_status rc = bw_combine(part, ALL, &all, err);
    *u = rc == BW_OK ? all.u : 0;
    return rc;
}

bw_status bw_calibrate_point(const bw_calibration_point *point, double resolution,
                             double reference_share, const bw_calibration_spans *spans,
                             bw_calibration_result *out, bw_err *err) {
    double deviation[BW_READINGS_MAX];
    bw_type_a a;
    if (point->n < 2 || point->n > BW_READINGS_MAX || !(point->target > 0) || resolution < 0 ||
        reference_share < 0) {
        return bw_fail(err, BW_E_DATA, "a point has 2 to %d readings at a torque above 0",
                       BW_READINGS_MAX);
    }
    bw_status rc = deviations(point, deviation, err);
    if (rc == BW_OK) {
        rc = bw_type_a_of(deviation, point->n, &a, err);
    }
    bw_calibration_result r = {0};
    if (rc == BW_OK) {
        rc = combine(point, &a, resolution, reference_share, spans, &r.u, err);
    }
    if (rc != BW_OK) {
        return rc;
    }
    r.deviation = a.mean;
    r.repeatability = a.s;
    r.expanded = 2 * r.u;
    r.interval = fabs(r.deviation) + r.expanded;
    *out = r;
    return BW_OK;
}
