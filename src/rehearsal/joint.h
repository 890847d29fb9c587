/* joint.h - the physical joint of a group of fasteners.
 *
 * Room: rehearsal (no I/O, clock or global).  Tests: tests/unit/rehearsal/test_joint.c, against
 * published values.
 *
 * One fastener.  Turned down freely until the parts touch; a soft start while they bed in; then
 * preload rises in a line with the turn, by pitch and compliance of bolt and parts; beyond yield it
 * rises on at a small share of that slope, and what was turned there stays.  The torque that keeps
 * it turning is preload times friction, plus a locking feature's own; from rest it takes more.
 *
 * The group.  Friction, soft start and the rest differ from fastener to fastener, drawn from seed,
 * group name and fastener.  Tightening one presses the parts together and takes preload from its
 * neighbours.
 *
 * State is a fold of the record here too: nothing but bw_joint_pulled changes it, given the pulls
 * as the record has them, in their order.  A rehearsal that goes on in a new process gives all
 * recorded pulls again and has the same joint, bit for bit. */
#ifndef BW_REHEARSAL_JOINT_H
#define BW_REHEARSAL_JOINT_H

#include "base/arena.h"
#include "base/status.h"
#include "trade/order.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* What the fasteners of a group have in common.  All finite, none negative; d, pitch, head, both
 * stiffnesses and yield above 0. */
typedef struct bw_joint_spec {
    double thread_d_mm;
    double thread_pitch_mm;
    double head_outer_mm; /* bearing face under the head: outer and inner diameter */
    double head_inner_mm;
    double friction_thread; /* coefficients, mean of the group */
    double friction_head;
    double friction_spread;       /* standard deviation between fasteners, a share of the mean */
    double rest_least, rest_most; /* friction at rest above that of turning, a share */
    double free_least_deg, free_most_deg; /* turn before the parts touch */
    double soft_least_deg, soft_most_deg; /* turn while they bed in */
    double bolt_N_per_mm;
    double parts_N_per_mm;
    double yield_MPa;       /* of the bolt */
    double yielded_slope;   /* beyond yield, a share of the elastic slope */
    double prevailing_Nm;   /* of a locking feature; 0: none */
    double neighbour_share; /* of a fastener's new preload, what the nearest neighbours lose */
} bw_joint_spec;

/* A usual joint for what a plan knows of a group; each figure's source stands in joint.c.
 *
 * d_mm, pitch_mm     0: not given; then M10, and the coarse pitch
 * property_class     "8.8", "10.9", "12.9"; NULL or another: as 10.9
 * lubricant          words; "moly" or "paste", "oil" or "grease", "dry" are known, anything else
 * (and NULL) is as oil */
bw_joint_spec bw_joint_usual(double d_mm, double pitch_mm, const char *property_class,
                             const char *lubricant);

/* One fastener as it stands: a plain value. */
typedef struct bw_fastener {
    double torque_per_N;  /* N.m to keep it turning, per N of preload */
    double rest_share;    /* friction at rest above that, a share */
    double prevailing_Nm; /* whether loaded or not */
    double slope_N_per_deg;
    double soft_deg;
    double free_deg;
    double yielded_slope;
    double yield_N;    /* where it yields next: rises as it is stretched */
    double closed_deg; /* turn since the parts touched, what was lost to yield left out; negative:
                          still running free */
} bw_fastener;

double bw_fastener_preload_N(const bw_fastener *fastener);

/* The torque that keeps it turning, and the one that sets it going from rest. */
double bw_fastener_turning_Nm(const bw_fastener *fastener);
double bw_fastener_breakaway_Nm(const bw_fastener *fastener);

/* Turns it on by deg >= 0. */
void bw_fastener_turn(bw_fastener *fastener, double deg);

/* Puts it where it stands once torque_Nm has turned it: tighter, never looser. */
void bw_fastener_stand(bw_fastener *fastener, double torque_Nm);

typedef struct bw_joint bw_joint;

/* Lives in the arena.  n is 1 to BW_ORDER_MAX; point [n] tells who is whose neighbour, NULL: those
 * beside each other in the list.  BW_E_ARG; BW_E_MEM. */
BW_MUST_USE bw_status bw_joint_new(bw_arena *arena, const bw_joint_spec *spec, uint64_t seed,
                                   const char *group, size_t n, const bw_point *point,
                                   bw_joint **out, bw_err *err);

/* Takes the lubricant off one fastener (index < n): a fault, for as long as the joint lives. */
void bw_joint_dry(bw_joint *joint, size_t fastener);

/* The fastener (index < n) as it stands for this attempt in this step.  One whose last pull was in
 * another attempt or step was loosened since, and stands free. */
bw_fastener bw_joint_fastener(const bw_joint *joint, size_t fastener, const char *step,
                              int attempt);

/* A pull as the record has it. */
typedef struct bw_joint_pull {
    size_t fastener; /* index */
    const char *step;
    int attempt;
    double peak_Nm;
    double turn_deg; /* of the joint in this pull; INFINITY where it is not known */
} bw_joint_pull;

/* What a recorded pull has left: torque without turn moves nothing, otherwise the fastener stands
 * at its peak, and its neighbours have lost their share.  An index >= n is left out. */
void bw_joint_pulled(bw_joint *joint, const bw_joint_pull *pull);

/* Key of all that is drawn for one fastener. */
uint64_t bw_joint_key(const bw_joint *joint, size_t fastener);

#endif
