/* pull.c - see pull.h. */
#include "judge/pull.h"

#include <math.h>

void bw_pull_arm(bw_pull_watch *watch, double threshold_Nm) {
    watch->threshold_Nm = threshold_Nm;
}

static bw_pull_event at_rest(bw_pull_watch *watch, bool loaded) {
    if (!loaded) {
        return BW_PULL_REST;
    }
    watch->on = true;
    watch->below = false;
    return BW_PULL_BEGAN;
}

bw_pull_event bw_pull_sample(bw_pull_watch *watch, const bw_sample *sample) {
    if (!isfinite(sample->time_s) || !isfinite(sample->torque_Nm)) {
        return watch->on ? BW_PULL_ON : BW_PULL_REST;
    }
    bool loaded = fabs(sample->torque_Nm) >= watch->threshold_Nm;
    if (!watch->on) {
        return at_rest(watch, loaded);
    }
    if (loaded) {
        watch->below = false;
        return BW_PULL_ON;
    }
    watch->below_since_s = watch->below ? fmin(watch->below_since_s, sample->time_s)
                                        : sample->time_s;
    watch->below = true;
    if (sample->time_s - watch->below_since_s < watch->rest_s) {
        return BW_PULL_ON;
    }
    watch->on = false;
    return BW_PULL_ENDED;
}
