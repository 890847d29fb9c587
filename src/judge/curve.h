/* curve.h - a pull as a curve of torque over turn, and where that curve bends down.
 *
 * Room: judge (pure; storage is the caller's and bounded).  A metal joint has a curve that grows
 * ever steeper while the parts bed in and is a straight line from there to yield.  A piece that is
 * much flatter than an earlier one is therefore something else than stretch.
 *
 * The curve is kept as at most BW_CURVE_NODES means over short pieces of forward travel of the
 * handle; the pieces double in width when the room runs out.  Samples of a hand that stands still,
 * eases off or swings back are no part of it. */
#ifndef BW_JUDGE_CURVE_H
#define BW_JUDGE_CURVE_H

#include "trade/trace.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { BW_CURVE_NODES = 256 };

/* The mean of a piece. */
typedef struct bw_node {
    double time_s; /* of its first sample */
    double angle_deg;
    double torque_Nm;
    uint32_t stroke;
} bw_node;

/* The piece in hand. */
typedef struct bw_piece {
    size_t n;
    double time_s, first_deg, first_Nm; /* of its first sample */
    double sum_deg, sum_Nm;
} bw_piece;

typedef struct bw_curve {
    double threshold_Nm;
    double reference_Nm; /* the torque that the stage is about */
    double width_deg;    /* of a piece */
    bool begun;          /* a sample was seen */
    bool loaded;
    uint32_t stroke;     /* how many began */
    double last_s;       /* when the newest sample was */
    double peak_Nm;      /* of this stroke */
    double furthest_deg; /* that the handle got in this stroke */
    double least_deg;    /* lowest angle of the run-down: before the first stroke */
    double free_deg;     /* how far it ran down without load */
    bw_piece piece;
    size_t closed; /* pieces that became a node: each was the last one then */
    size_t n;
    bw_node node[BW_CURVE_NODES];
} bw_curve;

void bw_curve_begin(bw_curve *curve, double threshold_Nm, double reference_Nm);

/* A sample without an angle is left out. */
void bw_curve_take(bw_curve *curve, const bw_sample *sample);

/* How many nodes there are, with the one that the piece in hand would become; and node i below it.
 */
size_t bw_curve_nodes(const bw_curve *curve);
bw_node bw_curve_node(const bw_curve *curve, size_t i);

/* A place where the curve is flatter than a share of the steepest that it was before. */
typedef struct bw_bend {
    bool found;
    double time_s;
    double torque_Nm;
} bw_bend;

/* What is looked for. */
typedef struct bw_bend_rule {
    double reference_Nm; /* the torque on the way to which it is; 0: none, then there is no bend */
    double window_deg;   /* slopes are taken over so much; 0: as suits the whole curve */
    double share;        /* of the steepest, between 0 and 1 */
    double least_slope;  /* N.m per degree that the steepest must have had; 0: any stretch */
    double steepest;     /* N.m per degree, known from before this pull; 0: none */
    double from_Nm, to_Nm; /* the bend begins at or above the one and below the other */
} bw_bend_rule;

/* The first such bend.  windup_deg_per_Nm is taken off: where only wrench and extension wind up,
 * nothing turns and there is no curve. */
bw_bend bw_curve_bend(const bw_curve *curve, double windup_deg_per_Nm, const bw_bend_rule *rule);

/* The first place, at from_Nm or above, from where the torque falls below that share of itself
 * while it is turned on in one stroke. */
bw_bend bw_curve_fall(const bw_curve *curve, double windup_deg_per_Nm, double share,
                      double from_Nm);

/* The strokes put behind each other: torque over turn of the joint, without the nodes of a fastener
 * that sticks: the first of each stroke is one. */
typedef struct bw_joint_curve {
    size_t n;
    double time_s[BW_CURVE_NODES];
    double turn_deg[BW_CURVE_NODES];
    double torque_Nm[BW_CURVE_NODES];
    uint32_t stroke[BW_CURVE_NODES];
} bw_joint_curve;

/* What a locking feature takes at most, as a share of the highest torque. */
extern const double bw_curve_run_down_share;

/* The turn from which it (n > 0) is no longer run down. */
double bw_curve_seated_deg(const bw_joint_curve *joint);

void bw_curve_joint(const bw_curve *curve, double windup_deg_per_Nm, bw_joint_curve *joint);

/* Least squares over its nodes i to j > i, N.m per degree. */
double bw_curve_slope(const bw_joint_curve *joint, size_t i, size_t j);

#endif
