/* slope.h - how fast the torque rises with the turn of the joint, and whether that is as on the
 * others of its group.
 *
 * Room: judge (pure).  The slope is friction times stiffness: a dry thread, another bolt, a missing
 * washer or a soft part in between show in it, where torque and turn alone are good. */
#ifndef BW_JUDGE_SLOPE_H
#define BW_JUDGE_SLOPE_H

#include "judge/judge.h"

/* N.m per degree of the joint where it is stretched elastically, wherever that is in the curve: a
 * soft start before it and yield behind it do not count.  0: not seen, the joint hardly turned. */
double bw_slope_of(const bw_curve *curve, double windup_deg_per_Nm);

/* What it was at the least, in N.m per degree, over rises that may be too short for the above. It
 * does not move below stood_Nm, nor below an earlier stroke's peak, and what
 * a locking feature takes is no rise of the joint. */
double bw_slope_at_least(const bw_curve *curve, double windup_deg_per_Nm, double stood_Nm);

/* BW_REASON_STEEP, BW_REASON_SHALLOW or 0.  0 too where there are too few siblings, or no slope
 * (0).  For those of a group, too, that were tightened before there were siblings enough. */
uint32_t bw_slope_reason(double slope_Nm_per_deg, const bw_siblings *siblings);

/* Enters the slope into the verdict, and compares it where the pull is sound otherwise. */
void bw_slope_judge(const bw_judge *judge, bw_verdict *verdict);

#endif
