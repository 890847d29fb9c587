/* judge_int.h - what judge.c and verdict.c share; nobody else's. */
#ifndef BW_JUDGE_JUDGE_INT_H
#define BW_JUDGE_JUDGE_INT_H

#include "judge/judge.h"

/* Below, or above, a limit: as the comparison rule of verdict.c has it. */
bool bw_judge_under(double value, double limit);
bool bw_judge_beyond(double value, double limit);

/* A finite number that a wrench could mean. */
bool bw_judge_believable(double value);

/* The torque that the stage is about: what thresholds and rates are measured by. */
double bw_judge_reference_Nm(const bw_stage *stage, const bw_standing *standing);

bool bw_judge_counts_angle(const bw_stage *stage);

/* A stage that begins at a snug torque has no turn before it is reached. */
bool bw_judge_counts_yet(const bw_stage *stage, bool snug_reached);

#endif
