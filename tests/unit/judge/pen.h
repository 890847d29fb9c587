/* pen.h - draws a trace as a wrench on a joint would give it, in straight lines.
 *
 * The joint turns only where the drawing says so; the wrench's angle is that turn, its wind-up
 * under torque, its back-swings, and the drift of its gyro. */
#ifndef BW_TESTS_JUDGE_PEN_H
#define BW_TESTS_JUDGE_PEN_H

#include "judge/judge.h"

enum { PEN_SAMPLES_MAX = 100000 };

typedef struct pen {
    /* The wrench. */
    double step_s;
    double windup_deg_per_Nm;
    double drift_deg_per_s;
    double noise_Nm; /* uniform, either way */
    bool no_angle;
    /* The hand, as it is now. */
    double time_s;
    double torque_Nm;
    double turned_deg; /* of the joint */
    double swung_deg;  /* back-swings: of the handle, not of the joint */
    uint64_t chance;
    size_t n;
    bw_sample sample[PEN_SAMPLES_MAX];
} pen;

/* A wrench of so many samples a second that does not wind up, drift or make noise. */
void pen_take(pen *p, double rate_Hz);

/* Draws a line of so many seconds (one sample at least): the torque goes to torque_Nm, the joint
 * turns by turn_deg. */
void pen_to(pen *p, double torque_Nm, double turn_deg, double seconds);

/* Swings the handle back by deg with the ratchet free. */
void pen_back(pen *p, double deg, double seconds);

/* A pull that turns the joint by turn_deg while the torque rises to peak_Nm: rest, load, release,
 * rest.  Nothing turns below from_Nm. */
void pen_pull(pen *p, double from_Nm, double peak_Nm, double turn_deg);

/* As the stage must be: limits that are not given are none. */
bw_stage torque_stage(double low_Nm, double target_Nm, double high_Nm);
bw_stage snug_stage(double snug_Nm, double low_deg, double high_deg);
bw_stage angle_stage(double low_deg, double high_deg);

/* The verdict on a trace.  standing NULL: nothing came before. */
bw_verdict judge_all(const bw_stage *stage, const bw_standing *standing, const bw_sample *sample,
                     size_t n, bool complete);
bw_verdict judge_pen(const bw_stage *stage, const bw_standing *standing, const pen *p);

/* What the next pull of this attempt begins with. */
bw_standing standing_after(const bw_standing *standing, const bw_verdict *verdict);

/* Fail the test: outcome, exactly these reasons, and whether another pull mends it; a figure. */
void verdict_is(const bw_verdict *v, bw_outcome outcome, uint32_t reasons, bool more);
void close_to(double value, double expected, double by);

/* The next of a row of numbers that looks random and is the same every time. */
uint64_t next_chance(uint64_t *seed);

/* Equal in every member, bit for bit. */
bool verdicts_same(const bw_verdict *a, const bw_verdict *b);

#endif
