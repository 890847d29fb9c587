/* joint.h - the physical joint of a group of fasteners.
 *
 * Room: rehearsal (no I/O, clock or global).  Tests: tests/unit/rehearsal/test_joint.c, against
 * published values.
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
#include "rehearsal/fastener.h"
#include "trade/order.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct bw_joint bw_joint;

/* Lives in the arena.  n is 1 to BW_ORDER_MAX; point [n] tells who is whose neighbour, NULL: those
 * beside each other in the list.  BW_E_ARG; BW_E_MEM. */
BW_MUST_USE bw_status bw_joint_new(bw_arena *arena, const bw_joint_spec *spec, uint64_t seed,
                                   const char *group, size_t n, const bw_point *point,
                                   bw_joint **out, bw_err *err);

/* Something is wrong with one fastener (index < n) from now on, of those of BW_FAULT_AT_FASTENER,
 * until it is pulled in a later attempt than its first: it was loosened then and seen to. */
void bw_joint_fault(bw_joint *joint, size_t fastener, bw_fault_kind fault);

/* The builder has seen to it without being asked: a sound one is there, free.  One that was sound
 * stays as it is. */
void bw_joint_mend(bw_joint *joint, size_t fastener);

/* The fastener (index < n) as it stands for this attempt in this step.  One whose last pull was in
 * another attempt or step was loosened since, and stands free. */
bw_fastener bw_joint_fastener(const bw_joint *joint, size_t fastener, const char *step,
                              int attempt);

/* The step goes on in this attempt with the fastener as another step left it: nobody loosens it
 * first.  One that had no pull, or its last one in this step, stays as it is. */
void bw_joint_goes_on(bw_joint *joint, size_t fastener, const char *step, int attempt);

/* How long the fastener was when it was new, mm: about its grip and a head, drawn. */
double bw_joint_new_mm(const bw_joint *joint, size_t fastener);

/* As the joint was made.  Borrowed. */
const bw_joint_spec *bw_joint_spec_of(const bw_joint *joint);

/* The attempt of its last pull in this step; 1 where it had none. */
int bw_joint_attempt(const bw_joint *joint, size_t fastener, const char *step);

/* A pull as the record has it. */
typedef struct bw_joint_pull {
    size_t fastener; /* index */
    const char *step;
    int attempt;
    double peak_Nm;  /* 0: it says nothing of where the fastener stands, the turn does */
    double turn_deg; /* of the joint in this pull, back: below 0; INFINITY where it is not known */
} bw_joint_pull;

/* What a recorded pull has left: torque without turn moves nothing, a turn back by 2 degrees or
 * more loosens by so much, one whose peak is no higher than what set the fastener going turns it by
 * so much, otherwise it stands at its peak; and its neighbours have lost or won their share.  An
 * index >= n is left out. */
void bw_joint_pulled(bw_joint *joint, const bw_joint_pull *pull);

/* Key of all that is drawn for one fastener. */
uint64_t bw_joint_key(const bw_joint *joint, size_t fastener);

#endif
