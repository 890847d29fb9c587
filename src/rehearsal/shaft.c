/* shaft.c - see shaft.h.
 *
 * No source gives more than the window of a drag and that a new sleeve is needed once it was
 * passed; how a shaft drags within a turn, what its seals take and how a builder creeps up are our
 * choice, no source. */
#include "rehearsal/shaft.h"

#include "rehearsal/chance.h"

#include <math.h>

/* No turn at the bench gets so far. */
static const double endless_deg = 1e9;

/* Preload of a set of tapered bearings: any figure does, the drag is what is measured. */
static const double usual_preload_N = 3000.0;

static const double differs_share = 0.15;

static bw_shaft drawn(bw_chance *chance, double drag_Nm) {
    double seal_Nm = drag_Nm * bw_chance_between(chance, 0.1, 0.3);
    return (bw_shaft){.seal_Nm = seal_Nm,
                      .drag_per_N = (drag_Nm - seal_Nm) / usual_preload_N,
                      .rest_share = bw_chance_between(chance, 0.05, 0.3),
                      .rough = bw_chance_between(chance, 0.02, 0.12),
                      .wave_deg = bw_chance_between(chance, 40, 360),
                      .wave_at = bw_chance_between(chance, 0, 1)};
}

bw_shaft bw_shaft_drawn(const bw_joint_spec *spec, uint64_t key) {
    bw_chance chance = {bw_chance_key_text(key, "shaft")};
    bw_shaft shaft = drawn(&chance, spec->drag_Nm);
    double share = 1 + bw_chance_between(&chance, -differs_share, differs_share);
    bw_shaft_tighten(&shaft, share * spec->drag_Nm);
    return shaft;
}

double bw_shaft_drag_Nm(const bw_shaft *shaft) {
    return shaft->seal_Nm + shaft->drag_per_N * shaft->preload_N;
}

void bw_shaft_tighten(bw_shaft *shaft, double drag_Nm) {
    double preload_N = (drag_Nm - shaft->seal_Nm) / shaft->drag_per_N;
    shaft->preload_N = fmax(shaft->preload_N, preload_N);
}

bw_shaft bw_shaft_crept(const bw_joint_spec *spec, uint64_t key, const bw_stage *stage,
                        unsigned bits, bool too_far) {
    bw_chance chance = {bw_chance_key_text(key, "shaft")};
    double middle_Nm = (stage->low_Nm + stage->high_Nm) / 2;
    double window_Nm = stage->high_Nm - stage->low_Nm;
    bw_shaft shaft = drawn(&chance, spec->drag_Nm > 0 ? spec->drag_Nm : middle_Nm);
    double goes_to_Nm = stage->low_Nm - window_Nm * bw_chance_between(&chance, 0.1, 0.8);
    for (unsigned i = 0; i < bits; i++) {
        bw_shaft_tighten(&shaft, goes_to_Nm);
        if (goes_to_Nm < middle_Nm) {
            goes_to_Nm += window_Nm * bw_chance_between(&chance, 0.2, 0.45);
        }
    }
    if (too_far) {
        bw_shaft_tighten(&shaft, stage->high_Nm + window_Nm * bw_chance_between(&chance, 0.2, 0.6));
    }
    return shaft;
}

bw_fastener bw_shaft_turned(const bw_shaft *shaft) {
    return (bw_fastener){.torque_per_N = 1e-3,
                         .rest_share = shaft->rest_share,
                         .prevailing_Nm = bw_shaft_drag_Nm(shaft),
                         .prevailing_rough = shaft->rough,
                         .prevailing_wave_deg = shaft->wave_deg,
                         .pitch_mm = 1,
                         .bolt_N_per_mm = 1,
                         .slope_N_per_deg = 1,
                         .soft_deg = 1,
                         .yield_N = INFINITY,
                         .closed_deg = -endless_deg,
                         .free_deg = endless_deg,
                         .bottom_deg = INFINITY,
                         .bind_at = shaft->wave_at};
}
