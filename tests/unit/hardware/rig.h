/* rig.h - a simulated adapter with its calibration, a world to pull it, and a host that listens. */
#ifndef RIG_H
#define RIG_H

#include "heard.h"
#include "rehearsal/chance.h"
#include "sim.h"
#include "store.h"
#include "track.h"

typedef struct test_rig {
    ad_sim *sim;
    ad_parts parts;
    ad_track world;
    ad_world at;
    heard heard;
    /* Noise on the line: of so many bytes one is changed; 0: none. */
    unsigned noise_one_in;
    bw_chance noise;
} test_rig;

/* A new one on the heap, calibrated, nothing done to it yet; rig_free frees it. */
test_rig *rig_new(const ad_parts *parts);
void rig_free(test_rig *rig);

/* Where the world's torque and angle go next, in a straight line. */
void rig_go(test_rig *rig, double for_s, double torque_Nm, double turn_deg);

/* Runs, and listens. */
void rig_run(test_rig *rig, double until_s);

/* What was on it, and how far the adapter has turned, at a time. */
void rig_truth(test_rig *rig, double time_s, double *torque_Nm, double *angle_deg);

/* Sends a command without, or with a body. */
void rig_command(test_rig *rig, uint8_t type, uint16_t sequence, const uint8_t *body, size_t n);

/* The last sample. */
const heard_sample *rig_last(const test_rig *rig);

/* The first sample that was so, or became so, after a time; fails the test where there is none. */
const heard_sample *rig_after(const test_rig *rig, double time_s);

#endif
