/* fastener.h - one simulated fastener: torque, turn and preload.
 *
 * Room: rehearsal (pure).  Tests: tests/unit/rehearsal/test_joint.c against published values,
 * test_fastener.c for what can be wrong with one.
 *
 * Turned down freely until the parts touch; a soft start while they bed in; then preload rises in a
 * line with the turn, by pitch and compliance of bolt and parts; beyond yield it rises on at a
 * small share of that slope, and what was turned there stays.  The torque that keeps it turning is
 * preload times friction, plus a locking feature's own; from rest it takes more.  Backward it takes
 * less, since the thread's slope helps. */
#ifndef BW_REHEARSAL_FASTENER_H
#define BW_REHEARSAL_FASTENER_H

#include "rehearsal/fault.h"
#include "trade/stage.h"

#include <stdbool.h>
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
    double yield_MPa;         /* of the bolt */
    double yielded_slope;     /* beyond yield, a share of the elastic slope */
    double prevailing_Nm;     /* of a locking feature, mean of the group; 0: none */
    double prevailing_spread; /* standard deviation between fasteners, a share of the mean */
    double prevailing_rough;  /* how far it goes up and down in a turn, a share */
    double drag_Nm;           /* of a shaft that turns in the group's place, see shaft.h; 0: none */
    double neighbour_share;   /* of a fastener's new preload, what the nearest neighbours lose */
} bw_joint_spec;

/* A usual joint for what a plan knows of a group; each figure's source stands in usual.c.
 *
 * d_mm, pitch_mm     0: not given; then M10, and the coarse pitch
 * property_class     "8.8", "10.9", "12.9"; NULL or another: as 10.9
 * lubricant          words; "moly" or "paste", "oil" or "grease", "dry" are known, anything else
 * (and NULL) is as oil */
bw_joint_spec bw_joint_usual(double d_mm, double pitch_mm, const char *property_class,
                             const char *lubricant);

/* Makes it a joint for which such a stage is meant, as far as the stage tells: lock nuts with that
 * prevailing torque and turns enough to measure it, bolts as long as that stretch needs and as
 * strong as that yield, a shaft with that drag.  A stage that tells nothing changes nothing. */
void bw_joint_suit(bw_joint_spec *spec, const bw_stage *stage);

/* Area that bears the load, ISO 898-1. */
double bw_joint_stress_area_mm2(const bw_joint_spec *spec);

/* One fastener as it stands: a plain value. */
typedef struct bw_fastener {
    double torque_per_N; /* N.m to keep it turning on, per N of preload */
    double loosen_per_N; /* N.m to keep it turning back, per N of preload */
    double bottom_per_N; /* both for what its end bears, instead of its head */
    double bottom_loosen_per_N;
    double rest_share;          /* friction at rest above that, a share */
    double prevailing_Nm;       /* whether loaded or not: mean, ... */
    double prevailing_rough;    /* ... how far it goes up and down, a share, ... */
    double prevailing_wave_deg; /* ... within so much turn */
    double pitch_mm;
    double bolt_N_per_mm;
    double plastic_mm;  /* longer for good */
    double lost_deg;    /* turn that is not in closed_deg: lost to yield, or won and lost beside */
    double slot_at_deg; /* where a castle nut's first slot stands, in its turn */
    double slope_N_per_deg;
    double soft_deg;
    double free_deg;
    double yielded_slope; /* beyond yield, a share of the elastic slope; below 0: it strips */
    double yield_N;       /* where it yields next: rises as it is stretched */
    double stripped_N;    /* what a stripped thread still bears */
    double closed_deg;   /* turn since the parts touched, what was lost to yield left out; negative:
                            still running free */
    double relax_share;  /* of its preload, what it loses once the hand is off */
    double bottom_deg;   /* closed_deg at the bottom of the hole; INFINITY: it has none */
    double bottomed_deg; /* turn since then, which closes nothing */
    double bottom_N_per_deg;
    double bind_Nm_per_deg; /* crossed thread: torque for each degree that it was run down */
    double bind_rough;      /* how far that goes up and down, a share */
    double bind_at;         /* where in the turn both waves begin, 0 to 1 */
    bool seized;            /* last: what is before it has no gaps and can be compared as bytes */
} bw_fastener;

/* A sound one, drawn from its key. */
bw_fastener bw_fastener_drawn(const bw_joint_spec *spec, uint64_t key);

/* The same one with something wrong with it, of those of BW_FAULT_AT_FASTENER; any other fault
 * leaves it sound.  What the fault amounts to is drawn from the key too. */
bw_fastener bw_fastener_faulty(const bw_joint_spec *spec, uint64_t key, bw_fault_kind fault);

/* Clamping the parts: what the end of a bottomed one bears is not part of it. */
double bw_fastener_preload_N(const bw_fastener *fastener);

/* The torque that keeps it turning, and the one that sets it going from rest; INFINITY where it is
 * seized.  Backward likewise, without its sign. */
double bw_fastener_turning_Nm(const bw_fastener *fastener);
double bw_fastener_breakaway_Nm(const bw_fastener *fastener);
double bw_fastener_loosening_Nm(const bw_fastener *fastener);
double bw_fastener_back_breakaway_Nm(const bw_fastener *fastener);

/* Turns it on, or back, by deg >= 0. */
void bw_fastener_turn(bw_fastener *fastener, double deg);
void bw_fastener_back(bw_fastener *fastener, double deg);

/* How much longer the bolt is than when it was new, mm. */
double bw_fastener_growth_mm(const bw_fastener *fastener);

/* How far it is still to be turned to be longer by that, until it yields (again), until no preload
 * is left; 0 where it is there.  The last two go by what the end of a bottomed one bears, too. */
double bw_fastener_to_growth_deg(const bw_fastener *fastener, double growth_mm);
double bw_fastener_to_yield_deg(const bw_fastener *fastener);
double bw_fastener_to_loose_deg(const bw_fastener *fastener);

/* How far a castle nut is still to be turned until a slot meets the hole, its slots every_deg > 0
 * apart; 0: one meets. */
double bw_fastener_to_slot_deg(const bw_fastener *fastener, double every_deg);

/* Nothing of preload is left. */
bool bw_fastener_is_loose(const bw_fastener *fastener);

/* It was used once more: a locking feature holds less, and a castle nut on another washer stands
 * elsewhere. */
void bw_fastener_reused(bw_fastener *fastener);

/* The hand is off: what a soft gasket, or a joint that lets go, does not keep. */
void bw_fastener_relax(bw_fastener *fastener);

/* Puts it where it stands once torque_Nm has turned it: tighter, never looser, except that a thread
 * that such a torque strips is stripped. */
void bw_fastener_stand(bw_fastener *fastener, double torque_Nm);

/* Leaves it with so much preload >= 0 without turning it: neighbours and soft gaskets take some. */
void bw_fastener_settle(bw_fastener *fastener, double preload_N);

#endif
